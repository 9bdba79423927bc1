"""Artwork from disk to an XML tree: packed or plain, any encoding; nothing it names is ever opened or fetched."""

import codecs
import html
import re
import sys
import xml.parsers.expat
import zlib
from pathlib import Path

from lxml import etree

from underdraw.errors import InputError
from underdraw_stages.import_.file import limits

SVG = "http://www.w3.org/2000/svg"
XLINK_HREF = "{http://www.w3.org/1999/xlink}href"
WIRE = "urn:underdraw:1"
_TOO_MANY_ATTRIBUTES = etree.XPath("boolean(//*[@*[$most + 1]])")
_GZIP = b"\x1f\x8b"
_DECLARED = re.compile(rb"""^\s*<\?xml[^>]{0,200}?encoding\s*=\s*["']([A-Za-z0-9._:-]{1,40})["']""")
_MARKS = (  # byte order marks, and how `<` looks without one; XML 1.0, appendix F
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
    (b"\x00\x00\x00<", "utf-32-be"),
    (b"<\x00\x00\x00", "utf-32-le"),
    (b"\x00<\x00", "utf-16-be"),
    (b"<\x00", "utf-16-le"),
)


def read_artwork(path: Path | None, name: str) -> etree._Element:
    """The root element of the artwork at `path` (None: standard input); `name` is what messages call it.

    Raises InputError for a file that cannot be read, is no SVG, or asks for more than the limits allow.
    """
    data = _as_utf8(_unpack(_read(path, name), name), name)
    if not data.strip():
        raise InputError("the file is empty; export the artwork again", file=name)
    if b"<!DOCTYPE" in data:
        data = _without_doctype(data, name)
    return _checked(_parse(data, name), name)


def _read(path: Path | None, name: str) -> bytes:
    try:
        if path is None:
            if sys.stdin is None:
                raise InputError("no artwork came in: standard input is closed; name a file", file=name)
            data = sys.stdin.buffer.read(limits.LARGEST_FILE + 1)
        else:
            with path.open("rb") as file:
                data = file.read(limits.LARGEST_FILE + 1)
    except OSError as error:
        raise InputError(f"cannot read the artwork: {error.strerror or error}", file=name) from None
    return _within_size(data, name)


def _within_size(data: bytes, name: str) -> bytes:
    if len(data) > limits.LARGEST_FILE:
        raise InputError(f"the artwork is larger than {limits.LARGEST_FILE >> 20} MB; simplify or split it", file=name)
    return data


def _unpack(data: bytes, name: str) -> bytes:
    """Undo gzip (`.svgz`), by content, not by name."""
    if not data.startswith(_GZIP):
        return data
    unpacker = zlib.decompressobj(wbits=31)
    most = min(limits.LARGEST_FILE, max(limits.ALWAYS_UNPACKED, len(data) * limits.MOST_UNPACKED))
    try:
        unpacked = unpacker.decompress(data, most + 1)
    except zlib.error as error:
        raise InputError(f"the packed artwork is damaged ({error}); export it again", file=name) from None
    if len(unpacked) > most:
        text = f"the packed artwork is larger than {most >> 20} MB unpacked; simplify it, or unpack it yourself"
        raise InputError(text, file=name)
    if not unpacker.eof:
        raise InputError("the packed artwork ends too early; export it again", file=name)
    return unpacked


def _as_utf8(data: bytes, name: str) -> bytes:
    """The same text in UTF-8, from its byte order mark or declared encoding."""
    encoding = next((codec for mark, codec in _MARKS if data.startswith(mark)), None)
    declared = _DECLARED.match(data[:300])
    if encoding is None:
        encoding = declared[1].decode("ascii") if declared else "utf-8"
    try:
        codec = codecs.lookup(encoding).name
        if codec in ("utf-8", "ascii"):
            return data
        text = data.decode(codec)
    except LookupError:
        raise InputError(f"unknown encoding {encoding!r}; export the artwork as UTF-8", file=name) from None
    except (UnicodeError, ValueError) as error:
        raise InputError(
            f"the text is not {encoding!r} as it declares ({error}); export it as UTF-8", file=name
        ) from None
    return text.encode("utf-8", "replace")


_REFERENCE = re.compile(rb"&([^\s;&<]++);")


class _Stop(Exception):
    """What comes before the root element was read; the rest is another parser's."""


