"""A program held against its job and drawing, rule by rule, and what of that a program alone can show.

Modes that RS274/NGC leaves open, M0 and M1, G4: NISTIR 6556 (2000), sections 3.5 and 3.6.
"""

from dataclasses import replace

import numpy as np
import pytest

from underdraw import Drawing
from underdraw.drawing.facts import Motion, OnBoard, WrittenLoad, WrittenProgram
from underdraw.job.file import job_from_data
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.program import check_program
from underdraw.program.expected import Expected
from underdraw.program.expected.drawn_range import beginning_of, runs_of
from underdraw.program.rules.asked import named_marker

BEGIN = "M5 M9\nG17 G21 G40 G49 G54 G61 G80 G90 G94\nG0 Z5\nG0 X0 Y0\n"
MOTH = "G0 X20 Y30\nG0 Z1\nG1 Z-1.5 F600\nG4 P0.2\nG1 X120 Y30 F762\nG0 Z5\n"
VINE = "G0 X20 Y60\nG0 Z1\nG1 Z-1.5 F600\nG4 P0.2\nG1 X120 Y60 F762\nG0 Z5\n"
SWAP = "G0 X0 Y0\n(MSG, put in marker gold for 1 stroke; then go on)\nM0\nG17 G21 G40 G49 G54 G61 G80 G90 G94\nG0 Z5\n"
STAR = "G0 X20 Y90\nG0 Z1\nG1 Z-2.5 F600\nG4 P0.2\nG1 X120 Y90 F1524\nG0 Z5\n"
END = "G0 X0 Y0\nM2\n"
WHOLE = BEGIN + MOTH + VINE + SWAP + STAR + END
JOB = {
    "canvas": {"face": "150 x 120 mm", "mount": "stretched"},
    "machine": {"bed": "400 x 400 mm", "height": "60 mm"},
    "holder": {"use": "collet", "settle": "0.2 s"},
    "marker": [
        {"name": "outline", "ink": "oil-paint"},
        {"name": "gold", "ink": "permanent", "press": "2.5 mm"},
    ],
}


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


@pytest.fixture(scope="module")
def drawing() -> Drawing:
    lines = [np.array([(20.0, 120.0 - y), (120.0, 120.0 - y)]) for y in (30, 60, 90)]
    drawn = Drawing.build(
        [[line] for line in lines],
        (150, 120),
        job_from_data(JOB, "moth"),
        marker=np.array(["outline", "outline", "gold"], dtype=object),
        load=1,
        stroke="#1b1b3a",
        stroke_width=0.7,
    )
    return drawn.replace(lying=OnBoard())


@pytest.fixture(scope="module")
def expected(drawing: Drawing, registry: Registry) -> Expected:
    return Expected.of(drawing.job, Lying.of(drawing, registry), registry).drawing(drawing)


def told(text: str, expected: Expected | None = None) -> str:
    return "\n".join(f"{item.code}: {item.text}" for item in check_program(text.encode(), expected).problems)


