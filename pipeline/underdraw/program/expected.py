"""What a job adds to what a program says: where the board lies, what is in reach, and how fast its inks may go."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from underdraw.errors import InputError
from underdraw.job.sections import Job, MachineSection
from underdraw.panel import Panel, holder_offset, laid_panel
from underdraw.panel.bed import axis_reach

if TYPE_CHECKING:
    from underdraw.plugins.parts import Installed

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Place:
    """A job as a program's reader needs it: mm, mm/s.

    board: (width, height). zero: program zero, from the board's lower left corner. offset: marker tip minus
    controlled point. reach: the box that the controlled point can go to, from the board's lower left corner, however
    the board lies on the bed; None: the bed is not said. bed: its size. speeds: by marker.
    """

    machine: MachineSection
    board: tuple[float, float] | None = None
    zero: tuple[float, float] = (0.0, 0.0)
    offset: tuple[float, float] = (0.0, 0.0)
    reach: Box | None = None
    bed: tuple[float, float] | None = None
    speeds: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def unknown(cls) -> "Place":
        """Of a program alone: times are those of an ordinary machine, and nothing is out of place."""
        return cls(MachineSection())

    @classmethod
    def of(cls, job: Job, registry: "Installed", board: tuple[float, float] | None = None) -> "Place":
        """What a job says; `board` goes before the panel's own size (a drawing's sheet, which may lie turned)."""
        offset = holder_offset(job, registry)
        panel = _panel(job, offset, board)
        size = board or (panel.board if panel else None)
        reach: Box | None = None
        if panel is not None and panel.bed is not None:
            reach = axis_reach(panel, panel.bed, offset)
        inks = {marker.name: registry.ink(marker.ink).speed for marker in job.markers}
        return cls(
            machine=job.machine,
            board=size,
            zero=_zero(job, size, panel),
            offset=offset,
            reach=reach,
            bed=job.machine.bed,
            speeds={marker.name: marker.speed or inks[marker.name] for marker in job.markers},
        )


def _panel(job: Job, offset: tuple[float, float], board: tuple[float, float] | None) -> Panel | None:
    """The panel as it lies; None where the job leaves its face to the artwork's page, and that is not known."""
    if job.canvas.face is None:
        return None
    panel = laid_panel(job, offset)
    if board is not None and max(abs(a - b) for a, b in zip(panel.board, board, strict=True)) > 1e-3:
        turned = panel.turned()
        if max(abs(a - b) for a, b in zip(turned.board, board, strict=True)) <= 1e-3:
            return turned
    return panel


def _zero(job: Job, board: tuple[float, float] | None, panel: Panel | None) -> tuple[float, float]:
    """Program zero from the board's lower left corner, y away from the operator."""
    if job.machine.zero == "pin":
        return job.machine.pin
    if job.machine.zero == "centre" and board is not None:
        return board[0] / 2, board[1] / 2
    if job.machine.zero == "face" and panel is not None:
        left, _, _, bottom = panel.face_box
        return left, panel.board[1] - bottom
    if job.machine.zero != "board":
        raise InputError(
            f"machine.zero is {job.machine.zero!r}, and the job does not say where that is: canvas.face would, "
            "or the drawing (--against)",
            keys=("machine", "zero"),
        )
    return 0.0, 0.0
