"""The wire: a drawing as a plain SVG 1.1 file, which is what stages hand to each other.

`width`/`height` in mm and `viewBox` in the same numbers; one path a shape with absolute M, L, Z; strokes grouped by
marker and load; one JSON object in `<metadata><ud:drawing>`. Reading is for this form alone: artwork goes through a
source stage first.
"""

import html
import io
import itertools
import json
import re
from collections.abc import Iterator
from typing import Any

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from underdraw.drawing.as_it_stands import require_as_it_stands
from underdraw.drawing.drawing import COLUMNS, DECIMALS, LARGEST_MM, NO_MARKER, Drawing, Record
from underdraw.drawing.facts import facts_from_plain, facts_of_version_1, plain_facts
from underdraw.drawing.paint.gradient_elements import gradient_elements, gradient_ids, read_gradients
from underdraw.drawing.paint.gradients import Gradient, colour
from underdraw.drawing.ragged import offsets
from underdraw.errors import InputError
from underdraw.job.file import NAME_KEY, job_from_data
from underdraw.job.sections import Job

VERSION = 2  # 1: facts stood among the figures of the history
NAMESPACE = "urn:underdraw:1"
NAMESPACE_ANY = re.compile(r"urn:underdraw:(\d+)$")
SVG = "http://www.w3.org/2000/svg"
LARGEST_WIRE_BYTES = 2_000_000_000  # beyond what a machine of today holds as a drawing; refused before parsing
HIDDEN = "none"
PAINT = re.compile(r"url\(#([\w-]+)\) (#[0-9a-f]{6})")
GRADIENTS = {"fill": "fill_gradient", "stroke": "stroke_gradient"}  # each is written with its colour, as one paint

# Column -> attribute of a path on the wire, where it differs from "ud:" and the column's name.
ATTRIBUTES = {
    "fill": "fill",
    "fill_opacity": "fill-opacity",
    "stroke": "stroke",
    "stroke_opacity": "stroke-opacity",
    "stroke_width": "stroke-width",
    "cap": "stroke-linecap",
    "join": "stroke-linejoin",
    "miter_limit": "stroke-miterlimit",
}
OWN = {
    "blur": "ud:blur",
    "marker": "ud:marker",
    "load": "ud:load",
    "section": "ud:section",
    "cut_edge": "ud:cut-edge",
    "fill_pattern": "ud:pattern",
    "layer": "ud:layer",
    "element": "ud:element",
}
EVENODD = "evenodd"
PIECE_BYTES = 1 << 20
RUN_POINTS = 100_000  # points written at a time: some 30 MB of words


class NotADrawing(InputError):
    """What came in is no drawing of any stage: artwork, another file."""


def write_drawing(drawing: Drawing) -> bytes:
    """The drawing as bytes of an SVG file; the same drawing gives the same bytes."""
    written = io.BytesIO()  # a piece at a time: all of them, and joined, would be twice the file in memory
    for piece in drawing_pieces(drawing):
        written.write(piece)
    return written.getvalue()


def drawing_pieces(drawing: Drawing) -> Iterator[bytes]:
    """The same bytes in pieces of about `PIECE_BYTES`: a file of a large drawing is larger than the drawing."""
    width, height = (number(value) for value in drawing.sheet)
    meta = {
        "version": VERSION,
        "job": {NAME_KEY: drawing.job.name, **drawing.job.data},
        "history": [
            {"stage": record.stage, "settings": dict(record.settings), "figures": dict(record.figures)}
            for record in drawing.history
        ],
        **plain_facts(
            drawing.lying,
            drawing.mirror_folds,
            drawing.sources,
            drawing.programs,
            drawing.hides_nothing,
            drawing.ground,
            drawing.faint,
            drawing.card,
            drawing.artwork,
            drawing.reading,
            drawing.palette,
        ),
    }
    head = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="{SVG}" xmlns:ud="{NAMESPACE}" version="1.1" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">',
        f"<metadata><ud:drawing>{_json_in_xml(meta)}</ud:drawing></metadata>",
    ]
    ids = gradient_ids((drawing.fill_gradient, drawing.stroke_gradient))
    if ids:
        head += ["<defs>", *gradient_elements(ids), "</defs>"]
    strokes = drawing.is_strokes and len(drawing)
    paths = _grouped_paths(drawing, ids) if strokes else _paths(drawing, ids, range(len(drawing)), ())
    piece = bytearray()
    for line in itertools.chain(head, paths, ["</svg>"]):
        piece += line.encode()
        piece += b"\n"
        if len(piece) >= PIECE_BYTES:
            yield bytes(piece)
            piece.clear()
    yield bytes(piece)