def test_a_program_that_is_what_its_job_says_has_no_problem(expected: Expected) -> None:
    assert not told(WHOLE, expected)
    assert not told(WHOLE)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("Z-1.5 F600", "Z-11.5 F600", "depth: goes 11.50 mm below Z0; the press is 1.50 mm"),
        ("Z-2.5 F600", "Z-1.5 F600", "depth: draws with the marker pressed in by 1.50 mm; the press is 2.50 mm"),
        ("G0 Z5\nG0 X20 Y60", "G0 Z2\nG0 X20 Y60", "lift: travels 2.00 mm above the canvas; the lift is 5.00 mm"),
        ("G0 Z5\nG0 X20 Y60", "G0 Z50\nG0 X20 Y60", "lift: rises to 50.00 mm; 5.00 mm is the most expected"),
        ("G0 Z5\nG0 X20 Y60", "G0 Z70\nG0 X20 Y60", "lift: rises to 70.00 mm; the machine ends at 60.00 mm"),
        ("G0 Z1\nG1 Z-2.5", "G0 Z0.1\nG1 Z-2.5", "rapid-down: a rapid (G0) comes down to 0.10 mm above the canvas"),
        ("G1 Z-2.5", "G1 Z0.001 F1800\nG1 Z-2.5", "too-fast: lowers the marker at 30.0 mm/s; the touch speed is 10.0"),
        ("F762", "F15", "too-slow: draws at 0.2 mm/s; its ink takes 12.7 mm/s"),
        ("F1524", "F3000", "too-fast: draws at 50.0 mm/s; its ink takes 25.4 mm/s"),
        ("X120 Y90 F1524", "X120 Y90", "too-slow: draws at 10.0 mm/s; its ink takes 25.4 mm/s"),
        ("Z-1.5 F600", "Z-1.5 F3000", "too-fast: lowers the marker at 50.0 mm/s; the touch speed is 10.0 mm/s"),
        ("Z-2.5 F600", "Z-2.5", "too-fast: lowers the marker at 12.7 mm/s; the touch speed is 10.0 mm/s"),
        (SWAP, "", "pause: no pause to put in marker 'gold' before this stroke"),
        ("M0\n", "M1\n", "M1 waits only where a switch is set; use M0"),
        ("M0\n", "G4 P1\n", "a dwell (G4) goes on by itself; use M0"),
        (VINE + SWAP, SWAP + VINE, "pause: a pause between two strokes of one load, marker 'outline'"),
        (SWAP + STAR, STAR + SWAP, "pause: no pause to put in marker 'gold'"),
        (MOTH + VINE + SWAP + STAR, STAR + SWAP + MOTH + VINE, "the loads are exchanged"),
        (
            "marker gold",
            "marker outline",
            "pause: the pause asks for marker 'outline'; the strokes after it are of 'gold'",
        ),
        ("put in marker gold", "go on", "pause: the pause names no marker"),
        ("G0 X0 Y0\n(MSG", "(MSG", "pause: waits 134.16 mm away from park"),
        ("G4 P0.2\nG1 X120 Y60", "G4 P200\nG1 X120 Y60", "wait: stands 3 min with the tip down; 0.2 s is the most"),
        ("G4 P0.2\nG1 X120 Y60", "G1 X120 Y60", "wait: waits 0 s with the tip down before it draws, not 0.2 s"),
        ("X120 Y60 F762\n", "X120 Y60 F762\nG4 P3\n", "wait: stands 3 s with the tip down after it has begun to draw"),
        (" G61", "", "start: moves before G61, which controller 'rs274' sets first"),
        ("G61 ", "G64 ", "dialect: G64 is no word that controller 'rs274' writes"),
        ("X120 Y60 F762", "X120.00001 Y60 F762", "dialect: more than the 4 decimals"),
        ("Z-1.5 F600", "Z-1.50001 F600", "dialect: more than the 4 decimals"),
        ("X120 Y60", "X120 Y60.05", "missing: stroke 2"),
        ("G0 X20 Y60", "G0 X-90 Y60\nG0 X20 Y60", "outside-reach: travels 90.00 mm beyond the board"),
        ("G0 X20 Y60", "G0 X-1.1 Y60\nG0 X20 Y60", "outside-reach: travels 1.10 mm beyond the board"),
    ],
)
def test_what_is_not_as_the_job_says_is_named(expected: Expected, old: str, new: str, said: str) -> None:
    assert old in WHOLE
    assert said in told(WHOLE.replace(old, new, 1), expected)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("M5 M9\n", "", "start: moves before M5 stops the spindle"),
        ("G90 ", "", "start: moves before G90 or G91"),
        ("G90 ", "G91 ", "start: a step from a place that no word has set"),
        ("G0 X0 Y0\nG0 X20 Y30", "G0 X20", "start: lowers the marker at a place that no word has set"),
        ("G94", "", "start: moves at a feed before G94"),
        ("G21 ", "", "units: "),
        ("G1 X120 Y60 F762", "G1 X120 Y60 Z-3 F762", "slanted: presses the marker in farther while it draws"),
        ("X120 Y60 F762\n", "X120 Y60 F762\nG1 Z-9\n", "depth: presses the marker in farther while it stands"),
        ("X120 Y60 F762\n", "X120 Y60 F762\nG1 Z-1\n", "depth: presses the marker in less while it stands within"),
        ("Z-1.5 F600\n", "Z-9 F600\nG1 Z-1.5\n", "depth: presses the marker in too far before it draws"),
        ("X120 Y60 F762\n", "X120 Y60 F762\nG0 Z-9\n", "rapid-down: a rapid (G0) puts the marker down"),
        ("X120 Y60 F762\n", "X120 Y60 F762\nM0\n", "pause: waits for the operator with the marker down"),
        ("G4 P0.2\nG1 X120 Y60", "G4 P3600\nG1 X120 Y60", "wait: stands 60 min with the tip down"),
        ("G0 X20 Y60", "G4 P300\nG0 X20 Y60", "wait: waits 5 min with the marker lifted; a pause (M0)"),
    ],
)
def test_a_program_alone_shows_what_it_can(old: str, new: str, said: str) -> None:
    assert old in WHOLE
    assert said in told(WHOLE.replace(old, new, 1))


