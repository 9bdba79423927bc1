"""Moves that meet without a turn where the drawing is smooth: a wet tip slows at no join, and leaves no dot there.

A chain of arcs, each tangent to the next (an arc spline; of two arcs it is the biarc of Bolton 1975; Meek and Walton
1992 bound how far arcs stray), has just enough freedom where its joins may leave the drawing by a part of the
tolerance. So the longest arcs are shared out evenly between two corners, and their joins are moved and turned until
they are tangent (`tangent_arcs`). What then strays is fitted again with a move more, as far as the budget goes.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from underdraw_stages.gcode.arcs.chains import (
    WIDEST_HALF_TURN,
    Chains,
    as_turn,
    bends_of,
    headings,
    narrowed,
    roughest,
    rows_of,
    strays,
    turns_at_joins,
)
from underdraw_stages.gcode.arcs.longest_arcs import longest
from underdraw_stages.gcode.arcs.tangent_arcs import solved

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

SMOOTH_SAG_MM = 0.02  # a curve's chords lie within 0.01 mm of it, and tidying takes as much: a greater bend is a corner
KINK = np.radians(4)  # a turn that differs by so much from what its neighbours let expect is a corner
KINK_SHARE = 0.25  # … or by so much of what is expected
TANGENT = np.radians(0.1)  # joins that turn by less are smooth
MOVES_FOR_ONE_MORE = 8  # a chain of three or more may have one move more, and another for so many that it has
FITTING_ROUNDS = 5  # each with a move more for what strays
EVENING_ROUNDS = 2  # of three tolerances each, which are as good as two halvings
LEAST_SHARE = 0.1  # of the tolerance, that evened arcs stay within
SHARING_ROUNDS = 2
SHARING = 0.6  # of the step that would make all arcs of a chain stray alike, if each were alone
MARGIN = 1  # moves beside those that stray that are fitted anew with them
SOFTER = (10.0, 0.5, 0.0)  # how much a turn counts beside a deviation, where both cannot be had
CLOSER = (0.6, 0.3, 1e-9)  # of the tolerance, for what then still strays: its ends may have moved by the rest


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
    rough = roughest(points, chains) > TANGENT
    smooth_rows, _ = rows_of(starts, np.flatnonzero(~rough))
    done = [(first[smooth_rows], last[smooth_rows], bend[smooth_rows])]
    moved = points.copy()
    todo = chains.select(np.flatnonzero(rough))
    # Each chain for itself, so that a stroke's moves do not depend on which others are drawn with it.
    source, spare = np.arange(len(todo)), (np.diff(todo.starts) >= 3) + np.diff(todo.starts) // MOVES_FOR_ONE_MORE
    spare, more = spare + np.diff(todo.starts), np.zeros(len(todo), dtype=np.int64)
    left: list[Chains] = []
    for _ in range(FITTING_ROUNDS):
        if not len(todo):
            break
        trial = narrowed(moved, _evened(moved, todo, np.diff(todo.starts) + more, tolerance))
        trial, places = _best_solved(points, moved, trial, tolerance)
        far = strays(points, places, trial)
        again = _widened((far > tolerance) | _rough_sides(places, trial), trial)
        owner = np.repeat(source, np.diff(trial.starts))
        left_over = spare - np.bincount(owner, minlength=len(spare))  # moves that each chain may still have more
        spare -= np.bincount(owner[~again], minlength=len(spare))
        todo, rows = _pieces(places, trial, again)
        source = owner[rows[todo.starts[:-1]]]
        farthest = np.maximum.reduceat(far[rows], todo.starts[:-1]) if len(todo) else far[:0]
        dear = _rank_within(source, farthest) >= left_over[source]
        done.append(_moves(places, trial, ~again))
        ends = np.concatenate([trial.first[~again], trial.last[~again]])
        moved[ends] = places[ends]
        left.append(todo.select(np.flatnonzero(dear)))
        spare -= np.bincount(np.repeat(source[dear], np.diff(left[-1].starts)), minlength=len(spare))
        todo, source = todo.select(np.flatnonzero(~dear)), source[~dear]
        more = np.ones(len(todo), dtype=np.int64)
    done.append(_left_rough(points, moved, todo.together(*left), tolerance))
    firsts, lasts, bends = (np.concatenate(column) for column in zip(*done, strict=True))
    order = np.argsort(firsts, kind="stable")
    return firsts[order], lasts[order], bends[order], moved


def _rank_within(group: Index, value: Array) -> Index:
    """(k,) how many of the same group have a smaller value."""
    order = np.lexsort((value, group))
    rank = np.empty(len(group), dtype=np.int64)
    rank[order] = np.arange(len(group)) - np.searchsorted(group[order], group[order])
    return rank


def _moves(places: Array, chains: Chains, rows: Flags) -> tuple[Index, Index, Array]:
    """First and last points and bends of some moves."""
    return chains.first[rows], chains.last[rows], bends_of(places, chains)[rows]


def _left_rough(points: Array, places: Array, chains: Chains, tolerance: float) -> tuple[Index, Index, Array]:
    """Moves of chains that cannot be tangent with so few: those that turn least, their joins put into `places`."""
    if not len(chains):
        return chains.first, chains.last, chains.half_turn
    held = []
    evened = narrowed(places, _evened(places, chains, np.diff(chains.starts), tolerance))
    for stiffness in SOFTER:
        trial, moved = solved(points, places, evened, tolerance, stiffness) if stiffness else (evened, places)
        near = np.maximum.reduceat(strays(points, moved, trial), trial.starts[:-1]) <= tolerance
        rows = np.repeat(near, np.diff(trial.starts))
        held.append(_moves(moved, trial, rows))
        ends = np.concatenate([trial.first[rows], trial.last[rows]])
        places[ends] = moved[ends]
        chains, evened = chains.select(np.flatnonzero(~near)), evened.select(np.flatnonzero(~near))
        if not len(chains):
            break
    for share in CLOSER:
        if not len(chains):
            break
        close = narrowed(places, _chained(places, chains, np.full(len(chains), share * tolerance)))
        near = np.maximum.reduceat(strays(points, places, close), close.starts[:-1]) <= tolerance
        near |= share == CLOSER[-1]  # the drawing's own edges
        held.append(_moves(places, close, np.repeat(near, np.diff(close.starts))))
        chains = chains.select(np.flatnonzero(~near))
    firsts, lasts, bends = (np.concatenate(column) for column in zip(*held, strict=True))
    return firsts, lasts, bends


def corners(points: Array, sharpest: float) -> Flags:
    """(n,) where a polyline turns by more than its curve's chords do: by more than `sharpest`, far between, or apart
    from the turns beside it.
    """
    flags = np.zeros(len(points), dtype=np.bool_)
    if len(points) < 3:
        return flags
    step = np.diff(points, axis=0)
    length = np.maximum(np.hypot(*step.T), 1e-9)
    turn = as_turn(np.diff(np.arctan2(step[:, 1], step[:, 0])))
    sag = np.abs(turn) * np.minimum(length[1:], length[:-1]) / 8
    sharp = (np.abs(turn) > sharpest) | (sag > SMOOTH_SAG_MM)
    bend = np.pad(np.where(sharp, 0.0, turn * 2 / (length[1:] + length[:-1])), 1)
    expected = (bend[:-2] * length[:-1] + bend[2:] * length[1:]) / 2
    flags[1:-1] = sharp | (np.abs(turn - expected) > KINK + KINK_SHARE * np.abs(expected))
    return flags


def _best_solved(points: Array, base: Array, chains: Chains, tolerance: float) -> tuple[Chains, Array]:
    """Chains solved; those that stray solved again with joins moved along the drawing, to the arcs that stray most.

    Of each chain the try that strays least counts.
    """
    best, places = solved(points, base, chains, tolerance)
    far = strays(points, places, best)
    least = np.maximum.reduceat(far, best.starts[:-1])
    trial, at = best, np.arange(len(best))
    for _ in range(SHARING_ROUNDS):
        going = np.flatnonzero(np.maximum.reduceat(far, trial.starts[:-1]) > tolerance)
        if not len(going):
            break
        far = far[rows_of(trial.starts, going)[0]]
        trial, at = _shared_out(points, trial.select(going), far), at[going]
        trial, moved = solved(points, base, trial, tolerance)
        far = strays(points, moved, trial)
        worst = np.maximum.reduceat(far, trial.starts[:-1])
        better = np.flatnonzero(worst < least[at])
        least[at[better]] = worst[better]
        old, new = rows_of(best.starts, at[better])[0], rows_of(trial.starts, better)[0]
        for ends in (best.first[old], best.last[old]):
            places[ends] = base[ends]
        for ends in (trial.first[new], trial.last[new]):
            places[ends] = moved[ends]
        best = best.replaced(old, trial, new)
    return best, places


def _shared_out(points: Array, chains: Chains, far: Array) -> Chains:
    """The same with joins at points nearer to the arcs that stray more: an arc strays as its length cubed."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    owner = np.repeat(np.arange(len(chains)), np.diff(chains.starts))
    worst = np.maximum.reduceat(far, chains.starts[:-1])[owner]
    length = along[chains.last] - along[chains.first]
    wanted = length * np.maximum(far / worst, 0.2) ** (-SHARING / 3)
    rigid = np.logical_or.reduceat(chains.straight, chains.starts[:-1])[owner]
    wanted = np.where(rigid, length, wanted)
    begin, end = chains.first[chains.starts[:-1]][owner], chains.last[chains.starts[1:] - 1][owner]
    total = np.add.reduceat(wanted, chains.starts[:-1])[owner]
    summed = np.cumsum(wanted)
    summed -= (summed - wanted)[chains.starts[:-1]][owner]
    goal = along[begin] + summed / total * (along[end] - along[begin])
    last = np.searchsorted(along, goal)
    last -= goal - along[np.maximum(last - 1, 0)] < along[np.minimum(last, len(along) - 1)] - goal
    # Each move keeps at least one edge: less its index in its chain, the last point never falls and has a ceiling.
    index = np.arange(len(owner)) - chains.starts[:-1][owner]
    ceiling = (end - np.diff(chains.starts)[owner] + 1).astype(np.int64)
    spare = np.clip(last - index, begin + 1, ceiling)
    ends = chains.starts[1:] - 1
    spare[ends] = ceiling[ends]
    apart = owner * (len(points) + 1)
    last = np.maximum.accumulate(spare + apart) - apart + index
    first = np.concatenate([[0], last[:-1]])
    first[chains.starts[:-1]] = chains.first[chains.starts[:-1]]
    half_turn = np.clip(chains.half_turn * np.minimum(wanted / length, 1.5), -WIDEST_HALF_TURN, WIDEST_HALF_TURN)
    return replace(chains, first=first, last=last, half_turn=half_turn)


