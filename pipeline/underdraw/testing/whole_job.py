"""A whole small job through the installed stage that writes programs, and what `check` finds in what it wrote."""

from collections.abc import Iterator

import pytest

from underdraw.errors import UnderdrawError
from underdraw.job.sections import Job
from underdraw.panel.lying import Lying
from underdraw.plugins.chain import StageContext, run_stage, settings_for
from underdraw.plugins.registry import Registry
from underdraw.program import check_program
from underdraw.program.expected import Expected
from underdraw.testing.sample_drawings import strokes
from underdraw.testing.trial import program_writer


def problems_of_a_whole_job(registry: Registry, job: Job) -> Iterator[str]:
    """One line a problem, of strokes with two markers; skips the test where no installed stage writes programs."""
    writer = program_writer(registry)
    if writer is None:
        pytest.skip("no installed stage writes programs")
    drawing = strokes(job)
    context = StageContext(registry, _Silent(), writer.name)
    try:
        result = run_stage(writer, drawing, settings_for(writer, drawing.job), context)
    except UnderdrawError as error:
        yield error.text
        return
    if not result.files:
        yield f"stage {writer.name!r} writes no program"
    expected = Expected.of(drawing.job, Lying.of(drawing, registry), registry)
    written = result.drawing.programs[len(drawing.programs) :]
    for index, file in enumerate(result.files):
        runs = [(load.first, load.last) for load in written[index].loads] if index < len(written) else None
        for problem in check_program(file.data, expected.drawing(drawing, runs)).problems:
            yield f"line {problem.line}: {problem.text}"


class _Silent:
    """A listener that hears nothing."""

    def summary(self, who: str, text: str) -> None:
        """Nothing."""

    def warn(self, who: str, text: str) -> None:
        """Nothing."""

    def notice(self, who: str, text: str) -> None:
        """Nothing."""

    def progress(self, who: str, share: float, text: str = "") -> None:
        """Nothing."""
