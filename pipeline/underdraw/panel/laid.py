"""How a job's panel is laid on its bed: as it stands, or a quarter round where only that fits."""

from typing import TYPE_CHECKING

from underdraw.errors import CannotDo
from underdraw.job import Job
from underdraw.panel.bed import bed_fit, fits
from underdraw.panel.geometry import Panel, Point

if TYPE_CHECKING:
    from underdraw.registry import Registry


def holder_offset(job: Job, registry: "Registry") -> Point:
    """The marker tip's place beside the spindle axis, in machine axes: the job's own, else its holder's."""
    if job.holder.offset is not None:
        return job.holder.offset
    return registry.holder(job.holder.use).offset


def laid_panel(job: Job, offset: Point = (0.0, 0.0)) -> Panel:
    """The job's panel as it is laid: turned a quarter where the bed takes it in no other way.

    Raises InputError as `Panel.of` does. A panel that fits neither way is handed back as it stands.
    """
    panel = Panel.of(job)
    if panel.bed is None or fits(panel, panel.bed, offset):
        return panel
    turned = panel.turned()
    return turned if fits(turned, panel.bed, offset) else panel


def require_on_bed(panel: Panel, offset: Point = (0.0, 0.0)) -> None:
    """Raise CannotDo, with each reason and what would do, for a panel that misses its bed."""
    if panel.bed is None:
        return
    lying = bed_fit(panel, panel.bed, offset)
    if lying.fits:
        return
    would = "; or ".join(remedy.text for remedy in lying.remedies) or "only a larger bed"
    raise CannotDo(
        f"the panel misses the bed: {'; '.join(lying.reasons)}. What would do: {would}", keys=("machine", "bed")
    )
