"""Edits of a program's text that faults are made of: a word, a line, a stroke, a swap changed or put elsewhere."""

import itertools
import re
from collections.abc import Callable

import numpy as np

Lines = list[str]
Fault = Callable[[Lines, np.random.Generator], Lines | None]
RNG = np.random.Generator
NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)"
DRAW, ARC, TRAVEL = r"\bG0?[123] X", r"\bG0?[23] X", r"\bG0?0 X"
TOUCH, LIFT, ANY_Z = r"\bG0?1 Z", r"\bG0?0 Z", r"\bG0?[01] Z"
PAUSE = r"^(N\d+ )?M0?0\b"
BEGIN = r"^(N\d+ )?M0?5\b"


def bare(line: str) -> str:
    return re.sub(r"\([^()]*\)", "", line)


def find(lines: Lines, pattern: str) -> list[int]:
    return [at for at, line in enumerate(lines) if re.search(pattern, bare(line))]


def one(lines: Lines, pattern: str, rng: RNG) -> int | None:
    found = find(lines, pattern)
    return int(rng.choice(found)) if found else None


def put(lines: Lines, at: int, *new: str) -> Lines:
    """Other lines in the place of one."""
    return [*lines[:at], *new, *lines[at + 1 :]]


def edit(pattern: str, change: Callable[[str, RNG], str]) -> Fault:
    """One line that matches is changed."""

    def fault(lines: Lines, rng: RNG) -> Lines | None:
        at = one(lines, pattern, rng)
        return None if at is None else put(lines, at, change(lines[at], rng))

    return fault


def every(pattern: str, change: Callable[[str], str]) -> Fault:
    """All lines that match are changed."""

    def fault(lines: Lines, rng: RNG) -> Lines | None:
        found = set(find(lines, pattern))
        return [change(line) if at in found else line for at, line in enumerate(lines)] if found else None

    return fault


def word(letter: str, change: Callable[[float], float]) -> Callable[..., str]:
    """The number of a word of that letter changed."""

    def changed(line: str, rng: RNG | None = None) -> str:
        value = lambda found: f"{letter}{change(float(found[1])):.4f}".rstrip("0").rstrip(".")  # noqa: E731
        return re.sub(rf"{letter}({NUMBER})", value, line, count=1)

    return changed


def text(old: str, new: str) -> Callable[..., str]:
    return lambda line, rng=None: re.sub(old, new, line, count=1)


def digit(letter: str, how: str) -> Callable[[str, RNG], str]:
    """One digit of a number lost or changed, or its point, or its sign."""

    def changed(line: str, rng: RNG) -> str:
        found = re.search(rf"{letter}({NUMBER})", line)
        if found is None:
            return line
        number = found[1]
        places = [k for k, sign in enumerate(number) if sign.isdigit()]
        k = int(rng.choice(places))
        number = {
            "lost": number[:k] + number[k + 1 :],
            "changed": number[:k] + str((int(number[k]) + int(rng.integers(1, 10))) % 10) + number[k + 1 :],
            "doubled": number[:k] + number[k] + number[k:],
            "point": number.replace(".", ""),
            "sign": number[1:] if number.startswith("-") else "-" + number,
            "exchanged": number[: k - 1] + number[k] + number[k - 1] + number[k + 1 :] if k else number,
        }[how]
        return line[: found.start(1)] + number + line[found.end(1) :]

    return changed


def gone(pattern: str) -> Fault:
    """One line left out."""

    def fault(lines: Lines, rng: RNG) -> Lines | None:
        at = one(lines, pattern, rng)
        return None if at is None else put(lines, at)

    return fault


def all_gone(pattern: str) -> Fault:
    def fault(lines: Lines, rng: RNG) -> Lines | None:
        found = set(find(lines, pattern))
        return [line for at, line in enumerate(lines) if at not in found] if found else None

    return fault


