"""A machine of these tests' own: runs a program word by word, and says whether two runs come to the same on canvas.

It shares nothing with the reader or the writer. What words mean: NISTIR 6556 (2000), sections 3.3 to 3.7.
"""

import itertools
import math
import re
from dataclasses import dataclass, field

import numpy as np
import shapely

WORD = re.compile(r"([A-Z])\s*([+-]?\s*(?:\d[\d\s]*\.?[\d\s]*|\.[\d\s]+))")
PLAIN_G = {0, 1, 2, 3, 4, 17, 18, 19, 20, 21, 40, 49, 54, 61, 64, 70, 71, 80, 90, 91, 93, 94}
PLAIN_M = {0, 1, 2, 5, 9, 30}
MODES = {"units": (20, 21, 70, 71), "distance": (90, 91), "feed mode": (93, 94), "plane": (17, 18, 19)}


@dataclass
class Line:
    """One stroke as it was drawn: mm, mm/s, s."""

    points: list[tuple[float, float]]
    depths: set[float] = field(default_factory=set)
    feeds: set[float] = field(default_factory=set)
    touch: float = 0.0
    slow_from: float = 0.0
    settled: float = 0.0
    stood: float = 0.0
    bad: set[str] = field(default_factory=set)
    deepest: float = 0.0


@dataclass
class Pause:
    """A wait for a person: how many lines were drawn before it, where the marker is, what the operator reads."""

    lines: int
    place: tuple[float, float, float]
    text: str


@dataclass
class Run:
    """All that a program does."""

    lines: list[Line] = field(default_factory=list)
    pauses: list[Pause] = field(default_factory=list)
    wrong: set[str] = field(default_factory=set)
    words: set[str] = field(default_factory=set)
    modes: set[str] = field(default_factory=set)
    decimals: dict[str, int] = field(default_factory=dict)
    lowest_travel: float = math.inf
    lowest_rapid: float = math.inf
    highest: float = -math.inf
    box: list[float] = field(default_factory=lambda: [math.inf, math.inf, -math.inf, -math.inf])
    idle: float = 0.0
    first_marker: str = ""
    comments: bool = False


def run(text: str) -> Run:
    """Run a program."""
    return _Machine().run(text)