def number(value: float) -> str:
    """A number of the wire: at most four decimals, no trailing zeros."""
    return f"{value:.{DECIMALS}f}".rstrip("0").rstrip(".")


_NOT_IN_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")  # XML 1.0, 2.2
_BLANKS = str.maketrans({letter: f"&#{ord(letter)};" for letter in "\t\n\r"})  # else read as a space (XML 1.0, 3.3.3)


def escape(text: str, *, quote: bool = True) -> str:
    """Text for an XML element or (`quote`) a double-quoted attribute; characters XML cannot hold are dropped."""
    text = html.escape(_NOT_IN_XML.sub("", text), quote=quote)
    return text.translate(_BLANKS) if quote else text


def _json_in_xml(value: object) -> str:
    """JSON as text of an element; characters that XML cannot hold are escaped in JSON's way."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return html.escape(_NOT_IN_XML.sub(lambda found: f"\\u{ord(found[0]):04x}", text), quote=False)


def path_data(drawing: Drawing) -> list[str]:
    """(s,) the `d` of every shape."""
    words = " ".join(map(repr, drawing.coords.ravel().tolist())).replace(".0 ", " ").split(" ")
    if words and words[-1].endswith(".0"):
        words[-1] = words[-1][:-2]
    closed = drawing.part_closed()
    bounds = drawing.parts.tolist()
    pieces = []
    for part, (first, last) in enumerate(itertools.pairwise(bounds)):
        if first == last:
            pieces.append("")
        elif closed[part]:
            pieces.append(
                f"M{words[2 * first]} {words[2 * first + 1]}L{' '.join(words[2 * first + 2 : 2 * last - 2])}Z"
            )
        elif last - first == 1:
            pieces.append(f"M{words[2 * first]} {words[2 * first + 1]}")
        else:
            pieces.append(f"M{words[2 * first]} {words[2 * first + 1]}L{' '.join(words[2 * first + 2 : 2 * last])}")
    shapes = drawing.shapes.tolist()
    return ["".join(pieces[first:last]) for first, last in itertools.pairwise(shapes)]


def _attributes(drawing: Drawing, ids: dict[Gradient, str], inherited: tuple[str, ...]) -> Iterator[str]:
    """The attributes of each shape that differ from their defaults."""
    written = [name for name in COLUMNS if name not in inherited and name not in GRADIENTS.values()]
    held = {name: getattr(drawing, name).tolist() for name in written}
    gradients = {name: getattr(drawing, column) for name, column in GRADIENTS.items() if name in held}
    for index in range(len(drawing)):
        words = []
        for name, values in held.items():
            value = values[index]
            if name == "evenodd":
                words.append(' fill-rule="evenodd"' if value else "")
            elif name in ("fill", "stroke"):
                gradient = gradients[name][index]
                paint = f"url(#{ids[gradient]}) {value}" if gradient is not None and value else value or HIDDEN
                words.append(f' {name}="{paint}"' if value or name == "fill" else "")
            elif isinstance(value, bool):
                words.append(f' {OWN[name]}="yes"' if value else "")
            elif value != COLUMNS[name].default:
                shown = number(value) if isinstance(value, float) else escape(str(value))
                words.append(f' {ATTRIBUTES.get(name) or OWN[name]}="{shown}"')
        yield "".join(words)


def _paths(drawing: Drawing, ids: dict[Gradient, str], rows: range, inherited: tuple[str, ...]) -> Iterator[str]:
    for some in _runs(drawing, rows):
        part = drawing if len(some) == len(drawing) else drawing.select(np.arange(some.start, some.stop))
        for words, data in zip(_attributes(part, ids, inherited), path_data(part), strict=True):
            yield f'<path{words} d="{data}"/>'


def _runs(drawing: Drawing, rows: range) -> Iterator[range]:
    """Rows in runs of about `RUN_POINTS`, so that a large drawing is not held as single words all at once."""
    first_points = drawing.parts[drawing.shapes[rows.start : rows.stop + 1]]
    start = 0
    while start < len(rows):
        stop = int(np.searchsorted(first_points, first_points[start] + RUN_POINTS, side="right")) - 1
        stop = min(max(stop, start + 1), len(rows))
        yield range(rows.start + start, rows.start + stop)
        start = stop


GROUPED = ("marker", "load", "section", "fill", "stroke", "stroke_gradient", "stroke_width", "cap", "join")


def _grouped_paths(drawing: Drawing, ids: dict[Gradient, str]) -> Iterator[str]:
    """Runs of strokes that share marker, load and looks, a group each."""
    keys = [getattr(drawing, name) for name in GROUPED]
    change = np.zeros(len(drawing), dtype=bool)
    change[0] = True
    for key in keys:
        change[1:] |= key[1:] != key[:-1]
    starts = [*np.flatnonzero(change).tolist(), len(drawing)]
    for first, last in itertools.pairwise(starts):
        head = drawing.select(np.arange(first, first + 1))
        outside = tuple(name for name in COLUMNS if name not in GROUPED)
        yield f"<g{next(_attributes(head, ids, outside))}>"
        yield from _paths(drawing, ids, range(first, last), GROUPED)
        yield "</g>"


def read_drawing(data: bytes, where: str = "the drawing") -> Drawing:
    """Read a drawing from the wire.

    `where` names the source in messages. Raises InputError for anything that is not a drawing of this version, with
    what to do: a newer version wants a newer underdraw. What is no drawing at all, as artwork, is a NotADrawing.
    """
    root = _parse(data, where)
    meta = _metadata(root, where)
    try:
        if isinstance(meta.get("version"), int) and meta["version"] > VERSION:
            raise _newer(meta["version"], where)
        held = dict(meta["job"])
        job = job_from_data(
            {key: value for key, value in held.items() if key != NAME_KEY}, str(held.get(NAME_KEY) or "drawing")
        )
        history = tuple(Record(item["stage"], item["settings"], item["figures"]) for item in meta["history"])
        facts = facts_of_version_1(meta["history"]) if meta["version"] == 1 else facts_from_plain(meta)
        box = [float(value) for value in root.get("viewBox", "").split()]
        if len(box) != 4 or not all(0 <= value <= LARGEST_MM for value in box):
            raise ValueError(f"viewBox is not four numbers from 0 to {LARGEST_MM:g}")
        require_as_it_stands(root, where)
        paths = list(root.iter(f"{{{SVG}}}path"))
        coords, parts, shapes = _read_paths([element.get("d", "") for element in paths])
        columns = _read_columns(paths, read_gradients(root))
        _check_markers(columns["marker"], job)
        return Drawing(coords, parts, shapes, (box[2], box[3]), job, history, **columns, **facts)
    except (KeyError, TypeError, ValueError, OverflowError, AttributeError) as error:
        raise InputError(
            f"{where}: is a damaged drawing ({_brief(error)}); write it again with the stage it came from"
        ) from None


def _brief(error: Exception) -> str:
    return f"{error.args[0]!r} is missing" if isinstance(error, KeyError) else " ".join(str(error).split())[:200]


def _newer(version: object, where: str) -> InputError:
    return InputError(
        f"{where}: is a drawing of version {version}, this underdraw reads up to {VERSION}; install a newer underdraw"
    )


def _parse(data: bytes, where: str) -> Any:
    if not data.strip():
        raise InputError(f"{where}: is empty: the step before this one in the pipe wrote no drawing; see its message")
    if len(data) > LARGEST_WIRE_BYTES:
        raise InputError(f"{where}: is larger than {LARGEST_WIRE_BYTES:,} bytes; split the artwork")
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, huge_tree=True, remove_comments=True
    )
    try:
        return etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        reason = " ".join(str(getattr(error, "msg", error)).split())[:160]
        raise NotADrawing(f"{where}: is not a drawing: {reason}; a drawing is the SVG that a stage writes") from None


def _metadata(root: Any, where: str) -> dict[str, Any]:
    found = [
        (element, NAMESPACE_ANY.match(etree.QName(element).namespace or ""))
        for element in root.iter("{*}drawing")
        if etree.QName(element).namespace
    ]
    ours = [(element, match) for element, match in found if match]
    if root.tag != f"{{{SVG}}}svg" or not ours:
        raise NotADrawing(f"{where}: is artwork or another file, not a drawing that a stage wrote")
    element, match = ours[0]
    if int(match[1]) > VERSION:
        raise _newer(match[1], where)
    try:
        meta = json.loads(element.text or "")
        if isinstance(meta, dict):
            return meta
    except json.JSONDecodeError:
        pass
    raise InputError(f"{where}: its metadata is damaged; write the drawing again with the stage it came from")


_CLASS = np.zeros(256, dtype=np.uint8)  # 0 refused, 1 part of a number, 2 blank, then one a letter
_CLASS[[ord(letter) for letter in "0123456789.-+e"]] = 1
_CLASS[[ord(letter) for letter in " \n\t\r,"]] = 2
_M, _L, _Z = 3, 4, 5
_CLASS[ord("M")], _CLASS[ord("L")], _CLASS[ord("Z")] = _M, _L, _Z


def _read_paths(data: list[str]) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Every `d` at once: coords (n, 2), part offsets, shape offsets. Raises ValueError for other path commands."""
    text = "\n".join(data) + "\n"
    raw = np.frombuffer(text.encode("ascii", "replace"), dtype=np.uint8)
    kind = _CLASS[raw]
    if (kind == 0).any():
        letter = chr(raw[np.flatnonzero(kind == 0)[0]])
        raise ValueError(f"path data holds {letter!r}; only absolute M, L and Z are of the wire")
    is_number = kind == 1
    number_start = is_number & ~np.concatenate([[False], is_number[:-1]])
    before = np.concatenate([[0], np.cumsum(number_start)])  # numbers that begin before each byte
    blank = raw.copy()
    blank[~is_number] = ord(" ")
    numbers = np.array(blank.tobytes().split(), dtype="S").astype(np.float64)
    if len(numbers) % 2:
        raise ValueError("path data ends with half a point")
    coords = numbers.reshape(-1, 2)
    moves = np.flatnonzero(kind == _M)
    starts = before[moves] // 2
    shape_ends = np.cumsum([len(item) + 1 for item in data]) if data else np.empty(0, dtype=np.int64)
    parts = np.concatenate([starts, [len(coords)]]).astype(np.int64)
    if len(coords) and (not len(moves) or parts[0] != 0):
        raise ValueError("path data does not begin with M")
    if (np.diff(parts) == 0).any():
        raise ValueError("path data has an M without a point")
    shapes = np.concatenate([[0], np.searchsorted(moves, shape_ends)]).astype(np.int64)
    ends = np.flatnonzero(kind == _Z)
    letters = np.flatnonzero(kind >= _M)
    after = np.append(letters, len(raw))[np.searchsorted(letters, ends) + 1]  # the next letter, or the end
    if (before[after] > before[ends]).any() or (kind[after[after < len(raw)]] != _M).any():
        raise ValueError("path data goes on after Z without an M")
    closed = np.zeros(len(moves), dtype=bool)
    closed[np.searchsorted(moves, ends) - 1] = True
    return (*_closing(coords, parts, closed), shapes)


