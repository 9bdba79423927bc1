"""What any controller, holder or stage must keep, as pytest tests: an author subclasses one class and names the part.

    from underdraw.testing import ControllerContract
    from my_plugin import CONTROLLER

    class TestMyController(ControllerContract):
        controller = CONTROLLER

Each test that fails gives one line on what is wrong with the part. pytest is needed here, and nowhere else.
"""

from underdraw.testing.controllers import ControllerContract
from underdraw.testing.holders import HolderContract
from underdraw.testing.sample_drawings import artwork, many_strokes, nothing, sample_job, strokes
from underdraw.testing.stages import StageContract

__all__ = [
    "ControllerContract",
    "HolderContract",
    "StageContract",
    "artwork",
    "many_strokes",
    "nothing",
    "sample_job",
    "strokes",
]
