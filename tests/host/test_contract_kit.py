"""The contract kit passes every built-in part, and fails each part that is broken on purpose, naming its fault."""

import re
import subprocess
import sys
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path

import pytest

from underdraw import CannotDo, Result, Stage, setting
from underdraw.job.settings import Text
from underdraw.plugins.catalogue import Parts, Plugin
from underdraw.plugins.registry import Registry
from underdraw.testing import ControllerContract, HolderContract, StageContract
from underdraw.testing.sample_drawings import sample_job
from underdraw.testing.whole_job import problems_of_a_whole_job

HEAD = """\
import random
from dataclasses import dataclass, replace

import numpy as np

from underdraw import Controller, Drawing, File, Holder, Job, Result, Stage, setting
from underdraw.job.settings import Length
from underdraw.testing import ControllerContract, HolderContract, StageContract

"""


@dataclass(frozen=True)
class Broken:
    """A part with one fault, the test that must find it, and what that must say."""

    source: str  # defines PART
    test: str
    told: str


CONTROLLERS = {
    "starts the spindle": Broken(
        """
class Bad(Controller):
    def begin(self, units):
        return [*super().begin(units), "M3 S8000"]
""",
        "test_it_never_starts_a_spindle_coolant_or_laser",
        r"in mm: line 8 'M3 S8000': M3 starts the spindle",
    ),
    "starts the spindle at a pause": Broken(
        """
class Bad(Controller):
    def pause(self, text):
        return ["M0", "M4"]
""",
        "test_it_never_starts_a_spindle_coolant_or_laser",
        r"'M4': M4 starts the spindle the other way round",
    ),
    "lets a marker's name become words": Broken(
        """
class Bad(Controller):
    def note(self, text):
        return []
    def message(self, text):
        return [line for line in text.splitlines() if line]
    def pause(self, text):
        return ["M0", *self.message(text)] if "M3" in text else ["M0"]
""",
        "test_it_never_starts_a_spindle_coolant_or_laser",
        r"starts the spindle",
    ),
    "draws a mirror image": Broken(
        """
class Bad(Controller):
    def coordinates(self, units, **values):
        return super().coordinates(units, **{k: -v if k in "xi" else v for k, v in values.items()})
""",
        "test_it_draws_what_it_should",
        r"in mm: line \d+ .*: draws [\d.]+ mm that is not in the drawing|stroke 1: [\d.]+ mm of it is not drawn",
    ),
    "turns arcs the wrong way": Broken(
        """
class Bad(Controller):
    def arc(self, clockwise, words):
        return super().arc(not clockwise, words)
""",
        "test_it_draws_what_it_should",
        r"not in the drawing|is not drawn",
    ),
    "drifts, step by step": Broken(
        """
class Bad(Controller):
    def finish(self, blocks):
        here, out = None, []
        for block in blocks:
            words = dict((w[0], w[1:]) for w in block.split()) if block[:1] == "G" and "X" in block else {}
            if "X" not in words:
                out.append(block)
                continue
            place = float(words["X"]), float(words["Y"])
            if here is None:
                out += [block, "G91"]
            else:
                step = [round(a - b, 1) for a, b in zip(place, here)]
                rest = f" F{words['F']}" if "F" in words else ""
                out.append(f"G{words['G']} X{step[0]:g} Y{step[1]:g}{rest}")
            here = place
        height, relative = 0.0, []
        for block in out:
            found = [w for w in block.split() if w[0] == "Z"]
            if "G91" in out and found and "G91" in relative:
                to = float(found[0][1:])
                block, height = block.replace(found[0], f"Z{to - height:g}"), to
            elif found:
                height = float(found[0][1:])
            relative.append(block)
        return relative
PART = Bad("bad", "broken on purpose", arcs=False)
""",
        "test_it_draws_what_it_should",
        r"not in the drawing|is not drawn",
    ),
    "writes longer lines than it says": Broken(
        """
class Bad(Controller):
    def message(self, text):
        return [f"(MSG, {text})"]
PART = Bad("bad", "broken on purpose", longest_line=60)
""",
        "test_its_lines_are_no_longer_than_it_says",
        r"in mm: declares lines of at most 60 characters, and writes \d+: '\(MSG, swap the marker",
    ),
    "writes more decimals than it says": Broken(
        """
class Bad(Controller):
    def coordinates(self, units, **values):
        return " ".join(f"{k.upper()}{v:.5f}" for k, v in values.items())
PART = Bad("bad", "broken on purpose", decimals={"mm": 3})
""",
        "test_its_numbers_have_no_more_decimals_than_it_says",
        r"in mm: declares 3 decimals, and writes 'G0 Z5\.00000'",
    ),
    "pauses without a pause": Broken(
        """
class Bad(Controller):
    def pause(self, text):
        return self.message(text)
""",
        "test_its_pauses_pause",
        r"in mm: pause\(\) writes \['\(MSG, swap\)'\], at which no machine stops",
    ),
    "waits a thousand times too long": Broken(
        """
class Bad(Controller):
    def dwell(self, seconds):
        return f"G4 P{seconds * 1000:g}"
""",
        "test_its_waits_last_as_long_as_they_should",
        r"in mm: dwell\(0\.3\) waits 300 s",
    ),
    "travels with the marker down": Broken(
        """
class Bad(Controller):
    def rapid(self, words):
        return "" if words == "Z5" and getattr(self, "seen", []).append(1) else f"G0 {words.replace('Z5', 'Z-1')}"
""",
        "test_it_begins_moves_and_ends_safely",
        r"a rapid \(G0\) (moves sideways with|puts) the marker down",
    ),
    "drives Z twenty times too deep": Broken(
        """
class Bad(Controller):
    def coordinates(self, units, **values):
        return super().coordinates(units, **{k: v * 20 if k == "z" and v < 0 else v for k, v in values.items()})
""",
        "test_its_heights_are_those_that_it_is_given",
        r"in mm: line \d+ 'G1 Z-30 F381': goes 30\.00 mm below Z0; the press is 1\.50 mm",
    ),
    "writes a tenth of the feed": Broken(
        """
class Bad(Controller):
    def feed(self, per_minute):
        return super().feed(per_minute / 10)
""",
        "test_its_speeds_are_those_that_it_is_given",
        r"in mm: line \d+ .*: (lowers the marker|draws) at [\d.]+ mm/s; (the touch speed is|its ink takes) [\d.]+ mm/s",
    ),
    "never stops the spindle": Broken(
        """
class Bad(Controller):
    def begin(self, units):
        return super().begin(units)[1:]
""",
        "test_it_begins_moves_and_ends_safely",
        r"in mm: line \d+ 'G0 Z5': moves before M5 stops the spindle",
    ),
    "leaves the distance mode open": Broken(
        """
class Bad(Controller):
    def begin(self, units):
        return [block.replace("G90 ", "") for block in super().begin(units)]
""",
        "test_it_begins_moves_and_ends_safely",
        r"in mm: line \d+ 'G0 Z5': moves before G90 or G91 sets",
    ),
    "asks for no marker": Broken(
        """
class Bad(Controller):
    def pause(self, text):
        return ["M0"]
""",
        "test_its_pauses_pause",
        r"in mm: line \d+ 'M0': the pause names no marker; the strokes after it are of 'gold'",
    ),
    "uses a word that nobody knows": Broken(
        """
class Bad(Controller):
    def end(self):
        return ["M77", "M2"]
""",
        "test_the_reader_understands_every_word",
        r"'M77': M77 is not understood",
    ),
    "has comments where it says there are none": Broken(
        """
class Bad(Controller):
    def end(self):
        return ["(done)", "M2"]
PART = Bad("bad", "broken on purpose", comments=False, messages=False)
""",
        "test_it_writes_no_comment_where_it_says_there_are_none",
        r"declares no comments, and writes '\(done\)'",
    ),
}
STAGE = """
def work(drawing, settings, context):
{body}
PART = Stage("bad", "Broken on purpose.", work{more})
"""


