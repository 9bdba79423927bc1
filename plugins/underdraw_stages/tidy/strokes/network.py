"""Lines of one marker as a network: chains that run from node to node, no stretch of them twice.

A node is where a chain ends: a free end (one chain), or a junction (three or more). A ring without a junction is a
chain that ends where it began.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any, Self

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.groups import connected
from underdraw.drawing.lines.polylines import along, as_lines, cut_at
from underdraw_stages.tidy.strokes.polylines import GRID_DECIMALS, GRID_MM, on_grid

PACKED_SPAN = 2**31  # quanta: 214 m, so that two such numbers fit into 63 bits
# Odd multipliers (from the golden ratio and the square root of 3) that spread a point's two numbers over 64 bits.
_MIX_X, _MIX_Y = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBB67AE8584CAA73B)

FAR_MM = 1e12  # beyond anything that is drawn
NOTHING_KNOWN = np.empty(0, dtype=np.uint64)  # of chains: none has been looked at yet


@dataclass(frozen=True, eq=False)
class Network:
    """coords: (n, 2) mm on the drawing's grid. chain_index: (n,) the chain of each, not falling."""

    coords: NDArray[np.float64]
    chain_index: NDArray[np.int64]

    @classmethod
    def of(cls, chains: NDArray[Any]) -> Self:
        """The network of (e,) LineStrings that meet at their ends only."""
        coords, line_index = shapely.get_coordinates(chains, return_index=True)
        return cls(coords, line_index)

    def __len__(self) -> int:
        return int(self.chain_index[-1]) + 1 if len(self.chain_index) else 0

    @cached_property
    def chains(self) -> NDArray[Any]:
        """(e,) shapely LineStrings."""
        return as_lines(self.coords, self.chain_index)

    @cached_property
    def offsets(self) -> NDArray[np.int64]:
        """(e + 1,) where each chain's points begin."""
        return np.searchsorted(self.chain_index, np.arange(len(self) + 1))

    @cached_property
    def _nodes(self) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        return distinct(np.concatenate([self.coords[self.offsets[:-1]], self.coords[self.offsets[1:] - 1]]))

    @property
    def at(self) -> NDArray[np.float64]:
        """(m, 2) mm, where the nodes are."""
        return self._nodes[0]

    @cached_property
    def ends(self) -> NDArray[np.int64]:
        """(e, 2) the node of each chain's first and last point."""
        return self._nodes[1].reshape(2, -1).T

    @cached_property
    def degree(self) -> NDArray[np.int64]:
        """(m,) how many chain ends meet at each node."""
        return np.bincount(self.ends.ravel(), minlength=len(self.at))

    @cached_property
    def lengths(self) -> NDArray[np.float64]:
        """(e,) mm."""
        return along(self.coords, self.chain_index)[self.offsets[1:] - 1]

    @cached_property
    def fingerprints(self) -> NDArray[np.uint64]:
        """(e,) equal for equal chains, whichever way round they run."""
        return fingerprints(self.coords, self.chain_index)

    @property
    def free_rings(self) -> NDArray[np.bool_]:
        """(e,) which chains are rings that no other chain meets."""
        return (self.ends[:, 0] == self.ends[:, 1]) & (self.degree[self.ends[:, 0]] == 2)  # type: ignore[no-any-return]

    @property
    def meets_only_at_nodes(self) -> bool:
        """Whether chains meet at nodes only, and none is there twice."""
        middle = (self.offsets[:-1] + self.offsets[1:]) // 2
        closed = self.ends[:, 0] == self.ends[:, 1]
        seam = np.zeros(len(self.coords), dtype=np.bool_)
        seam[middle[closed]] = True  # a closed line's end counts as its inside: it is looked at as two open lines
        lines = as_lines(*cut_at(self.coords, self.chain_index, seam)[:2])
        return bool(shapely.is_simple(shapely.multilinestrings(lines)))

    def components(self) -> NDArray[np.int64]:
        """(e,) which connected part each chain belongs to, numbered from 0."""
        part = connected(len(self.at), *self.ends.T)
        return np.unique(part[self.ends[:, 0]], return_inverse=True)[1].astype(np.int64)

    def turned(self) -> Self:
        """The same network, its chains in directions, its free rings from points, that depend on the lines alone."""
        if not len(self):
            return self
        rings = self.free_rings
        first, last = self.offsets[:-1], self.offsets[1:] - 1
        forward = np.concatenate([self.coords[first], self.coords[first + 1]], axis=1)
        backward = np.concatenate([self.coords[last], self.coords[last - 1]], axis=1)
        back = (_less(backward, forward) & ~rings)[self.chain_index]
        index = np.arange(len(self.coords))
        coords = self.coords[np.where(back, first[self.chain_index] + last[self.chain_index] - index, index)]
        if rings.any():
            coords[rings[self.chain_index]] = shapely.get_coordinates(shapely.normalize(self.chains[rings]))
        return type(self)(coords, self.chain_index)

    def without(self, some: NDArray[np.bool_]) -> "Network":
        """The network that is left when (e,) some chains go."""
        return merged(Network.of(self.chains[~some]))

    def settled(self) -> Self:
        """The same network, turned, and its chains in an order that depends on where they lie alone."""
        return type(self).of(in_position_order(self.turned().chains))