class _Machine:
    def __init__(self) -> None:
        self.done = Run()
        self.at = [math.nan] * 3
        self.motion: int | None = None
        self.feed = math.nan
        self.inverse = self.relative = False
        self.unit = 1.0
        self.plane = 17
        self.moved = False
        self.spindle_off = self.paused = False
        self.line: Line | None = None
        self.told: list[str] = []

    def run(self, text: str) -> Run:
        done, ended = self.done, False
        rows = re.split(r"\r\n|\r|\n", text)
        for row in rows:
            if not self.moved and (first := re.search(r"load: marker (\w+)", row)) and not done.first_marker:
                done.first_marker = first[1].lower()
            self.told += re.findall(r"\(([^()]*)\)", row)
            done.comments |= "(" in row
            bare = re.sub(r"\([^()]*\)", "", row).upper().strip()
            if "(" in bare or ")" in bare:
                done.wrong.add("an open comment")
                bare = re.split(r"[()]", bare)[0]
            if bare == "%":
                ended |= self.moved  # NISTIR 6556, section 3.2: signs before and after stand for the end
                continue
            if not bare:
                continue
            if ended:
                done.wrong.add("words after the end")
                break
            left = WORD.sub("", bare).strip()
            if left:
                done.wrong.add(f"no word: {left[:5]}")
            words = [(letter, number.replace(" ", "")) for letter, number in WORD.findall(bare)]
            ended = self.block(words)
        if not ended:
            done.wrong.add("no end")
        if self.line is not None:
            done.wrong.add("ends with the marker down")
        return done

    def block(self, words: list[tuple[str, str]]) -> bool:
        done = self.done
        g = [float(number) for letter, number in words if letter == "G"]
        m = [float(number) for letter, number in words if letter == "M"]
        value = {letter: float(number) for letter, number in words if letter not in "GMN"}
        plain = [letter for letter, _ in words if letter not in "GM"]
        if len(plain) != len(set(plain)) or {0.0, 2.0} <= set(m):
            done.wrong.add("a word twice")
        for letter, number in words:
            if letter in "XYZIJKRF":
                digits = len(number.partition(".")[2].rstrip("0"))
                kind = "F" if letter == "F" else "X"
                done.decimals[kind] = max(done.decimals.get(kind, 0), digits)
            done.words.add(letter if letter not in "GM" else f"{letter}{float(number):g}")
        done.wrong |= {f"G{code:g}" for code in g if code not in PLAIN_G}
        done.wrong |= {f"M{code:g}" for code in m if code not in PLAIN_M}
        motions = [code for code in g if code in (0, 1, 2, 3)]
        if len(motions) > 1:
            done.wrong.add("two motions")
        for code in g:
            if code in (20, 21, 70, 71):
                self.unit = 25.4 if code in (20, 70) else 1.0
            elif code in (90, 91):
                self.relative = code == 91
            elif code in (93, 94):
                self.inverse = code == 93
            elif code in (17, 18, 19):
                self.plane = int(code)
            elif code in (0, 1, 2, 3):
                self.motion = int(code)
            elif code == 80:
                self.motion = None
            if not self.moved:
                done.modes.add(f"G{code:g}")
        if not self.moved:
            done.modes |= {f"M{code:g}" for code in m}
        self.spindle_off |= 5 in m
        if "F" in value and not self.inverse:
            self.feed = value["F"] * self.unit / 60
        if 4 in g:
            self.wait(value.get("P", math.nan))
        elif any(axis in value for axis in "XYZ"):
            self.move(value)
        elif motions or set(value) & set("IJKR"):
            done.wrong.add("a move that goes nowhere")
        if 0 in m:
            place = (self.at[0], self.at[1], self.at[2])
            self.paused = True
            done.pauses.append(Pause(len(done.lines), place, " ".join(self.told)))
            if self.line is not None:
                done.wrong.add("a pause with the marker down")
        self.told = []
        return bool({2.0, 30.0} & set(m))

    def wait(self, seconds: float) -> None:
        if not seconds >= 0:
            self.done.wrong.add("a wait of no time")
        elif self.line is None:
            self.done.idle = max(self.done.idle, seconds)
        elif len(self.line.points) > 1:
            self.line.stood += seconds
        else:
            self.line.settled += seconds

    def move(self, value: dict[str, float]) -> None:
        done = self.done
        start, end = list(self.at), list(self.at)
        for axis, letter in enumerate("XYZ"):
            if letter in value:
                word = value[letter] * self.unit
                end[axis] = start[axis] + word if self.relative else word
                if math.isnan(end[axis]):
                    done.wrong.add("a step from nowhere")
        if self.motion is None:
            done.wrong.add("no motion in force")
            return
        if not self.spindle_off:
            done.wrong.add("moves before M5")
        for mode, codes in MODES.items():
            due = {"feed mode": self.motion > 0, "plane": self.motion > 1}.get(mode, True)
            if due and not self.moved and not any(f"G{code}" in done.modes for code in codes):
                done.wrong.add(f"moves before {mode}")
        self.moved |= self.motion is not None
        path = [(end[0], end[1])] if self.motion < 2 else self.arc(start, end, value)
        feed = self.feed
        if self.inverse and self.motion:
            length = math.hypot(*(b - a for a, b in zip(start, end, strict=True)))
            feed = length * value.get("F", math.nan) / 60
        if self.motion and not feed > 0:
            done.wrong.add("no feed")
        sideways = (start[0], start[1]) != (end[0], end[1]) or self.motion > 1
        if self.paused and sideways and "Z" not in value:
            done.wrong.add("travels after a pause at a height that a hand may have changed")
        self.paused = False
        was_down, is_down = start[2] <= 1e-6, end[2] <= 1e-6
        for x, y in path:
            low_high = [min(done.box[0], x), min(done.box[1], y), max(done.box[2], x), max(done.box[3], y)]
            done.box = [b if math.isnan(a) else a for a, b in zip(low_high, done.box, strict=True)]
        done.highest = max(done.highest, end[2]) if not math.isnan(end[2]) else done.highest
        if sideways and not (was_down or is_down):
            if math.isnan(end[2]):
                done.wrong.add("travel at a height that nobody knows")
            else:
                done.lowest_travel = min(done.lowest_travel, start[2], end[2])
        if is_down and self.line is None:
            self.line = Line([(start[0], start[1])], touch=feed, slow_from=start[2])
            done.lines.append(self.line)
            if math.isnan(start[0]) or math.isnan(start[1]):
                done.wrong.add("down at a place that nobody knows")
        line = self.line
        if line is not None:
            line.deepest = max(line.deepest, -end[2])
            if self.motion == 0 and (is_down or sideways):
                line.bad.add("rapid while down")
            if sideways and start[2] != end[2]:
                line.bad.add("slanted")
            if not sideways and was_down and is_down and abs(start[2] - end[2]) > 1e-4 and len(line.points) > 1:
                line.bad.add("pressed on while standing")
            if sideways and self.motion:
                line.points += path
                line.depths |= {round(-start[2], 6), round(-end[2], 6)}
                line.feeds.add(round(feed, 6))
        elif self.motion == 0 and end[2] < start[2] - 1e-6:
            done.lowest_rapid = min(done.lowest_rapid, end[2])
        if line is not None and not is_down:
            if not line.depths:
                line.depths = {round(line.deepest, 6)}
            self.line = None
        self.at = end

    def arc(self, start: list[float], end: list[float], value: dict[str, float]) -> list[tuple[float, float]]:
        wrong = self.done.wrong
        if self.plane != 17 or "K" in value:
            wrong.add("an arc in another plane")
        if "R" in value or not {"I", "J"} & set(value):
            wrong.add("an arc without a centre")
            return [(end[0], end[1])]
        cx, cy = start[0] + value.get("I", 0.0) * self.unit, start[1] + value.get("J", 0.0) * self.unit
        radius = math.hypot(start[0] - cx, start[1] - cy)
        if abs(radius - math.hypot(end[0] - cx, end[1] - cy)) > (0.00508 if self.unit > 1 else 0.002) + 1e-9:
            wrong.add("radii that differ")
        first, last = math.atan2(start[1] - cy, start[0] - cx), math.atan2(end[1] - cy, end[0] - cx)
        turn = (first - last if self.motion == 2 else last - first) % (2 * math.pi) or 2 * math.pi
        turn = -turn if self.motion == 2 else turn
        pieces = min(max(24, int(abs(turn) * radius / 0.1)), 8000) if math.isfinite(radius) else 8
        steps = [first + turn * k / pieces for k in range(1, pieces)]
        return [*((cx + radius * math.cos(a), cy + radius * math.sin(a)) for a in steps), (end[0], end[1])]


