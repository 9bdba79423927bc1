"""The folded view: the finished panel with a corner turned to you, and its four sides unrolled below."""

from collections.abc import Iterator

from underdraw.drawing.affine import Matrix, compose
from underdraw.page.canvas_page import (
    BEND,
    MARGIN,
    PAGE_HEIGHT,
    PAGE_WIDTH,
    QUIET,
    SMALL,
    TEXT,
    VISIBLE,
    Page,
    n,
    points,
)
from underdraw.page.ink import PRIMED, ink_layer
from underdraw.page.on_page import OnPage, reductions
from underdraw.page.subject import Subject
from underdraw.page.title import put_title
from underdraw.panel import SIDES, Box, Panel, Side
from underdraw.words.quantities import distance, length_in, size_in
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.figure.legend import put_scale_bar
from underdraw_stages.preview.views.axonometry import Axonometry, written

TOP = 31.0
WORDS = 24.0  # room for sizes beside the panel
TONES = {"top": "#f3ecdd", "bottom": "#e4dac5", "left": "#ebe2d0", "right": "#ebe2d0"}
SHADOW = "#e9e5dc"
BELOW = 40.0  # what stands below the sides
STRIP_WORDS = 7.2
STRIP_TAB = 33.0  # mm from the margin to what stands beside a side's name
# How the board is turned for a side to lie with its front edge below, and what its left and right ends are then.
UNROLLED: dict[Side, tuple[int, str]] = {
    "top": (0, "from left to right"),
    "right": (-90, "from the top down"),
    "bottom": (180, "from right to left"),
    "left": (90, "from the bottom up"),
}


def folded_view(subject: Subject, settings: PreviewSettings) -> bytes:
    """The page, as bytes of an SVG file: the panel as it hangs, whichever way it lies on the bed."""
    panel = subject.lying.hung
    page = Page(f"{subject.name}: folded preview", description(subject, settings.corner))
    page.defs.append(ink_layer(subject.lying.hung_drawing(subject.drawing), "ink", subject.schedule))
    page.defs += clips(panel)
    view = Axonometry(panel, settings.corner)
    placing = place(view)
    put_title(
        page,
        f"The finished panel, {settings.corner.replace('-', ' ')} corner to you",
        subject,
        placing.words,
    )
    put_panel(page, view, placing)
    put_sizes(page, view, placing, subject)
    y = placing.bottom + 9.0
    if panel.wraps:
        y = put_strips(page, panel, subject, placing.reduction, y)
    page.rule(y + 1.0)
    note = "Depth is drawn at half the scale of the rest."
    page.text(MARGIN, y + 7.0, note, size=SMALL, colour=QUIET, room=PAGE_WIDTH - 2 * MARGIN)
    y = put_scale_bar(page, placing, MARGIN, y + 11.0)
    return page.svg(y + MARGIN)


def description(subject: Subject, corner: str) -> str:
    """What a person who cannot see the picture should know of it."""
    drawn = distance(subject.drawing.drawn_mm, subject.unit)
    return (
        f"{subject.name} on its frame, seen from the {corner.replace('-', ' ')}: {subject.face_words}, "
        f"{length_in(subject.lying.hung.depth, subject.unit)} deep, {drawn} of line."
    )


def place(view: Axonometry) -> OnPage:
    """The panel's image in the middle of the page, at the largest round scale at which it and its sides fit."""
    room = (PAGE_WIDTH - 2 * MARGIN - WORDS, PAGE_HEIGHT - TOP - BELOW)
    xs, ys = zip(*shadow(view), strict=True)
    x0, y0, x1, y1 = view.box
    box = min(x0, *xs), min(y0, *ys), max(x1, *xs), max(y1, *ys)
    for reduction in reductions():
        placing = OnPage.at_scale(box, reduction, TOP)
        tall = placing.bottom - placing.top + strips_height(view.panel, reduction)
        long = max(view.panel.face) / reduction
        if placing.right - placing.left <= room[0] and tall <= room[1] and long <= PAGE_WIDTH - 2 * MARGIN:
            return placing
    return placing


def clips(panel: Panel) -> Iterator[str]:
    """Clip paths in board coordinates: the face, and each side without its bleed."""
    boxes: dict[str, Box] = {"face": panel.face_box}
    outer = panel.frame_box
    for side, (x0, y0, x1, y1) in panel.side_boxes.items():
        boxes[side] = max(x0, outer[0]), max(y0, outer[1]), min(x1, outer[2]), min(y1, outer[3])
    for part, (x0, y0, x1, y1) in boxes.items():
        size = f'width="{n(x1 - x0)}" height="{n(y1 - y0)}"'
        yield f'<clipPath id="{part}"><rect x="{n(x0)}" y="{n(y0)}" {size}/></clipPath>'


