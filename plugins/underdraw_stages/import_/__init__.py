"""import: artwork as a drawing program exported it becomes a drawing in millimetres.

What the screen shows arrives where and as large as it was drawn, or the summary lists what was left out.
"""

from dataclasses import dataclass

from underdraw import Stage, hookimpl, setting
from underdraw.job.settings import FilePath, Flag, Many, Number, Text


@dataclass(frozen=True)
class ImportSettings:
    """What to read and which of it."""

    file: str | None = setting(FilePath(), None, "the artwork: SVG or SVGZ", argument=True, job_key="artwork.file")
    skip: tuple[str, ...] = setting(
        Many(Text()), (), "leave out this layer (a group's label, id or class)", job_key="artwork.skip"
    )
    only: tuple[str, ...] = setting(Many(Text()), (), "take this layer and no other", job_key="artwork.only")
    dpi: float = setting(
        Number(least=1, most=10_000),
        "96",
        "pixels an inch where the file states no size in mm or in",
        job_key="artwork.dpi",
    )
    text: str | None = setting(
        FilePath(), None, "draw text with this font file; if omitted, text is only reported", job_key="artwork.text"
    )
    language: str = setting(
        Text(), "en", "which language a `switch` in the artwork is read in", job_key="artwork.language"
    )
    background: bool = setting(
        Flag(), False, "draw a page-size rectangle without stroke, too", job_key="artwork.background"
    )
    layers: bool = setting(Flag(), False, "list the layers with shape counts and colours, and draw nothing")


STAGE = Stage(
    name="import",
    help="read artwork, SVG or SVGZ, into a drawing in millimetres",
    run="underdraw_stages.import_.stage:import_artwork",
    settings=ImportSettings,
    kind="source",
    rank=10,
)


@hookimpl
def underdraw_stages() -> list[Stage]:
    """This stage."""
    return [STAGE]
