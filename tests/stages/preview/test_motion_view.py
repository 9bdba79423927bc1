"""The motion view plays on the program's own clock, and is a still of the end where nothing moves.

Times are held against the program check, which reads them from the written program.
"""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from garden_panels import panel_drawing
from in_browser import CHROMIUM, WHY_NOT, evaluate, inline
from lxml import etree

from underdraw import Drawing, InputError
from underdraw.drawing.wire import write_drawing
from underdraw.machine.clock import Schedule
from underdraw.testing.trial import TrialContext
from underdraw.words.quantities import clock
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.stage import preview
from underdraw_stages.preview.views.motion import speed_up

SVG = "{http://www.w3.org/2000/svg}"
needs_browser = pytest.mark.skipif(CHROMIUM is None, reason=WHY_NOT)


def played(drawing: Drawing, bench: TrialContext, faster: float | None = None) -> bytes:
    return preview(drawing, PreviewSettings(view=("motion",), speed_up=faster), bench).files[0].data


def stroke_times(data: bytes) -> list[tuple[float, float]]:
    """When each stroke begins and ends to show, in s of play, in document order; pale edges left out."""
    page = etree.fromstring(data)
    times = []
    for path in page.iterfind(f".//{SVG}g[@class='ink']/{SVG}g/{SVG}path"):
        if path.getparent().get("stroke") == "#a89f8e":
            continue
        numbers = [float(number) for number in re.findall(r"([\d.]+)s", path.get("style"))]
        times.append((numbers[-1], numbers[-1] + (numbers[0] if len(numbers) == 2 else 0.0)))
    return times


def test_every_stroke_comes_when_the_machine_draws_it(bench: TrialContext) -> None:
    drawing = panel_drawing("12 x 16 in")
    schedule = Schedule.of(drawing, bench.registry)
    times = stroke_times(played(drawing, bench, 20.0))
    assert len(times) == len(drawing)
    for (start, end), touch, lift in zip(times, schedule.touch, schedule.lift, strict=True):
        assert start == pytest.approx(touch / 20, abs=0.0051)
        assert end == pytest.approx(max(lift / 20, start), abs=0.016)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["12 x 16 in", "deep square", "48 x 20 in"])
def test_at_half_time_it_shows_what_check_names(bench: TrialContext, tmp_path: Path, name: str) -> None:
    drawing = panel_drawing(name, strokes=40)
    (tmp_path / "drawing.svg").write_bytes(write_drawing(drawing))
    command = f"gcode -i {tmp_path}/drawing.svg -o {tmp_path}/panel.nc"
    done = subprocess.run([sys.executable, "-m", "underdraw", *command.split()], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    total = Schedule.of(drawing, bench.registry).total
    half = clock(total / 2)
    options = f"check {tmp_path}/panel.nc --against {tmp_path}/drawing.svg --at {half} --json"
    done = subprocess.run([sys.executable, "-m", "underdraw", *options.split()], capture_output=True, check=False)
    figures = json.loads(done.stdout)
    assert figures["seconds"] == pytest.approx(total, rel=0.005)
    minutes, seconds = half.split(":")
    at = (int(minutes) * 60 + int(seconds)) / 10
    done_by_then = sum(end <= at for _, end in stroke_times(played(drawing, bench, 10.0)))
    assert figures["at"]["stroke"] == done_by_then + 1


def test_what_does_not_animate_shows_the_end(bench: TrialContext) -> None:
    drawing = panel_drawing("12 x 16 in")
    data = played(drawing, bench)
    page = etree.fromstring(data)
    inks = page.find(f".//{SVG}g[@class='ink']")
    assert all(path.get("visibility") is None and path.get("opacity") is None for path in inks.iter(f"{SVG}path"))
    shown = [
        "".join(text.itertext())
        for text in page.iter(f"{SVG}text")
        if text.get("visibility") != "hidden"
        and not any(up.get("visibility") == "hidden" for up in text.iterancestors())
    ]
    assert clock(Schedule.of(drawing, bench.registry).total) in shown
    assert any(text.startswith(f"done: {len(drawing)} strokes") for text in shown)
    assert b"@media (prefers-reduced-motion:reduce){*{animation:none!important}}" in data


def test_it_plays_for_about_half_a_minute_unless_told_otherwise() -> None:
    for total in (12.0, 95.0, 754.0, 2452.0, 30_000.0):
        assert total < 30 or 30 <= total / speed_up(total) <= 75


@pytest.mark.parametrize(("loads", "noted"), [(1, False), (2, True), (3, True)])
def test_a_swap_on_the_clock_is_explained_where_there_is_one(bench: TrialContext, loads: int, noted: bool) -> None:
    drawing = panel_drawing("4 x 4 in", loads=loads)
    (file,) = preview(drawing, PreviewSettings(view=("motion",)), bench).files
    assert (b"At a triangle a marker is swapped" in file.data) is noted


def test_shapes_that_are_no_strokes_cannot_be_played(bench: TrialContext) -> None:
    drawing = panel_drawing("4 x 4 in").replace(fill="#ffffff")
    with pytest.raises(InputError, match="put `tidy` and `order` before it"):
        played(drawing, bench)


AT = """
const animations = document.getAnimations();
const total = Math.max(...animations.map(one => one.effect.getComputedTiming().endTime).filter(Number.isFinite));
const shown = {};
for (const [name, share] of [['start', 0], ['half', 0.5], ['end', 2]]) {
  for (const animation of animations) { animation.pause(); animation.currentTime = total * share; }
  let whole = 0, part = [], texts = [];
  for (const path of document.querySelectorAll('g.ink path')) {
    const style = getComputedStyle(path);
    if (style.visibility === 'hidden') continue;
    const offset = parseFloat(style.strokeDashoffset);
    if (style.strokeDasharray === 'none' || offset <= 0.001) whole++;
    else if (offset < 1) part.push(parseFloat(style.strokeWidth));
  }
  for (const text of document.querySelectorAll('text'))
    if (getComputedStyle(text).visibility !== 'hidden') texts.push(text.textContent);
  shown[name] = {whole, part, texts, total};
}
return shown;
"""


@needs_browser
def test_a_browser_plays_it_to_its_end(bench: TrialContext, tmp_path: Path) -> None:
    drawing = panel_drawing("48 x 20 in", strokes=40)
    data = played(drawing, bench, 10.0)
    times = stroke_times(data)
    shown = evaluate(inline(data), AT, tmp_path)
    half = shown["half"]["total"] / 2000
    assert shown["start"]["whole"] == 0
    assert shown["half"]["whole"] == sum(end <= half for _, end in times)
    assert shown["end"]["whole"] == len(drawing)
    drawing_now = [start <= half < end for start, end in times]
    assert len(shown["half"]["part"]) == sum(drawing_now) <= 1
    assert all(width > 100 for width in shown["half"]["part"])  # bolder than any tip of the drawing
    assert any(text.startswith("outline, oil-paint: strokes 1 to") for text in shown["start"]["texts"])
    assert any(text.startswith("done:") for text in shown["end"]["texts"])
    assert not any(text.startswith("done:") for text in shown["half"]["texts"])


@needs_browser
def test_who_asked_for_less_motion_sees_the_end(bench: TrialContext, tmp_path: Path) -> None:
    drawing = panel_drawing("4 x 4 in")
    script = "return [document.getAnimations().length, matchMedia('(prefers-reduced-motion: reduce)').matches];"
    still = evaluate(inline(played(drawing, bench)), script, tmp_path, "--force-prefers-reduced-motion")
    assert still == [0, True]
