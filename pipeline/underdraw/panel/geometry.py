"""Sizes, boxes and folds of one panel, in board coordinates: mm, x right, y down from the board's top left corner.

Sums: common practice, no source. image = face + 2 x (depth + bleed) and canvas = image + 2 x staple strip, each way.
Stretch: canvas that gives by a share s ends (1 + s) times as long, so what must end as a length a is drawn a / (1 + s).
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, Self

from underdraw.drawing.boxes import Box, Point, Size
from underdraw.errors import InputError
from underdraw.job.sections import CanvasSection, Job
from underdraw.words.lengths import Rounding, format_length
from underdraw.words.units import written_unit

Segment = tuple[Point, Point]
Side = Literal["top", "right", "bottom", "left"]

SIDES: tuple[Side, ...] = ("top", "right", "bottom", "left")  # clockwise, as seen from the front
DECIMALS = 4  # as drawings keep coordinates, so that a fold and a point on it are the same number
FOLD_MARK_MM = 8.0  # a tick long enough to see and to outlast `shortest`, where the bleed has room for it


class ImpossiblePanel(InputError):
    """Sizes of which no panel can be made: `key` of a job's [canvas] that is wrong, and `why`, with the limit."""

    def __init__(self, key: str, why: str) -> None:
        super().__init__(f"[canvas] {key}: {why}", keys=("canvas", key))
        self.key = key
        self.why = why


def kept(mm: float) -> float:
    """A length as drawings keep it: to a tenth of a micrometre."""
    return round(mm, DECIMALS) + 0.0


