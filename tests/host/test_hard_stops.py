"""Hard stops of gradients: where they are, what shows between them, and which fades are as good as one."""

import numpy as np
import pytest
import shapely

from underdraw.drawing.paint.colours import Paints
from underdraw.drawing.paint.gradients import LinearGradient, RadialGradient, Spread, Stop
from underdraw.drawing.paint.hard_stops import edges_of, jumps_between, sharpened

INDIGO, AMBER, IVORY = "#1b1b3a", "#d9793a", "#ffffff"
WIDE = (100.0, 0.0, 0.0, 100.0, 0.0, 0.0)
SPREADS: tuple[Spread, ...] = ("pad", "reflect", "repeat")
BOX = np.array([(-150.0, -20.0), (250.0, -20.0), (250.0, 30.0), (-150.0, 30.0)])
JUST = 1e-7  # of the way, to either side


def shown(gradient: LinearGradient, ways: np.ndarray) -> np.ndarray:
    """(n, 4) colours and opacities at shares of the way."""
    points = np.stack([100 * ways, np.zeros(len(ways))], axis=1)
    rgb, opacity = Paints.of([INDIGO], [1.0], [gradient]).at(np.zeros(len(ways), dtype=np.int64), points)
    return np.column_stack([rgb, opacity])


def at_random(random: np.random.Generator, spread: Spread) -> LinearGradient:
    """Two to seven stops of three colours, half of them where another is, some at the ends."""
    offsets = random.choice([0.0, 0.2, 0.35, 0.5, 0.8, 1.0], int(random.integers(2, 8)))
    colours, opacity = random.choice([INDIGO, AMBER, IVORY], len(offsets)), random.choice([1.0, 1.0, 0.5], len(offsets))
    stops = zip(np.sort(offsets).tolist(), colours.tolist(), opacity.tolist(), strict=True)
    return LinearGradient(tuple(Stop(*each) for each in stops), WIDE, spread)


@pytest.mark.parametrize("spread", SPREADS)
def test_a_gradient_jumps_where_what_shows_just_before_and_just_after_differs(spread: Spread) -> None:
    random = np.random.default_rng(4)
    for _ in range(300):
        gradient = at_random(random, spread)
        asked = np.unique(np.round(np.arange(-2, 3)[:, None] + (0, 0.2, 0.35, 0.5, 0.65, 0.8), 9))
        differ = np.abs(shown(gradient, asked - JUST) - shown(gradient, asked + JUST)).max(axis=1) > 1e-3
        expected = asked[differ & (asked > -1.5) & (asked < 2.5)]
        assert jumps_between(gradient, -1.5, 2.5, 0.0) == pytest.approx(expected.tolist()), gradient


@pytest.mark.parametrize("spread", SPREADS)
def test_what_shows_lies_between_the_stops_of_its_band(spread: Spread) -> None:
    random = np.random.default_rng(5)
    for _ in range(300):
        gradient = at_random(random, spread)
        assert len(gradient.bands) <= len(gradient.jumps) + 1
        ways = random.uniform(-1, 2, 20)
        shares = np.clip(ways, -0.5, 1.5) if spread == "pad" else ways % 1
        if spread == "reflect":
            shares = 1 - np.abs(ways % 2 - 1)
        for look, share in zip(shown(gradient, ways), shares.tolist(), strict=True):
            band = gradient.bands[gradient.band_at(share)]
            looks = shown_stops(band)
            assert (look >= looks.min(axis=0) - 1e-9).all() and (look <= looks.max(axis=0) + 1e-9).all()
        named = {stop for band in gradient.bands for stop in band}
        assert named <= set(gradient.stops)


def shown_stops(stops: tuple[Stop, ...]) -> np.ndarray:
    """(k, 4) the look of each stop."""
    rgb = [[int(stop.colour[at : at + 2], 16) / 255 for at in (1, 3, 5)] for stop in stops]
    return np.column_stack([rgb, [stop.opacity for stop in stops]])


def test_a_band_of_one_colour_is_one_and_a_repeated_fade_over_its_start_stays_whole() -> None:
    dusk = LinearGradient((Stop(0, AMBER), Stop(0.5, AMBER), Stop(0.5, INDIGO), Stop(1, IVORY)), WIDE)
    assert [{stop.colour for stop in band} for band in dusk.bands] == [{AMBER}, {INDIGO, IVORY}]
    assert (dusk.band_at(-3.0), dusk.band_at(0.49), dusk.band_at(0.51), dusk.band_at(1.0)) == (0, 0, 1, 1)
    over = LinearGradient((Stop(0, AMBER), Stop(0.5, IVORY), Stop(0.5, INDIGO), Stop(1, AMBER)), WIDE, "repeat")
    assert over.jumps == (0.5,)
    assert [[stop.colour for stop in band] for band in over.bands] == [[INDIGO, AMBER, AMBER, IVORY]]


