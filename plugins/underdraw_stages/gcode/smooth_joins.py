"""Moves that meet without a bend where the drawing is smooth: a wet tip slows at no join, and leaves no dot there.

A chain of arcs, each tangent to the next (an arc spline; of two arcs it is the biarc of Bolton 1975), has just enough
freedom if its joins may leave the drawing by a part of the tolerance. So the joins of the longest arcs are taken as
they are found, and moved: unknown are how far each join lies beside the drawing and its heading, and an arc between
two joins is tangent to both where their headings' mean is the chord's. Those conditions and the least deviation are
solved for together (Gauss and Newton, weights growing with the deviation), all chains at once. An arc that does not
come to lie within the tolerance is halved, and its chain solved anew.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.gcode.longest_arcs import LARGEST_RADIUS_MM, longest

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

SMOOTH_SAG_MM = 0.02  # a curve's chords lie within 0.01 mm of it, and tidying takes as much: a greater bend is a corner
TANGENT = np.radians(0.1)  # joins that turn by less are smooth
WIDEST_HALF_TURN = np.radians(70)  # of an arc in a chain: near half a circle its bend says too little
POWERS = (4,) * 15
FARTHEST_STEP, WIDEST_STEP = 3.0, np.radians(15)  # of a round: in tolerances, and of a heading
EVENING_ROUNDS = 5
FITTING_ROUNDS = 5  # each with a move more for what strays
MARGIN = 1  # moves beside those that stray that are fitted anew with them
ROUGH_SHARE = 0.6  # of the tolerance, for what cannot be made smooth: its ends may have moved by the rest
LEAST_SHARE = 0.1  # of the tolerance, that evened arcs stay within
KINK = np.radians(4)  # a turn that differs by so much from what its neighbours let expect is a corner
KINK_SHARE = 0.25
STIFFNESS = 1e7  # of the tangency, against a deviation as large as the tolerance
MOST_WEIGHT = 1e4
STRAIGHT_SHARE = 4.0  # an edge so many times longer than its neighbours' is a straight line of the drawing


@dataclass(frozen=True)
class Chains:
    """Moves in chains: (m,) first and last points, headings' half turn (counter-clockwise above 0), whether straight.

    starts: (c + 1,) which moves each chain has. A move's last point is the next one's first. from_heading, to_heading:
    (c,) of what is joined before and after, nan where the chain may begin and end as it likes.
    """

    first: Index
    last: Index
    half_turn: Array
    straight: Flags
    starts: Index
    from_heading: Array
    to_heading: Array

    @classmethod
    def of(cls, points: Array, first: Index, last: Index, bend: Array, starts: Index) -> "Chains":
        """Of moves with these bends."""
        half = np.hypot(*(points[last] - points[first]).T) / 2
        free = np.full(len(starts) - 1, np.nan)
        return cls(first, last, -np.arctan(2 * half * bend), _straight(points, first, last, bend), starts, free, free)

    def select(self, chains: Index) -> "Chains":
        """Only these."""
        rows, starts = _rows(self.starts, chains)
        return Chains(
            self.first[rows],
            self.last[rows],
            self.half_turn[rows],
            self.straight[rows],
            starts,
            self.from_heading[chains],
            self.to_heading[chains],
        )


def smooth_joins(
    points: Array, corner: Flags, first: Index, last: Index, bend: Array, tolerance: float
) -> tuple[Index, Index, Array, Array]:
    """The same moves with tangent joins: their first and last points, their bends, and the points with joins moved.

    points: (n, 2) mm. corner: (n,) where the drawing turns. first, last, bend: (m,) as in `arc_fit.Fitted`, in order.
    tolerance: mm. What cannot be made smooth with few more moves is fitted closer, and turns a little at its joins.
    """
    if not len(first):
        return first, last, bend, points
    joined = np.zeros(len(first), dtype=np.bool_)
    joined[1:] = (first[1:] == last[:-1]) & ~corner[first[1:]]
    starts = np.append(np.flatnonzero(~joined), len(first)).astype(np.int64)
    chains = Chains.of(points, first, last, bend, starts)
    rough = _roughest(points, chains) > TANGENT
    smooth_rows, _ = _rows(starts, np.flatnonzero(~rough))
    done = [(first[smooth_rows], last[smooth_rows], bend[smooth_rows])]
    moved = points.copy()
    todo = chains.select(np.flatnonzero(rough))
    allowed = np.diff(todo.starts)
    for _ in range(FITTING_ROUNDS):
        if not len(allowed):
            break
        trial = _narrowed(moved, _evened(moved, todo, allowed, tolerance))
        trial, places = _solved(points, moved, trial, tolerance)
        strays = _strays(points, places, trial, tolerance)
        again = _widened(strays | _rough_sides(places, trial), trial)
        good = ~again
        done.append((trial.first[good], trial.last[good], _bends(places, trial)[good]))
        ends = np.concatenate([trial.first[good], trial.last[good]])
        moved[ends] = places[ends]
        todo = _pieces(places, trial, again)
        allowed = np.diff(todo.starts) + 1
    if len(allowed):
        todo = _chained(moved, todo, np.full(len(allowed), ROUGH_SHARE * tolerance))
        done.append((todo.first, todo.last, _bends(moved, todo)))
    firsts, lasts, bends = (np.concatenate(column) for column in zip(*done, strict=True))
    order = np.argsort(firsts, kind="stable")
    return firsts[order], lasts[order], bends[order], moved


def _widened(which: Flags, chains: Chains) -> Flags:
    """These moves and those beside them in their chain, and what then is left alone between two of them."""
    for _ in range(MARGIN):
        before, after = np.roll(which, 1), np.roll(which, -1)
        before[chains.starts[:-1]] = False
        after[chains.starts[1:] - 1] = False
        which = which | before | after
    return which


def _pieces(places: Array, chains: Chains, again: Flags) -> Chains:
    """The runs of moves that are to be fitted again, each a chain; what joins it keeps its heading."""
    starts_piece = again.copy()
    starts_piece[1:] &= ~again[:-1]
    starts_piece[chains.starts[:-1]] = again[chains.starts[:-1]]
    ends_piece = again.copy()
    ends_piece[:-1] &= ~again[1:]
    ends_piece[chains.starts[1:] - 1] = again[chains.starts[1:] - 1]
    at_start, at_end = np.flatnonzero(starts_piece), np.flatnonzero(ends_piece)
    chain = np.searchsorted(chains.starts, at_start, side="right") - 1
    start, end = _headings(places, chains)
    whole_start, whole_end = chains.starts[:-1][chain], chains.starts[1:][chain] - 1
    from_heading = np.where(at_start == whole_start, chains.from_heading[chain], end[np.maximum(at_start - 1, 0)])
    following = np.minimum(at_end + 1, len(start) - 1)
    to_heading = np.where(at_end == whole_end, chains.to_heading[chain], start[following])
    rows = np.flatnonzero(again)
    bounds = np.append(np.searchsorted(rows, at_start), len(rows)).astype(np.int64)
    return Chains(
        chains.first[rows],
        chains.last[rows],
        chains.half_turn[rows],
        chains.straight[rows],
        bounds,
        from_heading,
        to_heading,
    )


def _evened(points: Array, chains: Chains, allowed: Index, tolerance: float) -> Chains:
    """Chains of at most as many moves as `allowed`, (c,), that stay as near to the points as so many arcs can.

    So the last arc of a chain is no short rest of it, and every arc has room to turn in.
    """
    count = len(allowed)
    low, high = np.full(count, LEAST_SHARE * tolerance), np.full(count, tolerance)
    for _ in range(EVENING_ROUNDS):
        middle = np.sqrt(low * high)
        fits = np.diff(_chained(points, chains, middle).starts) <= allowed
        low, high = np.where(fits, low, middle), np.where(fits, middle, high)
    return _chained(points, chains, high)


def _chained(points: Array, chains: Chains, tolerance: Array) -> Chains:
    """The same ways as the longest moves within (c,) tolerances."""
    begin, end = chains.first[chains.starts[:-1]], chains.last[chains.starts[1:] - 1]
    first, last, bend = longest(points, begin, end, tolerance, True)
    order = np.argsort(first, kind="stable")
    first, last, bend = first[order], last[order], bend[order]
    starts = np.append(np.searchsorted(first, begin), len(first)).astype(np.int64)
    made = Chains.of(points, first, last, bend, starts)
    return replace(made, from_heading=chains.from_heading, to_heading=chains.to_heading)


def corners(points: Array, sharpest: float) -> Flags:
    """(n,) where a polyline turns by more than its curve's chords do: by more than `sharpest`, far between, or apart
    from the turns beside it.
    """
    flags = np.zeros(len(points), dtype=np.bool_)
    if len(points) < 3:
        return flags
    step = np.diff(points, axis=0)
    length = np.maximum(np.hypot(*step.T), 1e-9)
    turn = _turn(np.diff(np.arctan2(step[:, 1], step[:, 0])))
    sag = np.abs(turn) * np.minimum(length[1:], length[:-1]) / 8
    sharp = (np.abs(turn) > sharpest) | (sag > SMOOTH_SAG_MM)
    bend = np.pad(np.where(sharp, 0.0, turn * 2 / (length[1:] + length[:-1])), 1)
    expected = (bend[:-2] * length[:-1] + bend[2:] * length[1:]) / 2
    flags[1:-1] = sharp | (np.abs(turn - expected) > KINK + KINK_SHARE * np.abs(expected))
    return flags


def _turn(angle: Array) -> Array:
    """Angles as turns from -π to π."""
    return np.asarray((angle + np.pi) % (2 * np.pi) - np.pi)


def _rows(starts: Index, chains: Index) -> tuple[Index, Index]:
    """The rows of these chains, and (c + 1,) offsets among them."""
    counts = np.diff(starts)[chains]
    bounds = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    return np.arange(bounds[-1]) + np.repeat(starts[:-1][chains] - bounds[:-1], counts), bounds


def _straight(points: Array, first: Index, last: Index, bend: Array) -> Flags:
    """(m,) moves that are one long edge of the drawing, and no chord of a curve: they stay straight."""
    length = np.hypot(*np.diff(points, axis=0).T)
    before = length[np.maximum(first - 1, 0)]
    after = length[np.minimum(last, len(length) - 1)]
    own = np.hypot(*(points[last] - points[first]).T)
    return np.asarray((bend == 0) & (last - first == 1) & (own > STRAIGHT_SHARE * np.maximum(before, after)))


def _headings(places: Array, chains: Chains) -> tuple[Array, Array]:
    """(m,) headings at the start and at the end of each move."""
    chord = places[chains.last] - places[chains.first]
    along = np.arctan2(chord[:, 1], chord[:, 0])
    return along - chains.half_turn, along + chains.half_turn


def _turns(places: Array, chains: Chains) -> Array:
    """(m,) by how much the way turns where each move begins; 0 where a chain may begin as it likes."""
    start, end = _headings(places, chains)
    turn = np.zeros(len(start))
    turn[1:] = np.abs(_turn(start[1:] - end[:-1]))
    begins = chains.starts[:-1]
    turn[begins] = np.nan_to_num(np.abs(_turn(start[begins] - chains.from_heading)))
    return turn


def _roughest(places: Array, chains: Chains) -> Array:
    """(c,) the greatest turn at a join of each chain."""
    return np.asarray(np.maximum.reduceat(_turns(places, chains), chains.starts[:-1]))


def _rough_sides(places: Array, chains: Chains) -> Flags:
    """(m,) moves with a turn at either end."""
    turn = _turns(places, chains)
    _, end = _headings(places, chains)
    after = np.append(turn[1:], 0.0)
    ends = chains.starts[1:] - 1
    after[ends] = np.nan_to_num(np.abs(_turn(chains.to_heading - end[ends])))
    return np.asarray((turn > TANGENT) | (after > TANGENT))


def _bends(places: Array, chains: Chains) -> Array:
    half = np.hypot(*(places[chains.last] - places[chains.first]).T) / 2
    bend = -np.tan(chains.half_turn) / np.maximum(2 * half, 1e-12)
    flat = half > LARGEST_RADIUS_MM * np.abs(np.sin(chains.half_turn))
    return np.where(flat | chains.straight, 0.0, bend)


def _narrowed(points: Array, chains: Chains) -> Chains:
    """The same with wide arcs halved."""
    return _halved(points, chains, np.abs(chains.half_turn) > WIDEST_HALF_TURN)


def _halved(points: Array, chains: Chains, which: Flags) -> Chains:
    """The same with these moves in two, at the point in the middle; those of one edge stay."""
    which = which & (chains.last - chains.first > 1)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    middle = np.searchsorted(along, (along[chains.first] + along[chains.last]) / 2)
    middle = np.clip(middle, chains.first + 1, chains.last - 1)
    counts = np.where(which, 2, 1)
    rows = np.repeat(np.arange(len(counts)), counts)
    begins = np.cumsum(counts) - counts
    second = np.zeros(len(rows), dtype=np.bool_)
    second[begins[which] + 1] = True
    split = which[rows]
    first = np.where(second, middle[rows], chains.first[rows])
    last = np.where(split & ~second, middle[rows], chains.last[rows])
    half_turn = np.where(split, chains.half_turn[rows] / 2, chains.half_turn[rows])
    straight = chains.straight[rows] & ~split
    bounds = np.concatenate([[0], np.cumsum(counts)])[chains.starts]
    return Chains(first, last, half_turn, straight, bounds, chains.from_heading, chains.to_heading)


@dataclass(frozen=True)
class _Frames:
    """Points of moves in their chords' frames. owner: (k,) move of each point; half: (m,); u, v: (k,) mm."""

    owner: Index
    begins: Index
    half: Array
    along: Array
    u: Array
    v: Array
    weight: Array

    @classmethod
    def of(cls, points: Array, places: Array, first: Index, last: Index) -> "_Frames":
        start, chord = places[first], places[last] - places[first]
        length = np.maximum(np.hypot(*chord.T), 1e-12)
        along = chord / length[:, None]
        counts = last - first + 1
        bounds = np.concatenate([[0], np.cumsum(counts)])
        owner = np.repeat(np.arange(len(first)), counts)
        at = np.arange(bounds[-1]) - bounds[owner] + first[owner]
        spot = points[at] - start[owner]
        u = spot[:, 0] * along[owner, 0] + spot[:, 1] * along[owner, 1] - length[owner] / 2
        v = spot[:, 1] * along[owner, 0] - spot[:, 0] * along[owner, 1]
        step = np.hypot(np.diff(u, prepend=0.0), np.diff(v, prepend=0.0))
        step[bounds[:-1]] = 0.0
        weight = step / 2
        weight[:-1] += step[1:] / 2
        return cls(owner, bounds[:-1].astype(np.int64), length / 2, along, u, v, weight)


