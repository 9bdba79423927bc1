"""A panel's sizes for people and for programs: one table to print, one object of figures."""

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from underdraw.drawing.boxes import Point, Size
from underdraw.errors import InputError
from underdraw.panel.bed import LEAST_RETURN_MM, TOLERANCE_MM, BedFit, bed_fit, fits, largest_faces
from underdraw.panel.geometry import Panel
from underdraw.panel.materials import FL_OZ_PER_GALLON, CutList, Piece, Resin
from underdraw.panel.sections import Sections, plan
from underdraw.words.lengths import LENGTH_UNITS, MM_PER_INCH, Rounding, format_inches, format_length, parse_size

WIDTH = 100  # characters across a printed page
MM2_PER_FT2 = (12 * MM_PER_INCH) ** 2


@dataclass(frozen=True)
class Report:
    """All that `canvas` prints of one panel. `unit`: the one to write lengths in, beside fractions of an inch."""

    panel: Panel
    bed: Size | None = None
    offset: Point = (0.0, 0.0)
    unit: str = "mm"
    name: str = ""  # of the size that shops sell, where one was asked for
    cuts: CutList | None = None
    resin: Resin | None = None
    asked: tuple[Point, ...] = ()  # points of the image, in board coordinates, whose place on the panel is wanted

    @property
    def lying(self) -> BedFit | None:
        """How the panel lies on the bed, as it stands, and what makes it fit either way."""
        return None if self.bed is None else bed_fit(self.panel, self.bed, self.offset, may_turn=True)

    @property
    def fits(self) -> bool | None:
        """Whether the bed takes the panel, as it stands or turned 90°; None without a bed."""
        if self.bed is None:
            return None
        return any(fits(way, self.bed, self.offset) for way in (self.panel, self.panel.turned()))

    @property
    def sections(self) -> Sections | None:
        """How it is drawn in sections where the bed does not take it in one go, in the way that takes fewer."""
        if self.bed is None or self.fits:
            return None
        asked = self.panel.sections or "auto"
        plans = [plan(way, self.bed, self.offset, asked) for way in (self.panel, self.panel.turned())]
        return min((found for found in plans if found is not None), key=lambda found: found.count, default=None)


def figures(report: Report) -> dict[str, Any]:
    """For `--json`: lengths in mm as [width, height] or one number, areas in mm², volumes in ml."""
    panel, lying = report.panel, report.lying
    held: dict[str, Any] = {
        "face_mm": list(panel.face),
        "image_mm": list(panel.image),
        "board_mm": list(panel.board),
        "canvas_mm": list(panel.cut),
        "depth_mm": panel.depth,
        "bleed_mm": panel.bleed,
        "staple_mm": panel.staple,
        "return_mm": panel.return_mm,
        "face_area_mm2": panel.face[0] * panel.face[1],
        "image_area_mm2": panel.image[0] * panel.image[1],
        "area_ratio": round(panel.area_ratio, 9),
        "mount": panel.mount,
        "strip": panel.strip,
        "stretch": list(panel.stretch),
        "face_box_mm": list(panel.face_box),
        "pins_mm": [list(pin) for pin in panel.pins],
        "fold_marks_mm": [[list(start), list(end)] for start, end in panel.fold_marks],
    }
    if lying is not None and report.bed is not None:
        upright, level = largest_faces(panel, report.bed, report.offset)
        held |= {
            "bed_mm": list(report.bed),
            "largest_face_mm": list(upright),
            "largest_face_turned_mm": list(level),
            "reasons": list(lying.reasons),
            "remedies": [remedy.text for remedy in lying.remedies],
        }
        if lying.corner is not None:
            held["board_corner_mm"] = list(lying.corner)
        divided = report.sections
        held["sections"] = None if divided is None else {"count": divided.count, "step_mm": divided.step}
    if report.cuts is not None:
        held["cut_list"] = [cut_figures(piece) for piece in report.cuts.pieces]
        held["bars_mm"] = [list(bar) for bar in report.cuts.bars]
    if report.resin is not None:
        held["resin_ml"] = round(report.resin.face_ml, 3)
        held["resin_with_sides_ml"] = round(report.resin.with_sides_ml, 3)
    if report.asked:
        held["places"] = [{"at_mm": list(end.at), "place": end.name, "mm": list(end.place)} for end in ends(report)]
    return {**held, "fits": report.fits, "notes": notes(report)}


def cut_figures(piece: Piece) -> dict[str, Any]:
    """One kind of piece, for `--json`."""
    held = {"name": piece.name, "count": piece.count, "size_mm": list(piece.size), "ends_deg": list(piece.ends)}
    if piece.thickness:
        held["thickness_mm"] = piece.thickness
    if piece.inside is not None:
        held["inside_mm"] = piece.inside
    return held


