"""The cutting list: canvas, support board, frame, and what they must agree on."""

from dataclasses import dataclass
from typing import Literal, cast

from underdraw.panel.materials import Piece, cut_list
from underdraw.words.quantities import length_in
from underdraw_stages.sheet import SheetSettings
from underdraw_stages.sheet.contents import Facts


@dataclass(frozen=True)
class Cut:
    """One thing to cut or to have: how many, what, its size, and a word on it."""

    count: str
    what: str
    size: str
    note: str = ""


def cutting_list(facts: Facts, settings: SheetSettings) -> list[Cut]:
    """What to cut, in the order it is needed. Raises CannotDo for bars that cannot give the face and the depth."""
    panel = facts.panel
    if not panel.wraps:
        return [
            Cut("1", "stretched canvas", facts.size(panel.face), "on its frame already; nothing is cut"),
            Cut("1", "support under the canvas", facts.size(panel.face), "less the bars; as thick as they hold it off"),
        ]
    return [
        Cut(
            "1", "canvas", facts.size(panel.cut, "up"), f"image and {facts.length(panel.staple)} staple strip all round"
        ),
        Cut("1", "support board", facts.size(panel.board, "up"), board_note(facts)),
        *(from_stock(facts, settings, settings.bar) if settings.bar else outer_bars(facts)),
    ]


def board_note(facts: Facts) -> str:
    """What the support board must be like, its thickness against the staple strip that is folded over its edge."""
    strip = length_in(facts.panel.staple, facts.unit)
    return (
        f"as large as the image; stiff, flat, takes staples in its edge. Thinner than {strip}: "
        "fold the strip’s end up, so that it does not lift the board†"
    )


def outer_bars(facts: Facts) -> list[Cut]:
    """The frame where its stock is not set: mitred bars are as long outside as the face, whatever their thickness."""
    (width, height), depth = facts.panel.face, facts.length(facts.panel.depth)
    return [
        Cut("2", "frame bars, upright", facts.length(height, "up"), f"outside, if mitred; {depth} deep"),
        Cut("2", "frame bars, lying", facts.length(width, "up"), f"outside, if mitred; {depth} deep"),
    ]


def from_stock(facts: Facts, settings: SheetSettings, bar: tuple[float, float]) -> list[Cut]:
    """The frame from bars of the stock that the job names."""
    corners = cast(Literal["butt", "mitred"], settings.corners)
    cuts = cut_list(facts.panel, bar, settings.top_sheet, corners)
    pieces = [piece_cut(facts, piece) for piece in cuts.pieces if piece.name != "support board"]
    ripped = next((note for note in cuts.notes if note.startswith("rip")), "")
    if ripped:
        pieces[0] = Cut(pieces[0].count, pieces[0].what, pieces[0].size, f"{pieces[0].note}; {ripped}")
    return pieces


def piece_cut(facts: Facts, piece: Piece) -> Cut:
    """One kind of piece; a sheet has a size, a bar a length and a section."""
    if piece.name == "top sheet":
        return Cut(
            str(piece.count),
            piece.name,
            facts.size(piece.size, "up"),
            f"{length_in(piece.thickness, facts.unit)} thick",
        )
    section = f"{length_in(piece.thickness, facts.unit)} thick, {length_in(piece.size[1], facts.unit, 'up')} high"
    if piece.inside is not None:
        section += f", {piece.ends[0]:g}° ends, {length_in(piece.inside, facts.unit)} inside"
    return Cut(str(piece.count), piece.name, facts.length(piece.size[0], "up"), section)


def agreement(facts: Facts) -> list[tuple[str, str]]:
    """The sums that tie them together, for a check with a tape measure."""
    panel = facts.panel
    if not panel.wraps:
        return [("drawn", facts.size(panel.image))]
    less = ", less the stretch" if panel.stretch != (0.0, 0.0) else ""
    rows = [
        ("face", facts.size(panel.face)),
        (f"image = face + 2 × (depth + bleed){less}", facts.size(panel.image)),
        ("from image edge to fold", from_edge_to_fold(facts)),
        ("behind the frame: bleed + staple strip", facts.length(panel.return_mm)),
    ]
    if panel.stretch != (0.0, 0.0):
        shares = " × ".join(f"{share * 100:g} %" for share in panel.stretch)
        rows.append((f"drawn smaller, since the canvas gives {shares}", f"face as drawn {facts.size(panel.flat_face)}"))
    return rows


def from_edge_to_fold(facts: Facts) -> str:
    """How wide the sides are on the flat canvas: all alike, but for a canvas that gives more one way than the other."""
    across, down = facts.panel.side_width
    if length_in(across, facts.unit) == length_in(down, facts.unit):
        return facts.length(across)
    return f"{facts.length(across)} left and right, {facts.length(down)} top and bottom"
