"""The sections of a job (canvas, machine, holder, markers, chain): settings classes, read by `job_file`."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from underdraw.job.settings import (
    Acceleration,
    Choice,
    Colour,
    FilePath,
    Flag,
    Kind,
    Length,
    Many,
    Name,
    Size,
    Speed,
    Table,
    Text,
    Time,
    read_settings,
    setting,
)

MOST_LIFT_MM = 150.0  # more is a slip of the pen, and drives Z into its stop: small routers lift less (common practice)
LONGEST_DOWN_S = 30.0  # a tip that stands that long leaves a blot (common practice, no source)
FINEST_LINE_MM = 0.01  # no pen draws a line that is finer
MOST_PRESS_MM = 20.0  # more is a slip of the pen: springs of marker holders give by some millimetres (common practice)
BLENDED_MM = 0.2  # a corner that may be rounded off: from memory
EXACT_MM = 0.05  # even a machine that keeps to the path passes a slight turn without stopping: from memory


class Stretch(Kind):
    """How much the canvas gives when it is stretched, along x and y: `0.6 % x 0.4 %`, as shares (0.006, 0.004)."""

    metavar = "PERCENT"
    MOST = 0.10  # canvas torn or mismeasured before that

    def read(self, raw: object) -> tuple[float, float]:
        halves = str(raw).replace("×", "x").split("x")
        shares = []
        for half in halves:
            number = half.strip()
            try:
                shares.append(float(number.removesuffix("%")) / 100)
            except ValueError:
                shares.append(-1.0)
            if not number.endswith("%") or not 0 <= shares[-1] <= self.MOST:
                raise ValueError(f"expected a stretch from 0 % to 10 %, such as 0.6 % x 0.4 %, got {raw!r}")
        if len(shares) > 2:
            raise ValueError(f"expected a stretch along x and y, such as 0.6 % x 0.4 %, got {raw!r}")
        return shares[0], shares[-1]

    def plain(self, value: tuple[float, float]) -> list[float]:
        return list(value)


class SectionCount(Kind):
    """In how many sections a panel is drawn that is longer than the bed: `auto`, as few as it takes, or a number."""

    metavar = "auto|NUMBER"
    MOST = 20  # a longer panel is a frieze of several

    def read(self, raw: object) -> int | str:
        if raw == "auto":
            return "auto"
        wrong = ValueError(f"expected auto, or a whole number from 2 to {self.MOST}, got {raw!r}")
        if isinstance(raw, bool) or not isinstance(raw, (int, str)) or not str(raw).strip().isdecimal():
            raise wrong
        if not 2 <= int(raw) <= self.MOST:
            raise wrong
        return int(raw)

    def schema(self) -> dict[str, object]:
        return {"anyOf": [{"enum": ["auto"]}, {"type": "integer", "minimum": 2, "maximum": self.MOST}]}


@dataclass(frozen=True)
class CanvasSection:
    """The panel; lengths in mm."""

    face: tuple[float, float] | None = setting(
        Size(), None, "front of the finished panel; if omitted: the artwork's page"
    )
    depth: float = setting(Length(), "1.5 in", "height of the frame's side, front edge to back edge")
    bleed: float = setting(Length(), "0.5 in", "drawing carried past the frame's back edge")
    staple: float = setting(Length(), "1 in", "canvas beyond the drawing, stapled to the board")
    strip: str = setting(
        Choice("flat", "down"),
        "flat",
        "the staple strip lies flat on the bed, or is folded down the board's edge first",
    )
    mount: str = setting(
        Choice("board", "stretched"), "board", "flat canvas wrapped afterwards, or one already on its frame"
    )
    stretch: tuple[float, float] = setting(
        Stretch(), "0 % x 0 %", "what the canvas gives when stretched, along x and y"
    )


@dataclass(frozen=True)
class KeepOutSection:
    """A box that no move may cross: a clamp, a staple, a fence; lengths in mm."""

    name: str = setting(Name(), "keep-out", "what you call it")
    at: tuple[float, float] = setting(
        Size(above=None), "0 x 0 mm", "its near left corner, from the board's lower left corner, as the board lies"
    )
    size: tuple[float, float] = setting(
        Size(), "20 x 20 mm", "its width and depth, half of the marker's body all round with it"
    )
    height: float = setting(
        Length(above=0.0, most=MOST_LIFT_MM), "30 mm", "height of the tip above the canvas that clears it"
    )


@dataclass(frozen=True)
class MachineSection:
    """The router; lengths in mm, speeds in mm/s, accelerations in mm/s²."""

    bed: tuple[float, float] | None = setting(Size(), None, "the router's travel; if omitted: not checked")
    sections: int | str | None = setting(
        SectionCount(),
        None,
        "draw a panel that is too long for the bed one way in sections, the board moved along between them: auto, or "
        "how many; if omitted: such a panel is refused",
    )
    height: float | None = setting(
        Length(above=0.0), None, "how high the tip can rise above the canvas; if omitted: not checked"
    )
    controller: str | None = setting(Text(), None, "which controller writes the program")
    units: str = setting(Choice("mm", "in"), "mm", "units of the program")
    rapid: float = setting(Speed(), "120 in/min", "speed with the marker lifted")
    acceleration: float = setting(Acceleration(), "300 mm/s2", "what the axes reach without losing steps")
    rapid_z: float | None = setting(Speed(), None, "speed up and down; if omitted: rapid")
    acceleration_z: float | None = setting(
        Acceleration(), None, "what the Z axis reaches without losing steps; if omitted: acceleration"
    )
    corner: float | None = setting(
        Length(), None, "how far the machine rounds a corner, for the time estimate; if omitted: by its path"
    )
    path: str = setting(
        Choice("exact", "blend"), "exact", "whether corners are kept as drawn, or rounded to go faster (G61, G64)"
    )
    zero: str = setting(
        Choice("board", "face", "centre", "pin"),
        "board",
        "where program zero lies: a lower left corner, the middle, or the pin",
    )
    park: tuple[float, float] = setting(
        Size(above=None), "0 x 0 mm", "where markers are swapped, from the board's lower left corner"
    )
    keep_out: tuple[KeepOutSection, ...] = setting(
        Many(Table(KeepOutSection)), (), "boxes that no move crosses lower than their height: clamps, staples, a fence"
    )
    prime_at: tuple[float, float] | None = setting(
        Size(above=None),
        None,
        "lower left corner of a scrap of 60 x 40 mm beside a canvas on its frame, where markers with `prime` are "
        "primed; from the board's lower left corner",
    )
    pin: tuple[float, float] = setting(
        Size(above=None), "0 x 0 mm", "the first index pin, from the board's lower left corner"
    )

    @property
    def rounding(self) -> float:
        """mm: how far the machine rounds corners, for the clock."""
        return (BLENDED_MM if self.path == "blend" else EXACT_MM) if self.corner is None else self.corner

    @property
    def up_and_down(self) -> tuple[float, float]:
        """mm/s and mm/s²: the greatest speed along Z, and the acceleration there."""
        speed = self.rapid if self.rapid_z is None else self.rapid_z
        return speed, self.acceleration if self.acceleration_z is None else self.acceleration_z


@dataclass(frozen=True)
class HolderSection:
    """The holder; what is not set is the named holder's own."""

    use: str | None = setting(Text(), None, "which holder carries the marker")
    offset: tuple[float, float] | None = setting(
        Size(above=None), None, "tip minus spindle axis, right and away from you"
    )
    zero_with: str = setting(
        Choice("tip", "axis"), "tip", "what is put over program zero: the marker's tip, or the spindle's axis"
    )
    lift: float | None = setting(
        Length(above=0.0, most=MOST_LIFT_MM), None, "height of the tip above the canvas in travel"
    )
    press: float | None = setting(
        Length(most=MOST_PRESS_MM),
        None,
        "how far a spring is pressed in while drawing; in a rigid holder no more than the nib gives",
    )
    swap_lift: float | None = setting(
        Length(above=0.0, most=MOST_LIFT_MM),
        None,
        "height at which markers are changed, at the start and the end too; if omitted: the lift",
    )
    hop: float | None = setting(
        Length(above=0.0, most=MOST_LIFT_MM),
        None,
        "a lower lift between strokes that are near to each other; if omitted: always the lift",
    )
    hop_within: float = setting(Length(), "20 mm", "how far apart such strokes are at most, where hop is set")
    clearance: float | None = setting(Length(), None, "height at which the slow last approach begins")
    touch_speed: float | None = setting(Speed(), None, "speed of that approach")
    settle: float | None = setting(
        Time(LONGEST_DOWN_S), None, "wait with the tip down before a stroke, for ink that starts slowly"
    )
    measured: bool = setting(
        Flag(), False, "offset, lift and press here were measured with this holder: no warning where its own differ"
    )


