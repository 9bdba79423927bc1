"""Numbers on the flat view find a stroke for whoever stands at the machine: none on another, each at its start."""

import re

import numpy as np
import pytest
from garden_panels import SIX, panel_drawing
from lxml import etree

from underdraw.page.callouts import pill_size
from underdraw.page.canvas_page import TINY, Page
from underdraw.page.subject import Subject
from underdraw.testing.trial import TrialContext
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.figure.stroke_numbers import arrow, put_stroke_numbers, steps
from underdraw_stages.preview.stage import preview
from underdraw_stages.preview.views.flat import place_figure

SVG = "{http://www.w3.org/2000/svg}"


def labels(name: str, bench: TrialContext) -> tuple[int, list[tuple[str, float, float]]]:
    """k, and each label: its words and its middle on the page."""
    subject = Subject.of(panel_drawing(name), bench)
    page = Page("numbers", "")
    k = put_stroke_numbers(page, place_figure(subject), subject)
    root = etree.fromstring(page.svg(300.0))
    return k, [
        (text.text or "", float(text.get("x")), float(text.get("y")))
        for text in root.iter(f"{SVG}text")
        if re.fullmatch(r"\d+", text.text or "")
    ]


@pytest.mark.parametrize("name", SIX)
def test_no_two_numbers_touch_and_every_kth_stroke_has_one(bench: TrialContext, name: str) -> None:
    k, found = labels(name, bench)
    assert k >= 1
    assert [words for words, *_ in found] == [str(number) for number in range(1, len(panel_drawing(name)) + 1, k)]
    middle = np.array([(x, y) for _, x, y in found])
    size = np.array([pill_size(words, TINY) for words, *_ in found])
    for one in range(len(found)):
        apart = np.abs(middle[one + 1 :] - middle[one]) - (size[one + 1 :] + size[one]) / 2
        assert (apart.max(axis=1) > 0).all(), found[one]


def test_as_many_strokes_as_have_room_are_numbered() -> None:
    assert steps(30) == [1, 2, 5, 10, 20, 50]
    assert min(steps(100_000)) * 400 >= 100_000


def test_an_arrow_points_the_way_a_stroke_is_drawn_and_a_dot_has_a_ring() -> None:
    first, second = (
        np.array(list(map(float, re.findall(r"-?[\d.]+", arrow(points))))[:2])
        for points in (np.array([(0.0, 0.0), (9.0, 0.0)]), np.array([(9.0, 0.0), (0.0, 0.0)]))
    )
    assert first[0] > 0 and second[0] < 9
    assert "circle" in arrow(np.array([(3.0, 3.0), (3.0, 3.0)]))


@pytest.mark.parametrize("view", ["flat", "folded", "motion"])
def test_every_stroke_shows_its_number_marker_time_and_length_to_a_pointer(bench: TrialContext, view: str) -> None:
    drawing = panel_drawing("12 x 16 in")
    data = preview(drawing, PreviewSettings(view=(view,)), bench).files[0].data
    titles = [title.text or "" for title in etree.fromstring(data).iter(f"{SVG}title")]
    told = [text for text in titles if text.startswith("stroke ")]
    assert sorted({int(text.split()[1].rstrip(",")) for text in told}) == list(range(1, len(drawing) + 1))
    assert all(re.fullmatch(r"stroke \d+, [\w -]+, at \d+:\d\d, [\d.]+ (in|ft|mm|m)", text) for text in told)
