"""The stage `refit`: read what was measured, find the motion, hold it against tip and reach, and hand it on."""

from dataclasses import replace

import numpy as np

from underdraw import CannotDo, Context, Drawing, InputError, Result
from underdraw.drawing.facts import Motion, OnBoard
from underdraw.panel import Lying
from underdraw.words.quantities import counted, fine_length, size_in
from underdraw.words.units import unit_of
from underdraw_stages.refit import RefitSettings
from underdraw_stages.refit.best_motion import BestMotion, best_motion, off_from_the_others
from underdraw_stages.refit.readings import Reading, example, read_file

ANGLE_DIGITS, SHIFT_DIGITS = 9, 6  # a nanometre at a metre
PLAIN_SCALE = 2e-4  # a scale nearer to 1 is what reading a machine's display comes to
MOST_TURN_DEG = 45.0  # marks of a square or rectangle read in another order fit exactly, by a quarter or half turn
UNITS_MIXED = (20.0, 1 / 20.0)  # a scale beyond is inches read as millimetres, or the other way round


def refit(drawing: Drawing, settings: RefitSettings, context: Context) -> Result:
    """The same drawing on a board that lies elsewhere.

    Raises InputError for a file of readings that is wrong; CannotDo where a mark is off by more than half a tip, where
    the board lies turned as marks read in another order show it, or so that the bed does not reach the drawing.
    """
    if settings.measured is None:
        raise InputError(
            f"--measured is not set: name a file of readings, {example(unit_of(drawing.job))} for each mark"
        )
    lying = replace(Lying.of(drawing, context.registry), motion=None)
    section = section_of(settings.section, lying, drawing)
    readings = read_file(settings.measured, lying.marks, unit_of(drawing.job))
    here, there = points_of(readings, lying)
    best = best_motion(here, there)
    hold_against_the_tip(readings, best, drawing, settings.accept, context)
    hold_against_the_order(best, settings.accept, context)
    warn_of_weak_readings(readings, here, there, best, drawing, context)
    motion = Motion(round(best.angle_deg, ANGLE_DIGITS), (float(best.shift[0]), float(best.shift[1])))
    motion = replace(
        motion, shift_mm=(round(motion.shift_mm[0], SHIFT_DIGITS), round(motion.shift_mm[1], SHIFT_DIGITS))
    )
    drawn = drawing.select(drawing.section == section) if section else drawing
    replace(lying, motion=motion, section=section).require_drawing_in_reach(drawn)
    measured = tuple(reading.at for reading in readings)
    fact = replace(drawing.lying or OnBoard(), motion=motion, measured=measured, section=section)
    figures = {
        "angle_deg": motion.angle_deg,
        "shift_mm": list(motion.shift_mm),
        "residuals_mm": [round(float(np.hypot(*left)), 4) for left in best.residuals],
        "scale": round(best.scale, 7),
    }
    text = f"section {section}: " if section else ""
    text += summary(motion, best, unit_of(drawing.job))
    return Result(drawing.replace(lying=fact, programs=()), figures, text)


def section_of(asked: int | None, lying: Lying, drawing: Drawing) -> int:
    """The section that was measured for; 0 for a board that is drawn in one go. Raises InputError, CannotDo."""
    if lying.sections is None:
        if asked is not None:
            raise InputError(f"--section {asked}: the bed takes this board in one go; leave it out")
        return 0
    count = lying.sections.count
    if asked is None or asked > count:
        got = "it is not set" if asked is None else f"got {asked}"
        raise InputError(f"--section: expected the section to be drawn next, 1 to {count}, {got}")
    if not (drawing.section == asked).any():
        why = "order has not put its strokes into sections yet" if not drawing.section.any() else "no stroke is in it"
        raise CannotDo(f"there is nothing to draw in section {asked}: {why}")
    return asked


