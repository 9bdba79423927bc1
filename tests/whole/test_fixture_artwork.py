"""The garden in `fixtures` is what its scripts draw, and has what a drawing program's export has."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
import shapely
from lxml import etree

from underdraw.drawing.wire import read_drawing

FIXTURES = Path(__file__).parents[2] / "fixtures"
SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
LAST_DIGIT = 0.011  # numbers are written to two decimals; another machine's sine may round the last one otherwise
DRAWN = {
    "moonflower/draw_moonflower.py": ["moonflower.svg"],
    "panels/draw_panels.py": ["single-moth.svg", "deep-moonflower.svg", "tendril-border.svg", "four-colour-moth.svg"],
}


@pytest.mark.parametrize("script", DRAWN)
def test_the_script_beside_the_artwork_still_draws_it(script: str, tmp_path: Path) -> None:
    target = tmp_path / "moonflower.svg" if script.startswith("moonflower") else tmp_path
    subprocess.run([sys.executable, "-B", FIXTURES / script, target], check=True)
    for name in DRAWN[script]:
        kept, drawn = (folder / name for folder in ((FIXTURES / script).parent, tmp_path))
        old, new = kept.read_text(encoding="utf-8"), drawn.read_text(encoding="utf-8")
        assert NUMBER.sub("#", new) == NUMBER.sub("#", old), f"{name}: run {script} again"
        assert [float(n) for n in NUMBER.findall(new)] == pytest.approx(
            [float(n) for n in NUMBER.findall(old)], abs=LAST_DIGIT
        ), f"{name}: run {script} again"


def test_the_sample_has_what_an_export_has() -> None:
    root = etree.parse(FIXTURES / "moonflower" / "moonflower.svg").getroot()
    drawable = [f"{SVG}{name}" for name in ("path", "circle", "ellipse", "rect", "line", "polyline", "polygon", "use")]
    assert sum(1 for _ in root.iter(*drawable)) >= 150
    transforms = " ".join(element.get("transform", "") for element in root.iter(etree.Element))
    assert all(f"{name}(" in transforms for name in ("translate", "rotate", "scale", "matrix"))
    assert root.find(f"{SVG}style") is not None and root.find(f".//{SVG}use") is not None
    assert root.find(".//*[@class]") is not None and root.find(".//*[@style]") is not None
    assert root.find(".//*[@id='guides']") is not None
    nested = [len(list(element.iterancestors(f"{SVG}g"))) for element in root.iter(f"{SVG}path")]
    assert max(nested) >= 4


@pytest.mark.slow
@pytest.mark.parametrize(
    ("job", "sides"),
    [
        ("moonflower/moonflower.toml", ("left", "right", "top", "bottom")),
        ("panels/deep-square.toml", ("left", "right", "top", "bottom")),
        ("panels/long-frieze.toml", ("left", "right", "top")),
        ("panels/stretched-moth.toml", ("left", "right")),
    ],
)
def test_lines_cross_the_edges_so_that_the_sides_show_something(job: str, sides: tuple[str, ...]) -> None:
    command = [sys.executable, "-m", "underdraw", "--quiet", "import", "--job", str(FIXTURES / job)]
    done = subprocess.run(command, check=True, capture_output=True)
    drawing = read_drawing(done.stdout)
    width, height = drawing.sheet
    edges = {
        "left": ((0, 0), (0, height)),
        "right": ((width, 0), (width, height)),
        "top": ((0, 0), (width, 0)),
        "bottom": ((0, height), (width, height)),
    }
    lines = drawing.part_lines()
    for side in sides:
        assert shapely.crosses(lines, shapely.linestrings(edges[side])).any(), side
