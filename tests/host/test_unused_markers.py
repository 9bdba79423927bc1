"""A marker that draws nothing is reported once, whichever stage makes the loads."""

from pathlib import Path

import pytest

from underdraw.cli.command_line import main

ARTWORK = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
    '<g fill="none" stroke-width="0.7"><path d="M10 10L30 90" stroke="#1b1b3a"/>'
    '<path d="M40 10L60 90" stroke="#d9793a"/></g></svg>'
)
PLUGIN = """\
from underdraw import Stage, hookimpl
from underdraw_stages.order import OrderSettings
@hookimpl
def underdraw_stages():
    return [Stage(name="sequence", help="order under another name", run="underdraw_stages.order.stage:order",
                  settings=OrderSettings)]
"""
INDIGO, AMBER, GOLD = "#1b1b3a", "#d9793a", "#f4c95d"
IN_ORDER = "order"


def job(chain: list[str], *markers: tuple[str, list[str]]) -> str:
    """A job of this chain, with markers of these names and colours."""
    tables = "".join(f'[[marker]]\nname = "{name}"\ncolours = {colours}\n' for name, colours in markers)
    return (
        '[artwork]\nfile = "vine.svg"\n[canvas]\nface = "100 x 100 mm"\nmount = "stretched"\n'
        f'{tables}[stages]\nplugins = ["other.py"]\nchain = {chain}\n'
    )


@pytest.fixture
def told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys):
    """Run a job, or a stage, and give the warnings that it ended with."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "vine.svg").write_text(ARTWORK)
    (tmp_path / "other.py").write_text(PLUGIN)

    def do(text: str, *words: str) -> list[str]:
        (tmp_path / "vine.toml").write_text(text)
        with pytest.raises(SystemExit) as stop:
            main(list(words or ("run", "vine.toml", "--into", "panel")))
        err = capsys.readouterr().err
        assert not stop.value.code, err
        return [line.strip().replace("warning: ", "") for line in err.splitlines() if ": marker " in line]

    return do


CHAIN = ["import", "fit", "tidy", IN_ORDER, "gcode", "preview", "sheet"]


@pytest.mark.parametrize(
    ("markers", "line"),
    [
        (
            [("outline", [INDIGO, AMBER]), ("accent", [AMBER])],
            "marker 'accent' draws nothing: 'outline' names #d9793a before it; take the colour out of the `colours` of "
            "one of them",
        ),
        (
            [("outline", [INDIGO]), ("accent", [AMBER]), ("spare", [])],
            "marker 'spare' draws nothing: it names no colours; give it some of the artwork's in `colours`, or leave "
            "it out",
        ),
        (
            [("outline", []), ("stars", [GOLD])],
            "marker 'stars' draws nothing: no line that is drawn has its colour #f4c95d; set `colours` to some of the "
            "artwork's, or leave it out",
        ),
        (
            [("rest", []), ("outline", [INDIGO]), ("accent", [AMBER])],
            "marker 'rest' draws nothing: other markers name every colour that is drawn; give it one of them in "
            "`colours`, or leave it out",
        ),
        (
            [("outline", [INDIGO]), ("accent", [AMBER, INDIGO])],
            "marker 'accent' names #1b1b3a, which 'outline' draws: it names it first; take the colour out of the "
            "`colours` of one of them",
        ),
    ],
)
def test_each_marker_that_draws_nothing_is_told_of_with_why(told, markers, line):
    assert told(job(CHAIN, *markers)) == [f"order: {line}"]


@pytest.mark.parametrize(
    "markers",
    [
        [("outline", [])],
        [("outline", [INDIGO]), ("accent", [AMBER])],
        [("outline", []), ("accent", [AMBER])],
        [("outline", [INDIGO, GOLD]), ("accent", [AMBER])],
    ],
)
def test_markers_that_all_draw_are_no_news(told, markers):
    assert told(job(CHAIN, *markers)) == []


TAKEN = [("outline", [INDIGO, AMBER]), ("accent", [AMBER])]


def test_a_stage_of_another_name_that_makes_the_loads_tells_it_too(told):
    chain = ["sequence" if name == IN_ORDER else name for name in CHAIN]
    (line,) = told(job(chain, *TAKEN))
    assert line.startswith("sequence: marker 'accent' draws nothing")


def test_a_chain_that_makes_no_loads_tells_it_at_its_end_once(told):
    chain = [name for name in CHAIN if name != IN_ORDER]
    (line,) = told(job(chain, *TAKEN))
    assert line.startswith("run: marker 'accent' draws nothing")


def test_in_a_pipe_the_stage_that_makes_the_loads_tells_it_and_no_other(told):
    text, lines = job(CHAIN, *TAKEN), {}
    source = ["import", "--job", "vine.toml", "-o", "import.svg"]
    lines["import"] = told(text, *source)
    before = "import"
    for stage in ("fit", "tidy", IN_ORDER):
        lines[stage] = told(text, stage, "-i", f"{before}.svg", "-o", f"{stage}.svg")
        before = stage
    lines["again"] = told(text, IN_ORDER, "-i", "order.svg", "-o", "again.svg")
    lines["gcode"] = told(text, "gcode", "-i", "order.svg", "-o", "vine.nc")
    assert [len(lines[stage]) for stage in lines] == [0, 0, 0, 1, 0, 0]
    (unordered,) = told(text, "gcode", "-i", "tidy.svg", "-o", "vine.nc")
    assert unordered.startswith("gcode: marker 'accent' draws nothing")


def test_a_swatch_card_of_one_marker_does_not_miss_the_others(told):
    assert told(job(CHAIN, *TAKEN), "swatch", "--job", "vine.toml", "-o", "card.svg") == []
    assert told(job(CHAIN, *TAKEN), "gcode", "-i", "card.svg", "-o", "card.nc") == []
