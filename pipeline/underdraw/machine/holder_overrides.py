"""Where a job's own offset, lift or press goes before a named holder's: an error of millimetres if it was not meant."""

from typing import TYPE_CHECKING

from underdraw.job.sections import Job
from underdraw.words.lengths import format_length
from underdraw.words.units import unit_at

if TYPE_CHECKING:
    from underdraw.plugins.parts import Holder, Installed

SAME_MM = 1e-6  # what a length may differ by for having been written in another unit


def overridden(job: Job, holder: "Holder") -> list[str]:
    """Which of `offset`, `lift` and `press` the job sets to something else than this holder's own.

    A rigid holder's press is 0 whatever a job sets, so it is none of them.
    """
    names = ("offset", "lift", "press") if holder.sprung else ("offset", "lift")
    pairs = [(name, getattr(job.holder, name), getattr(holder, name)) for name in names]
    return [name for name, own, its in pairs if own is not None and not _same(own, its)]


def override_warning(job: Job, registry: "Installed") -> str | None:
    """What a person should know of a job that overrides the holder it names; None where it does not, or means to.

    A job that names no holder has its own values and nothing to override.
    """
    if job.holder.use is None or job.holder.measured:
        return None
    holder = registry.holder(job.holder.use)
    names = overridden(job, holder)
    if not names:
        return None
    own = ", ".join(f"{name} = {_written(job, name, getattr(job.holder, name))}" for name in names)
    its = ", ".join(_written(job, name, getattr(holder, name)) for name in names)
    them, is_are = ("it", "is") if len(names) == 1 else ("them", "are")
    return (
        f"[holder] {own} {is_are} used instead of the {its} of holder {holder.name!r}; leave {them} out to use the "
        f"holder's, or set measured = true if you measured {them} with this holder"
    )


def _same(own: float | tuple[float, float], its: float | tuple[float, float]) -> bool:
    pairs = zip(_lengths(own), _lengths(its), strict=True)
    return all(abs(a - b) <= SAME_MM for a, b in pairs)


def _written(job: Job, name: str, value: float | tuple[float, float]) -> str:
    unit = unit_at(job, f"holder.{name}")
    *first, last = (format_length(mm, unit) for mm in _lengths(value))
    return " x ".join([*(text.removesuffix(f" {unit}") for text in first), last])


def _lengths(value: float | tuple[float, float]) -> tuple[float, ...]:
    return value if isinstance(value, tuple) else (value,)