def stage(body: str, more: str = "") -> str:
    return STAGE.format(body="\n".join(f"    {line}" for line in body.splitlines()), more=more)


STAGES = {
    "changes the drawing it was given": Broken(
        stage("drawing.coords.setflags(write=True)\ndrawing.coords[:] += 1\nreturn Result(drawing, {'moved_mm': 1.0})"),
        "test_it_changes_nothing_that_it_is_given",
        r"changes the drawing that it was given; make another with drawing\.replace",
    ),
    "throws dice": Broken(
        stage("return Result(drawing.replace(coords=drawing.coords + random.random()), {'moved_mm': 1.0})"),
        "test_the_same_input_gives_the_same_bytes",
        r"gives another drawing the second time, for the same input",
    ),
    "has no figures": Broken(
        stage("return Result(drawing)"),
        "test_its_figures_are_there_and_plain",
        r"gives no figures; say in numbers what it did",
    ),
    "has figures that are no numbers": Broken(
        stage("return Result(drawing, {'moved_mm': float('nan')})"),
        "test_its_figures_are_there_and_plain",
        r"its figures are no JSON: Out of range float values",
    ),
    "falls over nothing": Broken(
        stage("return Result(drawing, {'left_mm': float(drawing.coords[:, 0].min())})"),
        "test_an_empty_drawing_is_no_accident",
        r"raises ValueError on a drawing with no shapes: zero-size array",
    ),
    "loses the job": Broken(
        stage("return Result(drawing.replace(job=Job()), {'moved_mm': 0.0})"),
        "test_it_keeps_the_history_and_the_name_of_the_job",
        r"loses the drawing's job, or its markers",
    ),
    "hands on a job of markers alone": Broken(
        stage(
            "job = Job(name=drawing.job.name, markers=drawing.job.markers)\n"
            "return Result(drawing.replace(job=job), {'moved_mm': 0.0})"
        ),
        "test_it_keeps_the_history_and_the_name_of_the_job",
        r"loses or changes \[\w+\] of the drawing's job",
    ),
    "forgets how the board lies": Broken(
        stage("return Result(drawing.replace(lying=None), {'moved_mm': 0.0})"),
        "test_it_keeps_the_history_and_the_name_of_the_job",
        r"loses what the drawing knows: lying",
    ),
    "has no words": Broken(
        stage("return Result(drawing, {'moved_mm': 0.0}, None)"),
        "test_its_figures_are_there_and_plain",
        r"its summary None is no text",
    ),
    "writes its own record": Broken(
        stage("return Result(drawing.recorded('bad', {}, {}), {'moved_mm': 0.0})"),
        "test_it_keeps_the_history_and_the_name_of_the_job",
        r"changes the drawing's history; the host adds a record",
    ),
    "prints": Broken(
        stage("print('done')\nreturn Result(drawing, {'moved_mm': 0.0})"),
        "test_it_prints_nothing",
        r"prints on standard output, which carries the drawing: 'done",
    ),
    "makes a colour the wire has not": Broken(
        stage("return Result(drawing.replace(stroke='indigo'), {'moved_mm': 0.0})"),
        "test_it_is_at_home_on_the_wire",
        r"makes a drawing that the wire does not hold: .*'indigo' is no colour",
    ),
    "writes nothing": Broken(
        stage("return Result(drawing)", ", kind='writer'"),
        "test_a_writer_makes_files_and_hands_its_drawing_on",
        r"is declared a writer and makes no file",
    ),
    "hands on less than it was given": Broken(
        stage(
            "return Result(drawing.select([0]) if len(drawing) else drawing, files=(File('.txt', b'x'),))",
            ", kind='writer'",
        ),
        "test_a_writer_makes_files_and_hands_its_drawing_on",
        r"hands on another drawing than it was given",
    ),
    "compares each stroke with every other": Broken(
        stage(
            "x = np.repeat(drawing.coords[:, 0], 1)\n"
            "near = sum(int((np.abs(x - a) < 0.1).sum()) for a in x[::4])\n"
            "return Result(drawing, {'near': near})"
        ),
        "test_a_huge_drawing_is_borne",
        r"takes \d+ times as long for 4 times the strokes; work on whole arrays",
    ),
    "has a setting without a statement": Broken(
        "@dataclass(frozen=True)\nclass S:\n    same: float = 0.2\n"
        + stage("return Result(drawing, {'moved_mm': 0.0})", ", S"),
        "test_it_is_declared_soundly",
        r"setting 'same' is not stated with setting",
    ),
}
HOLDERS = {
    "presses without a spring": Broken(
        'PART = Holder("bad", "Broken on purpose.", sprung=False, press=1.0)',
        "test_only_a_spring_is_pressed_in",
        r"is rigid and presses 1 mm into the canvas; use press = 0",
    ),
    "drags its tip": Broken(
        'PART = Holder("bad", "Broken on purpose.", sprung=True, press=1.0, lift=0.2)',
        "test_its_tip_clears_the_canvas_in_travel",
        r"its lift is 0.2 mm: the tip would drag over the canvas in travel; use 0.5 mm or more",
    ),
    "crushes its markers": Broken(
        'PART = Holder("bad", "Broken on purpose.", sprung=True, press=60.0)',
        "test_it_is_declared_soundly",
        r"its press of 60 mm is beyond 20 mm; which unit was meant",
    ),
    "leaves blots": Broken(
        'PART = Holder("bad", "Broken on purpose.", sprung=True, press=1.0, settle=9999.0)',
        "test_it_is_declared_soundly",
        r"its settle of 9999 s is beyond 30 s: the tip leaves a blot",
    ),
    "strikes the canvas": Broken(
        'PART = Holder("bad", "Broken on purpose.", sprung=True, press=1.0, clearance=0.01)',
        "test_its_tip_clears_the_canvas_in_travel",
        r"its clearance of 0.01 mm is not between 0.2 mm and its lift of 5 mm",
    ),
    "begins its approach above its lift": Broken(
        'PART = Holder("bad", "Broken on purpose.", sprung=True, press=1.0, lift=3.0, clearance=4.0)',
        "test_its_tip_clears_the_canvas_in_travel",
        r"its clearance of 4 mm is not between 0.2 mm and its lift of 3 mm",
    ),
    "mistakes its unit": Broken(
        'PART = Holder("bad", "Broken on purpose.", sprung=True, press=1.0, offset=(1500.0, 0.0))',
        "test_it_is_declared_soundly",
        r"its offset of 1500 mm is beyond 300 mm; which unit was meant",
    ),
    "says its offset another way than it acts": Broken(
        """
class Sly(tuple):
    def __iter__(self):
        return iter((0.0, 0.0))
PART = Holder("bad", "Broken on purpose.", sprung=True, press=1.0, offset=Sly((12.0, 0.0)))
""",
        "test_reach_and_offset_agree",
        r"its tip reaches|too short for its offset|is taken for",
    ),
}
PARTS = {
    **{name: (broken, "ControllerContract", "controller") for name, broken in CONTROLLERS.items()},
    **{name: (broken, "StageContract", "stage") for name, broken in STAGES.items()},
    **{name: (broken, "HolderContract", "holder") for name, broken in HOLDERS.items()},
}


