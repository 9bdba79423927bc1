"""Programs read by parsers that are not ours (PyPI): the same moves, bounds and drawn length."""

import math
import re

import numpy as np
import pytest


def bare(data: bytes) -> str:
    return re.sub(r"\([^)]*\)", "", data.decode())


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("controller", ["rs274", "lines"])
def test_gcodeparser_finds_the_same_ends_and_centres(garden, write, read_back, controller, units):
    gcodeparser = pytest.importorskip("gcodeparser")
    drawing = garden(gold=2)
    data = write(drawing, controller=controller, units=units).files[0].data
    scale = 25.4 if units == "in" else 1.0
    moves = read_back(data, drawing).drawn.moves
    rows = [
        line
        for line in gcodeparser.parse_gcode_lines(bare(data))
        if line.command in (("G", 0), ("G", 1), ("G", 2), ("G", 3))
    ]
    assert len(rows) == len(moves)
    assert [row.command[1] for row in rows] == moves.kind.tolist()
    place = np.full(3, np.nan)
    for row, end, start, centre in zip(rows, moves.end, moves.start, moves.centre, strict=True):
        for axis, letter in enumerate("XYZ"):
            if letter in row.params:
                place[axis] = row.params[letter] * scale
        assert np.allclose(place, end, equal_nan=True)
        if "I" in row.params:
            assert np.allclose(start[:2] + np.array([row.params["I"], row.params["J"]]) * scale, centre)


def test_pygcode_finds_the_same_drawn_length_and_bounds(garden, write, read_back):
    pygcode = pytest.importorskip("pygcode")
    drawing = garden(gold=2)
    data = write(drawing).files[0].data
    machine = pygcode.Machine()
    drawn, low, high = 0.0, [math.inf] * 2, [-math.inf] * 2
    for text in bare(data).splitlines():
        line = pygcode.Line(text.replace("G61", "").replace("G54", ""))
        before = machine.pos.copy() if hasattr(machine.pos, "copy") else pygcode.machine.Position(**machine.pos.values)
        machine.process_block(line.block)
        after = machine.pos
        found = [
            code
            for code in line.block.gcodes
            if type(code).__name__ in ("GCodeLinearMove", "GCodeArcMoveCW", "GCodeArcMoveCCW")
        ]
        if not found or before.Z > 0 or after.Z > 0 or (before.X, before.Y) == (after.X, after.Y):
            continue
        for spot in (before, after):
            low, high = [min(low[0], spot.X), min(low[1], spot.Y)], [max(high[0], spot.X), max(high[1], spot.Y)]
        params = found[0].params
        if "I" not in params:
            drawn += math.hypot(after.X - before.X, after.Y - before.Y)
            continue
        i, j = params["I"].value, params["J"].value
        radius, first = math.hypot(i, j), math.atan2(-j, -i)
        last = math.atan2(after.Y - before.Y - j, after.X - before.X - i)
        turn = (first - last if type(found[0]).__name__ == "GCodeArcMoveCW" else last - first) % (2 * math.pi)
        drawn += radius * turn
    ours = read_back(data, drawing).drawn
    assert drawn == pytest.approx(ours.drawn_mm, rel=1e-6)
    ends = np.vstack([ours.moves.start[ours.moves.drawing, :2], ours.moves.end[ours.moves.drawing, :2]])
    assert low == pytest.approx(ends.min(axis=0).tolist(), abs=1e-6)
    assert high == pytest.approx(ends.max(axis=0).tolist(), abs=1e-6)