@dataclass(frozen=True)
class Panel:
    """One panel as it is made: what was asked for, and every size and box that follows.

    `face`, `depth` and `bleed` are those of the finished panel; boxes, `image`, `board` and `canvas` are those of the
    flat canvas as it is drawn, before it is stretched. Without stretch the two are the same.
    With mount "stretched" the canvas is on its frame already: image = board = face, and nothing folds.
    `unit` is the one that the sizes were written in, for messages.
    """

    face: Size
    depth: float
    bleed: float
    staple: float
    mount: str = "board"
    strip: str = "flat"
    stretch: tuple[float, float] = (0.0, 0.0)
    bed: Size | None = None
    pin: Point = (0.0, 0.0)
    unit: str = "mm"
    sections: int | str | None = None  # asked for where it is longer than the bed: "auto", or how many

    def __post_init__(self) -> None:
        for name in ("depth", "bleed", "staple"):
            object.__setattr__(self, name, kept(getattr(self, name)))
        object.__setattr__(self, "face", (kept(self.face[0]), kept(self.face[1])))
        refuse_impossible(self)

    @classmethod
    def of(cls, job: Job) -> Self:
        """The panel that a job's [canvas] and [machine] describe.

        Raises InputError if the job sets no face (`fit` gives it the artwork's page) or sizes that cannot be.
        """
        canvas = job.canvas
        if canvas.face is None:
            raise InputError('[canvas] face is not set; write face = "12 x 16 in", or place the artwork first')
        return replace(
            cls.of_sections(canvas, job.machine.bed, job.machine.pin, written_unit(job.data)),
            sections=job.machine.sections,
        )

    @classmethod
    def of_sections(cls, canvas: CanvasSection, bed: Size | None, pin: Point = (0.0, 0.0), unit: str = "mm") -> Self:
        """The panel of a [canvas] section whose face is set."""
        assert canvas.face is not None
        lengths = {name: getattr(canvas, name) for name in ("depth", "bleed", "staple", "strip", "mount", "stretch")}
        return cls(face=canvas.face, bed=bed, pin=pin, unit=unit, **lengths)

    def with_sizes(self, **changes: object) -> Self:
        """A copy with some sizes changed; raises InputError as the first one would."""
        return replace(self, **changes)  # type: ignore[arg-type]

    def turned(self) -> Self:
        """The same panel turned 90°: width and height, and the stretch along them, change places."""
        return replace(self, face=self.face[::-1], stretch=self.stretch[::-1])

    @property
    def wraps(self) -> bool:
        """Whether canvas is folded round sides after it was drawn."""
        return self.mount == "board"

    @property
    def scale(self) -> tuple[float, float]:
        """How many times longer the finished panel is than the flat drawing, along x and y."""
        return (1 + self.stretch[0], 1 + self.stretch[1]) if self.wraps else (1.0, 1.0)

    @cached_property
    def flat_face(self) -> Size:
        """The face as it lies on the flat canvas."""
        return kept(self.face[0] / self.scale[0]), kept(self.face[1] / self.scale[1])

    @cached_property
    def flat_depth(self) -> Size:
        """The sides' depth on the flat canvas: of left and right (along x), of top and bottom (along y)."""
        return (kept(self.depth / self.scale[0]), kept(self.depth / self.scale[1])) if self.wraps else (0.0, 0.0)

    @cached_property
    def flat_bleed(self) -> Size:
        """The bleed on the flat canvas, along x and along y."""
        return (kept(self.bleed / self.scale[0]), kept(self.bleed / self.scale[1])) if self.wraps else (0.0, 0.0)

    @cached_property
    def side_width(self) -> Size:
        """From fold to the image's edge (depth and bleed) on the flat canvas, along x and along y."""
        return kept(self.flat_depth[0] + self.flat_bleed[0]), kept(self.flat_depth[1] + self.flat_bleed[1])

    @cached_property
    def image(self) -> Size:
        """Everything drawn: the face with depth and bleed on each side."""
        (w, h), (sx, sy) = self.flat_face, self.side_width
        return kept(w + 2 * sx), kept(h + 2 * sy)

    @property
    def board(self) -> Size:
        """The support board that the flat canvas is stapled to: the size of the image."""
        return self.image

    @cached_property
    def canvas(self) -> Size:
        """The flat canvas: image and staple strips; the frame's face where the canvas is on it already."""
        strip = self.staple if self.wraps else 0.0
        return kept(self.image[0] + 2 * strip), kept(self.image[1] + 2 * strip)

    @cached_property
    def cut(self) -> Size:
        """The piece of canvas to cut; for a canvas on its frame, what that frame took."""
        if self.wraps:
            return self.canvas
        beyond = 2 * (self.depth + self.bleed + self.staple)
        return kept(self.face[0] + beyond), kept(self.face[1] + beyond)

    @property
    def return_mm(self) -> float:
        """Canvas that ends up behind the frame: bleed and staple strip."""
        return kept(self.bleed + self.staple)

    @property
    def area_ratio(self) -> float:
        """Area of the image, as it is drawn, over that of the finished face."""
        return self.image[0] * self.image[1] / (self.face[0] * self.face[1])

    @cached_property
    def image_box(self) -> Box:
        """The image, which is the board."""
        return 0.0, 0.0, *self.image

    @cached_property
    def canvas_box(self) -> Box:
        """The canvas as it lies, staple strips and all: it begins left of and above the board."""
        strip = self.staple if self.wraps else 0.0
        return -strip, -strip, kept(self.image[0] + strip), kept(self.image[1] + strip)

    @property
    def strip_beside(self) -> float:
        """What lies on the bed beside the board, on each side: the staple strip, unless it is folded down."""
        return self.staple if self.wraps and self.strip == "flat" else 0.0

    @cached_property
    def lying_box(self) -> Box:
        """What lies on the bed: the canvas, or the board alone where the strip is folded down its edge."""
        beside = self.strip_beside
        return -beside, -beside, kept(self.image[0] + beside), kept(self.image[1] + beside)

    @cached_property
    def face_box(self) -> Box:
        """The face; its edges are the front folds."""
        (w, h), (sx, sy) = self.flat_face, self.side_width
        return sx, sy, kept(sx + w), kept(sy + h)

    @cached_property
    def frame_box(self) -> Box:
        """Face and sides without bleed; its edges are the back folds, where the canvas goes behind the frame."""
        bx, by = self.flat_bleed
        return bx, by, kept(self.image[0] - bx), kept(self.image[1] - by)

    @cached_property
    def side_boxes(self) -> Mapping[Side, Box]:
        """Each side with its bleed, from the fold to the image's edge, as long as the face; none if nothing folds."""
        if not self.wraps:
            return {}
        (x0, y0, x1, y1), (w, h) = self.face_box, self.image
        return {
            "top": (x0, 0.0, x1, y0),
            "right": (x1, y0, w, y1),
            "bottom": (x0, y1, x1, h),
            "left": (0.0, y0, x0, y1),
        }

    @cached_property
    def folds(self) -> Mapping[Side, Segment]:
        """The front folds, each right across the image; none where nothing folds."""
        return self._folds(self.face_box)

    @cached_property
    def back_folds(self) -> Mapping[Side, Segment]:
        """Where the canvas goes behind the frame, each right across the image; none where nothing folds."""
        return self._folds(self.frame_box)

    def _folds(self, box: Box) -> Mapping[Side, Segment]:
        if not self.wraps:
            return {}
        (x0, y0, x1, y1), (w, h) = box, self.image
        return {
            "top": ((0.0, y0), (w, y0)),
            "right": ((x1, 0.0), (x1, h)),
            "bottom": ((0.0, y1), (w, y1)),
            "left": ((x0, 0.0), (x0, h)),
        }

    @cached_property
    def corner_squares(self) -> tuple[Box, ...]:
        """The image's four corners, which fold away: top left, top right, bottom right, bottom left."""
        if not self.wraps:
            return ()
        (x0, y0, x1, y1), (w, h) = self.face_box, self.image
        return (0.0, 0.0, x0, y0), (x1, 0.0, w, y0), (x1, y1, w, h), (0.0, y1, x0, h)

    @cached_property
    def fold_marks(self) -> tuple[Segment, ...]:
        """Ticks at each fold's ends and at each side's middle, within the bleed, where they end up out of sight.

        Each runs from the image's edge inwards. None where nothing folds or there is no bleed.
        """
        if not self.wraps or not self.bleed:
            return ()
        (x0, y0, x1, y1), (w, h) = self.face_box, self.image
        along_x, along_y = (min(FOLD_MARK_MM, bleed) for bleed in self.flat_bleed)
        tall = ((0.0, along_y), (h, kept(h - along_y)))  # from the image's upper and lower edge
        wide = ((0.0, along_x), (w, kept(w - along_x)))
        upright = [((x, edge), (x, inner)) for x in (x0, kept(w / 2), x1) for edge, inner in tall]
        level = [((edge, y), (inner, y)) for y in (y0, kept(h / 2), y1) for edge, inner in wide]
        return (*upright, *level)

    @cached_property
    def pins(self) -> tuple[Point, Point]:
        """The two index pins, in board coordinates: the job's first one, and one as far from the board's other side."""
        (w, h), (x, y) = self.image, self.pin
        return (x, kept(h - y)), (kept(w - x), kept(h - y))


