"""Any stage can be swapped for one of another name: what they must know of each other travels as facts."""

from pathlib import Path

import numpy as np
import pytest

from underdraw import Drawing
from underdraw.cli.load_job import load_job
from underdraw.plugins.chain import Outcome, run_chain
from underdraw.plugins.registry import Registry

PLUGIN = """
from dataclasses import replace
from underdraw import Stage, hookimpl
from underdraw_stages import fit, wrap, tidy, order, gcode

@hookimpl
def underdraw_stages():
    return [
        replace(fit.STAGE, name="lay-out"),
        replace(wrap.STAGE, name="carry-round"),
        replace(tidy.STAGE, name="clean"),
        replace(gcode.STAGE, name="put-down", rank=None),
    ]
"""
JOB = """
[artwork]
file = "moths.svg"
[canvas]
face = "420 x 200 mm"
depth = "40 mm"
bleed = "10 mm"
staple = "20 mm"
[machine]
bed = "400 x 700 mm"
zero = "face"
[holder]
use = "collet"
[stages]
{plugins}
chain = [{chain}]
{wrap} = {{ edges = "mirror, top plain, left run-on" }}
{gcode} = {{ split = "load", rehearse = true }}
"""
MOTHS = """<svg xmlns="http://www.w3.org/2000/svg" width="420mm" height="200mm" viewBox="0 0 420 200">
<rect x="-5" y="-5" width="430" height="120" fill="#1b1b3a"/>
<circle cx="400" cy="60" r="50" fill="#c8963c" stroke="#1b1b3a" stroke-width="3"/>
<path d="M0 150C100 90 300 210 420 140" fill="none" stroke="#3f6b4a" stroke-width="5"/>
<ellipse cx="210" cy="0" rx="60" ry="30" fill="#3f6b4a"/>
</svg>"""


class Silent:
    """Keeps warnings."""

    def __init__(self) -> None:
        self.warnings: list[str] = []

    def summary(self, who: str, text: str) -> None: ...
    def progress(self, who: str, share: float, text: str = "") -> None: ...
    def warn(self, who: str, text: str) -> None:
        self.warnings.append(text)


def made(folder: Path, names: dict[str, str]) -> tuple[Outcome, list[str]]:
    """A job's outcome with the stages under these names; it lies turned, since its bed takes it in no other way."""
    folder.mkdir()
    (folder / "moths.svg").write_text(MOTHS)
    (folder / "mine.py").write_text(PLUGIN)
    usual = ("import", "fit", "wrap", "tidy", "order", "gcode", "preview", "sheet")
    chain = ", ".join(f'"{names.get(name, name)}"' for name in usual)
    plugins = 'plugins = ["./mine.py"]' if names else ""
    wrap, gcode = names.get("wrap", "wrap"), names.get("gcode", "gcode")
    (folder / "moths.toml").write_text(JOB.format(chain=chain, plugins=plugins, wrap=wrap, gcode=gcode))
    registry, listener = Registry.installed(), Silent()
    return run_chain(load_job(folder / "moths.toml", registry), registry, listener), listener.warnings


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> tuple[Outcome, list[str]]:
    return made(tmp_path_factory.mktemp("usual") / "job", {})


@pytest.mark.slow
@pytest.mark.parametrize(
    "names",
    [
        {"fit": "lay-out"},
        {"wrap": "carry-round"},
        {"fit": "lay-out", "wrap": "carry-round", "tidy": "clean", "gcode": "put-down"},
    ],
    ids=["fit", "wrap", "all"],
)
def test_stages_of_other_names_give_the_same_strokes_programs_and_pictures(
    usual: tuple[Outcome, list[str]], tmp_path: Path, names: dict[str, str]
) -> None:
    here, there = usual[0], made(tmp_path / "job", names)[0]
    assert same_strokes(here.drawing, there.drawing)
    assert here.drawing.lying is not None and here.drawing.lying.turned
    assert here.drawing.lying == there.drawing.lying
    assert here.drawing.programs == there.drawing.programs
    assert [file.data for _, file in here.files] == [file.data for _, file in there.files]


def same_strokes(one: Drawing, other: Drawing) -> bool:
    return all(
        np.array_equal(getattr(one, name), getattr(other, name)) for name in ("coords", "parts", "marker", "load")
    )


def test_the_sheet_has_a_step_a_file_and_names_each_as_it_was_written(usual: tuple[Outcome, list[str]]) -> None:
    outcome = usual[0]
    programs = outcome.drawing.programs
    (sheet,) = (file.data.decode() for _, file in outcome.files if file.suffix == ".html")
    assert all(sheet.count(f"Start “{program.file}”") == 1 for program in programs) and len(programs) >= 1
    assert "goes round with the marker lifted" in sheet
