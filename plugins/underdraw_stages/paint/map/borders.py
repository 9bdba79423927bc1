"""The borders between regions that share a plane: each once, from where three meet to where the next three do."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from underdraw.drawing.lines.polylines import lines_of_steps
from underdraw.drawing.ragged import row_positions


def borders(regions: NDArray[Any]) -> NDArray[Any]:
    """(m,) LineStrings, the edges of (r,) Polygons that meet at points which both have, as faces of noded lines do.

    >>> [line.wkt for line in borders(shapely.box([0, 1], 0, [1, 2], 1))]
    ['LINESTRING (1 0, 1 1)', 'LINESTRING (1 1, 0 1, 0 0, 1 0)', 'LINESTRING (1 0, 2 0, 2 1, 1 1)']
    """
    coords, ring = shapely.get_coordinates(shapely.get_rings(regions), return_index=True)
    places, place = np.unique(coords[:, 0] + 1j * coords[:, 1], return_inverse=True)
    step = np.flatnonzero(ring[1:] == ring[:-1])  # from a point to the next of its ring
    edge = np.sort(np.stack([place[step], place[step + 1]], axis=1), axis=1) @ (len(places), 1)
    is_first = np.zeros(len(step), dtype=np.bool_)  # of the two rings that have an edge
    is_first[np.unique(edge, return_index=True)[1]] = True
    ends = np.bincount(place[np.concatenate([step[is_first], step[is_first] + 1])], minlength=len(places))
    is_node = (ends != 2)[place[step]]

    counts = np.bincount(ring[step])
    step_of_ring = row_positions(counts)
    first_node = np.zeros(len(counts), dtype=np.int64)
    nodes = np.flatnonzero(is_node)[::-1]
    first_node[ring[step[nodes]]] = step_of_ring[nodes]
    turned = (step_of_ring - first_node[ring[step]]) % counts[ring[step]]
    order = np.lexsort((turned, ring[step]))  # each ring from a node on, if it has one
    step, is_first, is_node, turned = step[order], is_first[order], is_node[order], turned[order]

    kept = np.flatnonzero(is_first)
    goes_on = (np.diff(kept, prepend=-2) == 1) & ~is_node[kept] & (turned[kept] > 0)
    first = np.append(np.flatnonzero(~goes_on), len(kept))
    return lines_of_steps(coords[step[kept]], coords[step[kept] + 1], first)
