"""A program lands only if an independent reading finds in it what was meant; a controller that strays is named."""

from collections.abc import Sequence
from dataclasses import dataclass

import pytest

from underdraw import Controller
from underdraw.errors import CannotDo, InputError
from underdraw.plugins.registry import Plugin, Registry


@dataclass(frozen=True)
class Meddler(Controller):
    """A controller that puts a block of its own after the modes, or changes blocks as they go out."""

    extra: str = ""
    old: str = ""
    new: str = ""
    times: int = 1

    def begin(self, units: str) -> list[str]:
        return [*super().begin(units), *self.extra.splitlines()]

    def finish(self, blocks: Sequence[str]) -> Sequence[str]:
        held, left = [], self.times
        for block in blocks:
            hit = bool(self.old) and left > 0 and self.old in block and not block.startswith("(")
            left -= hit
            held.append(block.replace(self.old, self.new) if hit else block)
        return [block for block in held if block]


@pytest.fixture
def refusal(garden, write, listener):
    """What the stage says when it writes with such a controller."""

    def refused(controller: Controller) -> str:
        registry = Registry.installed()
        registry.controllers.add(controller.name, controller, Plugin("studio-machine", "acme-machines"))
        listener.registry = registry
        with pytest.raises(CannotDo) as error:
            write(garden(gold=2, machine={"bed": "600 x 1200 mm"}), listener, controller=controller.name)
        return str(error.value)

    return refused


@pytest.mark.slow
@pytest.mark.parametrize(
    "block", ["M3 S1000", "M4", "m 3", "M03", "M3.0", "S12000 M3", "G1 F100 M3\nM5", "(quiet) M(x)3"]
)
def test_a_plugin_controller_that_starts_a_spindle_is_refused_with_its_name(refusal, block):
    text = refusal(Meddler("sly", "", extra=block))
    assert "controller 'sly' (plugin studio-machine, acme-machines)" in text
    assert "spindle" in text
    assert "refused" in text


@pytest.mark.slow
@pytest.mark.parametrize(
    ("block", "said"),
    [
        ("M8", "coolant"),
        ("M7", "coolant"),
        ("M106 P0", "laser"),
        ("M62 P1", "laser"),
        ("M200", "not understood"),
        ("G55", "coordinate system"),
        ("G92 X10", "not drawn|not in the drawing|outside"),
        ("G28 X0", "stored in the machine"),
        ("#1 = 3", "no part of a word"),
        ("G0 Z-1", "strikes the canvas"),
        ("G0 Z5 X1 X2", "two X words"),
        ("G0 G1 F100 Z5", "one group"),
    ],
)
def test_a_controller_that_does_anything_else_that_was_not_meant_is_refused(refusal, block, said):
    text = refusal(Meddler("odd", "", extra=block))
    assert "controller 'odd'" in text
    import re

    assert re.search(said, text), text


@pytest.mark.slow
@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("G2 ", "G3 "),  # an arc the other way round
        ("G1 Z", "G0 Z"),  # the slow approach made fast
        ("G0 Z5", ""),  # a lift left out
        ("F762", "F7620"),
        ("M2", ""),
    ],
)
def test_a_controller_that_changes_a_block_is_refused(refusal, old, new):
    assert "refused" in refusal(Meddler("odd", "", old=old, new=new, times=1 if old != "G0 Z5" else 3))


@dataclass(frozen=True)
class Mute(Controller):
    """A controller whose pause is none."""

    def pause(self, text: str) -> list[str]:
        return []


@dataclass(frozen=True)
class Open(Controller):
    """A controller that leaves a word out of its beginning."""

    word: str = ""

    def begin(self, units: str) -> list[str]:
        return [block.replace(self.word, "").strip() for block in super().begin(units) if block != self.word]


