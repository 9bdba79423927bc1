"""Lines of one marker as a network: chains that run from node to node, no stretch of them twice.

A node is where a chain ends: a free end (one chain), or a junction (three or more). A ring without a junction is a
chain that ends where it began.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw_stages.tidy.lines import on_grid


@dataclass(frozen=True, eq=False)
class Network:
    """chains: (e,) shapely LineStrings on the drawing's grid. ends: (e, 2) node of each chain's first and last point.

    at: (n, 2) mm, where the nodes are. degree: (n,) how many chain ends meet there.
    """

    chains: NDArray[Any]
    ends: NDArray[np.int64]
    at: NDArray[np.float64]
    degree: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.chains)

    @property
    def lengths(self) -> NDArray[np.float64]:
        """(e,) mm."""
        return shapely.length(self.chains)  # type: ignore[no-any-return]

    def components(self) -> NDArray[np.int64]:
        """(e,) which connected part each chain belongs to, numbered from 0."""
        root = list(range(len(self.at)))

        def find(node: int) -> int:
            while root[node] != node:
                root[node] = root[root[node]]
                node = root[node]
            return node

        for a, b in self.ends.tolist():
            root[find(a)] = find(b)
        found = np.array([find(node) for node in self.ends[:, 0].tolist()], dtype=np.int64)
        return np.unique(found, return_inverse=True)[1].astype(np.int64)


def noded(geometry: NDArray[Any]) -> Network:
    """Cut lines wherever two meet or cross; what lay on itself or on another line is left once."""
    if not len(geometry):
        return as_network(geometry)
    return as_network(shapely.get_parts(shapely.union_all(geometry)))


def as_network(edges: NDArray[Any]) -> Network:
    """Chains from edges that meet at their ends only. Equal edges count once."""
    edges = once(on_grid(edges)[0])
    if len(edges):
        edges = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(edges)))
    at, ends = _nodes(edges)
    degree = np.bincount(ends.ravel(), minlength=len(at))
    chains = _settled(edges, (ends[:, 0] == ends[:, 1]) & (degree[ends[:, 0]] == 2))
    at, ends = _nodes(chains)
    return Network(chains, ends, at, np.bincount(ends.ravel(), minlength=len(at)))


def once(edges: NDArray[Any]) -> NDArray[Any]:
    """Edges without repeats, whichever way round they run."""
    kept: dict[bytes, int] = {}
    for index, form in enumerate(shapely.to_wkb(shapely.normalize(edges))):
        kept.setdefault(form, index)
    return edges[list(kept.values())]


def _nodes(edges: NDArray[Any]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """(n, 2) mm of the distinct end points, sorted, and (e, 2) which of them each edge ends at."""
    first = shapely.get_coordinates(shapely.get_point(edges, 0))
    last = shapely.get_coordinates(shapely.get_point(edges, -1))
    at, index = np.unique(np.concatenate([first, last]), axis=0, return_inverse=True)
    return at, index.reshape(2, -1).T.astype(np.int64)


def _settled(chains: NDArray[Any], rings: NDArray[np.bool_]) -> NDArray[Any]:
    """Chains in an order and direction, free rings from a first point, that depend on where they lie alone."""
    first, second = (shapely.get_coordinates(shapely.get_point(chains, place)) for place in (0, 1))
    last, before = (shapely.get_coordinates(shapely.get_point(chains, place)) for place in (-1, -2))
    forward = np.concatenate([first, second], axis=1)
    backward = np.concatenate([last, before], axis=1)
    turned = _less(backward, forward)
    settled = np.where(turned, shapely.reverse(chains), chains)
    settled[rings] = shapely.normalize(chains[rings])
    if not len(chains):
        return settled
    keys = np.concatenate(
        [shapely.get_coordinates(shapely.get_point(settled, place)) for place in (0, 1, -2, -1)], axis=1
    )
    return settled[np.lexsort([shapely.length(settled), *keys.T[::-1]])]


def _less(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.bool_]:
    """(n,) whether row i of (n, k) `a` sorts before that of `b`."""
    differs = a != b
    column = differs.argmax(axis=1)
    rows = np.arange(len(a))
    return differs.any(axis=1) & (a[rows, column] < b[rows, column])  # type: ignore[no-any-return]