@dataclass(frozen=True)
class MarkerSection:
    """One marker; the first takes every colour that no other names."""

    name: str = setting(Name(), "outline", "what you call it")
    ink: str | None = setting(Text(), None, "its kind of ink")
    body: str | None = setting(
        Text(), None, "another marker of the job that this one is too, with other settings: no swap between them"
    )
    tip: float = setting(Length(FINEST_LINE_MM), "0.7 mm", "width of its tip, as the maker has it")
    line: float | None = setting(
        Length(FINEST_LINE_MM),
        None,
        "width of the line it draws on this canvas, from the swatch; if omitted: the tip's",
    )
    colours: tuple[str, ...] = setting(Many(Colour()), (), "artwork colours drawn with it")
    colour: str | None = setting(Colour(), None, "what it looks like on canvas; if omitted: the first of its colours")
    ink_length: float | None = setting(
        Length(10.0), None, "line one marker draws before it fades, measured with your own"
    )
    speed: float | None = setting(Speed(), None, "drawing speed; if omitted: its ink's")
    offset: tuple[float, float] = setting(
        Size(above=None), "0 x 0 mm", "its tip beside the first marker's in the same holder, right and away from you"
    )
    settle: float | None = setting(
        Time(LONGEST_DOWN_S), None, "wait with the tip down before a stroke; if omitted: the holder's"
    )
    press: float | None = setting(
        Length(most=MOST_PRESS_MM),
        None,
        "how far it is pressed in, in a rigid holder no more than its nib gives; if omitted: the holder's",
    )

    prime: float | None = setting(
        Length(above=0.0), None, "line it draws in a corner square before each load; if omitted: none"
    )
    dries: float | None = setting(
        Time(),
        None,
        "how long its line stays wet: strokes that cross it sooner are reported, and avoided where that costs little",
    )
    sealed_with: str | None = setting(Text(), None, "the sealer that your own card was tried with, before a coat")
    runs: bool | None = setting(
        Flag(), None, "whether its lines ran under the coat of your own card, sealed with that; if omitted: not tried"
    )

    @property
    def line_width(self) -> float:
        """mm that its line is wide on the canvas: as measured, or the tip's where it was not."""
        return self.tip if self.line is None else self.line

    @property
    def looks(self) -> str:
        """The colour to show it in."""
        return self.colour or (self.colours[0] if self.colours else "#1b1b3a")


