"""Flat views of a long panel: one for each section, its strokes in ink and the others pale; marks with numbers."""

import re
from dataclasses import replace

import numpy as np
import pytest
from long_panels import long_panel, ordered

from underdraw.drawing.facts import OnBoard
from underdraw.job.settings import read_settings
from underdraw.page.canvas_page import REACH, Page
from underdraw.page.subject import Subject
from underdraw.panel import Panel, corner_marks
from underdraw.plugins.registry import Registry
from underdraw.testing.trial import TrialContext
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.stage import preview
from underdraw_stages.preview.views.flat import place_figure, put_ink


def views(drawing, **asked: object) -> dict[str, str]:
    result = preview(
        drawing, read_settings(PreviewSettings, {"view": ["flat"], **asked}), TrialContext(Registry.installed())
    )
    return {file.label: file.data.decode() for file in result.files}


def test_each_section_has_a_view_with_its_own_strokes_in_ink() -> None:
    drawing, _ = ordered(long_panel("16 x 120 in"))
    found = views(drawing)
    assert list(found) == ["flat", "flat-section-1", "flat-section-2", "flat-section-3"]
    for section in (1, 2, 3):
        page = found[f"flat-section-{section}"]
        assert f"Section {section} of 3" in page
        ink, pale = page.split('<g id="others"')[1].split('<g id="ink"')[::-1]
        own = {int(number) for number in re.findall(r"<title>stroke (\d+),", ink.split("</g></g></g>")[0])}
        rest = {int(number) for number in re.findall(r"<title>stroke (\d+),", pale)}
        assert own == {row + 1 for row in range(len(drawing)) if drawing.section[row] == section}
        assert own | rest == set(range(1, len(drawing) + 1)) and not own & rest
        assert page.count('class="r"') >= 2  # the ends of what it reaches, long-dashed


@pytest.mark.parametrize("name", ["16 x 120 in", "120 x 16 in"])
def test_the_strokes_of_a_section_lie_between_the_ends_of_what_it_reaches(name: str, monkeypatch) -> None:
    drawing, _ = ordered(long_panel(name))
    for section in (1, 2, 3):
        ends: list[list[tuple[float, float]]] = []
        monkeypatch.setattr(
            Page, "line", lambda _, kind, points, ends=ends: ends.append(points) if kind == REACH else None
        )
        subject = replace(Subject.of(drawing, TrialContext(Registry.installed())), section=section)
        placing = place_figure(subject)
        put_ink(Page("vines", "vines"), placing, subject)
        axis = 0 if name.startswith("120") else 1
        assert len(ends) == (1 if section in (1, 3) else 2)
        rows = np.flatnonzero(drawing.section == section)
        inked = placing.all(np.concatenate([drawing.part_coords(row) for row in rows.tolist()]))[:, axis]
        for end in ends:
            at = {round(point[axis], 6) for point in end}
            assert len(at) == 1
            assert (inked <= min(at) + 1e-6).all() or (inked >= max(at) - 1e-6).all()


def test_a_section_that_was_measured_is_shown_alone() -> None:
    drawing, _ = ordered(long_panel("16 x 60 in"))
    measured = drawing.replace(lying=replace(drawing.lying, section=2))
    assert list(views(measured)) == ["flat", "flat-section-2"]


@pytest.mark.parametrize("name", ["16 x 60 in", "120 x 16 in"])
def test_every_mark_has_its_number_beside_its_cross(name: str) -> None:
    drawing, _ = ordered(long_panel(name))
    page = views(drawing)["flat"]
    labels = re.findall(
        r'<text x="([\d.]+)" y="([\d.]+)"[^>]*>(\d+)</text>', page.split('id="marks"')[1].split("</g>")[0]
    )
    assert {int(number) for _, _, number in labels} == set(range(1, len(drawing.lying.marks) + 1))
    across = {}
    for x, y, number in labels:
        across[int(number)] = (float(x), float(y))
    for one, (x, y) in enumerate(drawing.lying.marks, 1):  # as they lie on the board, so they lie on the page
        for other, (u, v) in enumerate(drawing.lying.marks, 1):
            if x - u > 100:
                assert across[one][0] > across[other][0]
            if y - v > 100:
                assert across[one][1] > across[other][1]


def test_a_board_without_marks_has_no_numbers() -> None:
    drawing, _ = ordered(long_panel("16 x 60 in"))
    bare = drawing.replace(lying=OnBoard(wrapped=True))
    assert 'id="marks"' not in views(bare)["flat"]
    assert corner_marks(Panel.of(drawing.job))
