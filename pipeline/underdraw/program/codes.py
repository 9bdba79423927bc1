"""The words that the reader knows: G and M codes with their modal group and what the check thinks of them.

NISTIR 6556 (2000), sections 3.5 and 3.6 (meanings) and 3.4 (modal groups). Codes of the standard that make the path
depend on something that the program does not hold (stored offsets, tool lengths, the machine's own coordinates,
canned cycles) are known, and refused as such.
"""

from dataclasses import dataclass

FINE = ""


@dataclass(frozen=True)
class Code:
    """One G or M code: its modal group, and the fault it is (code and text), if any."""

    group: str
    fault: str = FINE
    text: str = FINE


_G_GROUPS: dict[str, tuple[float, ...]] = {
    "motion": (0, 1, 2, 3, 80),
    "plane": (17, 18, 19),
    "distance": (90, 91),
    "feed mode": (93, 94),
    "units": (20, 21, 70, 71),
    "cutter compensation": (40,),
    "length offset": (49,),
    "return mode": (98, 99),
    "coordinate system": (54,),
    "path control": (61, 61.1, 64),
    "non-modal": (4, 92, 92.1),
}

_G_REFUSED: dict[float, tuple[str, str]] = {
    10: ("non-modal", "G10 changes stored offsets: where later words lie is not in the program"),
    28: ("non-modal", "G28 goes to a place stored in the machine"),
    30: ("non-modal", "G30 goes to a place stored in the machine"),
    53: ("non-modal", "G53 moves in the machine's own coordinates"),
    92.2: ("non-modal", "G92.2 sets stored offsets aside: where later words lie is not in the program"),
    92.3: ("non-modal", "G92.3 takes up stored offsets: where later words lie is not in the program"),
    38.2: ("motion", "G38.2 probes: where it ends is not in the program"),
    41: ("cutter compensation", "G41 moves the path aside by a stored radius"),
    42: ("cutter compensation", "G42 moves the path aside by a stored radius"),
    43: ("length offset", "G43 changes the height by a stored length"),
    **{code: ("motion", f"G{code} is a drilling or boring cycle") for code in range(81, 90)},
    **{
        code: ("coordinate system", f"G{code:g} is another coordinate system: where it lies is not in the program")
        for code in (55, 56, 57, 58, 59, 59.1, 59.2, 59.3)
    },
}

G_CODES: dict[float, Code] = {
    **{code: Code(group) for group, codes in _G_GROUPS.items() for code in codes},
    **{code: Code(group, "mode", text) for code, (group, text) in _G_REFUSED.items()},
}

M_CODES: dict[float, Code] = {
    **{code: Code("stopping") for code in (0, 1, 2, 30, 60)},
    3: Code("spindle", "spindle", "M3 starts the spindle"),
    4: Code("spindle", "spindle", "M4 starts the spindle the other way round"),
    5: Code("spindle"),
    7: Code("mist", "coolant", "M7 switches mist coolant on"),
    8: Code("flood", "coolant", "M8 switches flood coolant on"),
    9: Code("coolant off"),
    48: Code("overrides"),
    49: Code("overrides"),
    # Not of NISTIR 6556, but known to switch what may be a laser: from memory.
    **{
        code: Code("output", "output", f"M{code} switches an output on, which may be a laser")
        for code in (62, 64, 67, 68, 106)
    },
    6: Code("tool change", "mode", "M6 changes the tool: a machine may move by itself, or turn its spindle"),
}

# G70 and G71 are the units of ISO 6983-1 and RS-274-D, where RS274/NGC has G20 and G21: from memory.
INCHES = (20, 70)

MODELESS = ("non-modal", "stopping", "motion")  # groups whose words set nothing that lasts, or that every move sets
PAUSES = (0, 60)  # the program waits for the operator
ENDS = (2, 30)
PLAIN_LETTERS = "XYZIJKRFPNGM"  # letters whose numbers the reader works with
KNOWN_LETTERS = PLAIN_LETTERS + "ST"  # S and T alone set a speed and a tool without starting or changing anything
