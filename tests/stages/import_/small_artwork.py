"""Small artwork to import in tests, and who watches the stage at it."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from underdraw import Drawing
from underdraw.job.sections import Job
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext

FIXTURES = Path(__file__).parents[3] / "fixtures" / "import"
INK = 'fill="none" stroke="#1b1b3a" stroke-width="0.5"'
SVG = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
PAGE = 'width="40mm" height="40mm" viewBox="0 0 40 40"'


class Watched(TrialContext):
    """The context of a stage that asks for no installed part."""

    def __init__(self, job: Job | None = None) -> None:
        super().__init__(Registry(), job)


def lines_of(drawing: Drawing) -> list[NDArray[np.float64]]:
    """Every part of a drawing as (n, 2) points."""
    return [drawing.part_coords(part) for part in range(len(drawing.parts) - 1)]
