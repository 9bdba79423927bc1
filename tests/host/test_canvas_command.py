"""`underdraw canvas`: what a painter reads before cutting, and what a script reads."""

import json
import subprocess
from pathlib import Path

import pytest
from commands import process, underdraw

INCH = 25.4
GALLERY = ("--face", "16 x 20 in", "--depth", "2 1/2 in", "--bleed", "0.5in", "--staple", "1in", "--bed", "24 x 48 in")


def canvas(*words: object) -> subprocess.CompletedProcess[str]:
    done = underdraw("canvas", *words, NO_COLOR="1")
    return subprocess.CompletedProcess(done.args, done.returncode, done.stdout.decode(), done.stderr.decode())


def test_it_answers_the_same_as_a_process_of_its_own() -> None:
    apart, here = (ask("canvas", *GALLERY, NO_COLOR="1") for ask in (process, underdraw))
    assert apart.returncode == 0
    assert (apart.stdout, apart.stderr) == (here.stdout, here.stderr)


def told(*words: object) -> dict[str, object]:
    done = canvas(*words, "--json")
    assert done.returncode == 0, done.stderr
    return dict(json.loads(done.stdout))


def row(table: str, name: str) -> str:
    return next(line for line in table.splitlines() if line.strip().startswith(name))


def test_figures_are_those_of_common_practice() -> None:
    """Common practice, no source: 22 x 26 in, 24 x 28 in, 1.5 in behind the frame, 1.7875, 16 x 40 in on the bed."""
    figures = told(*GALLERY)
    assert figures["image_mm"] == figures["board_mm"] == pytest.approx([22 * INCH, 26 * INCH])
    assert figures["canvas_mm"] == pytest.approx([24 * INCH, 28 * INCH])
    assert figures["return_mm"] == pytest.approx(1.5 * INCH)
    assert figures["area_ratio"] == pytest.approx(1.7875)
    assert figures["largest_face_mm"] == pytest.approx([16 * INCH, 40 * INCH])
    assert figures["fits"] is True


def test_the_table_gives_the_unit_asked_for_and_carpenters_fractions() -> None:
    table = canvas(*GALLERY, "--units", "cm").stdout
    assert "40.64 x 50.8 cm" in row(table, "face") and "16 in x 20 in" in row(table, "face")
    assert "3.81 cm" in row(table, "behind the frame") and "1 1/2 in" in row(table, "behind the frame")
    assert "1.7875" in row(table, "image / face")
    assert "16 in x 40 in" in row(table, "largest face")
    assert max(map(len, table.splitlines())) <= 110


def test_a_face_may_be_named_as_shops_name_it() -> None:
    """French sizes: from memory."""
    assert told("--face", "20F")["face_mm"] == [600.0, 730.0]
    assert told("--face", "20f wide")["face_mm"] == [730.0, 600.0]


def test_a_name_that_no_shop_has_brings_the_nearest_one() -> None:
    done = canvas("--face", "21F")
    assert done.returncode == 2
    assert "did you mean" in done.stderr and done.stdout == ""


@pytest.mark.parametrize("face", ["16in", "1/2in", "40 cm", "12.5mm"])
def test_one_length_is_no_face_and_no_name_of_one(face: str) -> None:
    done = canvas("--face", face)
    assert done.returncode == 2 and done.stdout == ""
    assert "canvas: --face: expected a size, width x height, such as 12 x 16 in or" in done.stderr


def test_without_a_face_the_bed_gives_the_largest() -> None:
    assert told("--bed", "24 x 48 in", *GALLERY[2:8])["face_mm"] == pytest.approx([16 * INCH, 40 * INCH], abs=1e-3)
    for bed, first in (("24 x 48 in", "22 x 46 in"), ("609.6 x 1219.2 mm", "558.8 x 1168.4 mm")):
        assert " ".join(row(canvas("--bed", bed).stdout, "support board").split()[2:]).startswith(first)


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (("--bed", "1 x 1 in"), "canvas: --depth: 1.5 in is beyond the bed of 1 in x 1 in, which takes a side of less"),
        (("--bed", "30 x 30 mm"), "canvas: --depth: 38.1 mm is beyond the bed of 30 mm x 30 mm, which takes"),
        (("--bed", "4 x 4 in"), "canvas: --bed: no face is left beside these sides and strips; use a larger bed"),
    ],
)
def test_a_bed_that_takes_no_face_is_answered_in_its_own_unit(words: tuple[str, ...], answer: str) -> None:
    done = canvas(*words)
    assert done.returncode == 2 and done.stdout == ""
    assert done.stderr.startswith(f"underdraw: {answer}")


def test_a_strip_that_is_folded_down_is_a_note_where_it_is() -> None:
    note = "folded down and stapled to the board's edge"
    words = ("--face", "16 x 20 in", "--strip")
    assert note in " ".join(canvas(*words, "down").stdout.split())
    assert note not in " ".join(canvas(*words, "flat").stdout.split())