def test_edges_are_where_the_colour_changes_on_a_turned_and_stretched_gradient() -> None:
    stops = (Stop(0.2, AMBER), Stop(0.2, INDIGO), Stop(0.7, INDIGO), Stop(0.7, IVORY))
    matrix = (30.0, 10.0, -8.0, 20.0, 40.0, 5.0)
    corners = np.array([(0.0, -40.0), (120.0, -40.0), (120.0, 60.0), (0.0, 60.0)])
    for gradient in (
        LinearGradient(stops, matrix),
        LinearGradient(stops, matrix, "repeat"),
        RadialGradient(stops, matrix, "pad", (0.5, 0.2)),
        RadialGradient(stops, matrix, "reflect", (0.0, -0.7)),
    ):
        paints = Paints.of([AMBER], [1.0], [gradient])
        edges = list(edges_of(gradient, corners, 0.0))
        assert len(edges) >= 2
        for edge in edges:
            along = shapely.get_coordinates(edge.interpolate(np.linspace(0.01, 0.99, 40), normalized=True))
            ahead = shapely.get_coordinates(edge.interpolate(np.linspace(0.01, 0.99, 40) + 1e-5, normalized=True))
            across = (ahead - along)[:, ::-1] * (1, -1)
            across *= 0.03 / np.hypot(*across.T)[:, None]  # mm: a chord of the polyline is up to 0.01 inside its curve
            one, other = (paints.at(np.zeros(40, dtype=np.int64), along + side)[0] for side in (across, -across))
            assert (np.abs(one - other).max(axis=1) > 0.2).all()


@pytest.mark.parametrize(
    ("offsets", "after"),
    [
        ((0.0, 0.5, 0.504, 1.0), (0.0, 0.502, 0.502, 1.0)),  # 0.4 mm: no wider than the tip
        ((0.0, 0.5, 0.506, 1.0), (0.0, 0.5, 0.506, 1.0)),  # 0.6 mm: a fade
        ((0.5, 0.504, 0.508, 0.512), (0.5, 0.504, 0.508, 0.512)),  # steps of a longer fade
        ((0.5, 0.502, 0.504, 1.0), (0.502, 0.502, 1.0)),  # what lies between goes
        ((0.2, 0.2, 0.5, 1.0), (0.2, 0.2, 0.5, 1.0)),
    ],
)
def test_a_fade_no_wider_than_the_tip_is_a_hard_stop(offsets: tuple[float, ...], after: tuple[float, ...]) -> None:
    colours = (AMBER, AMBER, INDIGO, IVORY) if offsets[:2] == (0.0, 0.5) else (AMBER, INDIGO, IVORY, AMBER)
    gradient = LinearGradient(tuple(Stop(*each) for each in zip(offsets, colours, strict=True)), WIDE)
    assert tuple(stop.offset for stop in sharpened(gradient, 0.5).stops) == after
    if after == offsets:
        assert sharpened(gradient, 0.5) is gradient


def test_how_wide_a_fade_is_counts_across_it_in_a_slanted_gradient_and_where_a_radial_one_is_widest() -> None:
    """Slanted by 45°, lines of one colour lie 1 / √2 as far apart; towards (3, 4) a focal point at 0.5 makes 1.5."""
    stops = (Stop(0.5, AMBER), Stop(0.506, INDIGO))
    assert sharpened(LinearGradient(stops, (100.0, 0.0, 100.0, 100.0, 0.0, 0.0)), 0.5).jumps == (0.503,)
    assert sharpened(RadialGradient(stops, WIDE), 0.61).jumps == (0.503,)
    assert sharpened(RadialGradient(stops, WIDE, "pad", (0.3, 0.4)), 0.61).jumps == ()
    assert sharpened(RadialGradient(stops, WIDE, "pad", (0.3, 0.4)), 0.91).jumps == (0.503,)


@pytest.mark.parametrize("matrix", [(0.0,) * 6, (3.0, 1.0, 6.0, 2.0, 0.0, 0.0), (1e-200, 0.0, 0.0, 1e-200, 0.0, 0.0)])
@pytest.mark.parametrize("kind", [LinearGradient, RadialGradient])
def test_a_gradient_that_its_matrix_flattens_has_no_edges_and_stays(kind: type, matrix: tuple[float, ...]) -> None:
    flat = kind((Stop(0.5, AMBER), Stop(0.5, INDIGO), Stop(0.51, IVORY)), matrix, "repeat")
    assert sharpened(flat, 1e6) is flat
    assert list(edges_of(flat, BOX, 0.1)) == []


def test_the_edge_of_a_gradient_that_is_stretched_beyond_measure_is_a_line_within_reach() -> None:
    wide = RadialGradient((Stop(0.5, AMBER), Stop(0.5, INDIGO)), (1e18, 0.0, 0.0, 20.0, 0.0, 0.0))
    [edge] = edges_of(wide, BOX, 0.4)
    near = edge.intersection(shapely.box(-1000, -100, 1000, 100))
    assert (near.bounds, near.length) == ((-1000, -10, 1000, 10), 2 * 2000)


def test_bands_closer_than_a_line_is_wide_are_a_texture() -> None:
    fine = LinearGradient(
        (Stop(0, AMBER), Stop(0.5, AMBER), Stop(0.5, INDIGO)), (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), "repeat"
    )
    assert len(list(edges_of(fine, BOX, 0.4))) == 799  # every half a mm, over 400 mm
    assert list(edges_of(fine, BOX, 0.6)) == []
