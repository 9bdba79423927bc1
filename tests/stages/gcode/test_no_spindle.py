"""No program that can be written starts a spindle, coolant or laser: every controller, setting and kind of marker.

M3, M4, M7, M8 and S: NISTIR 6556 (2000), section 3.6. M62 to M68 and M106, which may switch a laser: from memory.
"""

import itertools
import re

import numpy as np
import pytest

from underdraw.program import check_program

STARTS = re.compile(r"M\s*0*(3|4|7|8|6[2-8]|106)(?!\d)|S\s*\d", re.IGNORECASE)
SETTINGS = [
    {},
    {"rehearse": True},
    {"split": "marker"},
    {"split": "load", "rehearse": True},
    {"from": 3, "to": 7},
    {"tolerance": "0.2 mm", "dated": True},
]
JOBS = [
    {},
    {"holder": {"use": "clamp", "settle": "0.3 s"}, "machine": {"zero": "centre"}},
    {
        "holder": {"offset": "20 x 5 mm", "lift": "12 mm", "clearance": "0 mm"},
        "machine": {"zero": "pin", "park": "3 x 4 mm"},
    },
]


def without_comments(data: bytes) -> str:
    return re.sub(r"\([^()\n]*\)", "", data.decode())


@pytest.mark.slow
@pytest.mark.parametrize("controller", ["rs274", "iso6983", "lines"])
def test_no_program_of_any_controller_setting_or_marker_starts_anything(garden, write, registry, controller):
    programs = 0
    combined = itertools.product(SETTINGS, JOBS, ("mm", "in"))
    for (settings, job, units), ink in zip(combined, itertools.cycle(registry.inks)):
        markers = [{"name": "outline", "ink": ink}, {"name": "gold (fine)", "ink": ink, "speed": "90 mm/s"}]
        drawing = garden(gold=3, loads=[1, 1, 2, 2, 2, 1, 1, 1], marker=markers, **job)
        for file in write(drawing, controller=controller, units=units, **settings).files:
            text = without_comments(file.data)
            assert not STARTS.search(text)
            assert re.search(r"^(%\n)?(N1 )?M0?5\n", text.lstrip())
            dangers = ("spindle", "coolant", "output")
            assert not [item for item in check_program(file.data).problems if item.code in dangers]
            programs += 1
    assert programs >= 54


def test_names_that_look_like_words_stay_in_comments(garden, write):
    name = "M3 S1000) M4 (G28"
    drawing = garden(marker=[{"name": name}])
    drawing = drawing.replace(marker=np.full(len(drawing), name, dtype=object))
    data = write(drawing).files[0].data
    assert not STARTS.search(without_comments(data))
    assert check_program(data).ok
