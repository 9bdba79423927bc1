"""What a program says and does: modes, heights, feeds, swaps, parts of a drawing, the header."""

import re

import numpy as np
import pytest

from underdraw import Controller
from underdraw.drawing.facts import Source
from underdraw.errors import CannotDo, InputError
from underdraw.plugins.registry import Plugin, Registry

CONTROLLERS = ["rs274", "iso6983", "lines"]


def words(data: bytes) -> list[str]:
    """Blocks without comments and block numbers."""
    lines = [re.sub(r"\([^)]*\)|^N\d+ ", "", line).strip() for line in data.decode().splitlines()]
    return [line for line in lines if line and line != "%"]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("controller", CONTROLLERS)
def test_every_controller_draws_the_drawing_in_either_unit(garden, write, read_back, controller, units):
    drawing = garden(gold=3)
    data = write(drawing, controller=controller, units=units).files[0].data
    report = read_back(data, drawing, controller=controller)
    assert report.ok, report.problems
    assert report.comparison.deviation <= 0.02
    assert report.comparison.missing_mm == 0
    assert report.comparison.extra_mm == 0
    assert report.drawn.strokes == report.drawn.lifts == len(drawing)
    assert report.drawn.drawn_mm == pytest.approx(drawing.drawn_mm, rel=1e-3)


def test_inch_and_metric_programs_draw_the_same(garden, write, read_back, registry):
    drawing = garden()
    metric, inch = (read_back(write(drawing, units=units).files[0].data, drawing).drawn for units in ("mm", "in"))
    ends = [drawn.moves.end[drawn.moves.drawing, :2] for drawn in (metric, inch)]
    assert metric.drawn_mm == pytest.approx(inch.drawn_mm, abs=0.05)
    assert metric.bounds == pytest.approx(inch.bounds, abs=0.005)
    assert abs(len(ends[0]) - len(ends[1])) <= 0.05 * len(ends[0])


def test_a_program_begins_by_stopping_the_spindle_and_lifting(garden, write):
    for controller in CONTROLLERS:
        held = words(write(garden(), controller=controller).files[0].data)
        assert held[0] in ("M5", "M05")
        first_move = next(line for line in held if re.match(r"G0?[0123]\b", line))
        assert re.fullmatch(r"G00? Z[\d.]+", first_move)
        assert held[-1] in ("M2", "M02")


def test_travel_is_at_lift_and_drawing_at_press_below_the_canvas(garden, write, read_back):
    drawing = garden(holder={"lift": "7 mm", "press": "2 mm", "clearance": "1.5 mm", "touch-speed": "4 mm/s"})
    moves = read_back(write(drawing).files[0].data, drawing).drawn.moves
    assert set(moves.start[moves.drawing, 2]) == {-2.0}
    assert set(moves.end[moves.sideways & ~moves.drawing, 2]) == {7.0}
    slow = (moves.kind == 1) & ~moves.sideways
    assert set(moves.start[slow, 2]) == {1.5}
    assert moves.feed[slow] == pytest.approx(4.0)


def test_a_rigid_holder_only_touches_and_an_ink_that_wants_a_spring_is_warned_about(garden, write, listener, read_back):
    drawing = garden(gold=2, holder={"use": "clamp", "press": "1 mm"})
    data = write(drawing, listener).files[0].data
    moves = read_back(data, drawing).drawn.moves
    gold = np.isin(moves.line, range(data.decode().splitlines().index("M0"), 10_000))
    assert set(moves.start[moves.drawing & ~gold, 2]) == {-0.5}  # a paint marker's nib gives so much
    assert set(moves.start[moves.drawing & gold, 2]) == {0.0}
    assert any("gold (fine)" in text and "sprung" in text for text in listener.warnings)
    assert not any("'outline'" in text and "sprung" in text for text in listener.warnings)  # paint markers do without
    asked = [text for text in listener.warnings if "press" in text]
    assert "oil-paint ink's nib gives by no more than 0.5 mm: marker 'outline' is pressed in by 0.5 mm" in asked[0]
    assert "permanent ink's nib gives by nothing: marker 'gold (fine)' is pressed in by 0 mm" in asked[1]
    quiet = type(listener)(listener.registry)
    markers = [{"name": "outline", "ink": "oil-paint", "press": "0.4 mm"}]
    drawing = garden(holder={"use": "clamp"}, marker=markers)
    moves = read_back(write(drawing, quiet).files[0].data, drawing).drawn.moves
    assert set(moves.start[moves.drawing, 2]) == {-0.4}
    assert not quiet.warnings