def _solved(points: Array, base: Array, chains: Chains, tolerance: float) -> tuple[Chains, Array]:
    """Headings and places of joins that make each chain tangent with the least deviation from the points.

    base: (n, 2) where the chains' ends are, and from where their other joins are moved.
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
    start, end = _headings(base, chains)
    heading = np.empty(nodes)
    heading[node] = start
    heading[last_node] = end[chains.starts[1:] - 1]
    meets = node[~fixed[node, 0]]
    before = np.empty(nodes)
    before[node + 1] = end
    heading[meets] = before[meets] + _turn(heading[meets] - before[meets]) / 2
    heading[first_node] = np.where(fixed[first_node, 1], chains.from_heading, heading[first_node])
    heading[last_node] = np.where(fixed[last_node, 1], chains.to_heading, heading[last_node])
    normal = np.stack([-np.sin(heading), np.cos(heading)], axis=1)
    aside = np.zeros(nodes)
    places = base.copy()
    half_turn = chains.half_turn
    for power in POWERS:
        frames = _Frames.of(points, places, chains.first, chains.last)
        angle = np.arctan2(frames.along[:, 1], frames.along[:, 0])
        turned = _turn(heading[node + 1] - angle) - _turn(heading[node] - angle)
        half_turn = np.where(chains.straight, 0.0, turned / 2)
        gap = _turn(heading[node] - angle) + _turn(heading[node + 1] - angle)  # 0 of a tangent arc
        step = _step(frames, half_turn, turned / 2, gap, normal, node, fixed, aside, chains, tolerance, power)
        step *= _reined(step, heading, chains, half=frames.half, tolerance=tolerance)
        aside = aside + step[:, 0]
        heading = heading + step[:, 1]
        places = base.copy()
        places[vertex] += aside[:, None] * normal
    chord = places[chains.last] - places[chains.first]
    angle = np.arctan2(chord[:, 1], chord[:, 0])
    half_turn = (_turn(heading[node + 1] - angle) - _turn(heading[node] - angle)) / 2
    return replace(chains, half_turn=np.where(chains.straight, 0.0, half_turn)), places


def _reined(step: Array, heading: Array, chains: Chains, half: Array, tolerance: float) -> Array:
    """(j, 1) by what share of the step each chain's joins go: all of it, unless some join would go far astray."""
    count = len(chains.starts) - 1
    begins = chains.starts[:-1] + np.arange(count)
    far = np.maximum(np.abs(step[:, 0]) / (FARTHEST_STEP * tolerance), np.abs(step[:, 1]) / WIDEST_STEP)
    most = np.maximum.reduceat(far, begins)
    return (1 / np.maximum(most, 1.0))[np.repeat(np.arange(count), np.diff(chains.starts) + 1)][:, None]


