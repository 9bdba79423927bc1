"""The import stage: artwork of any drawing program in, shapes in millimetres on its page out."""

import hashlib
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely.errors

from underdraw.drawing.affine import translation
from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import Source
from underdraw.errors import CannotDo, InputError
from underdraw.job.sections import Job
from underdraw.plugins.parts import Context, Result
from underdraw.words.lengths import format_exactly
from underdraw.words.plain_text import readable
from underdraw.words.quantities import counted, size_in
from underdraw.words.units import unit_of
from underdraw_stages.import_ import ImportSettings
from underdraw_stages.import_.background import without_background
from underdraw_stages.import_.clipping import Clipper
from underdraw_stages.import_.file.limits import Budget
from underdraw_stages.import_.file.source_file import read_artwork, refuse_wire
from underdraw_stages.import_.shapes.flattened_shapes import flatten_shapes, tolerance_for
from underdraw_stages.import_.shapes.found_shape import FoundShape
from underdraw_stages.import_.style.cascade import Cascade
from underdraw_stages.import_.style.style_sheets import UnreadableStyle
from underdraw_stages.import_.style.svg_paint import moved
from underdraw_stages.import_.tree.artwork_page import ArtworkPage, read_page
from underdraw_stages.import_.tree.document import Document
from underdraw_stages.import_.tree.left_out import LeftOut
from underdraw_stages.import_.tree.selection import Selection, listing
from underdraw_stages.import_.tree.walk import Walker
from underdraw_stages.import_.visible_shapes import VisibleShapes, cut_and_dash, without_empty_parts

if TYPE_CHECKING:
    from underdraw_stages.import_.text.font import Font


def import_artwork(_drawing: Drawing | None, settings: ImportSettings, context: Context) -> Result:
    """Read the artwork that `settings` or the job name into a drawing.

    Raises InputError for a file that cannot be read or asks for too much, CannotDo where nothing is left to draw.
    """
    path, name = find_file(settings, context.job)
    try:
        with np.errstate(all="ignore"):  # numbers out of all measure are reported where shapes are flattened, not here
            return _imported(path, name, settings, context)
    except CannotDo as error:
        if error.file is None:  # found where only a part of the artwork is known
            error.put_at(name, None)
        raise
    except UnreadableStyle:
        raise InputError("a style holds a number of more digits than can be read; mend it", file=name) from None
    except shapely.errors.GEOSException as error:
        raise CannotDo(f"a clipping path cannot be worked out ({error}); simplify it", file=name) from None
    except RecursionError:
        raise CannotDo("brackets or groups nest too deeply to be read; simplify the artwork", file=name) from None


def _imported(path: Path | None, name: str, settings: ImportSettings, context: Context) -> Result:
    context.progress(0.0, f"reading {name}")
    root = read_artwork(path, name)
    refuse_wire(root, name)
    page = read_page(root, settings.dpi, name, unit_of(context.job or Job()))
    left_out = LeftOut()
    walker = start_walk(root, name, page, settings, context.job, left_out)
    walker.report_progress = lambda share: context.progress(0.1 + 0.6 * share, "finding shapes")
    walker.report_progress(0.0)
    tolerance = tolerance_for(page.size, context.job)
    items, flat = flatten_shapes(walker.items(), name, tolerance)
    for kind, found in (("variable", walker.document.cascade.variables), ("property", walker.document.cascade.moving)):
        for written in found:
            left_out.add(kind, written[:60])
    for warning in walker.selection.check(root, name):
        context.warn(warning)
    context.progress(0.7, "clipping")
    visible = cut_and_dash(items, flat, Clipper(walker, tolerance), left_out)
    groups = walker.groups
    del root, walker, items, flat  # the tree is a good part of what an import holds
    visible = without_empty_parts(visible, left_out)
    visible, size = place_on_page(visible, page, name)
    ground = None
    if not settings.background:
        visible, ground = without_background(visible, size, left_out)
    if not visible.items and not settings.layers:
        raise CannotDo(nothing_left(left_out, settings), file=name)
    for warning in left_out.warnings():
        context.warn(warning)
    context.progress(0.9, "choosing markers")
    drawing = draw(visible, size, job_for(context.job, size, name))
    items = visible.items
    del visible
    origin = identity(path)
    figures = {**origin, **figures_of(drawing, page, left_out)}
    return Result(
        drawing.replace(sources=(Source(origin["file"], origin["sha256"]),) if origin else (), ground=ground),
        figures=figures,
        summary="\n".join(summary_lines(drawing, page, left_out, name)),
        listing=listing(groups, items) if settings.layers else "",
    )


