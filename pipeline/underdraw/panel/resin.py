"""How much resin coats a face.

1 US gallon = 231 in³: NIST Handbook 44, appendix C; so at 1/8 in a gallon coats 231 / (1/8) / 144 = 12.83 ft².
"""

from dataclasses import dataclass

from underdraw.lengths import MM_PER_INCH
from underdraw.panel.geometry import Panel

ML_PER_GALLON = 231 * MM_PER_INCH**3 / 1000
FL_OZ_PER_GALLON = 128


@dataclass(frozen=True)
class Resin:
    """A coat: volumes in millilitres, of the face alone and with the sides."""

    thickness_mm: float
    face_ml: float
    with_sides_ml: float

    @property
    def face_gallons(self) -> float:
        """US gallons on the face."""
        return self.face_ml / ML_PER_GALLON


def resin(panel: Panel, thickness: float) -> Resin:
    """What a coat of one thickness (mm) takes; what drips off is not counted."""
    w, h = panel.face
    sides = 2 * (w + h) * panel.depth
    return Resin(thickness, w * h * thickness / 1000, (w * h + sides) * thickness / 1000)