def notes(report: Report) -> list[str]:
    """What a person should know before cutting anything."""
    panel, lying = report.panel, report.lying
    found = []
    if panel.return_mm < LEAST_RETURN_MM - 1e-6:
        found.append(
            f"only {say(panel.return_mm, report, 'down')} of canvas reach behind the frame; stretching and stapling "
            f"need {say(LEAST_RETURN_MM, report)} (common practice): more bleed or a wider staple strip"
        )
    if not panel.wraps:
        found.append("the canvas is on its frame before it is drawn: image and board are the face, and nothing folds")
    if panel.wraps and panel.stretch != (0.0, 0.0):
        w, h = (a * s for a, s in zip(panel.canvas, panel.scale, strict=True))
        found.append(
            f"drawn smaller by the stretch: the canvas of {pair(panel.canvas, report)} grows to {pair((w, h), report)} "
            f"when it is stretched, and the drawing lands on the folds"
        )
    if panel.wraps:
        apart, unit = (20, "in") if report.unit == "in" else (500, "mm")
        found.append(
            f"to measure stretch: on a strip of the same canvas, primed alike, mark two lines {apart} {unit} apart "
            f"along each way of the weave, stretch it as you would a panel, and measure again; "
            f"(after - {apart}) / {apart} is the share"
        )
    if panel.wraps and panel.strip == "down":
        found.append(
            "the staple strip is folded down and stapled to the board's edge before the board goes onto the bed, which "
            "takes the board alone"
        )
    if lying is None:
        return found
    if lying.fits and report.offset != (0.0, 0.0) and lying.corner is not None:
        x, y = lying.corner[:2]
        found.append(
            f"with the holder's offset, the board's lower left corner lies at least {say(x, report, 'up')} to the "
            f"right of the near left end of travel, and {say(y, report, 'up')} away from you"
        )
    if not lying.fits and report.fits:
        found.append("it fits turned 90°, and is turned so when the artwork is placed")
    if not report.fits:
        found += [f"does not fit the bed in one go: {reason}" for reason in lying.reasons]
        found += in_sections(report)
        remedies = [f"try: {remedy.text}" for remedy in lying.remedies]
        found += remedies or ([] if report.sections else ["only a larger bed takes it"])
    return found


def in_sections(report: Report) -> list[str]:
    """How a panel is drawn that is longer than the bed, where it can be."""
    divided = report.sections
    if divided is None:
        return []
    how = "" if report.panel.sections else 'try: sections = "auto" in [machine]: '
    return [
        f"{how}drawn in {divided.count} sections, the board moved along by {say(divided.step, report)} between them "
        "and found again by its registration marks"
    ]


def table(report: Report) -> str:
    """All of it as text to print, lengths in the unit asked for and as fractions of an inch to 1/16."""
    blocks = [(title, rows) for title, rows in sections(report) if rows]
    first = max(len(name) for _, rows in blocks for name, _, _ in rows)
    second = max(len(value) for _, rows in blocks for _, value, fraction in rows if fraction)
    texts = []
    for title, rows in blocks:
        lines = [f"  {name:{first}}  {value:{second}}  {fraction}".rstrip() for name, value, fraction in rows]
        texts.append("\n".join([title, *lines]))
    if notes(report):
        wrapped = [
            textwrap.fill(note, WIDTH, initial_indent="  - ", subsequent_indent="    ") for note in notes(report)
        ]
        texts.append("\n".join(["notes", *wrapped]))
    return "\n\n".join(texts)


def sections(report: Report) -> Iterator[tuple[str, list[tuple[str, str, str]]]]:
    """Titles and rows: what, length, fraction."""
    panel = report.panel
    face = f"face ({report.name})" if report.name else "face"
    yield "panel", [row(face, panel.face, report), row("depth", panel.depth, report), row("bleed", panel.bleed, report)]
    lead = "canvas to cut" if panel.wraps else "canvas that the frame took"
    yield (
        "flat sizes",
        [
            row("image", panel.image, report),
            row("support board", panel.board, report, "up"),
            row(lead, panel.cut, report, "up"),
            row("staple strip", panel.staple, report),
            row("behind the frame", panel.return_mm, report),
        ],
    )
    areas = [("face area", *area(panel.face)), ("image area", *area(panel.image))]
    yield "areas", [*areas, ("image / face", f"{panel.area_ratio:.4f}", "")]
    yield "bed", bed_rows(report)
    yield "cut list", cut_rows(report)
    yield "resin", resin_rows(report)
    yield "where points of the image end", [(pair(place.at, report), place.words(report), "") for place in ends(report)]


def bed_rows(report: Report) -> list[tuple[str, str, str]]:
    """How the panel lies on the bed, and what the bed takes."""
    if report.bed is None:
        return []
    upright, level = largest_faces(report.panel, report.bed, report.offset)
    rows = [row("bed", report.bed, report)]
    if report.offset != (0.0, 0.0):
        rows.append(row("holder's offset", report.offset, report))
    rows += [limit_row("largest face", upright, report), limit_row("largest face, turned", level, report)]
    lying = report.lying
    rows.append(row("in sections, one side to", max(*upright, *level), report, "down"))
    divided = report.sections
    parts = f"in {divided.count} sections: see the notes" if divided is not None else "no: see the notes"
    how = "yes" if lying is not None and lying.fits else "turned 90°" if report.fits else parts
    return [*rows, ("fits", how, "")]


