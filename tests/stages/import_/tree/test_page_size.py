"""The page's size and the scale of px, and what is said of them. Sources: CSS Values 3; SVG 1.1, 7.8."""

import re

import pytest
from small_artwork import INK

from underdraw.drawing.wire import write_drawing
from underdraw.errors import InputError
from underdraw.job.file import job_from_data
from underdraw.job.sections import Job
from underdraw.words.units import unit_of

SQUARE = f'<path id="square" d="M10 10H30V30H10Z" {INK}/>'


@pytest.mark.parametrize(
    ("width", "mm"),
    [
        ("1in", 25.4), ("2.54cm", 25.4), ("25.4mm", 25.4), ("72pt", 25.4), ("6pc", 25.4), ("96px", 25.4), ("96", 25.4),
        ("101.6q", 25.4), ("1e1mm", 10.0), (" 30mm ", 30.0), ("+30MM", 30.0),
    ],
)  # fmt: skip
def test_every_absolute_unit_of_css_gives_the_page_its_size(width, mm, run) -> None:  # type: ignore[no-untyped-def]
    result = run(SQUARE, head=f'width="{width}" height="{width}" viewBox="0 0 40 40"')
    assert result.drawing.sheet == pytest.approx((mm, mm))
    assert result.drawing.bounds == pytest.approx([mm / 4, mm / 4, mm * 3 / 4, mm * 3 / 4], abs=2e-4)


@pytest.mark.parametrize(
    ("head", "sheet", "said"),
    [
        ('width="40mm" height="30mm" viewBox="0 0 40 40"', (40, 30), ""),
        ('width="192" height="96"', (50.8, 25.4), "states its size in px alone: taken at 96 px an inch"),
        ('width="192px" height="96px" viewBox="0 0 40 40"', (50.8, 25.4), "px alone: taken at 96 px an inch"),
        ('viewBox="0 0 96 48"', (25.4, 12.7), "states no size: taken at 96 px an inch"),
        ('width="100%" height="100%" viewBox="0 0 96 48"', (25.4, 12.7), "taken at 96 px an inch"),
        ('width="10in" viewBox="0 0 40 20"', (254, 127), ""),
        ('height="10in" viewBox="0 0 40 20"', (508, 254), ""),
    ],
)
def test_the_scale_that_was_taken_is_said_where_the_file_states_none(head, sheet, said, run) -> None:  # type: ignore[no-untyped-def]
    result = run(SQUARE, head=head)
    assert result.drawing.sheet == pytest.approx(sheet)
    assert (said in result.summary) if said else ("--dpi" not in result.summary)
    assert result.figures["size_stated"] is not bool(said)


@pytest.mark.parametrize("said", [{"machine": {"units": "in"}}, {"canvas": {"face": "12 x 16 in"}}])
def test_the_page_is_told_in_the_unit_of_the_job(said, run) -> None:  # type: ignore[no-untyped-def]
    job = job_from_data(said, "panel")
    result = run(SQUARE, head='width="192px" height="100px" viewBox="0 0 40 40"', job=job)
    assert "on a page of 2 × 1.04 in" in result.summary
    assert "taken at 96 px an inch, 2 in x 1.042 in" in result.summary
    assert " mm" not in result.summary


def test_a_face_taken_from_the_page_is_written_in_the_unit_of_the_job(run) -> None:  # type: ignore[no-untyped-def]
    job = job_from_data({"machine": {"bed": "24 x 48 in"}}, "panel")
    made = run(SQUARE, head='width="192px" height="100px" viewBox="0 0 40 40"', job=job).drawing.job
    assert made.canvas.face == (50.8, 26.4583)
    assert unit_of(made) == "in"


@pytest.mark.parametrize(("dpi", "mm"), [(72, 40 * 25.4 / 72), (90, 40 * 25.4 / 90), (300, 40 * 25.4 / 300)])
def test_dpi_scales_px_and_nothing_else(dpi, mm, run) -> None:  # type: ignore[no-untyped-def]
    assert run(SQUARE, head='viewBox="0 0 40 40"', dpi=dpi).drawing.sheet == pytest.approx((mm, mm), abs=1e-4)
    in_mm = run(SQUARE, head='width="40mm" height="40mm" viewBox="0 0 40 40"', dpi=dpi)
    assert in_mm.drawing.sheet == (40, 40)


