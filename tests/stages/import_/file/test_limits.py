"""Every limit on untrusted artwork holds. The slow ones are in test_bombs; here the limits are made small."""
# ruff: noqa: E501  # a table of artwork, a line each

import gzip
from pathlib import Path

import pytest
from small_artwork import FIXTURES, INK, PAGE, SVG

from underdraw.errors import CannotDo, InputError
from underdraw_stages.import_.file import limits

WING = f'<path d="M5 5L30 5L30 30" {INK}/>'


def lowered(monkeypatch: pytest.MonkeyPatch, name: str, value: int) -> None:
    monkeypatch.setattr(limits, name, value)


@pytest.mark.parametrize(
    ("name", "value", "body", "said"),
    [
        ("LARGEST_FILE", 100, WING, "larger than 0 MB"),
        ("MOST_ELEMENTS", 3, WING * 3, "4 elements are more than 3"),
        ("DEEPEST", 5, "<g>" * 5 + WING + "</g>" * 5, "nest deeper than 5"),
        ("MOST_COPIES", 2, f'<defs><g id="a">{WING}</g></defs><use href="#a"/><use href="#a"/>', "more than 2 copies"),
        ("MOST_COPIES", 1, f'<clipPath id="c"><circle r="9"/><circle r="8"/></clipPath><g clip-path="url(#c)">{WING}</g>', "1 copies"),
        ("MOST_CURVES", 3, WING * 2, "more than 3 curves"),
        ("MOST_CURVES", 3, f'<path d="M5 5{"Q6 6 7 7" * 9}" {INK}/>', "a path has more than 3 curves"),
        ("MOST_POINTS", 5, '<circle cx="20" cy="20" r="9"/>', "more than 5 points"),
        ("MOST_DASHES", 3, f'<path d="M0 0H40" stroke-dasharray="2" {INK}/>', "more than 3 dashes"),
        ("MOST_CROSSINGS", 1, '<clipPath id="c"><path d="M0 0L30 30L30 0L0 30L15 -5Z"/></clipPath><rect width="20" height="20" clip-path="url(#c)"/>', "crosses itself more than 1"),
        ("MOST_STYLE_STEPS", 1, f"<style>g g path{{fill:red}}</style><g><g>{WING}</g></g>", "take more than 1 steps"),
        ("MOST_STYLE_STEPS", 900, f"<style>g:has(rect){{fill:red}}</style>{'<g>' * 20}{WING * 20}{'</g>' * 20}", "take more than 900 steps"),
        ("MOST_STYLE_STEPS", 900, f"<style>{'*{fill:red}' * 50}</style>{WING * 10}", "take more than 900 steps"),
        ("MOST_STYLE_STEPS", 900, f"<style>[d*=Q]{{fill:red}}</style><path {INK} d='M5 5{'L30 5L5 5' * 30_000}'/>", "take more than 900 steps"),
        ("MOST_SELECTORS", 2, f"<style>g,path{{fill:red}}a{{fill:red}}</style>{WING}", "more than 2 selectors"),
        ("LARGEST_STYLE", 9, f"<style>g{{fill:red}}</style>{WING}", "longer than 9 characters"),
        ("LARGEST_STYLE", 9, f'<g style="fill:red !important"/>{WING}', "longer than 9 characters"),
        ("MOST_ATTRIBUTES", 7, f'<g a="" b="" c="" d="" e="" f="" g="" h=""/>{WING}', "more than 7 attributes"),
        ("MOST_CUT_STEPS", 9, f'<clipPath id="c"><circle r="9"/></clipPath><g clip-path="url(#c)">{WING}</g>', "more than 9 steps"),
        ("MOST_CLIPS", 1, f'<clipPath id="c"><circle r="9"/></clipPath><clipPath id="d"><circle r="8"/></clipPath><g clip-path="url(#c)">{WING}</g><g clip-path="url(#d)">{WING}</g>', "more than 1 clipping paths"),
        ("MOST_MEASURED", 1, f'<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height="1"/></clipPath><g clip-path="url(#c)">{WING}</g>', "more than 1 measurements"),
    ],
)  # fmt: skip
def test_a_limit_that_is_passed_is_named(name, value, body, said, run, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    lowered(monkeypatch, name, value)
    with pytest.raises((InputError, CannotDo), match=said) as error:
        run(body)
    assert "\n" not in str(error.value)
    assert error.value.file, "the artwork is named"


def test_plain_entities_are_put_in_up_to_their_limit(run, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    lowered(monkeypatch, "MOST_ENTITY_BYTES", 8)
    text = '<!DOCTYPE svg [<!ENTITY a "moths">]><svg {} {}><g id="{}">{}</g></svg>'
    assert len(run(text.format(SVG, PAGE, "&a;", WING)).drawing) == 1
    with pytest.raises(InputError, match="grow the file"):
        run(text.format(SVG, PAGE, "&a;&a;", WING))


def test_a_long_chain_of_references_ends(run, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    lowered(monkeypatch, "LONGEST_REFERENCE_CHAIN", 5)
    links = [f'<linearGradient id="g{at}" href="#g{at + 1}"/>' for at in range(9)]
    stop = '<linearGradient id="g9"><stop stop-color="#123456"/></linearGradient>'
    near, far = '<rect width="9" height="9" fill="url(#g6)"/>', '<rect width="9" height="9" fill="url(#g0)"/>'
    assert run("".join(links) + stop + near + WING).drawing.fill.tolist() == ["#123456", ""]
    assert run("".join(links) + stop + far + WING).drawing.fill.tolist() == [""]


@pytest.mark.parametrize(("name", "value"), [("MOST_UNPACKED", 1), ("ALWAYS_UNPACKED", 0), ("LARGEST_FILE", 2000)])
def test_a_packed_file_is_unpacked_up_to_its_limits(name, value, run, monkeypatch, artwork) -> None:  # type: ignore[no-untyped-def]
    packed = gzip.compress(f"<svg {SVG} {PAGE}>{WING}{' ' * 4000}</svg>".encode())
    assert len(run(artwork(packed, name="moth.svgz")).drawing) == 1
    lowered(monkeypatch, "ALWAYS_UNPACKED", 1000)
    lowered(monkeypatch, name, value)
    with pytest.raises(InputError, match="MB unpacked"):
        run(artwork(packed, name="moth.svgz"))


def test_every_limit_has_a_test() -> None:
    """And a reason beside it."""
    tests = "".join(path.read_text() for path in FIXTURES.parents[1].glob("tests/stages/import_/**/test_*.py"))
    for line in Path(str(limits.__file__)).read_text(encoding="utf-8").splitlines():
        name, equals, _ = line.partition(" = ")
        if equals and name.isupper():
            assert "#" in line, name
            assert f'"{name}"' in tests, name
