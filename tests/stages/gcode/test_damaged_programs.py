"""300 programs with one planted fault each, of every kind that `check` promises to find; whole ones raise none.

What is a fault of the program itself: NISTIR 6556 (2000), sections 3.3 to 3.7.
"""

import re
from collections import Counter
from collections.abc import Callable

import numpy as np
import pytest

from underdraw import Drawing

Lines = list[str]
Damage = Callable[[Lines, np.random.Generator], Lines]


def pick(lines: Lines, pattern: str, rng: np.random.Generator) -> int:
    """One line that matches, at random."""
    found = [index for index, line in enumerate(lines) if re.search(pattern, line)]
    return int(rng.choice(found))


def first(lines: Lines, pattern: str) -> int:
    """The first line that matches."""
    return next(index for index, line in enumerate(lines) if re.search(pattern, line))


def inserted(*blocks: str, before: str = "") -> Damage:
    """Put one of these blocks somewhere after the modes and before the end, or before a line that matches."""

    def damage(lines: Lines, rng: np.random.Generator) -> Lines:
        at = pick(lines, before, rng) if before else int(rng.integers(first(lines, "^G0 Z") + 1, len(lines) - 1))
        return [*lines[:at], str(rng.choice(blocks)), *lines[at:]]

    return damage


def changed(pattern: str, old: str, new: str) -> Damage:
    """Change one line that matches."""

    def damage(lines: Lines, rng: np.random.Generator) -> Lines:
        at = pick(lines, pattern, rng)
        return [*lines[:at], re.sub(old, new, lines[at]), *lines[at + 1 :]]

    return damage


def removed(pattern: str) -> Damage:
    """Leave one line out."""

    def damage(lines: Lines, rng: np.random.Generator) -> Lines:
        at = pick(lines, pattern, rng)
        return lines[:at] + lines[at + 1 :]

    return damage


def removed_first(lines: Lines, pattern: str) -> Lines:
    """Not one of those that state the same again after a pause."""
    at = first(lines, pattern)
    return lines[:at] + lines[at + 1 :]


def moved(axis: str, by: float, pattern: str) -> Damage:
    """Move one end by some way, in the program's units."""

    def damage(lines: Lines, rng: np.random.Generator) -> Lines:
        at = pick(lines, pattern, rng)
        shifted = re.sub(rf"{axis}(-?[\d.]+)", lambda found: f"{axis}{float(found[1]) + by:.4f}", lines[at], count=1)
        return [*lines[:at], shifted, *lines[at + 1 :]]

    return damage


def without_a_lift(lines: Lines, rng: np.random.Generator) -> Lines:
    """Not the one after a pause, which only makes sure: the tip may be lifted already."""
    lifts = [at for at in range(1, len(lines)) if lines[at].startswith("G0 Z5") and lines[at - 1] != "G61"]
    lifts = [first(lines, "^G0 Z5"), *lifts]
    at = int(rng.choice(lifts))
    return lines[:at] + lines[at + 1 :]


def without_a_stroke(lines: Lines, rng: np.random.Generator) -> Lines:
    starts = [index - 2 for index, line in enumerate(lines) if re.match(r"G1 Z-", line)]
    begin = int(rng.choice(starts))
    last = next(index for index in range(begin + 3, len(lines)) if re.match(r"G0 Z5", lines[index]))
    return lines[:begin] + lines[last + 1 :]


def with_a_stroke_twice(lines: Lines, rng: np.random.Generator) -> Lines:
    starts = [index - 2 for index, line in enumerate(lines) if re.match(r"G1 Z-", line)]
    begin = int(rng.choice(starts))
    last = next(index for index in range(begin + 3, len(lines)) if re.match(r"G0 Z5", lines[index]))
    return lines[: last + 1] + lines[begin : last + 1] + lines[last + 1 :]


def ended_while_drawing(lines: Lines, rng: np.random.Generator) -> Lines:
    at = pick(lines, r"^G[123] X", rng)
    return [*lines[: at + 1], "M2"]


def without_feeds(lines: Lines, rng: np.random.Generator) -> Lines:
    last = int(rng.integers(first(lines, "^G1 Z-") + 1, len(lines)))
    return [re.sub(r" F[\d.]+", "", line) for line in lines[:last]] + lines[last:]


def cut_off(lines: Lines, rng: np.random.Generator) -> Lines:
    return lines[: pick(lines, r"^G[0123] [XZ]", rng)]


