"""Canvas sizes that shops sell by name: French sizes, figure format.

From memory, to be confirmed by whoever can; measure the canvas you have.
"""

from underdraw import hookimpl
from underdraw.plugins.parts import CanvasSize

SOURCE = "French sizes, figure format: from memory"
FIGURE_CM = {
    1: (16, 22),
    2: (19, 24),
    3: (22, 27),
    4: (24, 33),
    5: (27, 35),
    6: (33, 41),
    8: (38, 46),
    10: (46, 55),
    12: (50, 61),
    15: (54, 65),
    20: (60, 73),
    25: (65, 81),
    30: (73, 92),
    40: (81, 100),
    50: (89, 116),
    60: (97, 130),
    80: (114, 146),
    100: (130, 162),
}  # number: (width, height) in cm, standing the tall way


@hookimpl
def underdraw_canvas_sizes() -> list[CanvasSize]:
    """The French figure sizes, 1F to 100F."""
    return [CanvasSize(f"{number}F", (w * 10.0, h * 10.0), SOURCE) for number, (w, h) in FIGURE_CM.items()]
