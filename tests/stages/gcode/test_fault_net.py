"""Faults of every kind planted in programs of every controller, and sound ones rewritten: none missed, no false alarm.

What has an effect is judged by a machine of these tests' own (`plain_machine`), which shares nothing with the reader.
A larger run by hand: `UNDERDRAW_FAULTS=20 pytest -s tests/stages/gcode/test_fault_net.py`.
"""

import itertools
import os
import re
from collections import Counter, defaultdict

import numpy as np
import pytest
from fault_kinds import KINDS, NAMED, OWN
from plain_machine import UNSURE, Allowed, effect, run

from underdraw.panel import Lying
from underdraw.program import check_program
from underdraw.program.expected import Expected
from underdraw.program.expected.drawn_range import record_of, runs_of
from underdraw.testing.trial import TrialContext

EACH = int(os.environ.get("UNDERDRAW_FAULTS", "2"))  # programs that each kind is tried on
MARKERS = [
    {"name": "outline", "ink": "oil-paint", "tip": "0.7 mm"},
    {"name": "gold (fine)", "ink": "permanent", "tip": "0.5 mm", "press": "2.5 mm", "settle": "0.4 s"},
    {"name": "sepia", "ink": "pencil", "tip": "0.5 mm", "speed": "17 mm/s", "settle": "0.2 s"},
]
DECIMALS = {("rs274", "mm"): (4, 2), ("rs274", "in"): (5, 2), ("iso6983", "mm"): (3, 1), ("iso6983", "in"): (4, 1),
            ("lines", "mm"): (3, 0), ("lines", "in"): (4, 0)}  # fmt: skip


