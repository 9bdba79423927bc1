"""A job file's mistakes: file, line, what was expected and what it got."""

from pathlib import Path

import pytest

from underdraw.cli.load_job import load_job
from underdraw.errors import InputError
from underdraw.job.file import job_from_data
from underdraw.plugins.registry import Registry

GOOD = """\
name = "Night garden"
[artwork]
file = "moths.svg"
skip = ["guides"]
[canvas]
face = "12 x 16 in"
depth = "1.5 in"
[machine]
bed = "24 x 48 in"
units = "in"
[[marker]]
name = "outline"
tip = "0.7 mm"
[[marker]]
name = "accent"
colours = ["#C8743C"]
ink_length = "60 m"
[stages]
wrap = { edges = "mirror" }
"""


@pytest.fixture(scope="module")
def registry() -> Registry:
    return Registry.installed()


def load(tmp_path: Path, registry: Registry, text: str) -> object:
    path = tmp_path / "panel.toml"
    path.write_text(text)
    return load_job(path, registry)


def test_a_job_reads_into_millimetres(tmp_path: Path, registry: Registry) -> None:
    (tmp_path / "panel.toml").write_text(GOOD)
    job = load_job(tmp_path / "panel.toml", registry)
    assert job.name == "Night garden"
    assert job.canvas.face == pytest.approx((304.8, 406.4))
    assert job.canvas.bleed == pytest.approx(12.7)
    assert job.marker_for("#c8743c").name == "accent"
    assert job.marker_for("#000000").name == "outline"
    assert job.marker("accent").ink_length == pytest.approx(60_000)
    assert job.stage_settings("wrap") == {"edges": "mirror"}


@pytest.mark.parametrize(
    ("before", "after", "line", "told"),
    [
        ('face = "12 x 16 in"', "face = 12", 6, "expected a size"),
        ('depth = "1.5 in"', "depth = 1.5", 7, "expected a length with its unit"),
        ('depth = "1.5 in"', 'dept = "1.5 in"', 7, "did you mean 'depth'"),
        ("[canvas]", "[canvass]", 5, "unknown section 'canvass' (did you mean 'canvas'?)"),
        ('skip = ["guides"]', 'skips = ["guides"]', 4, "did you mean 'skip'"),
        ('skip = ["guides"]', 'skip = "guides"', 4, "list in brackets"),
        ('name = "accent"', 'name = "outline"', 15, "two markers are named 'outline'"),
        ('tip = "0.7 mm"', 'tip = "0 mm"', 13, "at least 0.01 mm"),
        ('edges = "mirror"', 'edges = "miror"', 19, "did you mean 'mirror'"),
        ('edges = "mirror"', 'edge = "mirror"', 19, "did you mean 'edges'"),
        ("wrap = {", "wrapp = {", 19, "there is no stage 'wrapp' (did you mean 'wrap'?)"),
        (
            "[stages]\n",
            '[stages]\nchain = ["import", "ordr"]\n',
            19,
            "there is no stage 'ordr' (did you mean 'order'?)",
        ),
        ('units = "in"', 'controller = "rs247"', 10, "[machine] controller: there is no controller 'rs247' (did"),
        ("[[marker]]", '[holder]\nuse = "colet"\n[[marker]]', 12, "[holder] use: there is no holder 'colet'"),
        ('name = "accent"', 'name = "accent"\nink = "oil"', 16, "[[marker]] 2 ink: there is no ink 'oil'; installed: "),
        ('tip = "0.7 mm"', 'press = "150 mm"', 13, "at most 20 mm"),
        ("[[marker]]", '[holder]\nlift = "5 m"\n[[marker]]', 12, "[holder] lift: expected a length of at most 150 mm"),
        (
            "[[marker]]",
            '[holder]\nswap_lift = "1 m"\n[[marker]]',
            12,
            "[holder] swap_lift: expected a length of at most 150 mm",
        ),
        ("[[marker]]", "[marker]", 11, "is not TOML"),
        ('units = "in"', 'units = "in', 10, "is not TOML"),
        ('units = "in"', 'units = "inch"', 10, "did you mean 'in'"),
    ],
)
def test_each_mistake_has_its_line(
    tmp_path: Path, registry: Registry, before: str, after: str, line: int, told: str
) -> None:
    with pytest.raises(InputError) as error:
        load(tmp_path, registry, GOOD.replace(before, after, 1))
    text = str(error.value)
    assert told in text
    if "TOML" not in told:
        assert text.startswith(f"{tmp_path / 'panel.toml'}:{line}: "), text
    assert "\n" not in text


