"""What one part must know of another's work: typed facts that travel with a drawing, on the wire and in memory.

The history is for people; no stage reads another's record. Whoever does a thing states its fact here, so that any
stage can be swapped for one of another name.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import PurePath
from typing import Any, Literal, Self

from underdraw.drawing.affine import Matrix
from underdraw.drawing.boxes import Point
from underdraw.drawing.paint.gradients import Gradient, colour, moved_gradient
from underdraw.drawing.paint.gradients import from_plain as gradient_from_plain
from underdraw.drawing.paint.gradients import plain as plain_gradient

MOST_TURN_DEG = 360.0
MOST_SHIFT_MM = 1e6  # a kilometre: no board is measured farther off than that
PATH_LETTERS = set("ML0123456789.- ")
CLOSED_PATH_LETTERS = PATH_LETTERS | {"Z"}
MOST_FACTS = 100_000  # of a kind in one drawing: programs, folds, sources; a damaged file asks for no more


@dataclass(frozen=True)
class Motion:
    """How a board that was put back lies beside where it lay: a rigid motion of program coordinates.

    A point at c (mm; x right, y away from the operator, from program zero) is now at R·c + shift, R a turn by
    `angle_deg` degrees, counter-clockwise as seen from above.
    """

    angle_deg: float = 0.0
    shift_mm: Point = (0.0, 0.0)

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        angle = _finite(plain["angle_deg"], MOST_TURN_DEG)
        x, y = (_finite(value, MOST_SHIFT_MM) for value in plain["shift_mm"])
        return cls(angle, (x, y))


@dataclass(frozen=True)
class OnBoard:
    """That a drawing is on its board, and how.

    turned: whether the panel was turned 90° clockwise to go on the bed (the picture's top is to the right).
    page: the corners of the artwork's page in board coordinates (mm, y down), where they are known.
    sides_drawn: whether the artwork was drawn for the sides too, and not for the face alone.
    wrapped: whether its sides were filled, or left plain, by a stage that carries drawings round the frame.
    marks: the middles of the registration marks that are drawn on it, by their numbers (mm, y down).
    motion: what was measured of a board that was taken off and put back; None: it has not moved.
    measured: the points of the board (mm, y down) that it was measured at.
    section: the one, from 1, that the motion is of, where the board is longer than the bed; 0: all, or the whole.
    """

    turned: bool = False
    page: tuple[Point, ...] = ()
    sides_drawn: bool = False
    wrapped: bool = False
    marks: tuple[Point, ...] = ()
    motion: Motion | None = None
    measured: tuple[Point, ...] = ()
    section: int = 0

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        motion = plain.get("motion")
        return cls(
            turned=_flag(plain.get("turned", False)),
            page=_points(plain.get("page", ())),
            sides_drawn=_flag(plain.get("sides_drawn", False)),
            wrapped=_flag(plain.get("wrapped", False)),
            marks=_points(plain.get("marks", ())),
            motion=None if motion is None else Motion.from_plain(motion),
            measured=_points(plain.get("measured", ())),
            section=_count(plain.get("section", 0)),
        )


@dataclass(frozen=True)
class MirrorFold:
    """A fold beyond which the lines are those inside it, mirrored: the axis across it, and where it is (mm)."""

    axis: Literal["x", "y"]
    at_mm: float

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        axis = plain["axis"]
        if axis not in ("x", "y"):
            raise ValueError(f"a mirror fold's axis is x or y, not {axis!r}")
        return cls(axis, _finite(plain["at_mm"], MOST_SHIFT_MM))


@dataclass(frozen=True)
class Source:
    """A file that the drawing was made from: its name without folders, and the SHA-256 of its bytes."""

    file: str
    sha256: str

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        return cls(_text(plain["file"]), _text(plain["sha256"]))


@dataclass(frozen=True)
class Ground:
    """What the artwork's page was painted with, all over: a colour, or a gradient that the colour stands for."""

    colour: str
    gradient: Gradient | None = None

    def moved(self, matrix: Matrix) -> Self:
        """The same on a drawing that was moved."""
        gradient = self.gradient
        return self if gradient is None else replace(self, gradient=moved_gradient(gradient, matrix))

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        gradient = plain.get("gradient")
        return cls(colour(plain["colour"]), None if gradient is None else gradient_from_plain(gradient))


@dataclass(frozen=True)
class FaintEdges:
    """Edges of the artwork that are not drawn, as their two sides look alike: path data (absolute M, L; mm), length."""

    path: str
    length_mm: float

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        path = _text(plain["path"])
        if set(path) - PATH_LETTERS:
            raise ValueError("a path of faint edges holds more than M, L and numbers")
        return cls(path, _finite(plain["length_mm"], math.inf))


@dataclass(frozen=True)
class Trial:
    """One thing that a card tries: what kind of thing, the words on the card, and its strokes (from 1)."""

    kind: str
    words: str
    first: int
    last: int

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        return cls(_text(plain["kind"]), _text(plain["words"]), _count(plain["first"]), _count(plain["last"]))


@dataclass(frozen=True)
class Card:
    """That a drawing is no picture but a card to learn from: of a marker or of the machine, and what it tries."""

    subject: Literal["marker", "machine"]
    marker: str
    trials: tuple[Trial, ...]

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        subject = plain["subject"]
        if subject not in ("marker", "machine"):
            raise ValueError(f"a card is of a marker or a machine, not {subject!r}")
        return cls(subject, _text(plain["marker"]), tuple(Trial.from_plain(item) for item in _few(plain["trials"])))


@dataclass(frozen=True)
class Artwork:
    """What the strokes were made of, as the artwork shows it on the board: (s,) shapes in stacking order.

    paths: path data (absolute M, L, Z; mm), kept to a hundredth. fills, strokes: colours, "" for none; a gradient's
    stand-in. evenodd: fill rule. widths: of strokes, mm. fill_opacity, stroke_opacity: 0 to 1.
    """

    paths: tuple[str, ...]
    fills: tuple[str, ...]
    evenodd: tuple[bool, ...]
    strokes: tuple[str, ...]
    widths: tuple[float, ...]
    fill_opacity: tuple[float, ...]
    stroke_opacity: tuple[float, ...]

    def plain(self) -> dict[str, Any]:
        """As JSON can hold it."""
        return {name: list(getattr(self, name)) for name in self.__dataclass_fields__}

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        paths = tuple(_text(path) for path in plain["paths"])
        if any(set(path) - CLOSED_PATH_LETTERS for path in paths):
            raise ValueError("a path of the artwork holds more than M, L, Z and numbers")
        found = cls(
            paths=paths,
            fills=tuple(colour(value) if value else "" for value in plain["fills"]),
            evenodd=tuple(_flag(value) for value in plain["evenodd"]),
            strokes=tuple(colour(value) if value else "" for value in plain["strokes"]),
            widths=tuple(_finite(value, MOST_SHIFT_MM) for value in plain["widths"]),
            fill_opacity=tuple(_finite(value, 1.0) for value in plain["fill_opacity"]),
            stroke_opacity=tuple(_finite(value, 1.0) for value in plain["stroke_opacity"]),
        )
        if len({len(getattr(found, name)) for name in cls.__dataclass_fields__}) != 1:
            raise ValueError("the artwork's columns are not of one length")
        return found


@dataclass(frozen=True)
class Reading:
    """How the strokes will read, once somebody looked: lengths of line in mm, counts of positions.

    merge_mm, merges: where lines run nearer than the ink is wide. closed: regions that the ink fills. fine: details
    smaller than the tip. file: the picture that shows them. digest: of the strokes that were looked at.
    """

    merges: int
    merge_mm: float
    closed: int
    fine: int
    file: str
    digest: str

    @property
    def spots(self) -> int:
        """All of them."""
        return self.merges + self.closed + self.fine

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        return cls(
            merges=_count(plain["merges"]),
            merge_mm=_finite(plain["merge_mm"], math.inf),
            closed=_count(plain["closed"]),
            fine=_count(plain["fine"]),
            file=_text(plain["file"]),
            digest=_text(plain["digest"]),
        )


@dataclass(frozen=True)
class PaletteColour:
    """One colour to paint: its number, what it is called, "#rrggbb" of it (of a gradient, its stops), mm², ml."""

    number: int
    name: str
    colours: tuple[str, ...]
    area_mm2: float
    millilitres: float

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        return cls(
            number=_count(plain["number"]),
            name=_text(plain["name"]),
            colours=tuple(colour(each) for each in _few(plain["colours"])),
            area_mm2=_finite(plain["area_mm2"], math.inf),
            millilitres=_finite(plain["millilitres"], math.inf),
        )


@dataclass(frozen=True)
class Palette:
    """What is painted, once somebody planned it: colours in the order of painting, mm² on all surfaces that show.

    coat_mm, coats: how thick a coat is, wet, and how many. tool_mm: the narrowest that the tool paints; too_narrow:
    regions that it does not reach everywhere. file: the map.
    """

    colours: tuple[PaletteColour, ...]
    coat_mm: float
    coats: int
    tool_mm: float
    too_narrow: int
    file: str

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        return cls(
            colours=tuple(PaletteColour.from_plain(each) for each in _few(plain["colours"])),
            coat_mm=_finite(plain["coat_mm"], math.inf),
            coats=_count(plain["coats"]),
            tool_mm=_finite(plain["tool_mm"], math.inf),
            too_narrow=_count(plain["too_narrow"]),
            file=_text(plain["file"]),
        )


@dataclass(frozen=True)
class WrittenLoad:
    """One load of a written program: its marker, first and last stroke (from 1), and its time without waits (s)."""

    marker: str
    first: int
    last: int
    seconds: float

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        first, last = _count(plain["first"]), _count(plain["last"])
        return cls(_text(plain["marker"]), first, last, _finite(plain["seconds"], math.inf))


@dataclass(frozen=True)
class WrittenProgram:
    """One program file that was written of the drawing.

    file: its name without folders. loads: in the order it draws them. split: how the whole was cut into files (`none`,
    `marker`, `load`). seconds: on the controller's own clock, waits for the operator left out. rehearsal: whether it
    first goes round with the marker lifted. digest: of the strokes it was made from. begins: the share of its first
    stroke that it leaves out, as drawn already. label: what its name has beside that of all programs written with it.
    holder: whose heights it has. tolerance: mm that it may stray from the strokes. "", 0: not on record.
    """

    file: str
    loads: tuple[WrittenLoad, ...]
    seconds: float
    controller: str
    units: str = "mm"
    split: str = "none"
    rehearsal: bool = False
    digest: str = ""
    begins: float = 0.0
    label: str = ""
    holder: str = ""
    tolerance: float = 0.0

    @property
    def asked_name(self) -> str:
        """The file that was asked for: where several are written for it, the name of each has its label beside."""
        path = PurePath(self.file)
        return f"{path.stem.removesuffix(f'-{self.label}')}{path.suffix}" if self.label else self.file

    @property
    def first(self) -> int:
        """The first stroke it draws, from 1."""
        return self.loads[0].first if self.loads else 0

    @property
    def last(self) -> int:
        """The last stroke it draws."""
        return self.loads[-1].last if self.loads else 0

    @property
    def markers(self) -> tuple[str, ...]:
        """The markers it draws with, in order, each once."""
        return tuple(dict.fromkeys(load.marker for load in self.loads))

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """From what JSON holds. Raises KeyError, TypeError or ValueError."""
        return cls(
            file=_text(plain["file"]),
            loads=tuple(WrittenLoad.from_plain(load) for load in _few(plain["loads"])),
            seconds=_finite(plain["seconds"], math.inf),
            controller=_text(plain["controller"]),
            units=_text(plain.get("units", "mm")),
            split=_text(plain.get("split", "none")),
            rehearsal=_flag(plain.get("rehearsal", False)),
            digest=_text(plain.get("digest", "")),
            begins=_finite(plain.get("begins", 0.0), 1.0),
            label=_text(plain.get("label", "")),
            holder=_text(plain.get("holder", "")),
            tolerance=_finite(plain.get("tolerance", 0.0), math.inf),
        )


def plain_facts(
    lying: OnBoard | None,
    mirror_folds: Sequence[MirrorFold],
    sources: Sequence[Source],
    programs: Sequence[WrittenProgram],
    hides_nothing: bool,
    ground: Ground | None = None,
    faint: FaintEdges | None = None,
    card: Card | None = None,
    artwork: Artwork | None = None,
    reading: Reading | None = None,
    palette: Palette | None = None,
) -> dict[str, Any]:
    """A drawing's facts as JSON can hold them; what is not so is left out."""
    written: dict[str, Any] = {}
    if lying is not None:
        written["lying"] = asdict(lying)
    for key, facts in (("mirror_folds", mirror_folds), ("sources", sources), ("programs", programs)):
        if facts:
            written[key] = [asdict(fact) for fact in facts]
    if hides_nothing:
        written["hides_nothing"] = True
    if ground is not None:
        written["ground"] = {"colour": ground.colour}
        if ground.gradient is not None:
            written["ground"]["gradient"] = plain_gradient(ground.gradient)
    if faint is not None:
        written["faint"] = asdict(faint)
    if card is not None:
        written["card"] = asdict(card)
    if artwork is not None:
        written["artwork"] = artwork.plain()
    if reading is not None:
        written["reading"] = asdict(reading)
    if palette is not None:
        written["palette"] = asdict(palette)
    return written


def facts_from_plain(plain: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of a drawing that `plain_facts` wrote. Raises KeyError, TypeError or ValueError."""
    lying, ground, faint = plain.get("lying"), plain.get("ground"), plain.get("faint")
    card, artwork, reading = plain.get("card"), plain.get("artwork"), plain.get("reading")
    palette = plain.get("palette")
    return {
        "lying": None if lying is None else OnBoard.from_plain(lying),
        "mirror_folds": tuple(MirrorFold.from_plain(item) for item in _few(plain.get("mirror_folds", ()))),
        "sources": tuple(Source.from_plain(item) for item in _few(plain.get("sources", ()))),
        "programs": tuple(WrittenProgram.from_plain(item) for item in _few(plain.get("programs", ()))),
        "hides_nothing": _flag(plain.get("hides_nothing", False)),
        "ground": None if ground is None else Ground.from_plain(ground),
        "faint": None if faint is None else FaintEdges.from_plain(faint),
        "card": None if card is None else Card.from_plain(card),
        "artwork": None if artwork is None else Artwork.from_plain(artwork),
        "reading": None if reading is None else Reading.from_plain(reading),
        "palette": None if palette is None else Palette.from_plain(palette),
    }


def facts_of_version_1(history: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The same of a drawing of the first version, which kept them among the figures of its history."""
    facts: dict[str, Any] = {"lying": None, "mirror_folds": (), "sources": ()}
    for record in history:
        figures = record["figures"]
        if "laid_turned" in figures:
            facts["lying"] = OnBoard(turned=bool(figures["laid_turned"]))
        if "mirrored_at_mm" in figures:
            facts["mirror_folds"] = tuple(MirrorFold(axis, float(at)) for axis, at in figures["mirrored_at_mm"])
        if "fold_marks" in figures and facts["lying"] is not None:
            facts["lying"] = OnBoard(turned=facts["lying"].turned, wrapped=True)
        if isinstance(figures.get("sha256"), str):
            name = str(figures.get("file") or record["settings"].get("file") or record["stage"])
            facts["sources"] += (Source(name, figures["sha256"]),)
        if "strokes_after" in figures:
            facts["hides_nothing"] = True
    return facts


def _few(items: Any) -> Sequence[Any]:
    if not isinstance(items, (list, tuple)) or len(items) > MOST_FACTS:
        raise ValueError("a list of facts is damaged")
    return items


def _points(items: Any) -> tuple[Point, ...]:
    return tuple((_finite(x, MOST_SHIFT_MM), _finite(y, MOST_SHIFT_MM)) for x, y in _few(items))


def _finite(value: Any, most: float) -> float:
    number = float(value)
    if not abs(number) <= most or math.isinf(number):
        raise ValueError(f"{number!r} is out of range")
    return number


def _count(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or value < 0:
        raise ValueError(f"{value!r} is no count")
    return value


def _flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise TypeError(f"{value!r} is neither true nor false")
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no text")
    return value
