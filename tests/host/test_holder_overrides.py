"""A job's own offset, lift or press goes before its holder's, and a warning tells where the two differ."""

import re
from pathlib import Path

import pytest

from underdraw.cli.command_line import main

ROOT = Path(__file__).parents[2]
PLUGIN = """\
from underdraw import Holder, hookimpl
@hookimpl
def underdraw_holders():
    return [
        Holder(name="arm", help="a sprung arm", sprung=True, offset=(55.0, -12.5), lift=8.0, press=1.5),
        Holder(name="bar", help="a rigid bar", sprung=False, offset=(55.0, -12.5), lift=8.0),
    ]
"""
MOTH = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="4in" height="6in" viewBox="0 0 4 6">'
    '<path d="M1 1L3 5" fill="none" stroke="#1b1b3a" stroke-width="0.03"/></svg>'
)
JOB = """\
[artwork]
file = "moth.svg"
[canvas]
face = "4 x 6 in"
[machine]
bed = "24 x 48 in"
[holder]
HOLDER
[stages]
plugins = ["arms.py"]
"""
WARNING = (
    "moth.toml:9: [holder] offset = 0 x 0 mm is used instead of the 55 x -12.5 mm of holder 'arm'; leave it "
    "out to use the holder's, or set measured = true if you measured it with this holder"
)


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a job, its artwork and its holders."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "moth.svg").write_text(MOTH)
    (tmp_path / "arms.py").write_text(PLUGIN)
    return tmp_path


@pytest.fixture
def told(shop, capsys):
    """Write the job with these lines in [holder], do what is asked, and give the warnings."""

    def do(holder: str, *words: str) -> list[str]:
        (shop / "moth.toml").write_text(JOB.replace("HOLDER", holder))
        with pytest.raises(SystemExit) as stop:
            main(list(words or ("run", "moth.toml", "--into", "panel")))
        err = capsys.readouterr().err
        assert not stop.value.code, err
        return [line.strip().replace("warning: ", "") for line in err.splitlines() if "[holder]" in line]

    return do


def cuts(program: Path) -> list[tuple[float, float]]:
    """Where a program draws, in its own units."""
    return [(float(x), float(y)) for x, y in re.findall(r"^.*G1 .*?X(-?[\d.]+) Y(-?[\d.]+)", program.read_text(), re.M)]


def test_a_job_that_sets_another_offset_than_its_holder_is_warned_of_it_once_a_run(told):
    assert told('use = "arm"\noffset = "0 x 0 mm"') == [WARNING]


@pytest.mark.parametrize(
    "holder",
    [
        'use = "arm"',
        'use = "arm"\noffset = "0 x 0 mm"\nmeasured = true',
        'use = "arm"\noffset = "55 x -12.5 mm"\nlift = "8 mm"\npress = "1.5 mm"',
        'use = "arm"\noffset = "5.5 x -1.25 cm"\nlift = "0.8 cm"',
        'offset = "20 x 5 mm"\nlift = "12 mm"\npress = "1 mm"',  # no holder named: nothing overridden
    ],
)
def test_what_leaves_it_out_or_says_that_it_was_measured_ends_the_warning(told, holder):
    assert told(holder) == []


def test_all_that_is_overridden_is_in_one_warning(told):
    (line,) = told('use = "arm"\nlift = "1/4 in"\npress = "2 mm"')
    assert "moth.toml:9: [holder] lift = 0.25 in, press = 2 mm are used instead of" in line
    assert "the 0.315 in, 1.5 mm of holder 'arm'; leave them out" in line


def test_the_press_of_a_rigid_holder_is_no_matter_of_overriding(told):
    assert not any("instead of" in line for line in told('use = "bar"\npress = "1 mm"'))


def test_in_a_pipe_only_the_stage_that_reads_the_job_warns(told):
    holder = 'use = "arm"\noffset = "0 x 0 mm"'
    first = told(holder, "import", "--job", "moth.toml", "-o", "a.svg")
    rest = []
    steps = [
        ("fit", "a.svg", "b.svg"),
        ("tidy", "b.svg", "c.svg"),
        ("order", "c.svg", "d.svg"),
        ("gcode", "d.svg", "nc"),
    ]
    for stage, source, target in steps:
        rest += told(holder, "--plugin", "arms.py", stage, "-i", source, "-o", target)
    assert (first, rest) == ([WARNING], [])


def test_a_holder_chosen_for_one_program_is_held_against_the_job_there(told):
    told('use = "collet"\noffset = "0 x 0 mm"', "import", "--job", "moth.toml", "-o", "a.svg")
    for stage, source, target in [("fit", "a", "b"), ("tidy", "b", "c"), ("order", "c", "d")]:
        told('use = "collet"', stage, "-i", f"{source}.svg", "-o", f"{target}.svg")
    words = ("--plugin", "arms.py", "gcode", "-i", "d.svg", "-o", "moth.nc")
    assert told('use = "collet"', *words) == []
    (line,) = told('use = "collet"', *words, "--holder", "arm")
    assert line.startswith("gcode: [holder] offset = 0 x 0 mm is used instead of the 55 x -12.5 mm of holder")


@pytest.mark.parametrize("command", ["check", "canvas"])
def test_check_and_canvas_warn_of_the_job_that_they_are_given(told, command):
    holder = 'use = "arm"\noffset = "0 x 0 mm"'
    told(holder)
    words = ("check", "panel/moth.nc", "--job", "moth.toml") if command == "check" else ("canvas", "--job", "moth.toml")
    assert told(holder, *words) == [WARNING]
    if command == "canvas":
        assert told(holder, *words, "--offset", "10 x 0 mm") == []  # typed just now, and meant


@pytest.mark.slow
def test_the_sample_job_with_another_holder_draws_where_that_holder_carries_the_marker(shop, capsys):
    text = (ROOT / "fixtures/moonflower/moonflower.toml").read_text()
    (shop / "moonflower.svg").write_bytes((ROOT / "fixtures/moonflower/moonflower.svg").read_bytes())
    text = re.sub(
        r"^chain = .*$", 'chain = ["import", "fit", "tidy", "gcode"]\nplugins = ["arms.py"]', text, flags=re.M
    )
    text = re.sub(r"^wrap = .*$", "", text, flags=re.M)
    for name, job in (("one", text), ("two", text.replace('use = "collet"', 'use = "arm"\nzero_with = "axis"'))):
        (shop / f"{name}.toml").write_text(job)
        with pytest.raises(SystemExit):
            main(["run", f"{name}.toml", "--into", name])
        assert "instead of" not in capsys.readouterr().err
    one, two = cuts(shop / "one/one.nc"), cuts(shop / "two/two.nc")
    assert len(one) > 100
    for (x, y), (x2, y2) in zip(one, two, strict=True):
        assert (x - x2, y - y2) == pytest.approx((55 / 25.4, -12.5 / 25.4), abs=2e-4)
