"""What changed since an older drawing: shown as it was made, by where the lines are, and what differs beside them."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from garden_panels import panel_drawing
from in_browser import CHROMIUM, WHY_NOT, data_uri, evaluate
from lxml import etree
from rendered import rendered

from underdraw import Drawing, InputError
from underdraw.drawing.drawing import COLUMNS
from underdraw.drawing.wire import write_drawing
from underdraw.job.file import job_from_data
from underdraw.page.canvas_page import CAME
from underdraw.testing.trial import TrialContext
from underdraw.words.quantities import distance
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.since.changed_lines import PASSING_MM, SAME_MM, STEP_MM, ChangedLines, changed_lines
from underdraw_stages.preview.since.changed_settings import changed_settings
from underdraw_stages.preview.stage import preview

SVG = "{http://www.w3.org/2000/svg}"
SAMPLE_MM = 0.05


def rebuilt(drawing: Drawing, lines: list[np.ndarray], rows: list[int]) -> Drawing:
    """The drawing with these strokes, each in the looks of one of its own."""
    columns = {name: getattr(drawing, name)[rows] for name in COLUMNS}
    made = Drawing.build([[line] for line in lines], drawing.sheet, drawing.job, **columns)
    return made.replace(lying=drawing.lying, hides_nothing=True)


def edited(drawing: Drawing, seed: int) -> tuple[Drawing, str]:
    """One random edit of a kind that the seed chooses, and which it was."""
    rng = np.random.default_rng(seed)
    lines, rows = [drawing.part_coords(row).copy() for row in range(len(drawing))], list(range(len(drawing)))
    kind = ("removed", "added", "moved a little", "moved", "reordered", "reversed")[seed % 6]
    some = rng.choice(len(lines), size=3, replace=False).tolist()
    if kind == "removed":
        rows = [row for row in rows if row not in some]
        lines = [lines[row] for row in rows]
    elif kind == "added":
        for row in some:
            lines.append(lines[row] * (1.3, 0.8) + rng.uniform(3, 9, 2))
            rows.append(row)
    elif kind.startswith("moved"):
        far = rng.uniform(0.01, 0.045) if kind == "moved a little" else rng.uniform(0.3, 5.0)
        angle = rng.uniform(0, 2 * np.pi)
        for row in some:
            lines[row] = lines[row] + far * np.array([np.cos(angle), np.sin(angle)])
    elif kind == "reordered":
        rows = rng.permutation(len(lines)).tolist()
        lines = [lines[row] for row in rows]
    else:
        lines = [line[::-1] for line in lines]
    return rebuilt(drawing, lines, rows), kind


def far_from(drawing: Drawing, other: Drawing, within: float) -> float:
    """mm of a drawing's lines that are farther than that from the other one's, point by point."""
    lines = drawing.part_lines()
    lines = lines[shapely.length(lines) > 0]
    counts = np.maximum((shapely.length(lines) / SAMPLE_MM).astype(int), 1)
    line = np.repeat(np.arange(len(lines)), counts)
    at = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    points = shapely.line_interpolate_point(lines[line], (at + 0.5) * SAMPLE_MM)
    whole = shapely.multilinestrings(other.part_lines())
    shapely.prepare(whole)
    return float((~shapely.dwithin(points, whole, within)).sum()) * SAMPLE_MM


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(30))
def test_a_random_edit_is_shown_as_it_was_made(seed: int) -> None:
    old = panel_drawing("12 x 16 in")
    new, kind = edited(old, seed)
    found = changed_lines(old, new)
    if kind in ("reordered", "reversed", "moved a little"):
        assert (found.came.length, found.went.length) == (0, 0), kind
        assert found.stayed.length == pytest.approx(new.drawn_mm)
        return
    for part, one, other in ((found.came, new, old), (found.went, old, new)):
        # where lines cross, a short stretch is near an old line and yet new
        crossings = PASSING_MM * shapely.get_num_geometries(shapely.intersection(
            shapely.multilinestrings(one.part_lines()), shapely.multilinestrings(other.part_lines())))  # fmt: skip
        exact = far_from(one, other, SAME_MM)
        assert exact - 2 * STEP_MM * max(part.strokes, 1) <= part.length <= exact + crossings + STEP_MM
    assert (found.came.strokes > 0) == (kind in ("added", "moved"))
    assert (found.went.strokes > 0) == (kind in ("removed", "moved"))
    assert found.stayed.length + found.came.length == pytest.approx(new.drawn_mm, rel=1e-6)


def compared(bench: TrialContext, tmp_path: Path, old: Drawing, new: Drawing) -> bytes:
    """The page, by way of a file."""
    (tmp_path / "old.svg").write_bytes(write_drawing(old))
    result = preview(new, PreviewSettings(since=str(tmp_path / "old.svg")), bench)
    assert result.drawing is new
    (file,) = result.files
    assert file.label == "changes"
    return file.data


def texts(svg: bytes) -> str:
    shown = " ".join("".join(text.itertext()) for text in etree.fromstring(svg).iter(f"{SVG}text"))
    return shown.replace("\u00a0", " ")  # between a number and its unit


def points_of(svg: bytes, name: str) -> np.ndarray:
    (group,) = [group for group in etree.fromstring(svg).iter(f"{SVG}g") if group.get("id") == name]
    return np.array(re.findall(r"[-\d.e]+", group[0].get("d")), dtype=np.float64).reshape(-1, 2)


@pytest.mark.slow
def test_what_came_is_bold_in_two_renderers(bench: TrialContext, tmp_path: Path) -> None:
    old = panel_drawing("12 x 16 in")
    new, _ = edited(old, 1)
    svg = compared(bench, tmp_path, old, new)
    colour = np.array([int(CAME.colour[at : at + 2], 16) for at in (1, 3, 5)])
    came = points_of(svg, "came")
    x, y = (came * 10).astype(int).T
    shown = np.abs(rendered(svg.decode(), 1900)[y, x] - colour).sum(axis=1) < 30
    assert len(came) > 60
    assert shown.mean() > 0.97
    if CHROMIUM is None:
        pytest.skip(WHY_NOT)
    script = f"""