DRAWN = r"^G[123] X"
# kind -> (damage, codes of which at least one must be named)
KINDS: dict[str, tuple[Damage, set[str]]] = {
    "a started spindle": (inserted("M3 S8000", "M4", "S500 M03", "m 3"), {"spindle"}),
    "coolant": (inserted("M7", "M8", "M08"), {"coolant"}),
    "an output, perhaps a laser": (inserted("M62 P1", "M64 P0", "M106 P0", "M67"), {"output"}),
    "motion before units": (lambda lines, rng: removed_first(lines, r"^G2[01]$"), {"units"}),
    "feed 0": (changed(r"F\d", r"F[\d.]+", "F0"), {"feed"}),
    "no feed at all": (without_feeds, {"feed"}),
    "a rapid with the marker down": (changed(DRAWN, r"^G[123]( X\S+ Y\S+).*", r"G0\1"), {"rapid-down"}),
    "a lift left out": (without_a_lift, {"rapid-down", "height", "ends-down"}),
    "a rapid that strikes the canvas": (changed(r"^G1 Z-", r"^G1 (Z-\S+).*", r"G0 \1"), {"rapid-down"}),
    "lowering while moving": (changed(r"^G1 Z-", r"^G1 (Z\S+)", r"G1 X3 Y3 \1"), {"slanted"}),
    "raising while moving": (changed(DRAWN, r"(Y\S+)", r"\1 Z4"), {"slanted"}),
    "drawing outside the image": (moved("X", 250.0, r"^G1 X"), {"outside-image"}),
    "travel outside the reach": (moved("Y", -2000.0, r"^G0 X"), {"outside-reach"}),
    "an arc whose radii disagree": (moved("I", 0.3, r"^G[23] "), {"arc"}),
    "an arc without a centre": (changed(r"^G[23] ", r" I.*", ""), {"arc"}),
    "too fast for the ink": (changed(r"F762", r"F762", "F1000"), {"too-fast"}),
    "a line too long": (changed(r"^G0 X", r"$", " (" + "x" * 260 + ")"), {"long-line"}),
    "something after the end": (
        lambda lines, rng: [*lines, str(rng.choice(["G0 X1", "M5", "G1 X5 F100"]))],
        {"after-end"},
    ),
    "no end": (removed(r"^M2$"), {"no-end"}),
    "ending with the marker down": (ended_while_drawing, {"ends-down"}),
    "a program cut off": (cut_off, {"no-end"}),
    "a word that nobody knows": (inserted("E5", "G5 X3", "M199", "Q3", "#1=2", "O100", "X[3]"), {"unknown"}),
    "comments in comments": (inserted("(a (b) c)", "(open", "closed)"), {"comment"}),
    "two words of a group": (inserted("G0 G1 Z5", "G90 G91", "M0 M2", "G20 G21"), {"same-group"}),
    "a stored place or offset": (inserted("G28 X0", "G55", "G43 H1", "G53 X0", "G10 L2 P1 X3"), {"mode"}),
    "increments where places were meant": (
        inserted("G91", before=DRAWN),
        {"outside-image", "outside-reach", "missing", "rapid-down"},
    ),
    "a renamed place": (inserted("G92 X7", before=DRAWN), {"missing", "outside-image", "outside-reach"}),
    "a stroke left out": (without_a_stroke, {"missing"}),
    "a stroke drawn twice": (with_a_stroke_twice, {"extra"}),
    "an end half a millimetre off": (moved("Y", 0.5, r"^G1 X"), {"missing", "extra"}),
}
EACH = 10


@pytest.fixture
def whole(garden, write, read_back) -> tuple[Drawing, Lines]:
    drawing = garden(gold=2, machine={"bed": "600 x 1200 mm"})
    data = write(drawing).files[0].data
    report = read_back(data, drawing)
    assert report.ok, report.problems
    return drawing, data.decode().splitlines()


@pytest.mark.slow
def test_every_planted_fault_is_found_and_named(whole, read_back, capsys) -> None:
    drawing, lines = whole
    found: Counter[str] = Counter()
    missed = []
    for number, (kind, (damage, due)) in enumerate(KINDS.items()):
        for seed in range(EACH):
            hurt = damage(list(lines), np.random.default_rng([number, seed]))
            assert hurt != lines, kind
            report = read_back("\n".join(hurt).encode(), drawing)
            named = {problem.code for problem in report.problems}
            if named & due:
                found[kind] += 1
            else:
                missed.append((kind, seed, sorted(named)))
    with capsys.disabled():
        print(f"\n{'planted fault':40} found")
        for kind in KINDS:
            print(f"{kind:40} {found[kind]:2} of {EACH}")
        print(f"{'in all':40} {sum(found.values())} of {EACH * len(KINDS)}")
    assert not missed, str(missed)[:3000]
    assert sum(found.values()) >= 300


@pytest.mark.slow
@pytest.mark.parametrize("controller", ["rs274", "iso6983", "lines"])
def test_whole_programs_raise_no_false_alarm(garden, write, read_back, controller) -> None:
    for units in ("mm", "in"):
        for extra in ({}, {"rehearse": True}, {"tolerance": "0.01 mm"}):
            drawing = garden(gold=2, machine={"bed": "600 x 1200 mm", "zero": "centre"}, holder={"settle": "0.1 s"})
            data = write(drawing, controller=controller, units=units, **extra).files[0].data
            report = read_back(data, drawing, controller=controller)
            assert not report.problems