def _closing(
    coords: NDArray[np.float64], parts: NDArray[np.int64], closed: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Repeat the first point at the end of each part that Z closes, as a drawing holds it in memory."""
    if not closed.any():
        return coords, parts
    return np.insert(coords, parts[1:][closed], coords[parts[:-1][closed]], axis=0), parts + offsets(closed)


def _read_columns(paths: list[Any], gradients: dict[str, Gradient]) -> dict[str, Any]:
    """Every column from the paths' attributes, or those of the group around them."""
    columns: dict[str, list[Any]] = {name: [] for name in COLUMNS}
    names = {
        name: ATTRIBUTES.get(name) or OWN.get(name, "").replace("ud:", f"{{{NAMESPACE}}}")
        for name in COLUMNS
        if name not in GRADIENTS.values()
    }
    names["evenodd"] = "fill-rule"
    for element in paths:
        group = element.getparent()
        own, around = element.attrib, group.attrib if group is not None and group.tag == f"{{{SVG}}}g" else {}
        for name, attribute in names.items():
            value = own.get(attribute, around.get(attribute))
            if name == "evenodd":
                columns[name].append(value == EVENODD)
            elif name in ("cut_edge", "fill_pattern"):
                columns[name].append(value == "yes")
            elif name in ("fill", "stroke"):
                shown, gradient = _paint(value, gradients)
                columns[name].append(shown)
                columns[GRADIENTS[name]].append(gradient)
            elif value is None:
                columns[name].append(COLUMNS[name].default)
            else:
                kind = COLUMNS[name].dtype
                columns[name].append(value if kind is object else int(value) if kind is np.int32 else _positive(value))
    return columns


def _positive(text: str) -> float:
    """An opacity or a width in mm."""
    value = float(text)
    if not 0 <= value <= LARGEST_MM:  # nan compares false
        raise ValueError(f"{text[:40]!r} is not a number from 0 to {LARGEST_MM:g}")
    return value


def _check_markers(names: list[str], job: Job) -> None:
    """Raise ValueError for a marker that the job does not have: another one would draw its strokes."""
    known = {"", NO_MARKER, *(marker.name for marker in job.markers)}
    unknown = next((name for name in dict.fromkeys(names) if name not in known), None)
    if unknown is not None:
        raise ValueError(f"its job has no marker {unknown[:60]!r}")


def _paint(value: str | None, gradients: dict[str, Gradient]) -> tuple[str, Gradient | None]:
    """The paint of a `fill` or `stroke`: a colour, or a gradient and the colour standing for it. Raises ValueError."""
    if value is None or value == HIDDEN:
        return "", None
    match = PAINT.fullmatch(value)
    if match is None:
        return colour(value), None
    if match[1] not in gradients:
        raise ValueError(f"the gradient {match[1]!r} is not in it")
    return match[2], gradients[match[1]]