def _without_doctype(data: bytes, name: str) -> bytes:
    """The document without its document type, so that no parser follows it; plain text entities are put in.

    Programs declare such entities for namespaces. Raises InputError for one that nests, holds markup or names a file:
    those are how artwork reads other files, or blows up.
    """
    entities: dict[str, str] = {}
    begin, end = 0, 0
    reader = xml.parsers.expat.ParserCreate("utf-8")

    def starts(*_: object) -> None:
        nonlocal begin  # the reader stands at the end of what it read so far of it
        begin = data.rfind(b"<!DOCTYPE", 0, reader.CurrentByteIndex + len(b"<!DOCTYPE"))

    def entity(
        spoken: str, parameter: bool, value: str | None, _base: object, system: object, public: object, _n: object
    ) -> None:
        if parameter or system or public or value is None:
            raise InputError(f"entity {spoken!r} names something outside the file, never opened; remove it", file=name)
        if "&" in value or "<" in value or "%" in value:
            raise InputError(f"entity {spoken!r} holds entities or markup, never expanded; remove it", file=name)
        entities[spoken] = value

    def ends() -> None:
        nonlocal end
        end = reader.CurrentByteIndex

    def stop(*_: object) -> None:
        raise _Stop

    reader.StartDoctypeDeclHandler = starts
    reader.EntityDeclHandler = entity
    reader.EndDoctypeDeclHandler = ends
    reader.StartElementHandler = stop
    try:
        reader.Parse(data, True)
    except _Stop:
        pass
    except xml.parsers.expat.ExpatError as error:  # another parser might go on, and follow what it declares
        reason = xml.parsers.expat.ErrorString(error.code)
        raise InputError(
            f"not a whole XML file ({reason}); export it again as SVG", file=name, line=error.lineno
        ) from None
    if not end:
        return data
    end = data.index(b">", end) + 1 if data[end : end + 1] != b">" else end + 1
    blank = bytes(10 if byte == 10 else 32 for byte in data[begin:end])  # line numbers stay
    return data[:begin] + blank + _with_entities(data[end:], entities, name)


def _with_entities(data: bytes, entities: dict[str, str], name: str) -> bytes:
    """The text with plain entities put in, in one pass. Raises InputError where it grows much."""
    written = {spoken.encode(): html.escape(value).encode() for spoken, value in entities.items()}
    added = 0

    def put_in(reference: re.Match[bytes]) -> bytes:
        nonlocal added
        value = written.get(reference[1])
        if value is None:
            return reference[0]
        added += len(value)
        if added > limits.MOST_ENTITY_BYTES:
            grown = f"{limits.MOST_ENTITY_BYTES:,} bytes"
            raise InputError(f"its entities would grow the file by more than {grown}; remove them", file=name)
        return value

    return _REFERENCE.sub(put_in, data)


def _parse(data: bytes, name: str) -> etree._Element:
    parser = etree.XMLParser(
        encoding="utf-8",  # as converted, whatever is declared
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        attribute_defaults=False,
        huge_tree=True,  # path data longer than 10 MB; the limits here stand in for the parser's
        remove_comments=True,
        remove_pis=True,
        collect_ids=False,
    )
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        line = error.lineno if error.lineno else None
        reason = re.sub(r", line \d+, column \d+$", "", " ".join(str(error.msg).split()))
        if "Excessive depth" in str(error.msg):
            text = f"elements nest deeper than {limits.DEEPEST:,}; ungroup and export again"
            raise InputError(text, file=name) from None
        if not data.lstrip().startswith(b"<"):
            raise InputError("no SVG: it does not begin as XML does; export the artwork as SVG", file=name) from None
        raise InputError(f"not a whole XML file ({reason}); export it again as SVG", file=name, line=line) from None
    except (ValueError, LookupError, MemoryError) as error:
        raise InputError(f"not XML that can be read ({error})", file=name) from None
    if root is None:
        raise InputError("not an SVG file; export the artwork as SVG", file=name)
    return root


def _checked(root: etree._Element, name: str) -> etree._Element:
    tag = etree.QName(root)
    if tag.localname != "svg" or tag.namespace not in (SVG, None):
        raise InputError(f"the root element is <{tag.localname}>, not <svg>; export the artwork as SVG", file=name)
    if _TOO_MANY_ATTRIBUTES(root, most=limits.MOST_ATTRIBUTES):
        text = f"an element has more than {limits.MOST_ATTRIBUTES:,} attributes; remove those that draw nothing"
        raise InputError(text, file=name)
    count = sum(1 for _ in root.iter())
    if count > limits.MOST_ELEMENTS:
        raise InputError(f"{count:,} elements are more than {limits.MOST_ELEMENTS:,}; simplify the artwork", file=name)
    return root


def href(element: etree._Element) -> str:
    """What an element refers to, `href` before `xlink:href`."""
    return (element.get("href") or element.get(XLINK_HREF) or "").strip()


def refuse_wire(root: etree._Element, name: str) -> None:
    """Raises InputError where the file is a drawing of a chain already, which would be imported a second time."""
    if next(root.iter(f"{{{WIRE}}}drawing"), None) is not None:
        raise InputError("this is a drawing of a chain, not artwork: give it to the next stage with -i", file=name)
