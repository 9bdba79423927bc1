"""What tidy tells: figures for the history, and one line in words."""

import json

from night_artwork import INDIGO, MOSS, Listener, artwork, box, painted, run, stroke, tidied

from underdraw.drawing.drawing import Drawing
from underdraw.job.sections import Job


def test_the_history_has_the_agreed_figures() -> None:
    figures = run(artwork(box(10, 10, 60, 60), box(40, 40, 90, 90), stroke((100, 10), (150, 10)))).figures
    assert {"strokes_before", "strokes_after", "doubled_mm", "hidden_mm", "joined"} <= set(figures)
    assert json.loads(json.dumps(figures)) == figures
    assert (figures["strokes_before"], figures["strokes_after"]) == (3, 2)


def test_the_summary_says_what_changed() -> None:
    line = ((10, 150), (190, 150))
    shapes = (box(10, 10, 160, 110), box(40, 40, 190, 140), stroke(*line, width=0.1), stroke(*line, width=0.1))
    told = run(artwork(*shapes)).summary
    assert told == "2 strokes, 990 mm (was 4 lines, 1.4 m)\n  190 mm hidden; 180 mm doubled"


def test_lengths_add_up() -> None:
    figures = run(artwork(*(box(10 + 7 * n, 10 + 5 * n, 60 + 7 * n, 60 + 5 * n) for n in range(10)))).figures
    left = figures["before_mm"] - figures["hidden_mm"] - figures["doubled_mm"] - figures["dropped_mm"]
    assert abs(left - figures["drawn_mm"]) < 0.1


def test_artwork_without_a_job_is_drawn_with_the_default_marker() -> None:
    drawing = run(artwork(box(10, 10, 60, 60)).replace(job=Job())).drawing
    assert drawing.marker.tolist() == ["outline"]
    assert isinstance(drawing, Drawing)
    assert drawing.is_strokes


def test_quiet_artwork_gives_no_warning() -> None:
    listener = Listener()
    run(artwork(box(10, 10, 60, 60)), listener)
    assert listener.warnings == []


def test_strokes_remember_where_they_came_from() -> None:
    drawing = run(
        artwork(box(10, 10, 60, 60, layer="petals", element="p1"), box(100, 10, 150, 60, layer="moth"))
    ).drawing
    assert drawing.layer.tolist() == ["petals", "moth"]
    assert drawing.element.tolist() == ["p1", ""]


def test_all_that_paints_is_kept_as_the_artwork_and_nothing_else() -> None:
    """For whoever compares the strokes with it: strokes alone, fills alone, both; not what paints nothing."""
    both = box(40, 40, 60, 60, stroke="#000000", stroke_width=2.0)
    none = painted([(70, 70), (90, 90)])
    kept = tidied(stroke((10, 10), (30, 10), width=0.7), box(10, 40, 30, 60), both, none).artwork
    assert kept is not None
    assert kept.fills == ("", MOSS, MOSS) and kept.strokes == (INDIGO, "", "#000000")
    assert kept.widths[0] == 0.7 and kept.widths[2] == 2.0
    assert kept.paths[0] == "M10 10L30 10"