@pytest.mark.slow
def test_each_ink_is_drawn_at_its_own_speed_and_never_faster(garden, write, read_back):
    # 30 in/min for oil paint, 60 in/min for permanent: common practice, no source.
    drawing = garden(gold=2)
    for units in ("mm", "in"):
        for controller in CONTROLLERS:
            drawn = read_back(write(drawing, units=units, controller=controller).files[0].data, drawing).drawn
            feed = drawn.moves.feed[drawn.moves.drawing]
            gold = drawn.stroke[drawn.moves.drawing] > len(drawing) - 2
            assert feed[~gold] == pytest.approx(12.7, rel=1e-3)
            assert feed[gold] == pytest.approx(25.4, rel=1e-3)
            assert feed.max() <= 25.4 + 1e-9


def test_a_markers_own_speed_goes_before_its_inks_and_the_machines_rapid_before_both(garden, write, read_back):
    marker = [{"name": "outline", "ink": "permanent", "speed": "40 mm/s"}]
    drawing = garden(marker=marker)
    moves = read_back(write(drawing).files[0].data, drawing).drawn.moves
    assert moves.feed[moves.drawing] == pytest.approx(40)
    slow = garden(marker=marker, machine={"rapid": "20 mm/s"})
    moves = read_back(write(slow).files[0].data, slow).drawn.moves
    assert moves.feed[moves.drawing] == pytest.approx(20)


def test_ink_that_starts_slowly_waits_with_the_tip_down(garden, write, read_back):
    markers = [{"name": "outline"}, {"name": "gold (fine)", "settle": "0.5 s"}]
    drawing = garden(gold=2, holder={"settle": "0.2 s"}, marker=markers)
    data = write(drawing).files[0].data
    assert words(data).count("G4 P0.2") == len(drawing) - 2
    assert words(data).count("G4 P0.5") == 2
    drawn = read_back(data, drawing).drawn
    assert drawn.total_seconds - drawn.seconds.sum() == pytest.approx(0.2 * (len(drawing) - 2) + 0.5 * 2)


def test_a_swap_lifts_parks_pauses_and_names_the_marker_and_what_it_will_draw(garden, write, read_back):
    drawing = garden(gold=3, machine={"park": "10 x 20 mm"})
    data = write(drawing).files[0].data
    text = data.decode().splitlines()
    at = text.index("M0")
    assert re.search(r"^\(MSG, put in marker gold fine \[permanent.*#c9a13b.*3 strokes.*height again", text[at - 1])
    assert text[at - 2] == "G0 X10 Y20"
    assert text[at - 3] == "G0 Z5"
    assert text[at + 1 : at + 6] == ["G21", "G17 G40 G49 G80", "G90 G94", "G54", "G61"]  # whatever was typed meanwhile
    assert text[at + 6] == "G0 Z5"  # setting the height again may have left the tip on the canvas: no X or Y before
    report = read_back(data, drawing)
    assert len(report.drawn.moves.pauses) == 1
    assert [load["strokes"] for load in report.drawn.loads] == [len(drawing) - 3, 3]


def test_loads_of_one_marker_pause_between_them(garden, write, read_back):
    drawing = garden(loads=[1, 1, 1, 2, 2, 3, 3, 3])
    data = write(drawing).files[0].data
    assert data.count(b"put in a fresh marker outline") == 2
    report = read_back(data, drawing)
    assert [load["strokes"] for load in report.drawn.loads] == [3, 2, 3]


def test_split_writes_a_file_for_each_marker_or_load(garden, write, read_back):
    drawing = garden(gold=3, loads=[1, 1, 2, 2, 2, 1, 1, 1])
    files = write(drawing, split="marker").files
    assert [file.label for file in files] == ["outline", "gold-fine"]
    assert read_back(files[0].data, drawing, 1, 5).ok
    assert read_back(files[1].data, drawing, 6, 8).ok
    loads = write(drawing, split="load").files
    assert [file.label for file in loads] == ["1-outline", "2-outline", "3-gold-fine"]
    assert all(b"M0" not in file.data for file in loads)


