"""Chains of arcs made tangent: where their joins lie and how they head, with the least deviation.

Unknown are, of each join, how far it lies beside the drawing and its heading. An arc between two joins is tangent to
both where the mean of their headings is the chord's. Those conditions and the least deviation are solved for together
(Gauss and Newton; a power of the deviation keeps the greatest small), all chains at once.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.gcode.arcs.chains import Chains, Frames, as_turn, headings

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

POWERS = (4,) * 9  # the deviation's weight in each round of solving, less 2
MOST_WEIGHT = 1e4
LEVEL_SHARE = 0.005  # of plain squares: without them a chain that lies within the tolerance has no least
STIFFNESS = 1e7  # of the tangency, against a deviation as large as the tolerance
FARTHEST_STEP, WIDEST_STEP = 3.0, np.radians(15)  # of a round: in tolerances, and of a heading


def solved(
    points: Array, base: Array, chains: Chains, tolerance: float, stiffness: float = STIFFNESS
) -> tuple[Chains, Array]:
    """Headings and places of joins that make each chain tangent with the least deviation from the points.

    base: (n, 2) where the chains' ends are, and from where their other joins are moved. stiffness: how much
    a turn at a join counts beside a deviation.
    """
    count, moves = len(chains.starts) - 1, len(chains.first)
    sizes = np.diff(chains.starts)
    owner = np.repeat(np.arange(count), sizes)
    node = np.arange(moves) + owner  # the join at each move's start; its end is the next
    nodes = moves + count
    vertex = np.empty(nodes, dtype=np.int64)
    vertex[node], vertex[node + 1] = chains.first, chains.last
    first_node, last_node = chains.starts[:-1] + np.arange(count), chains.starts[1:] + np.arange(count)
    fixed = np.zeros((nodes, 2), dtype=np.bool_)  # aside, heading
    fixed[first_node, 0] = fixed[last_node, 0] = True
    fixed[first_node, 1], fixed[last_node, 1] = ~np.isnan(chains.from_heading), ~np.isnan(chains.to_heading)
    start, end = headings(base, chains)
    heading = np.empty(nodes)
    heading[node] = start
    heading[last_node] = end[chains.starts[1:] - 1]
    meets = node[~fixed[node, 0]]
    before = np.empty(nodes)
    before[node + 1] = end
    heading[meets] = before[meets] + as_turn(heading[meets] - before[meets]) / 2
    heading[first_node] = np.where(fixed[first_node, 1], chains.from_heading, heading[first_node])
    heading[last_node] = np.where(fixed[last_node, 1], chains.to_heading, heading[last_node])
    normal = np.stack([-np.sin(heading), np.cos(heading)], axis=1)
    aside = np.zeros(nodes)
    places = base.copy()
    half_turn = chains.half_turn
    for power in POWERS:
        frames = Frames.of(points, places, chains.first, chains.last)
        angle = np.arctan2(frames.along[:, 1], frames.along[:, 0])
        turned = as_turn(heading[node + 1] - angle) - as_turn(heading[node] - angle)
        half_turn = np.where(chains.straight, 0.0, turned / 2)
        gap = as_turn(heading[node] - angle) + as_turn(heading[node + 1] - angle)  # 0 of a tangent arc
        step = _step(
            frames, half_turn, turned / 2, gap, normal, node, fixed, aside, chains, tolerance, power, stiffness
        )
        step *= _reined(step, heading, chains, half=frames.half, tolerance=tolerance)
        aside = aside + step[:, 0]
        heading = heading + step[:, 1]
        places = base.copy()
        places[vertex] += aside[:, None] * normal
    chord = places[chains.last] - places[chains.first]
    angle = np.arctan2(chord[:, 1], chord[:, 0])
    half_turn = (as_turn(heading[node + 1] - angle) - as_turn(heading[node] - angle)) / 2
    return replace(chains, half_turn=np.where(chains.straight, 0.0, half_turn)), places


def _reined(step: Array, heading: Array, chains: Chains, half: Array, tolerance: float) -> Array:
    """(j, 1) by what share of the step each chain's joins go: all of it, unless some join would go far astray."""
    count = len(chains.starts) - 1
    begins = chains.starts[:-1] + np.arange(count)
    far = np.maximum(np.abs(step[:, 0]) / (FARTHEST_STEP * tolerance), np.abs(step[:, 1]) / WIDEST_STEP)
    most = np.maximum.reduceat(far, begins)
    return (1 / np.maximum(most, 1.0))[np.repeat(np.arange(count), np.diff(chains.starts) + 1)][:, None]


