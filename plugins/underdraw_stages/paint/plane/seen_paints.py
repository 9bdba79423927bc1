"""What paint shows on each face: a colour, a gradient with all that is over and under it, a pattern, or bare canvas."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, Self

import numpy as np
import shapely

from underdraw import Drawing
from underdraw.drawing.paint.colours import NO_GRADIENT, SHINES_THROUGH, Paints, PaintStack, paint_stack, rgb_of
from underdraw.drawing.paint.gradients import LinearGradient, Stop
from underdraw.drawing.ragged import Floats, Ints, Mask
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
    rows = codes_of(shown.rgb)
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
    """Each face on which a gradient or pattern shows, with what it looks like there; patterned: (s,) of each shape.

    Between two hard stops a gradient shows a band: only if that fades does the gradient count as one.
    """
    paints = stack.paints
    mixed = paints.gradient != NO_GRADIENT
    mixed[: 2 * len(patterned) : 2] |= patterned
    if not mixed[stack.paint].any() and not mixed[stack.ground]:
        return
    face, area = stack.tree.query(shapely.points(faces.point), predicate="within")
    order = np.lexsort((-stack.order[area], face))
    face, paint = face[order], stack.paint[area[order]]
    bounds = np.searchsorted(face, np.arange(len(faces.area) + 1)).tolist()
    levels, bands = paint.tolist(), bands_at(paints, paint, faces.point[face]).tolist()
    known: dict[tuple[tuple[int, int], ...], SeenPaint | None] = {}
    for at in range(len(faces.area)):
        here = slice(bounds[at], bounds[at + 1])
        layers = (*zip(levels[here], bands[here], strict=True), (stack.ground, 0))
        if layers not in known:
            shown = (Layer.of(paints, level, band, mixed) for level, band in layers)
            known[layers] = look_of_layers(visible_layers(shown))
        seen = known[layers]
        if seen is not None:
            yield at, seen


def bands_at(paints: Paints, paint: Ints, points: Floats) -> Ints:
    """(k,) which of its bands each of (k,) paints shows at its own of (k, 2) points; 0 of what is no gradient."""
    band = np.zeros(len(paint), dtype=np.int64)
    several = np.array([len(gradient.bands) > 1 for gradient in paints.gradients] + [False], dtype=np.bool_)
    rows = np.flatnonzero(several[paints.gradient[paint]])  # the last is of no gradient
    gradient = paints.gradient[paint[rows]]
    shares = paints.table.shares(gradient, points[rows]) if len(rows) else np.empty(0)
    band[rows] = [
        paints.gradients[number].band_at(share)
        for number, share in zip(gradient.tolist(), shares.tolist(), strict=True)
    ]
    return band


@dataclass(frozen=True, eq=False)
class Layer:
    """One paint where it is seen: (3,) the colour that stands for it, its opacity, and what of it is mixed.

    stops: of a gradient, those that show here, if it fades. way: of a gradient; pattern: whether it is one.
    """

    rgb: Floats
    opacity: float
    stops: tuple[Stop, ...] = ()
    way: str = ""
    pattern: bool = False

    @classmethod
    def of(cls, paints: Paints, level: int, band: int, mixed: Mask) -> Self:
        """The paint of a level in the stack; band: which one of its gradient's."""
        rgb, opacity, number = paints.rgb[level], float(paints.opacity[level]), int(paints.gradient[level])
        if number == NO_GRADIENT:
            return cls(rgb, opacity, pattern=bool(mixed[level]))
        gradient = paints.gradients[number]
        stops = gradient.bands[band]
        if all(stop.look == stops[0].look for stop in stops):
            return cls(rgb_of([stops[0].colour])[0], opacity * stops[0].opacity)
        return cls(rgb, opacity, stops, "linear" if isinstance(gradient, LinearGradient) else "radial")

    @property
    def covers(self) -> float:
        """What share of the paint beneath it hides at least."""
        return self.opacity * min((stop.opacity for stop in self.stops), default=1.0)


def visible_layers(layers: Iterable[Layer]) -> list[Layer]:
    """Those of the layers, from the top, through which the next one still shows, and that one."""
    through, seen = 1.0, []
    for layer in layers:
        if through <= SHINES_THROUGH:
            break
        seen.append(layer)
        through *= 1 - layer.covers
    return seen


def look_of_layers(seen: list[Layer]) -> SeenPaint | None:
    """What paints on one another (from the top) look like if one is mixed: by the topmost such one, stop by stop.

    Other layers count with the one colour that stands for them, so that one entry is one thing to paint.
    """
    top = next((layer for layer in seen if layer.pattern or layer.stops), None)
    if top is None:
        return None
    if top.pattern:
        return SeenPaint("pattern", (hex_of(top.rgb),))
    colours = []
    for stop in top.stops:
        rgb, left = np.zeros(3), 1.0
        for layer in seen:
            shade = rgb_of([stop.colour])[0] if layer is top else layer.rgb
            opacity = layer.opacity * (stop.opacity if layer is top else 1.0)
            rgb, left = rgb + left * opacity * shade, left * (1 - opacity)
        colours.append(hex_of(rgb + left))  # what still shines through is primed canvas, white
    return SeenPaint("gradient", tuple(colours), top.way, tuple(stop.offset for stop in top.stops))


def codes_of(rgb: Floats) -> Ints:
    """(…,) whole numbers 0xrrggbb of (…, 3) sRGB from 0 to 1."""
    return np.asarray(np.round(rgb * 255).astype(np.int64) @ (65536, 256, 1))


def hex_of(rgb: Floats) -> str:
    """(3,) sRGB from 0 to 1 as "#rrggbb"."""
    return f"#{int(codes_of(rgb)):06x}"