def test_without_any_size_the_drawing_is_the_page(run) -> None:  # type: ignore[no-untyped-def]
    result = run(f'<path d="M100 50h96v48" {INK}/>', head="")
    assert result.drawing.sheet == pytest.approx((25.4, 12.7))
    assert result.drawing.bounds == pytest.approx((0, 0, 25.4, 12.7))
    assert "the drawing's own extent is the page" in result.summary


def test_gradients_move_with_the_drawing_where_it_is_the_page(run) -> None:  # type: ignore[no-untyped-def]
    shape = (
        '<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="10" y1="40" x2="50" y2="60">'
        '<stop stop-color="#fff"/><stop offset="1"/></linearGradient><path d="M10 40H50V60H10z" fill="url(#g)"/>'
    )
    alone = run(shape, head="", background=True).drawing
    paged = run(shape, head='width="40" height="20" viewBox="10 40 40 20"', background=True).drawing
    written = [
        re.search(r'gradientTransform="matrix\(([^)]*)\)', write_drawing(each).decode()) for each in (alone, paged)
    ]
    one, other = ([float(word) for word in found[1].split()] for found in written if found)
    assert one == pytest.approx(other, abs=1e-3)


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ('width="0" height="40"', "no room"),
        ('width="-3mm" height="40mm"', "no room"),
        ('width="2km" height="40"', None),
        ('width="2000m" height="40"', None),
        ('width="2e9mm" height="40mm"', "longer than a kilometre"),
        ('width="40mm" height="40mm" viewBox="0 0 0 40"', "viewBox has no room"),
        ('width="40mm" height="40mm" viewBox="0 0 -4 40"', "viewBox has no room"),
        ('width="40mm" height="40mm" viewBox="0 0 moth"', None),
    ],
)
def test_a_page_without_room_is_refused_and_one_in_error_is_as_if_unsaid(head, said, run) -> None:  # type: ignore[no-untyped-def]
    if said is None:
        assert len(run(SQUARE, head=head).drawing) == 1
    else:
        with pytest.raises(InputError, match=said):
            run(SQUARE, head=head)


def test_what_runs_past_the_page_is_kept_and_told(run) -> None:  # type: ignore[no-untyped-def]
    """A drawing made with bleed goes on past its page; the sides of a panel want it."""
    result = run(f'<path d="M-20 20H60" {INK}/>')
    assert result.drawing.bounds == (-20, 20, 60, 20)
    assert "kept 1 shape that reaches beyond the page's edge" in result.summary


def test_without_a_job_the_page_is_the_face_of_a_stretched_canvas(run) -> None:  # type: ignore[no-untyped-def]
    job = run(SQUARE, head='width="40mm" height="30mm" viewBox="0 0 40 30"').drawing.job
    assert job.canvas.mount == "stretched"
    assert job.canvas.face == pytest.approx((40, 30))
    assert job.name == "moth"


def test_a_job_keeps_its_face_and_one_without_takes_the_page(run) -> None:  # type: ignore[no-untyped-def]
    stated = Job().with_canvas(face="12 x 16 in")
    assert run(SQUARE, job=stated).drawing.job.canvas.face == pytest.approx((304.8, 406.4))
    taken = run(SQUARE, job=Job()).drawing.job
    assert taken.canvas.face == pytest.approx((40, 40)) and taken.canvas.mount == "board"


def test_a_path_in_a_job_starts_at_the_job(run, artwork, tmp_path) -> None:  # type: ignore[no-untyped-def]
    from small_artwork import Watched

    from underdraw_stages.import_ import ImportSettings
    from underdraw_stages.import_.stage import import_artwork

    artwork(SQUARE, name="luna.svg")
    job = Job(data={"artwork": {"file": "luna.svg"}}, folder=tmp_path)
    result = import_artwork(None, ImportSettings(file="luna.svg"), Watched(job))  # type: ignore[arg-type]
    assert len(result.drawing) == 1


def test_no_file_at_all_says_what_would_do() -> None:
    from small_artwork import Watched

    from underdraw_stages.import_ import ImportSettings
    from underdraw_stages.import_.stage import import_artwork

    with pytest.raises(InputError, match="which artwork"):
        import_artwork(None, ImportSettings(), Watched())  # type: ignore[arg-type]


@pytest.mark.parametrize("box", ["0 0 1e300 1e-300", "0 0 5e-324 40", "0 0 40 5e-324"])
def test_a_flat_view_box_with_one_side_alone_is_no_page(box, run) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match="no room"):
        run('<path d="M0 0H9V9"/>', head=f'height="40mm" viewBox="{box}"')