def added(pattern: str, *new: str, after: bool = False) -> Fault:
    """One of these lines put before (or after) a line that matches."""

    def fault(lines: Lines, rng: RNG) -> Lines | None:
        at = one(lines, pattern, rng)
        if at is None:
            return None
        at += after
        return [*lines[:at], str(rng.choice(new)), *lines[at:]]

    return fault


def strokes(lines: Lines) -> list[tuple[int, int]]:
    """First and last line of each stroke: the travel to it, and its lift."""
    held = []
    for touch in find(lines, TOUCH):
        first = max(at for at in find(lines, TRAVEL) if at < touch)
        held.append((first, min(at for at in find(lines, LIFT) if at > touch)))
    return held


def stroke(change: Callable[[Lines, RNG], Lines | None]) -> Fault:
    """The lines of one stroke are changed."""

    def fault(lines: Lines, rng: RNG) -> Lines | None:
        held = strokes(lines)
        first, last = held[int(rng.integers(len(held)))]
        new = change(lines[first : last + 1], rng)
        return None if new is None else [*lines[:first], *new, *lines[last + 1 :]]

    return fault


def in_strokes(pattern: str, change: Callable[[str], str]) -> Fault:
    """In one stroke, every line that matches is changed."""
    return stroke(every(pattern, change))


def moved(shift: Callable[[list[tuple[int, int]], Lines, RNG], int | None]) -> Fault:
    """The message and the pause of a swap put elsewhere, or nowhere."""

    def fault(lines: Lines, rng: RNG) -> Lines | None:
        at = one(lines, PAUSE, rng)
        if at is None:
            return None
        first = at
        while first and lines[first - 1].startswith("(MSG"):
            first -= 1
        rest = [*lines[:first], *lines[at + 1 :]]
        if shift is nowhere:
            return rest
        to = shift(strokes(rest), rest[:first], rng)
        return None if to is None else [*rest[:to], *lines[first : at + 1], *rest[to:]]

    return fault


def nowhere(held: list[tuple[int, int]], before: Lines, rng: RNG) -> int | None:
    return None


def by_strokes(count: int) -> Callable[[list[tuple[int, int]], Lines, RNG], int | None]:
    """Behind the lift of an earlier or later stroke."""

    def place(held: list[tuple[int, int]], before: Lines, rng: RNG) -> int | None:
        earlier = [index for index, (_, last) in enumerate(held) if last < len(before)]
        index = (earlier[-1] if earlier else -1) + count
        return held[index][1] + 1 if 0 <= index < len(held) else None

    return place


def into_a_stroke(held: list[tuple[int, int]], before: Lines, rng: RNG) -> int | None:
    return held[-1][1]


def swapped(lines: Lines, rng: RNG) -> Lines | None:
    """Two neighbouring drawn blocks exchanged."""
    found = [at for at in find(lines, DRAW) if at + 1 in find(lines, DRAW)]
    if not found:
        return None
    at = int(rng.choice(found))
    return [*lines[:at], lines[at + 1], lines[at], *lines[at + 2 :]]


def exchanged_sections(lines: Lines, rng: RNG) -> Lines | None:
    """The strokes before a pause drawn after it, and the other way round."""
    held, pauses = strokes(lines), find(lines, PAUSE)
    if not pauses:
        return None
    at = pauses[0]
    bounds = [-1, at, *pauses[1:2], len(lines)][:3]
    parts = [[item for item in held if a < item[0] < b] for a, b in itertools.pairwise(bounds)]
    (a, b), (c, d) = ((part[0][0], part[-1][1]) for part in parts)
    return [*lines[:a], *lines[c : d + 1], *lines[b + 1 : c], *lines[a : b + 1], *lines[d + 1 :]]