HEADER = "(load: marker outline [oil-paint, tip 0.7 mm]: 2 strokes, 0.2 m)\n(load: marker gold: 1 strokes, 0.1 m)\n"
SPEEDS = (
    "(load: marker outline [oil-paint, tip 0.7 mm]: 2 strokes, 200 mm, 762 mm/min, 15 s)\n"
    "(load: marker gold: 1 stroke, 1,204.5 ft, 30 to 60 in/min, 4 s, pressed in by 0.5 mm)\n"
)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("F762", "F9000", "too-fast: draws at 150.0 mm/s; the header announces 12.7 mm/s"),
        ("F762", "F76.2", "too-slow: draws at 1.3 mm/s; the header announces 12.7 mm/s"),
        ("F762", "F761.5", ""),  # a writer of whole numbers
        ("F1524", "F900", ""),
        ("F1524", "F1600", "too-fast: draws at 26.7 mm/s; the header announces 25.4 mm/s"),
        ("F1524", "F750", "too-slow: draws at 12.5 mm/s; the header announces 12.7 mm/s"),
    ],
)
def test_a_program_alone_is_held_to_the_speeds_that_its_header_announces(old: str, new: str, said: str) -> None:
    text = SPEEDS + WHOLE
    assert not told(text)
    assert not told(WHOLE.replace(old, new))
    found = told(text.replace(old, new))
    assert said in found if said else not found


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (SWAP, "", "pause: no pause to put in marker 'gold' before this stroke"),
        (VINE + SWAP, SWAP + VINE, "pause: a pause between two strokes of one load"),
        ("in marker gold", "in marker outline", "pause: the pause asks for marker 'outline'"),
        ("Z-2.5 F600", "Z-1.5 F600", "depth: draws with the marker pressed in by 1.50 mm; the press is 2.50 mm"),
        ("F1524", "F762", "too-slow: draws at 12.7 mm/s; its ink takes 25.4 mm/s"),
        (VINE, "", "missing: the header announces 3 strokes, and the program draws 2"),
    ],
)
def test_with_the_job_alone_the_header_tells_loads_and_markers(
    expected: Expected, old: str, new: str, said: str
) -> None:
    text, job = HEADER + WHOLE, replace(expected, strokes=None)
    assert not told(text, job)
    assert said in told(text.replace(old, new, 1), job)


def test_the_header_names_the_marker_of_the_first_load(expected: Expected) -> None:
    text = HEADER + WHOLE
    assert not told(text, expected)
    other = text.replace("load: marker outline", "load: marker gold")
    assert "announces marker 'gold' for the first load" in told(other, expected)


