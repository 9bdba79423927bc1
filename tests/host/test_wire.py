"""The wire is a plain SVG that holds a drawing exactly."""

import json
import re
import struct
import tracemalloc

import numpy as np
import pytest
import resvg_py
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import FaintEdges, Ground
from underdraw.drawing.paint.gradients import LinearGradient, RadialGradient, Stop
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.errors import InputError
from underdraw.job.file import job_from_data
from underdraw.job.sections import Job

coordinate = st.floats(-2000, 2000, allow_nan=False)
part = st.lists(st.tuples(coordinate, coordinate), min_size=1, max_size=6)
shape = st.lists(part, max_size=3)
colour = st.sampled_from(["", "#1b1b3a", "#c8743c"])
words = st.text(max_size=8)
TWO_MARKERS = job_from_data({"marker": [{"name": "outline"}, {"name": "accent"}]}, "moths")


def same(one: Drawing, other: Drawing) -> bool:
    from underdraw.drawing.drawing import COLUMNS

    arrays = ["coords", "parts", "shapes", *COLUMNS]
    return one.sheet == other.sheet and all(np.array_equal(getattr(one, a), getattr(other, a)) for a in arrays)


@given(st.lists(st.tuples(shape, colour, colour, st.floats(0, 9), st.booleans()), max_size=6), st.data())
@settings(max_examples=60, deadline=None)
def test_a_drawing_comes_back_from_the_wire_as_it_went(held: list[tuple[object, ...]], data: st.DataObject) -> None:
    columns = [list(column) for column in zip(*held, strict=True)] or [[], [], [], [], []]
    made = Drawing.build(
        columns[0],
        (300.5, 400.25),
        job_from_data({"canvas": {"face": "12 x 16 in"}, "marker": [{"name": 'a<b>&"c'}]}, "night & day"),
        fill=columns[1],
        stroke=columns[2],
        stroke_width=columns[3],
        evenodd=columns[4],
    ).recorded("test", {"same": 0.2}, {"drawn_mm": 1 / 3})
    written = write_drawing(made)
    back = read_drawing(written)
    assert same(made, back)
    assert back.history == made.history
    assert (back.job.name, back.job.canvas, back.job.markers) == (made.job.name, made.job.canvas, made.job.markers)
    assert write_drawing(back) == written


def test_one_user_unit_is_one_millimetre() -> None:
    root = etree.fromstring(write_drawing(Drawing.build([], (304.8, 406.4), Job())))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("304.8mm", "406.4mm", "0 0 304.8 406.4")
    assert root.get("version") == "1.1"


def test_strokes_are_grouped_by_marker_and_load() -> None:
    made = Drawing.build(
        [[[(i, 0), (i, 5)]] for i in range(4)], (10, 10), TWO_MARKERS,
        marker=["outline", "outline", "outline", "accent"], load=[1, 1, 2, 1], stroke="#1b1b3a", stroke_width=0.7,
    )  # fmt: skip
    root = etree.fromstring(write_drawing(made))
    groups = root.findall("{http://www.w3.org/2000/svg}g")
    ud = "{urn:underdraw:1}"
    assert [(g.get(ud + "marker"), g.get(ud + "load"), len(g)) for g in groups] == [
        ("outline", "1", 2), ("outline", "2", 1), ("accent", "1", 1),
    ]  # fmt: skip
    assert all(g.get("fill") == "none" and g.get("stroke-width") == "0.7" for g in groups)
    assert same(read_drawing(write_drawing(made)), made)


def test_path_data_is_absolute_m_l_and_z_alone() -> None:
    made = Drawing.build([[[(0, 0), (5, 0), (5, 5), (0, 0)], [(1.5, 1), (2, 2)]]], (10, 10), Job())
    data = re.search(rb' d="([^"]*)"', write_drawing(made))[1]  # type: ignore[index]
    assert data == b"M0 0L5 0 5 5ZM1.5 1L2 2"


def test_an_independent_renderer_shows_it_at_its_size() -> None:
    def render(drawing: Drawing) -> bytes:
        return bytes(resvg_py.svg_to_bytes(svg_string=write_drawing(drawing).decode(), dpi=96.0))

    made = Drawing.build([[[(2, 5), (8, 5)]]], (25.4, 50.8), Job(), stroke="#ff0000", stroke_width=4.0, marker="m")
    picture = render(made)
    assert struct.unpack(">II", picture[16:24]) == (96, 192)  # the PNG's own width and height: 96 pixels an inch
    assert picture != render(made.select([]))


