"""Lengths as people write them. Unit table: CSS Values and Units Level 3, 'Absolute lengths'."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from underdraw.words import lengths

# CSS Values and Units Level 3, 'Absolute lengths': 1in = 2.54cm = 96px = 72pt = 6pc; 1cm = 10mm; 1q = 1/40 cm.
CSS = {"in": 25.4, "cm": 10.0, "mm": 1.0, "q": 0.25, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96}


@pytest.mark.parametrize(("unit", "mm"), CSS.items())
def test_every_absolute_unit_of_css_has_its_length(unit: str, mm: float) -> None:
    assert lengths.parse_length(f"1 {unit}") == pytest.approx(mm, abs=1e-9)
    assert lengths.parse_length(f"3.5{unit.upper()}") == pytest.approx(3.5 * mm, abs=1e-8)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("2 1/4 in", 57.15),
        ("2-1/4 in", 57.15),
        ("2¼ in", 57.15),
        ("1/16 in", 1.5875),
        ('16"', 406.4),
        ('3/4"', 19.05),
        ("40 cm", 400.0),
        ("0.4m", 400.0),
        ("1e-3 m", 1.0),
        ("-1 1/2 in", -38.1),
        (".5 mm", 0.5),
        ("2 ft", 609.6),
    ],
)
def test_a_length_reads_as_a_carpenter_means_it(text: str, mm: float) -> None:
    assert lengths.parse_length(text) == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("12", "with its unit, .* got 12"),
        (12, "with its unit, .* got 12"),
        (0, "with its unit, .* got 0"),
        ("12 fathoms", "unknown unit 'fathoms'"),
        ("twelve", "expected a length"),
        ("", "expected a length"),
        ("1/0 in", "expected a length"),
        ("nan mm", "expected a length"),
        ("1e9 mm", "longer than a kilometre"),
        (True, "expected a length"),
        (None, "expected a length"),
        ([1], "expected a length"),
    ],
)
def test_what_is_no_length_is_refused_with_what_was_read(text: object, told: str) -> None:
    with pytest.raises(ValueError, match=told.replace("(", r"\(")):
        lengths.parse_length(text)


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("12 x 16 in", (304.8, 406.4)),
        ("12in x 40cm", (304.8, 400.0)),
        ('12" x 16"', (304.8, 406.4)),
        ("300 × 400 mm", (300.0, 400.0)),
        ("2 1/4 x 3 1/2 in", (57.15, 88.9)),
        ("30 by 40 cm", (300.0, 400.0)),
        ("0 x 0 mm", (0.0, 0.0)),
    ],
)
def test_a_size_reads_with_one_unit_or_two(text: str, size: tuple[float, float]) -> None:
    assert lengths.parse_size(text) == pytest.approx(size)


@pytest.mark.parametrize("text", ["12 in", "12 x 16", "12 x 16 x 20 in", "x in", 12])
def test_what_is_no_size_is_refused(text: object) -> None:
    with pytest.raises(ValueError, match="expected a size|unit"):
        lengths.parse_size(text)


def test_speeds_and_accelerations_are_per_second() -> None:
    assert lengths.parse_speed("60 in/min") == pytest.approx(25.4)
    assert lengths.parse_speed("25 mm/s") == pytest.approx(25.0)
    assert lengths.parse_acceleration("300 mm/s²") == lengths.parse_acceleration("300 mm/s2") == pytest.approx(300.0)
    with pytest.raises(ValueError, match="unit of time 'h'"):
        lengths.parse_speed("60 in/h")
    with pytest.raises(ValueError, match="expected an acceleration"):
        lengths.parse_acceleration("300 mm/min")


@given(st.floats(0.001, 9e5), st.sampled_from(["mm", "cm", "in", "m"]))
def test_a_length_written_by_us_reads_back(value: float, unit: str) -> None:
    written = lengths.format_length(value, unit)
    assert lengths.parse_length(written) == pytest.approx(value, abs=0.0006 * lengths.LENGTH_UNITS[unit])


@given(st.integers(1, 16 * 400))
def test_a_carpenters_fraction_reads_back_to_the_same_sixteenth(sixteenths: int) -> None:
    mm = sixteenths * 25.4 / 16
    assert math.isclose(lengths.parse_length(lengths.format_inches(mm)), mm, abs_tol=1e-6)


@pytest.mark.parametrize(
    "text", ["4" + " " * 40_000 + "5", " " * 40_000 + "x", "4" * 40_000 + " 5", "4 x" + " " * 40_000]
)
def test_a_length_of_many_blanks_or_digits_is_read_at_once(text: str) -> None:
    """In every split of them it would not end."""
    for read in (lengths.parse_length, lengths.parse_size, lengths.parse_time):
        with pytest.raises(ValueError, match="got|longer|unknown unit"):
            read(text)