def points_of(readings: list[Reading], lying: Lying) -> tuple[np.ndarray, np.ndarray]:
    """(n, 2) program coordinates of the tip at each point, mm: where it was drawn, and where it was read."""
    beside = np.array(lying.taken_off)
    here = lying.to_program(np.array([reading.at for reading in readings])) + beside
    return here, np.array([reading.read for reading in readings]) + beside


def hold_against_the_tip(
    readings: list[Reading], best: BestMotion, drawing: Drawing, accept: bool, context: Context
) -> None:
    """Raise CannotDo, or warn where that is accepted, if a mark is off by more than half the thinnest tip in use."""
    off = np.hypot(*best.residuals.T)
    worst = int(off.argmax())
    half, unit = half_a_tip(drawing), unit_of(drawing.job)
    if off[worst] <= half:
        return
    text = (
        f"{readings[worst].name} is {fine_length(float(off[worst]), unit)} from where the motion of all marks puts it, "
        f"more than half a tip ({fine_length(half, unit)})"
    )
    if accept:
        context.warn(f"{text}; accepted")
        return
    if best.scale > UNITS_MIXED[0] or best.scale < UNITS_MIXED[1]:
        text += f"; the readings are {best.scale:.3g} times as far apart as the marks: is their unit right?"
    raise CannotDo(
        f"{text}\n  try: read {readings[worst].name} again, and check that it is the mark of that number\n"
        "  try: --accept, to go on all the same"
    )


def hold_against_the_order(best: BestMotion, accept: bool, context: Context) -> None:
    """Raise CannotDo, or warn where that is accepted, if the board is turned as marks in another order would have it.

    No mark is off then: of marks that lie alike on both ends of a board, each may be taken for the one opposite.
    """
    if abs(best.angle_deg) <= MOST_TURN_DEG:
        return
    text = f"the readings turn the board by {abs(best.angle_deg):.1f}°"
    if accept:
        context.warn(f"{text}; accepted")
        return
    raise CannotDo(
        f"{text}; marks that were read in another order than their numbers look like that\n"
        "  try: find each mark's number on the sheet, and read them again\n"
        "  try: --accept, if the board does lie turned like that"
    )


def half_a_tip(drawing: Drawing) -> float:
    """mm: half of the thinnest tip that draws anything; two lines farther apart show as two."""
    tips = [drawing.job.marker(str(name)).tip for name in set(drawing.marker.tolist())]
    return min(tips, default=drawing.job.markers[0].tip) / 2


def warn_of_weak_readings(
    readings: list[Reading], here: np.ndarray, there: np.ndarray, best: BestMotion, drawing: Drawing, context: Context
) -> None:
    """Two marks check nothing; of four or more, one that the others do not bear out is named."""
    unit = unit_of(drawing.job)
    if len(readings) == 2:
        context.warn("two marks: nothing checks the readings but the distance between them; measure a third")
        return
    if len(readings) < 4:
        return
    off = off_from_the_others(here, there)
    worst = int(off.argmax())
    half = half_a_tip(drawing)
    if off[worst] > half and np.hypot(*best.residuals[worst]) <= half:
        context.warn(
            f"{readings[worst].name} is {fine_length(float(off[worst]), unit)} from where the other marks put it; "
            "read it again"
        )


def summary(motion: Motion, best: BestMotion, unit: str) -> str:
    """How the board lies now, and how well that is known."""
    way = "counter-clockwise" if motion.angle_deg >= 0 else "clockwise"
    worst = fine_length(float(np.hypot(*best.residuals.T).max()), unit)
    text = (
        f"board turned {abs(motion.angle_deg):.3f}° {way} and moved {size_in(motion.shift_mm, unit)} at program zero; "
        f"{counted(len(best.residuals), 'mark')} within {worst}"
    )
    if abs(best.scale - 1) > PLAIN_SCALE:
        text += f"\n  a scale of {best.scale:.5f} would fit better; it is not applied"
    return text