DUSK = (Stop(0, "#1b1b3a"), Stop(1 / 3, "#f6e3b4", 0.25), Stop(1, "#ffffff"))


def dusky() -> bytes:
    """A drawing of two shapes that share a radial gradient, one of them stroked with a linear one."""
    moon = RadialGradient(DUSK, (10 / 3, 0.1, -0.2, 1e-7, 1234.56789, 3.0), "reflect", (0.5, -0.25))
    dawn = LinearGradient(DUSK, (1.0, 0.0, 0.0, 1.0, 2.0, 1 / 7))
    made = Drawing.build(
        [[[(0, 0), (9, 0), (9, 9)]]] * 2,
        (10, 10),
        Job(),
        fill="#1b1b3a",
        fill_gradient=moon,
        stroke=["#1b1b3a", ""],
        stroke_width=1.5,
        stroke_gradient=[dawn, None],
        blur=[0.5, 0.0],
    )
    return write_drawing(made.replace(ground=Ground("#1b1b3a", moon), faint=FaintEdges("M0 0L1.5 2", 2.5)))


def test_gradients_come_back_from_the_wire_as_they_went() -> None:
    back = read_drawing(dusky())
    assert write_drawing(back) == dusky()
    moon, dawn = back.fill_gradient[0], back.stroke_gradient[0]
    assert moon == back.fill_gradient[1] and back.stroke_gradient[1] is None
    assert (moon.stops, moon.spread, moon.focal) == (DUSK, "reflect", (0.5, -0.25))
    assert dawn.matrix == (1, 0, 0, 1, 2, pytest.approx(1 / 7))
    assert (back.ground, back.faint) == (Ground("#1b1b3a", moon), FaintEdges("M0 0L1.5 2", 2.5))
    assert dusky().count(b"<radialGradient") == 1


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "is empty: the step before this one in the pipe wrote no drawing"),
        (b"moth", "is not a drawing"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0L1 1'/></svg>", "is artwork or another file"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'>", "is not a drawing"),
        (b"\x1f\x8b\x08\x00\x00", "is not a drawing"),
    ],
)
def test_what_is_no_drawing_is_told_in_one_line(data: bytes, told: str) -> None:
    with pytest.raises(InputError, match=told) as error:
        read_drawing(data, "moth.svg")
    assert "\n" not in str(error.value)
    assert str(error.value).startswith("moth.svg: ")


def written_with(**changes: object) -> bytes:
    plain = write_drawing(Drawing.build([[[(0, 0), (1, 1)]]], (10, 10), Job())).decode()
    meta = {"version": 2, "job": {"name": "x"}, "history": [], **changes}
    return re.sub(r"<ud:drawing>.*</ud:drawing>", f"<ud:drawing>{json.dumps(meta)}</ud:drawing>", plain).encode()


def test_a_newer_version_is_refused_with_what_to_do() -> None:
    newer = write_drawing(Drawing.build([], (1, 1), Job())).replace(b"urn:underdraw:1", b"urn:underdraw:3")
    for data in (newer, written_with(version=3)):
        with pytest.raises(InputError, match="version 3, this underdraw reads up to 2; install a newer underdraw"):
            read_drawing(data)


@pytest.mark.parametrize(
    "damaged",
    [
        written_with(history=[{"stage": "x"}]),
        written_with(job=3),
        written_with(history=3),
        written_with().replace(b"M0 0L1 1", b"M0 0C1 1 2 2 3 3"),
        written_with().replace(b"M0 0L1 1", b"M0 0L1"),
        written_with().replace(b"M0 0L1 1", b"L0 0L1 1"),
        written_with().replace(b"M0 0L1 1", b"M0 0L1..2 1"),
        written_with().replace(b"M0 0L1 1", b"M0 0L1 1e999"),
        written_with().replace(b"0 0 10 10", b"0 0 10"),
        written_with().replace(b'fill="none"', b'fill="url(http://x)"'),
        written_with().replace(b'fill="none"', b'fill="url(#moon) #ffffff"'),
        dusky().replace(b"matrix(", b"matrix(nan "),
        dusky().replace(b'offset="0"', b'offset="moth"'),
        dusky().replace(b'offset="0"', b'offset="7"'),
        dusky().replace(b'fx="0.5"', b'fx="9"'),
        dusky().replace(b"#1b1b3a", b"dusk"),
    ],
)
def test_a_damaged_drawing_is_one_line(damaged: bytes) -> None:
    with pytest.raises(InputError) as error:
        read_drawing(damaged)
    assert "\n" not in str(error.value)