def night(seed: int):
    """Strokes of a garden that is another one with each seed: turned, moved, a few left out, in three markers."""
    from gcode_garden import circle, night_garden

    rng = np.random.default_rng(seed)
    lines = [line for line in night_garden() if rng.random() < 0.85]
    lines += [circle(*rng.uniform(40, 160, 2), rng.uniform(3, 30)) for _ in range(2)]
    lines += [np.cumsum(rng.uniform(-1, 1, (int(rng.integers(2, 9)), 2)) * 14, axis=0) + rng.uniform(70, 130, 2)]
    lines = [np.clip(line, 1.0, 199.0) for line in lines]
    order = rng.permutation(len(lines))
    first, second = sorted(rng.choice(np.arange(2, len(lines) - 1), 2, replace=False).tolist())
    names = np.array(
        ["outline"] * first + ["gold (fine)"] * (second - first) + ["sepia"] * (len(lines) - second), object
    )
    loads = np.ones(len(lines), dtype=np.int32)
    if first > 3:
        loads[first // 2 : first] = 2
    return [lines[k] for k in order], names, loads


@pytest.fixture
def panel(garden):
    def make(seed: int, **sections):
        lines, names, loads = night(seed)
        machine = {"bed": "600 x 1200 mm", **sections.pop("machine", {})}
        drawing = garden(strokes=lines, marker=MARKERS, loads=loads, machine=machine, **sections)
        return drawing.replace(marker=names)

    return make


def held(drawing, registry, controller, data=b"", file="trial.nc"):
    expected = Expected.of(drawing.job, Lying.of(drawing, registry), registry, controller)
    return expected.drawing(drawing, runs_of(data, drawing, expected.dialect, file) if data else None)


@pytest.mark.slow
def test_every_fault_with_an_effect_is_found(panel, write, shop, capsys) -> None:
    listener = TrialContext(shop)
    tried, found, without, unsure, named = Counter(), Counter(), Counter(), Counter(), defaultdict(Counter)
    missed, alarms = [], []
    setups = list(itertools.product(("rs274", "iso6983", "lines"), ("mm", "in")))
    programs = {}

    def program(seed: int):
        if seed not in programs:
            controller, units = setups[seed % len(setups)]
            zero = ("board", "centre")[seed % 2]
            drawing = panel(seed, machine={"zero": zero, "park": "3 x 4 mm"}, holder={"settle": "0.1 s"})
            result = write(drawing, listener, controller=controller, units=units)
            lines = result.files[0].data.decode().splitlines()
            expected = held(drawing, shop, controller)
            asked = [expected.strokes.coords[a:b] for a, b in itertools.pairwise(expected.strokes.parts)]
            asked = [drawing_in_program(expected, points) for points in asked]
            digits, feeds = DECIMALS[controller, units]
            scale = 25.4 if units == "in" else 1.0
            allowed = Allowed(0.02, {"X": digits, "F": feeds}, scale * 10.0**-feeds / 60, scale * 10.0**-digits,
                              controller == "rs274")  # fmt: skip
            programs[seed] = lines, expected, run("\n".join(lines)), asked, allowed
        return programs[seed]

    for number, (kind, fault) in enumerate(KINDS.items()):
        turn = 0
        while tried[kind] + without[kind] + unsure[kind] < EACH and turn < 8 * EACH:
            seed = (number + turn) % (6 * max(2, EACH // 2))
            lines, expected, whole, asked, allowed = program(seed)
            hurt = fault(list(lines), np.random.default_rng([number, turn]))
            turn += 1
            if hurt is None or hurt == lines:
                continue
            text = "\n".join(hurt) + "\n"
            said = effect(whole, run(text), asked, allowed)
            report = check_program(text.encode(), expected)
            if said == UNSURE:
                unsure[kind] += 1
            elif not said:
                without[kind] += 1
                if not report.ok:
                    alarms.append((kind, seed, turn - 1, report.problems[0]))
            else:
                tried[kind] += 1
                found[kind] += not report.ok
                named[kind].update({problem.code for problem in report.problems})
                if report.ok:
                    missed.append((kind, seed, turn - 1, said))
    with capsys.disabled():
        print(f"\n{'planted fault':42} with effect  found  none  unsure  named as")
        for kind in KINDS:
            most = ", ".join(code for code, _ in named[kind].most_common(4))
            print(f"{kind:42} {tried[kind]:11} {found[kind]:6} {without[kind]:5} {unsure[kind]:7}  {most}")
        totals = [sum(column.values()) for column in (tried, found, without, unsure)]
        print(f"{len(NAMED)} kinds of the issue and {len(OWN)} of our own; with effect, found, none, unsure: {totals}")
        print("alarms at faults without effect:", Counter(f"{kind}: {p.code}" for kind, _, _, p in alarms))
    assert len(OWN) >= 60
    assert not missed, "\n".join(map(str, missed[:60]))
    idle = [kind for kind in KINDS if not tried[kind] and not without[kind] and not unsure[kind]]
    assert not idle


def drawing_in_program(expected, points):
    """Board points (y away from the operator) as the tip's place in the program, by the job's zero alone."""
    return points - np.asarray(expected.zero)


def lower(text: str) -> str:
    return text.lower()


def blanks(text: str) -> str:
    return re.sub(
        r"(?m)^(?!\()(.*)$", lambda row: re.sub(r" (?=[A-Z])", "  ", row[1]) if len(row[1]) < 34 else row[1], text
    )


def crlf(text: str) -> str:
    return text.replace("\n", "\r\n")


def numbered(text: str) -> str:
    rows = (re.sub(r"^N\d+ ", "", row) for row in text.splitlines())
    return "".join(f"N{k % 9999 + 1} {row}\n" if row[:1] not in "(%" else f"{row}\n" for k, row in enumerate(rows))


def backwards(text: str) -> str:
    """Every word of a block in another order."""
    return "\n".join(
        row if "(" in row or "%" in row else " ".join(reversed(row.split(" "))) for row in text.split("\n")
    )


REWRITINGS = [lambda text: text, lower, blanks, crlf, numbered, backwards]


@pytest.mark.slow
def test_no_sound_program_raises_an_alarm(panel, write, shop, capsys) -> None:
    listener = TrialContext(shop)
    jobs = [
        {},
        {"holder": {"use": "clamp", "settle": "0.3 s"}, "machine": {"zero": "centre"}},
        {
            "holder": {"offset": "20 x 5 mm", "lift": "12 mm", "swap_lift": "30 mm"},
            "machine": {"zero": "pin", "pin": "9 x 9 mm"},
        },
        {"machine": {"zero": "face", "park": "30 x 50 mm", "height": "80 mm"}},
    ]
    settings = [
        {},
        {"tolerance": "0.1 mm"},
        {"split": "marker"},
        {"split": "load"},
        {"rehearse": True},
        {"from": 3, "to": 7},
        {"from": 4},
    ]
    checked, wrong = 0, []
    combined = itertools.product(("rs274", "iso6983", "lines", "servo-lift"), ("mm", "in"), settings, jobs)
    for number, (controller, units, chosen, job) in enumerate(combined):
        if (controller == "servo-lift" and units == "in") or (EACH <= 2 and number % 4 != (number // 4) % 4):
            continue
        drawing = panel(number % 7, **{key: dict(value) for key, value in job.items()})
        result = write(drawing, listener, controller=controller, units=units, **chosen)
        for index, (file, record) in enumerate(zip(result.files, result.drawing.programs, strict=True)):
            assert record_of(result.drawing, record.file) is not None
            for rewriting in REWRITINGS if EACH > 2 else [REWRITINGS[0], REWRITINGS[1 + (number + index) % 5]]:
                text = rewriting(file.data.decode())
                if controller == "servo-lift" and rewriting is backwards:
                    continue  # its own words with their feeds are one word to its machine
                expected = held(result.drawing, shop, controller, text.encode(), record.file)
                report = check_program(text.encode(), expected, 0.1 if "tolerance" in chosen else 0.02)
                checked += 1
                if not report.ok:
                    wrong.append((controller, units, chosen, job, rewriting.__name__, report.problems[:2]))
    with capsys.disabled():
        print(f"\n{checked} sound programs of every controller, split, place, unit and rewriting: {len(wrong)} alarms")
    assert not wrong, "\n".join(map(str, wrong[:20]))
    assert checked >= 100