def _step(
    frames: Frames,
    half_turn: Array,
    turned: Array,
    gap: Array,
    normal: Array,
    node: Index,
    fixed: Flags,
    aside: Array,
    chains: Chains,
    tolerance: float,
    power: int,
    stiffness: float,
) -> Array:
    """(j, 2) by how much each join moves aside and turns."""
    owner, half, u, v = frames.owner, frames.half, frames.u, frames.v
    cosine = np.maximum(np.cos(half_turn), 0.05)
    bend = -np.tan(np.clip(half_turn, -1.5, 1.5)) / (2 * half)
    room = half[owner] ** 2 - u**2 - v**2
    off = (v - bend[owner] * room) * cosine[owner]  # beside the arc, left above 0
    upright = np.stack([2 * bend[owner] * u, 1 + 2 * bend[owner] * v], axis=1) * cosine[owner][:, None]
    share_u, share_v = (u + half[owner]) / (2 * half[owner]), v / (2 * half[owner])

    def in_chord(at: Index) -> tuple[Array, Array]:
        n, along = normal[at], frames.along
        return n[:, 0] * along[:, 0] + n[:, 1] * along[:, 1], n[:, 1] * along[:, 0] - n[:, 0] * along[:, 1]

    (su, sv), (eu, ev) = in_chord(node), in_chord(node + 1)
    by_end_u = share_u * eu[owner] - share_v * ev[owner]
    by_end_v = share_u * ev[owner] + share_v * eu[owner]
    by_start_u = su[owner] - (share_u * su[owner] - share_v * sv[owner])
    by_start_v = sv[owner] - (share_u * sv[owner] + share_v * su[owner])
    d_start = -(upright[:, 0] * by_start_u + upright[:, 1] * by_start_v)
    d_end = -(upright[:, 0] * by_end_u + upright[:, 1] * by_end_v)
    d_turn = np.where(chains.straight, 0.0, 1.0)[owner] * room / (2 * half * cosine)[owner]
    # The least sum of r² / 20 + r⁶ of the deviations r keeps the greatest small; its first and second derivatives:
    relative = np.minimum((off / tolerance) ** power, MOST_WEIGHT)
    per_point = frames.weight / np.maximum(2 * half[owner], 1e-12) / tolerance**2
    pull, weight = per_point * (LEVEL_SHARE + relative), per_point * (LEVEL_SHARE + (power + 1) * relative)
    # Unknowns of a move: aside and heading at its start, aside and heading at its end.
    columns = np.stack([d_start, -d_turn / 2, d_end, d_turn / 2], axis=1)
    weighted = columns * weight[:, None]
    square = np.add.reduceat(weighted[:, :, None] * columns[:, None, :], frames.begins, axis=0)
    right = -np.add.reduceat(columns * (pull * off)[:, None], frames.begins, axis=0)
    stiff = stiffness * (half / tolerance) ** 2
    tangent = np.stack([sv / half, np.ones(len(half)), -ev / half, np.ones(len(half))], axis=1)
    square += stiff[:, None, None] * tangent[:, :, None] * tangent[:, None, :]
    right -= (stiff * gap)[:, None] * tangent
    level = np.stack([np.zeros(len(half)), -np.ones(len(half)), np.zeros(len(half)), np.ones(len(half))], axis=1) / 2
    held = np.where(chains.straight, stiff, 0.0)
    square += held[:, None, None] * level[:, :, None] * level[:, None, :]
    right -= (held * turned)[:, None] * level
    return _block_solve(square, right, node, fixed, aside, chains, tolerance, half)


