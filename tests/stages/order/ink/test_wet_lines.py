"""A stroke across a wet line smears it: `order` reports them, and lets lines dry where that costs little."""

import numpy as np
import pytest
import shapely
from strokes_of import garden, moths

from underdraw import Drawing
from underdraw.job.sections import MarkerSection
from underdraw.machine.clock import Schedule
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.ink.wet_lines import crossings, let_dry
from underdraw_stages.order.stage import order


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


def wet_by_hand(drawing: Drawing, registry: Registry, dries: float) -> int:
    """Strokes that cross one drawn less than so many seconds before, pair by pair with shapely."""
    schedule, lines = Schedule.of(drawing, registry), drawing.part_lines()
    return sum(
        any(
            schedule.touch[later] - schedule.lift[earlier] < dries and shapely.crosses(lines[earlier], lines[later])
            for earlier in range(later)
        )
        for later in range(len(drawing))
    )


def ordered(drawing: Drawing, registry: Registry) -> tuple[Drawing, dict[str, object], str]:
    result = order(drawing, OrderSettings(), TrialContext(registry))
    return result.drawing, dict(result.figures), result.summary


@pytest.mark.parametrize(("seed", "dries"), [(1, 5.0), (2, 20.0), (3, 60.0)])
def test_fewer_strokes_cross_a_wet_line_and_as_many_as_are_reported(registry, seed, dries) -> None:  # type: ignore[no-untyped-def]
    lines = moths(60, seed, long=150.0)
    pens = [MarkerSection(name="outline", dries=dries)]
    plain, figures, _ = ordered(garden(lines), registry)
    found, wet_figures, summary = ordered(garden(lines, markers=pens), registry)
    assert "wet" not in figures
    assert wet_figures["wet_before"] == wet_by_hand(plain, registry, dries)
    assert wet_figures["wet"] == wet_by_hand(found, registry, dries)
    assert int(str(wet_figures["wet"])) < int(str(wet_figures["wet_before"]))
    assert f"({wet_figures['wet_before']} " in summary
    assert sorted(shapely.to_wkb(line) for line in plain.part_lines()) == sorted(
        shapely.to_wkb(line) for line in found.part_lines()
    )
    seconds = [Schedule.of(drawing, registry).total for drawing in (plain, found)]
    saved = int(str(wet_figures["wet_before"])) - int(str(wet_figures["wet"]))
    print(f"\n{seed}: {saved} of {wet_figures['wet_before']} avoided for {seconds[1] - seconds[0]:.1f} s")
    assert (
        seconds[1] - seconds[0] < 6.0 * 60
    )  # a stroke that moves costs five seconds at most, and in a few rounds little more


def test_an_order_that_is_kept_has_its_wet_crossings_counted_and_nothing_moved(registry: Registry) -> None:
    pens = [MarkerSection(name="outline", dries=60.0)]
    lines = moths(60, 3, long=150.0)
    plain = order(garden(lines), OrderSettings(keep=True), TrialContext(registry)).drawing
    kept = order(garden(lines, markers=pens), OrderSettings(keep=True), TrialContext(registry))
    by_hand = wet_by_hand(plain, registry, 60.0)
    assert by_hand > 1 and kept.figures["wet"] == kept.figures["wet_before"] == by_hand
    assert np.array_equal(kept.drawing.coords, plain.coords)
    assert f"{by_hand} strokes cross a line that is still wet" in kept.summary and "before" not in kept.summary


def test_strokes_that_meet_at_their_ends_cross_nothing() -> None:
    lines = [np.array([(0, 0), (50, 0)]), np.array([(50, 0), (50, 50)]), np.array([(25, 0), (25, 30)])]
    assert not len(crossings(garden(lines)))
    across = [np.array([(0, 0), (50, 0)]), np.array([(25, -10), (25, 30)])]
    assert crossings(garden(across)).tolist() == [[0, 1]]


def test_what_has_no_drying_time_is_left_as_it_is(registry: Registry) -> None:
    assert let_dry(garden(moths(10, 4)), registry) is None


def test_a_stroke_never_leaves_its_load(registry: Registry) -> None:
    lines = moths(40, 5, long=200.0)
    names = np.array(["outline"] * 20 + ["gold"] * 20, dtype=object)
    pens = [MarkerSection(name="outline", dries=30.0, ink_length=2000.0), MarkerSection(name="gold", dries=30.0)]
    found, _, _ = ordered(garden(lines, marker=names, markers=pens), registry)
    loads = list(zip(found.marker.tolist(), found.load.tolist(), strict=True))
    assert len(dict.fromkeys(loads)) == 1 + sum(a != b for a, b in zip(loads[1:], loads, strict=False))
    lengths = {load: found.part_lengths()[[each == load for each in loads]].sum() for load in dict.fromkeys(loads)}
    assert all(length <= 2000.0 for (name, _), length in lengths.items() if name == "outline")
