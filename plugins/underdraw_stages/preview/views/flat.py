"""The flat view: the canvas as it lies, every part named with its size, strokes in their ink and true width."""

from dataclasses import replace

import numpy as np

from underdraw.machine.travel import park_point, travel_legs
from underdraw.page.callouts import Callout, column_height, fits_below, put_below, put_column
from underdraw.page.canvas_page import (
    FAINT,
    LETTERS,
    MARGIN,
    PAGE_HEIGHT,
    PAGE_WIDTH,
    REACH,
    TEXT,
    TRAVEL,
    Page,
    n,
)
from underdraw.page.ink import ink_layer
from underdraw.page.on_page import OnPage
from underdraw.page.subject import Subject
from underdraw.page.surfaces import put_edges, put_surfaces
from underdraw.page.title import put_title
from underdraw.words.quantities import clock, counted, distance, duration, length_in, size_in
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.figure.bed_plan import put_bed_plan
from underdraw_stages.preview.figure.keep_outs import put_keep_outs
from underdraw_stages.preview.figure.legend import lift_signs, put_line_kinds, put_markers, put_scale_bar
from underdraw_stages.preview.figure.load_numbers import put_load_numbers
from underdraw_stages.preview.figure.mark_numbers import put_mark_numbers
from underdraw_stages.preview.figure.stroke_numbers import put_stroke_numbers

NAMES_ROOM = 41.0  # width of the column of names
GAP = 9.0  # between the figure and its names
FIGURE_TOP = 30.0
LEGEND = 74.0  # what lies below the figure with two markers, in mm
ROW = 6.2
NAMES_BELOW = 56.0  # height of the names below a wide figure
PIN = 0.9  # radius of an index pin's sign
SIGN = 1.7  # radius of the signs of zero and park
STEP = 9.0  # between leaders to names below the figure
GAIN = 1.25  # how much larger a figure must become for its names to go below it


def flat_view(subject: Subject, settings: PreviewSettings) -> bytes:
    """The page, as bytes of an SVG file."""
    page = Page(f"{subject.name}: flat preview", description(subject))
    placing = place_figure(subject)
    time = f"about {duration(subject.seconds)} to draw" if subject.schedule else ""
    put_title(page, f"{what_is_shown(subject)}{subject.which_way}", subject, placing.words, time)
    put_surfaces(page, placing, subject.panel)
    put_edges(page, placing, subject.panel)
    if settings.faint:
        put_faint(page, placing, subject)
    put_ink(page, placing, subject)
    lower_left = (0.0, subject.panel.image[1])
    put_keep_outs(page, placing, lower_left, subject.canvas_box, subject.drawing.job.machine.keep_out)
    if settings.travel:
        put_travel(page, placing, subject)
    if settings.lifts:
        put_lifts(page, placing, subject)
    every = put_stroke_numbers(page, placing, subject) if settings.numbers else 0
    left_out = put_load_numbers(page, placing, subject) if settings.swaps and not every else 0
    put_mark_numbers(page, placing, subject)
    y = put_names(page, placing, subject)
    y = put_markers(page, subject, y + 3.0, notes(subject, left_out, every))
    page.rule(y)
    ends = put_bed_plan(page, subject, MARGIN, y + 4.0), put_line_kinds(page, subject, settings, 98.0, y + 4.0)
    y = put_scale_bar(page, placing, 98.0, ends[1] + 4.6)
    return page.svg(max(ends[0], y) + MARGIN)


def what_is_shown(subject: Subject) -> str:
    """The title of the view."""
    if not subject.section or subject.lying.sections is None:
        return "The canvas as it lies"
    return f"Section {subject.section} of {subject.lying.sections.count}"


