"""A panel longer than the bed: in how many sections, how far the board is moved, and what each one reaches."""

import json
import math
import subprocess
import sys
from pathlib import Path

import pytest

from underdraw import CannotDo, Panel
from underdraw.errors import InputError
from underdraw.job.file import job_from_data
from underdraw.panel import Lying, band_marks, require_on_bed
from underdraw.panel.sections import plan, sections_of
from underdraw.plugins.registry import Registry

INCH = 25.4
BED = (24 * INCH, 48 * INCH)


def panel(width: float, height: float, **sizes: object) -> Panel:
    """A face in inches, 1 1/2 in deep, with 1/2 in of bleed and a staple strip of 1 in."""
    given = {"bed": BED, "unit": "in", "sections": "auto", **sizes}
    return Panel((width * INCH, height * INCH), 1.5 * INCH, 0.5 * INCH, INCH, **given)


@pytest.mark.parametrize("offset", [(0.0, 0.0), (30.0, -40.0), (-30.0, 40.0)])
@pytest.mark.parametrize("face", [(16, 60), (30, 30), (16, 120), (12, 46), (60, 16), (17, 42.5)])
def test_all_of_the_board_is_reached_and_neighbours_share_a_band(face, offset) -> None:
    """By hand: the tip's travel is the bed's less the holder's offset; a board may lie 10 mm and 2 degrees off."""
    made = panel(*face)
    for way in (made, made.turned()):
        found = plan(way, BED, offset)
        if found is None:
            continue
        axis, long, across = found.axis, way.image[found.axis], way.image[1 - found.axis]
        slack = 10 + math.tan(math.radians(2)) * across
        near, far = max(0.0, offset[axis]) + slack, BED[axis] + min(0.0, offset[axis]) - slack
        for section in range(1, found.count + 1):
            end = found.first - (section - 1) * found.step  # of the board, from the travel's near left end
            low, high = found.reached(section)
            assert low + end >= near - 1e-3 and high + end <= far + 1e-3
        assert found.reached(1)[0] <= 1e-3 and found.reached(found.count)[1] >= long - 1e-3
        for section in range(1, found.count):
            low, high = found.band(section)
            assert high - low >= 100 and found.reached(section)[0] < low < high < found.reached(section + 1)[1]
        assert found.first >= way.staple - 1e-3  # the canvas begins and ends on the bed
        assert found.first - (found.count - 1) * found.step + long <= BED[axis] - way.staple + 1e-3


def test_auto_takes_as_few_sections_as_reach_the_board() -> None:
    """By hand: the first reaches so far, and each further one so far less the least band of 100 mm."""
    for height, count in ((60, 2), (84, 3), (120, 3), (200, 5)):
        made = panel(16, height)
        reached = BED[1] - 2 * (10 + math.tan(math.radians(2)) * made.image[0])
        assert 1 + math.ceil((made.image[1] - reached) / (reached - 100)) == count
        assert plan(made, BED, (0, 0)).count == count
    fewer = panel(16, 120, sections=2)
    assert sections_of(fewer, (0, 0)) is None
    with pytest.raises(CannotDo, match=r'in 3 sections, .*: \[machine\] sections = "auto", not 2'):
        require_on_bed(fewer)
    assert sections_of(panel(16, 120, sections=5), (0, 0)).count == 5


def test_what_fits_in_one_go_is_drawn_in_one_go_and_what_is_too_long_both_ways_is_refused() -> None:
    assert plan(panel(12, 16), BED, (0, 0)) is None
    both = panel(60, 60)
    assert plan(both, BED, (0, 0)) is None and plan(both.turned(), BED, (0, 0)) is None
    with pytest.raises(CannotDo, match="does not fit the bed"):
        require_on_bed(both, may_turn=True)


def test_a_panel_is_turned_where_that_takes_fewer_sections() -> None:
    registry = Registry.installed()
    for face, turned, count in (("16 x 60 in", False, 2), ("60 x 16 in", True, 2), ("30 x 30 in", False, 2)):
        job = job_from_data({"canvas": {"face": face}, "machine": {"bed": "24 x 48 in", "sections": "auto"}}, "frieze")
        lying = Lying.of_job(job, registry)
        assert (lying.turned, lying.sections.count) == (turned, count)


def test_marks_are_in_the_bleed_where_both_sections_reach_them() -> None:
    for made in (panel(16, 60), panel(30, 30), panel(16, 120)):
        found = plan(made, BED, (0, 0))
        marks = band_marks(made, found)
        assert len(marks) == 4 * (found.count - 1)
        for index, mark in enumerate(marks):
            along = mark.at[0] if found.axis == 0 else made.image[1] - mark.at[1]
            across = mark.at[1 - found.axis]
            low, high = found.band(1 + index // 4)
            assert low + 3 <= along <= high - 3
            assert min(across, made.image[1 - found.axis] - across) + mark.size / 2 <= made.bleed
    assert band_marks(Panel((400, 1500), 40, 2, 25, bed=BED), plan(Panel((400, 1500), 40, 2, 25), BED, (0, 0))) == ()


@pytest.mark.parametrize("written", [1, 0, -2, 21, 2.5, "many", True])
def test_a_number_of_sections_that_cannot_be_is_refused(written: object) -> None:
    with pytest.raises(InputError, match="expected auto, or a whole number from 2 to 20"):
        job_from_data({"machine": {"sections": written}}, "frieze")


def canvas(*words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "underdraw", "canvas", "--bed", "24 x 48 in", *words]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_canvas_says_what_is_possible_in_one_go_and_in_sections(tmp_path: Path) -> None:
    refused = canvas("--face", "16 x 60 in", "--json")
    figures = json.loads(refused.stdout)
    assert refused.returncode == 1 and figures["fits"] is False
    assert figures["sections"] == {"count": 2, "step_mm": pytest.approx(461.88, abs=0.01)}
    assert any('sections = "auto"' in note for note in figures["notes"])
    allowed = canvas("--face", "16 x 60 in", "--sections", "auto")
    assert allowed.returncode == 0 and "in 2 sections" in allowed.stdout
    assert json.loads(canvas("--face", "12 x 16 in", "--json").stdout)["sections"] is None
    assert canvas("--face", "60 x 60 in", "--sections", "auto").returncode == 1


def test_the_remedy_that_is_offered_is_one(tmp_path: Path) -> None:
    """`try: … sections = "auto"` in the job, as the message has it, and the panel is drawn."""
    job = tmp_path / "frieze.toml"
    (tmp_path / "frieze.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="16in" height="60in" viewBox="0 0 16 60">'
        '<path d="M1 1L15 59" stroke="#1b1b3a" stroke-width=".1"/><path d="M2 40L9 41" stroke="#1b1b3a" '
        'stroke-width=".1"/></svg>'
    )
    text = '[artwork]\nfile = "frieze.svg"\n[canvas]\nface = "16 x 60 in"\n[machine]\nbed = "24 x 48 in"\n'
    job.write_text(text)
    run = [sys.executable, "-m", "underdraw", "run", str(job)]
    refused = subprocess.run(run, capture_output=True, text=True, check=False)
    assert refused.returncode == 1 and 'sections = "auto"' in refused.stderr
    job.write_text(text + 'sections = "auto"\n')
    done = subprocess.run(run, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    made = {path.name for path in (tmp_path / "frieze").iterdir()}
    assert {"frieze-flat-section-1.svg", "frieze-flat-section-2.svg"} <= made
    assert len([name for name in made if "section" in name and not name.endswith(".svg")]) == 2
