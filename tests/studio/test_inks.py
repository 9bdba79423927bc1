"""The five inks and two holders against what the trade says of them (common practice, no source)."""

import pytest

from underdraw_studio.holders import HOLDERS
from underdraw_studio.inks import INKS

BY_NAME = {ink.name: ink for ink in INKS}
INCH_A_MINUTE = 25.4 / 60


def test_there_are_five_inks_and_one_is_the_default():
    assert set(BY_NAME) == {"permanent", "oil-paint", "acrylic-paint", "pencil", "ballpoint"}
    assert sum(ink.default for ink in INKS) == 1


def test_permanent_markers_draw_at_60_inches_a_minute_and_paint_markers_at_half_that():
    assert BY_NAME["permanent"].speed == pytest.approx(60 * INCH_A_MINUTE)
    for name in ("oil-paint", "acrylic-paint"):
        assert BY_NAME[name].speed == pytest.approx(30 * INCH_A_MINUTE)


def test_paint_markers_do_without_a_spring_and_the_others_want_one():
    assert {name for name, ink in BY_NAME.items() if ink.wants_spring} == {"permanent", "ballpoint", "pencil"}


def test_paint_markers_nibs_give_by_half_a_millimetre_and_no_other_by_anything():
    # From memory.
    assert {name: ink.nib_gives for name, ink in BY_NAME.items() if ink.nib_gives} == {
        "oil-paint": 0.5,
        "acrylic-paint": 0.5,
    }


def test_permanent_and_oil_paint_lines_are_sealed_before_resin_and_acrylic_ones_need_not_be():
    assert BY_NAME["permanent"].seal_before_resin
    assert BY_NAME["oil-paint"].seal_before_resin
    assert not BY_NAME["acrylic-paint"].seal_before_resin


def test_paint_markers_fade_first():
    assert {name for name, ink in BY_NAME.items() if ink.fades_soon} == {"oil-paint", "acrylic-paint"}


def test_each_says_where_its_facts_are_from():
    assert all("no source" in ink.source or "memory" in ink.source for ink in INKS)


def test_one_holder_is_sprung_and_one_rigid_and_a_rigid_one_does_not_press():
    assert sorted(holder.sprung for holder in HOLDERS) == [False, True]
    assert all(holder.sprung or holder.press == 0 for holder in HOLDERS)
    assert all(0 < holder.clearance <= holder.lift for holder in HOLDERS)
    assert sum(holder.default for holder in HOLDERS) == 1