def _step(
    frames: _Frames,
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
    pull, weight = per_point * (0.005 + relative), per_point * (0.005 + (power + 1) * relative)
    # Unknowns of a move: aside and heading at its start, aside and heading at its end.
    columns = np.stack([d_start, -d_turn / 2, d_end, d_turn / 2], axis=1)
    weighted = columns * weight[:, None]
    square = np.add.reduceat(weighted[:, :, None] * columns[:, None, :], frames.begins, axis=0)
    right = -np.add.reduceat(columns * (pull * off)[:, None], frames.begins, axis=0)
    stiff = STIFFNESS * (half / tolerance) ** 2 / np.maximum(half, 1e-3) ** 0
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
    count = len(chains.starts) - 1
    begin = chains.starts[:-1] + np.arange(count)
    size = np.diff(chains.starts) + 1
    order = np.argsort(-size, kind="stable")
    begin, size = begin[order], size[order]
    longest = int(size[0])
    alive = np.searchsorted(-size, -np.arange(longest + 1), side="left")  # chains that have more joins than k
    for k in range(1, longest):
        at = begin[: alive[k]] + k
        factor = np.swapaxes(across[at - 1], 1, 2) @ _inverse(diagonal[at - 1])
        diagonal[at] -= factor @ across[at - 1]
        vector[at] -= (factor @ vector[at - 1][:, :, None])[:, :, 0]
    result = np.zeros((nodes, 2))
    for k in range(longest - 1, -1, -1):
        at = begin[: alive[k]] + k
        rest = vector[at].copy()
        more = alive[k + 1]
        if more:
            rest[:more] -= (across[at[:more]] @ result[at[:more] + 1][:, :, None])[:, :, 0]
        result[at] = (_inverse(diagonal[at]) @ rest[:, :, None])[:, :, 0]
    return result


def _inverse(matrix: Array) -> Array:
    """(k, 2, 2) inverses."""
    a, b, c, d = matrix[:, 0, 0], matrix[:, 0, 1], matrix[:, 1, 0], matrix[:, 1, 1]
    determinant = a * d - b * c
    determinant = np.where(np.abs(determinant) < 1e-300, 1e-300, determinant)
    return np.asarray(np.stack([np.stack([d, -b], axis=1), np.stack([-c, a], axis=1)], axis=1) / determinant[:, None, None])


def _strays(points: Array, places: Array, chains: Chains, tolerance: float) -> Flags:
    """(m,) whether a move leaves the drawing by more than the tolerance, or runs back on itself."""
    frames = _Frames.of(points, places, chains.first, chains.last)
    owner, begins, half, u, v = frames.owner, frames.begins, frames.half, frames.u, frames.v
    bend = _bends(places, chains)
    curved = bend != 0
    centre = np.where(curved, -1 / np.where(curved, 2 * bend, 1.0), 0.0)
    radius = np.hypot(half, centre)
    height = v - centre[owner]
    apart = np.where(curved[owner], np.abs(np.hypot(u, height) - radius[owner]), np.abs(v))
    leg_u, leg_v = np.diff(u, prepend=0.0), np.diff(v, prepend=0.0)
    leg_u[begins], leg_v[begins] = 0.0, 0.0
    square = np.maximum(leg_u**2 + leg_v**2, 1e-30)
    before_u, before_v = u - leg_u, height - leg_v
    foot = -(before_u * leg_u + before_v * leg_v) / square
    dip = np.abs(np.abs(before_u * height - before_v * u) / np.sqrt(square) - radius[owner])
    between = (foot > 0) & (foot < 1) & curved[owner]
    between[begins] = False
    apart = np.where(between, np.maximum(apart, dip), apart)
    far = np.maximum.reduceat(apart, begins) > tolerance
    back = np.minimum.reduceat(leg_u, begins) < -0.1 * tolerance
    back |= np.minimum.reduceat(v * np.sign(bend)[owner], begins) < -tolerance
    back |= np.abs(chains.half_turn) > np.radians(85)
    return np.asarray(back | far | ~np.isfinite(bend))
