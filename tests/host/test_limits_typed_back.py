"""A printed limit is accepted when it is typed back, a remedy works as it is written, a cut is large enough."""

import re

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from underdraw import CannotDo, InputError, Panel
from underdraw.job.sections import MOST_LIFT_MM, HolderSection
from underdraw.job.settings import SettingError, read_settings
from underdraw.panel import bed_fit
from underdraw.panel.bed import TOLERANCE_MM, fits
from underdraw.panel.materials import cut_list
from underdraw.panel.report import Report, figures, table
from underdraw.words.lengths import MM_PER_INCH, parse_length, parse_size
from underdraw.words.quantities import length_in

UNITS = st.sampled_from(["mm", "in"])


@st.composite
def panels(draw: st.DrawFn, largest: float = 900.0) -> Panel:
    """Panels as people size them: by the 0.1 mm, by sixteenths, or converted from the other unit."""

    def size(low: float, high: float) -> float:
        grid = draw(st.sampled_from([0.1, MM_PER_INCH / 16, MM_PER_INCH / 100, 0.0127]))
        return draw(st.integers(int(low / grid) + 1, int(high / grid))) * grid

    stretch = st.sampled_from([0.0, 0.006, 0.0123])
    try:
        return Panel(
            face=(size(60, largest), size(60, largest)),
            depth=size(5, 80),
            bleed=size(0, 25),
            staple=size(0, 40),
            stretch=(draw(stretch), draw(stretch)),
            mount=draw(st.sampled_from(["board", "board", "stretched"])),
            strip=draw(st.sampled_from(["flat", "flat", "down"])),
            unit=draw(UNITS),
        )
    except InputError:
        assume(False)
        raise


BEDS = st.sampled_from(
    [(24 * MM_PER_INCH, 48 * MM_PER_INCH), (600.0, 900.0), (400.3, 411.7), (16.3 * MM_PER_INCH, 700)]
)
OFFSETS = st.sampled_from([(0.0, 0.0), (55.0, -12.5), (-1.1 * MM_PER_INCH, 33.3), (0.0, -60.0)])


def rows(report: Report) -> dict[str, list[str]]:
    """The table's rows: what, then the columns."""
    found = {}
    for line in table(report).split("\nnotes\n")[0].splitlines():
        name, *columns = re.split(r"  +", line.strip())
        found[name] = columns
    return found


def typed_back(panel: Panel, remedy: str) -> Panel:
    """The panel with a remedy's line typed into its job."""
    key, value = re.findall(r'(\w+) = "(.*)"', remedy)[0]
    read = value if key in ("mount", "strip") else parse_size(value) if key == "face" else parse_length(value)
    return panel.with_sizes(**{key: read})


@settings(max_examples=300, deadline=None)
@given(panel=panels(), bed=BEDS, offset=OFFSETS, unit=st.sampled_from(["mm", "cm", "in"]))
def test_the_largest_face_is_accepted_in_either_column_however_it_is_written(panel, bed, offset, unit) -> None:  # type: ignore[no-untyped-def]
    shown = rows(Report(panel, bed, offset, unit))
    for column in (0, 1):
        upright, level = (shown[name][column] for name in ("largest face", "largest face, turned"))
        assert upright == "none" or fits(panel.with_sizes(face=parse_size(upright)), bed, offset)
        assert level == "none" or fits(panel.with_sizes(face=parse_size(level)).turned(), bed, offset)


@settings(max_examples=300, deadline=None)
@given(panel=panels(), bed=BEDS, offset=OFFSETS, may_turn=st.booleans())
def test_every_remedy_works_as_it_is_written(panel, bed, offset, may_turn) -> None:  # type: ignore[no-untyped-def]
    lying = bed_fit(panel, bed, offset, may_turn)
    assert lying.fits or lying.reasons
    for remedy in lying.remedies:
        if remedy.panel is None:
            assert any(fits(way, bed) for way in (panel, panel.turned())[: 1 + may_turn])
            continue
        changed = typed_back(panel, remedy.text)
        if remedy.text.startswith("turn it"):
            changed = changed.with_sizes(stretch=panel.stretch[::-1])
        assert fits(changed, bed, offset) or (may_turn and fits(changed.turned(), bed, offset))


@settings(max_examples=150, deadline=None)
@given(panel=panels(), bed=BEDS, offset=OFFSETS)
def test_a_remedy_that_works_without_turning_works_where_turning_is_allowed(panel, bed, offset) -> None:  # type: ignore[no-untyped-def]
    if fits(panel, bed, offset) or fits(panel.turned(), bed, offset):
        return
    key = {remedy.text.split(":")[0] for remedy in bed_fit(panel, bed, offset).remedies}
    assert {*key} - {"turn it 90°"} <= {
        remedy.text.split(":")[0] for remedy in bed_fit(panel, bed, offset, may_turn=True).remedies
    }


def test_a_panel_that_a_little_less_bleed_lets_lie_turned_is_told_of_bleed_and_needs_no_other_step() -> None:
    inch = MM_PER_INCH
    wide = Panel((28.75 * inch, 18 * inch), 1.5 * inch, 1.0 * inch, 1.0 * inch, unit="in")
    lying = bed_fit(wide, (24 * inch, 48 * inch), may_turn=True)
    assert [remedy.text for remedy in lying.remedies][:5] == [
        'fold the staple strip down and staple it to the board\'s edge: [canvas] strip = "down"',
        'less bleed: [canvas] bleed = "1/2 in"',
        'a shallower frame: [canvas] depth = "1 in"',
        'a narrower staple strip: [canvas] staple = "1/2 in"',
        'a smaller face: [canvas] face = "28 3/4 in x 17 in"',
    ]
    assert lying.reasons == ("turned 90°, the canvas is 25 in wide and the bed 24 in: 1 in too wide",)
    alone = bed_fit(wide, (24 * inch, 48 * inch), may_turn=False)
    assert "less bleed" not in {remedy.text.split(":")[0] for remedy in alone.remedies}