def find_file(settings: ImportSettings, job: Job | None) -> tuple[Path | None, str]:
    """Where the artwork is, and what messages call it. `-` is standard input; a job's own path starts at the job."""
    if settings.file is None:
        raise InputError("which artwork? Name an SVG file, or a job with `[artwork] file = …` (--job)")
    if settings.file == "-":
        return None, "standard input"
    return _path_of(settings.file, "file", job), settings.file


def find_font(settings: ImportSettings, job: Job | None) -> "Font | None":
    """The font that text is drawn with, if one is named."""
    if settings.text is None:
        return None
    from underdraw_stages.import_.text.font import Font  # fontTools is loaded when text is drawn

    return Font(_path_of(settings.text, "text", job), settings.text)


def _path_of(written: str, key: str, job: Job | None) -> Path:
    """Where a path leads that may come from the shell, or from a job and then starts at the job's folder."""
    if job is None or job.folder is None:
        return Path(written)
    by_job = written in (job.at(f"artwork.{key}"), job.stage_settings("import").get(key))
    return job.folder / written if by_job else Path(written)


def start_walk(
    root: Any, name: str, page: ArtworkPage, settings: ImportSettings, job: Job | None, left_out: LeftOut
) -> Walker:
    """A walker that knows the artwork's styles and which layers are asked for."""
    cascade = Cascade(root, name)
    for refused in cascade.refused:
        left_out.add("sheet", refused[:60])
    selection = Selection(settings.skip, settings.only)
    font = find_font(settings, job)
    document = Document(root, name, page, cascade, settings.language, font, Budget(name))
    return Walker(document, selection, left_out)


def place_on_page(visible: VisibleShapes, page: ArtworkPage, name: str) -> tuple[VisibleShapes, tuple[float, float]]:
    """The page's size; where the file states none, the drawing's own extent, moved to the page's corner."""
    if page.size is not None:
        return visible, page.size
    if not len(visible.flat.coords):
        raise InputError("the file states no size and draws nothing; export the artwork again", file=name)
    low, high = visible.flat.coords.min(axis=0), visible.flat.coords.max(axis=0)
    width, height = (max(float(side), 0.001) for side in high - low)
    back = translation(-float(low[0]), -float(low[1]))
    items = [
        replace(item, fill=moved(item.fill, back), stroke=moved(item.stroke, back))
        if item.fill.gradient or item.stroke.gradient
        else item
        for item in visible.items
    ]
    return VisibleShapes(items, replace(visible.flat, coords=visible.flat.coords - low)), (width, height)


def job_for(job: Job | None, size: tuple[float, float], name: str) -> Job:
    """The job given, its face the page's if the job sets none; without a job, a canvas on its frame."""
    unit = unit_of(job or Job())
    face = " x ".join(f"{side:.4f} mm" if unit == "mm" else format_exactly(round(side, 4), unit) for side in size)
    if job is None:
        return replace(Job(name=Path(name).stem or "drawing").with_canvas(mount="stretched", face=face), folder=None)
    return job if job.canvas.face is not None else job.with_canvas(face=face)