@dataclass(frozen=True)
class StagesSection:
    """The chain; each stage's own settings stand beside these, under its name."""

    chain: tuple[str, ...] | None = setting(
        Many(Text()), None, "stages in order; if omitted: every ranked one installed"
    )
    plugins: tuple[str, ...] = setting(Many(FilePath()), (), "plugin files of this job, relative to it")


SECTIONS: dict[str, type] = {
    "canvas": CanvasSection,
    "machine": MachineSection,
    "holder": HolderSection,
    "marker": MarkerSection,  # [[marker]], one table each
    "stages": StagesSection,
}


@dataclass(frozen=True)
class Job:
    """A job as read: typed sections, and `data`, the plain values as written (what the wire carries).

    Sections that plugins claim through `job_key` ([artwork], for one) are in `data` alone; read them with `at`.
    `file` is the one it was read from, and `folder` is where its relative paths start; None when it came by the wire.
    """

    name: str = "drawing"
    canvas: CanvasSection = field(default_factory=CanvasSection)
    machine: MachineSection = field(default_factory=MachineSection)
    holder: HolderSection = field(default_factory=HolderSection)
    markers: tuple[MarkerSection, ...] = (MarkerSection(),)
    stages: StagesSection = field(default_factory=StagesSection)
    data: Mapping[str, Any] = field(default_factory=dict)
    folder: Path | None = None
    file: Path | None = None

    def marker(self, name: str) -> MarkerSection:
        """The marker of that name, or the first one where the job has none such."""
        return next((marker for marker in self.markers if marker.name == name), self.markers[0])

    def body(self, name: str) -> str:
        """The marker that is in the holder while this one draws: itself, or the one whose other settings it has."""
        return next((marker.body or name for marker in self.markers if marker.name == name), name)

    def marker_for(self, colour: str) -> MarkerSection:
        """The marker that draws an artwork colour (`#rrggbb`): the one that names it, else the first."""
        return next((marker for marker in self.markers if colour in marker.colours), self.markers[0])

    def stage_settings(self, stage: str) -> Mapping[str, Any]:
        """What the job sets in `[stages] STAGE = {…}`, as written."""
        written = self.data.get("stages", {}).get(stage, {})
        return written if isinstance(written, Mapping) else {}

    def at(self, key: str) -> Any:
        """What is written at `section.key`, or None."""
        section, _, name = key.partition(".")
        table = self.data.get(section)
        return table.get(name) if isinstance(table, Mapping) else None

    def with_canvas(self, **written: str) -> "Job":
        """A copy whose [canvas] has these keys too, as written (`face="12 x 16 in"`)."""
        table = {**self.data.get("canvas", {}), **written}
        return replace(self, canvas=read_settings(CanvasSection, table), data={**self.data, "canvas": table})
