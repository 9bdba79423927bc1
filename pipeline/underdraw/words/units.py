"""Which unit a job is read in: inches or millimetres, as its own sizes are written."""

from collections.abc import Mapping
from typing import Any, Protocol

from underdraw.words.lengths import unit_written


class Written(Protocol):
    """A job, as far as its unit goes."""

    @property
    def data(self) -> Mapping[str, Any]:
        """The plain values as written."""

    def at(self, key: str) -> Any:
        """What is written at `section.key`, or None."""


def written_unit(data: Mapping[str, object]) -> str:
    """The unit a job's face is written in, or its bed, or the next of its sizes, or its program: `in` or `mm`."""
    sizes = (("canvas", "face"), ("machine", "bed"), ("canvas", "depth"), ("canvas", "bleed"), ("canvas", "staple"))
    for section, name in (*sizes, ("machine", "units")):
        table = data.get(section)
        text = table.get(name) if isinstance(table, Mapping) else None
        if isinstance(text, str):
            return unit_written(text)
    return "mm"


def unit_of(job: Written) -> str:
    """`in` or `mm`: what the job's sizes are written in."""
    return written_unit(job.data)


def unit_at(job: Written, key: str) -> str:
    """`in` or `mm`: the unit in which the job writes the size at `section.key`; if not set, the unit of its sizes."""
    written = job.at(key)
    return written_unit({"canvas": {"face": written}}) if isinstance(written, str) else unit_of(job)


def other_unit(unit: str) -> str:
    """The unit that a second figure is given in."""
    return "mm" if unit == "in" else "in"
