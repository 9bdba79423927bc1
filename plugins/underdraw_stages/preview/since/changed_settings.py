"""What differs between two drawings beside their lines: sizes, markers, settings of stages, the artwork's files."""

from collections.abc import Iterator, Mapping
from typing import Any

from underdraw import Drawing, Job
from underdraw.words.plain_text import isolated
from underdraw.words.quantities import size_in
from underdraw.words.units import unit_of

NOT_SET = "not set"
SIZES = ("board: ", "canvas ")


def changed_settings(old: Drawing, new: Drawing) -> list[str]:
    """A line for each difference, `what: old → new`; sizes first."""
    lines = []
    if old.sheet != new.sheet:
        unit = unit_of(new.job)
        lines.append(f"board: {size_in(old.sheet, unit)} → {size_in(new.sheet, unit)}")
    lines += differences(dict(job_keys(old.job)), dict(job_keys(new.job)))
    stages = [record.stage for record in new.history]
    for stage in dict.fromkeys(stages):
        before, now = settings_of(old, stage), settings_of(new, stage)
        if before is not None and now is not None:
            lines += differences(before, now)
    before_files = {source.file: source.sha256 for source in old.sources}
    for source in new.sources:
        if source.sha256 != before_files.get(source.file, source.sha256):
            lines.append(f"artwork {isolated(source.file)}: changed")
        elif source.file not in before_files:
            lines.append(f"artwork {isolated(source.file)}: new")
    return sorted(dict.fromkeys(lines), key=lambda line: not line.startswith(SIZES))


def differences(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """Keys whose values differ, as they were written."""
    keys = dict.fromkeys([*old, *new])
    return [
        f"{key}: {shown(old.get(key, NOT_SET))} → {shown(new.get(key, NOT_SET))}"
        for key in keys
        if old.get(key, NOT_SET) != new.get(key, NOT_SET)
    ]


def job_keys(job: Job) -> Iterator[tuple[str, Any]]:
    """Every key of a job as a person would name it, and its value as written; stages' settings are in the history."""
    for section, held in job.data.items():
        if section == "marker" and isinstance(held, list):
            for index, table in enumerate(held):
                name = table.get("name", job.markers[min(index, len(job.markers) - 1)].name)
                yield from ((f"marker {isolated(str(name))} {key}", value) for key, value in table.items())
        elif isinstance(held, Mapping):
            for key, value in held.items():
                if section != "stages" or key == "chain":
                    yield f"{section} {key}", value


def settings_of(drawing: Drawing, stage: str) -> dict[str, Any] | None:
    """The settings that a stage last ran with, under its name; None where it did not run."""
    records = [record for record in drawing.history if record.stage == stage]
    return {f"{stage} --{key}": value for key, value in records[-1].settings.items()} if records else None


def shown(value: Any) -> str:
    """A value in words."""
    if value is None:
        return NOT_SET
    if isinstance(value, (list, tuple)):
        return ", ".join(map(shown, value)) or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else isolated(str(value))