def _widened(which: Flags, chains: Chains) -> Flags:
    """These moves and those beside them in their chain, and what then is left alone between two of them."""
    for _ in range(MARGIN):
        before, after = np.roll(which, 1), np.roll(which, -1)
        before[chains.starts[:-1]] = False
        after[chains.starts[1:] - 1] = False
        which = which | before | after
    return which


def _rough_sides(places: Array, chains: Chains) -> Flags:
    """(m,) moves with a turn at either end."""
    turn = turns_at_joins(places, chains)
    _, end = headings(places, chains)
    after = np.append(turn[1:], 0.0)
    ends = chains.starts[1:] - 1
    after[ends] = np.nan_to_num(np.abs(as_turn(chains.to_heading - end[ends])))
    return np.asarray((turn > TANGENT) | (after > TANGENT))


def _pieces(places: Array, chains: Chains, again: Flags) -> tuple[Chains, Index]:
    """The runs of moves to fit again, each a chain, and their rows; what joins them keeps its heading."""
    starts_piece = again.copy()
    starts_piece[1:] &= ~again[:-1]
    starts_piece[chains.starts[:-1]] = again[chains.starts[:-1]]
    ends_piece = again.copy()
    ends_piece[:-1] &= ~again[1:]
    ends_piece[chains.starts[1:] - 1] = again[chains.starts[1:] - 1]
    at_start, at_end = np.flatnonzero(starts_piece), np.flatnonzero(ends_piece)
    chain = np.searchsorted(chains.starts, at_start, side="right") - 1
    start, end = headings(places, chains)
    whole_start, whole_end = chains.starts[:-1][chain], chains.starts[1:][chain] - 1
    from_heading = np.where(at_start == whole_start, chains.from_heading[chain], end[np.maximum(at_start - 1, 0)])
    following = np.minimum(at_end + 1, len(start) - 1)
    to_heading = np.where(at_end == whole_end, chains.to_heading[chain], start[following])
    rows = np.flatnonzero(again)
    bounds = np.append(np.searchsorted(rows, at_start), len(rows)).astype(np.int64)
    made = Chains(
        chains.first[rows],
        chains.last[rows],
        chains.half_turn[rows],
        chains.straight[rows],
        bounds,
        from_heading,
        to_heading,
    )
    return made, rows


