"""The marker's card tries what a painter must know of a marker, and the machine draws it without a pause."""

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
from garden_panels import ACCENT, OUTLINE

from underdraw import CannotDo, Drawing, InputError
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.machine.clock import drawing_speed
from underdraw.machine.travel import swap_strokes
from underdraw.panel import Lying
from underdraw.testing.trial import TrialContext
from underdraw.words.quantities import distance
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode
from underdraw_stages.swatch import SwatchSettings
from underdraw_stages.swatch.card import Card
from underdraw_stages.swatch.marker_card import COLUMNS, PAIRS, cut_to, meander
from underdraw_stages.swatch.stage import swatch

JOB = {"machine": {"bed": "24 x 48 in", "units": "in", "rapid": "120 in/min"}, "marker": [OUTLINE, ACCENT]}
OWN = {key: value for key, value in OUTLINE.items() if key != "ink_length"}


def card(bench: TrialContext, job: dict[str, object] | None = None, **written: object) -> Drawing:
    bench.job = job_from_data(job or JOB, "garden")
    return swatch(None, read_settings(SwatchSettings, written), bench).drawing


def strokes_of(drawing: Drawing, kind: str) -> list[tuple[str, Drawing]]:
    """The trials of one kind, by the words on the card."""
    assert drawing.card is not None
    return [
        (trial.words, drawing.select(np.arange(trial.first - 1, trial.last)))
        for trial in drawing.card.trials
        if trial.kind == kind
    ]


def test_the_card_is_strokes_of_one_pen_and_nobody_swaps_it(bench: TrialContext) -> None:
    drawing = card(bench)
    assert drawing.is_strokes
    assert set(drawing.stroke_width.tolist()) == {1.0} and set(drawing.stroke.tolist()) == {"#1b1b3a"}
    assert {section.ink for section in drawing.job.markers} == {"oil-paint"}
    x0, y0, x1, y1 = drawing.bounds
    assert min(x0, y0) > 0 and x1 < drawing.sheet[0] and y1 < drawing.sheet[1]
    assert len(drawing.job.markers) > 10 and swap_strokes(drawing).tolist() == [0]


def test_the_same_line_is_drawn_at_a_ladder_of_speeds(bench: TrialContext) -> None:
    lines = [line for _, line in strokes_of(card(bench), "speed")]
    speeds = [drawing_speed(line.job, line.marker[0], bench.registry) for line in lines]
    # Common practice, no source: oil-paint markers draw a solid line at 30 in/min.
    assert [speed * 60 / 25.4 for speed in speeds] == pytest.approx([7.5, 15, 22.5, 30, 45, 60])
    shapes = [line.coords - line.coords[0] for line in lines]
    assert all(len(line) == 1 for line in lines)
    assert all(np.allclose(shape, shapes[0], atol=2e-4) for shape in shapes)


def on_bed(machine: dict[str, str], offset: str = "0 x 0 in") -> dict[str, object]:
    return {**JOB, "holder": {"offset": offset}, "machine": {**machine, "units": "in"}}


SMALL = on_bed({"bed": "8 x 10 in", "sections": "auto"})
ONE_TRIAL = {"speeds": ["20 in/min"], "presses": ["0 mm"], "settles": ["0 s"]}


@pytest.mark.parametrize(
    ("job", "written", "why"),
    [
        (
            SMALL,
            {},
            "a bed of 8 × 10 in\n  try: --run 1m, and fewer trials, each named: --speeds, --presses, --settles",
        ),
        (SMALL, {"machine": True}, "a bed of 8 × 10 in; only a larger one takes it"),
        (on_bed({"bed": "8 x 6 in"}), {}, "a bed of 8 × 6 in; only a larger one takes it"),
        (on_bed({"bed": "8 x 16 in"}, "1 x 0 in"), {}, "a bed of 7 × 16 in; only a larger one takes it"),
        (
            on_bed({"bed": "8 x 16 in"}, "-9 x 0 in"),
            {},
            "a bed that the marker does not reach; only a larger one takes it",
        ),
    ],
    ids=["small", "machine", "smallest", "beside", "far beside"],
)
def test_a_card_larger_than_the_bed_is_refused_with_what_makes_it_smaller(bench, job, written, why) -> None:
    with pytest.raises(CannotDo) as error:
        card(bench, job, **written)
    assert str(error.value).startswith("the card of ")
    assert str(error.value).endswith(f"does not fit {why}")