def draw(visible: VisibleShapes, size: tuple[float, float], job: Job) -> Drawing:
    """The drawing, each shape with its appearance and the marker that its colour asks for."""
    items = visible.items
    markers = {item.colour: job.marker_for(item.colour).name for item in items}
    coords = visible.flat.coords
    for array in (coords.base, coords):  # locked, they are the drawing's as they are: a copy would be as large again
        if isinstance(array, np.ndarray):
            array.setflags(write=False)
    return Drawing(
        coords=coords,
        parts=visible.flat.parts,
        shapes=visible.flat.shapes,
        sheet=size,
        job=job,
        fill=_column(items, "fill", "colour"),
        evenodd=np.array([item.evenodd for item in items], dtype=np.bool_),
        fill_opacity=np.array([item.fill.opacity if item.fill.colour else 1.0 for item in items]),
        fill_gradient=_column(items, "fill", "gradient"),
        fill_pattern=np.array([item.fill.pattern for item in items], dtype=np.bool_),
        stroke=_column(items, "stroke", "colour"),
        stroke_opacity=np.array([item.stroke.opacity if item.stroke.colour else 1.0 for item in items]),
        stroke_gradient=_column(items, "stroke", "gradient"),
        stroke_width=np.array([item.stroke_width for item in items]),
        cap=_column(items, "cap"),
        join=_column(items, "join"),
        miter_limit=np.array([item.miter_limit for item in items], dtype=np.float64),
        blur=np.array([item.blur for item in items], dtype=np.float64),
        marker=_objects([markers[item.colour] for item in items]),
        layer=_column(items, "layer"),
        element=_column(items, "element"),
    )


def _column(items: list[FoundShape], *names: str) -> Any:
    found: list[Any] = list(items)
    for name in names:
        found = [getattr(value, name) for value in found]
    return _objects(found)


def _objects(values: list[Any]) -> Any:
    column = np.empty(len(values), dtype=object)
    column[:] = values
    return column


def identity(path: Path | None) -> dict[str, str]:
    """Which file it was, for the header of the program: its name and SHA-256; nothing of what came by a pipe."""
    if path is None or not path.is_file():  # a pipe cannot be read again
        return {}
    return {"file": readable(path.name), "sha256": hashlib.sha256(path.read_bytes()).hexdigest()}


def figures_of(drawing: Drawing, page: ArtworkPage, left_out: LeftOut) -> dict[str, Any]:
    """What the history keeps: the page, the scale, and every count."""
    return {
        "shapes": len(drawing),
        "points": len(drawing.coords),
        "page_mm": list(drawing.sheet),
        "size_stated": not page.note,
        "left_out": {kind: left_out.counts[kind] for kind in sorted(left_out.counts)},
        "colours": dict(sorted(_colours(drawing).items())),
    }


def _colours(drawing: Drawing) -> Counter[str]:
    return Counter(stroke or fill for stroke, fill in zip(drawing.stroke, drawing.fill, strict=True))


def summary_lines(drawing: Drawing, page: ArtworkPage, left_out: LeftOut, name: str) -> list[str]:
    """What a person should know: what came, at which scale, what did not come, which colours no marker names."""
    more = f", {left_out.skipped:,} left out" if left_out.skipped else ""
    size = size_in(drawing.sheet, unit_of(drawing.job))
    lines = [f"{counted(len(drawing), 'shape')} on a page of {size}{more}", f"  {name}"]
    if page.note:
        lines.append(page.note)
    lines += [f"  {line}" for line in left_out.lines()]
    beyond = _beyond(drawing)
    if beyond:
        reach = "reaches" if beyond == 1 else "reach"
        lines.append(f"  kept {counted(beyond, 'shape')} that {reach} beyond the page's edge")
    named = {colour for marker in drawing.job.markers for colour in marker.colours}
    strange = [(colour, count) for colour, count in _colours(drawing).most_common() if colour not in named]
    if named and strange:
        listed = ", ".join(f"{colour} ({count:,})" for colour, count in strange[:8]) + (
            " …" if len(strange) > 8 else ""
        )
        lines.append(f"  drawn with {drawing.job.markers[0].name!r}, as no marker names their colour: {listed}")
    return lines


def _beyond(drawing: Drawing) -> int:
    """How many shapes have a point off the page."""
    if not len(drawing):
        return 0
    off = ((drawing.coords < -0.01) | (drawing.coords > np.array(drawing.sheet) + 0.01)).any(axis=1)
    part_of = np.searchsorted(drawing.parts, np.flatnonzero(off), side="right") - 1
    return len(np.unique(np.searchsorted(drawing.shapes, part_of, side="right")))


def nothing_left(left_out: LeftOut, settings: ImportSettings) -> str:
    """Why there is nothing to draw."""
    reasons = "; ".join([*left_out.warnings(), *left_out.lines()])
    chosen = " with these layers" if settings.skip or settings.only else ""
    return f"no shapes to draw{chosen}" + (f" ({reasons})" if reasons else "; is this the file you mean?")