def _evened(points: Array, chains: Chains, allowed: Index, tolerance: float) -> Chains:
    """Chains of at most as many moves as `allowed`, (c,), that stay as near to the points as so many arcs can.

    So the last arc of a chain is no short rest of it, and every arc has room to turn in.
    """
    each = np.arange(len(allowed))
    low, high = np.full(len(each), LEAST_SHARE * tolerance), np.full(len(each), tolerance)
    tried: list[Chains] = []
    kept = np.full(len(each), -1)  # which of all tried: the nearest with few enough moves
    for turn in range(EVENING_ROUNDS):
        middle = np.sqrt(low * high)
        between = np.stack([np.sqrt(low * middle), middle, np.sqrt(middle * high)])
        tried.append(_chained(points, chains.select(np.tile(each, 3)), between.ravel()))
        fits = (np.diff(tried[-1].starts) <= np.tile(allowed, 3)).reshape(between.shape)
        at = np.where(fits[1], np.where(fits[0], 0, 1), np.where(fits[2], 2, 3))  # as halving twice would find it
        kept = np.where(at < 3, (3 * turn + at) * len(each) + each, kept)
        bounds = np.stack([low, *between, high])
        low, high = bounds[at, each], bounds[at + 1, each]
    none = np.flatnonzero(kept < 0)
    kept[none] = 3 * EVENING_ROUNDS * len(each) + np.arange(len(none))
    tried.append(_chained(points, chains.select(none), high[none]))
    return tried[0].together(*tried[1:]).select(kept)


def _chained(points: Array, chains: Chains, tolerance: Array) -> Chains:
    """The same ways as the longest moves within (c,) tolerances."""
    begin, end = chains.first[chains.starts[:-1]], chains.last[chains.starts[1:] - 1]
    made = Chains.of(points, *longest(points, begin, end, tolerance, True))
    return replace(made, from_heading=chains.from_heading, to_heading=chains.to_heading)