def test_a_swap_is_as_high_as_the_job_has_it(drawing: Drawing, registry: Registry) -> None:
    job = job_from_data({**JOB, "holder": {**JOB["holder"], "swap_lift": "40 mm"}}, "moth")  # type: ignore[dict-item]
    high = Expected.of(job, Lying.of(drawing.replace(job=job), registry), registry).drawing(drawing.replace(job=job))
    found = told(WHOLE, high)
    assert "pause: waits with the marker at 5.00 mm; swaps are at 40.00 mm" in found
    raised = SWAP.replace("G0 X0 Y0\n", "G0 X0 Y0\nG0 Z40\n").replace("G94\nG0 Z5\n", "G94\nG0 Z40\n")
    assert "waits with the marker" not in told(WHOLE.replace(SWAP, raised), high)


def test_an_optional_stop_may_wait_so_everything_is_stated_again_after_it(expected: Expected) -> None:
    stated = "G17 G21 G40 G49 G54 G61 G80 G90 G94\nG0 Z5\n"
    assert not told(WHOLE.replace(VINE, f"M1\n{stated}{VINE}"), expected)
    found = told(WHOLE.replace(VINE, f"M1\nG0 Z5\n{VINE}"), expected)
    assert "pause: moves after a pause before G17 G21" in found
    later = VINE.replace("G1 Z-1.5 F600", "G1 Z-1.5")
    assert "a feed after a pause that is not stated again (F)" in told(
        WHOLE.replace(VINE, f"M1\n{stated}{later}"), expected
    )


@pytest.mark.parametrize(("before", "told_of"), [(True, False), (False, True)])
def test_a_pause_over_a_mark_is_for_looking_at_it_before_anything_is_drawn(
    drawing: Drawing, registry: Registry, before: bool, told_of: bool
) -> None:
    lying = OnBoard(measured=((20.0, 20.0), (120.0, 20.0)), motion=Motion(0.0, (0.0, 0.0)))
    measured = drawing.replace(lying=lying)
    due = Expected.of(measured.job, Lying.of(measured, registry), registry).drawing(measured)
    look = "G0 X20 Y100\n(over mark 1)\nM0\nG17 G21 G40 G49 G54 G61 G80 G90 G94\nG0 Z5\n"
    text = WHOLE.replace(MOTH, look + MOTH) if before else WHOLE.replace(VINE, look + VINE)
    assert ("away from park" in told(text, due)) is told_of


@pytest.mark.parametrize(("offset", "off_bed"), [("60 x 0 mm", "X-3 Y60"), ("-60 x 0 mm", "X153 Y60")])
def test_beside_the_spindle_it_is_the_axis_that_stays_on_the_bed(
    drawing: Drawing, registry: Registry, offset: str, off_bed: str
) -> None:
    """A canvas of 150 mm and a tip 60 mm beside the axis take all of a bed of 210 mm; zero is set with the tip."""
    holder = {**JOB["holder"], "offset": offset}  # type: ignore[dict-item]
    job = job_from_data({**JOB, "machine": {"bed": "210 x 120 mm"}, "holder": holder}, "moth")
    due = replace(Expected.of(job, Lying.of(drawing.replace(job=job), registry), registry), strokes=None)
    assert "off the bed" not in told(WHOLE.replace("X20 Y60", "X0 Y60").replace("X120 Y60", "X150 Y60"), due)
    assert "goes 3.00 mm off the bed of 210 x 120 mm" in told(WHOLE.replace("X20 Y60", f"{off_bed}\nG0 X20 Y60"), due)


