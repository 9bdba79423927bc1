"""The line of a key is found in any TOML: however it is commented, quoted, dotted, nested or spread over lines."""

import re
import tomllib
from collections.abc import Iterator
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from underdraw.job.key_positions import Way, key_positions, line_of

TRAPS = ("size = 1", "[trap]", "# no comment", "[[trap]] {", "a.b = '", "} ] ,", "\\")


class Page:
    """A TOML text in the making, and the line that each key, table and item was written on."""

    def __init__(self, random: Random) -> None:
        self.random = random
        self.text = ""
        self.due: dict[Way, int] = {}
        self.named = 0

    @property
    def line(self) -> int:
        return 1 + self.text.count("\n")

    def put(self, text: str) -> None:
        self.text += text

    def name(self) -> str:
        """A name that is not yet in use, and hard to read over."""
        self.named += 1
        odd = self.random.choice(["", "", "-b", "_c", " d", ".e", "#f", "=g", '"h', "\\i", "é", "]"])
        return f"n{self.named}{odd}"

    def written(self, name: str) -> str:
        """A name as a key: bare where it can be, or in quotes of either kind."""
        choices = [f'"{name.replace(chr(92), chr(92) * 2).replace(chr(34), chr(92) + chr(34))}"', f"'{name}'"]
        if re.fullmatch(r"[A-Za-z0-9_-]+", name):
            choices += [name] * 3
        return self.random.choice(choices)

    def blanks(self, over_lines: bool = False) -> str:
        """Nothing, blanks or, where the grammar lets them, comments and ends of lines."""
        choices = ["", " ", "\t "]
        if over_lines:
            choices += ["\n", f" # {self.random.choice(TRAPS)}\n  ", "\n\n"]
        return self.random.choice(choices)

    def end_line(self) -> None:
        trap = self.random.choice(TRAPS)
        self.put(self.random.choice(["\n", "\n\n", f" # {trap}\n", f"\n# {trap}\n", "\r\n"]))

    def dotted(self, names: list[str]) -> None:
        for index, name in enumerate(names):
            self.put((f"{self.blanks()}.{self.blanks()}" if index else "") + self.written(name))

    def pair(self, table: Way, deep: int) -> None:
        line, names = self.line, [self.name() for _ in range(self.random.choice([1, 1, 1, 2, 3]))]
        for count in range(1, len(names) + 1):
            self.due[*table, *names[:count]] = line
        self.dotted(names)
        self.put(f"{self.blanks()}={self.blanks()}")
        self.value((*table, *names), deep)

    def value(self, way: Way, deep: int) -> None:
        kind = self.random.choice(
            ["plain", "text", "text", "many lines", "array", "array", "table"][: 7 if deep else 4]
        )
        if kind == "array":
            self.put("[" + self.blanks(True))
            count = self.random.randrange(4)
            for index in range(count):
                self.due[*way, index] = self.line
                self.value((*way, index), deep - 1)
                last = index == count - 1 and self.random.random() < 0.5
                self.put(self.blanks(True) + ("" if last else "," + self.blanks(True)))
            self.put("]")
        elif kind == "table":
            self.put("{" + self.blanks())
            for index in range(self.random.randrange(3)):
                self.put(f"{self.blanks()},{self.blanks()}" if index else "")
                self.pair(way, deep - 1)
            self.put(self.blanks() + "}")
        else:
            self.put(self.scalar(kind))

    def scalar(self, kind: str) -> str:
        if kind == "plain":
            return self.random.choice(["1", "-2.5e3", "true", "1979-05-27 07:32:00Z", "inf", "0xff", "07:32:00.5"])
        trap = self.random.choice(TRAPS)
        safe = trap.replace("\\", "\\\\")
        if kind == "text":
            return self.random.choice([f'"{safe}"', f"'{trap.replace(chr(39), '')}'", '""', "''", '"\\""', "'\"'"])
        return self.random.choice(
            [f'"""\n{safe}\n"" {safe}"""', f"'''{trap}\n'' size = 1\n'''", '"""a\\\n  b"""""', '""""""', "'''\n'''''"]
        )