@dataclass(frozen=True)
class Off(Controller):
    """A controller that writes heights or feeds that it was not given."""

    deeper: float = 1.0
    slower: float = 1.0

    def coordinates(self, units: str, **values: float) -> str:
        return super().coordinates(
            units, **{k: v * self.deeper if k == "z" and v < 0 else v for k, v in values.items()}
        )

    def feed(self, per_minute: float) -> str:
        return super().feed(per_minute / self.slower)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("controller", "said"),
    [
        (Off("deep", "", deeper=20.0), "goes 30.00 mm below Z0; the press is 1.50 mm"),
        (Off("slow", "", slower=10.0), "draws at 1.3 mm/s; its ink takes 12.7 mm/s"),
        (Open("spinning", "", word="M5"), "moves before M5 stops the spindle"),
        (Open("stepping", "", word="G90"), "moves before G90 or G91"),
        (Open("tilted", "", word="G17"), "an arc before G17"),
        (Open("hasty", "", word="G94"), "before G94 sets that feeds are per minute"),
        (Mute("mute", ""), "no pause to put in marker 'gold (fine)' before this stroke"),
    ],
)
def test_a_controller_that_is_unsafe_in_heights_feeds_start_or_pauses_is_refused(refusal, controller, said):
    text = refusal(controller)
    assert f"controller {controller.name!r} (plugin studio-machine, acme-machines)" in text
    assert said in text or "lowers the marker at 1.0 mm/s" in text


def test_a_controller_whose_lines_are_too_long_for_itself_is_refused(refusal):
    assert "at most 20 characters" in refusal(Controller("narrow", "", longest_line=20, comments=False))


def test_a_controller_that_cannot_pause_gets_a_file_for_each_load(garden, write, listener):
    registry = Registry.installed()
    plain = Controller("plain", "", pauses=False)
    registry.controllers.add("plain", plain, Plugin("plain", "plain"))
    listener.registry = registry
    result = write(garden(gold=2), listener, controller="plain")
    assert len(result.files) == 2
    assert all(b"M0" not in file.data for file in result.files)
    assert any("cannot pause" in text for text in listener.warnings)


def test_a_controller_of_few_decimals_still_keeps_the_standards_radii(garden, write, listener, read_back):
    # NISTIR 6556, section 3.5.3.2: radii within 0.002 mm, or 0.0002 in. Hundredths leave no arc that good.
    registry = Registry.installed()
    registry.controllers.add("coarse", Controller("coarse", "", decimals={"mm": 2, "in": 3}), Plugin("c", "c"))
    listener.registry = registry
    drawing = garden()
    for units in ("mm", "in"):
        tolerance = "0.05 mm" if units == "mm" else "0.1 mm"
        data = write(drawing, listener, controller="coarse", units=units, tolerance=tolerance).files[0].data
        assert read_back(data, drawing, tolerance=0.1, controller="coarse", registry=registry).ok


def test_a_unit_that_a_controller_does_not_write_is_refused(garden, write, listener):
    registry = Registry.installed()
    registry.controllers.add("metric", Controller("metric", "", decimals={"mm": 3}), Plugin("m", "m"))
    listener.registry = registry
    with pytest.raises(CannotDo, match="use mm"):
        write(garden(), listener, controller="metric", units="in")


def test_a_refused_program_is_kept_on_request(garden, write, listener, tmp_path):
    registry = Registry.installed()
    controller = Meddler("sly", "", extra="M3 S1000")
    registry.controllers.add(controller.name, controller, Plugin("studio-machine", "acme-machines"))
    listener.registry = registry
    kept = tmp_path / "refused.nc"
    with pytest.raises(CannotDo, match="starts the spindle.*refused, and kept in .*refused.nc"):
        write(garden(), listener, controller="sly", **{"keep-refused": str(kept)})
    assert "M3 S1000" in kept.read_text().splitlines()
    assert [file.name for file in tmp_path.iterdir()] == ["refused.nc"]
    with pytest.raises(InputError, match="cannot be written"):
        write(garden(), listener, controller="sly", **{"keep-refused": str(tmp_path / "gone" / "refused.nc")})