def test_a_keep_out_is_crossed_by_what_comes_down_over_it(drawing: Drawing, registry: Registry) -> None:
    box = {"name": "clamp", "at": "60 x 70 mm", "size": "20 x 10 mm", "height": "30 mm"}
    job = job_from_data({**JOB, "machine": {"bed": "400 x 400 mm", "height": "60 mm", "keep_out": [box]}}, "moth")
    due = replace(Expected.of(job, Lying.of(drawing.replace(job=job), registry), registry), strokes=None)
    for way, crossed in (("G0 X20 Y75 Z35\nG0 X120 Y75", False), ("G0 X20 Y75 Z35\nG0 X120 Y75 Z6", True)):
        text = WHOLE.replace(SWAP, f"G0 Z35\n{way}\n{SWAP}")
        assert ("across keep-out 'clamp'" in told(text, due)) is crossed


def test_after_a_swap_it_is_the_next_marker_that_a_keep_out_is_held_against(
    drawing: Drawing, registry: Registry
) -> None:
    """The tip of gold is 30 mm farther away than that of outline: at Y50 it goes at 80, through the clamp."""
    box = {"name": "clamp", "at": "100 x 70 mm", "size": "10 x 20 mm", "height": "30 mm"}
    markers = [JOB["marker"][0], {**JOB["marker"][1], "offset": "0 x 30 mm"}]  # type: ignore[index, dict-item]
    machine = {"bed": "400 x 400 mm", "height": "60 mm", "keep_out": [box]}
    job = job_from_data({**JOB, "machine": machine, "marker": markers}, "moth")
    due = replace(Expected.of(job, Lying.of(drawing.replace(job=job), registry), registry), strokes=None)
    way = "G0 X20 Y50\nG0 X120 Y50\n"
    assert "across keep-out 'clamp'" in told(HEADER + WHOLE.replace(SWAP, SWAP + way), due)
    assert "across keep-out 'clamp'" not in told(HEADER + WHOLE.replace(VINE, way + VINE), due)


@pytest.mark.parametrize(
    ("start", "arc"),
    [
        ("X5 Y40", "G2 X5 Y80 I0 J20"),
        ("X145 Y40", "G3 X145 Y80 I0 J20"),
        ("X40 Y5", "G3 X80 Y5 I20 J0"),
        ("X40 Y115", "G2 X80 Y115 I20 J0"),
    ],
    ids=["left", "right", "near", "far"],
)
def test_an_arc_that_bulges_off_the_bed_does_so_though_its_ends_are_on_it(
    drawing: Drawing, registry: Registry, start: str, arc: str
) -> None:
    """Half circles of 20 mm, 5 mm from the edge of a bed as large as the canvas: 15 mm off it."""
    job = job_from_data({**JOB, "machine": {"bed": "150 x 120 mm"}}, "moth")
    due = replace(Expected.of(job, Lying.of(drawing.replace(job=job), registry), registry), strokes=None)
    text = WHOLE.replace("X20 Y60", start).replace("G1 X120 Y60", arc)
    assert "outside-reach: goes 15.00 mm off the bed of 150 x 120 mm" in told(text, due)
    assert "off the bed" not in told(WHOLE, due)


def test_an_arc_wants_its_plane_set_before_it() -> None:
    arc = WHOLE.replace("G1 X120 Y60 F762", "G2 X120 Y60 I50 F762")
    assert not told(arc)
    assert "start: an arc before G17" in told(arc.replace("G17 ", ""))


def test_strokes_of_a_load_may_be_drawn_in_any_order_and_either_way(expected: Expected) -> None:
    back = "G0 X120 Y30\nG0 Z1\nG1 Z-1.5 F600\nG4 P0.2\nG1 X20 Y30 F762\nG0 Z5\n"
    report = check_program((BEGIN + VINE + back + SWAP + STAR + END).encode(), expected)
    assert report.ok, report.problems
    assert report.comparison is not None
    assert report.comparison.of.tolist() == [2, 1, 3]


