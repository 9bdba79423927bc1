"""How the marker goes up, down and along, which a program alone can show."""

import numpy as np

from underdraw.program.moves import RAPID
from underdraw.program.rules.reading import Reading

FARTHEST_MM = 10_000.0  # beyond the bed of any small router (common practice, no source)
SAME_MM = 1e-4  # heights that differ by less are one: sums of steps in a relative program


def check(reading: Reading) -> None:
    """Rapids, lowering, lifting, pressing on, and the end."""
    moves, faults = reading.moves, reading.faults
    line, sideways = moves.line, moves.sideways
    rapid, down = moves.kind == RAPID, moves.down_at_start | moves.down_at_end
    lowers, raises = ~moves.down_at_start & moves.down_at_end, moves.down_at_start & ~moves.down_at_end
    stays = moves.down_at_start & moves.down_at_end
    with np.errstate(invalid="ignore"):
        sinks, rises = moves.end[:, 2] < moves.start[:, 2] - SAME_MM, moves.end[:, 2] > moves.start[:, 2] + SAME_MM
    unset = np.flatnonzero(sideways & np.isnan(moves.end[:, 2]))
    if len(unset):
        faults.add("height", int(line[unset[0]]), "moves sideways before any Z sets the marker's height")
    faults.add_all("feed", line[~rapid & ~(moves.feed > 0)], "a move at a feed of 0, or before any feed is set")
    faults.add_all("rapid-down", line[rapid & sideways & down], "a rapid (G0) moves sideways with the marker down")
    strikes = rapid & ~sideways & (lowers | (stays & sinks))
    faults.add_all("rapid-down", line[strikes], "a rapid (G0) puts the marker down: the tip strikes the canvas")
    faults.add_all("slanted", line[~rapid & sideways & lowers], "lowers the marker while it moves sideways")
    faults.add_all("slanted", line[~rapid & sideways & raises], "raises the marker while it moves sideways")
    drawing = ~rapid & sideways & stays
    faults.add_all("slanted", line[drawing & sinks], "presses the marker in farther while it draws")
    faults.add_all("slanted", line[drawing & rises], "presses the marker in less while it draws")
    standing, within = stays & ~sideways, "while it stands within a stroke"
    deeper, less = standing & reading.has_drawn & sinks, standing & rises
    faults.add_all("depth", line[deeper], f"presses the marker in farther {within}")
    faults.add_all("depth", line[less & reading.has_drawn], f"presses the marker in less {within}")
    faults.add_all("depth", line[less & ~reading.has_drawn], "presses the marker in too far before it draws")
    with np.errstate(invalid="ignore"):
        far = (np.abs(moves.end) > FARTHEST_MM).any(axis=1)
    faults.add_all("too-far", line[far], f"goes farther than {FARTHEST_MM / 1000:g} m from zero: no router does")
    if len(moves) and moves.down_at_end[-1]:
        faults.add("ends-down", int(line[-1]), "the program ends with the marker down")
    if not reading.blocks.ended:
        faults.add("no-end", int(line[-1]) if len(moves) else 0, "no M2, M30 or closing % ends the program")