@pytest.mark.slow
def test_a_part_of_the_strokes_and_the_rest_drawn_apart_equal_the_whole(garden, write, read_back):
    drawing = garden(gold=3)
    whole = read_back(write(drawing).files[0].data, drawing).drawn
    for k in range(1, len(drawing)):
        first = write(drawing, to=k).files[0].data
        rest = write(drawing, **{"from": k + 1}).files[0].data
        one, two = read_back(first, drawing, 1, k), read_back(rest, drawing, k + 1)
        assert one.ok
        assert two.ok
        drawn = np.vstack([part.drawn.moves.end[part.drawn.moves.drawing] for part in (one, two)])
        assert np.array_equal(drawn, whole.moves.end[whole.moves.drawing])


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"from": 99}, "^--from 99: the drawing has 8 strokes$"),
        ({"from": 5, "to": 2}, "nothing would be drawn"),
        ({"from": 5, "to": 9}, "^--to 9: the drawing has 8 strokes$"),
    ],
)
def test_strokes_that_are_not_there_are_refused(garden, write, asked, said):
    with pytest.raises(CannotDo, match=said):
        write(garden(), **asked)


def test_stroke_zero_is_refused_as_wrong_input(garden, write):
    with pytest.raises(InputError, match="at least 1"):
        write(garden(), **{"from": 0})


@pytest.mark.parametrize("zero", ["board", "face", "centre", "pin"])
def test_zero_and_the_holders_offset_are_taken_off(garden, write, read_back, zero):
    # The machine's axes: X right, Y away from the operator; a board point (x, y) is (x, board height - y).
    drawing = garden(
        strokes=[np.array([(60.0, 80.0), (90.0, 80.0)])],
        machine={"zero": zero, "pin": "12 x 8 mm"},
        holder={"offset": "30 x -4 mm", "zero_with": "axis"},
    )
    report = read_back(write(drawing).files[0].data, drawing)
    assert report.ok, report.problems
    place = {"board": (0, 0), "face": (50, 50), "centre": (100, 120), "pin": (12, 8)}[zero]
    x, y = 60 - place[0] - 30, 240 - 80 - place[1] + 4
    assert report.drawn.bounds == pytest.approx((x, y, x + 30, y))


def test_a_rehearsal_traces_image_folds_and_farthest_points_lifted_then_waits(garden, write, read_back):
    drawing = garden()
    data = write(drawing, rehearse=True).files[0].data
    report = read_back(data, drawing)
    assert report.ok, report.problems
    moves, pause = report.drawn.moves, report.drawn.moves.pauses[0]
    before = moves.line < pause
    assert (moves.end[before, 2] > 0).all()
    places = {tuple(point) for point in moves.end[before, :2]}
    assert {(0, 0), (200, 0), (200, 240), (0, 240)} <= places  # the image
    assert {(50, 240), (50, 0), (0, 50), (200, 50), (150, 0), (0, 190)} <= places  # folds
    assert {(5, 5), (195, 5)} <= places  # the drawing's farthest points
    assert b"rehearsed" in data
    blocks = data.decode().splitlines()
    assert blocks[blocks.index("M0") + 1] == "G21"
    assert blocks[blocks.index("M0") + 6] == "G0 Z5"


def test_beside_the_axis_the_header_says_what_is_set_over_zero(garden, write):
    said = "under the spindle's axis and not under the tip"
    assert said in write(garden(holder={"offset": "30 x -4 mm", "zero_with": "axis"})).files[0].data.decode()
    assert said not in write(garden(holder={"offset": "30 x -4 mm"})).files[0].data.decode()
    assert said not in write(garden()).files[0].data.decode()


def test_a_stretched_canvas_has_no_board_for_zero_to_lie_at(garden, write):
    text = write(garden(canvas={"face": "200 x 240 mm", "mount": "stretched"})).files[0].data.decode()
    assert "canvas on its frame 200 x 240 mm" in text and "X0 Y0 is the canvas's lower left corner" in text
    assert "board" not in text