def other_section(lines: Lines, rng: RNG) -> Lines | None:
    """One stroke drawn with the other marker."""
    held, pauses = strokes(lines), find(lines, PAUSE)
    if not pauses or len([item for item in held if item[0] < pauses[0]]) < 2:
        return None
    early = [item for item in held if item[0] < pauses[0]]
    a, b = early[int(rng.integers(len(early)))]
    late = next(item for item in held if item[0] > pauses[0])
    return [*lines[:a], *lines[b + 1 : late[1] + 1], *lines[a : b + 1], *lines[late[1] + 1 :]]


def exchanged_strokes(lines: Lines, rng: RNG) -> Lines | None:
    """Two strokes of one load in the other order: nothing changes on canvas, but for feeds that carry over."""
    held, pauses = strokes(lines), [0, *find(lines, PAUSE)]
    pairs = [(p, q) for p, q in itertools.pairwise(held) if not any(p[1] < at < q[0] for at in pauses)]
    if not pairs:
        return None
    (a, b), (c, d) = pairs[int(rng.integers(len(pairs)))]
    return [*lines[:a], *lines[c : d + 1], *lines[b + 1 : c], *lines[a : b + 1], *lines[d + 1 :]]


def left_out(lines: Lines, rng: RNG) -> Lines | None:
    held = strokes(lines)
    a, b = held[int(rng.integers(len(held)))]
    return [*lines[:a], *lines[b + 1 :]]


def twice(lines: Lines, rng: RNG) -> Lines | None:
    held = strokes(lines)
    a, b = held[int(rng.integers(len(held)))]
    return [*lines[: b + 1], *lines[a : b + 1], *lines[b + 1 :]]


def shifted(axis: str, by: float) -> Fault:
    """Every place of one stroke moved, centres being steps."""
    return in_strokes(rf"{axis}{NUMBER}", word(axis, lambda v: v + by))


def cut(lines: Lines, rng: RNG) -> Lines | None:
    return lines[: int(rng.choice(find(lines, r"^(N\d+ )?G0?[0123] [XZ]")))]


