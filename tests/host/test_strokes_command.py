"""`underdraw strokes` finds the stroke for whoever stands at the machine with a dry marker."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from underdraw import CannotDo, InputError
from underdraw.cli.command_line import main
from underdraw.cli.console import Console
from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import WrittenLoad, WrittenProgram
from underdraw.drawing.wire import write_drawing
from underdraw.job.settings import read_settings
from underdraw.machine.stroke_table import StrokeTable
from underdraw.plugins.chain import StageContext, run_stage
from underdraw.plugins.registry import Registry
from underdraw.program.comparison.stroke_of_line import stroke_of_line
from underdraw.testing import strokes


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


@pytest.fixture
def ask(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """Ask of the sample drawing; exit code, what was printed (JSON where asked for), and errors."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "garden.svg").write_bytes(write_drawing(strokes()))

    def asked(*words: str) -> tuple[int, Any, str]:
        code = 0
        try:
            main(["strokes", "garden.svg", *words])
        except SystemExit as stop:
            code = int(stop.code or 0)
        out = capsys.readouterr()
        return code, json.loads(out.out) if "--json" in words and out.out else out.out, out.err

    return asked


def meadow() -> Drawing:
    rng = np.random.default_rng(3)
    lines = [rng.uniform(0, 170, (1, 2)) + np.cumsum(rng.normal(0, 3, (12, 2)), axis=0) for _ in range(150)]
    made = strokes()
    return Drawing.build(
        [[line] for line in lines], made.sheet, made.job, marker="outline", load=1, stroke="#1b1b3a", lying=made.lying
    )


def test_a_hundred_places_find_the_strokes_that_shapely_finds_nearest_first(registry: Registry) -> None:
    """Distances by shapely, stroke by stroke."""
    drawing = meadow()
    table = StrokeTable.of(drawing, registry)
    rng = np.random.default_rng(11)
    some = 0
    for place in rng.uniform((0, 0), drawing.sheet, (100, 2)).tolist():
        away = [shapely.LineString(drawing.part_coords(part)).distance(shapely.Point(place)) for part in range(150)]
        wanted = sorted((far, number) for number, far in enumerate(away, 1) if far <= 5.0)
        found = table.near((place[0], place[1]))
        assert [row.stroke for row in found] == [number for _, number in wanted]
        for row, (far, _) in zip(found, wanted, strict=True):
            assert row.away_mm == pytest.approx(far, abs=1e-9)
            assert np.hypot(*np.subtract(row.at_mm, place)) == pytest.approx(far, abs=1e-6)
        some += len(found)
    assert some > 50


def test_a_place_may_be_measured_from_the_faces_corner(ask: Any) -> None:
    _, board, _ = ask("--near", "125 x 45 mm", "--json")
    _, face, _ = ask("--near", "100 x 20 mm", "--of", "face", "--json")
    assert board == face and board[0]["stroke"] == 4


def test_at_a_time_the_stroke_being_drawn_or_the_next_is_named(ask: Any, registry: Registry) -> None:
    table = StrokeTable.of(strokes(), registry)
    for number in range(1, 6):
        begun, over = table.schedule.touch[number - 1], table.schedule.lift[number - 1]
        middle = (begun + over) / 2 if over > begun else begun - 0.01  # a dot is over at once
        _, found, _ = ask("--at", f"{middle:.3f}", "--json")
        assert [row["stroke"] for row in found] == [number]
    code, text, _ = ask("--at", "9:00:00")
    assert code == 1 and "no stroke there" in text


def test_a_clock_that_ran_on_in_the_pauses_is_set_back(ask: Any, registry: Registry) -> None:
    table = StrokeTable.of(strokes(), registry)
    swaps = int((table.schedule.swap_strokes > 0).sum())
    last = float(table.schedule.touch[-1]) + 0.01
    assert swaps == 2
    _, found, _ = ask("--at", f"{last + swaps * 180:.2f}", "--waits", "3:00", "--json")
    assert [row["stroke"] for row in found] == [5]
    first_swap = float(table.schedule.swap_times[1])
    _, found, _ = ask("--at", f"{first_swap + 100:.2f}", "--waits", "3:00", "--json")  # still waiting there
    assert [row["stroke"] for row in found] == [3]


