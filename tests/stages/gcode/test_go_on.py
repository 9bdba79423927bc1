"""Broken off anywhere, gone on from there: both drawings together are the whole, with the overlap asked for.

What is drawn is found by the tests' own machine (`plain_machine`), and how far it is off by shapely.
A larger run by hand: `UNDERDRAW_KILLS=200 pytest tests/stages/gcode/test_go_on.py`.
"""

import dataclasses
import itertools
import os
import re

import numpy as np
import pytest
from plain_machine import run
from segments import segments
from shapely import LineString, STRtree

from underdraw.errors import CannotDo, InputError
from underdraw.panel import Lying
from underdraw.plugins.registry import Plugin, Registry
from underdraw.program import check_program
from underdraw.program.comparison.stroke_of_line import stroke_of_line
from underdraw.program.expected import Expected
from underdraw.program.expected.drawn_range import beginning_of, runs_of
from underdraw.testing.trial import TrialContext

KILLS = int(os.environ.get("UNDERDRAW_KILLS", "12"))
TOLERANCE = 0.02
CHORDS = 0.001  # the tests' machine draws arcs as chords
OVERLAP = 3.0
CASES = [
    ("rs274", "mm", {"gold": 3}),
    ("rs274", "in", {"gold": 2, "loads": [1, 1, 1, 2, 2, 2, 1, 1], "machine": {"zero": "centre", "park": "9 x 7 mm"}}),
    ("lines", "mm", {"gold": 3, "holder": {"offset": "20 x 5 mm", "zero_with": "axis"}}),
    ("iso6983", "in", {"gold": 3}),
    ("iso6983", "mm", {"loads": [1, 1, 1, 2, 2, 2, 3, 3]}),
]


def lines_of(text: str) -> list[LineString]:
    return [LineString(line.points if len(line.points) > 1 else line.points * 2) for line in run(text).lines]


def farthest(one: list[LineString], other: list[LineString]) -> float:
    """mm from any point of one set of lines to the nearest of the other, by shapely."""
    tree = STRtree(segments(other))
    points = [line.interpolate(np.linspace(0.0, line.length, int(line.length * 2) + 2)) for line in one]
    _, distance = tree.query_nearest(np.concatenate(points), return_distance=True, all_matches=False)
    return float(distance.max())


def told(drawing, registry, controller: str, data: bytes, name: str):
    """What `check` finds, the range found by itself."""
    expected = Expected.of(drawing.job, Lying.of(drawing, registry), registry, controller)
    runs = runs_of(data, drawing, expected.dialect, name)
    return check_program(
        data, expected.drawing(drawing, runs, beginning_of(data, runs, drawing, expected.dialect, name))
    )


@pytest.mark.slow
@pytest.mark.parametrize(("controller", "units", "job"), CASES)
def test_what_was_drawn_and_what_is_left_are_together_the_whole(
    garden, write, registry, tmp_path, controller, units, job
):
    drawing = garden(**job)
    file = tmp_path / "whole.nc"
    file.write_bytes(write(drawing, controller=controller, units=units).files[0].data)
    text = file.read_text()
    blocks, whole = text.splitlines(), lines_of(text)
    lying = Lying.of(drawing, registry)
    flipped = drawing.coords * (1, -1) + (0, drawing.sheet[1]) - np.array(lying.zero)
    flipped = flipped - ((20, 5) if "holder" in job else (0, 0))
    strokes = [LineString(flipped[a:b]) for a, b in itertools.pairwise(drawing.parts)]
    first = next(at for at, block in enumerate(blocks) if re.search(r"\bG0?1 Z-", block))
    last = max(at for at, block in enumerate(blocks) if re.search(r"\bG0?[123] X", block))
    rng = np.random.default_rng(len(text))
    arcs = [at for at, block in enumerate(blocks) if re.search(r"\bG0?[23] X", block)]
    for count in range(KILLS):
        at = int(rng.choice(arcs)) if arcs and count % 4 == 0 else int(rng.integers(first, last + 1))
        asked = {"from-line": at + 1, "program": str(file), "controller": controller, "units": units}
        result = write(drawing, **asked)
        report = told(result.drawing, registry, controller, result.files[0].data, result.drawing.programs[-1].file)
        assert report.ok, (at, blocks[at], report.problems[:3])
        before = lines_of("\n".join([*blocks[:at], "G0 Z50"]) + "\n")
        after = lines_of(result.files[0].data.decode())
        assert farthest(strokes, before + after) <= TOLERANCE + CHORDS, (at, blocks[at])
        assert farthest(before + after, strokes) <= TOLERANCE + CHORDS, (at, blocks[at])
        lengths = [sum(line.length for line in lines) for lines in (before, after, whole)]
        again = lengths[0] + lengths[1] - lengths[2]
        unfinished = before[-1].length if len(before) + len(after) > len(whole) else 0.0
        assert again == pytest.approx(min(OVERLAP, unfinished), abs=0.1), (at, blocks[at])


