"""A gradient as the artwork writes it, and where it lies on a shape: in the drawing's millimetres.

Source: SVG 1.1 (2nd ed.), section 13.2.
"""

import math
from dataclasses import dataclass

from underdraw.drawing.affine import IDENTITY, Matrix, compose, inverse
from underdraw.drawing.boxes import Box
from underdraw.drawing.paint.gradients import SPREADS, Gradient, LinearGradient, RadialGradient, Spread, Stop
from underdraw_stages.import_.file.transforms import read_transform
from underdraw_stages.import_.file.user_units import View, user_units

UNIT = View(1.0, 1.0)  # of what is measured in shares of the shape's box
NEAREST_RIM = 0.999  # a focal point outside the circle is put at its rim (13.2.3), where the gradient still has a value


@dataclass(frozen=True, slots=True)
class WrittenGradient:
    """The element's name, its stops in order, and its attributes, those taken over through `href` among them."""

    name: str
    stops: tuple[Stop, ...]
    attributes: tuple[tuple[str, str], ...]

    def on_shape(self, matrix: Matrix, view: View, box: Box | None) -> Gradient | Stop | None:
        """What it paints a shape with; a Stop where that is one colour all over, None where it paints nothing.

        matrix: the shape's user units to mm. box: around the shape in them, for objectBoundingBox.
        """
        written = dict(self.attributes)
        if written.get("gradientUnits") != "userSpaceOnUse":
            if box is None or box[0] >= box[2] or box[1] >= box[3]:
                return None
            matrix = compose(matrix, (box[2] - box[0], 0.0, 0.0, box[3] - box[1], box[0], box[1]))
            view = UNIT
        if all(stop.look == self.stops[0].look for stop in self.stops):
            return self.stops[0]
        outer = compose(matrix, read_transform(written.get("gradientTransform", "")) or IDENTITY)
        spread: Spread = next((word for word in SPREADS if word == written.get("spreadMethod")), "pad")
        if self.name == "linearGradient":
            (x1, y1), (x2, y2) = (
                _point(written, "x1", "y1", "0%", view),
                _point(written, "x2", "y2", "0%", view, "100%"),
            )
            own = compose(outer, (x2 - x1, y2 - y1, y1 - y2, x2 - x1, x1, y1))
            return LinearGradient(self.stops, own, spread) if _maps_a_plane(own) else self.stops[-1]
        x, y = _point(written, "cx", "cy", "50%", view)
        radius = _length(written.get("r", "50%"), "d", view)
        own = compose(outer, (radius, 0.0, 0.0, radius, x, y))
        if radius <= 0 or not _maps_a_plane(own):
            return self.stops[-1]
        fx = (_length(written["fx"], "x", view) - x) / radius if "fx" in written else 0.0
        fy = (_length(written["fy"], "y", view) - y) / radius if "fy" in written else 0.0
        outside = math.hypot(fx, fy) / NEAREST_RIM
        focal = (fx / outside, fy / outside) if outside > 1 else (fx, fy)
        return RadialGradient(self.stops, own, spread, focal)


def _point(
    written: dict[str, str], x: str, y: str, default: str, view: View, default_x: str | None = None
) -> tuple[float, float]:
    return _length(written.get(x, default_x or default), "x", view), _length(written.get(y, default), "y", view)


def _length(text: str, axis: str, view: View) -> float:
    length = user_units(text, axis, view)
    return length if length is not None and math.isfinite(length) else 0.0


def _maps_a_plane(matrix: Matrix) -> bool:
    return all(map(math.isfinite, matrix)) and inverse(matrix) is not None
