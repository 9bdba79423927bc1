"""A clock that runs without a script: columns of figures that rise behind windows, each at its own pace."""

from underdraw.page.canvas_page import Page, n
from underdraw.page.text_width import text_width
from underdraw.words.quantities import clock

SIZE = 9.0
RISE = 12.0  # from one figure to the next
EVERY_SECOND = 5.0  # up to that speed-up single seconds are shown; faster they would only flicker
# A column: the seconds that one of its figures stands for, and how many figures it has.
HOURS, TENS_OF_MINUTES, MINUTES, TENS, SECONDS = (3600, 10), (600, 6), (60, 10), (10, 6), (1, 10)


def put_odometer(page: Page, x: float, baseline: float, total: float, faster: float) -> None:
    """The clock at (x, baseline): running while it plays, the whole time where nothing moves."""
    plays = total / faster
    page.text(x, baseline, clock(total), size=SIZE, bold=True, more=f'style="animation:p {plays:.2f}s"')
    columns: list[tuple[int, int] | str] = [HOURS, ":"] if total >= 3600 else []
    columns += [TENS_OF_MINUTES, MINUTES, ":", TENS, SECONDS if faster <= EVERY_SECOND else "0"]
    page.add(f'<g visibility="hidden" style="animation:on {plays:.2f}s">')
    step = SIZE * 0.7  # of a wide face; a figure stands in its middle
    for column in columns:
        if isinstance(column, str):
            page.text(x, baseline, column, size=SIZE, bold=True)
            x += text_width(column, SIZE, bold=True)
            continue
        put_column(page, x, baseline, column, total, faster)
        x += step
    page.add("</g>")


def put_column(page: Page, x: float, baseline: float, column: tuple[int, int], total: float, faster: float) -> None:
    """One column behind its window: it rises by a figure at a time, and begins again after its last."""
    worth, figures = column
    turn = worth * figures / faster  # s of play that all its figures take
    style = (
        f"--rise:{n(-RISE * figures)}px;animation:up {turn:.4g}s steps({figures}) {total / faster / turn:.4f} forwards"
    )
    top = baseline - SIZE
    figure = SIZE * 0.7
    middles = " ".join([n(figure / 2)] * figures)
    rows = " ".join(n(SIZE + place * RISE) for place in range(figures))
    page.add(
        f'<svg x="{n(x)}" y="{n(top)}" width="{n(figure)}" height="{n(RISE)}"><text x="{middles}" y="{rows}" '
        f'class="b m" font-size="{n(SIZE)}" style="{style}">{"0123456789"[:figures]}</text></svg>'
    )
