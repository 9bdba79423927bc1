"""The stage `preview`: work out what is to be shown, then draw each view that was asked for."""

from collections.abc import Callable

from underdraw import Context, Drawing, File, Result
from underdraw.page.subject import Subject
from underdraw_stages.preview import PreviewSettings
from underdraw_stages.preview.views.changes import changes_view, read_old
from underdraw_stages.preview.views.flat import flat_view
from underdraw_stages.preview.views.folded import folded_view
from underdraw_stages.preview.views.motion import motion_view

View = Callable[[Subject, PreviewSettings], bytes]
VIEWS: dict[str, View] = {"flat": flat_view, "folded": folded_view, "motion": motion_view}


def preview(drawing: Drawing, settings: PreviewSettings, context: Context) -> Result:
    """One SVG for each view, and a flat one for each section; or one of what changed. The drawing is handed on."""
    subject = Subject.of(drawing, context)
    if not len(drawing):
        context.warn("there is nothing to draw: the preview shows the bare canvas")
    if settings.since is not None:
        data, words = changes_view(subject, read_old(settings.since), context)
        file = File(".svg", data, "changes")
        return Result(drawing, files=(file,), summary=f"{context.file_name(file.suffix, file.label)}: {words}")
    views = list(dict.fromkeys(settings.view))
    shown = [(view, subject, view) for view in views]
    if "flat" in views:
        shown += [("flat", part, f"flat-section-{part.section}") for part in subject.by_section]
    files = tuple(File(".svg", VIEWS[view](part, settings), label) for view, part, label in shown)
    alone = len(files) == 1
    names = [context.file_name(file.suffix, file.label, alone=alone) for file in files]
    return Result(drawing, files=files, summary=", ".join(names))
