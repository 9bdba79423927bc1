"""The search itself: a sequential 3-opt over strokes with fixed inner edges, then local perturbation.

This file runs twice: as it stands, on lists, for small jobs; and compiled, on arrays, for large ones (see `kernels`).
So it keeps to flat sequences, whole numbers and floats, and takes nothing from outside but `sqrt`. Everything that
the compiled search calls is in this one file, because a compiler's cache only watches the file it compiles from.

A stroke s has two cities, 2s and 2s + 1: its ends. In `tour` a stroke takes two neighbouring positions, the first of
them even: entry, then exit. So each city has one fixed neighbour (the other end) and one free one, and a move changes
free edges only. A closed stroke's two cities lie on the same point, which may be any point of its ring.

Moves: Lin, 'Computer solutions of the traveling salesman problem' (1965); Or (1976); neighbour lists, don't-look bits:
Bentley, 'Fast algorithms for geometric traveling salesman problems' (1992); perturbation by double bridges: Martin,
Otto, Felten, 'Large-step Markov chains for the traveling salesman problem' (1991), here with short segments and undone
where they do not help. Random numbers: Park and Miller, 'Random number generators' (1988), multiplier of 1993.
"""

from math import log, sqrt
from typing import NamedTuple

from underdraw_stages.order.compiled import Reals, Wholes

SMALLEST_GAIN = 1e-7  # mm: below it, rounding could turn a gain into a loop
BREADTH = 5  # neighbours tried for the third edge of a move; the second edge tries the whole list
SEGMENT = 30  # longest segment of a perturbation, in strokes
JOURNAL = 4096  # steps that one perturbation may take before it stops looking further
FINE = 1 << 20  # steps of a random share
EVERY = 1 << 60  # no limit
COARSE = 24  # rings of more points are tried at every few points first

HEAD, WAITING, STEPS, RANDOM = 0, 1, 2, 3  # positions in `state`


class Search(NamedTuple):
    """Everything the search reads and changes. m = 2 × strokes (park counts as one); lengths in mm."""

    x: Reals  # (m,) where each city lies
    y: Reals
    tour: Wholes  # (m,) cities in order
    position: Wholes  # (m,) where in `tour` each city stands
    near: Wholes  # (m × width,) nearest cities of other strokes, nearest first; -1: no more
    near_cost: Reals  # (m × width,) what a travel to those costs at least
    width: int
    ring_start: Wholes  # (strokes + 1,) where each stroke's ring begins; an open stroke has none
    ring_x: Reals
    ring_y: Reals
    middle_x: Reals  # (strokes,) a circle round each ring
    middle_y: Reals
    radius: Reals
    entry: Wholes  # (strokes,) which point of its ring a closed stroke is entered at
    queue: Wholes  # (m,) cities to look at, a circular buffer
    queued: Wholes  # (m,) 1 for those in it: the don't-look bits, the other way round
    step_a: Wholes  # (JOURNAL + 8,) what was done since the last perturbation, to be undone
    step_b: Wholes
    state: Wholes
    knee: float  # mm, v²/a: shorter travels never reach full speed


def cost(mm: float, knee: float) -> float:
    """Time of a travel from rest to rest, as the mm of travel at full speed in that time.

    d/v + v/a for d >= v²/a, else 2·sqrt(d/a) (any dynamics text), times v. What a lift takes is the same in any order.
    """
    if mm >= knee:
        return mm + knee
    return 2.0 * sqrt(knee * mm)


def between(s: Search, a: int, b: int) -> float:
    """Cost of the travel between two cities."""
    dx = s.x[a] - s.x[b]
    dy = s.y[a] - s.y[b]
    return cost(sqrt(dx * dx + dy * dy), s.knee)


def free(s: Search, city: int) -> int:
    """The city at the other end of a city's free edge."""
    position = s.position[city]
    if position & 1:
        return s.tour[position + 1] if position + 1 < len(s.tour) else s.tour[0]
    return s.tour[position - 1] if position > 0 else s.tour[len(s.tour) - 1]


