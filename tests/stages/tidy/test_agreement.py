"""Outside check: a tidied drawing against what the eye sees, worked out another way, at `tidy`'s default settings.

99.5 % of points must lie within 0.08 mm either way. A drawing that lacks a line, holds one more, or has one moved must
be told apart from a right one.

pytest tests/stages/tidy/test_agreement.py -s    prints the shares and the farthest points
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from agreement import Side, agreement
from eye_reference import Wanted, wanted_lines
from night_artwork import AMBER, Shape, artwork, blobs, box, ring, run, stroke
from references import drawn_twice_mm, fewest_by_networkx

from underdraw.cli.console import Console
from underdraw.cli.load_job import load_job
from underdraw.drawing.drawing import Drawing
from underdraw.plugins.chain import StageContext, chain_of, run_stage, settings_for
from underdraw.plugins.registry import Registry

FIXTURE = Path(__file__).parents[3] / "fixtures" / "moonflower" / "moonflower.toml"
SHARE = 0.995  # of points that must lie within reach
CRUMB_MM = 0.55  # left-over bits of up to 0.5 mm go, and 0.05 mm more for rounding


def agrees(sides: tuple[Side, Side]) -> bool:
    """Whether both shares are large enough, and nothing lies farther off than a short leftover may."""
    return all(side.share >= SHARE and side.farthest <= CRUMB_MM for side in sides)


def garden(seed: int) -> Drawing:
    """Petals at random, some outlined, some translucent; among them broad strokes of two markers, with every cap."""
    random = np.random.default_rng(seed)
    shapes: list[Shape] = []
    for index, petal in enumerate(blobs(25, seed)):
        kind = random.random()
        if kind < 0.4:
            outline = AMBER if index % 2 else "#000000"
            petal |= {"stroke": outline, "stroke_width": random.uniform(1, 5), "join": "round"}
        elif kind < 0.55:
            petal |= {"fill_opacity": 0.5}
        shapes.append(petal)
    for _ in range(12):
        looks = {"cap": random.choice(["butt", "round", "square"]), "join": random.choice(["miter", "round", "bevel"])}
        tendril = stroke(*random.uniform(20, 170, (4, 2)), width=random.uniform(0.5, 8), **looks)
        if random.random() < 0.3:
            tendril["stroke"] = AMBER
        shapes.insert(int(random.integers(len(shapes))), tendril)
    return artwork(*shapes)


def before_tidy(job_file: Path) -> Drawing:
    """A job's drawing as its chain hands it to `tidy`."""
    registry, console, drawing = Registry.installed(), Console(), None
    job = load_job(job_file, registry)
    console.quiet = True
    for stage in chain_of(job, registry):
        if stage.name == "tidy":
            break
        context = StageContext(registry, console, stage.name, job)
        drawing = run_stage(stage, drawing, settings_for(stage, job), context).drawing
    assert drawing is not None
    return drawing


def told(name: str, tidied: Drawing, sides: tuple[Side, Side]) -> None:
    """Print how well a drawing agrees."""
    for side, whose in zip(sides, ("drawn, of what shows", "shown, of what is drawn"), strict=True):
        x, y = side.place
        print(f"\n{name}: {len(tidied)} strokes; {side.share:.3%} {whose}; {side.farthest:.3f} mm at {x:.2f}, {y:.2f}")


@pytest.mark.slow
def test_the_moonflower_is_drawn_as_the_eye_sees_it_once_and_in_the_fewest_strokes() -> None:
    drawing = before_tidy(FIXTURE)
    tidied = run(drawing).drawing
    sides = agreement(tidied, wanted_lines(drawing))
    told("moonflower", tidied, sides)
    assert agrees(sides)
    assert len(tidied) == fewest_by_networkx(tidied)
    assert drawn_twice_mm(tidied) < 0.001 * tidied.drawn_mm


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8))
def test_a_garden_of_petals_and_broad_tendrils_is_drawn_as_the_eye_sees_it(seed: int) -> None:
    drawing = garden(seed)
    tidied = run(drawing).drawing
    sides = agreement(tidied, wanted_lines(drawing))
    told(f"garden {seed}", tidied, sides)
    assert min(side.share for side in sides) >= SHARE
    assert sides[1].farthest <= CRUMB_MM, "a line that shows is not drawn"
    assert len(tidied) == fewest_by_networkx(tidied)
    assert drawn_twice_mm(tidied) < 0.001 * tidied.drawn_mm


@pytest.mark.slow
@pytest.mark.parametrize("settings", ({"meet": False}, {"same": 0.0}, {"meet": False, "same": 0.0, "join": 0.0}))
def test_it_holds_for_other_settings(settings: dict[str, float]) -> None:
    drawing = garden(3)
    same = settings.get("same", 0.2)
    assert agrees(agreement(run(drawing, **settings).drawing, wanted_lines(drawing, same=same), same=same))


# What the check must not let pass -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def right() -> tuple[Drawing, dict[str, Wanted]]:
    """A garden as it is tidied, and what is wanted of it."""
    drawing = garden(1)
    tidied = run(drawing).drawing
    wanted = wanted_lines(drawing)
    assert agrees(agreement(tidied, wanted))
    return tidied, wanted


def moved(drawing: Drawing, aside: tuple[float, float], strokes: np.ndarray | None = None) -> Drawing:
    """A drawing with some strokes (or all) moved aside by (x, y) mm."""
    row = np.repeat(np.arange(len(drawing)), np.diff(drawing.parts))
    which = np.ones(len(row), dtype=bool) if strokes is None else np.isin(row, strokes)
    return replace(drawing, coords=drawing.coords + which[:, None] * np.array(aside))


