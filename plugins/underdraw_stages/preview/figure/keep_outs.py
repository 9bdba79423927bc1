"""Keep-outs in a picture: hatched boxes with their names, as far as the figure shows where they are."""

from underdraw.drawing.boxes import Box, Point
from underdraw.job.sections import KeepOutSection
from underdraw.page.canvas_page import LETTERS, SMALL, VISIBLE, Page
from underdraw.page.on_page import OnPage
from underdraw.page.surfaces import HATCH, hatching, outline

GROUND = 'fill="#fff" fill-opacity=".75"'  # so that the hatching is seen over the drawing too


def put_keep_outs(
    page: Page, placing: OnPage, corner: Point, shown: Box, sections: tuple[KeepOutSection, ...], named: bool = True
) -> None:
    """Draw them. corner: the board's lower left corner in the figure's coordinates, y down. shown: what is drawn."""
    for section in sections:
        (x, y), (w, h) = section.at, section.size
        left, bottom = corner[0] + x, corner[1] - y
        box = max(left, shown[0]), max(bottom - h, shown[1]), min(left + w, shown[2]), min(bottom, shown[3])
        if box[0] >= box[2] or box[1] >= box[3]:
            continue
        corners = placing.corners(box)
        page.box(*corners, GROUND)
        page.add(f'<path class="keep-out" {HATCH} d="{hatching(corners)}"/>')
        page.line(VISIBLE, outline(corners), close=True)
        if named:
            page.text(corners[0], corners[1] - 0.8, section.name, size=SMALL, colour=LETTERS)