def push(s: Search, city: int) -> None:
    """Queue a city to be looked at, if it is not yet."""
    if s.queued[city] == 0:
        s.queued[city] = 1
        size = len(s.queue)
        s.queue[(s.state[HEAD] + s.state[WAITING]) % size] = city
        s.state[WAITING] += 1


def note(s: Search, a: int, b: int) -> None:
    """Write down one step, so that it can be undone."""
    steps = s.state[STEPS]
    if steps < len(s.step_a):
        s.step_a[steps] = a
        s.step_b[steps] = b
    s.state[STEPS] = steps + 1


def reverse(s: Search, first: int, last: int) -> None:
    """Turn round the positions first..last (cyclic), or all others, which is the same tour: whichever are fewer."""
    tour, position = s.tour, s.position
    m = len(tour)
    count = last - first + 1
    if count <= 0:
        count += m
    if 2 * count > m:
        first, last = last + 1, first - 1
        if first == m:
            first = 0
        if last < 0:
            last = m - 1
        count = m - count
    i, j = first, last
    for _ in range(count // 2):
        a, b = tour[i], tour[j]
        tour[i] = b
        position[b] = i
        tour[j] = a
        position[a] = j
        i += 1
        if i == m:
            i = 0
        j -= 1
        if j < 0:
            j = m - 1


def flip(s: Search, a: int, b: int, c: int, d: int) -> None:
    """Put edges (a, c), (b, d) in place of (a, b), (c, d), where b follows a and d follows c, or both go before."""
    if s.position[a] & 1:
        first, last = s.position[b], s.position[c]
    else:
        first, last = s.position[c], s.position[b]
    note(s, first, last)
    reverse(s, first, last)


def swap_neighbours(s: Search, t1: int, t2: int, t3: int, t4: int, t5: int, t6: int) -> None:
    """t1 [t2..t5] [t6..t3] t4 becomes t1 [t6..t3] [t2..t5] t4."""
    flip(s, t1, t2, t3, t4)
    flip(s, t1, t3, t6, t5)
    flip(s, t3, t5, t2, t4)


def enter_at(s: Search, stroke: int, point: int) -> None:
    """Enter a closed stroke at another point of its ring."""
    note(s, -1 - stroke, s.entry[stroke])
    set_entry(s, stroke, point)


def set_entry(s: Search, stroke: int, point: int) -> None:
    """Move both cities of a closed stroke to a point of its ring."""
    s.entry[stroke] = point
    at = s.ring_start[stroke] + point
    s.x[2 * stroke] = s.ring_x[at]
    s.x[2 * stroke + 1] = s.ring_x[at]
    s.y[2 * stroke] = s.ring_y[at]
    s.y[2 * stroke + 1] = s.ring_y[at]


def detour(s: Search, at: int, a: int, b: int) -> float:
    """Cost of going from city a to city b by a ring's point."""
    px, py = s.ring_x[at], s.ring_y[at]
    dx, dy = s.x[a] - px, s.y[a] - py
    ex, ey = s.x[b] - px, s.y[b] - py
    return cost(sqrt(dx * dx + dy * dy), s.knee) + cost(sqrt(ex * ex + ey * ey), s.knee)


def distance_to_ring(s: Search, stroke: int, city: int) -> float:
    """How far a city is from the circle round a ring, in mm; 0 within it."""
    dx = s.x[city] - s.middle_x[stroke]
    dy = s.y[city] - s.middle_y[stroke]
    return max(0.0, sqrt(dx * dx + dy * dy) - s.radius[stroke])


def best_entry(s: Search, stroke: int, a: int, b: int) -> int:
    """The ring point by which a closed stroke lies best between cities a and b; in large rings, nearly best."""
    size = s.ring_start[stroke + 1] - s.ring_start[stroke]
    if size <= COARSE:
        return best_entry_of(s, stroke, a, b, s.entry[stroke], 0, size, 1)
    stride = int(sqrt(size / 2.0))
    middle = best_entry_of(s, stroke, a, b, s.entry[stroke], 0, size, stride)
    return best_entry_of(s, stroke, a, b, middle, middle + 1 - stride, middle + stride, 1)


def best_entry_of(s: Search, stroke: int, a: int, b: int, best: int, first: int, last: int, stride: int) -> int:
    """The best of a point of the ring and every `stride`-th from `first` to before `last`, counted round the ring.

    As it stands a quarter of the search's time is spent here: so `detour` is written out.
    """
    ring_x, ring_y, knee = s.ring_x, s.ring_y, s.knee
    xa, ya, xb, yb = s.x[a], s.y[a], s.x[b], s.y[b]
    start = s.ring_start[stroke]
    size = s.ring_start[stroke + 1] - start
    least = detour(s, start + best, a, b)
    for step in range(first, last, stride):
        point = step % size
        dx, dy = xa - ring_x[start + point], ya - ring_y[start + point]
        mm = sqrt(dx * dx + dy * dy)
        here = mm + knee if mm >= knee else 2.0 * sqrt(knee * mm)
        if here >= least:
            continue
        dx, dy = xb - ring_x[start + point], yb - ring_y[start + point]
        mm = sqrt(dx * dx + dy * dy)
        here += mm + knee if mm >= knee else 2.0 * sqrt(knee * mm)
        if here < least:
            best, least = point, here
    return best


def improve_ring(s: Search, stroke: int) -> float:
    """Enter a closed stroke elsewhere, or move it between two other cities, at its best entry; returns the gain."""
    start = s.ring_start[stroke]
    into, out = 2 * stroke, 2 * stroke + 1
    if s.position[into] & 1:
        into, out = out, into
    before, after = free(s, into), free(s, out)
    if before == out:
        return 0.0
    now = between(s, before, into) + between(s, out, after)
    point = best_entry(s, stroke, before, after)
    gain = now - detour(s, start + point, before, after)
    if gain > SMALLEST_GAIN:
        enter_at(s, stroke, point)
        push(s, before)
        push(s, after)
        push(s, into)
        return gain
    saved = now - between(s, before, after)
    best, best_a, best_point = SMALLEST_GAIN, -1, 0
    for k in range(into * s.width, (into + 1) * s.width):
        a = s.near[k]
        if a < 0 or s.near_cost[k] >= saved:
            break
        b = free(s, a)
        if a in (before, after) or b >> 1 == stroke:
            continue
        left = saved + between(s, a, b) - best
        least = max(s.near_cost[k], cost(distance_to_ring(s, stroke, a), s.knee))
        if least + cost(distance_to_ring(s, stroke, b), s.knee) >= left:
            continue
        here = best_entry(s, stroke, a, b)
        gain = saved - detour(s, start + here, a, b) + between(s, a, b)
        if gain > best:
            best, best_a, best_point = gain, a, here
    if best_a < 0:
        return 0.0
    a, b = best_a, free(s, best_a)
    if not s.position[a] & 1:
        a, b = b, a
    swap_neighbours(s, before, into, a, b, out, after)
    enter_at(s, stroke, best_point)
    push(s, before)
    push(s, after)
    push(s, a)
    push(s, b)
    push(s, into)
    push(s, out)
    return best


def improve(s: Search, t1: int) -> float:
    """The best move of two or three edges that takes away t1's free edge; returns its gain, 0 if none helps.

    Nine tenths of the search's time as it stands are spent here: so `between` and `free` are written out.
    """
    x, y, knee, tour, position = s.x, s.y, s.knee, s.tour, s.position
    near, near_cost, width = s.near, s.near_cost, s.width
    wrap, breadth = len(tour) - 1, min(width, BREADTH)
    at2 = position[t1]
    at2 = (at2 + 1 if at2 < wrap else 0) if at2 & 1 else (at2 - 1 if at2 > 0 else wrap)
    t2 = tour[at2]
    x1, y1, x2, y2 = x[t1], y[t1], x[t2], y[t2]
    dx, dy = x1 - x2, y1 - y2
    mm = sqrt(dx * dx + dy * dy)
    base = mm + knee if mm >= knee else 2.0 * sqrt(knee * mm)
    parity = at2 & 1
    best, kind = SMALLEST_GAIN, 0
    b3 = b4 = b5 = b6 = 0
    for k in range(t2 * width, (t2 + 1) * width):
        t3 = near[k]
        if t3 < 0 or near_cost[k] >= base:
            break
        if t3 == t1:
            continue
        x3, y3 = x[t3], y[t3]
        dx, dy = x2 - x3, y2 - y3
        mm = sqrt(dx * dx + dy * dy)
        gain1 = base - (mm + knee if mm >= knee else 2.0 * sqrt(knee * mm))
        if gain1 <= SMALLEST_GAIN:
            continue
        at3 = position[t3]
        at4 = (at3 + 1 if at3 < wrap else 0) if at3 & 1 else (at3 - 1 if at3 > 0 else wrap)
        t4 = tour[at4]
        x4, y4 = x[t4], y[t4]
        dx, dy = x3 - x4, y3 - y4
        mm = sqrt(dx * dx + dy * dy)
        gain2 = gain1 + (mm + knee if mm >= knee else 2.0 * sqrt(knee * mm))
        joins = at3 & 1 == parity
        if joins:
            dx, dy = x4 - x1, y4 - y1
            mm = sqrt(dx * dx + dy * dy)
            gain = gain2 - (mm + knee if mm >= knee else 2.0 * sqrt(knee * mm))
            if gain > best:
                best, kind, b3, b4 = gain, 1, t3, t4
        end = at4 if joins else at3
        first, last = (end, at2) if parity else (at2, end)
        for j in range(t4 * width, t4 * width + breadth):
            t5 = near[j]
            if t5 < 0 or near_cost[j] >= gain2:
                break
            if t5 == t1 or t5 == t2 or t5 == t3:  # noqa: PLR1714, SIM109 - a tuple of them takes longer
                continue
            at5 = position[t5]
            inside = first <= at5 <= last if first <= last else at5 >= first or at5 <= last
            even = at5 & 1 == parity
            if even == inside if joins else not inside:
                continue
            x5, y5 = x[t5], y[t5]
            dx, dy = x4 - x5, y4 - y5
            mm = sqrt(dx * dx + dy * dy)
            gain3 = gain2 - (mm + knee if mm >= knee else 2.0 * sqrt(knee * mm))
            t6 = tour[(at5 + 1 if at5 < wrap else 0) if at5 & 1 else (at5 - 1 if at5 > 0 else wrap)]
            x6, y6 = x[t6], y[t6]
            dx, dy = x5 - x6, y5 - y6
            mm = sqrt(dx * dx + dy * dy)
            gain = gain3 + (mm + knee if mm >= knee else 2.0 * sqrt(knee * mm))
            if gain <= best:
                continue
            dx, dy = x6 - x1, y6 - y1
            mm = sqrt(dx * dx + dy * dy)
            gain -= mm + knee if mm >= knee else 2.0 * sqrt(knee * mm)
            if gain > best:
                best, b3, b4, b5, b6 = gain, t3, t4, t5, t6
                kind = 2 if joins else (4 if even else 3)
    if kind == 0:
        return 0.0
    if kind == 1:
        flip(s, t2, t1, b3, b4)
    elif kind == 2:
        flip(s, t2, t1, b3, b4)
        flip(s, b4, t1, b5, b6)
    elif kind == 3:
        swap_neighbours(s, t1, t2, b3, b4, b5, b6)
    else:
        flip(s, t1, t2, b6, b5)
        flip(s, t2, b5, b3, b4)
    push(s, t1)
    push(s, t2)
    push(s, b3)
    push(s, b4)
    if kind > 1:
        push(s, b5)
        push(s, b6)
    return best


def settle(s: Search, looks: int, steps: int) -> float:
    """Look at queued cities until none is left, or after so many looks or steps; returns what was gained."""
    gained = 0.0
    size = len(s.queue)
    while s.state[WAITING] > 0 and looks > 0 and s.state[STEPS] < steps:
        city = s.queue[s.state[HEAD]]
        s.state[HEAD] = (s.state[HEAD] + 1) % size
        s.state[WAITING] -= 1
        s.queued[city] = 0
        looks -= 1
        stroke = city >> 1
        if s.ring_start[stroke + 1] - s.ring_start[stroke] > 1:
            gained += improve_ring(s, stroke)
        gained += improve(s, city)
    return gained


def draw(s: Search, count: int) -> int:
    """A random whole number from 0 to count - 1."""
    s.state[RANDOM] = s.state[RANDOM] * 48271 % 2147483647
    return s.state[RANDOM] % count


def kick(s: Search) -> float:
    """A double bridge over three short neighbouring segments, [b] [c] [d] to [d] [c] [b]; returns what it cost."""
    m = len(s.tour)
    longest = min(SEGMENT, (m // 2 - 1) // 3)
    first = 2 * draw(s, m // 2)
    second = first + 2 + 2 * draw(s, longest)
    third = second + 2 + 2 * draw(s, longest)
    last = third + 1 + 2 * draw(s, longest)
    a, b0, b1 = s.tour[first - 1], s.tour[first % m], s.tour[(second - 1) % m]
    c0, c1 = s.tour[second % m], s.tour[(third - 1) % m]
    d0, d1, e = s.tour[third % m], s.tour[last % m], s.tour[(last + 1) % m]
    old = between(s, a, b0) + between(s, b1, c0) + between(s, c1, d0) + between(s, d1, e)
    new = between(s, a, d0) + between(s, d1, c0) + between(s, c1, b0) + between(s, b1, e)
    flip(s, a, b0, d1, e)
    flip(s, a, d1, d0, c1)
    flip(s, d1, c1, c0, b1)
    flip(s, c1, b1, b0, e)
    push(s, a)
    push(s, b0)
    push(s, b1)
    push(s, c0)
    push(s, c1)
    push(s, d0)
    push(s, d1)
    push(s, e)
    return new - old


def undo(s: Search) -> None:
    """Take back every step since the last perturbation, newest first."""
    for step in range(s.state[STEPS] - 1, -1, -1):
        if s.step_a[step] < 0:
            set_entry(s, -1 - s.step_a[step], s.step_b[step])
        else:
            reverse(s, s.step_a[step], s.step_b[step])


def perturb(s: Search, kicks: int, temperature: float) -> float:
    """So many perturbations, each settled, and undone if it lost more than chance allows; returns the gain.

    A loss of x mm is kept with probability exp(-x / temperature) (Kirkpatrick, Gelatt, Vecchi, 'Optimization by
    simulated annealing', 1983): what is lost for a while opens the way to better tours.
    """
    gained = 0.0
    size = len(s.queue)
    for _ in range(kicks):
        s.state[STEPS] = 0
        gain = -kick(s)
        gain += settle(s, EVERY, JOURNAL)
        while s.state[WAITING] > 0:
            s.queued[s.queue[s.state[HEAD]]] = 0
            s.state[HEAD] = (s.state[HEAD] + 1) % size
            s.state[WAITING] -= 1
        if gain < 0.0 and gain < temperature * log((draw(s, FINE) + 1.0) / FINE):
            undo(s)
        else:
            gained += gain
    s.state[STEPS] = 0
    return gained


KERNELS = [
    "cost",
    "between",
    "free",
    "push",
    "note",
    "reverse",
    "flip",
    "swap_neighbours",
    "set_entry",
    "enter_at",
    "detour",
    "distance_to_ring",
    "best_entry_of",
    "best_entry",
    "improve_ring",
    "improve",
    "settle",
    "draw",
    "kick",
    "undo",
    "perturb",
]
