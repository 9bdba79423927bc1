"""The README's own commands are what a newcomer types, and they work."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]


def blocks() -> list[str]:
    return re.findall(r"^```sh\n(.*?)^```$", (ROOT / "README.md").read_text(), flags=re.M | re.S)


def test_the_first_two_blocks_are_one_command_each() -> None:
    first, second = blocks()[:2]
    for block in (first, second):
        assert len(block.strip().splitlines()) == 1
        assert block.startswith("python3 -m venv")
    assert "underdraw run fixtures/moonflower/moonflower.toml" in first
    assert second.rstrip().endswith("pytest -n auto")


def test_the_top_level_holds_nothing_that_a_reader_must_ask_about() -> None:
    import subprocess

    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout.split(
        "\n"
    )
    top = {name.split("/")[0] for name in tracked if name}
    expected = {"README.md", "DEVELOPERS.md", "pyproject.toml", "pipeline", "plugins", "tests", "fixtures"}
    assert {name for name in top if not name.startswith(".")} <= expected


def test_every_file_the_readme_shows_is_there() -> None:
    for target in re.findall(r"\]\(([^)#:]+)\)", (ROOT / "README.md").read_text()):
        assert (ROOT / target).exists(), target
