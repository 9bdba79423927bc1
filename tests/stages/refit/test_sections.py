"""A panel longer than the bed: each section on a board that lies elsewhere, and together the drawing, all of it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from long_panels import PANELS, long_panel, ordered
from put_back import Shove, file_of, from_corner, program_of, refitted

from underdraw import CannotDo, Drawing, InputError
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.job.settings import read_settings
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.program import check_program
from underdraw.program.comparison import drawn_strokes
from underdraw.program.comparison.stroke_of_line import stroke_of_line
from underdraw.program.expected import Expected
from underdraw.program.expected.program_notes import as_noted
from underdraw.testing.trial import TrialContext
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode

Lines = list[np.ndarray]


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


def slid(drawing: Drawing, section: int, rng: np.random.Generator, degrees: float = 2.0, mm: float = 10.0) -> Shove:
    """Where a board goes that is moved along for a section, a little off; it turns about its own middle."""
    sections = Lying.of(drawing, Registry.installed()).sections
    assert sections is not None
    begin, end = sections.reached(section)
    pivot = np.array(drawing.sheet) / 2
    pivot[sections.axis] = (max(begin, 0.0) + min(end, drawing.sheet[sections.axis])) / 2
    turn = Shove(float(rng.uniform(-degrees, degrees)), (0.0, 0.0))
    shift = pivot - turn.of(pivot[None])[0] + sections.moved(section) + rng.uniform(-mm, mm, 2)
    return Shove(turn.degrees, (float(shift[0]), float(shift[1])))


def measured(drawing: Drawing, section: int, shove: Shove, path: Path) -> Drawing:
    """The drawing after the marks were read that are on the canvas by then."""
    lying = Lying.of(drawing, Registry.installed())
    marks = lying.marks_before(section) or lying.marks[2:] + lying.marks[:2]
    numbers = [lying.marks.index(mark) + 1 for mark in marks]
    read = shove.of(from_corner(drawing, np.array(marks)))
    return refitted(drawing, file_of(path, read, numbers), section=section)[0]


def drawn_on_board(data: bytes, drawing: Drawing, shove: Shove) -> Lines:
    """What a program draws, brought back to the board (y down) by hand."""
    strokes = drawn_strokes(check_program(data).drawn)
    back = shove.undone(strokes.coords)
    back[:, 1] = drawing.sheet[1] - back[:, 1]
    return np.split(back, strokes.parts[1:-1])


@pytest.mark.slow
@pytest.mark.parametrize("name", PANELS)
def test_all_sections_together_are_the_drawing(tmp_path: Path, registry, name: str) -> None:
    drawing, rng = ordered(long_panel(name))[0], np.random.default_rng(len(name))
    count = Lying.of(drawing, registry).sections.count
    made: Lines = []
    for section in range(1, count + 1):
        shove = slid(drawing, section, rng)
        lying_there = measured(drawing, section, shove, tmp_path / "read.toml")
        data = program_of(lying_there)
        expected = Expected.of(drawing.job, Lying.of(lying_there, registry), registry)
        runs = [(int(own[0]) + 1, int(own[-1]) + 1) for own in [np.flatnonzero(drawing.section == section)]]
        report = check_program(data, expected.drawing(lying_there, runs))
        assert report.ok, report.problems[:3]
        within_the_bed(data, Lying.of(drawing, registry))
        made += drawn_on_board(data, drawing, shove)
    assert len(made) == len(drawing)
    for line, stroke in zip(made, drawing.part_lines(), strict=True):
        drawn = shapely.linestrings(line if len(line) > 1 else np.repeat(line, 2, axis=0))
        assert shapely.hausdorff_distance(drawn, stroke, densify=0.2) <= 0.02


def within_the_bed(data: bytes, lying: Lying) -> None:
    """No move leaves the travel, from its near left end on; by hand."""
    sections, (x, y) = lying.sections, lying.corner_on_bed(1)
    assert sections is not None
    end = check_program(data).drawn.moves.end[:, :2] + (x, y)
    along, travel = end[:, sections.axis], lying.job.machine.bed[sections.axis]
    assert np.nanmin(along) >= -1e-3 and np.nanmax(along) <= travel + 1e-3


def test_a_program_for_each_section_is_written_and_checked_as_planned(registry) -> None:
    drawing, _ = ordered(long_panel("16 x 120 in"))
    bench = TrialContext(registry)
    result = gcode(drawing, read_settings(GcodeSettings, {"units": "mm"}), bench)
    assert [file.label for file in result.files] == ["section-1", "section-2", "section-3"]
    lying = Lying.of(drawing, registry)
    for section, (file, record) in enumerate(zip(result.files, result.drawing.programs, strict=True), 1):
        assert f"(section {section} of 3)".encode() in file.data
        assert (drawing.section[record.first - 1 : record.last] == section).all()
        planned = Shove(0.0, lying.sections.moved(section))
        for line, stroke in zip(
            drawn_on_board(file.data, drawing, planned),
            drawing.part_lines()[record.first - 1 : record.last],
            strict=True,
        ):
            assert line[0] == pytest.approx(np.array(stroke.coords[0]), abs=0.003)


def test_a_section_that_was_not_measured_yet_waits_over_its_marks_first(registry) -> None:
    drawing, _ = ordered(long_panel("16 x 60 in"))
    one, two = gcode(drawing, GcodeSettings(), TrialContext(registry)).files
    assert b"the tip is over" not in one.data
    text = two.data.decode()
    assert [text.count(f"the tip is over mark {number}") for number in range(1, 9)] == [0, 0, 0, 0, 1, 1, 1, 1]
    assert "NOT measured yet" in text


def test_once_measured_it_draws_without_asking_and_alone(tmp_path: Path, registry) -> None:
    drawing, _ = ordered(long_panel("16 x 60 in"))
    made = measured(drawing, 2, slid(drawing, 2, np.random.default_rng(1)), tmp_path / "read.toml")
    (file,) = gcode(made, GcodeSettings(), TrialContext(registry)).files
    assert b"the tip is over" not in file.data and b"NOT measured" not in file.data
    assert read_drawing(write_drawing(made)).lying == made.lying
    assert (read_drawing(write_drawing(made)).section == made.section).all()


def test_a_line_of_a_sections_program_is_found_in_the_drawing(registry) -> None:
    drawing, _ = ordered(long_panel("16 x 60 in"))
    two = gcode(drawing, GcodeSettings(), TrialContext(registry)).files[1].data
    first = int(np.flatnonzero(drawing.section == 2)[0]) + 1
    line = next(k for k, text in enumerate(two.decode().splitlines(), 1) if text.startswith(f"N{first + 3} "))
    assert stroke_of_line(two, line, drawing, registry) == (first + 3, 0.0)


@pytest.mark.parametrize(
    ("section", "told"),
    [(None, "expected the section to be drawn next, 1 to 2, it is not set"), (3, "1 to 2, got 3")],
)
def test_the_section_must_be_named(tmp_path: Path, section, told) -> None:
    drawing, _ = ordered(long_panel("16 x 60 in"))
    read = file_of(tmp_path / "read.toml", from_corner(drawing, np.array(drawing.lying.marks)))
    with pytest.raises(InputError, match=told):
        refitted(drawing, read, **({} if section is None else {"section": section}))


def test_a_drawing_that_is_not_in_sections_yet_is_sent_to_order(tmp_path: Path) -> None:
    drawing = long_panel("16 x 60 in")
    read = file_of(tmp_path / "read.toml", from_corner(drawing, np.array(drawing.lying.marks)))
    with pytest.raises(CannotDo, match="order has not put its strokes into sections"):
        refitted(drawing, read, section=1)


def test_some_strokes_again_are_of_their_section(registry) -> None:
    drawing, _ = ordered(long_panel("16 x 60 in"))
    first = int(np.flatnonzero(drawing.section == 2)[0]) + 1
    files = gcode(
        drawing, read_settings(GcodeSettings, {"again": f"{first - 1}-{first}"}), TrialContext(registry)
    ).files
    assert [file.label for file in files] == ["section-1", "section-2"]
    with pytest.raises(CannotDo, match="none of these strokes is of section 1; use one of 2"):
        gcode(drawing, read_settings(GcodeSettings, {"again": str(first), "section": 1}), TrialContext(registry))


@pytest.mark.slow
def test_zero_that_the_first_section_does_not_reach_is_refused_with_one_that_it_does(registry) -> None:
    far, near = (ordered(long_panel("16 x 120 in", zero=zero))[0] for zero in ("centre", "face"))
    with pytest.raises(CannotDo, match=r'the middle of the board is .* along the board.*\n  try: zero = "board"'):
        gcode(far, GcodeSettings(), TrialContext(registry))
    assert len(gcode(near, GcodeSettings(), TrialContext(registry)).files) == 3


@pytest.mark.slow
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_program_is_checked_against_the_job_alone_where_its_notes_put_the_board(tmp_path, registry, units) -> None:
    """Of a section as planned, of one that was measured, and of a board that was put back."""
    drawing, _ = ordered(long_panel("16 x 60 in"))
    lying = Lying.of_job(drawing.job, registry)
    expected = Expected.of(drawing.job, lying, registry)
    settings = read_settings(GcodeSettings, {"units": units})
    data = [file.data for file in gcode(drawing, settings, TrialContext(registry)).files]
    shove = slid(drawing, 2, np.random.default_rng(3))
    data.append(program_of(measured(drawing, 2, shove, tmp_path / "read.toml"), units=units, rehearse=True))
    for program in data:
        noted = replace(expected, lying=as_noted(program, lying, expected.dialect))
        assert check_program(program, noted).problems == []
    assert check_program(data[2], expected).problems  # where the board was first, it draws beside the image
    beside = data[2].replace(b"about zero, moved X", b"about zero, moved X1")
    noted = replace(expected, lying=as_noted(beside, lying, expected.dialect))
    assert check_program(beside, noted).problems


@pytest.mark.parametrize("note", [b"(section 7 of 9)", b"(section 2 of 2)(turned 1e9 degrees about zero, moved X1 Y1)"])
def test_notes_that_cannot_be_are_not_taken(registry, note: bytes) -> None:
    lying = Lying.of_job(ordered(long_panel("16 x 60 in"))[0].job, registry)
    noted = as_noted(note + b"\nG21\nM2\n", lying, None)
    assert noted.motion in (None, lying.for_section(2).motion)
