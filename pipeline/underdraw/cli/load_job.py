"""Loading a job file: read, its plugin files loaded, and every key, name and size held against what there is."""

import json
from dataclasses import replace
from pathlib import Path

from underdraw.cli.console import Console
from underdraw.errors import InputError
from underdraw.job.file import Misplaced, job_from_data, read_text, read_toml
from underdraw.job.key_positions import line_of
from underdraw.job.sections import Job
from underdraw.panel import ImpossiblePanel, Panel
from underdraw.plugins.job_keys import check_names, check_parts
from underdraw.plugins.registry import Registry
from underdraw.words.plain_text import readable


def load_job(path: Path, registry: Registry) -> Job:
    """Read a job file, load the plugin files it names, and hold every key against what is installed.

    Raises InputError with file and line.
    """
    text = read_text(path)
    if readable(path.name) != path.name:
        raise InputError("its name is not UTF-8, and the files made from it are named after it; rename it", file=path)
    if text.lstrip().startswith("<"):
        raise InputError(
            f"is artwork, and a job was expected, which names it: [artwork] file = {json.dumps(path.name)}\n"
            "  try: underdraw demo, for a job to start from",
            file=path,
        )
    data = read_toml(text, path)
    try:
        job = job_from_data(data, path.stem, path.parent)
        for plugin in job.stages.plugins:
            _load_plugin(registry, path.parent / plugin)
        check_names(data, registry)
        check_parts(data, registry)
        _check_panel(job)
    except Misplaced as error:
        raise InputError(error.text, file=path, line=line_of(text, error.keys)) from None
    return replace(job, file=path)


def warn_of_overrides(job: Job, registry: Registry, console: Console) -> None:
    """Warn once, where a job is read, of values of its own that go before those of the holder it names."""
    from underdraw.machine.holder_overrides import (  # only here: the command line starts without it
        overridden,
        override_warning,
    )

    text = override_warning(job, registry)
    if text is not None:
        key = overridden(job, registry.holder(job.holder.use))[0]
        line = line_of(read_text(job.file), ("holder", key)) if job.file is not None else None
        console.warn("job" if line is None else f"{job.file}:{line}", text)


def _check_panel(job: Job) -> None:
    """Sizes that cannot be are wrong in the job, and its line is known only here."""
    if job.canvas.face is not None:
        try:
            Panel.of(job)
        except ImpossiblePanel as error:
            raise Misplaced(error.text, "canvas", error.key) from None


def _load_plugin(registry: Registry, path: Path) -> None:
    try:
        registry.load_file(path)
    except InputError as error:
        raise Misplaced(f"[stages] {error.text}", "stages", "plugins") from None
