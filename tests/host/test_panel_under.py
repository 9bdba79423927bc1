"""A drawing finds the panel it lies on, turned or not."""

from underdraw import Drawing, Panel
from underdraw.job.file import job_from_data
from underdraw.panel.lying import panel_under

JOB = job_from_data({"canvas": {"face": "12 x 16 in", "depth": "1.5 in"}}, "moth")


def on(sheet: tuple[float, float], job: object = JOB) -> Panel | None:
    return panel_under(Drawing.build([[[(0, 0), (1, 1)]]], sheet, job))  # type: ignore[arg-type]


def test_a_drawing_on_its_board_finds_its_panel() -> None:
    panel = Panel.of(JOB)
    assert on(panel.board) == panel


def test_a_turned_board_gives_the_turned_panel() -> None:
    panel = Panel.of(JOB)
    assert on(panel.board[::-1]) == panel.turned()


def test_artwork_not_yet_placed_lies_on_no_panel() -> None:
    assert on((210.0, 297.0)) is None


def test_without_a_face_the_sheet_is_a_stretched_canvas() -> None:
    panel = on((210.0, 297.0), job_from_data({}, "plain"))
    assert panel is not None and panel.face == (210.0, 297.0) and not panel.wraps
