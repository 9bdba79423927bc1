"""Single-line letters: every one is there, has its own shape, and stays on its line."""

import string
from itertools import pairwise

import numpy as np
import pytest

from underdraw_stages.swatch.letters import GLYPHS, HEIGHT, glyph, text_length, text_strokes


@pytest.mark.parametrize("letter", GLYPHS)
def test_a_letter_is_a_few_strokes_within_its_height(letter: str) -> None:
    strokes = glyph(letter)
    assert 1 <= len(strokes) <= 4
    for line in strokes:
        assert len(line) >= 2 and np.isfinite(line).all()
        assert line[:, 1].min() >= -2.01 and line[:, 1].max() <= HEIGHT + 1
        assert line[:, 0].min() >= -0.6


def test_no_two_letters_look_alike() -> None:
    pictures: dict[frozenset[tuple[int, int]], str] = {}
    for letter in GLYPHS:
        dots = set()
        for line in glyph(letter):
            for first, last in pairwise(line):
                for share in np.linspace(0, 1, 12):
                    x, y = first + share * (last - first)
                    dots.add((round(x * 2), round(y * 2)))
        key = frozenset(dots)
        assert key not in pictures, (letter, pictures.get(key))
        pictures[key] = letter


def test_every_letter_of_a_job_can_be_written() -> None:
    needed = set(string.ascii_lowercase + string.digits + ".,:-+/×%()")
    assert needed <= set(GLYPHS)
    assert [line.tolist() for line in glyph("A")] == [line.tolist() for line in glyph("a")]
    assert [line.tolist() for line in glyph("ß")] != [line.tolist() for line in glyph("s")]  # shown as missing


def test_a_rounded_stroke_keeps_its_ends_and_a_ring_closes() -> None:
    [ring] = glyph("o")
    assert ring[0].tolist() == ring[-1].tolist()
    bowl = glyph("c")[0]
    assert bowl[0].tolist() == [3, 3.2] and bowl[-1].tolist() == [3, 0.8]
    two = glyph("2")[0]
    assert [0.0, 0.0] in two.tolist()  # its sharp corner


def test_letters_follow_one_another_without_touching() -> None:
    for text in ("moonflower", "30 in/min", "sealed + coated"):
        strokes = text_strokes(text, 10.0, 50.0, 0.6)
        points = np.vstack(strokes)
        assert points[:, 0].max() - 10.0 == pytest.approx(text_length(text, 0.6), abs=0.5)
        assert 50.0 - points[:, 1].max() >= -2 * 0.6 - 1e-9
    apart = [text_strokes(letter, 0.0, 0.0, 1.0) for letter in "no"]
    right = max(line[:, 0].max() for line in apart[0])
    both = text_strokes("no", 0.0, 0.0, 1.0)[len(apart[0])]
    assert both[:, 0].min() > right