def half(lines: Lines, rng: RNG) -> Lines | None:
    held = strokes(lines)
    a, b = held[int(rng.integers(len(held)))]
    drawn = [at for at in find(lines, DRAW) if a < at < b]
    if len(drawn) < 2:
        return None
    return [*lines[: drawn[len(drawn) // 2]], *lines[b:]]


def first_lift_late(lines: Lines, rng: RNG) -> Lines | None:
    at = find(lines, LIFT)[0]
    return [*lines[:at], lines[at + 1], lines[at], *lines[at + 2 :]]


def pause_before_the_lift(lines: Lines, rng: RNG) -> Lines | None:
    at = one(lines, PAUSE, rng)
    if at is None:
        return None
    lift = max(k for k in find(lines, LIFT) if k < at)
    return [*lines[:lift], lines[at], *lines[lift:at], *lines[at + 1 :]]


def no_park(lines: Lines, rng: RNG) -> Lines | None:
    at = one(lines, PAUSE, rng)
    if at is None:
        return None
    return put(lines, max(k for k in find(lines, TRAVEL) if k < at))


def feed_moved(lines: Lines, rng: RNG) -> Lines | None:
    """The feed of a stroke set one block late."""
    found = [at for at in find(lines, DRAW + r".* F") if at + 1 in find(lines, DRAW)]
    if not found:
        return None
    at = int(rng.choice(found))
    feed = re.search(rf" F{NUMBER}", lines[at])
    assert feed is not None
    return put(put(lines, at, lines[at].replace(feed[0], "")), at + 1, lines[at + 1] + feed[0])


def without_feeds(held: Lines, rng: RNG) -> Lines:
    """A stroke drawn at the feed that it is touched down with."""
    return [re.sub(rf" F{NUMBER}", "", line) if re.search(DRAW, line) else line for line in held]


def as_lines(lines: Lines, rng: RNG) -> Lines | None:
    return edit(ARC, lambda x, r: re.sub(r"G0?[23]", "G1", re.sub(rf" [IJ]{NUMBER}", "", x)))(lines, rng)


def by_radius(lines: Lines, rng: RNG) -> Lines | None:
    return edit(ARC, lambda x, r: re.sub(rf" I{NUMBER}( J{NUMBER})?", " R40", x))(lines, rng)


def mirrored(lines: Lines, rng: RNG) -> Lines | None:
    return every(r"X", lambda x: re.sub(rf"([XI])({NUMBER})", lambda f: f"{f[1]}{-float(f[2]):.4f}", x))(lines, rng)


def scaled(factor: float, letters: str) -> Fault:
    def change(line: str) -> str:
        return re.sub(
            rf"([{letters}])({NUMBER})", lambda f: f"{f[1]}{float(f[2]) * factor:.3f}".rstrip("0").rstrip("."), line
        )

    return every(rf"\bG0?[0123] .*[{letters}]", change)


def without_approach(held: Lines, rng: RNG) -> Lines | None:
    """The rapid down to where the slow approach begins."""
    rest = gone(LIFT)(held[:-1], rng)
    return None if rest is None else [*rest, held[-1]]


def end_moved(by: float) -> Callable[[Lines, RNG], Lines | None]:
    """The last place of a stroke moved by so many mm along Y."""

    def moved_end(held: Lines, rng: RNG) -> Lines | None:
        drawn = find(held, r"\bG0?1 X.*Y")
        if not drawn or drawn[-1] != len(held) - 2:
            return None
        found = re.search(rf"X({NUMBER}) Y({NUMBER})", held[drawn[-1]])
        assert found is not None
        scale = 1 if max(abs(float(found[1])), abs(float(found[2]))) > 12 else 25.4
        return put(held, drawn[-1], word("Y", lambda v: v + by / scale)(held[drawn[-1]]))

    return moved_end


def plunged(held: Lines, rng: RNG) -> Lines | None:
    """Pressed in deep and eased again, standing in mid stroke."""
    drawn, touch = find(held, DRAW), find(held, TOUCH)
    if len(drawn) < 2:
        return None
    at = int(rng.choice(drawn[:-1])) + 1
    back = re.sub(rf" F{NUMBER}", "", held[touch[0]])
    return [*held[:at], "G1 Z-8", re.sub(r"^N\d+ ", "", back), *held[at:]]


def stopped_late(lines: Lines, rng: RNG) -> Lines | None:
    """The spindle's stop put behind the first moves."""
    at, to = find(lines, BEGIN)[0], find(lines, r"\bG0?0 ")[2]
    return [*lines[:at], *lines[at + 1 : to], lines[at], *lines[to:]]


def other_unit(lines: Lines, rng: RNG) -> Lines | None:
    """The other unit set after a pause, as a hand at the machine may."""
    at = one(lines, PAUSE, rng)
    if at is None:
        return None
    inches = bool(find(lines, r"\bG20\b"))
    return [*lines[: at + 1], "G21" if inches else "G20", *lines[at + 1 :]]


def unlifted_after_pause(lines: Lines, rng: RNG) -> Lines | None:
    """The lift after a pause left out."""
    at = one(lines, PAUSE, rng)
    lift = None if at is None else min(k for k in find(lines, LIFT) if k > at)
    return None if lift is None else put(lines, lift)


def every_comment(old: str, new: str) -> Fault:
    """Comments changed."""

    def fault(lines: Lines, rng: RNG) -> Lines | None:
        return [re.sub(old, new, line) if line.startswith("(") else line for line in lines]

    return fault


def in_message(change: Callable[[Lines], Lines]) -> Fault:
    """The messages of one swap changed."""

    def fault(lines: Lines, rng: RNG) -> Lines | None:
        at = one(lines, PAUSE, rng)
        if at is None or not lines[at - 1].startswith("(MSG"):
            return None
        first = at
        while lines[first - 1].startswith("(MSG"):
            first -= 1
        return [*lines[:first], *change(lines[first:at]), *lines[at:]]

    return fault