def test_a_card_that_fits_lies_on_the_bed_in_one_go_whatever_a_panel_does(bench: TrialContext) -> None:
    for job, written in ((SMALL, {**ONE_TRIAL, "run": "1 m"}), (on_bed({"bed": "24 x 10 in"}), {})):
        assert Lying.of(card(bench, job, **written), bench.registry).sections is None
    assert bench.warnings == []


@pytest.mark.parametrize("bed", ["8 x 16 in", "16 x 8 in"])
def test_a_run_is_as_long_as_the_bed_lets_it_be_and_one_asked_for_as_long_as_asked(bench, bed) -> None:
    job = on_bed({"bed": bed})
    [(_, run)] = strokes_of(card(bench, {**job, "marker": [{**OWN, "ink_length": "60 m"}]}), "run")
    metres = round(run.drawn_mm / 1000)
    assert bench.warnings == [
        f"the run is {distance(metres * 1000, 'in')}, the longest that the bed takes, not {distance(72_000, 'in')}: "
        "the marker may last longer"
    ]
    assert strokes_of(card(bench, job, run=f"{metres} m"), "run")[0][1].drawn_mm == pytest.approx(metres * 1000, abs=1)
    with pytest.raises(CannotDo, match=f"bed of .* in\n  try: --run {metres}m$"):
        card(bench, job, run=f"{metres + 1} m")


def test_a_card_that_fits_only_turned_is_turned_and_the_machines_never_is(bench: TrialContext) -> None:
    upright, turned = (card(bench, on_bed({"bed": bed}), run="3 m") for bed in ("8 x 16 in", "16 x 8 in"))
    assert turned.sheet == upright.sheet[::-1]
    for drawing in (upright, turned):
        assert gcode(drawing, read_settings(GcodeSettings, {}), bench).files
    assert turned.coords == pytest.approx(
        np.column_stack([upright.sheet[1] - upright.coords[:, 1], upright.coords[:, 0]]), abs=2e-4
    )  # its top to the right
    bench.job = job_from_data(on_bed({"bed": "16 x 8 in"}), "garden")
    assert (
        "turned to fit the bed, its top to the right"
        in swatch(None, read_settings(SwatchSettings, {"run": "3 m"}), bench).summary
    )
    w, h = card(bench, {**JOB, "machine": {}}, machine=True).sheet
    assert w != h
    with pytest.raises(CannotDo, match="only a larger one takes it"):
        card(bench, on_bed({"bed": f"{max(w, h) + 1} x {min(w, h) + 1} mm"} if h > w else {"bed": f"{h} x {w} mm"}),
             machine=True)  # fmt: skip


def test_speeds_stay_within_what_the_machine_can_do(bench: TrialContext) -> None:
    drawing = card(bench, {**JOB, "machine": {"rapid": "40 in/min"}})
    speeds = [section.speed for section in drawing.job.markers if section.speed]
    assert max(speeds) <= 40 * 25.4 / 60 + 1e-6
    assert len(set(speeds)) == len(speeds)


def test_trials_of_ones_own(bench: TrialContext) -> None:
    drawing = card(bench, speeds=["20 in/min", "50 in/min"], presses=["0.3 mm", "0 mm"], settles=["0.7 s"])
    assert [words for words, _ in strokes_of(drawing, "speed")] == ["20 in/min", "50 in/min"]
    assert [words for words, _ in strokes_of(drawing, "press")] == ["0 mm", "0.3 mm"]
    assert [words for words, _ in strokes_of(drawing, "settle")] == ["0.7 s"]


def test_a_sprung_holder_is_pressed_in_further_line_by_line(bench: TrialContext) -> None:
    lines = strokes_of(card(bench), "press")
    assert [line.job.marker(line.marker[0]).press for _, line in lines] == [0.0, 0.5, 1.0, 1.5, 2.0]


def test_a_rigid_holder_presses_as_far_as_the_nib_gives(bench: TrialContext) -> None:
    rigid = {**JOB, "holder": {"use": "clamp"}}
    presses = [line.job.marker(line.marker[0]).press for _, line in strokes_of(card(bench, rigid), "press")]
    assert presses == pytest.approx([0.0, 0.125, 0.25, 0.375, 0.5])
    with pytest.raises(InputError, match="nib of 'oil-paint' gives 0.5 mm: expected no more, got 0.8 mm"):
        card(bench, rigid, presses=["0.8 mm"])
    pencil = {**rigid, "marker": [{**OWN, "ink": "pencil"}]}
    assert not strokes_of(card(bench, pencil), "press")


