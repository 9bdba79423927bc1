"""What any stage must keep: pure, the same each time, same after the wire, with figures, for no strokes and many."""

import json
import time
from collections.abc import Mapping
from dataclasses import is_dataclass
from typing import Any

import pytest

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.errors import UnderdrawError
from underdraw.job.settings import plain_settings, read_settings, statements
from underdraw.plugins.parts import Result, Stage
from underdraw.testing.sample_drawings import artwork, many_strokes, nothing, on_board, sample_job, strokes
from underdraw.testing.trial import TrialContext, check_name, fault, registry_with

MORE_TIMES = 4  # as many strokes, to see how time grows
STEEPEST = 10.0  # for 4 times the strokes: n·log n takes about 4.7 times as long, n² takes 16 times
NOTICEABLE_S = 0.1  # of the processor: below that, what a stage does once drowns what it does for each stroke


class StageContract:
    """Subclass it as `Test…` and say which stage.

    `written` holds settings as a job would (`{"same": "0.2 mm"}`), for a stage that cannot do without. `huge` is how
    many strokes it must bear. Override `drawings` for a stage that only takes some of its own kind.
    """

    stage: Stage
    written: Mapping[str, object] = {}
    huge = 100_000

    def drawings(self) -> list[Drawing | None]:
        """What it is tried on: artwork, the same on its board, and strokes in order; None for a source."""
        return [None] if self.stage.kind == "source" else [artwork(), on_board(artwork()), strokes()]

    def test_it_is_declared_soundly(self) -> None:
        """A name, one line of help, a frozen class of settings with help and a default for each."""
        stage = self.stage
        check_name(stage)
        kind = stage.settings
        if not is_dataclass(kind) or not kind.__dataclass_params__.frozen:  # type: ignore[attr-defined]
            fault(stage, f"its settings {kind.__name__} are no frozen dataclass")
        unstated = set(kind.__dataclass_fields__) - {name.replace("-", "_") for name in statements(kind)}
        unstated -= {f"{name}_" for name in statements(kind)} | {name for name in unstated if name.endswith("_")}
        if unstated:
            fault(stage, f"setting {min(unstated)!r} is not stated with setting(…)")
        for name, statement in statements(kind).items():
            if not statement.help.strip() or "\n" in statement.help:
                fault(stage, f"setting {name!r} has no line of help")
        try:
            read_settings(kind, {})
        except (ValueError, UnderdrawError) as error:
            fault(stage, f"a default of its settings cannot be read: {error}")
        if stage.kind not in ("source", "step", "writer"):
            fault(stage, f"its kind is {stage.kind!r}; expected source, step or writer")

    def test_it_changes_nothing_that_it_is_given(self) -> None:
        """A stage is a pure function: the drawing before it is still there after it."""
        for drawing in self._takes():
            if drawing is None:
                continue
            before, job = write_drawing(drawing), json.dumps(dict(drawing.job.data), default=str)
            self._run(drawing)
            if write_drawing(drawing) != before or json.dumps(dict(drawing.job.data), default=str) != job:
                fault(self.stage, "changes the drawing that it was given; make another with drawing.replace(…)")

    def test_the_same_input_gives_the_same_bytes(self) -> None:
        """Drawing, figures and files."""
        for drawing in self._takes():
            first, second = self._run(drawing), self._run(drawing)
            for what, one, other in (
                ("drawing", write_drawing(first.drawing), write_drawing(second.drawing)),
                ("figures", json.dumps(first.figures), json.dumps(second.figures)),
                ("files", [file.data for file in first.files], [file.data for file in second.files]),
            ):
                if one != other:
                    fault(self.stage, f"gives another {what} the second time, for the same input")

    def test_it_is_at_home_on_the_wire(self) -> None:
        """What it makes can be written and read again, and from a pipe it makes the same as in one process."""
        for drawing in self._takes():
            made = write_drawing(self._run(drawing).drawing)
            try:
                again = write_drawing(read_drawing(made))
            except UnderdrawError as error:
                fault(self.stage, f"makes a drawing that the wire does not hold: {error.text}")
            if again != made:
                fault(self.stage, "makes a drawing that comes back from the wire as another")
            if drawing is not None:
                piped = write_drawing(self._run(read_drawing(write_drawing(drawing))).drawing)
                if piped != made:
                    fault(self.stage, "makes another drawing from a pipe than in one process")

    def test_its_figures_are_there_and_plain(self) -> None:
        """JSON with finite numbers; a step or source has some, for the drawing's history."""
        for drawing in self._takes():
            result = self._run(drawing)
            figures = result.figures
            if not isinstance(result.summary, str):
                fault(self.stage, f"its summary {result.summary!r} is no text")
            try:
                json.dumps(figures, allow_nan=False)
            except (TypeError, ValueError) as error:
                fault(self.stage, f"its figures are no JSON: {error}")
            if not figures and self.stage.kind != "writer":
                fault(self.stage, "gives no figures; say in numbers what it did: {'strokes_after': …, 'drawn_mm': …}")

    def test_it_keeps_the_history_and_the_name_of_the_job(self) -> None:
        """The host adds the record; a stage that adds its own would stand there twice."""
        for drawing in self._takes():
            if drawing is None:
                continue
            made = self._run(drawing).drawing
            if made.history != drawing.history:
                fault(self.stage, "changes the drawing's history; the host adds a record of each stage itself")
            if made.job.name != drawing.job.name or made.job.markers != drawing.job.markers:
                fault(self.stage, "loses the drawing's job, or its markers")
            for section, table in drawing.job.data.items():
                if made.job.data.get(section) != table:
                    fault(self.stage, f"loses or changes [{section}] of the drawing's job")
            for name in ("lying", "sources"):
                if getattr(drawing, name) and not getattr(made, name):
                    fault(self.stage, f"loses what the drawing knows: {name}; use drawing.replace(…)")

    def test_a_writer_makes_files_and_hands_its_drawing_on(self) -> None:
        """And a step makes none."""
        stage = self.stage
        for drawing in self._takes():
            result = self._run(drawing)
            if stage.kind != "writer":
                if result.files and stage.kind == "step":
                    fault(stage, "makes files, but is declared a step; use kind='writer'")
                continue
            if not result.files and not result.summary:
                fault(stage, "is declared a writer and makes no file, and its summary gives no reason")
            if drawing is not None:
                if result.drawing.programs[: len(drawing.programs)] != drawing.programs:
                    fault(stage, "drops programs that were written before it; a writer adds to them")
                if write_drawing(with_facts_of(drawing, result.drawing)) != write_drawing(drawing):
                    fault(stage, "hands on another drawing than it was given; a writer hands on the same")
            names = [(file.label, file.suffix) for file in result.files]
            if len(set(names)) < len(names):
                fault(stage, "makes two files of one label and suffix; the second would take the first one's place")
            for file in result.files:
                if not file.suffix.startswith(".") or not isinstance(file.data, bytes):
                    fault(
                        stage, f"makes a file {file.label + file.suffix!r} without a dot in its suffix, or not of bytes"
                    )

    def test_it_prints_nothing(self, capsys: pytest.CaptureFixture[str]) -> None:
        """Standard output carries the drawing; a summary goes into the result, warnings through the context."""
        for drawing in self._takes():
            self._run(drawing)
        shown = capsys.readouterr().out
        if shown:
            fault(self.stage, f"prints on standard output, which carries the drawing: {shown[:60]!r}")

    def test_an_empty_drawing_is_no_accident(self) -> None:
        """It gives a result, or one line why there is none."""
        if self.stage.kind == "source":
            return
        drawing = nothing()
        try:
            made = self._call(drawing).drawing
        except UnderdrawError as error:
            self._check_line(error)
        except Exception as error:
            fault(self.stage, f"raises {type(error).__name__} on a drawing with no shapes: {error}")
        else:
            write_drawing(made)

    def test_a_huge_drawing_is_borne(self) -> None:
        """`huge` strokes, and time that grows no worse than their number times its logarithm, or nearly.

        Skipped, with the reason, where there is nothing to see: a source, or a stage that refuses them.
        """
        if self.stage.kind == "source":
            pytest.skip("a source is given no drawing")
        _, *taken = [self._seconds(self.huge // MORE_TIMES) for _ in range(3)]  # the first loads what it imports
        more = self._seconds(self.huge)
        few = min((seconds for seconds in taken if seconds is not None), default=None)
        if more is None or few is None:
            pytest.skip(f"stage {self.stage.name!r} refuses {self.huge:,} strokes in one line")
        too_long = max(NOTICEABLE_S, STEEPEST * few)
        if more > too_long:
            more = min(more, self._seconds(self.huge) or more)  # a busy machine may have held up the first
        if more > too_long:
            fault(
                self.stage,
                f"takes {more / few:.0f} times as long for {MORE_TIMES} times the strokes; work on whole arrays",
            )

    def _takes(self) -> list[Drawing | None]:
        """The drawings that it does not refuse; some must be left."""
        taken: list[Drawing | None] = []
        refusals: list[str] = []
        for drawing in self.drawings():
            try:
                self._call(drawing)
            except UnderdrawError as error:
                self._check_line(error)
                refusals.append(error.text)
            except Exception as error:
                fault(self.stage, f"raises {type(error).__name__}: {error}")
            else:
                taken.append(drawing)
        if not taken:
            fault(self.stage, f"refuses every drawing it is tried on ({refusals[0]}); override `drawings` or `written`")
        return taken

    def _check_line(self, error: UnderdrawError) -> None:
        first, *remedies = error.text.split("\n")
        if not first.strip() or not all(line.startswith("  try: ") for line in remedies):
            fault(
                self.stage,
                f"refuses a drawing with what is neither one line nor a line and remedies, `  try: …`: {error.text!r}",
            )

    def _settings(self) -> Any:
        return read_settings(self.stage.settings, self.written)

    def _call(self, drawing: Drawing | None) -> Result:
        """The stage's result. A source is given a job."""
        job = sample_job() if self.stage.kind == "source" else None
        context = TrialContext(registry_with("stages", self.stage), job)
        settings = self._settings()
        result = self.stage.function()(drawing, settings, context)  # type: ignore[arg-type]
        if not isinstance(result, Result) or not isinstance(result.drawing, Drawing):
            fault(self.stage, f"gives back {type(result).__name__}, not a Result with a drawing")
        plain_settings(settings)  # the host keeps them in the history
        return result

    def _run(self, drawing: Drawing | None) -> Result:
        """The stage's result on a drawing that it took before."""
        try:
            return self._call(drawing)
        except UnderdrawError as error:
            fault(self.stage, f"refuses a drawing that it took before: {error.text}")

    def _seconds(self, count: int) -> float | None:
        """How long the processor takes for so many strokes; None where the stage refuses them in one line."""
        drawing = many_strokes(count)
        begun = time.process_time()
        try:
            self._call(drawing)
        except UnderdrawError as error:
            self._check_line(error)
            return None
        except Exception as error:
            fault(self.stage, f"raises {type(error).__name__} on {count} strokes: {error}")
        return time.process_time() - begun


def with_facts_of(drawing: Drawing, handed_on: Drawing) -> Drawing:
    """What a writer handed on, less what a writer may add: programs, how the strokes will read, a palette."""
    return handed_on.replace(programs=drawing.programs, reading=drawing.reading, palette=drawing.palette)
