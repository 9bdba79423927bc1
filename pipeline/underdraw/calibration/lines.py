"""Readings as lines for a job, each with how it was worked out and how sure it is; only of what was typed in."""

import json
import math
from collections.abc import Sequence

import numpy as np

from underdraw.calibration.least_squares import mean
from underdraw.calibration.machine import backlash_of, runout_of, shows_lean, square_of
from underdraw.calibration.readings import SIDE_MM, MachineReadings, MarkerReadings, Readings
from underdraw.machine.loads import FULL_SHARE
from underdraw.words.lengths import MM_PER_INCH, unit_written

COMMENT_COLUMN = 30


def job_lines(readings: Readings) -> list[str]:
    """All of it as TOML with comments; what underdraw does not correct stands in comments alone."""
    lines: list[str] = []
    if readings.machine is not None:
        lines += machine_lines(readings.machine, readings.words["machine"])
    if readings.marker is not None:
        lines += [""] if lines else []
        lines += marker_lines(readings.marker, readings.words["marker"])
    return lines


def marker_lines(marker: MarkerReadings, words: dict[str, object]) -> list[str]:
    """One marker's part of a job."""
    lines = ["# in place of these keys in your job's own table of this marker:", "[[marker]]"]
    lines.append(f"name = {_quoted(marker.name)}")
    if marker.solid is not None:
        known = f"; {words['faint']} is not" if marker.faint is not None else ""
        lines.append(_line("speed", _quoted(words["solid"]), f"the fastest line that is solid{known}"))
    elif marker.faint is not None:
        lines.append(f"# speed: below {words['faint']}, the slowest line that is not solid; draw slower ones")
    if marker.press:
        value = _length(max(marker.press), words["press"], up=True)
        lines.append(_line("press", value, f"the most that was needed without gaps, {_readings(len(marker.press))}"))
    if marker.settle is not None:
        lines.append(_line("settle", _quoted(words["settle"]), "the shortest wait with whole beginnings"))
    if marker.line:
        found = mean(np.array(marker.line))
        value = _length(round(float(found.values[0]), 2), words["line"])
        sure = _sure(found.errors[0], words["line"])
        lines.append(_line("line", value, f"mean of {_readings(len(marker.line) - len(found.left_out))}{sure}"))
        lines += _left_out("line", marker.line, words["line"], found.left_out)
    if marker.faded:
        least, most = min(marker.faded), max(marker.faded)
        value = f"{math.floor(least / 100 + 1e-6) / 10:g} m" if least >= 1000 else f"{math.ceil(least):g} mm"
        span = f", which went {least / 1000:.3g} to {most / 1000:.3g} m" if len(marker.faded) > 1 else ""
        how = f"the shortest of {_readings(len(marker.faded))}{span}; a swap is planned at {FULL_SHARE:.0%} of it"
        lines.append(_line("ink_length", _quoted(value), how))
    return lines + seal_lines(marker)


def seal_lines(marker: MarkerReadings) -> list[str]:
    """What the card showed of sealer and coat, for the sheet."""
    if marker.sealed_with is not None and marker.sealed_ran is not None:
        shown = "ran" if marker.sealed_ran else "did not run"
        return [
            _line("sealed_with", _quoted(marker.sealed_with), "as tried on the card"),
            _line(
                "runs", "true" if marker.sealed_ran else "false", f"sealed with it, the lines {shown} under the coat"
            ),
        ]
    if marker.plain_ran is not None:
        shown = "ran" if marker.plain_ran else "did not run"
        return [_line("runs", "true" if marker.plain_ran else "false", f"unsealed, the lines {shown} under the coat")]
    if marker.sealed_with is not None:
        return ["# sealed_with: did the lines run under the coat? type in sealed_ran as well"]
    if marker.sealed_ran is not None:
        return ["# sealed_ran: with which sealer? type in sealed_with as well"]
    return []


def machine_lines(machine: MachineReadings, words: dict[str, object]) -> list[str]:
    """The machine's part of a job, and what is for the controller's own settings."""
    lines, notes = [], [*square_notes(machine, words), *backlash_notes(machine, words)]
    if machine.wheel is not None:
        lines += [
            "[machine]",
            _line("acceleration", _quoted(words["wheel"]), "the last wheel that is round and closed"),
        ]
    offset, runout = runout_lines(machine, words)
    lines += ([""] if lines and offset else []) + offset
    notes += runout
    if notes:
        head = "# For the controller's own settings or the mechanics; underdraw corrects none of it:"
        lines += ([""] if lines else []) + [head, *notes]
    return lines


