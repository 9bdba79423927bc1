"""What the contracts share: a registry with the part on trial in it, a context, and how a fault is reported."""

from typing import Any, NoReturn

import pytest

from underdraw.job.sections import Job
from underdraw.job.settings import statements
from underdraw.plugins.catalogue import Parts, Plugin
from underdraw.plugins.parts import Stage
from underdraw.plugins.registry import WORD, Registry

ON_TRIAL = "the part on trial"
WRITES_WITH = "machine.controller"  # the job key that a stage claims which writes programs


def fault(part: Any, text: str) -> NoReturn:
    """End a test with one line that names the part and what is wrong with it."""
    __tracebackhide__ = True
    message = f"{type(part).__name__} {getattr(part, 'name', '?')!r}: {text}"
    raise pytest.fail.Exception(message, pytrace=False) from None


def registry_with(kind: str, part: Any) -> Registry:
    """Every installed plugin, and the part on trial in the place of any of its name. `kind`: such as "holders"."""
    registry = Registry.installed()
    parts: Parts[Any] = getattr(registry, kind)
    parts.put(part.name, part, Plugin(part.name, ON_TRIAL))
    return registry


def program_writer(registry: Registry) -> Stage | None:
    """The installed stage that writes programs: a writer whose settings claim the job's controller."""
    for stage in registry.stages.values():
        claims = {statement.job_key for statement in statements(stage.settings).values()}
        if stage.kind == "writer" and WRITES_WITH in claims:
            return stage
    return None


class TrialContext:
    """A stage's context that keeps what it is given (see `underdraw.plugins.parts.Context`)."""

    def __init__(self, registry: Registry, job: Job | None = None) -> None:
        self.registry = registry
        self.job = job
        self.warnings: list[str] = []
        self.shares: list[float] = []

    def file_name(self, suffix: str, label: str = "", *, alone: bool = True) -> str:
        """A name made of label and suffix."""
        return f"trial{'-' if label else ''}{label}{suffix}"

    def warn(self, text: str) -> None:
        """Keep a warning."""
        self.warnings.append(text)

    def notice(self, text: str) -> None:
        """Keep it as a warning."""
        self.warnings.append(text)

    def progress(self, share: float, text: str = "") -> None:
        """Keep how far the work is."""
        self.shares.append(share)


def check_name(part: Any) -> None:
    """A name that can be typed, and one line of help."""
    if not isinstance(part.name, str) or not WORD.fullmatch(part.name):
        fault(part, "its name is no word of small letters, digits and hyphens")
    if not isinstance(part.help, str) or not part.help.strip() or "\n" in part.help:
        fault(part, "its help is not one line of text")