def put_ink(page: Page, placing: OnPage, subject: Subject) -> None:
    """Strokes in their ink; of one section, with the other ones pale, between the ends of what it reaches."""
    drawing, schedule = subject.drawing, subject.schedule
    if not subject.section:
        page.add(f'<g transform="{placing.transform}">{ink_layer(drawing, "ink", schedule)}</g>')
        return
    others = ink_layer(drawing, "others", schedule, ~subject.shown)
    own = ink_layer(drawing, "ink", schedule, subject.shown)
    page.add(f'<g transform="{placing.transform}"><g opacity=".2">{others}</g>{own}</g>')
    sections, (wide, tall) = subject.lying.sections, subject.panel.board
    assert sections is not None
    for end in sections.reached(subject.section):
        if sections.axis == 0 and 0 < end < wide:
            page.line(REACH, [placing.at(end, 0), placing.at(end, tall)])
        elif sections.axis == 1 and 0 < end < tall:
            page.line(REACH, [placing.at(0, tall - end), placing.at(wide, tall - end)])


def place_figure(subject: Subject) -> OnPage:
    """Where the canvas goes on the page, at the largest round scale that leaves room for the names and the legend.

    Names stand beside the figure, or below it where the figure gains much by that: then nothing stands beside.
    """
    box = subject.canvas_box
    rows = len({load.marker.name for load in subject.loads})
    wide, tall = PAGE_WIDTH - 2 * MARGIN, max(80.0, PAGE_HEIGHT - FIGURE_TOP - LEGEND - ROW * rows)
    beside = OnPage.largest(box, (wide - NAMES_ROOM - GAP, tall), FIGURE_TOP, beside=GAP + NAMES_ROOM)
    below = OnPage.largest(box, (wide, tall - NAMES_BELOW), FIGURE_TOP)
    return below if below.reduction * GAIN <= beside.reduction else beside


def description(subject: Subject) -> str:
    """What a person who cannot see the picture should know of it."""
    sentences = [f"The canvas of {subject.name} as it lies on the bed, {subject.face_words}"]
    sentences.append(
        f"canvas {size_in(subject.panel.canvas, subject.unit)}, image {size_in(subject.panel.image, subject.unit)}"
    )
    what = counted(len(subject.drawing), "stroke" if subject.loads else "shape")
    sentences.append(f"{what}, {distance(subject.drawing.drawn_mm, subject.unit)}")
    if subject.schedule:
        sentences.append(f"about {duration(subject.schedule.total)} of machine time")
    return "; ".join(sentences) + "."


def put_names(page: Page, placing: OnPage, subject: Subject) -> float:
    """Name every part, and program zero and park; the new y."""
    callouts = names(subject, placing)
    origin = put_origin(page, placing, subject)
    edges = (MARGIN, page.width - MARGIN)
    if page.width - placing.right >= NAMES_ROOM + GAP:
        first = callouts[0].y - TEXT * 0.62 if callouts[0].slides is None else placing.top
        put_column(page, callouts, placing.right + GAP, NAMES_ROOM, (first, placing.bottom - TEXT))
        bottom = max(placing.bottom, first + column_height(callouts, NAMES_ROOM))
        beside = (MARGIN, placing.right + GAP - 2.0)
        if all(fits_below(item, beside) for item in origin):  # the names may reach farther down than the figure
            return max(bottom, put_below(page, origin, placing.bottom + 1.5, beside))
        return put_below(page, origin, bottom + 1.5, edges)
    left = max(item.x for item in origin) + STEP
    turned = [replace(item, x=left + place * STEP, y=item.below) for place, item in enumerate(callouts)]
    return put_below(page, [*origin, *turned], placing.bottom + 1.5, edges, dots=True)


