"""`underdraw --help` answers at once: it tells of everything, and imports little."""

import subprocess
import sys

import pytest

from underdraw.cli import commands
from underdraw.cli.command_line import sentence


@pytest.mark.parametrize("name", commands.NAMES)
def test_the_first_line_of_a_commands_file_says_what_it_does(name: str) -> None:
    told = commands.summary(name)
    assert told[0].isupper()
    assert told.endswith(".")
    assert "`" not in told
    assert commands.load(name).help


def test_help_imports_no_command_and_no_library_for_its_list() -> None:
    code = (
        "import sys\nfrom underdraw.cli.command_line import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "print('\\nLOADED', *sys.modules)"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    loaded = set(shown.rpartition("LOADED")[2].split())
    assert "underdraw.plugins.registry" in loaded
    assert not loaded & {f"underdraw.cli.commands.{name}" for name in commands.NAMES}
    assert not loaded & {"importlib.metadata", "email", "json", "jinja2", "numpy", "shapely", "lxml", "numba"}
    for name in commands.NAMES:
        assert f"  {name} " in shown


def test_a_line_of_help_is_a_sentence_however_its_plugin_wrote_it() -> None:
    assert sentence("let dew fall") == sentence("Let dew fall.") == "Let dew fall."