@dataclass(frozen=True)
class Allowed:
    """What may differ: mm off the drawing, decimals by word, steps of a feed and of a height, lift, clearance, park."""

    tolerance: float
    decimals: dict[str, int]
    feed_step: float
    height_step: float
    comments: bool


ENDS_MM = 0.01  # what rounding may move both ends of a line by
UNSURE = "?"  # so near to a limit that either answer is right


def effect(whole: Run, hurt: Run, drawing: list[np.ndarray], allowed: Allowed) -> str:
    """What changes for the canvas, the machine or the operator: "" nothing, `UNSURE` too little to say."""
    if hurt.wrong:
        return sorted(hurt.wrong)[0]
    gone = whole.modes - hurt.modes
    if gone - {"G0", "G1", "M2"}:
        return f"mode {sorted(gone)[0]} not set"
    foreign = {
        word
        for word in hurt.words - whole.words
        if word not in ("N", "M2", "M30", "M5", "M9", "G20", "G21", "G70", "G71")
    }
    if foreign:
        return f"foreign word {sorted(foreign)[0]}"
    if hurt.comments and not allowed.comments:
        return "a comment for a machine that has none"
    if any(hurt.decimals.get(kind, 0) > most for kind, most in allowed.decimals.items()):
        return "too many decimals"
    unsure = False
    for name in ("lowest_travel", "lowest_rapid"):
        less = getattr(whole, name) - getattr(hurt, name)
        if less > 0.02 + allowed.height_step:
            return name.replace("_", " ")
        unsure |= less > 0.005
    if hurt.highest > whole.highest + 0.02 + allowed.height_step:
        return "rises higher"
    a, b = whole.box, hurt.box
    over = max(a[0] - b[0], a[1] - b[1], b[2] - a[2], b[3] - a[3])
    if hurt.first_marker != whole.first_marker:
        return "begins with another marker"
    if hurt.idle > 60:
        return "idles"
    found = _pauses(whole, hurt) or _lines(whole, hurt, drawing, allowed)
    if found and found != UNSURE:
        return found
    if over > 300:
        return "travels far off"
    return UNSURE if unsure or found or over > 1 else ""


