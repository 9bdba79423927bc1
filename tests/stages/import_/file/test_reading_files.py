"""Artwork files: packed or plain, in any encoding, and nothing they name is opened."""

import gzip
import os
import subprocess
import sys
from pathlib import Path

import pytest
from small_artwork import INK, PAGE, SVG

from underdraw.errors import InputError

WING = f'<path d="M5 5 L30 5 L30 30" {INK}/>'
FILE = f"<svg {SVG} {PAGE}>{WING}</svg>"


def test_svgz_is_unpacked_whatever_the_name(run, artwork) -> None:  # type: ignore[no-untyped-def]
    assert len(run(artwork(gzip.compress(FILE.encode()), name="moth.svgz")).drawing) == 1
    assert len(run(artwork(gzip.compress(FILE.encode()), name="moth.svg")).drawing) == 1


@pytest.mark.parametrize(
    "encoding",
    ["utf-8", "utf-16", "utf-16-le", "utf-32", "iso-8859-1", "windows-1252", "koi8-r", "shift_jis", "utf-8-sig"],
)
def test_any_declared_encoding_is_read(encoding, run) -> None:  # type: ignore[no-untyped-def]
    layer = {"koi8-r": "ночь", "shift_jis": "夜の庭"}.get(encoding, "Nächte")
    declared = "utf-16" if encoding.startswith("utf-16") else encoding.replace("-sig", "")
    text = f'<?xml version="1.0" encoding="{declared}"?><svg {SVG} {PAGE}><g id="{layer}">{WING}</g></svg>'
    assert run(text.encode(encoding)).drawing.layer[0] == layer


def test_an_unknown_encoding_is_named(run) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match="unknown encoding 'moth-8'"):
        run(b'<?xml version="1.0" encoding="moth-8"?>' + FILE.encode())


def test_text_that_is_not_in_its_declared_encoding_is_refused(run) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match="not 'shift_jis'"):
        run(b'<?xml version="1.0" encoding="shift_jis"?><svg id="\x81\xff"/>')


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"moths", "no SVG: it does not begin as XML does"),
        (FILE[:-20].encode(), "not a whole XML file"),
        (b"<html><body/></html>", "root element is <html>"),
        (gzip.compress(FILE.encode())[:-30], "ends too early"),
        (b"\x1f\x8b" + b"moth" * 40, "damaged"),
        (b"\x89PNG\r\n\x1a\n" + bytes(100), "no SVG: it does not begin as XML does"),
    ],
)
def test_what_is_no_artwork_is_refused_in_one_line(data, said, run) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=said) as error:
        run(data)
    assert "\n" not in str(error.value)


def test_a_missing_file_is_named(run, tmp_path) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=r"luna\.svg: cannot read the artwork: No such file"):
        run(tmp_path / "luna.svg")


def test_the_line_of_an_error_is_told(run) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError) as error:
        run(f"<svg {SVG}>\n<g>\n</svg>")
    assert error.value.line == 3


def test_a_drawing_of_a_chain_is_no_artwork(run) -> None:  # type: ignore[no-untyped-def]
    wire = (
        f'<svg {SVG} xmlns:ud="urn:underdraw:1" {PAGE}><metadata><ud:drawing>{{}}</ud:drawing></metadata>{WING}</svg>'
    )
    with pytest.raises(InputError, match="give it to the next stage"):
        run(wire)


def test_a_file_without_a_namespace_is_read(run) -> None:  # type: ignore[no-untyped-def]
    assert len(run(f"<svg {PAGE}>{WING}</svg>").drawing) == 1


def test_the_usual_document_type_is_read_without_a_look_at_what_it_names(run) -> None:  # type: ignore[no-untyped-def]
    doctype = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    assert len(run(f'<?xml version="1.0"?>\n<!-- <!DOCTYPE x> -->\n{doctype}\n{FILE}').drawing) == 1


