"""What paint shows on each face: a colour, a gradient with all that is over and under it, a pattern, or bare canvas."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from underdraw import Drawing
from underdraw.drawing.paint.colours import SHINES_THROUGH, PaintStack, Paints, paint_stack
from underdraw.drawing.paint.gradients import Gradient, LinearGradient
from underdraw.drawing.ragged import Floats, Ints, Mask
from underdraw_stages.paint.plane.faces import Faces

Kind = Literal["bare", "colour", "gradient"]


@dataclass(frozen=True)
class SeenPaint:
    """One paint as the eye sees it: its colours "#rrggbb" (of a gradient one a stop), and what kind of gradient."""

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
    for face, seen in gradients_seen(stack, faces):
        paint[face] = index.setdefault(seen, len(index))
    return list(index), paint


def gradients_seen(stack: PaintStack, faces: Faces) -> Iterator[tuple[int, SeenPaint]]:
    """Each face on which a gradient shows, with what it looks like there."""
    paints = stack.paints
    fades = paints.gradient >= 0
    if not fades[stack.paint].any() and not fades[stack.ground]:
        return
    face, area = stack.tree.query(_points(faces.point), predicate="within")
    order = np.lexsort((-stack.order[area], face))
    face, area = face[order], area[order]
    known: dict[tuple[int, ...], SeenPaint | None] = {}
    bounds = np.searchsorted(face, np.arange(len(faces.area) + 1)).tolist()
    levels = stack.paint[area].tolist()
    for at in range(len(faces.area)):
        layers = tuple(levels[bounds[at] : bounds[at + 1]])
        if layers not in known:
            known[layers] = gradient_of_layers(paints, [*layers, stack.ground])
        seen = known[layers]
        if seen is not None:
            yield at, seen


def _points(point: Floats) -> NDArray[Any]:
    import shapely

    return np.asarray(shapely.points(point))


def gradient_of_layers(paints: Paints, layers: list[int]) -> SeenPaint | None:
    """What paints on one another (from the top) look like if one is a gradient: each stop of the topmost gradient.

    Other layers count with the one colour that stands for them, so that one entry is one thing to paint.
    """
    through, seen = 1.0, []
    for layer in layers:
        if through <= SHINES_THROUGH:
            break
        seen.append(layer)
        gradient = _gradient(paints, layer)
        through *= 1 - float(paints.opacity[layer]) * (1.0 if gradient is None else gradient.least_opacity)
    top = next((at for at, layer in enumerate(seen) if _gradient(paints, layer) is not None), None)
    if top is None:
        return None
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
        rgb = np.round((rgb + left) * 255).astype(np.int64)  # what still shines through is primed canvas, white
        colours.append("#{:02x}{:02x}{:02x}".format(*rgb.tolist()))
    way = "linear" if isinstance(gradient, LinearGradient) else "radial"
    return SeenPaint("gradient", tuple(colours), way, tuple(stop.offset for stop in gradient.stops))


def _gradient(paints: Paints, layer: int) -> Gradient | None:
    number = int(paints.gradient[layer])
    return paints.gradients[number] if number >= 0 else None