def test_short_strokes_begin_after_longer_and_longer_waits(bench: TrialContext) -> None:
    trials = strokes_of(card(bench), "settle")
    assert [lines.job.marker(lines.marker[0]).settle for _, lines in trials] == [0.0, 0.1, 0.2, 0.5]
    assert {len(lines) for _, lines in trials} == {8}


def test_lines_are_drawn_from_half_a_tip_to_three_tips_apart(bench: TrialContext) -> None:
    pairs = strokes_of(card(bench), "pair")
    apart = [abs(lines.coords[2, 1] - lines.coords[0, 1]) for _, lines in pairs]
    assert apart == pytest.approx([tips * 1.0 for tips in PAIRS], abs=2e-4)
    assert [words for words, _ in pairs] == ["0.5", "0.75", "1", "1.5", "2", "3"]


def test_alike_patches_wait_for_sealer_and_coat(bench: TrialContext) -> None:
    patches = strokes_of(card(bench), "patch")
    assert tuple(words for words, _ in patches) == COLUMNS == ("plain", "sealed", "coated", "sealed + coated")
    shapes = [lines.coords - lines.coords[0] for _, lines in patches]
    assert all(np.allclose(shape, shapes[0], atol=2e-4) for shape in shapes)
    rights = [float(lines.coords[:, 0].max()) for _, lines in patches]
    lefts = [float(lines.coords[:, 0].min()) for _, lines in patches]
    assert all(left > right + 4 for left, right in zip(lefts[1:], rights, strict=False))


def test_the_run_has_a_tick_at_each_whole_metre(bench: TrialContext) -> None:
    [(words, run)] = strokes_of(card(bench, run="10 m"), "run")
    assert words == "10 m" and len(run) == 1 and run.drawn_mm == pytest.approx(10_000, abs=0.5)
    points = run.coords
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    ticks = along[np.flatnonzero(points[:, 0] < points[:, 0].min() + 0.01)]
    # The tick's tip lies its own length before the metre's end.
    assert ticks == pytest.approx(np.arange(1, 11) * 1000.0 - 4.0, abs=0.5)


def test_the_run_is_longer_than_the_marker_is_said_to_last(bench: TrialContext) -> None:
    lasting = {**JOB, "machine": {"bed": "24 x 60 in"}, "marker": [{**OWN, "ink_length": "60 m"}]}
    [(_, run)] = strokes_of(card(bench, lasting), "run")
    assert run.drawn_mm == pytest.approx(72_000, abs=1)
    [(_, run)] = strokes_of(card(bench, {**JOB, "marker": [OWN]}), "run")
    assert run.drawn_mm == pytest.approx(10_000, abs=1)


def test_the_run_comes_last_since_it_may_empty_the_marker(bench: TrialContext) -> None:
    drawing = card(bench)
    assert drawing.card is not None
    assert drawing.card.trials[-1].kind == "run" and drawing.card.trials[-1].last == len(drawing)


def test_a_run_of_no_whole_metre_ends_where_it_should() -> None:
    points = cut_to(meander(0.0, 160.0, 0.0, 2.0, 3), 2345.6)
    assert np.hypot(*np.diff(points, axis=0).T).sum() == pytest.approx(2345.6)


def test_rows_of_the_run_never_touch(bench: TrialContext) -> None:
    [(_, run)] = strokes_of(card(bench, {"marker": [{**OWN, "tip": "3 mm"}]}), "run")
    rows = sorted({round(float(y), 3) for y in run.coords[:, 1]})
    assert min(np.diff(rows)) > 3.0


def test_another_marker_of_the_job_can_be_learnt(bench: TrialContext) -> None:
    drawing = card(bench, marker="accent")
    assert drawing.job.markers[0].name == "accent" and drawing.job.name == "card of accent"
    with pytest.raises(InputError, match="did you mean 'accent'"):
        card(bench, marker="acent")


def test_the_card_needs_no_job(bench: TrialContext) -> None:
    assert len(swatch(None, SwatchSettings(), bench).drawing) > 100


def test_the_card_goes_over_the_wire_whole(bench: TrialContext) -> None:
    drawing = card(bench)
    again = read_drawing(write_drawing(drawing))
    assert np.array_equal(again.coords, drawing.coords) and again.marker.tolist() == drawing.marker.tolist()
    assert again.card == drawing.card
    assert [section.speed for section in again.job.markers] == [section.speed for section in drawing.job.markers]