def class_of(name: str) -> str:
    return "Test" + "".join(re.sub(r"\W", "", word).capitalize() for word in name.split())


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, str]]:
    """What pytest tells an author: contract class -> test that failed -> its message."""
    folder = tmp_path_factory.mktemp("broken")
    chosen = []
    for index, (name, (broken, contract, attribute)) in enumerate(PARTS.items()):
        part = "" if "PART" in broken.source else 'PART = Bad("bad", "broken on purpose")\n'
        frozen = broken.source.replace("\nclass Bad(", "\n@dataclass(frozen=True)\nclass Bad(")
        huge = 8_000 if "every other" in name else 500
        small = f"    huge = {huge}\n" if attribute == "stage" else ""
        chosen.append(f"test_broken_{index}.py::{class_of(name)}::{broken.test}")
        (folder / f"test_broken_{index}.py").write_text(
            f"{HEAD}{frozen}\n{part}\n\nclass {class_of(name)}({contract}):\n    {attribute} = PART\n{small}"
        )
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--tb=short", *chosen],
        capture_output=True, text=True, check=False, cwd=folder,
    )  # fmt: skip
    assert "error" not in done.stdout.splitlines()[-1], done.stdout
    told: dict[str, dict[str, str]] = {}
    for heading, test, text in re.findall(
        r"^_+ (Test\w+)\.(test_\w+) _+\n(.*?)(?=^_+ |^=+ )", done.stdout, re.M | re.S
    ):
        told.setdefault(heading, {})[test] = text.strip()
    return told


