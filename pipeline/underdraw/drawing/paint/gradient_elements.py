"""Gradients as SVG 1.1 writes them: `linearGradient` and `radialGradient` in user units, as any browser reads them."""

from collections.abc import Iterable, Iterator
from typing import Any

from underdraw.drawing.affine import Matrix, compose
from underdraw.drawing.paint.gradients import Gradient, RadialGradient, Stop, colour, gradient_of, share

SVG = "{http://www.w3.org/2000/svg}"


def gradient_ids(columns: Iterable[Iterable[Gradient | None]], prefix: str = "gradient") -> dict[Gradient, str]:
    """An id for each gradient of a drawing's columns, in the order they are met; `prefix` keeps pictures apart."""
    ids: dict[Gradient, str] = {}
    last: Gradient | None = None
    for column in columns:
        for gradient in column:
            if gradient is not None and gradient is not last:
                ids.setdefault(gradient, f"{prefix}-{len(ids) + 1}")
            last = gradient
    return ids


def gradient_elements(ids: dict[Gradient, str], user: Matrix | None = None) -> Iterator[str]:
    """The elements for `<defs>`, one a line; `user`: mm to the user units of the picture, where those are others."""
    for gradient, identity in ids.items():
        matrix = gradient.matrix if user is None else compose(user, gradient.matrix)
        name, geometry = "linearGradient", 'x1="0" y1="0" x2="1" y2="0"'
        if isinstance(gradient, RadialGradient):
            x, y = map(_number, gradient.focal)
            name, geometry = "radialGradient", f'cx="0" cy="0" r="1" fx="{x}" fy="{y}"'
        spread = f' spreadMethod="{gradient.spread}"' if gradient.spread != "pad" else ""
        placed = " ".join(map(_number, matrix))
        stops = "".join(_stop(stop) for stop in gradient.stops)
        yield (
            f'<{name} id="{identity}" gradientUnits="userSpaceOnUse" {geometry} '
            f'gradientTransform="matrix({placed})"{spread}>{stops}</{name}>'
        )


def _stop(stop: Stop) -> str:
    opacity = f' stop-opacity="{_number(stop.opacity)}"' if stop.opacity < 1 else ""
    return f'<stop offset="{_number(stop.offset)}" stop-color="{stop.colour}"{opacity}/>'


def _number(value: float) -> str:
    return f"{value:.10g}"


def read_gradients(root: Any) -> dict[str, Gradient]:
    """The gradients of a drawing on the wire, by id. Raises KeyError, TypeError or ValueError for damaged ones."""
    found = {}
    for defs in root.iterchildren(f"{SVG}defs"):
        for element in defs.iterchildren(f"{SVG}linearGradient", f"{SVG}radialGradient"):
            attributes = element.attrib
            kind = "radial" if element.tag == f"{SVG}radialGradient" else "linear"
            placed = attributes["gradientTransform"].removeprefix("matrix(").removesuffix(")").split()
            stops = tuple(
                Stop(
                    share(stop.attrib["offset"]), colour(stop.attrib["stop-color"]), share(stop.get("stop-opacity", 1))
                )
                for stop in element.iterchildren(f"{SVG}stop")
            )
            focal = (attributes.get("fx", 0), attributes.get("fy", 0))
            found[attributes["id"]] = gradient_of(
                kind, stops, map(float, placed), attributes.get("spreadMethod", "pad"), map(float, focal)
            )
    return found