def test_a_place_within_a_stroke_is_its_decimals(garden, write, read_back, registry):
    drawing = garden()
    length = drawing.part_lengths()[2]
    result = write(drawing, **{"from": "3.6", "overlap": "5 mm"})
    data = result.files[0].data
    drawn = lines_of(data.decode())
    assert drawn[0].length == pytest.approx(0.4 * length + 5, abs=0.05)
    assert len(drawn) == 6
    assert told(drawing, registry, "rs274", data, "other.nc").ok  # by its header alone
    assert result.drawing.programs[-1].begins == pytest.approx(0.6 - 5 / length, abs=1e-6)
    assert not read_back(data, drawing, 3).ok  # the whole of stroke 3 is not in it
    assert lines_of(write(drawing, **{"from": "3.0001"}).files[0].data.decode())[0].length == pytest.approx(
        length, abs=0.05
    )


@pytest.mark.slow
def test_strokes_are_drawn_again_alone_and_by_marker(garden, write, registry):
    drawing = garden(gold=3)
    for controller in ("rs274", "iso6983", "lines"):
        for asked, numbers in (
            ({"again": "2-3,7"}, [2, 3, 7]),
            ({"again": "5"}, [5]),
            ({"marker": "gold (fine)"}, [6, 7, 8]),
            ({"marker": "outline", "from": "2"}, [2, 3, 4, 5]),
        ):
            result = write(drawing, controller=controller, **asked)
            data = result.files[0].data
            report = told(result.drawing, registry, controller, data, result.drawing.programs[-1].file)
            assert report.ok, report.problems
            assert report.comparison.of.tolist() == numbers
            whole = lines_of(write(drawing, controller=controller).files[0].data.decode())
            alone = lines_of(data.decode())
            assert [line.equals(whole[number - 1]) for line, number in zip(alone, numbers, strict=True)]


def test_check_finds_a_stroke_that_a_range_of_its_own_leaves_out(garden, write, registry):
    drawing = garden(gold=3)
    data = write(drawing, again="2-3,7").files[0].data
    lines = data.decode().splitlines()
    first = next(at for at, line in enumerate(lines) if line.startswith("N3 "))
    last = next(at for at, line in enumerate(lines) if at > first and line == "G0 Z5")
    without = "\n".join([*lines[:first], *lines[last + 1 :]]) + "\n"
    assert {problem.code for problem in told(drawing, registry, "rs274", without.encode(), "x.nc").problems} == {
        "missing"
    }


def test_the_first_marker_is_announced_like_any_other_at_park(garden, write, listener):
    drawing = garden(gold=3, machine={"park": "10 x 20 mm"})
    for asked in ({"from": "7"}, {"from": "2.5"}, {"again": "6"}, {"marker": "gold (fine)"}):
        blocks = write(drawing, **asked).files[0].data.decode().splitlines()
        at = blocks.index("M0")
        name = "outline" if asked == {"from": "2.5"} else r"gold fine"
        assert re.search(rf"MSG, put in (a fresh )?marker {name}", " ".join(blocks[at - 2 : at]))
        assert "G0 X10 Y20" in blocks[at - 4 : at]
        assert blocks[at + 1] == "G21"
    assert "M0" not in write(drawing, to=3).files[0].data.decode().splitlines()
    quiet = write(drawing, listener, controller="lines", **{"from": "7"})
    assert re.search(r"pause in line \d+: put in marker gold", quiet.summary)


