"""The cutting list: canvas, support board, frame, and what they must agree on."""

from dataclasses import dataclass

from underdraw_stages.sheet.contents import Facts


@dataclass(frozen=True)
class Cut:
    """One thing to cut or to have: how many, what, its size, and a word on it."""

    count: str
    what: str
    size: str
    note: str = ""


def cutting_list(facts: Facts) -> list[Cut]:
    """What to cut, in the order it is needed."""
    panel = facts.panel
    if not panel.wraps:
        return [
            Cut("1", "stretched canvas", facts.size(panel.face), "on its frame already; nothing is cut"),
            Cut(
                "1",
                "support under the canvas",
                facts.size(panel.face),
                "as thick as the frame is deep, inside the bars",
            ),
        ]
    width, height = panel.face
    return [
        Cut("1", "canvas", facts.size(panel.cut), f"image and {facts.length(panel.staple)} staple strip all round"),
        Cut("1", "support board", facts.size(panel.board), "same size as the image; sound, flat, square"),
        Cut(
            "2",
            "frame bars, left and right",
            facts.length(height),
            f"mitred, long edge; {facts.length(panel.depth)} deep",
        ),
        Cut(
            "2",
            "frame bars, top and bottom",
            facts.length(width),
            f"mitred, long edge; {facts.length(panel.depth)} deep",
        ),
    ]


def agreement(facts: Facts) -> list[tuple[str, str]]:
    """The sums that tie them together, for a check with a tape measure."""
    panel = facts.panel
    if not panel.wraps:
        return [("drawn", facts.size(panel.image))]
    each = facts.length(panel.depth + panel.bleed)
    return [
        ("face", facts.size(panel.face)),
        ("image = face + 2 × (depth + bleed)", facts.size(panel.image)),
        ("from image edge to fold", each),
        ("behind the frame: bleed + staple strip", facts.length(panel.return_mm)),
    ]
