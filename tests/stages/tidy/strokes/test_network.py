"""Line work that crosses itself all over: grass, tendrils, veins."""

import networkx
import numpy as np
import pytest
import shapely
from night_artwork import artwork, lines_of, run, same_bytes, stroke
from references import drawn_twice_mm, farthest, fewest_by_networkx

from underdraw.drawing.drawing import Drawing
from underdraw_stages.tidy.strokes.network import NOTHING_KNOWN, Network, noded, noded_again, touching


def tendrils(count: int, seed: int, width: float) -> Drawing:
    """Arcs so dense that one crosses the next every half millimetre."""
    random = np.random.default_rng(seed)
    side = np.sqrt(4 * count)
    turn = random.uniform(0, 2 * np.pi, (count, 1)) + np.linspace(0, 2, 12)
    arcs = random.uniform(20, 20 + side, (count, 2, 1)) + random.uniform(2, 8, (count, 1, 1)) * np.stack(
        [np.cos(turn), np.sin(turn)], axis=1
    )
    return artwork(*(stroke(*arc.T, width=width) for arc in arcs))


@pytest.mark.slow
@pytest.mark.parametrize("width", (0.2, 0.3))
@pytest.mark.parametrize("seed", range(3))
def test_a_tangle_tidied_twice_is_the_tangle_tidied_once(seed: int, width: float) -> None:
    once = run(tendrils(250, seed, width))
    twice = run(once.drawing)
    assert same_bytes(once.drawing, twice.drawing)
    counted = ("joined", "dropped", "doubled_mm", "hidden_mm")
    assert [twice.figures[name] for name in counted] == [0, 0, 0, 0]


def test_a_tangle_takes_the_fewest_strokes_and_none_twice() -> None:
    """Outside check: networkx counts the odd nodes of what was drawn, noded by shapely."""
    drawing = run(tendrils(250, 7, 0.2)).drawing
    assert len(drawing) == fewest_by_networkx(drawing)
    assert drawn_twice_mm(drawing) < 1e-3 * drawing.drawn_mm


def test_an_end_does_not_reach_back_over_its_own_line() -> None:
    """A stem that crosses two lines and ends just past them: to reach the first one it would run back over itself."""
    veins = stroke((10, 50), (90, 50), width=0.1), stroke((20, 49.9), (80, 49.9), width=0.1)
    once = run(artwork(*veins, stroke((50, 10), (50, 50.05), width=0.1)), same=0.0)
    assert (once.figures["joined"], once.figures["dropped"]) == (2, 1)  # the shorter vein's two ends do meet the other
    assert max(y for line in lines_of(once.drawing) for _, y in line) == 50


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(5))
def test_noding_where_lines_meet_is_noding_all_of_them(seed: int) -> None:
    """Some lines of a noded network moved: looking at those alone finds what looking at all of them finds."""
    random = np.random.default_rng(seed)
    lines = shapely.linestrings(random.uniform(0, 30, (60, 2, 2)).round(2))
    network = noded(lines, NOTHING_KNOWN)
    moved = network.coords.copy()
    chain = random.choice(len(network), 12, replace=False)
    moved[np.isin(network.chain_index, chain)] += random.uniform(-3, 3, 2).round(2)
    shifted = Network(moved, network.chain_index)
    some, every = touching(shifted, network.fingerprints), touching(shifted, NOTHING_KNOWN)
    assert some.any()
    assert (some == every).all()
    mended = noded_again(shifted, some)
    assert mended.meets_only_at_nodes
    assert farthest(shapely.multilinestrings(mended.chains), shapely.multilinestrings(shifted.chains)) < 1e-3
    assert farthest(shapely.multilinestrings(shifted.chains), shapely.multilinestrings(mended.chains)) < 1e-3


@pytest.mark.parametrize("seed", range(5))
def test_connected_parts_are_those_of_networkx(seed: int) -> None:
    random = np.random.default_rng(seed)
    network = noded(shapely.linestrings(random.uniform(0, 100, (40, 2, 2)).round(1)), NOTHING_KNOWN)
    graph = networkx.MultiGraph(network.ends.tolist())
    parts = network.components()
    assert parts.max() + 1 == networkx.number_connected_components(graph)
    for part in networkx.connected_components(graph):
        assert len(set(parts[np.isin(network.ends[:, 0], list(part))])) == 1
