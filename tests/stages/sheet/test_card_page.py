"""A card has a sheet of its own: how to clamp, start and read it, and a form for what was read."""

import re
import tomllib
from html import unescape
from pathlib import Path

import pytest
from garden_panels import OUTLINE
from lxml import html

from underdraw.calibration.lines import job_lines
from underdraw.calibration.readings import SECTIONS, read_readings
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings, spoken, stated_fields
from underdraw.testing.trial import TrialContext
from underdraw_stages.sheet import SheetSettings
from underdraw_stages.sheet.stage import sheet
from underdraw_stages.swatch import SwatchSettings
from underdraw_stages.swatch.stage import swatch


def card_sheet(bench: TrialContext, machine: bool = False, **sections: object) -> str:
    bench.job = job_from_data({"marker": [OUTLINE], **sections}, "garden")
    drawing = swatch(None, read_settings(SwatchSettings, {"machine": machine}), bench).drawing
    return sheet(drawing, SheetSettings(), bench).files[0].data.decode()


def words(text: str) -> str:
    body = re.search(r"<body>(.*)</body>", text, re.DOTALL)
    assert body is not None
    return " ".join(unescape(" ".join(html.fromstring(body[1]).itertext())).split())


@pytest.mark.parametrize("machine", [False, True])
def test_it_plans_no_painting_and_no_resin(bench: TrialContext, machine: bool) -> None:
    text = words(card_sheet(bench, machine))
    assert "Take care" in text and "Spindle: off" in text
    assert "Paint " not in text and "Resin, if wanted" not in text and "staple strip" not in text
    assert ("turn the marker half round" in text) is machine
    assert ("It does not pause" in text) is not machine


@pytest.mark.parametrize(("machine", "section"), [(False, "marker"), (True, "machine")])
def test_the_form_has_a_row_for_every_reading_that_calibrate_takes(
    bench: TrialContext, machine: bool, section: str
) -> None:
    root = html.fromstring(card_sheet(bench, machine))
    keys = [row.text_content() for row in root.xpath("//table[contains(@class, 'form')]//b")]
    assert {spoken(key) for key in keys} == set(stated_fields(SECTIONS[section])) - {"name"}


def test_the_form_lists_all_that_is_tried_from_the_top_of_the_card_down(bench: TrialContext) -> None:
    root = html.fromstring(card_sheet(bench))
    rows = {row[0].text_content(): " ".join(row[2].text_content().split()) for row in root.xpath("//table//tr[td]")}
    assert rows["press"] == "0 mm, 0.5 mm, 1 mm, 1.5 mm, 2 mm" and rows["settle"] == "0 s, 0.1 s, 0.2 s, 0.5 s"
    assert rows["sealed_with"] == "plain, sealed, coated, sealed + coated" and rows["sealed_ran"] == "the same"
    assert len(rows["solid"].split(", ")) == 6
    assert "pressed 1 mm”" not in words(card_sheet(bench))  # a trial is no marker to put in


@pytest.mark.parametrize("machine", [False, True])
def test_its_example_is_a_file_of_readings(bench: TrialContext, machine: bool, tmp_path: Path) -> None:
    root = html.fromstring(card_sheet(bench, machine, marker=[{**OUTLINE, "name": 'the "night" pen'}]))
    (tmp_path / "readings.toml").write_text(root.xpath("//code")[0].text_content())
    lines = job_lines(read_readings(tmp_path / "readings.toml"))
    assert tomllib.loads("\n".join(lines))


def test_each_side_of_the_square_is_asked_for_by_its_name_and_held_against_its_own_length(bench: TrialContext) -> None:
    """A square of 200 mm, whose diagonals are 282.84 mm."""
    root = html.fromstring(card_sheet(bench, machine=True))
    rows = {
        row[0].text_content().strip(): [cell.text_content() for cell in row]
        for row in root.xpath("//table[contains(@class, 'form')]//tr")[1:]
    }
    sides = {"left": "the left side", "right": "the right side"}
    assert {key: rows[key][1].partition(",")[0].strip() for key in sides} == sides
    assert {rows[key][2] for key in ("bottom", "top", "left", "right")} == {"200 mm"}
    assert {rows[key][2] for key in ("rising", "falling")} == {"282.84 mm"}


def test_a_marker_without_a_spring_to_press_has_no_row_for_it(bench: TrialContext) -> None:
    pencil = {"name": "pencil", "ink": "pencil", "tip": "0.5 mm"}
    root = html.fromstring(card_sheet(bench, marker=[pencil], holder={"use": "clamp"}))
    assert "press" not in [row.text_content() for row in root.xpath("//table[contains(@class, 'form')]//b")]


@pytest.mark.parametrize(
    ("own", "told"),
    [
        ({"sealed_with": "gloss medium", "runs": False}, "seal with “gloss medium”, under which it did not run"),
        ({"sealed_with": "gloss medium", "runs": True}, "sealed with “gloss medium” it ran under a coat"),
        ({"runs": False}, "unsealed it did not run under a coat on your card: it need not be sealed"),
        ({"runs": True}, "unsealed it ran under a coat on your card: seal it"),
        ({}, "seal before a resin coat or it runs"),
    ],
)
def test_the_studios_own_card_outranks_the_rule_of_thumb(bench: TrialContext, own, told) -> None:  # type: ignore[no-untyped-def]
    from garden_panels import SIX, garden_strokes

    job = job_from_data({**SIX["4 x 4 in"], "marker": [{**OUTLINE, **own}]}, "tried")
    text = words(sheet(garden_strokes(job), SheetSettings(), bench).files[0].data.decode())
    assert told in text
    assert ("or it runs" in text) is not own
