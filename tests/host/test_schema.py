"""The schema of a job says what the reader of jobs says (JSON Schema, draft 2020-12, by an independent validator)."""

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from underdraw.cli.load_job import load_job
from underdraw.errors import InputError
from underdraw.job.settings import statements
from underdraw.plugins.job_keys import schema_of
from underdraw.plugins.registry import Registry
from underdraw.plugins.reserved import JOB_KEYS

MINE = """\
from dataclasses import dataclass
from underdraw import Controller, Stage, hookimpl, setting
from underdraw.job.settings import Choice, Integer, Length

@dataclass(frozen=True)
class DewSettings:
    drop_size: float = setting(Length(), "2 mm", "how large a drop is")
    drops: int = setting(Integer(1, 9), "3", "how many fall", job_key="weather.drops")
    where: str = setting(Choice("leaf", "petal"), "leaf", "what they fall on")

@hookimpl
def underdraw_stages():
    return [Stage("dew", "Let dew fall.", print, DewSettings)]

@hookimpl
def underdraw_controllers():
    return [Controller("tracer", "an invented one")]
"""


@pytest.fixture
def registry(tmp_path: Path) -> Registry:
    (tmp_path / "mine.py").write_text(MINE)
    made = Registry.installed()
    made.load_file(tmp_path / "mine.py")
    return made


GOOD: dict[str, Any] = {
    "name": "Night garden",
    "canvas": {"face": "12 x 16 in", "depth": "1.5 in", "mount": "board"},
    "machine": {"bed": "24 x 48 in", "controller": "tracer", "units": "in"},
    "holder": {"touch_speed": "10 mm/s"},
    "marker": [{"name": "outline", "colours": ["#1b1b3a"], "ink_length": "60 m"}],
    "weather": {"drops": 4},
    "stages": {"dew": {"drop-size": "1/8 in", "where": "petal"}, "plugins": ["./mine.py"]},
}

MISTAKES = {
    "an unknown section": {"canvvas": {}},
    "an unknown key": {"canvas": {"fase": "12 x 16 in"}},
    "a bare number where a length is expected": {"canvas": {"depth": 38}},
    "a mount that is none": {"canvas": {"mount": "wall"}},
    "a marker that is no array": {"marker": {"name": "outline"}},
    "no marker at all": {"marker": []},
    "a colour that is none": {"marker": [{"colours": ["indigo"]}]},
    "a stage that is not installed": {"stages": {"drizzle": {}}},
    "a stage that is not installed, in the chain": {"stages": {"chain": ["drizzle"]}},
    "an unknown setting of a stage": {"stages": {"dew": {"drop": "2 mm"}}},
    "a choice that is none": {"stages": {"dew": {"where": "root"}}},
    "a claimed key out of bounds": {"weather": {"drops": 12}},
    "a claimed key that is no whole number": {"weather": {"drops": 1.5}},
    "an unknown key of a claimed section": {"weather": {"drips": 1}},
}


def as_toml(data: dict[str, Any]) -> str:
    """JSON strings, numbers and lists are TOML; tables go inline."""

    def value(held: Any) -> str:
        if isinstance(held, dict):
            return "{" + ", ".join(f"{json.dumps(key)} = {value(item)}" for key, item in held.items()) + "}"
        return f"[{', '.join(map(value, held))}]" if isinstance(held, list) else json.dumps(held)

    return "".join(f"{json.dumps(key)} = {value(item)}\n" for key, item in data.items())


def test_the_schema_is_a_schema(registry: Registry) -> None:
    jsonschema.Draft202012Validator.check_schema(schema_of(registry))


def test_a_good_job_passes_both_the_schema_and_the_reader(registry: Registry, tmp_path: Path) -> None:
    path = tmp_path / "panel.toml"
    path.write_text(as_toml(GOOD))
    load_job(path, registry)
    jsonschema.validate(tomllib.loads(path.read_text()), schema_of(registry))


@pytest.mark.parametrize("mistake", MISTAKES.values(), ids=MISTAKES)
def test_what_the_reader_refuses_the_schema_refuses_too(
    registry: Registry, tmp_path: Path, mistake: dict[str, Any]
) -> None:
    path = tmp_path / "panel.toml"
    path.write_text(as_toml(mistake))
    with pytest.raises(InputError):
        load_job(path, registry)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(mistake, schema_of(registry))


def test_an_editor_is_offered_what_is_installed(registry: Registry) -> None:
    sections = schema_of(registry)["properties"]
    assert sections["machine"]["properties"]["controller"]["enum"] == list(registry.controllers)
    assert "tracer" in sections["machine"]["properties"]["controller"]["enum"]
    assert sections["marker"]["items"]["properties"]["ink"]["enum"] == list(registry.inks)
    assert sections["holder"]["properties"]["use"]["enum"] == list(registry.holders)
    assert sections["stages"]["properties"]["chain"]["items"]["enum"] == list(registry.stages)


def test_each_key_tells_its_help_and_its_default(registry: Registry) -> None:
    stages = schema_of(registry)["properties"]["stages"]["properties"]
    assert stages["dew"]["properties"]["drop-size"]["description"] == "how large a drop is"
    assert stages["dew"]["properties"]["drop-size"]["default"] == "2 mm"
    assert stages["dew"]["properties"]["drops"]["default"] == 3
    for stage in registry.stages.values():
        keys = stages[stage.name]["properties"]
        assert all(keys[name]["description"] == said.help for name, said in statements(stage.settings).items())


def test_the_words_that_no_stage_may_have_are_those_of_the_stages_section() -> None:
    from underdraw.job.sections import StagesSection

    assert set(JOB_KEYS) == set(statements(StagesSection))


def test_the_command_prints_it_with_a_jobs_own_plugins(registry: Registry, tmp_path: Path) -> None:
    (tmp_path / "panel.toml").write_text(as_toml(GOOD))
    command = [sys.executable, "-m", "underdraw", "schema"]
    plain = subprocess.run(command, capture_output=True, check=True, env=os.environ)
    with_job = subprocess.run(
        [*command, "--job", str(tmp_path / "panel.toml")], capture_output=True, check=True, env=os.environ
    )
    assert "dew" not in json.loads(plain.stdout)["properties"]["stages"]["properties"]
    assert "dew" in json.loads(with_job.stdout)["properties"]["stages"]["properties"]