@pytest.mark.parametrize("name", PARTS)
def test_a_part_that_is_broken_on_purpose_is_found_out(shown: dict[str, dict[str, str]], name: str) -> None:
    broken, _, _ = PARTS[name]
    found = shown.get(class_of(name), {})
    assert broken.test in found, f"only {found}"
    message = found[broken.test]
    assert "\n" not in message, "one line, without a traceback"
    assert re.search(broken.told, message), message
    assert "bad" in message


def test_where_no_stage_writes_programs_a_whole_job_is_skipped_and_does_not_pass() -> None:
    with pytest.raises(pytest.skip.Exception, match="no installed stage writes programs"):
        list(problems_of_a_whole_job(Registry(), sample_job()))


@dataclass(frozen=True)
class WritesNothing:
    controller: str = setting(Text(), "rs274", "as the job has it", job_key="machine.controller")


def test_a_stage_that_writes_no_program_is_a_problem_of_a_whole_job() -> None:
    silent = Stage("silent", "Writes nothing.", lambda drawing, _, __: Result(drawing), WritesNothing, kind="writer")
    registry = Registry.installed()
    registry.stages = Parts("stage")
    registry.stages.put("silent", silent, Plugin("silent", "a studio's own"))
    assert "stage 'silent' writes no program" in list(problems_of_a_whole_job(registry, sample_job()))