@pytest.mark.slow
def test_a_stroke_too_few_is_told(right: tuple[Drawing, dict[str, Wanted]]) -> None:
    tidied, wanted = right
    length = tidied.part_lengths()
    numbers = np.argsort(length)[int((length < 5).sum()) :: 6]
    assert len(numbers) > 4
    for number in numbers:
        others = tidied.select(np.arange(len(tidied)) != number)
        assert not agrees(agreement(others, wanted)), f"stroke {number + 1}, {length[number]:.1f} mm, is not missed"


@pytest.mark.slow
def test_a_stroke_too_many_is_told(right: tuple[Drawing, dict[str, Wanted]]) -> None:
    tidied, wanted = right
    random = np.random.default_rng(5)
    for _ in range(5):
        at, turn = random.uniform(40, 150, 2), random.uniform(0, 2 * np.pi)
        stray = shapely.linestrings([at, at + 6 * np.array([np.cos(turn), np.sin(turn)])])
        more = tidied.with_lines(np.append(tidied.part_lines(), stray), np.append(np.arange(len(tidied)), 0))
        drawn, seen = agreement(more, wanted)
        assert not agrees((drawn, seen))
        assert drawn.farthest > CRUMB_MM
        assert seen.share >= SHARE


@pytest.mark.slow
def test_a_stroke_moved_by_a_fifth_of_a_tip_is_told(right: tuple[Drawing, dict[str, Wanted]]) -> None:
    """A stroke that is straight lies on itself when it is moved along: so moved one way and across."""
    tidied, wanted = right
    numbers = np.argsort(tidied.part_lengths())[-4:]
    assert tidied.part_lengths()[numbers].min() > 0.025 * tidied.drawn_mm
    for number in numbers:
        sides = [agreement(moved(tidied, aside, np.array([number])), wanted) for aside in ((0.09, 0.12), (-0.12, 0.09))]
        assert min(drawn.share for drawn, _ in sides) < SHARE, f"stroke {number + 1} may be moved"
        assert min(seen.share for _, seen in sides) < SHARE, f"stroke {number + 1} may be moved"


@pytest.mark.slow
def test_a_drawing_moved_by_a_tenth_of_a_millimetre_is_told(right: tuple[Drawing, dict[str, Wanted]]) -> None:
    tidied, wanted = right
    drawn, seen = agreement(moved(tidied, (0.06, 0.08)), wanted)
    assert max(drawn.share, seen.share) < 0.8
    assert agrees(agreement(moved(tidied, (0.03, 0.04)), wanted))


@pytest.mark.slow
def test_a_stroke_with_the_wrong_marker_is_told(right: tuple[Drawing, dict[str, Wanted]]) -> None:
    tidied, wanted = right
    marker = tidied.marker.copy()
    longest = int(tidied.part_lengths().argmax())
    marker[longest] = "accent" if marker[longest] == "outline" else "outline"
    drawn, seen = agreement(replace(tidied, marker=marker), wanted)
    assert max(drawn.share, seen.share) < SHARE


@pytest.mark.parametrize(
    ("aside", "length", "may_go"), ((0.15, 40, True), (0.15, 1.5, False), (0.3, 40, False), (0.0, 40, True))
)
def test_one_of_two_lines_may_be_missing_only_where_they_run_together(
    aside: float, length: float, may_go: bool
) -> None:
    """Together: within 0.2 mm of one another for longer than three tips of 0.7 mm."""
    wanted = wanted_lines(
        artwork(stroke((10, 50), (90, 50), width=0.1), stroke((30, 50 + aside), (30 + length, 50 + aside), width=0.1))
    )
    one, other = artwork(stroke((10, 50), (90, 50))), artwork(stroke((30, 50 + aside), (30 + length, 50 + aside)))
    drawn, seen = (as_drawn(each) for each in (one, other))
    assert (agreement(drawn, wanted)[1].share == 1.0) is may_go
    assert not agrees(agreement(seen, wanted)), "the ends of the long line must stay"


def as_drawn(drawing: Drawing) -> Drawing:
    """Lines as if they were strokes that `tidy` made."""
    return drawing.replace(marker=np.full(len(drawing), "outline", dtype=object))


def test_a_line_may_go_on_beneath_a_broad_stroke_to_its_middle_and_no_farther() -> None:
    line, broad = stroke((10, 50), (51, 50), width=0.5), stroke((50, 20), (50, 80), width=6)
    wanted = wanted_lines(artwork(line, broad))
    for end, right_ in ((47, True), (50, True), (52, False), (45, False)):
        drawn = as_drawn(artwork(stroke((10, 50), (end, 50)), stroke((50, 20), (50, 80))))
        assert agrees(agreement(drawn, wanted)) is right_, f"a line that ends at {end} mm"


def test_a_line_hidden_by_a_fill_may_not_go_on_beneath_it() -> None:
    petal = box(40, 40, 70, 60)
    wanted = wanted_lines(artwork(stroke((10, 50), (60, 50), width=0.5), petal))
    for end, right_ in ((40, True), (41, False)):
        drawn = as_drawn(artwork(stroke((10, 50), (end, 50)), stroke(*petal["parts"][0])))
        assert agrees(agreement(drawn, wanted)) is right_


def test_an_edge_beneath_its_own_thick_outline_may_not_be_drawn() -> None:
    moon, outline = ring(50, 50, 20), stroke(*ring(50, 50, 18.5), width=3)
    wanted = wanted_lines(artwork({"parts": [moon], "fill": "#4a6b3a"}, outline))
    assert agrees(agreement(as_drawn(artwork(outline)), wanted))
    assert not agrees(agreement(as_drawn(artwork(outline, stroke(*moon))), wanted))