def _block_solve(
    square: Array,
    right: Array,
    node: Index,
    fixed: Flags,
    aside: Array,
    chains: Chains,
    tolerance: float,
    half: Array,
) -> Array:
    """Solve the chains' equations, two unknowns a join, each tied to the next alone: elimination from end to end."""
    nodes = len(fixed)
    diagonal = np.zeros((nodes, 2, 2))
    vector = np.zeros((nodes, 2))
    diagonal[node] += square[:, :2, :2]
    diagonal[node + 1] += square[:, 2:, 2:]
    vector[node] += right[:, :2]
    vector[node + 1] += right[:, 2:]
    soft = 0.0001 / tolerance**2
    diagonal[:, 0, 0] += soft
    vector[:, 0] -= soft * aside
    scale = np.zeros(nodes)
    scale[node] = half**2
    scale[node + 1] = np.maximum(scale[node + 1], half**2)
    diagonal[:, 1, 1] += 1e-4 * scale / tolerance**2
    across = np.zeros((nodes, 2, 2))  # from each join to the next of its chain
    across[node] = square[:, :2, 2:]
    for unknown in (0, 1):
        rows = np.flatnonzero(fixed[:, unknown])
        diagonal[rows, unknown, :] = 0.0
        diagonal[rows, :, unknown] = 0.0
        diagonal[rows, unknown, unknown] = 1.0
        vector[rows, unknown] = 0.0
        across[rows, unknown, :] = 0.0
        across[np.maximum(rows - 1, 0), :, unknown] = np.where((rows > 0)[:, None], 0.0, across[0, :, unknown])
    return tridiagonal_solve(diagonal, across, vector)


def tridiagonal_solve(diagonal: Array, across: Array, vector: Array) -> Array:
    """(n, 2) unknowns of n joins in a row: (n, 2, 2) blocks on the diagonal, and from each join to the next.

    Every other join is eliminated at once, and so on until one is left (cyclic reduction: Buzbee, Golub, Nielson,
    'On direct methods for solving Poisson's equations', 1970). Chains lie one after the other, with nothing between.
    """
    count = len(diagonal)
    if count == 1:
        return _times(_inverse(diagonal), vector)
    odd, even = slice(1, None, 2), slice(0, None, 2)
    into, out_of = across[:-1:2], across[odd]  # from the join before each odd one, and to the join after it
    inverse = _inverse(diagonal[odd])
    to_before, to_after = _times(inverse, np.swapaxes(into, 1, 2)), _times(inverse, out_of)
    alone = _times(inverse, vector[odd])
    left_diagonal, left_vector = diagonal[even].copy(), vector[even].copy()
    left_diagonal[: len(into)] -= _times(into, to_before)
    left_vector[: len(into)] -= _times(into, alone)
    through = len(left_vector) - 1  # odd joins with one after them
    back = np.swapaxes(out_of[:through], 1, 2)
    left_diagonal[1:] -= _times(back, to_after[:through])
    left_vector[1:] -= _times(back, alone[:through])
    left_across = np.zeros_like(left_diagonal)
    left_across[:through] = -_times(into[:through], to_after[:through])
    result = np.empty((count, 2))
    result[even] = tridiagonal_solve(left_diagonal, left_across, left_vector)
    result[odd] = alone - _times(to_before, result[:-1:2])
    result[odd][:through] -= _times(to_after[:through], result[2::2])
    return result


def _times(matrix: Array, other: Array) -> Array:
    """Products of (k, 2, 2) and (k, 2) or (k, 2, 2).

    Not by `@`, whose last digits depend on the processor: the same drawing gives the same program on any machine.
    """
    return np.asarray(np.einsum("kij,kj...->ki...", matrix, other))


def _inverse(matrix: Array) -> Array:
    """(k, 2, 2) inverses."""
    a, b, c, d = matrix[:, 0, 0], matrix[:, 0, 1], matrix[:, 1, 0], matrix[:, 1, 1]
    determinant = a * d - b * c
    determinant = np.where(np.abs(determinant) < 1e-300, 1e-300, determinant)
    return np.stack([d, -b, -c, a], axis=1).reshape(-1, 2, 2) / determinant[:, None, None]