def cut_rows(report: Report) -> list[tuple[str, str, str]]:
    """Pieces to saw."""
    if report.cuts is None:
        return []
    rows = []
    for piece in report.cuts.pieces:
        thick = f", {say(piece.thickness, report)} thick" if piece.thickness else ""
        name = f"{piece.count} x {piece.name}{thick}"
        rows.append(row(name, piece.size, report, "up"))
        if piece.inside is not None:
            rows.append(row("  mitred 45 deg; inside edge", piece.inside, report))
    for number, bar in enumerate(report.cuts.bars, 1):
        rows.append((f"bar {number}, saw", ", ".join(say(length, report, "up") for length in bar), ""))
    return [*rows, *(("note", note, "") for note in report.cuts.notes)]


def resin_rows(report: Report) -> list[tuple[str, str, str]]:
    """What a coat takes."""
    coat = report.resin
    if coat is None:
        return []
    gallons = coat.face_gallons
    return [
        row("thickness", coat.thickness_mm, report),
        ("on the face", f"{coat.face_ml:.0f} ml", f"{gallons:.3f} US gal = {gallons * FL_OZ_PER_GALLON:.1f} US fl oz"),
        ("on face and sides", f"{coat.with_sides_ml:.0f} ml", ""),
        ("caution", "its safety data sheet and the maker's manual come first; moving air, gloves;", ""),
        ("", "a dust mask for sanding it cured", ""),
    ]


@dataclass(frozen=True)
class End:
    """Where one point of the image ends: its board coordinates, the name of the place, and the two lengths there."""

    at: Point
    name: str
    place: Point

    def words(self, report: Report) -> str:
        """The place, as a person finds it with a ruler."""
        first, second = (say(length, report) for length in self.place)
        if self.name == "face":
            return f"face, {first} from its left and {second} from its upper edge"
        if self.name.startswith("corner"):
            return f"{self.name}, folded away"
        from_ = "left" if self.name.endswith(("top", "bottom")) else "upper"
        depth = "in from the back edge" if self.name.startswith("behind") else "below the front edge"
        side = self.name if self.name.startswith("behind") else f"{self.name} side"
        return f"{side}, {first} from its {from_} end, {second} {depth}"


def ends(report: Report) -> list[End]:
    """Where the points asked for end."""
    if not report.asked:
        return []
    from underdraw.panel.positions import places  # numpy only where it is wanted

    found = places(report.panel, report.asked)
    return [
        End(at, name, (round(float(place[0]), 4), round(float(place[1]), 4)))
        for at, name, place in zip(report.asked, found.names, found.at, strict=True)
    ]


def row(name: str, length: float | Size, report: Report, to: Rounding = "nearest") -> tuple[str, str, str]:
    """One line of the table; `to`: "up" for a size to cut, "down" for a limit."""
    if isinstance(length, tuple):
        first, second = (format_inches(side, to=to) for side in eased(length, to))
        return name, pair(length, report, to), f"{first} x {second}"
    return name, say(length, report, to), format_inches(eased((length,), to)[0], to=to)


def limit_row(name: str, most: Size, report: Report) -> tuple[str, str, str]:
    """The line of a limit that can be typed back as a face; none where no face is left beside sides and strips."""
    what, *texts = row(name, most, report, "down")
    first, second = (text if is_face(text, report) else "none" for text in texts)
    return what, first, second


def is_face(text: str, report: Report) -> bool:
    """Whether a panel can be made with this face, as it is written."""
    try:
        return bool(report.panel.with_sizes(face=parse_size(text)))
    except InputError:
        return False


def area(size: Size) -> tuple[str, str]:
    """An area, in m² and in square feet."""
    square = size[0] * size[1]
    return f"{square / 1e6:.4f} m2", f"{square / MM2_PER_FT2:.3f} ft2"


def pair(size: Size, report: Report, to: Rounding = "nearest") -> str:
    """Width x height in the report's unit, named once."""
    first, second = (say(side, report, to) for side in size)
    return f"{first.removesuffix(f' {report.unit}')} x {second}"


def say(mm: float, report: Report, to: Rounding = "nearest") -> str:
    """A length in the report's unit."""
    assert report.unit in LENGTH_UNITS
    return format_length(eased((mm,), to)[0], report.unit, to)


def eased(lengths: tuple[float, ...], to: Rounding) -> tuple[float, ...]:
    """Lengths with the half of the bed's tolerance: what is a whole sixteenth but for sums is no step off it."""
    slack = {"nearest": 0.0, "down": TOLERANCE_MM / 2, "up": -TOLERANCE_MM / 2}[to]
    return tuple(mm + slack for mm in lengths)