def test_a_job_gives_its_sizes_and_options_go_before_them(tmp_path: Path) -> None:
    job = tmp_path / "moths.toml"
    job.write_text('[canvas]\nface = "12 x 16 in"\ndepth = "1.5 in"\n[machine]\nbed = "24 x 48 in"\n')
    assert told("--job", job)["face_mm"] == pytest.approx([12 * INCH, 16 * INCH])
    assert told("--job", job, "--depth", "20 mm")["depth_mm"] == 20.0


def test_a_panel_that_misses_the_bed_prints_all_and_exits_1_and_the_remedy_then_works() -> None:
    words = ("--face", "407.4 x 508 mm", *GALLERY[2:])
    done = canvas(*words, "--json")
    figures = json.loads(done.stdout)
    assert done.returncode == 1 and figures["fits"] is False
    assert figures["reasons"] == ["the canvas is 610.6 mm wide and the bed 609.6 mm: 1 mm too wide"]
    assert 'less bleed: [canvas] bleed = "12 mm"' in figures["remedies"]
    assert told(*words, "--bleed", "12 mm")["fits"] is True


def test_a_panel_that_only_fits_lying_is_told_so() -> None:
    figures = told("--face", "40 x 16 in", *GALLERY[2:])
    assert figures["fits"] is True
    assert any("turned 90°" in str(note) for note in figures["notes"])  # type: ignore[attr-defined]


def test_the_holders_offset_takes_from_the_bed() -> None:
    done = canvas("--face", "16 x 40 in", *GALLERY[2:], "--offset", "0 x -60 mm", "--json")
    figures = json.loads(done.stdout)
    assert done.returncode == 1
    assert "holder's offset" in figures["reasons"][0]
    assert figures["largest_face_mm"][1] == pytest.approx(40 * INCH - 60 + INCH)


def test_stock_gives_a_cut_list_and_a_coat_its_volume() -> None:
    """1 US gallon = 231 cubic inches: NIST Handbook 44, appendix C."""
    figures = told(
        *GALLERY, "--bar", "3/4 x 2 1/2 in", "--corners", "mitred", "--bar-length", "8 ft", "--resin", "1/8 in"
    )
    names = [piece["name"] for piece in figures["cut_list"]]  # type: ignore[attr-defined]
    assert names == ["long bar", "short bar", "support board"]
    assert figures["resin_ml"] == pytest.approx(16 * 20 / 8 * INCH**3 / 1000, abs=1e-3)


def test_stretch_makes_the_drawing_smaller_and_tells_how_to_measure_it() -> None:
    figures = told("--face", "300 x 400 mm", "--stretch", "0.6 % x 0.4 %")
    image = figures["image_mm"]
    assert image == pytest.approx([(300 + 2 * 50.8) / 1.006, (400 + 2 * 50.8) / 1.004], abs=3e-4)
    assert any("mark two lines 500 mm apart" in str(note) for note in figures["notes"])  # type: ignore[attr-defined]


def test_a_point_of_the_image_is_found_on_the_finished_panel() -> None:
    points = ("--where", "200 x 20 mm", "--where", "200 x 200 mm", "--where", "10 x 10 mm", "--where", "3 x 100 mm")
    sizes = ("--face", "300 x 400 mm", "--depth", "40 mm", "--bleed", "10 mm")
    places = told(*sizes, *points)["places"]
    assert [place["place"] for place in places] == ["top", "face", "corner top left", "behind left"]  # type: ignore[attr-defined]
    assert places[0] == {"at_mm": [200.0, 20.0], "place": "top", "mm": [150.0, 30.0]}  # type: ignore[index]
    assert "top side, 150 mm from its left end, 30 mm below the front edge" in canvas(*sizes, *points).stdout


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (("--face", "12"), "expected a size"),
        (("--face", "12 x 16"), "with its unit"),
        (("--face", "0 x 16 in"), "above 0"),
        (("--face", "-12 x 16 in"), "above 0"),
        (("--face", "12 x 16 in", "--depth", "-1 in"), "at least 0"),
        (("--face", "40 x 60 mm", "--bleed", "21 mm"), "use at most 20 mm"),
        (("--face", "12 x 16 in", "--depth", "50 in", "--bed", "24 x 48 in"), "beyond the bed"),
        (("--face", "12 x 16 in", "--stretch", "11 %"), "10 %"),
        (("--face", "12 x 16 in", "--bed", "24 x 48 in", "--holder", "hand"), "no holder"),
        (("--face", "10 x 20 in", "--where", "15 x 3 in"), "15 in x 3 in is not on the board of 14 in x 24 in"),
        (("--face", "300 x 400 mm", "--where", "3 x -1 mm"), "3 mm x -1 mm is not on the board"),
        ((), "--face"),
    ],
)
def test_sizes_that_cannot_be_bring_one_clear_line(words: tuple[str, ...], answer: str) -> None:
    done = canvas(*words)
    assert done.returncode == 2
    assert answer in done.stderr and len(done.stderr.splitlines()) == 1
    assert done.stdout == ""