def test_times_are_those_of_the_programs_that_draw_it_whole(registry: Registry) -> None:
    drawing = strokes()
    loads = (WrittenLoad("outline", 1, 2, 100.0), WrittenLoad("outline", 3, 4, 50.0), WrittenLoad("accent", 5, 5, 10.0))
    written = WrittenProgram("garden.nc", loads, 160.0, "slow", digest=drawing.digest)
    table = StrokeTable.of(drawing.replace(programs=(written,)), registry)
    assert table.schedule.total == pytest.approx(160.0)
    assert table.row(5).seconds > 150.0
    stale = WrittenProgram("garden.nc", loads, 160.0, "slow", digest="other strokes")
    assert StrokeTable.of(drawing.replace(programs=(stale,)), registry).schedule.total != pytest.approx(160.0)


def test_without_a_question_every_stroke_is_listed(ask: Any) -> None:
    _, found, _ = ask("--json")
    assert [row["stroke"] for row in found] == [1, 2, 3, 4, 5]
    assert set(found[0]) == {"stroke", "marker", "load", "at_mm", "line", "seconds", "length_mm", "away_mm"}
    _, text, _ = ask()
    assert len(text.splitlines()) == 6 and "accent" in text


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--near", "1 x 1 in", "--at", "3:00"], "are two questions"),
        (["--line", "7"], "--line and --program belong together"),
        (["--waits", "3:00"], "--waits belongs to --at"),
        (["--near", "three"], "--near: expected a size"),
        (["--near", "1 x 1 in", "--within", "5"], "--within: expected a length with its unit"),
        (["--near", "1 x 1 in", "--within", "-5 mm"], "--within: expected a length of at least 0, got '-5 mm'"),
        (["--at", "14:60"], "--at: expected a time such as 14:30"),
        (["--at", "noon"], "--at: expected a time such as 14:30"),
        (["--near", "1 x 1 in", "--of", "wall"], "expected board or face, got 'wall'"),
    ],
)
def test_what_cannot_be_asked_is_one_line(ask: Any, words: list[str], told: str) -> None:
    code, _, err = ask(*words)
    assert code == 2 and told in err and len(err.strip().splitlines()) == 1


@pytest.mark.slow
def test_a_programs_line_gives_the_stroke_and_how_far_along_it(tmp_path: Path, capsys: Any, registry: Registry) -> None:
    """Every line of the program, against a reading of it block by block that is the test's own."""
    drawing = strokes()
    stage = registry.stages["gcode"]
    context = StageContext(registry, Console(), stage.name)
    context.console.quiet = True  # type: ignore[attr-defined]
    (file,) = run_stage(stage, drawing, read_settings(stage.settings, {"controller": "lines"}), context).files
    lines = file.data.decode().splitlines()
    down, number, far, height = False, 0, 0.0, 0.0
    at = np.zeros(2)
    totals = dict(enumerate(drawing.part_lengths().tolist(), 1))
    for index, block in enumerate(lines, 1):
        words = {word[0]: float(word[1:]) for word in block.split() if word[0] in "XYZ"}
        new = np.array([words.get("X", at[0]), words.get("Y", at[1])])
        height = words.get("Z", height)
        if height < 0 and not down:
            down, number, far = True, number + 1, 0.0
        elif height >= 0:
            down = False
        if down and (new != at).any():
            found, share = stroke_of_line(file.data, index, drawing, registry, "lines")
            assert found == number
            assert share == pytest.approx(far / totals[number], abs=0.01)
            far += float(np.hypot(*(new - at)))
        at = new
    assert number == len(drawing)
    with pytest.raises(InputError, match=f"the program has {len(lines):,} lines"):
        stroke_of_line(file.data, len(lines) + 1, drawing, registry, "lines")
    with pytest.raises(InputError, match="the program has no lines"):
        stroke_of_line(b"", 1, drawing, registry, "lines")
    with pytest.raises(CannotDo, match="no stroke is drawn from there on"):
        stroke_of_line(file.data, len(lines), drawing, registry, "lines")