@pytest.mark.parametrize("kind", ["source", "step"])
def test_a_stage_with_no_growth_to_see_is_skipped_and_does_not_pass(kind: str) -> None:
    def refuse(drawing: object, settings: object, context: object) -> Result:
        raise CannotDo("this is for moths alone")

    trial = StageContract()
    trial.stage = Stage("picky", "Refuses.", refuse, kind=kind)
    trial.huge = 40
    with pytest.raises(pytest.skip.Exception):
        trial.test_a_huge_drawing_is_borne()


def builtin(kind: str) -> list[object]:
    registry = Registry.installed()
    parts = getattr(registry, kind)
    return [part for name, part in parts.items() if parts.owner(name).distribution == "underdraw"]


def checks_of(contract: type) -> list[str]:
    return [name for name in vars(contract) if name.startswith("test_")]


@pytest.mark.parametrize("test", checks_of(ControllerContract))
@pytest.mark.parametrize("part", builtin("controllers"), ids=lambda part: part.name)
def test_every_built_in_controller_keeps_the_contract(part: object, test: str) -> None:
    trial = ControllerContract()
    trial.controller = part  # type: ignore[assignment]
    getattr(trial, test)()


@pytest.mark.parametrize("test", checks_of(HolderContract))
@pytest.mark.parametrize("part", builtin("holders"), ids=lambda part: part.name)
def test_every_built_in_holder_keeps_the_contract(part: object, test: str) -> None:
    trial = HolderContract()
    trial.holder = part  # type: ignore[assignment]
    getattr(trial, test)()


@pytest.mark.parametrize("test", checks_of(StageContract))
@pytest.mark.parametrize("part", builtin("stages"), ids=lambda part: part.name)
def test_every_built_in_stage_keeps_the_contract(
    part: object, test: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    trial = StageContract()
    trial.stage = part  # type: ignore[assignment]
    trial.huge = 2_000
    if trial.stage.kind == "source":
        (tmp_path / "art.svg").write_text(ARTWORK)
        trial.written = {"file": str(tmp_path / "art.svg")} if "file" in vars(trial.stage.settings()) else {}
    if "measured" in vars(trial.stage.settings()):
        (tmp_path / "read.toml").write_text(READINGS)
        trial.written = {"measured": str(tmp_path / "read.toml")}
    arguments = [capsys] if test == "test_it_prints_nothing" else []
    getattr(trial, test)(*arguments)


READINGS = """mark = [
    { at = "0 x 0 mm", read = "1 x 100 mm" },
    { at = "50 x 0 mm", read = "51 x 100 mm" },
    { at = "0 x 50 mm", read = "1 x 50 mm" },
]"""
ARTWORK = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<g id="vine"><path d="M5 5 C10 20 30 0 35 25" stroke="#1b1b3a" fill="none"/><circle cx="20" cy="15" r="6"/></g></svg>"""


@pytest.mark.parametrize(("again", "is_a_fault"), [(4.0, False), (16.0, True)])
def test_a_time_that_grows_too_fast_is_taken_once_more(
    again: float, is_a_fault: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A quarter of the strokes: the first loads, the third was held up by a busy machine; and all of them, twice.
    seconds = iter([9.0, 1.0, 3.0, 20.0, again])
    trial = StageContract()
    trial.stage = Stage("steady", "Leaves all as it is.", lambda drawing, _, __: Result(drawing))
    monkeypatch.setattr(trial, "_seconds", lambda count: next(seconds))
    with pytest.raises(pytest.fail.Exception, match="16 times as long") if is_a_fault else nullcontext():
        trial.test_a_huge_drawing_is_borne()
    assert not list(seconds)
