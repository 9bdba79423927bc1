"""What a job says wrongly is told with its file and line also where only a stage finds it."""

import re
from pathlib import Path

import pytest

from underdraw.cli.command_line import main

MOTH = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="4in" height="6in" viewBox="0 0 4 6">'
    '<path d="M1 1L3 5" fill="none" stroke="#1b1b3a" stroke-width="0.03"/></svg>'
)
JOB = """\
[artwork]
file = "moth.svg"
[canvas]
face = "4 x 6 in"
depth = "1 in"
[machine]
bed = "12 x 24 in"
controller = "rs274"
units = "in"
"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder to work in, with artwork in `panel/` beside the job."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "panel").mkdir()
    (tmp_path / "panel" / "moth.svg").write_text(MOTH)
    return tmp_path


@pytest.fixture
def said(shop, capsys):
    """Write the job with something exchanged, run a command, and give its exit code and what it said at the end."""

    def run(old: str, new: str, *words: str) -> tuple[int, str]:
        assert old in JOB
        (shop / "panel" / "moth.toml").write_text(JOB.replace(old, new))
        with pytest.raises(SystemExit) as stop:
            main(["--quiet", *(words or ("run", "panel/moth.toml"))])
        return int(stop.value.code or 0), capsys.readouterr().err.strip()

    return run


@pytest.mark.parametrize("words", [("run", "panel/moth.toml"), ("import", "--job", "panel/moth.toml")])
def test_artwork_that_is_not_there_is_told_with_the_line_that_names_it(said, shop, words):
    code, told = said("moth.svg", "moht.svg", *words)
    assert code == 2
    assert told == (
        "underdraw: panel/moth.toml:2: [artwork] file: there is no file 'moht.svg' (did you mean 'moth.svg'?), looked "
        f"for at {shop}/panel/moht.svg; use a path that starts at this job's folder"
    )


def test_a_file_that_a_stages_own_table_names_is_told_there(said):
    code, told = said('units = "in"', 'units = "in"\n[stages]\nimport = { text = "moth.ttf" }')
    assert code == 2
    assert told.startswith("underdraw: panel/moth.toml:11: [stages] import text: there is no file 'moth.ttf'")


def test_artwork_on_the_command_line_goes_before_the_jobs(said):
    assert said("moth.svg", "moht.svg", "import", "panel/moth.svg", "--job", "panel/moth.toml")[0] == 0


def test_artwork_of_the_command_line_that_is_not_there_blames_no_job(said):
    code, told = said("moth.svg", "moht.svg", "import", "panel/luna.svg", "--job", "panel/moth.toml")
    assert (code, told.partition(":")[0]) == (2, "underdraw")
    assert "moth.toml" not in told


@pytest.mark.parametrize("words", [("run", "panel/moth.toml"), ("canvas", "--job", "panel/moth.toml")])
def test_a_panel_that_misses_the_bed_is_told_with_the_line_of_the_bed(said, words):
    code, told = said("12 x 24 in", "6 x 24 in", *words)
    assert code == 1
    assert told.startswith("underdraw: panel/moth.toml:7: the panel ")
    assert "the bed 6 in: 3 in too wide" in told


def test_a_bed_of_the_command_line_blames_no_job(said):
    code, told = said("bed", "bed", "canvas", "--job", "panel/moth.toml", "--bed", "6 x 8 in")
    assert code == 1
    assert "moth.toml" not in told


def test_sizes_that_cannot_be_on_the_artworks_page_are_told_with_their_line(said):
    code, told = said('face = "4 x 6 in"\n', 'bleed = "3 in"\n')
    assert code == 2
    assert told.startswith("underdraw: panel/moth.toml:4: [canvas] bleed: 3 in is more than half the face's 4 in")


@pytest.mark.parametrize(
    ("more", "line", "told"),
    [
        ('park = "-9 x 0 in"', 10, "[machine] park: -9 × 0 in is off the bed of 12 × 24 in"),
        ('zero = "pin"\npin = "3 x 30 in"', 11, "[machine] pin: 3 × 30 in is off the bed of 12 × 24 in"),
    ],
)
def test_a_place_off_the_bed_is_the_jobs_fault_and_not_the_controllers(said, more, line, told):
    code, err = said('units = "in"', f'units = "in"\n{more}')
    assert code == 1
    assert err.splitlines()[-1].startswith(f"underdraw: panel/moth.toml:{line}: {told}")
    assert "use a point from -4 × -14 in to 11 × 23 in of the board's lower left corner" in err


def test_a_place_at_the_very_edge_of_the_bed_is_on_it(said):
    assert said('units = "in"', 'units = "in"\npark = "-4 x 23 in"')[0] == 0


@pytest.mark.slow
@pytest.mark.parametrize("offset", ["-1.037 x 0.4113 in", "7.777 x -3.333 mm", "0.4449 x 0.0031 in"])
def test_the_places_that_the_refusal_of_a_park_names_are_on_the_bed(said, offset):
    def parked(at: str) -> tuple[int, str]:
        return said('units = "in"', f'units = "in"\npark = "{at}"\n[holder]\noffset = "{offset}"')

    code, err = parked("40 x 0 in")
    assert code == 1
    near, far = re.findall(r"from (.*) to (.*) of the board's", err)[0]
    assert parked(near)[0] == parked(far)[0] == 0
