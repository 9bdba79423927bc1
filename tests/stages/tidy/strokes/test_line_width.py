"""A tip draws a line of its own width on each canvas: measured on the swatch, it goes before the tip's."""

from underdraw import Drawing
from underdraw.job.file import job_from_data
from underdraw.testing.trial import TrialContext
from underdraw_stages.tidy import TidySettings
from underdraw_stages.tidy.stage import tidy

VINE = [(10.0, 10.0), (60.0, 12.0)]


def tidied(bench: TrialContext, **marker: str) -> Drawing:
    job = job_from_data({"marker": [{"name": "vine", "tip": "0.7 mm", **marker}]}, "vine")
    return tidy(
        Drawing.build([[VINE]], (80, 40), job, stroke="#1b1b3a", stroke_width=0.7), TidySettings(), bench
    ).drawing


def test_a_stroke_is_as_wide_as_its_marker_was_measured_to_draw(bench: TrialContext) -> None:
    assert tidied(bench, line="0.9 mm").stroke_width.tolist() == [0.9]


def test_without_a_measured_line_a_stroke_is_as_wide_as_the_tip(bench: TrialContext) -> None:
    assert tidied(bench).stroke_width.tolist() == [0.7]