def test_a_stretched_canvas_has_no_folds_to_rehearse(garden, write):
    canvas = {"face": "200 x 240 mm", "mount": "stretched"}
    assert b"fold" not in write(garden(canvas=canvas), rehearse=True).files[0].data


def test_the_header_says_what_is_drawn_and_how_and_the_cautions(garden, write):
    text = write(garden(gold=2), units="in").files[0].data.decode()
    head = text[: text.index("M5")]
    for due in [
        "night garden",
        "8 strokes",
        "sha256",
        "image and board 7.874 x 9.449 in, face 3.937 x 5.512 in, depth 1.575 in)",
        "lower left corner",
        "lift",
        "oil-paint",
        "permanent",
    ]:
        assert due in head, due
    for caution in [
        "unplug or lock out the spindle",
        "keep hands clear",
        "stay with the machine",
        "safety data sheets",
        "gloves",
        "moving air",
        "dust mask",
        "local rules and makers' manuals come before",
    ]:
        assert caution in head
    assert re.search(r"about \d+ min \d+ s", head)


@pytest.mark.parametrize(("units", "length"), [("mm", r"\d+ mm|[\d.]+ m"), ("in", r"[\d.]+ (?:ft|in)")])
def test_header_and_swaps_count_in_words_and_in_the_units_of_the_program(garden, write, units, length):
    text = write(garden(gold=1), units=units).files[0].data.decode()
    (head,) = re.findall(r"\(underdraw [^\n]*\)", text)
    assert re.search(rf"8 strokes \[1 to 8 of 8\], ({length})\)$", head)
    assert re.findall(rf"load: [^\n]*: (\d+ strokes?), (?:{length}), ", text) == ["7 strokes", "1 stroke"]
    assert re.search(rf"for 1 stroke, ({length}), set the tip's height", text)


def test_the_header_names_the_artwork_and_its_hash(garden, write):
    drawing = garden().replace(sources=(Source("moth.svg", "0123456789abcdef0123"),))
    assert "(from moth.svg, sha256 0123456789abcdef)" in write(drawing).files[0].data.decode()


def test_the_same_drawing_gives_the_same_bytes_and_only_a_dated_header_a_date(garden, write):
    one, two = (write(garden(gold=2)).files[0].data for _ in range(2))
    assert one == two
    assert not re.search(rb"\b20\d\d-", one)
    assert re.search(rb"\(written 20\d\d-\d\d-\d\d\)", write(garden(gold=2), dated=True).files[0].data)


def test_the_header_tells_the_time_that_a_reader_finds(garden, write, read_back):
    drawing = garden(gold=2)
    data = write(drawing).files[0].data
    minutes, seconds = map(int, re.search(rb"about (\d+) min (\d+) s", data).groups())
    assert minutes * 60 + seconds == pytest.approx(read_back(data, drawing).drawn.total_seconds, abs=1)


def test_names_of_any_script_become_plain_text_in_comments(garden, write, read_back):
    drawing = garden(marker=[{"name": "Blättergrün (fein) ½"}])
    drawing = drawing.replace(marker=np.full(len(drawing), "Blättergrün (fein) ½", dtype=object))
    data = write(drawing).files[0].data
    assert data.isascii()
    assert b"Blattergrun fein 1 2" in data
    report = read_back(data, drawing)
    assert report.ok, report.problems


@pytest.mark.parametrize("controller", CONTROLLERS)
def test_no_line_is_longer_than_the_controller_reads(garden, write, registry, controller):
    name = "the very darkest indigo of all that the studio has on its shelves " * 8
    drawing = garden(marker=[{"name": name.strip()}])
    data = (
        write(drawing.replace(marker=np.full(len(drawing), name.strip(), dtype=object)), controller=controller)
        .files[0]
        .data
    )
    assert max(map(len, data.splitlines())) <= registry.controllers.find(controller).longest_line


def test_arcs_are_left_out_where_the_controller_has_none(garden, write, read_back):
    drawing = garden()
    assert read_back(write(drawing).files[0].data, drawing).drawn.arcs > 10
    assert read_back(write(drawing, controller="lines").files[0].data, drawing).drawn.arcs == 0