@pytest.mark.parametrize(
    ("asked", "error", "said"),
    [
        ({"again": "3-1"}, InputError, "expected strokes such as 30-41,55"),
        ({"again": "x"}, InputError, "expected strokes such as 30-41,55"),
        ({"again": "9"}, CannotDo, "has 8 strokes; --again asks for 9"),
        ({"again": "2,7-9"}, CannotDo, "has 8 strokes; --again asks for 9"),
        ({"again": "2", "from": "2"}, InputError, "leave out --from"),
        ({"from-line": 4}, InputError, "name it: --program FILE"),
        ({"program": "x.nc"}, InputError, "goes with --from-line"),
        ({"from-line": 4, "program": "none-such.nc"}, InputError, "cannot be read"),
        ({"from-line": 4, "from": "2", "program": "x.nc"}, InputError, "use one of them"),
        ({"marker": "silver"}, CannotDo, "try: one of outline"),
    ],
)
def test_what_cannot_be_drawn_is_refused(garden, write, asked, error, said):
    with pytest.raises(error) as refused:
        write(garden(), **asked)
    assert said in refused.value.text


def test_a_stroke_that_is_all_but_drawn_is_begun_before_its_end(garden, write, registry):
    """What is left out is less than all of it, whatever was typed in: a header and a check agree."""
    drawing = garden()
    result = write(drawing, **{"from": 5.99999999999, "overlap": "0 mm"})
    data = result.files[0].data
    assert re.search(rb"stroke 5 begins at 0\.99\d+ of its length", data)
    assert told(result.drawing, registry, "rs274", data, "x.nc").ok


def test_a_program_to_go_on_from_is_named_where_it_is_none(garden, write, tmp_path):
    (tmp_path / "card.svg").write_text("<svg/>")
    with pytest.raises(InputError, match=r"^\S+card\.svg: is no program but XML") as error:
        write(garden(), **{"from-line": 1, "program": str(tmp_path / "card.svg")})
    assert error.value.file == str(tmp_path / "card.svg")


def test_more_strokes_than_a_controller_can_number_are_found_by_the_record(garden, write, registry):
    """Of a controller without notes: N words number the first strokes alone."""
    few = dataclasses.replace(registry.controllers["lines"], name="few", highest_number=5)
    shop = Registry.installed()
    shop.controllers.add("few", few, Plugin("test", "test"))
    listener = TrialContext(shop)
    result = write(garden(), listener, controller="few")
    data, [record] = result.files[0].data, result.drawing.programs
    assert re.findall(rb"^N(\d+) ", data, re.MULTILINE) == [b"1", b"2", b"3", b"4", b"5"]
    assert told(result.drawing, shop, "few", data, record.file).ok
    rest = write(result.drawing, listener, controller="few", **{"from": 4})
    assert told(rest.drawing, shop, "few", rest.files[0].data, rest.drawing.programs[-1].file).ok
    assert told(garden(), shop, "few", data, "renamed.nc").ok  # all of the drawing, where nothing limits it


def test_a_line_is_looked_up_in_the_words_of_the_controller_on_record(garden, write, shop):
    """The job names none, the program was written for another: its marker moves by words of its own."""
    result = write(garden(), TrialContext(shop), controller="servo-lift")
    data, [record] = result.files[0].data, result.drawing.programs
    line = len(data.splitlines()) // 2
    asked = stroke_of_line(data, line, result.drawing, shop, "servo-lift")
    assert stroke_of_line(data, line, result.drawing, shop, file=record.file) == asked
    with pytest.raises(CannotDo):
        stroke_of_line(data, line, result.drawing, shop, file="renamed.nc")


def test_a_machine_that_cannot_be_jogged_is_never_asked_to_wait(garden, write):
    """`--split load`: the marker is put in and its height set before each program starts, of a rest too."""
    drawing = garden(gold=3)
    for asked in ({"from": 3}, {"again": "2-3,7"}, {"from": 7}, {}):
        files = write(drawing, split="load", **asked).files
        assert files and all(b"\nM0\n" not in file.data for file in files), asked
    assert b"\nM0\n" in write(drawing, **{"from": 3}).files[0].data  # which puts in what the holder may not have