@settings(max_examples=200, deadline=None)
@given(panel=panels(), unit=st.sampled_from(["mm", "cm", "in"]))
def test_what_is_cut_to_the_printed_size_is_large_enough(panel, unit) -> None:  # type: ignore[no-untyped-def]
    shown = rows(Report(panel, unit=unit))
    lead = "canvas to cut" if panel.wraps else "canvas that the frame took"
    for name, due in (("support board", panel.board), (lead, panel.cut)):
        for column in shown[name]:
            got = parse_size(column)
            step = MM_PER_INCH / 16
            assert all(want - TOLERANCE_MM <= side < want + step + 1e-6 for side, want in zip(got, due, strict=True))


def test_a_canvas_of_whole_sixteenths_is_not_cut_a_step_larger_for_the_rounding_of_sums() -> None:
    panel = Panel((16 * MM_PER_INCH, 20 * MM_PER_INCH), 2.5 * MM_PER_INCH, 0.1 * 127, MM_PER_INCH, unit="in")
    assert rows(Report(panel, unit="in"))["canvas to cut"] == ["24 x 28 in", "24 in x 28 in"]


@settings(max_examples=200, deadline=None)
@given(face=st.tuples(st.floats(20, 90), st.floats(20, 90)), unit=UNITS)
def test_the_most_bleed_that_a_refusal_names_is_accepted(face: tuple[float, float], unit: str) -> None:
    with pytest.raises(InputError) as refused:
        Panel(face, 40.0, 46.0, 25.0, unit=unit)
    most = parse_length(re.findall(r"use at most (.*)", str(refused.value))[0])
    assert Panel(face, 40.0, most, 25.0, unit=unit).bleed == pytest.approx(most, abs=1e-4)


@settings(max_examples=200, deadline=None)
@given(depth=st.floats(40, 80), high=st.floats(10, 37.9), sheet=st.floats(0, 2), unit=UNITS)
def test_the_bars_and_the_depth_that_a_refusal_names_are_accepted(depth, high, sheet, unit) -> None:  # type: ignore[no-untyped-def]
    panel = Panel((300.0, 400.0), depth, 12.7, 25.4, unit=unit)
    with pytest.raises(CannotDo) as refused:
        cut_list(panel, (19.0, high), sheet)
    least = parse_length(re.findall(r"use bars at least (.*) high", str(refused.value))[0])
    assert cut_list(panel, (19.0, least), sheet).pieces
    shallower = parse_length(re.findall(r'depth = "(.*)"', str(refused.value))[0])
    assert cut_list(panel.with_sizes(depth=shallower), (19.0, high), sheet).pieces


@settings(max_examples=100, deadline=None)
@given(face=st.floats(40, 90), length=st.floats(100, 290), unit=UNITS)
def test_bars_a_little_thinner_or_longer_than_a_refusal_names_are_accepted(face, length, unit) -> None:  # type: ignore[no-untyped-def]
    panel = Panel((face, 300.0), 38.0, 5.0, 25.4, unit=unit)
    with pytest.raises(CannotDo) as refused:
        cut_list(panel, (46.0, 38.0))
    limit = parse_length(re.findall(r"use bars thinner than (.*)", str(refused.value))[0])
    assert cut_list(panel, (limit - 0.001, 38.0)).pieces
    with pytest.raises(CannotDo) as refused:
        cut_list(panel, (10.0, 38.0), bar_length=length)
    least = parse_length(re.findall(r"; use stock of (.*) or more", str(refused.value))[0])
    assert cut_list(panel, (10.0, 38.0), bar_length=least).bars


@pytest.mark.parametrize(("written", "limit"), [("7 in", "5.905 in"), ("200 mm", "150 mm")])
def test_the_highest_lift_is_accepted_when_it_is_typed_back(written: str, limit: str) -> None:
    with pytest.raises(SettingError, match=f"at most {limit}, got"):
        read_settings(HolderSection, {"lift": written})
    assert read_settings(HolderSection, {"lift": limit}).lift <= MOST_LIFT_MM  # type: ignore[operator]


@settings(max_examples=200, deadline=None)
@given(mm=st.floats(-2000, 2000), unit=UNITS)
def test_a_limit_on_paper_is_on_its_safe_side_by_less_than_a_step(mm: float, unit: str) -> None:
    low, high = (parse_length(length_in(mm, unit, to)) for to in ("up", "down"))  # type: ignore[arg-type]
    step = 0.01 * (MM_PER_INCH if unit == "in" else 1.0) + 1e-6
    assert mm - 6e-4 <= low <= mm + step
    assert mm - step <= high <= mm + 6e-4


def test_a_bed_too_small_for_sides_and_strips_has_no_largest_face() -> None:
    panel = Panel((300.0, 400.0), 60.0, 12.0, 25.0)
    shown = rows(Report(panel, (150.0, 900.0)))
    assert shown["largest face"] == ["none", "none"]
    assert figures(Report(panel, (150.0, 900.0)))["largest_face_mm"][0] == 0.0