def noded(geometry: NDArray[Any], known: NDArray[np.uint64]) -> Network:
    """Cut lines wherever two meet or cross; what lay on itself or on another line is left once.

    known: (k,) fingerprints of chains of one network: those that the lines still hold are not looked at again among
    themselves. Lines are rounded to the drawing's quantum on the way, so that each is cut where another one ends on it
    (snap rounding: Hobby 1999). Lines that meet at points they share alone are taken as they are.
    """
    if not len(geometry):
        return Network.of(geometry)
    coords, line_index = shapely.get_coordinates(geometry, return_index=True)
    if len(known) or (coords == np.round(coords, GRID_DECIMALS)).all():
        ready = cut_where_shared(*on_grid(coords, line_index)[:2])
        if len(known):
            return noded_again(ready, touching(ready, known))
        if ready.meets_only_at_nodes:
            return ready
    return as_network(*_snapped(geometry))


def noded_again(network: Network, met: NDArray[np.bool_]) -> Network:
    """The network noded where some of its (e,) chains meet others elsewhere than at a node."""
    if not met.any():
        return network
    here = met | _beside(network.chains, met)
    coords, line_index = _snapped(network.chains[here])
    rest, rest_index = shapely.get_coordinates(network.chains[~here], return_index=True)
    return as_network(np.concatenate([coords, rest]), np.concatenate([line_index, rest_index + line_index[-1] + 1]))


def touching(network: Network, known: NDArray[np.uint64]) -> NDArray[np.bool_]:
    """(e,) which chains meet others, or themselves, elsewhere than at a node: those that noding would change.

    known: (k,) fingerprints of chains that are known not to, one with another.
    """
    chains, prints = network.chains, network.fingerprints
    met = np.zeros(len(network), dtype=np.bool_)
    here = ~np.isin(prints, known)
    if not here.any():
        return met
    if not here.all():
        here |= _beside(chains, here)
    if Network.of(chains[here]).meets_only_at_nodes:
        return met
    parts = shapely.get_parts(shapely.union_all(chains[here]))
    after = fingerprints_of(parts)
    _, index, count = np.unique(prints[here], return_inverse=True, return_counts=True)
    met[here] = ~np.isin(prints[here], after) | (count[index] > 1)
    return met