@st.composite
def pages(draw: st.DrawFn) -> Page:
    """Whole files of tables, arrays of tables, and keys."""
    page = Page(draw(st.randoms(use_true_random=False)))
    table: Way = ()
    arrays: list[tuple[list[str], int]] = []
    for _ in range(draw(st.integers(0, 14))):
        kind = page.random.choice(["key"] * 5 + ["table", "array", "again", "within"])
        if kind == "key":
            page.pair(table, 3)
            page.end_line()
            continue
        line, open_, close = page.line, "[", "]"
        if kind in ("again", "within") and arrays:
            names, count = arrays[-1]
            if kind == "again":
                arrays[-1] = (names, count + 1)
                table, open_, close = (*names, count), "[[", "]]"
            else:
                name = page.name()
                table, names = (*names, count - 1, name), [*names, name]
        else:
            names = [page.name() for _ in range(page.random.choice([1, 1, 2]))]
            for part in range(1, len(names)):
                page.due[tuple(names[:part])] = line
            table = tuple(names)
            if kind == "array":
                arrays.append((names, 1))
                page.due[table] = line
                table, open_, close = (*names, 0), "[[", "]]"
        page.due[table] = line
        page.put(page.blanks() + open_ + page.blanks())
        page.dotted(names)
        page.put(page.blanks() + close)
        page.end_line()
    return page


def ways_of(value: object, way: Way = ()) -> Iterator[Way]:
    """The way of everything in a value."""
    held = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in held:
        yield (*way, key)
        yield from ways_of(item, (*way, key))


@pytest.mark.slow
@settings(max_examples=600, deadline=None)
@given(pages())
def test_every_key_of_any_file_is_on_the_line_that_it_was_written_on(page: Page) -> None:
    data = tomllib.loads(page.text)  # written by the grammar, and read by somebody else
    assert set(ways_of(data)) == set(page.due)
    assert key_positions(page.text) == page.due


@settings(max_examples=300, deadline=None)
@given(pages(), st.data())
def test_a_file_cut_off_or_spoilt_anywhere_never_raises(page: Page, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(page.text)))
    for spoilt in (
        page.text[:at],
        page.text[:at] + data.draw(st.sampled_from(list("\"'[]{}=,.#\n\\x"))) + page.text[at:],
    ):
        assert all(line >= 1 for line in key_positions(spoilt).values())


JOB = """\
[canvas]  # face = "12 x 16 in", depth = 1
face = "4 x 6 in"     # depth = "2 in" did not fit, nor bleed = "1 in"
note.text = '''
depth = "9 in"
[machine]
'''
depth = "1 in"
stages = { }

["machine"]
bed = "12 x 24 in" # units = "in"
'units' = "in"

[[marker]]
name = "outline # [[marker]]"
colours = [
    "#1b1b3a",  # tip = "0.5 mm"
    "#d9793a",
]
tip = "0.7 mm"
[[marker]]
tip = "0.5 mm"
[stages]
chain = ["import", "fit"] # fit = { how = "cover" }
fit = { how = "contain", auto_turn = true }
order.seconds = 2
"""


@pytest.mark.parametrize(
    ("keys", "line"),
    [
        (("canvas", "depth"), 7),
        (("canvas", "bleed"), 1),  # not set: its table
        (("machine", "units"), 12),
        (("marker", 0, "tip"), 20),
        (("marker", 0, "colours", 1), 18),
        (("marker", 1, "tip"), 22),
        (("marker", 1, "name"), 21),
        (("stages", "fit", "auto-turn"), 25),
        (("stages", "order", "seconds"), 26),
        (("stages", "tidy", "join"), 23),
        (("frame", "bar"), None),
    ],
)
def test_neither_comment_nor_text_steals_the_line_of_a_key(keys: tuple[str | int, ...], line: int | None) -> None:
    assert line_of(JOB, keys) == line