def _pauses(whole: Run, hurt: Run) -> str:
    kept = [pause.lines for pause in whole.pauses]
    made = list(dict.fromkeys(pause.lines for pause in hurt.pauses))  # two pauses in one place are one
    if [count for count in made if 0 < count < len(hurt.lines)] != [n for n in kept if 0 < n < len(whole.lines)]:
        return "pauses elsewhere"
    last = {pause.lines: pause for pause in hurt.pauses}
    for pause in whole.pauses:
        other = last.get(pause.lines)
        if other is None:
            continue
        if math.dist(pause.place, other.place) > 0.2:
            return "pauses in another place"
        if re.sub(r"\W", "", pause.text).lower() != re.sub(r"\W", "", other.text).lower():
            return "asks for something else"
    return ""


def _sections(done: Run) -> list[list[Line]]:
    bounds = [0, *sorted({pause.lines for pause in done.pauses if 0 < pause.lines < len(done.lines)}), len(done.lines)]
    return [done.lines[a:b] for a, b in itertools.pairwise(bounds)]


def _lines(whole: Run, hurt: Run, drawing: list[np.ndarray], allowed: Allowed) -> str:
    """Section by section, the same lines, each once, in any order and either way, drawn alike."""
    if len(whole.lines) != len(hurt.lines):
        return "strokes more or less"
    unsure, number = False, 0
    for kept, made in zip(_sections(whole), _sections(hurt), strict=True):
        if len(kept) != len(made):
            return "strokes in another section"
        left = list(made)
        for line in kept:
            asked = drawing[number]
            number += 1
            off, index = _off(left[0], asked), 0
            if off > allowed.tolerance:
                off, index = min((_off(other, asked), index) for index, other in enumerate(left))
            other = left.pop(index)
            if off > allowed.tolerance * 1.1 + 0.002:
                return "off the drawing"
            longer = _length(other) - _length(line)
            if longer > 1.2:
                return "draws over itself"
            unsure |= off > allowed.tolerance or longer > 0.2
            said = _alike(line, other, allowed)
            if said and said != UNSURE:
                return said
            unsure |= bool(said)
    return UNSURE if unsure else ""


def _length(line: Line) -> float:
    return float(np.hypot(*np.diff(np.array(line.points), axis=0).T).sum()) if len(line.points) > 1 else 0.0


def _off(line: Line, asked: np.ndarray) -> float:
    """mm, either way round: Hausdorff's distance by shapely."""
    points = np.array(line.points if len(line.points) > 1 else line.points * 2)
    if not np.isfinite(points).all():
        return math.inf
    if min(np.ptp(points, axis=0).max(), np.ptp(asked, axis=0).max()) == 0:  # a dot: shapely has no line of no length
        return float(max(np.hypot(*(a - asked[0]).T).max() for a in (points, np.asarray(asked))))
    one, other = (shapely.segmentize(shapely.linestrings(line), 0.5) for line in (points, asked))
    ends = min(math.dist(points[0], asked[0]) + math.dist(points[-1], asked[-1]),
               math.dist(points[0], asked[-1]) + math.dist(points[-1], asked[0]))  # fmt: skip
    return max(float(shapely.hausdorff_distance(one, other)), ends - ENDS_MM)


def _alike(line: Line, other: Line, allowed: Allowed) -> str:
    """Whether two lines are pressed, fed and waited for alike."""
    if other.bad:
        return sorted(other.bad)[0]
    unsure = False
    step = allowed.height_step
    for depth in {*other.depths, other.deepest}:
        off = abs(depth - next(iter(line.depths)))
        if off > 0.02 + step:
            return "pressed in otherwise"
        unsure |= off > 0.004
    for name, due, held in (
        ("drawn faster or slower", line.feeds, other.feeds),
        ("touches faster or slower", {line.touch}, {other.touch}),
    ):
        for feed in held if due else ():
            ratio = feed / next(iter(due))
            slack = 0.015 + 2 * allowed.feed_step / next(iter(due))
            if abs(ratio - 1) > slack:
                return name
            unsure |= abs(ratio - 1) > 0.002
    for name, due, held in (("settles", line.settled, other.settled), ("stands", line.stood, other.stood)):
        if abs(due - held) > 0.08:
            return name
        unsure |= abs(due - held) > 0.02
    return UNSURE if unsure else ""