def put_panel(page: Page, view: Axonometry, placing: OnPage) -> None:
    """Shadow, sides and face, each with the ink that the panel's geometry puts there."""
    scale = 1 / placing.reduction
    onto: Matrix = (scale, 0.0, 0.0, scale, *placing.at(0.0, 0.0))
    put_shadow(page, view, placing)
    for part in (*view.sides, "face"):
        outline = [placing.at(*point) for point in view.outline(part)]
        tone = PRIMED if part == "face" else TONES[part]
        page.add(f'<path d="{points(outline, close=True)}" fill="{tone}"/>')
        if part == "face" or view.panel.wraps:
            page.add(
                f'<g transform="{written(compose(onto, view.matrix(part)))}"><g clip-path="url(#{part})">'
                '<use xlink:href="#ink"/></g></g>'
            )
        page.line(BEND, outline, close=True)
    x0, y0, x1, y1 = 0.0, 0.0, *view.panel.face
    page.line(
        VISIBLE, [placing.at(*view.image(x, y, 0.0)) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))], close=True
    )


def put_shadow(page: Page, view: Axonometry, placing: OnPage) -> None:
    """What the panel throws on the wall, in a tone that is no ink."""
    page.add(f'<path d="{points((placing.at(*point) for point in shadow(view)), close=True)}" fill="{SHADOW}"/>')


def shadow(view: Axonometry) -> list[tuple[float, float]]:
    """The shadow's corners in the image: the panel's back, a little lower and to the right."""
    (w, h), d = view.panel.face, view.panel.depth
    shift = min(0.55 * d, 0.12 * min(w, h))
    return [view.image(x + shift, y + shift, d) for x, y in ((0, 0), (w, 0), (w, h), (0, h))]


def put_sizes(page: Page, view: Axonometry, placing: OnPage, subject: Subject) -> None:
    """Width, height and depth, each outside the edge it measures."""
    (w, h), d, unit = view.panel.face, view.panel.depth, subject.unit
    vertical, horizontal = view.sides
    far_x = 0.0 if horizontal == "right" else w
    far_y = h if vertical == "top" else 0.0
    away = -2.0 if horizontal == "right" else 2.0
    anchor = "end" if horizontal == "right" else "start"
    x, y = placing.at(*view.image(w / 2, far_y, 0.0))
    page.text(x, y + (6.4 if vertical == "top" else -3.4), length_in(w, unit), anchor="middle")
    x, y = placing.at(*view.image(far_x, h / 2, 0.0))
    page.text(x + away, y + TEXT * 0.35, length_in(h, unit), anchor=anchor)
    x, y = placing.at(*view.image(far_x, h - far_y, d))
    page.text(x + away, y + (0.5 if vertical == "top" else 2.6), length_in(d, unit), anchor=anchor)


def strips_height(panel: Panel, reduction: float) -> float:
    """What the four sides take, one below the other."""
    return len(panel.side_boxes) * (panel.depth / reduction + STRIP_WORDS) + 4.0 if panel.wraps else 0.0


def put_strips(page: Page, panel: Panel, subject: Subject, reduction: float, y: float) -> float:
    """Each side with its front edge below, as it is seen by who walks round the panel clockwise; the new y."""
    page.rule(y)
    (w, h), depth = panel.face, panel.depth / reduction
    for side in SIDES:
        turn, words = UNROLLED[side]
        long = w if side in ("top", "bottom") else h
        length = long / reduction
        page.text(MARGIN, y + 5.4, f"{side} side", bold=True)
        note = f"{size_in((long, panel.depth), subject.unit)}, {words}"
        page.text(MARGIN + STRIP_TAB, y + 5.4, note, colour=QUIET, room=PAGE_WIDTH - 2 * MARGIN - STRIP_TAB)
        y += STRIP_WORDS
        page.box(MARGIN, y, MARGIN + length, y + depth, f'fill="{TONES["top"]}"')
        page.add(
            f'<g transform="{written(unrolled(panel, side, turn, reduction, MARGIN, y))}">'
            f'<g clip-path="url(#{side})"><use xlink:href="#ink"/></g></g>'
        )
        page.line(BEND, [(MARGIN, y + depth), (MARGIN, y), (MARGIN + length, y), (MARGIN + length, y + depth)])
        page.line(VISIBLE, [(MARGIN, y + depth), (MARGIN + length, y + depth)])
        y += depth
    return y + 4.0


def unrolled(panel: Panel, side: Side, turn: int, reduction: float, left: float, top: float) -> Matrix:
    """The map from board coordinates to a strip: turned so that the fold lies below, back edge above."""
    (x0, y0, x1, y1), (sx, sy) = panel.face_box, panel.scale
    outer = panel.frame_box
    kx, ky = sx / reduction, sy / reduction
    cosine, sine = {0: (1, 0), -90: (0, -1), 180: (-1, 0), 90: (0, 1)}[turn]
    a, b, c, d = cosine * kx, sine * kx, -sine * ky, cosine * ky
    # the board's point that comes to the strip's upper left corner: the back edge at the side's first end
    bx, by = {"top": (x0, outer[1]), "right": (outer[2], y0), "bottom": (x1, outer[3]), "left": (outer[0], y1)}[side]
    return a, b, c, d, left - a * bx - c * by, top - b * bx - d * by
