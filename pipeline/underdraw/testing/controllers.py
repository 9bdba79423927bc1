"""What any controller must keep: programs are read back and draw what they should, and its own limits hold."""

import re

from underdraw.plugins.controller import Controller
from underdraw.program import Report
from underdraw.program.problems import CODES
from underdraw.testing.sample_drawings import sample_job
from underdraw.testing.trial import check_name, fault, registry_with
from underdraw.testing.trial_program import WAIT_S, Written, read_back, trial
from underdraw.testing.whole_job import problems_of_a_whole_job

STARTS_SOMETHING = ("spindle", "coolant", "output")
NOT_UNDERSTOOD = ("unknown", "comment", "same-group", "optional-block", "mode", "dialect")
DRAWN_WRONG = ("arc", "missing", "extra", "off")
TOO_LONG = ("long-line",)
HEIGHTS = ("height", "lift", "depth")
SPEEDS = ("feed", "too-fast", "too-slow")
PAUSES, WAITS = ("pause",), ("wait",)
ELSEWHERE = {*STARTS_SOMETHING, *NOT_UNDERSTOOD, *DRAWN_WRONG, *TOO_LONG, *HEIGHTS, *SPEEDS, *PAUSES, *WAITS}
UNSAFE = tuple(set(CODES) - ELSEWHERE)
LONG_TEXT = "swap the marker for gold and set the height of its tip again " * 12
WOULD_RUN = "gold) M3 S500 (M4) G1 X9 \nM3 S500"  # a marker's name that must stay a text
NUMBER = re.compile(r"(?P<letter>[A-Z])[+-]?\d*\.?(?P<decimals>\d*)")
COMMENT = re.compile(r"\([^()]*\)")