@pytest.mark.slow
@pytest.mark.parametrize("options", [(), ("--machine",)])
def test_the_machine_can_draw_it_and_the_check_passes_it(bench: TrialContext, tmp_path: Path, options) -> None:  # type: ignore[no-untyped-def]
    bench.job = job_from_data(JOB, "garden")
    settings = read_settings(SwatchSettings, {"machine": bool(options)})
    drawing = swatch(None, settings, bench).drawing
    (tmp_path / "card.svg").write_bytes(write_drawing(drawing))
    for command in (
        f"gcode -i {tmp_path}/card.svg -o {tmp_path}/card.nc",
        f"check {tmp_path}/card.nc --against {tmp_path}/card.svg",
    ):
        done = subprocess.run([sys.executable, "-m", "underdraw", *command.split()], capture_output=True, check=False)
        assert done.returncode == 0, done.stderr.decode() + done.stdout.decode()
    program = (tmp_path / "card.nc").read_text()
    assert program.count("\nM0\n") == len(options)  # the machine's card: one, to turn the marker
    if not options:
        depths = {float(z) for z in re.findall(r"Z(-[\d.]+)", program)}
        assert {round(depth * 25.4, 2) for depth in depths} >= {-0.5, -1.0, -1.5, -2.0}
        assert {line for line in program.splitlines() if line.startswith("G4")} == {"G4 P0.1", "G4 P0.2", "G4 P0.5"}


def test_what_the_pen_sets_for_itself_goes_with_it(bench: TrialContext) -> None:
    pen = {**OUTLINE, "settle": "0.3 s", "speed": "20 in/min", "press": "0.8 mm"}
    drawing = card(bench, {**JOB, "marker": [pen]}, presses=["1 mm", "1 mm"])
    own = [section for section in drawing.job.markers if " waits " not in section.name]
    assert {section.settle for section in own} == {0.3}
    assert drawing.job.markers[0].press == 0.8
    assert sum(section.press == 1.0 for section in drawing.job.markers) == 1


@pytest.mark.parametrize("tip", [0.3, 1.0, 4.0])
def test_no_trial_lies_on_another_or_on_its_words(bench: TrialContext, tip: float) -> None:
    drawing = card(bench, {**JOB, "machine": {}, "marker": [{**OWN, "tip": f"{tip} mm"}]})
    assert drawing.card is not None
    lines, kind = drawing.part_lines(), np.zeros(len(drawing), dtype=int)  # 0: words
    apart = [trial.words if trial.kind in ("speed", "press", "settle") else trial.kind for trial in drawing.card.trials]
    for number, name in enumerate(dict.fromkeys(apart), 1):
        for trial, own in zip(drawing.card.trials, apart, strict=True):
            kind[trial.first - 1 : trial.last] += number * (own == name)
    assert kind.max() >= 15
    one, other = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=tip)
    assert not ((kind[one] != kind[other]) & (kind[one] > 0)).any()


@pytest.mark.parametrize("tip", [0.7, 1.5, 2.0, 3.0, 4.0])
def test_words_are_open_and_apart_or_left_off_and_that_is_reported(
    bench: TrialContext, monkeypatch: pytest.MonkeyPatch, tip: float
) -> None:
    written: list[shapely.Geometry] = []
    write = Card.write

    def noted(self: Card, text: str, *rest: float, **more: float) -> None:
        count, left = len(self.strokes), len(self.left_off)
        write(self, text, *rest, **more)
        assert (len(self.strokes) > count) != (len(self.left_off) > left)
        if len(self.strokes) > count:
            written.append(shapely.union_all([shapely.LineString(stroke) for stroke in self.strokes[count:]]))
        if any(letter in text for letter in "abde0689"):  # a tall letter's height, of 6 grid units
            tall = [np.ptp(stroke[:, 1]) for stroke in self.strokes[count:]]
            assert not tall or max(tall) >= 4 * tip / 2 - 1e-6

    monkeypatch.setattr(Card, "write", noted)
    bench.job = job_from_data({**JOB, "machine": {}, "marker": [{**OWN, "tip": f"{tip} mm"}]}, "garden")
    bench.warnings.clear()
    swatch(None, read_settings(SwatchSettings, {"run": "3 m"}), bench)
    one, other = shapely.STRtree(written).query(written, predicate="dwithin", distance=tip)
    assert len(written) > 1 and (one == other).all()
    assert any("lines of words that a tip of" in line for line in bench.warnings) == (tip >= 2.0)
