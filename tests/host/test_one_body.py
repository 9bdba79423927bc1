"""One marker drawn with in two ways, as two [[marker]]s of one body: nobody swaps what is in the holder already."""

import numpy as np
import pytest

from underdraw import Drawing, InputError
from underdraw.drawing.facts import OnBoard
from underdraw.job.file import job_from_data
from underdraw.machine.loads import loads_between
from underdraw.machine.travel import swap_strokes
from underdraw.panel import Lying
from underdraw.plugins.registry import Registry
from underdraw.program import check_program
from underdraw.program.expected import Expected
from underdraw.testing.trial import TrialContext
from underdraw_stages.gcode import GcodeSettings
from underdraw_stages.gcode.stage import gcode

OUTLINE = {"name": "outline", "ink": "oil-paint", "tip": "1 mm", "speed": "10 mm/s", "ink_length": "40 m"}
SLOW = {"name": "fine", "body": "outline", "speed": "4 mm/s", "settle": "0.5 s", "colours": ["#332211"]}
GOLD = {"name": "gold", "ink": "oil-paint", "tip": "1 mm"}
NAMES = ["outline", "fine", "gold", "gold", "fine", "outline"]


def moths(**changes: object) -> Drawing:
    data = {"canvas": {"face": "100 x 100 mm", "mount": "stretched"}, "marker": [OUTLINE, SLOW, GOLD], **changes}
    lines = [np.array([[10.0, 10.0 + 9 * row], [90.0, 10.0 + 9 * row]]) for row in range(len(NAMES))]
    return Drawing.build(
        [[line] for line in lines], (100.0, 100.0), job_from_data(data, "moths"), marker=np.array(NAMES, dtype=object),
        load=np.ones(len(lines)), stroke="#332211", stroke_width=1.0, lying=OnBoard(), hides_nothing=True,
    )  # fmt: skip


def test_what_is_not_set_is_that_of_the_body() -> None:
    fine = moths().job.marker("fine")
    assert (fine.ink, fine.tip, fine.ink_length) == ("oil-paint", 1.0, 40_000.0)
    assert (fine.speed, fine.settle, fine.colours) == (4.0, 0.5, ("#332211",))


@pytest.mark.parametrize("body", ["nobody", "fine", "other"])
def test_a_body_is_another_marker_that_has_none(body: str) -> None:
    other = {"name": "other", "body": "outline"}
    with pytest.raises(InputError, match=r"\[\[marker\]\] 2 body: expected .*\(outline\), got"):
        job_from_data({"marker": [OUTLINE, {**SLOW, "body": body}, other]}, "moths")


def test_markers_are_swapped_where_the_body_changes() -> None:
    assert swap_strokes(moths()).tolist() == [0, 2, 4]
    assert [(load.marker.name, load.first, load.last) for load in loads_between(moths())] == [
        ("outline", 1, 2), ("gold", 3, 4), ("outline", 5, 6),
    ]  # fmt: skip
    assert [load.number for load in loads_between(moths())] == [1, 1, 1]


def test_each_stroke_is_drawn_at_its_own_speed_and_after_its_own_wait() -> None:
    context = TrialContext(Registry.installed())
    drawing = moths()
    (file,) = gcode(drawing, GcodeSettings(), context).files
    lines = file.data.decode().splitlines()
    feeds = [line.split("F")[1] for line in lines if line.startswith("G1 X")]
    fine, oil = "240", f"{30 * 25.4:g}"
    assert feeds == ["600", fine, oil, oil, fine, "600"]
    assert sum(line == "G4 P0.5" for line in lines) == 2
    assert sum(line == "M0" for line in lines) == 2
    expected = Expected.of(drawing.job, Lying.of(drawing, context.registry), context.registry)
    assert not check_program(file.data, expected).problems  # with the job alone
    against = expected.drawing(drawing)
    assert not check_program(file.data, against).problems
    fast = file.data.replace(f"F{fine}".encode(), b"F600")
    assert {problem.code for problem in check_program(fast, against).problems} == {"too-fast"}
    faster = file.data.replace(f"F{fine}".encode(), b"F6000")
    assert {problem.code for problem in check_program(faster, expected).problems} == {"too-fast"}
