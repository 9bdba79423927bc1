"""What a sheet says to type, typed: each file that it then says to start is written by it, however programs are cut."""

import html
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

LINES = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="16in" height="{tall}in" viewBox="0 0 16 {tall}">'
    '<g fill="none" stroke-width=".03"><path stroke="#000" d="M1 1L15 1L15 {low}L1 {low}Z M3 3L9 {low}"/>'
    '<path stroke="#f00" d="M2 2L14 2L14 {low}L2 {low}Z M3 {low}L9 3"/></g></svg>'
)
JOB = """\
[artwork]
file = "vines.svg"
[canvas]
face = "16 x {tall} in"
[machine]
bed = "24 x 36 in"
sections = "auto"
units = "in"
[[marker]]
name = "black"
ink_length = "60 m"
[[marker]]
name = "red"
colours = ["#f00"]
ink_length = "60 m"
[stages]
chain = ["import", "fit", "wrap", "tidy", "order", "gcode", "sheet"]
wrap = {{ edges = "mirror" }}
gcode = {{ split = "{split}" }}
"""


def typed(command: str, folder: Path) -> None:
    own = re.sub(r"\bunderdraw ", f"{shlex.quote(sys.executable)} -m underdraw --quiet ", command)
    done = subprocess.run(
        ["bash", "-c", own], cwd=folder, capture_output=True, text=True, check=False, env=dict(os.environ)
    )
    assert done.returncode == 0, (command, done.stderr)


def made(tmp_path: Path, tall: int, split: str) -> tuple[Path, str]:
    """The folder that `run` filled, with blanks in its files' names, and the sheet's text."""
    (tmp_path / "vines.svg").write_text(LINES.format(tall=tall, low=tall - 1))
    (tmp_path / "night vines.toml").write_text(JOB.format(tall=tall, split=split))
    typed("underdraw run 'night vines.toml' --into panel", tmp_path)
    text = (tmp_path / "panel" / "night vines-sheet.html").read_text(encoding="utf-8")
    return tmp_path / "panel", html.unescape(re.sub(r"<[^>]+>", "\n", text))


@pytest.mark.slow
@pytest.mark.parametrize("split", ["none", "marker", "load"])
def test_the_programs_of_each_section_are_written_anew_under_the_names_that_are_started(tmp_path, split) -> None:
    folder, sheet = made(tmp_path, 60, split)
    commands = re.findall(r"lies: (underdraw refit .* && underdraw gcode .*)", sheet)
    marks = re.findall(r"Near (.*)\.", sheet)
    assert len(commands) == len(marks) > 0
    begun = [sheet.index(command) for command in commands] + [len(sheet)]
    for section, (command, near) in enumerate(zip(commands, marks, strict=True), 2):
        spots = re.findall(r"(\d+): ([\d. /×]+ in)", near)
        table = "".join(f'[[mark]]\nnumber = {number}\nread = "{spot.replace("×", "x")}"\n' for number, spot in spots)
        (folder / f"section-{section}.toml").write_text(table)
        before = {path.name: path.stat().st_mtime_ns for path in folder.iterdir()}
        typed(command, folder)
        started = re.findall(r"Start “([^”]*)”", sheet[begun[section - 2] : begun[section - 1]])
        started = started[: 1 if split == "none" else 2]
        assert len(set(started)) == len(started)
        written = {
            path.name for path in folder.iterdir() if path.stat().st_mtime_ns != before.get(path.name)
        } - {f"section-{section}.svg"}  # fmt: skip
        assert written == set(started)
    assert "board back on its pins" not in sheet and "back against the fence" in sheet


@pytest.mark.slow
@pytest.mark.parametrize("split", ["none", "load"])
def test_the_rest_after_a_fade_is_named_as_it_is_written(tmp_path: Path, split: str) -> None:
    folder, sheet = made(tmp_path, 20, split)
    (command,) = re.findall(r"underdraw gcode -i .* --from N -o .*", sheet)
    before = {path.name for path in folder.iterdir()}
    typed(command.replace("--from N", "--from 2"), folder)
    written = {path.name for path in folder.iterdir()} - before
    if split == "none":
        assert written == {"night vines-rest.nc"} and "Start “night vines-rest.nc”" in sheet
    else:
        assert written == {"night vines-rest-1-black.nc", "night vines-rest-2-red.nc"}
        assert "Start the program that was written; of several, the one of the lowest number" in sheet