def test_a_drawing_that_is_not_strokes_yet_is_refused(garden, write):
    shapes = garden().replace(fill=np.full(8, "#ffffff", dtype=object))
    with pytest.raises(CannotDo, match="tidy"):
        write(shapes)
    with pytest.raises(CannotDo, match="no strokes"):
        write(garden(strokes=[]))


def test_a_drawing_off_the_bed_is_refused_and_says_why(garden, write):
    drawing = garden(machine={"bed": "150 x 600 mm"})
    with pytest.raises(CannotDo, match="bed"):
        write(drawing)


def test_blocks_of_iso_6983_are_numbered_and_bare_of_comments(garden, write):
    lines = write(garden(gold=2), controller="iso6983").files[0].data.decode().splitlines()
    assert lines[0] == lines[-1] == "%"
    assert all(re.match(r"N\d+ [GMXYZIJFP0-9. -]+$", line) for line in lines[1:-1])


def test_what_a_controller_cannot_show_at_a_swap_is_told_in_the_summary(garden, write):
    result = write(garden(gold=3), controller="iso6983", rehearse=True)
    lines = result.files[0].data.decode().splitlines()
    told = [line for line in result.summary.splitlines() if line.startswith("pause in line")]
    assert len(told) == 2
    for text, due in zip(told, ("rehearsal", "gold fine"), strict=True):
        number = int(re.search(r"line (\d+)", text)[1])
        assert lines[number - 1].endswith("M00")
        assert due in text


@pytest.mark.slow
def test_the_drawing_has_on_record_what_a_program_was_written_with(garden, write):
    """`check` holds the program to just that."""
    [plain] = write(garden()).drawing.programs
    assert (plain.controller, plain.holder, plain.tolerance) == ("rs274", "collet", 0.02)
    [other] = write(garden(), controller="lines", holder="clamp", tolerance="0.1 mm").drawing.programs
    assert (other.controller, other.holder, other.tolerance) == ("lines", "clamp", 0.1)


def test_a_lift_that_a_canvas_is_uneven_by_is_refused(garden, write, read_back):
    """0.15 in meant and 0.15 mm written: the tip would drag over the canvas in every travel."""
    with pytest.raises(CannotDo, match=r"^\[holder\] lift: at 0.15 mm the tip would drag .*; use 0.5 mm or more"):
        write(garden(holder={"lift": "0.15 mm", "measured": True}))
    low = garden(holder={"lift": "0.5 mm", "measured": True})
    assert read_back(write(low).files[0].data, low).ok


def test_a_tolerance_finer_than_a_programs_numbers_is_refused_with_one_that_would_do(garden, write, read_back):
    least = {
        ("lines", "mm"): "0.004 mm",
        ("lines", "in"): "0.0004 in",
        ("rs274", "mm"): "0.001 mm",
        ("rs274", "in"): "0.0001 in",
    }
    for (controller, units), tolerance in least.items():
        asked = {"controller": controller, "units": units}
        assert write(garden(), tolerance=tolerance, **asked).files
        with pytest.raises(CannotDo, match=f"use {tolerance}"):
            write(garden(), tolerance="0.0003 mm", **asked)


def test_a_wait_that_the_controller_cannot_write_is_told(garden, write, listener):
    registry = Registry.installed()
    registry.controllers.add("restless", Controller("restless", "", dwells=False), Plugin("r", "r"))
    listener.registry = registry
    write(garden(holder={"settle": "0.3 s"}), listener, controller="restless")
    assert any("no dwell" in text for text in listener.warnings)


def test_an_inch_program_is_told_of_in_inches(garden, write, listener):
    inches = {"canvas": {"face": "7.874015748 x 9.448818898 in", "mount": "stretched"}}
    said = write(garden(holder={"clearance": "0 mm"}, **inches), listener, units="in").summary
    assert re.search(r"within 0\.0\d+ in of the drawing, nothing missing", said)
    assert re.search(r"\d ft, ", said)
    assert any("begins at 0.008 in: lower" in text for text in listener.warnings)
