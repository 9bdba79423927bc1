"""Completion in bash, zsh and fish, through the shell's own side of click's protocol, plugins' stages with the rest."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

MINE = """\
from dataclasses import dataclass
from underdraw import Stage, hookimpl, setting
from underdraw.job.settings import Choice, FilePath, Length

@dataclass(frozen=True)
class DewSettings:
    drop_size: float = setting(Length(), "2 mm", "how large a drop is")
    where: str = setting(Choice("leaf", "petal"), "leaf", "what they fall on")
    like: str = setting(FilePath(), None, "a picture of it")

@hookimpl
def underdraw_stages():
    return [Stage("dewfall", "Let dew fall.", print, DewSettings)]
"""
COMMAND = Path(sys.executable).with_name("underdraw")


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    (tmp_path / "mine.py").write_text(MINE)
    return {
        **os.environ,
        "UNDERDRAW_PLUGINS": str(tmp_path / "mine.py"),
        "PATH": f"{COMMAND.parent}:{os.environ['PATH']}",
    }


def offered(environment: dict[str, str], shell: str, *words: str) -> list[str]:
    """What a shell is told to offer for the last word."""
    line = " ".join(("underdraw", *words))
    told = {
        "_UNDERDRAW_COMPLETE": f"{shell}_complete",
        "COMP_WORDS": line if shell != "fish" else " ".join(("underdraw", *words[:-1])),
        "COMP_CWORD": str(len(words)) if shell != "fish" else words[-1],
    }
    done = subprocess.run([COMMAND], env={**environment, **told}, capture_output=True, text=True, check=False)
    assert done.stderr == ""
    return done.stdout.splitlines()


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_plugins_stage_is_offered_with_the_others(environment: dict[str, str], shell: str) -> None:
    text = "\n".join(offered(environment, shell, "d"))
    assert "dewfall" in text
    assert "demo" in text
    assert "run" not in text.split()


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_options_of_a_plugins_stage_are_offered(environment: dict[str, str], shell: str) -> None:
    text = "\n".join(offered(environment, shell, "dewfall", "--"))
    assert all(option in text for option in ("--drop-size", "--where", "--like", "--input", "--output", "--quiet"))


def test_choices_and_files_are_offered(environment: dict[str, str]) -> None:
    assert offered(environment, "bash", "dewfall", "--where", "p") == ["plain,petal"]
    assert offered(environment, "bash", "wrap", "--edges", "m") == ["plain,mirror"]
    assert offered(environment, "bash", "dewfall", "--like", "pic") == ["file,pic"]
    assert offered(environment, "bash", "run", "pan") == ["file,pan"]
    assert offered(environment, "bash", "dewfall", "-i", "pan") == ["file,pan"]


def test_the_installed_parts_are_offered_where_one_is_named(environment: dict[str, str]) -> None:
    from underdraw.plugins.registry import Registry

    registry = Registry.installed()
    for option, parts in (("--controller", registry.controllers), ("--holder", registry.holders)):
        assert offered(environment, "bash", "gcode", option, "") == [f"plain,{name}" for name in parts]


def test_a_file_named_on_the_line_is_taken_in_too(environment: dict[str, str]) -> None:
    mine = environment.pop("UNDERDRAW_PLUGINS")
    assert "plain,dewfall" not in offered(environment, "bash", "dewf")
    assert offered(environment, "bash", "--plugin", mine, "dewf") == ["plain,dewfall"]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_for_each_shell_is_printed(environment: dict[str, str], shell: str) -> None:
    if shell == "bash" and not shutil.which("bash"):
        pytest.skip("there is no bash here")
    told = {**environment, "_UNDERDRAW_COMPLETE": f"{shell}_source"}
    done = subprocess.run([COMMAND], env=told, capture_output=True, text=True, check=True)
    assert "_UNDERDRAW_COMPLETE" in done.stdout


def test_bash_itself_completes(environment: dict[str, str]) -> None:
    script = (
        'eval "$(_UNDERDRAW_COMPLETE=bash_source underdraw)"\n'
        "COMP_WORDS=(underdraw dewfall --dr) COMP_CWORD=2\n_underdraw_completion underdraw --dr dewfall\n"
        'echo "${COMPREPLY[@]}"'
    )
    done = subprocess.run(["bash", "-c", script], env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["--drop-size"]