def test_problems_come_in_the_order_of_lines_and_strokes(expected: Expected) -> None:
    text = (
        BEGIN + MOTH.replace("F762", "F1") + SWAP.replace("M0", "M1") + STAR.replace("Z-2.5", "Z-9") + END + "G0 X1\n"
    )
    problems = check_program(text.encode(), expected).problems
    lines = [problem.line for problem in problems]
    assert lines == sorted(lines)
    many = replace(expected, strokes=expected.strokes.select(np.array([2, 1, 0])))
    missing = check_program((BEGIN + END).encode(), many).problems
    assert [problem.stroke for problem in missing if problem.code == "missing"] == [1, 2, 3]


@pytest.mark.parametrize(
    ("text", "names", "asked"),
    [
        ("put in marker gold (tip 0.5 mm)", ["outline", "gold"], "gold"),
        ("put in a fresh marker gold fine (oil-paint)", ["gold", "gold (fine)"], "gold (fine)"),
        ("put in marker gold [fine] (permanent)", ["gold", "gold (fine)"], "gold (fine)"),
        ("put in marker Blatter-wei? (tip", ["Blätter-weiß", "outline"], "Blätter-weiß"),
        ("put in marker Blatter weiss (tip", ["Blätter-weiß", "outline"], "Blätter-weiß"),
        ("swap to gold now", ["outline", "gold"], "gold"),
        ("put in marker gold, tip 0.5 mm", ["tip", "gold"], "gold"),
        ("put in marker moonflo wer", ["moonflower"], "moonflower"),
        ("put in the goldfinch", ["gold"], None),
        ("", ["gold"], None),
    ],
)
def test_a_message_names_the_marker_that_it_asks_for(text: str, names: list[str], asked: str | None) -> None:
    assert named_marker(text, names) == asked


def test_the_range_comes_from_the_header_the_n_words_or_the_record(drawing: Drawing) -> None:
    noted = "(underdraw 1: moth, 2 strokes [2 to 3 of 3], 0.2 m)\n" + WHOLE
    assert runs_of(noted.encode(), drawing, None, "x.nc") == [(2, 3)]
    assert runs_of(noted.replace("of 3]", "of 9]").encode(), drawing, None, "x.nc") is None  # of another drawing
    split = "(2 strokes [1 to 3 of 3])\n(outline, load 1: strokes 1 to 1)\n(gold, load 1: strokes 3 to 3)\n" + WHOLE
    assert runs_of(split.encode(), drawing, None, "x.nc") == [(1, 1), (3, 3)]
    numbered = BEGIN + "N2 " + VINE + SWAP + "N3 " + STAR + END
    assert runs_of(numbered.encode(), drawing, None, "x.nc") == [(2, 3)]
    blocks = "".join(f"N{k} {row}\n" for k, row in enumerate(WHOLE.splitlines(), 1))
    assert runs_of(blocks.encode(), drawing, None, "x.nc") is None  # block numbers are no strokes'
    record = WrittenProgram("x.nc", (WrittenLoad("gold", 3, 3, 9.0),), 9.0, "rs274", digest=drawing.digest)
    held = drawing.replace(programs=(record,))
    assert runs_of(WHOLE.encode(), held, None, "x.nc") == [(3, 3)]
    assert runs_of(WHOLE.encode(), held, None, "y.nc") is None


def test_notes_with_numbers_out_of_all_measure_are_no_notes(drawing: Drawing, expected: Expected) -> None:
    many = "9" * 5000
    for note in (
        f"(moths, 3 strokes [1 to 3 of {many}], 1 m)",
        f"(moths, {many} strokes [1 to {many} of 3], 1 m)",
        f"(load: marker outline: {many} strokes, 1 m)",
        f"(stroke {many} begins at 0.5 of its length)",
        f"({'9' * 300_000})",  # read once from end to end, not from each of its digits on
    ):
        noted = f"{note}\n{WHOLE}".encode()
        assert runs_of(noted, drawing, None, "x.nc") is None
        assert beginning_of(noted, [(1, 3)], drawing, None, "x.nc") == 0.0
        assert {problem.line for problem in check_program(noted, expected).problems} <= {1}