def refuse_impossible(panel: Panel) -> None:
    """Raise ImpossiblePanel for sizes of which no panel can be made, with the limit and why."""

    def say(mm: float, to: Rounding = "nearest") -> str:
        return format_length(mm, panel.unit, to)

    if min(panel.face) <= 0:
        read = f"{say(panel.face[0])} x {say(panel.face[1])}"
        raise ImpossiblePanel("face", f"expected a width and a height above 0, got {read}")
    for name in ("depth", "bleed", "staple"):
        if getattr(panel, name) < 0:
            raise ImpossiblePanel(name, f"expected a length of at least 0, got {say(getattr(panel, name))}")
    if max(panel.stretch) > 0.10 or min(panel.stretch) < 0:
        raise ImpossiblePanel(
            "stretch",
            f"expected from 0 % to 10 % (more tears the canvas, or was mismeasured), "
            f"got {panel.stretch[0]:.3%} x {panel.stretch[1]:.3%}",
        )
    if not panel.wraps:
        return
    if not panel.depth:
        raise ImpossiblePanel(
            "depth", '0 leaves no side to wrap; set a depth, or mount = "stretched" to draw the face alone'
        )
    half = min(panel.face) / 2
    if panel.bleed > half:
        raise ImpossiblePanel(
            "bleed",
            f"{say(panel.bleed)} is more than half the face's {say(2 * half)}, so that opposite returns "
            f"would meet behind the frame; use at most {say(half, 'down')}",
        )
    if panel.bed is not None and panel.depth >= max(panel.bed):
        raise ImpossiblePanel(
            "depth",
            f"{say(panel.depth)} is beyond the bed of {say(panel.bed[0])} x {say(panel.bed[1])}, "
            f"which takes a side of less than {say(max(panel.bed), 'down')} even with no face",
        )