def test_an_entity_is_never_expanded_nor_a_file_read(tmp_path) -> None:  # type: ignore[no-untyped-def]
    secret = tmp_path / "secret"
    secret.write_text("M0 0L9 9")
    doctype = f'<!DOCTYPE svg [<!ENTITY e SYSTEM "{secret.as_uri()}">]>'.encode()
    data = written_with().replace(b"<svg ", doctype + b"<svg ", 1).replace(b"<ud:drawing>", b"<ud:drawing>&e;")
    with pytest.raises(InputError) as error:
        read_drawing(data)
    assert "L9 9" not in str(error.value)


@pytest.mark.slow
def test_a_drawing_is_held_once_while_it_is_written() -> None:
    def written(strokes: int) -> tuple[int, int]:
        """Bytes of a drawing of so many long strokes, and at most held while it is written."""
        dice = np.random.default_rng(7)
        lines = [[dice.uniform(0, 300, (500, 2))] for _ in range(strokes)]
        drawing = Drawing.build(lines, (300, 300), Job(), stroke="#1b1b3a", stroke_width=1.0, fill="#ffffff")
        tracemalloc.start()
        try:
            return len(write_drawing(drawing)), tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    (few, held_for_few), (many, held_for_many) = written(300), written(900)
    grows = (held_for_many - held_for_few) / (many - few)  # the words of one run of points are held in both
    assert grows < 1.5, f"{grows:.2f} times the file"


MOVED = [
    ("<path ", '<path transform="translate(5 0)" ', "4: has the attribute 'transform', and a drawing's paths count as"),
    ("<path ", '<g transform="scale(2)"/><path ', "has the attribute 'transform'"),
    ("<path ", '<path style="stroke:#ff0000" ', "has the attribute 'style'"),
    ("<path ", '<path display="none" ', "has the attribute 'display'"),
    ("</svg>", '<line x1="0" y1="0" x2="9" y2="9"/></svg>', "holds a <line>, and a drawing is of paths alone"),
    ("</svg>", "<style>path{stroke:none}</style></svg>", "holds a <style>"),
    ("</svg>", '<defs><path d="M0 0L1 1"/></defs></svg>', "has a path among its definitions"),
    ("</svg>", '<clipPath id="c"><path d="M0 0L1 1"/></clipPath></svg>', "holds a <clipPath>"),
    ('width="10mm"', 'width="20mm"', "2: its width is '20mm', and 10 mm in its viewBox"),
    ('height="10mm"', 'height="10"', "2: its height is '10', and 10 mm in its viewBox"),
    ('viewBox="0 0 ', 'viewBox="1 0 ', "2: begins at another place than 0 0"),
    ("5Z", "5ZL0 0", "path data goes on after Z without an M"),
    ("5Z", "5ZZ", "path data goes on after Z without an M"),
]


@pytest.mark.parametrize(("there", "instead", "told"), MOVED)
def test_what_would_move_hide_or_add_lines_is_refused_in_one_line(there: str, instead: str, told: str) -> None:
    """A drawing that was opened elsewhere and saved again, or a step that writes more than a drawing has."""
    written = write_drawing(Drawing.build([[[(0, 0), (5, 0), (5, 5), (0, 0)]]], (10, 10), Job(), stroke="#1b1b3a"))
    plain = written.decode().replace("5 5 0 0", "5 5Z")
    assert read_drawing(plain.encode()).drawn_mm == pytest.approx(10 + 50**0.5)
    assert plain.count(there) >= 1
    with pytest.raises(InputError) as error:
        read_drawing(plain.replace(there, instead, 1).encode(), "moth.svg")
    assert told in str(error.value) and str(error.value).startswith("moth.svg:") and "\n" not in str(error.value)


def test_what_changes_no_line_may_be_added() -> None:
    written = write_drawing(Drawing.build([[[(0, 0), (5, 0)]]], (10, 10), Job(), stroke="#1b1b3a")).decode()
    for there, instead in (
        ("<path ", '<title>moths</title><g id="layer-1"/><path id="p1" class="leaf" '),
        ("</svg>", '<x:view xmlns:x="urn:elsewhere" transform="scale(2)"/></svg>'),
        ('width="10mm" height="10mm" ', ""),
    ):
        assert read_drawing(written.replace(there, instead, 1).encode()).drawn_mm == 5.0
