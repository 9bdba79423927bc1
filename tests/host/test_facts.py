"""Facts that travel: on the wire and back, from version 1, and damaged."""

import json
import re
from dataclasses import asdict

import pytest

from underdraw import Drawing, InputError, Job
from underdraw.drawing.facts import (
    Artwork,
    MirrorFold,
    Motion,
    OnBoard,
    Palette,
    PaletteColour,
    Reading,
    Source,
    WrittenLoad,
    WrittenProgram,
)
from underdraw.drawing.wire import read_drawing, write_drawing

PAGE = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
LYING = OnBoard(turned=True, page=PAGE, sides_drawn=True, wrapped=True, motion=Motion(0.5, (1.0, -2.0)))
PROGRAM = WrittenProgram(
    "moth.nc",
    (WrittenLoad("outline", 1, 1, 12.5),),
    14.0,
    "plain",
    "in",
    "marker",
    rehearsal=True,
    digest="ab12",
    holder="clamp",
    tolerance=0.1,
)

ARTWORK = Artwork(
    ("M0 0L5 0 5 5Z", "M1 1L2 2"), ("#d9793a", ""), (False, True), ("", "#1b1b3a"), (0.0, 0.5), (0.5, 1.0), (1.0, 1.0)
)
READING = Reading(merges=2, merge_mm=12.5, closed=1, fine=0, file="moth-inspect.svg", digest="ab12")

PALETTE = Palette(
    (PaletteColour(1, "linear gradient #5d6aab #f4ead8", ("#5d6aab", "#f4ead8"), 1250.5, 0.75),),
    0.3,
    2,
    2.0,
    1,
    "m.svg",
)


def drawing(**facts: object) -> Drawing:
    return Drawing.build([[[(0, 0), (5, 5)]]], (10, 10), Job(), stroke="#1b1b3a", marker="outline", **facts)


def rewritten(data: bytes, **changes: object) -> bytes:
    found = re.search(rb"<ud:drawing>(.*)</ud:drawing>", data)
    assert found is not None
    meta = {**json.loads(found[1]), **changes}
    return data.replace(found[1], json.dumps({key: held for key, held in meta.items() if held is not None}).encode())


def test_every_fact_comes_back_from_the_wire_as_it_was() -> None:
    made = drawing(
        lying=LYING,
        mirror_folds=(MirrorFold("x", 3.5), MirrorFold("y", 1.0)),
        sources=(Source("moth.svg", "00ff"),),
        programs=(PROGRAM,),
        artwork=ARTWORK,
        reading=READING,
        palette=PALETTE,
        hides_nothing=True,
        cut_edge=[True],
    )
    read = read_drawing(write_drawing(made))
    for name in ("lying", "mirror_folds", "sources", "programs", "hides_nothing", "artwork", "reading", "palette"):
        assert getattr(read, name) == getattr(made, name), name
    assert read.cut_edge.tolist() == [True]
    assert write_drawing(read) == write_drawing(made)


def test_a_drawing_that_knows_nothing_says_nothing() -> None:
    data = write_drawing(drawing())
    assert not re.search(rb"lying|mirror_folds|sources|programs|hides_nothing|artwork|reading|palette|cut-edge", data)
    assert read_drawing(data).lying is None


def test_facts_outlive_every_change_of_geometry() -> None:
    made = drawing(lying=LYING, sources=(Source("moth.svg", "00ff"),), hides_nothing=True)
    for changed in (made.select([0]), made.with_lines(made.part_lines()), made.replace(coords=made.coords + 1)):
        assert (changed.lying, changed.sources, changed.hides_nothing) == (LYING, made.sources, True)


def test_a_drawing_of_version_1_gives_the_facts_that_its_history_held() -> None:
    history = [
        {"stage": "import", "settings": {}, "figures": {"file": "moth.svg", "sha256": "00ff"}},
        {"stage": "fit", "settings": {}, "figures": {"laid_turned": True}},
        {"stage": "wrap", "settings": {}, "figures": {"fold_marks": 12, "mirrored_at_mm": [["x", 2.5]]}},
        {"stage": "tidy", "settings": {}, "figures": {"strokes_after": 1}},
    ]
    read = read_drawing(rewritten(write_drawing(drawing()), version=1, history=history))
    assert read.lying == OnBoard(turned=True, wrapped=True)
    assert read.mirror_folds == (MirrorFold("x", 2.5),)
    assert read.sources == (Source("moth.svg", "00ff"),)
    assert read.hides_nothing


@pytest.mark.parametrize(
    "damage",
    [
        {"lying": 3},
        {"lying": {"turned": "no"}},
        {"lying": {"turned": True, "motion": {"angle_deg": 1e9, "shift_mm": [0, 0]}}},
        {"lying": {"turned": True, "page": [[1, 2, 3]]}},
        {"mirror_folds": [{"axis": "z", "at_mm": 0}]},
        {"mirror_folds": [{"axis": "x", "at_mm": float("nan")}]},
        {"mirror_folds": "x"},
        {"sources": [{"file": 3, "sha256": ""}]},
        {"programs": [{"file": "a.nc"}]},
        {"programs": [{"file": "a.nc", "loads": [{"marker": "m", "first": -1, "last": 2, "seconds": 0}]}]},
        {"hides_nothing": "yes"},
        {"artwork": {"paths": []}},
        {"artwork": {**ARTWORK.plain(), "paths": ["M0 0L5 0", "M1 1C2 2 3 3 4 4"]}},
        {"artwork": {**ARTWORK.plain(), "fills": ["#d9793a"]}},
        {"artwork": {**ARTWORK.plain(), "fills": ["url(http://x)", ""]}},
        {"artwork": {**ARTWORK.plain(), "widths": [0.0, float("nan")]}},
        {"reading": {"merges": -1}},
        {"palette": {**asdict(PALETTE), "coats": -1}},
        {"palette": {**asdict(PALETTE), "colours": [{"number": 1}]}},
        {"palette": {**asdict(PALETTE), "tool_mm": float("inf")}},
        {"palette": [1]},
        {"version": None},
    ],
)
def test_damaged_facts_are_one_line_and_no_traceback(damage: dict[str, object]) -> None:
    with pytest.raises(InputError, match="is a damaged drawing"):
        read_drawing(rewritten(write_drawing(drawing()), **damage))