def test_plain_text_entities_for_namespaces_are_put_in(run) -> None:  # type: ignore[no-untyped-def]
    doctype = '<!DOCTYPE svg [\n<!ENTITY ns "http://www.w3.org/2000/svg">\n<!ENTITY name "a &#34;moth&#34;">\n]>'
    result = run(f'{doctype}\n<svg xmlns="&ns;" {PAGE}><g id="&name;">{WING}</g></svg>')
    assert result.drawing.layer[0] == 'a "moth"'


@pytest.fixture
def trap(tmp_path: Path) -> Path:
    """A pipe without a writer: whoever opens it to read waits for ever."""
    path = tmp_path / "must-not-be-read"
    os.mkfifo(path)
    return path


NAMES_A_FILE = [  # of what artwork can name a file with
    '<!DOCTYPE svg [<!ENTITY a SYSTEM "{trap}">]><svg {page}><text>&a;</text>{wing}</svg>',
    '<!DOCTYPE svg [<!ENTITY % a SYSTEM "{trap}"> %a;]><svg {page}>{wing}</svg>',
    '<!DOCTYPE svg SYSTEM "{trap}"><svg {page}>{wing}</svg>',
    '<!DOCTYPE svg PUBLIC "-//moth" "{trap}" [<!ENTITY b "c">]><svg {page}>{wing}</svg>',
    '<?xml-stylesheet href="{trap}" type="text/css"?><svg {page}>{wing}</svg>',
    '<svg {page}><style>@import url("{trap}");</style>{wing}</svg>',
    '<svg {page}><style>@font-face{{font-family:a;src:url("{trap}")}}</style><text>a</text>{wing}</svg>',
    '<svg {page}><image xlink:href="{trap}" width="9" height="9"/>{wing}</svg>',
    '<svg {page}><use xlink:href="{trap}#a"/><use href="{trap}"/>{wing}</svg>',
    '<svg {page}><g clip-path="url({trap}#a)" mask="url({trap}#a)" filter="url({trap}#a)">{wing}</g></svg>',
    '<svg {page}><rect width="9" height="9" fill="url({trap}#a)" stroke="url({trap}#b) red"/>{wing}</svg>',
    '<svg {page}><script xlink:href="{trap}"/>{wing}</svg>',
    '<svg {page} xmlns:xi="http://www.w3.org/2001/XInclude"><xi:include href="{trap}"/>{wing}</svg>',
    '<svg {page} xml:base="{trap}"><pattern id="p" href="{trap}#q"/><rect width="9" height="9"/>{wing}</svg>',
]  # fmt: skip


def test_a_file_that_artwork_names_is_never_opened(trap, tmp_path) -> None:  # type: ignore[no-untyped-def]
    for at, text in enumerate(NAMES_A_FILE):
        for scheme in ("", "file://"):
            body = text.format(trap=f"{scheme}{trap}", page=f"{SVG} {PAGE}", wing=WING)
            (tmp_path / f"moth-{at}-{bool(scheme)}.svg").write_text(body)
    files = sorted(map(str, tmp_path.glob("*.svg")))
    assert len(files) == 2 * len(NAMES_A_FILE)
    command = [sys.executable, "-c", TELLS_WHAT_IS_OPENED, *files]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("read ") == len(files)
    assert str(trap) not in done.stdout


# Imports files, and prints what is opened meanwhile by Python's own audit; the parsers beneath would hang on the pipe.
TELLS_WHAT_IS_OPENED = """
import sys
from underdraw.job.settings import read_settings
from underdraw.errors import UnderdrawError
from underdraw_stages.import_ import ImportSettings
from underdraw_stages.import_.stage import import_artwork
class Quiet:
    job = registry = None
    def warn(self, text): pass
    def progress(self, share, text=""): pass
sys.addaudithook(lambda event, args: print(event, args) if event.startswith(("open", "socket", "urllib")) else None)
for path in sys.argv[1:]:
    try:
        import_artwork(None, read_settings(ImportSettings, {"file": path}), Quiet())
    except UnderdrawError:
        pass
    print("read", path)
"""
