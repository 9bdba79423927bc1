"""Damaged artwork is a drawing or one clear line, never a traceback, never a hang."""

import random
import re
import time

import pytest
from small_artwork import FIXTURES

from underdraw.errors import UnderdrawError

SAMPLES = sorted(path for path in FIXTURES.glob("*.svg") if not path.stem.endswith(".drawn"))
MOST_SECONDS = 10


def damaged(data: bytes, dice: random.Random) -> bytes:
    """Bytes changed, cut, doubled or inserted, one to four times."""
    for _ in range(dice.randint(1, 4)):
        at, end = sorted(dice.randrange(len(data) + 1) for _ in range(2))
        end = min(end, at + dice.choice([1, 2, 8, 60, 400]))
        kind = dice.randrange(6)
        if kind == 0:
            data = data[:at] + bytes(dice.randrange(256) for _ in range(dice.randint(1, 4))) + data[at + 1 :]
        elif kind == 1:
            data = data[:at] + data[end:]
        elif kind == 2:
            data = data[:at] + data[at:end] * dice.choice([2, 2, 3, 500]) + data[end:]
        elif kind == 3:
            data = data[:at] + dice.choice(PIECES) + data[at:]
        elif kind == 4:
            data = (
                data[:at]
                if dice.random() < 0.3
                else data[:at] + dice.choice(b"0123456789-.eE,#%").to_bytes() + data[at:]
            )
        else:
            data = data.replace(dice.choice(WORDS), dice.choice(WORDS), 1)
        if not data:
            return b"<"
    return data


PIECES = [
    b"nan", b"1e999", b"-1e9", b"0", b"\x00", b"\xff\xfe", b"&amp;", b"&moth;", b"<g>", b"</g>", b"<use href='#a'/>",
    b"<!--", b"]]>", b"<![CDATA[", b'"', b"'", b"url(#", b")", b"(", b"%", b"inherit", b"M0 0L", b"A1 1 0 2 1 0 0",
    b"<style>*{", b"}</style>",
]  # fmt: skip
WORDS = [
    b"path", b"rect", b"svg", b"use", b"g", b"clipPath", b"marker", b"symbol", b"d=", b"transform=", b"viewBox=",
    b"width=", b"stroke", b"fill", b"id=", b"href=", b"url(#gap)", b"none", b"mm", b"40", b"0", b"4", b"M", b"C", b"L",
    b" ", b'"', b"/>",
]  # fmt: skip


def damaged_values(data: bytes, dice: random.Random) -> bytes:
    """Attribute values damaged, the XML around them left sound: what gets past the parser."""
    spans = [match.span(1) for match in VALUES.finditer(data)]
    for begin, end in sorted(dice.sample(spans, min(len(spans), dice.randint(1, 4))), reverse=True):
        value = damaged(data[begin:end] or b"0", dice)
        data = data[:begin] + bytes(byte for byte in value if 32 <= byte < 127 and byte not in b"<&\"'") + data[end:]
    return data


VALUES = re.compile(rb"""=["']([^"'<&]*)["']""")


def importing(run, data: bytes) -> str:  # type: ignore[no-untyped-def]
    """What happened, in a word; anything but an error of ours comes through."""
    begun = time.perf_counter()
    try:
        run(data, text=str(FIXTURES / "moth.ttf"))
        happened = "drawn"
    except UnderdrawError as error:
        assert "\n" not in str(error)
        assert error.exit_code in (1, 2)
        happened = "refused"
    assert time.perf_counter() - begun < MOST_SECONDS
    return happened


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10))
def test_damaged_artwork_is_drawn_or_refused_in_one_line(seed, run) -> None:  # type: ignore[no-untyped-def]
    dice = random.Random(f"moth {seed}")
    kinds = [damaged, damaged_values]
    happened = [importing(run, dice.choice(kinds)(dice.choice(SAMPLES).read_bytes(), dice)) for _ in range(100)]
    assert {"drawn", "refused"} == set(happened)