def test_artwork_given_for_a_job_is_named_as_that_with_what_a_job_says_of_it(
    tmp_path: Path, registry: Registry
) -> None:
    artwork = tmp_path / "moth.svg"
    artwork.write_text('\n<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>')
    with pytest.raises(InputError) as error:
        load_job(artwork, registry)
    first, second = str(error.value).splitlines()
    assert first == f'{artwork}: is artwork, and a job was expected, which names it: [artwork] file = "moth.svg"'
    assert second == "  try: underdraw demo, for a job to start from"


def test_a_missing_job_a_binary_one_and_a_folder_are_one_line(tmp_path: Path, registry: Registry) -> None:
    (tmp_path / "binary.toml").write_bytes(b"\xff\xfe\x00")
    for path in (tmp_path / "no.toml", tmp_path / "binary.toml", tmp_path):
        with pytest.raises(InputError, match="cannot be read|is not UTF-8"):
            load_job(path, registry)


def test_a_second_markers_mistake_is_shown_at_the_second_marker(tmp_path: Path, registry: Registry) -> None:
    text = GOOD.replace('ink_length = "60 m"', 'ink_length = "sixty"')
    with pytest.raises(InputError, match=r"panel.toml:17: \[\[marker\]\] 2 ink_length"):
        load(tmp_path, registry, text)


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ('tip = "0.0000001 mm"', "tip: expected a length of at least 0.01 mm, got '0.0000001 mm'"),
        ('line = "0 mm"', "line: expected a length of at least 0.01 mm, got '0 mm'"),
        ('settle = "9999 s"', "settle: expected a time of at most 30 s, got '9999 s'"),
        ('ink_length = "1 mm"', "ink_length: expected a length of at least 10 mm, got '1 mm'"),
    ],
)
def test_what_no_marker_does_is_a_slip_of_the_pen(tmp_path: Path, registry: Registry, written: str, told: str) -> None:
    text = f'[canvas]\nface = "12 x 16 in"\n[[marker]]\nname = "outline"\n{written}\n'
    with pytest.raises(InputError) as error:
        load(tmp_path, registry, text)
    assert str(error.value) == f"{tmp_path / 'panel.toml'}:5: [[marker]] 1 {told}"


def test_a_job_names_plugin_files_beside_itself(tmp_path: Path) -> None:
    (tmp_path / "inks.py").write_text(
        "from underdraw import Ink, hookimpl\n"
        "@hookimpl\n"
        "def underdraw_inks():\n"
        "    return [Ink('moon-ink', 'invented', 20.0, False, False, False)]\n"
    )
    made = Registry.installed()
    load(tmp_path, made, GOOD.replace("[stages]\n", '[stages]\nplugins = ["./inks.py"]\n'))
    assert made.ink("moon-ink").speed == 20.0


def test_a_plugin_file_that_raises_is_named(tmp_path: Path) -> None:
    (tmp_path / "broken.py").write_text("raise RuntimeError('no moon tonight')\n")
    with pytest.raises(Exception, match=r"broken\.py: failed to load: RuntimeError: no moon tonight"):
        load(tmp_path, Registry(), GOOD.replace("[stages]\n", '[stages]\nplugins = ["broken.py"]\n'))


def test_the_mount_a_wire_carries_is_read_without_any_plugin() -> None:
    job = job_from_data({"canvas": {"face": "10 x 10 cm", "mount": "stretched"}}, "x")
    assert job.canvas.mount == "stretched"