def names(subject: Subject, placing: OnPage) -> list[Callout]:
    """The names of the parts, in the order that their leaders go from the right edge of the figure, from the top.

    Each has the point it names at the right, and the y that it has at the lower edge.
    """
    panel, unit = subject.panel, subject.unit
    top, bottom = placing.top + 2.0, placing.bottom - 2.0
    if not panel.wraps:
        return [
            Callout(
                "canvas on its frame", size_in(panel.canvas, unit), placing.right, 0.0, (top, bottom), placing.bottom
            ),
            Callout("image = face", "drawn here; no sides", placing.right - 3, 0.0, (top, bottom), placing.bottom - 3),
        ]
    square, face, frame, image = panel.corner_squares[2], panel.face_box, panel.frame_box, panel.image
    slides = placing.at(0, face[1])[1] + 1.5, placing.at(0, face[3])[1] - 1.5
    size = size_in((square[2] - square[0], square[3] - square[1]), unit)
    corner = placing.at(square[0] * 0.25 + square[2] * 0.75, panel.corner_squares[1][3] * 0.25)
    callouts = [
        Callout(
            "corner square", f"{size}, folds away", *corner, None, placing.at(0, square[1] * 0.75 + square[3] * 0.25)[1]
        )
    ]
    for name, words, x, y in (  # from the outside in, each with its middle at the right edge and at the lower edge
        ("canvas to cut", size_in(panel.canvas, unit, "up"), panel.lying_box[2], panel.lying_box[3]),
        (
            "staple strip",
            length_in(panel.staple, unit) + ("" if panel.strip_beside else ", folded down"),
            image[0] + panel.strip_beside / 2,
            image[1] + panel.strip_beside / 2,
        ),
        ("board = image", size_in(image, unit), image[0], image[1]),
        ("bleed", f"{length_in(panel.bleed, unit)}, goes behind", (image[0] + frame[2]) / 2, (image[1] + frame[3]) / 2),
        ("side", f"depth {length_in(panel.depth, unit)}", (frame[2] + face[2]) / 2, (frame[3] + face[3]) / 2),
        ("fold", "the face’s edge", face[2], face[3]),
    ):
        callouts.append(Callout(name, words, placing.at(x, 0)[0], 0.0, slides, placing.at(0, y)[1]))
    callouts.append(
        Callout(
            "face", size_in(panel.face, unit), placing.at(face[2], 0)[0] - 4, 0.0, slides, placing.at(0, face[3])[1] - 4
        )
    )
    if panel.fold_marks and has_fold_marks(subject):
        (x0, y0), (x1, _) = max(
            (mark for mark in panel.fold_marks if mark[0][0] == image[0]), key=lambda mark: mark[0][1]
        )
        x, y = placing.at((x0 + x1) / 2, y0)
        callouts.append(Callout("fold mark", "in the bleed", x, y, None, y))
    return callouts


def has_fold_marks(subject: Subject) -> bool:
    """Whether a stroke of two points lies just where a fold mark belongs (whichever stage drew it)."""
    drawing = subject.drawing
    short = drawing.parts[:-1][np.diff(drawing.parts) == 2]
    drawn = np.sort(np.stack([drawing.coords[short], drawing.coords[short + 1]], axis=1), axis=1)
    due = np.sort(np.array(subject.panel.fold_marks), axis=1)
    return any(bool(np.isclose(drawn, mark, atol=1e-3).all(axis=(1, 2)).any()) for mark in due)


def notes(subject: Subject, left_out: int, every: int) -> list[str]:
    """The notes below the markers."""
    if subject.schedule is None:
        return ["Not yet strokes of a marker: no order, no time. Shapes are shown as the artwork has them."]
    travel = distance(subject.schedule.travel_mm, subject.unit)
    sentences = [
        f"{counted(len(subject.drawing), 'lift')}, {travel} of travel with the marker up. "
        f"Half way at {clock(subject.schedule.total / 2)}, without waits at swaps."
    ]
    if subject.section:
        sentences = ["Between the long-dashed lines is what this section reaches; strokes of the others are pale."]
    if subject.lying.marks:
        sentences.append(f"Crosses 1 to {len(subject.lying.marks)}: registration marks, to find the board again.")
    if every:
        which = "Every stroke has" if every == 1 else f"Every {every}th stroke has"
        sentences.append(f"{which} its number, and an arrow where it starts. In a browser, hover over any stroke.")
    if left_out:
        sentences.append(f"{counted(left_out, 'load number')} left out for want of room; the sheet lists every load.")
    return sentences