def square_notes(machine: MachineReadings, words: dict[str, object]) -> list[str]:
    """Scale and squareness."""
    notes = []
    if (machine.rising or machine.falling) and not shows_lean(machine):
        notes.append("# diagonals show nothing without a side along X and one along Y: measure those as well")
    square = square_of(machine)
    if square is None:
        return notes
    for axis, scale, error in zip("XY", square.scale.tolist(), square.scale_errors.tolist(), strict=True):
        if math.isnan(scale):
            continue
        way = "long" if scale >= 0 else "short"
        notes.append(
            f"# {axis} draws {abs(scale) * 100:.2f} % {way}{_percent(error)}: its steps per millimetre times "
            f"{1 / (1 + scale):.5f}"
        )
    if not math.isnan(square.lean):
        degrees, error = math.degrees(square.lean), math.degrees(square.lean_error)
        sure = "" if math.isnan(error) else f" ± {2 * error:.3f}°"
        where = "right" if degrees >= 0 else "left"
        notes.append(
            f"# Y leans {abs(degrees):.3f}°{sure} to the {where}: {abs(math.sin(square.lean)) * SIDE_MM:.2f} mm in "
            f"{SIDE_MM:g} mm"
        )
    for (key, number), off in square.left_out.items():
        typed = words[key]
        notes.append(_disagrees(key, number, typed[number - 1] if isinstance(typed, list) else typed, off))
    if math.isnan(square.scatter):
        notes.append("# there are as many unknowns as readings: nothing checks these; measure each three times")
    return notes


def backlash_notes(machine: MachineReadings, words: dict[str, object]) -> list[str]:
    """What each axis loses when it turns round."""
    notes = []
    for axis, found in backlash_of(machine).items():
        key = f"step_{axis}"
        count = len(getattr(machine, key)) - len(found.left_out)
        size, sure = f"{found.values[0]:.2f} mm", _sure(found.errors[0], "1 mm")
        notes.append(f"# backlash of {axis.upper()}: {size}{sure}, mean of {_readings(count)}")
        notes += _left_out(key, getattr(machine, key), words[key], found.left_out)
    return notes


def runout_lines(machine: MachineReadings, words: dict[str, object]) -> tuple[list[str], list[str]]:
    """The holder's offset, where the one now set was typed in, and the tip's runout as a note."""
    runout = runout_of(machine)
    if runout is None:
        return [], []
    (x, y), errors = runout
    sure = "" if np.isnan(errors).any() else f" ± {2 * max(errors):.2f} mm"
    note = (
        f"# the tip is {abs(x):.2f} mm {'right' if x >= 0 else 'left'} and {abs(y):.2f} mm "
        f"{'away' if y >= 0 else 'near'} of the holder's middle{sure}: put markers in the same way round"
    )
    if machine.holder_offset is None:
        return [], [note]
    unit = unit_written(words["holder_offset"])
    sides = (_number(mm, unit) for mm in (machine.holder_offset[0] + x, machine.holder_offset[1] + y))
    middle = f"{words['holder_offset']} and the tip's own {x:.2f} x {y:.2f} mm{sure}"
    return ["[holder]", _line("offset", f'"{" x ".join(sides)} {unit}"', middle)], [note]


def _left_out(key: str, values: Sequence[float], typed: object, left_out: dict[int, float]) -> list[str]:
    return [
        _disagrees(key, row + 1, typed[row] if isinstance(typed, list) else values[row], off)
        for row, off in left_out.items()
    ]


def _disagrees(key: str, number: int, typed: object, off: float) -> str:
    way = "more" if off > 0 else "less"
    return (
        f"# reading {number} of {key}, {typed}, is {abs(off):.2f} mm {way} than the others give: left out; "
        "measure it again"
    )


def _line(key: str, value: str, how: str) -> str:
    return f"{f'{key} = {value}':<{COMMENT_COLUMN}}  # {how}"


def _quoted(words: object) -> str:
    """A basic string of TOML 1.0.0, which JSON's are but for DEL."""
    return json.dumps(str(words), ensure_ascii=False).replace("\x7f", "\\u007f")


def _length(mm: float, typed: object, up: bool = False) -> str:
    """A length in the unit that its readings were typed in."""
    unit = unit_written(typed[0] if isinstance(typed, list) else typed)
    return f'"{_number(mm, unit, up)} {unit}"'


def _number(mm: float, unit: str, up: bool = False) -> str:
    value, digits = (mm / MM_PER_INCH, 4) if unit == "in" else (mm, 2)
    return f"{math.ceil(value * 10**digits - 1e-6) / 10**digits if up else value:.{digits}f}".rstrip("0").rstrip(".")


def _sure(error: float, typed: object) -> str:
    """Twice the standard error: so far off the truth is once in twenty."""
    unit = unit_written(typed[0] if isinstance(typed, list) else typed)
    return "" if math.isnan(error) else f", ± {_number(2 * error, unit)} {unit}"


def _percent(error: float) -> str:
    return "" if math.isnan(error) else f" (± {2 * error * 100:.2f} %)"


def _readings(count: int) -> str:
    return "one reading" if count == 1 else f"{count} readings"