const image = new Image(); image.src = {data_uri(svg, "image/svg+xml")!r}; await image.decode();
const canvas = document.createElement('canvas');
canvas.width = 1900; canvas.height = Math.round(1900 * image.naturalHeight / image.naturalWidth);
const context = canvas.getContext('2d'); context.drawImage(image, 0, 0, canvas.width, canvas.height);
return {np.stack([x, y], axis=1).tolist()}.map(([x, y]) => [...context.getImageData(x, y, 1, 1).data].slice(0, 3));
"""
    in_browser = np.array(evaluate("", script, tmp_path))
    assert (np.abs(in_browser - colour).sum(axis=1) < 30).mean() > 0.97


def test_the_legend_has_the_lengths_and_each_kind_its_line(bench: TrialContext, tmp_path: Path) -> None:
    old = panel_drawing("12 x 16 in")
    new, _ = edited(old, 0)
    svg = compared(bench, tmp_path, old, new)
    assert "came, in this drawing alone: nothing" in texts(svg)
    assert re.search(r"went, in the older drawing alone: [\d.]+ (in|ft) in 3 strokes", texts(svg))
    assert b"stroke-dasharray:1.4 0.8" in svg
    assert "Sizes, markers and settings are the same." in texts(svg)


def test_sizes_markers_and_settings_that_differ_are_listed(bench: TrialContext, tmp_path: Path) -> None:
    old = panel_drawing("12 x 16 in").recorded("tidy", {"same": 0.2, "join": 0.2}, {})
    data = {**old.job.data, "canvas": {"face": "12 x 16 in", "depth": "1.5 in", "staple": "2 in"}}
    data["marker"] = [{**old.job.data["marker"][0], "tip": "0.7 mm"}, *old.job.data["marker"][1:]]
    new = panel_drawing("12 x 16 in").recorded("tidy", {"same": 0.4, "join": 0.2}, {})
    new = new.replace(job=replace(job_from_data(data, old.job.name)))
    expected = ["canvas staple: not set → 2 in", "marker outline tip: 1 mm → 0.7 mm", "tidy --same: 0.2 → 0.4"]
    assert changed_settings(old, new) == expected
    assert all(line in texts(compared(bench, tmp_path, old, new)) for line in expected)


def test_another_marker_is_named_where_the_line_stayed() -> None:
    old = panel_drawing("12 x 16 in")
    marker = old.marker.copy()
    marker[0] = "accent"
    found = changed_lines(old, old.replace(marker=marker))
    assert (found.came.length, found.went.length) == (0, 0)
    assert found.remarked_mm == pytest.approx(old.shape_lengths()[0])


def test_how_much_another_marker_draws_is_told_in_words(bench: TrialContext, tmp_path: Path) -> None:
    old = panel_drawing("12 x 16 in")
    marker = old.marker.copy()
    marker[0] = "accent"
    length = distance(float(old.shape_lengths()[0]), "in")
    told = texts(compared(bench, tmp_path, old, old.replace(marker=marker)))
    assert f"{length} of what stayed is drawn by another marker now." in told
    assert "stayed, within 0.0020 in: " in told
    assert "another marker" not in texts(compared(bench, tmp_path, old, old))


def test_drawings_of_two_pictures_are_named_so(bench: TrialContext, tmp_path: Path) -> None:
    old = panel_drawing("12 x 16 in")
    other = rebuilt(old, [old.part_coords(row) * 0.4 + 31.7 for row in range(len(old))], list(range(len(old))))
    svg = compared(bench, tmp_path, old, other)
    assert "they look like two pictures" in texts(svg)
    assert any("they look like two pictures" in line for line in bench.warnings)


def test_an_edit_of_one_picture_sets_off_no_warning(bench: TrialContext, tmp_path: Path) -> None:
    old = panel_drawing("12 x 16 in")
    compared(bench, tmp_path, old, edited(old, 3)[0])
    assert not bench.warnings


def test_an_empty_drawing_beside_another_is_all_that_went(bench: TrialContext, tmp_path: Path) -> None:
    old = panel_drawing("12 x 16 in")
    found: ChangedLines = changed_lines(old, old.select([]))
    assert found.went.length == pytest.approx(old.drawn_mm)
    compared(bench, tmp_path, old, old.select([]))
    compared(bench, tmp_path, old.select([]), old)


@pytest.mark.parametrize("content", [b"", b"<svg xmlns='http://www.w3.org/2000/svg'/>", None])
def test_an_older_drawing_that_is_none_is_one_clear_line(
    bench: TrialContext, tmp_path: Path, content: bytes | None
) -> None:
    file = tmp_path / "old.svg"
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(InputError, match="old.svg"):
        preview(panel_drawing("12 x 16 in"), PreviewSettings(since=str(file)), bench)
