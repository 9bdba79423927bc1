"""Plugins: what each brings is taken, what each does wrong is told in one line that names it, and the rest goes on."""

import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest

from underdraw.cli import commands
from underdraw.errors import InputError, PluginError
from underdraw.plugins.hookspecs import HOOKS_VERSION
from underdraw.plugins.registry import Registry
from underdraw.plugins.reserved import JOB_KEYS

HEAD = "from underdraw import CanvasSize, Controller, Holder, Ink, Stage, hookimpl, setting\n"


def distribution(folder: Path, name: str, source: str, version: str = "1.2") -> None:
    """Lay a distribution into a folder as pip would: its module, and its metadata with one entry point."""
    module = name.replace("-", "_")
    (folder / f"{module}.py").write_text(HEAD + textwrap.dedent(source))
    metadata = folder / f"{module}-{version}.dist-info"
    metadata.mkdir()
    (metadata / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n")
    (metadata / "entry_points.txt").write_text(f"[underdraw]\n{name}-plugin = {module}\n")


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder on the import path."""
    monkeypatch.syspath_prepend(tmp_path)
    yield tmp_path
    for name in ("night_parts", "moon_parts"):
        sys.modules.pop(name, None)


def loaded(*files: Path) -> Registry:
    registry = Registry.installed()
    for file in files:
        registry.load_file(file)
    return registry


def plugin_file(folder: Path, source: str, name: str = "mine.py") -> Path:
    path = folder / name
    path.write_text(HEAD + textwrap.dedent(source))
    return path


ONE_HOLDER = """
@hookimpl
def underdraw_holders():
    return [Holder("cork", "a cork on a wire", sprung=True, default={default})]
"""


def test_a_distribution_brings_its_parts_by_its_entry_point(site: Path) -> None:
    distribution(site, "night-parts", ONE_HOLDER.format(default=False))
    registry = loaded()
    owner = registry.holders.owner("cork")
    assert (owner.name, owner.distribution, owner.version) == ("night-parts-plugin", "night-parts", "1.2")
    assert owner.brings == {"holder": ["cork"]}
    assert str(owner) == "night-parts-plugin (night-parts 1.2)"


def test_an_entry_point_may_name_an_object(site: Path) -> None:
    source = ONE_HOLDER.format(default=False).replace("def underdraw_holders():", "def underdraw_holders(self):")
    distribution(site, "night-parts", "class Parts:\n" + textwrap.indent(source, "    ") + "\nPARTS = Parts()\n")
    points = site / "night_parts-1.2.dist-info" / "entry_points.txt"
    points.write_text("[underdraw]\nnight-parts-plugin = night_parts:PARTS\n")
    assert loaded().holders.owner("cork").distribution == "night-parts"


FAULTY = {
    "at import": ("raise RuntimeError('no moon\\ntonight')", "failed to load: RuntimeError: no moon tonight"),
    "in its syntax": ("def broken(:", "failed to load: SyntaxError: invalid syntax"),
    "by a missing library": ("import no_such_library", "failed to load: ModuleNotFoundError: No module named 'no_such"),
    "by ending the process": ("raise SystemExit(3)", "failed to load: SystemExit: 3"),
    "in a hook": (
        "@hookimpl\ndef underdraw_inks():\n    raise KeyError('dew')",
        "underdraw_inks raised KeyError: 'dew'",
    ),
    "by bringing no list": ("@hookimpl\ndef underdraw_inks():\n    return 3", "underdraw_inks raised TypeError"),
    "by bringing something else": (
        "@hookimpl\ndef underdraw_inks():\n    return ['soot']",
        "underdraw_inks brought 'soot', which is no Ink",
    ),
    "by a hook that is not there": (
        "@hookimpl\ndef underdraw_ink():\n    return []",
        "answers an unknown hook 'underdraw_ink' (did you mean 'underdraw_inks'?)",
    ),
    "by forgetting its mark": (
        "def underdraw_inks():\n    return []",
        "answers no hook; mark its functions with @underdraw.hookimpl",
    ),
    "by another version of the hooks": (
        "underdraw_hooks_version = 99",
        f"is written for version 99 of the hooks, this underdraw has {HOOKS_VERSION}; install the release of one",
    ),
    "by a name that cannot be typed": (
        "@hookimpl\ndef underdraw_stages():\n    return [Stage('Night Glow', 'x', print)]",
        "a stage named 'Night Glow'; small letters, digits and hyphens",
    ),
    "by settings that are none": (
        "@hookimpl\ndef underdraw_stages():\n    return [Stage('glow', 'x', print, dict)]",
        "whose declaration cannot be read: TypeError: must be called with a dataclass type or instance",
    ),
    "by a name that is none": (
        "@hookimpl\ndef underdraw_inks():\n    return [Ink(['soot'], 'x', 1, True, True, True)]",
        "underdraw_inks brought a Ink named ['soot']; use a word",
    ),
    "by an option of the host's": (
        "from dataclasses import dataclass\nfrom underdraw.job.settings import Text\n"
        "@dataclass(frozen=True)\nclass S:\n    output: str = setting(Text(), 'x', 'where')\n"
        "@hookimpl\ndef underdraw_stages():\n    return [Stage('glow', 'x', print, S)]",
        "stage 'glow' with a setting 'output', whose option is the host's",
    ),
}


@pytest.mark.parametrize(("source", "told"), FAULTY.values(), ids=FAULTY)
def test_a_plugin_that_fails_is_named_with_its_distribution_and_the_rest_goes_on(
    site: Path, source: str, told: str
) -> None:
    before = loaded()
    distribution(site, "night-parts", source)
    registry = loaded()
    (line,) = set(registry.failures) - set(before.failures)
    assert line.startswith("plugin night-parts-plugin (night-parts 1.2): ")
    assert told in line
    assert "\n" not in line
    assert list(registry.stages) == list(before.stages)
    assert list(registry.controllers) == list(before.controllers)


@pytest.mark.parametrize(("source", "told"), FAULTY.values(), ids=FAULTY)
def test_a_plugin_file_that_fails_stops_the_work_that_named_it(tmp_path: Path, source: str, told: str) -> None:
    path = plugin_file(tmp_path, source)
    with pytest.raises(PluginError) as error:
        Registry().load_file(path)
    assert str(error.value).startswith(f"plugin {path}: ")
    assert told in str(error.value)


def test_a_plugin_file_that_is_not_there_is_an_input_error(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"plugin .*moth\.py: there is no such file"):
        Registry().load_file(tmp_path / "moth.py")
    (tmp_path / "moth.txt").write_text("x")
    with pytest.raises(PluginError, match="is no Python file"):
        Registry().load_file(tmp_path / "moth.txt")


def test_a_good_part_beside_a_bad_one_is_taken(tmp_path: Path) -> None:
    path = plugin_file(
        tmp_path,
        "@hookimpl\ndef underdraw_stages():\n    return [Stage('dusk', 'x', print), Stage('DAWN', 'x', print)]",
    )
    registry = Registry()
    with pytest.raises(PluginError, match="DAWN"):
        registry.load_file(path)
    assert list(registry.stages) == ["dusk"]


@pytest.mark.parametrize("word", [*commands.NAMES, *JOB_KEYS])
def test_no_stage_may_take_a_word_of_the_host(tmp_path: Path, word: str) -> None:
    path = plugin_file(tmp_path, f"@hookimpl\ndef underdraw_stages():\n    return [Stage({word!r}, 'x', print)]")
    with pytest.raises(PluginError, match=f"a stage named '{word}', which is a word of the host"):
        Registry().load_file(path)


def test_two_plugins_that_bring_one_name_are_both_named_and_neither_is_taken(site: Path) -> None:
    distribution(site, "night-parts", ONE_HOLDER.format(default=False))
    distribution(site, "moon-parts", ONE_HOLDER.format(default=False), "2.0")
    registry = loaded()
    both = "holder 'cork' is brought by moon-parts-plugin (moon-parts 2.0) and night-parts-plugin (night-parts 1.2)"
    assert "cork" not in registry.holders
    for ask in (registry.holders.find, registry.holder):
        with pytest.raises(InputError) as error:
            ask("cork")
        assert str(error.value) == f"{both}; one of them has to go"
    assert [line for line in registry.failures if both in line] == [
        f"plugin moon-parts-plugin (moon-parts 2.0): {both}",
        f"plugin night-parts-plugin (night-parts 1.2): {both}",
    ]


def test_a_third_that_brings_the_name_is_named_too(tmp_path: Path) -> None:
    registry = loaded(*(plugin_file(tmp_path, ONE_HOLDER.format(default=False), name) for name in ("a.py", "b.py")))
    registry.load_file(plugin_file(tmp_path, ONE_HOLDER.format(default=False), "c.py"))
    with pytest.raises(InputError) as error:
        registry.holders.find("cork")
    assert all(f"{name}.py ({tmp_path}/{name}.py)" in str(error.value) for name in "abc")
    assert all(len(plugin.faults) == 1 for plugin in registry.plugins if plugin.name in ("a.py", "b.py", "c.py"))


def test_one_plugin_that_brings_a_name_twice_is_told_so(tmp_path: Path) -> None:
    path = plugin_file(
        tmp_path, "@hookimpl\ndef underdraw_inks():\n    return [Ink('s', 'x', 1, True, True, True)] * 2"
    )
    registry = Registry()
    registry.load_file(path)
    with pytest.raises(InputError, match=r"ink 's' is brought by mine\.py \(.*mine\.py\) twice"):
        registry.ink("s")


def test_one_module_registered_twice_is_told_so(site: Path) -> None:
    distribution(site, "night-parts", ONE_HOLDER.format(default=False))
    points = site / "night_parts-1.2.dist-info" / "entry_points.txt"
    points.write_text("[underdraw]\none = night_parts\ntwo = night_parts\n")
    registry = loaded()
    assert "cork" in registry.holders
    assert "plugin two (night-parts 1.2): failed to load: PluginError: is registered twice" in "\n".join(
        registry.failures
    )


def test_where_two_say_they_are_the_default_nobody_guesses(tmp_path: Path) -> None:
    registry = Registry()
    registry.load_file(plugin_file(tmp_path, ONE_HOLDER.format(default=True)))
    assert registry.holder(None).name == "cork"
    registry.load_file(plugin_file(tmp_path, ONE_HOLDER.format(default=True).replace("cork", "reed"), "other.py"))
    with pytest.raises(InputError, match=r"no holder was named, and each of 'cork' of mine\.py .* and 'reed' of other"):
        registry.holder(None)
    assert registry.holder("reed").name == "reed"


def test_a_part_that_is_not_there_names_the_nearest_and_all_that_are(tmp_path: Path) -> None:
    registry = Registry()
    with pytest.raises(InputError, match="there is no holder 'cork'; installed: none is installed"):
        registry.holder("cork")
    registry.load_file(plugin_file(tmp_path, ONE_HOLDER.format(default=False)))
    with pytest.raises(InputError, match=r"there is no holder 'corc' \(did you mean 'cork'\?\); installed: cork"):
        registry.holder("corc")
    with pytest.raises(InputError, match="no holder was named and no plugin brings a default one"):
        registry.holder(None)


def test_a_job_on_the_wire_loads_no_plugin_but_the_error_says_what_would(tmp_path: Path) -> None:
    path = plugin_file(tmp_path, ONE_HOLDER.format(default=False))
    registry = Registry()
    registry.mention(["./mine.py"])
    with pytest.raises(InputError, match=r"never loads by itself: underdraw --plugin \./mine\.py … would load them"):
        registry.holder("cork")
    registry.load_file(path)
    registry.mention(["./mine.py"])
    with pytest.raises(InputError) as error:
        registry.holder("corc")
    assert "--plugin" not in str(error.value)


def test_files_of_one_name_in_two_folders_are_two_plugins(tmp_path: Path) -> None:
    for name in ("left", "right"):
        (tmp_path / name).mkdir()
    registry = loaded(
        plugin_file(tmp_path / "left", ONE_HOLDER.format(default=False)),
        plugin_file(tmp_path / "right", ONE_HOLDER.format(default=False).replace("cork", "reed")),
    )
    assert {"cork", "reed"} <= set(registry.holders)
    modules = [plugin.module for plugin in registry.plugins if plugin.name == "mine.py"]
    assert len(set(modules)) == 2


def test_what_a_plugin_prints_while_it_loads_stays_out_of_the_drawing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Registry().load_file(plugin_file(tmp_path, "print('hello')\n" + ONE_HOLDER.format(default=False)))
    assert capsys.readouterr() == ("", "hello\n")


def test_a_fault_is_laid_at_the_door_of_the_plugin_whose_code_raised(tmp_path: Path) -> None:
    registry = loaded(
        plugin_file(
            tmp_path,
            "from dataclasses import dataclass\n"
            "@dataclass(frozen=True)\nclass Bad(Controller):\n"
            "    def end(self):\n        return [self.decimals['furlong']]\n"
            "@hookimpl\ndef underdraw_controllers():\n    return [Bad('bad', 'x')]\n",
        )
    )
    with pytest.raises(KeyError) as raised:
        registry.controller("bad").end()
    assert registry.at_fault(raised.value) is registry.controllers.owner("bad")
    assert registry.at_fault(ValueError()) is None
