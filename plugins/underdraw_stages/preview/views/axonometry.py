"""The finished panel in axonometric projection: dimetric after ISO 5456-3 (from memory).

The face, which matters most, keeps its widths and heights at one scale; depth is halved. In a true (orthogonal)
dimetric projection with the ratio 1 : 1 : 1/2 the face's horizontal edges slope by arcsin(1/8) = 7.18° and the depth
edges by arccos(3/4) = 41.41°: by Gauss's theorem the squares of the three axes' images, as complex numbers, sum to 0.
"""

import math
from dataclasses import dataclass

from underdraw.drawing.affine import Matrix
from underdraw.panel import Panel, Side

SLOPE_SINE = 1 / 8
SLOPE_COSINE = math.sqrt(1 - SLOPE_SINE**2)
DEPTH_COSINE = 3 / 4
DEPTH_SINE = math.sqrt(1 - DEPTH_COSINE**2)
DEPTH_SCALE = 1 / 2


@dataclass(frozen=True)
class Axonometry:
    """The view of a panel with one corner turned to the viewer. Points of the panel: x right and y down from the
    face's top left corner, z away from the viewer into the wall; images in mm, y down.
    """

    panel: Panel
    corner: str  # "top-right" and so on

    @property
    def sides(self) -> tuple[Side, Side]:
        """The two sides that show."""
        vertical, horizontal = self.corner.split("-")
        return ("top" if vertical == "top" else "bottom"), ("right" if horizontal == "right" else "left")

    def image(self, x: float, y: float, z: float) -> tuple[float, float]:
        """Where a point of the panel shows."""
        right = 1.0 if "right" in self.corner else -1.0
        top = 1.0 if "top" in self.corner else -1.0
        # The nearer end of the face's horizontal edges lies lower when the panel is seen from above.
        return (
            SLOPE_COSINE * x + right * DEPTH_SCALE * DEPTH_COSINE * z,
            top * right * SLOPE_SINE * x + y - top * DEPTH_SCALE * DEPTH_SINE * z,
        )

    def matrix(self, part: str) -> Matrix:
        """The map from board coordinates to the image, for the face or one side."""
        origin, along_x, along_y = (self.image(*self.on_panel(part, *point)) for point in self._frame(part))
        x, y, _, _ = self.panel.face_box
        a, b = along_x[0] - origin[0], along_x[1] - origin[1]
        c, d = along_y[0] - origin[0], along_y[1] - origin[1]
        return a, b, c, d, origin[0] - a * x - c * y, origin[1] - b * x - d * y

    def _frame(self, _part: str) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]]:
        """The face's top left corner on the board, and points one mm right of it and below it."""
        x, y, _, _ = self.panel.face_box
        return (x, y), (x + 1.0, y), (x, y + 1.0)

    def on_panel(self, part: str, bx: float, by: float) -> tuple[float, float, float]:
        """A point of the board on the finished panel, taken to lie on the face or on one side."""
        (x0, y0, x1, y1), (sx, sy), (w, h) = self.panel.face_box, self.panel.scale, self.panel.face
        x, y = (bx - x0) * sx, (by - y0) * sy
        return {
            "face": (x, y, 0.0),
            "top": (x, 0.0, -y),
            "bottom": (x, h, (by - y1) * sy),
            "left": (0.0, y, -x),
            "right": (w, y, (bx - x1) * sx),
        }[part]

    def outline(self, part: str) -> list[tuple[float, float]]:
        """The four corners of the face or a side, in the image."""
        (w, h), d = self.panel.face, self.panel.depth
        spans: dict[str, list[tuple[float, float, float]]] = {
            "face": [(0, 0, 0), (w, 0, 0), (w, h, 0), (0, h, 0)],
            "top": [(0, 0, 0), (w, 0, 0), (w, 0, d), (0, 0, d)],
            "bottom": [(0, h, 0), (w, h, 0), (w, h, d), (0, h, d)],
            "left": [(0, 0, 0), (0, h, 0), (0, h, d), (0, 0, d)],
            "right": [(w, 0, 0), (w, h, 0), (w, h, d), (w, 0, d)],
        }
        return [self.image(*point) for point in spans[part]]

    @property
    def box(self) -> tuple[float, float, float, float]:
        """What the image takes: x0, y0, x1, y1."""
        points = [point for part in ("face", *self.sides) for point in self.outline(part)]
        xs, ys = zip(*points, strict=True)
        return min(xs), min(ys), max(xs), max(ys)


def written(matrix: Matrix) -> str:
    """As an SVG transform."""
    return f"matrix({' '.join(f'{value:.7g}' for value in matrix)})"