def put_faint(page: Page, placing: OnPage, subject: Subject) -> None:
    """The artwork's edges that are not drawn, as the eye hardly sees them."""
    if subject.drawing.faint is None:
        return
    width = n(FAINT.width * placing.reduction)  # the group makes it as narrow on the page as the legend has it
    path = f'<path id="faint" class="{FAINT.css}" style="stroke-width:{width}" d="{subject.drawing.faint.path}"/>'
    page.add(f'<g transform="{placing.transform}">{path}</g>')


def put_travel(page: Page, placing: OnPage, subject: Subject) -> None:
    """The moves with the marker lifted."""
    if subject.schedule is None:
        return
    legs, _ = travel_legs(subject.drawing)
    flat = np.round(placing.all(legs.points.reshape(-1, 2)), 2).reshape(-1, 4).tolist()
    data = "".join(f"M{a:g} {b:g}L{c:g} {d:g}" for a, b, c, d in flat)
    page.add(f'<path id="travel" class="{TRAVEL.css}" d="{data}"/>')


def put_lifts(page: Page, placing: OnPage, subject: Subject) -> None:
    """A ring where the marker is set down, a dot where it is lifted."""
    drawing = subject.drawing
    if subject.schedule is None or not len(drawing):
        return
    down, up = (
        "".join(f"M{x:g} {y:g}h0" for x, y in np.round(placing.all(drawing.coords[rows]), 2).tolist())
        for rows in (drawing.parts[:-1], drawing.parts[1:] - 1)
    )
    with page.group('id="lifts"'):
        page.add(lift_signs(down, up))


def put_origin(page: Page, placing: OnPage, subject: Subject) -> list[Callout]:
    """The signs of program zero, park and index pins, and the names to put below the figure."""
    machine, unit = subject.drawing.job.machine, subject.unit
    zero, park = subject.lying.zero_on_board, tuple(park_point(subject.drawing).tolist())
    below_it = "board" if subject.panel.wraps else "canvas"  # on its frame it has no board
    where = subject.lying.zero_name.removeprefix("the ").replace("'", "’")
    corner = f"{below_it}’s lower left corner"
    away = f"{size_in(machine.park, unit)} from the {corner}"
    if max(abs(zero[0] - park[0]), abs(zero[1] - park[1])) < 1.0:
        signs = [("zero (G54) and park", zero, where)]
    else:
        signs = [
            ("zero (G54)", zero, where),
            ("park", park, corner if machine.park == (0.0, 0.0) else away),
        ]
    below = []
    for name, (x, y), words in signs:
        px, py = placing.at(x, y)
        px, py = (
            min(max(px, MARGIN), page.width - MARGIN),
            min(max(py, placing.top), placing.bottom),
        )  # far: at the edge
        put_sign(page, px, py, zero=name.startswith("zero"))
        below.append(Callout(name, words, px, py + SIGN))
    if subject.drawing.job.at("machine.pin") is not None:
        pins = [placing.at(*pin) for pin in subject.panel.pins]
        for px, py in pins:
            page.add(f'<circle cx="{n(px)}" cy="{n(py)}" r="{PIN}" fill="none" stroke="{LETTERS}" stroke-width=".3"/>')
        words = f"{size_in(machine.pin, unit)} from the board’s lower corners"
        below.append(Callout("index pins", words, pins[1][0], pins[1][1] + PIN))
    return below


def put_sign(page: Page, x: float, y: float, *, zero: bool) -> None:
    """A quartered disc for program zero, a square on its corner for park."""
    r = SIGN
    if zero:
        page.add(
            f'<circle cx="{n(x)}" cy="{n(y)}" r="{r}" fill="#fff" stroke="#26221c" stroke-width=".25"/>'
            f'<path d="M{n(x)} {n(y)}v-{r}a{r} {r} 0 0 1 {r} {r}zv{r}a{r} {r} 0 0 1-{r}-{r}z"/>'
        )
    else:
        page.add(
            f'<path d="M{n(x)} {n(y - r)}l{r} {r}-{r} {r}-{r}-{r}Z" fill="#fff" stroke="#26221c" stroke-width=".3"/>'
        )
