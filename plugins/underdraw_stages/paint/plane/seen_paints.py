"""What paint shows on each face: a colour, a gradient with all that is over and under it, a pattern, or bare canvas."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from underdraw import Drawing
from underdraw.drawing.paint.colours import SHINES_THROUGH, Paints, PaintStack, paint_stack
from underdraw.drawing.paint.gradients import Gradient, LinearGradient
from underdraw.drawing.ragged import Ints, Mask
from underdraw_stages.paint.plane.faces import Faces

Kind = Literal["bare", "colour", "gradient", "pattern"]


@dataclass(frozen=True)
class SeenPaint:
    """One paint as the eye sees it: its colours "#rrggbb", and what kind of gradient.

    A gradient has a colour a stop; a pattern the first that it is painted with.
    """

    kind: Kind
    colours: tuple[str, ...] = ()
    way: str = ""  # of a gradient: linear, radial
    offsets: tuple[float, ...] = ()  # of its stops


BARE = SeenPaint("bare")


def seen_paints(drawing: Drawing, faces: Faces) -> tuple[list[SeenPaint], Ints]:
    """The paints that are seen, and (f,) which of them shows on each face."""
    stack = paint_stack(drawing, faces.fills, 2 * faces.fill_row)
    shown = stack.at(faces.point)
    rows = np.round(shown.rgb * 255).astype(np.int64) @ (65536, 256, 1)
    bare = (shown.cover == 0) & (drawing.ground is None)
    rows[bare] = -1
    values, paint = np.unique(rows, return_inverse=True)
    paints = [BARE if value < 0 else SeenPaint("colour", (f"#{value:06x}",)) for value in values.tolist()]
    index = {each: at for at, each in enumerate(paints)}
    paint = paint.astype(np.int64)
    for face, seen in mixed_paints(stack, faces, drawing.fill_pattern):
        paint[face] = index.setdefault(seen, len(index))
    return list(index), paint


def mixed_paints(stack: PaintStack, faces: Faces, patterned: Mask) -> Iterator[tuple[int, SeenPaint]]:
    """Each face on which a gradient or pattern shows, with what it looks like there; patterned: (s,) of each shape."""
    paints = stack.paints
    mixed = paints.gradient >= 0
    mixed[: 2 * len(patterned) : 2] |= patterned
    if not mixed[stack.paint].any() and not mixed[stack.ground]:
        return
    face, area = stack.tree.query(shapely.points(faces.point), predicate="within")
    order = np.lexsort((-stack.order[area], face))
    face, area = face[order], area[order]
    known: dict[tuple[int, ...], SeenPaint | None] = {}
    bounds = np.searchsorted(face, np.arange(len(faces.area) + 1)).tolist()
    levels = stack.paint[area].tolist()
    for at in range(len(faces.area)):
        layers = tuple(levels[bounds[at] : bounds[at + 1]])
        if layers not in known:
            known[layers] = look_of_layers(paints, mixed, visible_layers(paints, [*layers, stack.ground]))
        seen = known[layers]
        if seen is not None:
            yield at, seen


def visible_layers(paints: Paints, layers: list[int]) -> list[int]:
    """Those of the layers, from the top, through which the next one still shows, and that one."""
    through, seen = 1.0, []
    for layer in layers:
        if through <= SHINES_THROUGH:
            break
        seen.append(layer)
        gradient = _gradient(paints, layer)
        through *= 1 - float(paints.opacity[layer]) * (1.0 if gradient is None else gradient.least_opacity)
    return seen


def look_of_layers(paints: Paints, mixed: Mask, seen: list[int]) -> SeenPaint | None:
    """What paints on one another (from the top) look like if one is mixed: by the topmost such one, stop by stop.

    Other layers count with the one colour that stands for them, so that one entry is one thing to paint.
    """
    top = next((at for at, layer in enumerate(seen) if mixed[layer]), None)
    if top is None:
        return None
    if _gradient(paints, seen[top]) is None:
        code = int(np.round(paints.rgb[seen[top]] * 255).astype(np.int64) @ (65536, 256, 1))
        return SeenPaint("pattern", (f"#{code:06x}",))
    gradient = _gradient(paints, seen[top])
    assert gradient is not None
    colours = []
    for stop in gradient.stops:
        own = np.array([int(stop.colour[at : at + 2], 16) / 255 for at in (1, 3, 5)])
        rgb, left = np.zeros(3), 1.0
        for at, layer in enumerate(seen):
            shade = own if at == top else paints.rgb[layer]
            opacity = float(paints.opacity[layer]) * (stop.opacity if at == top else 1.0)
            rgb, left = rgb + left * opacity * shade, left * (1 - opacity)
        shown = np.round((rgb + left) * 255).astype(np.int64)  # what still shines through is primed canvas, white
        colours.append(f"#{int(shown @ (65536, 256, 1)):06x}")
    way = "linear" if isinstance(gradient, LinearGradient) else "radial"
    return SeenPaint("gradient", tuple(colours), way, tuple(stop.offset for stop in gradient.stops))


def _gradient(paints: Paints, layer: int) -> Gradient | None:
    number = int(paints.gradient[layer])
    return paints.gradients[number] if number >= 0 else None