class ControllerContract:
    """Subclass it as `Test…` and say which controller; nothing else is needed."""

    controller: Controller

    def test_it_is_declared_soundly(self) -> None:
        """A name, one line of help, units it can write in, limits that leave room for a block."""
        controller = self.controller
        check_name(controller)
        if not controller.suffix.startswith("."):
            fault(controller, f"its suffix {controller.suffix!r} has no dot; use '.nc'")
        if not controller.decimals or set(controller.decimals) - {"mm", "in"}:
            fault(controller, f"decimals name units {sorted(controller.decimals)}; expected 'mm', 'in' or both")
        for units, decimals in controller.decimals.items():
            if not isinstance(decimals, int) or not 1 <= decimals <= 8:
                fault(controller, f"{decimals!r} decimals in {units}; expected a whole number from 1 to 8")
        if controller.longest_line < 16:
            fault(controller, f"lines of {controller.longest_line} characters hold no block; expected at least 16")

    def test_it_never_starts_a_spindle_coolant_or_laser(self) -> None:
        """Neither by itself, nor by a text that it is given."""
        for units in self.controller.decimals:
            for text in ("", WOULD_RUN):
                self._without(STARTS_SOMETHING, units, trial(self.controller, units, text))

    def test_the_reader_understands_every_word(self) -> None:
        """Words of RS274/NGC, or its own with their meaning declared."""
        for units in self.controller.decimals:
            self._without(NOT_UNDERSTOOD, units, trial(self.controller, units))

    def test_it_begins_moves_and_ends_safely(self) -> None:
        """Spindle off, modes and height first, no rapid with the marker down, an end with it lifted."""
        for units in self.controller.decimals:
            self._without(UNSAFE, units, trial(self.controller, units))

    def test_the_modes_after_a_pause_are_those_of_its_beginning(self) -> None:
        """Whatever it states at the start, and no word more."""
        for units in self.controller.decimals:
            begins, again = (
                " ".join(blocks).split() for blocks in (self.controller.begin(units), self.controller.modes(units))
            )
            strange = [word for word in again if word not in begins]
            if strange:
                fault(self.controller, f"in {units}: modes() states {' '.join(strange)}, and begin() does not")

    def test_its_heights_are_those_that_it_is_given(self) -> None:
        """Lift, slow approach and press, or those of its own words; the marker stands as deep as it draws."""
        for units in self.controller.decimals:
            self._without(HEIGHTS, units, trial(self.controller, units))

    def test_its_speeds_are_those_that_it_is_given(self) -> None:
        """A feed for each line and each touch, and not another one."""
        for units in self.controller.decimals:
            self._without(SPEEDS, units, trial(self.controller, units))

    def test_it_draws_what_it_should(self) -> None:
        """Each stroke comes back where it was, nothing missing, nothing extra; small steps do not add up to a drift."""
        for units in self.controller.decimals:
            written = trial(self.controller, units)
            report = self._without(DRAWN_WRONG, units, written)
            if report.drawn.strokes != len(written.asked):
                fault(
                    self.controller,
                    f"in {units}: lowers the marker {report.drawn.strokes} times for {len(written.asked)} strokes",
                )

    def test_its_lines_are_no_longer_than_it_says(self) -> None:
        """Long messages and far coordinates too."""
        controller = self.controller
        for units in controller.decimals:
            written = trial(controller, units, LONG_TEXT)
            longest = max(written.blocks, key=len)
            if len(longest) > controller.longest_line:
                fault(
                    controller,
                    f"in {units}: declares lines of at most {controller.longest_line} characters, and writes "
                    f"{len(longest)}: {longest!r}",
                )

    def test_its_numbers_have_no_more_decimals_than_it_says(self) -> None:
        """Coordinates and feeds."""
        controller = self.controller
        for units, decimals in controller.decimals.items():
            for block in trial(controller, units).blocks:
                for found in NUMBER.finditer(COMMENT.sub("", block).upper()):
                    most = controller.feed_decimals if found["letter"] == "F" else decimals
                    if found["letter"] in "XYZIJKF" and len(found["decimals"]) > most:
                        fault(controller, f"in {units}: declares {most} decimals, and writes {block!r}")

    def test_its_lines_are_plain_text(self) -> None:
        """Printable ASCII, one block a line."""
        for units in self.controller.decimals:
            for block in trial(self.controller, units, "Blätter & Gräser – gold²").blocks:
                if not block.isascii() or not block.isprintable():
                    fault(self.controller, f"in {units}: {block!r} is not one line of plain ASCII")

    def test_it_writes_no_comment_where_it_says_there_are_none(self) -> None:
        """Parentheses only with `comments`."""
        if not self.controller.comments:
            for units in self.controller.decimals:
                for block in trial(self.controller, units).blocks:
                    if "(" in block or ")" in block or ";" in block:
                        fault(self.controller, f"declares no comments, and writes {block!r}")

    def test_its_pauses_pause(self) -> None:
        """With `pauses`, the operator is waited for; the marker stays lifted meanwhile."""
        controller = self.controller
        if not controller.pauses:
            return
        for units in controller.decimals:
            moves = read_back(controller, units, trial(controller, units)).drawn.moves
            if not len(moves.pauses):
                fault(controller, f"in {units}: pause() writes {controller.pause('swap')!r}, at which no machine stops")
            if not moves.pause.any() or moves.down_at_start[moves.pause].any():
                fault(controller, f"in {units}: the marker is not lifted while the operator is waited for")
            self._without(PAUSES, units, trial(controller, units))

    def test_its_waits_last_as_long_as_they_should(self) -> None:
        """With `dwells`: seconds are seconds."""
        controller = self.controller
        for units in controller.decimals:
            if controller.dwells:
                waits = read_back(controller, units, trial(controller, units)).drawn.moves.wait
                longest = float(waits.max()) if len(waits) else 0.0
                if not WAIT_S - 1e-3 <= longest < WAIT_S + 2.0:  # a dialect may wait for a slow lift besides
                    fault(controller, f"in {units}: dwell({WAIT_S}) waits {longest:g} s")
            self._without(WAITS, units, trial(controller, units))

    def test_the_same_moves_give_the_same_program(self) -> None:
        """And the last pass leaves the blocks that it is given alone."""
        controller = self.controller
        for units in controller.decimals:
            first, second = trial(controller, units), trial(controller, units)
            if first.blocks != second.blocks:
                fault(controller, f"in {units}: writes another program the second time")
            given = [*controller.begin(units), controller.rapid("Z5"), controller.rapid("X0 Y0"), *controller.end()]
            kept = list(given)
            controller.finish(given)
            if given != kept:
                fault(controller, "finish() changes the list that it is given; it should return another")

    def test_a_whole_job_is_written_and_read_back(self) -> None:
        """Through the installed stage that writes programs, on a panel with two markers."""
        controller = self.controller
        registry = registry_with("controllers", controller)
        for units in controller.decimals:
            job = sample_job(machine={"controller": controller.name, "units": units})
            for problem in problems_of_a_whole_job(registry, job):
                fault(controller, f"in {units}: {problem}")

    def _without(self, codes: tuple[str, ...], units: str, written: Written) -> Report:
        """Read a program back and report the first problem of these kinds."""
        report = read_back(self.controller, units, written)
        found = [problem for problem in report.problems if problem.code in codes]
        if found:
            line = found[0].line
            block = f" {written.blocks[line - 1]!r}" if 0 < line <= len(written.blocks) else ""
            fault(self.controller, f"in {units}: line {line}{block}: {found[0].text}")
        return report