def _beside(chains: NDArray[Any], some: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(e,) which chains meet some of them."""
    met = np.zeros(len(chains), dtype=np.bool_)
    met[shapely.STRtree(chains).query(chains[some], predicate="intersects")[1]] = True
    return met


def _snapped(lines: NDArray[Any]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Points and owners of lines cut wherever two meet, on the drawing's grid."""
    parts = shapely.get_parts(shapely.union_all(lines, grid_size=GRID_MM))
    return shapely.get_coordinates(parts, return_index=True)  # type: ignore[no-any-return]


def cut_where_shared(coords: NDArray[np.float64], line_index: NDArray[np.int64]) -> Network:
    """The network of lines, cut at every point that two of them have, or that one has twice."""
    _, index = distinct(coords)
    return as_network(*cut_at(coords, line_index, np.bincount(index)[index] > 1)[:2])


def as_network(coords: NDArray[np.float64], line_index: NDArray[np.int64]) -> Network:
    """Chains from edges that meet at their ends only. Equal edges count once."""
    coords, line_index, _ = on_grid(coords, line_index)
    return merged(Network(*once(coords, line_index)))


def merged(network: Network) -> Network:
    """Chains that meet two by two at a node put together, so that every node is a free end or a junction."""
    if not len(network):
        return network
    through = (network.degree[network.ends] == 2).any(axis=1) & ~network.free_rings
    if not through.any():
        return network
    # A junction of which only two chains are looked at would be merged through: two stubs to far away prevent that.
    junction = np.unique(network.ends[through])
    junction = np.repeat(network.at[junction[network.degree[junction] != 2]], 2, axis=0)
    far = np.stack([np.full(len(junction), FAR_MM), np.arange(len(junction))], axis=1)
    stubs = shapely.linestrings(np.stack([junction, far], axis=1))
    parts = shapely.get_parts(
        shapely.line_merge(shapely.multilinestrings(np.concatenate([network.chains[through], stubs])))
    )
    parts = parts[shapely.bounds(parts)[:, 2] < FAR_MM]
    return Network.of(np.concatenate([network.chains[~through], parts]))


def once(coords: NDArray[np.float64], line_index: NDArray[np.int64]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Edges without repeats, whichever way round they run."""
    if not len(coords):
        return coords, line_index
    known, first = np.unique(fingerprints(coords, line_index), return_index=True)
    if len(known) == line_index[-1] + 1:
        return coords, line_index
    kept = np.zeros(line_index[-1] + 1, dtype=np.bool_)
    kept[first] = True
    return coords[kept[line_index]], (np.cumsum(kept) - 1)[line_index[kept[line_index]]]


def fingerprints(coords: NDArray[np.float64], line_index: NDArray[np.int64]) -> NDArray[np.uint64]:
    """(e,) a 64 bit sum over each line's points: equal lines have equal ones, whichever way round they run."""
    grid = np.round(coords / GRID_MM).astype(np.int64).view(np.uint64)
    mixed = grid[:, 0] * _MIX_X + grid[:, 1] * _MIX_Y
    mixed = (mixed ^ (mixed >> np.uint64(29))) * _MIX_X
    mixed ^= mixed >> np.uint64(32)
    if not len(coords):
        return mixed  # type: ignore[no-any-return]
    first = np.concatenate([[True], line_index[1:] != line_index[:-1]])
    return np.add.reduceat(mixed, np.flatnonzero(first))


def fingerprints_of(lines: NDArray[Any]) -> NDArray[np.uint64]:
    """(e,) the `fingerprints` of (e,) LineStrings."""
    return fingerprints(*shapely.get_coordinates(lines, return_index=True))


def in_position_order(lines: NDArray[Any]) -> NDArray[Any]:
    """Lines in an order that depends on where they lie alone."""
    return lines[_position_order(lines)] if len(lines) else lines


def _position_order(lines: NDArray[Any]) -> NDArray[np.int64]:
    coords, line_index = shapely.get_coordinates(lines, return_index=True)
    offsets = np.searchsorted(line_index, np.arange(len(lines) + 1))
    keys = [coords[at] for at in (offsets[:-1], offsets[:-1] + 1, offsets[1:] - 2, offsets[1:] - 1)]
    columns = np.concatenate(keys, axis=1).T
    return np.lexsort([shapely.length(lines), *columns[::-1]])


def distinct(points: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """(m, 2) the distinct points, sorted by x and then y, and (n,) which of them each of (n, 2) is."""
    order = _sorted_places(points)
    ordered = points[order]
    fresh = np.ones(len(points), dtype=np.bool_)
    fresh[1:] = (ordered[1:] != ordered[:-1]).any(axis=1)
    index = np.empty(len(points), dtype=np.int64)
    index[order] = np.cumsum(fresh) - 1
    return ordered[fresh], index


def _sorted_places(points: NDArray[np.float64]) -> NDArray[np.int64]:
    """(n,) the order of points by x, then y: by one packed number where they fit into it, which is much faster."""
    grid = np.round(points / GRID_MM).astype(np.int64)
    grid -= grid.min(axis=0, initial=0)
    if grid.max(initial=0) < PACKED_SPAN:
        return np.argsort(grid[:, 0] * PACKED_SPAN + grid[:, 1], kind="stable")
    return np.lexsort((points[:, 1], points[:, 0]))


def _less(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.bool_]:
    """(n,) whether row i of (n, k) `a` sorts before that of `b`."""
    differs = a != b
    column = differs.argmax(axis=1)
    rows = np.arange(len(a))
    return differs.any(axis=1) & (a[rows, column] < b[rows, column])  # type: ignore[no-any-return]
