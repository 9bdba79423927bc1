"""Artwork made to blow up ends soon, in little memory, with one clear line or a correct drawing.

Each runs as a process of its own. The time allowed here is generous, since machines are busy: tests/bench prints it.
"""
# ruff: noqa: E501  # artwork in one line each: a table, not prose

import gzip
import resource
import subprocess
import sys
from pathlib import Path

import pytest
from small_artwork import INK, PAGE, SVG

MOST_SECONDS = 60  # on a busy machine; 5 on one that is not
MOST_BYTES = 2**30
BEND = f"<path d='M0 0C5 80 -90 30 9 9' {INK}/>"
WING = f'<path d="M5 5L30 5L30 30" {INK}/>'


def page(body: str, before: str = "") -> str:
    return f"{before}<svg {SVG} {PAGE}>{body}</svg>"


def chain(first: str, links: int = 9, times: int = 10) -> str:
    """Definitions of which each uses the one before several times: `times` ** `links` copies."""
    uses = [f'<g id="u{at + 1}">' + f'<use href="#u{at}"/>' * times + "</g>" for at in range(links)]
    return f'<defs><g id="u0">{first}</g>{"".join(uses)}</defs><use href="#u{links}"/>'


LAUGHS = (
    '<!DOCTYPE svg [<!ENTITY a "moth">'
    + "".join(f'<!ENTITY {chr(98 + at)} "{f"&{chr(97 + at)};" * 10}">' for at in range(9))
    + "]>"
)
LONG_ENTITY = f'<!DOCTYPE svg [<!ENTITY a "{"x" * 50_000}">]>'
CROSSING = " ".join(f"{at * 7919 % 4001 / 100} {at * 104729 % 3989 / 100}" for at in range(6000))
NESTED_BOXES = '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height="1"/></clipPath>'

BOMBS: dict[str, tuple[str, str]] = {  # what it is: (file, what is said of it, "" for a drawing)
    "entities of entities": (page(f"<text>&j;</text>{WING}", LAUGHS), "never expanded"),
    "entities of entities in an attribute": (page(f'<g id="&j;"/>{WING}', LAUGHS), "never expanded"),
    "one long entity many times": (page(f"<text>{'&a;' * 50_000}</text>{WING}", LONG_ENTITY), "grow the file"),
    "a chain of uses, 10^9 copies": (page(chain(WING)), "100,000 copies"),
    "a chain of uses of nothing": (page(chain("") + WING), "100,000 copies"),
    "a loop of uses": (page(f'<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>{WING}'), ""),
    "a use of itself": (page(f'<use id="a" href="#a"/>{WING}'), ""),
    "20,000 nested groups": (page("<g>" * 20_000 + WING + "</g>" * 20_000), "nest deeper than 1,000"),
    "900 nested groups": (page("<g>" * 900 + WING + "</g>" * 900), ""),
    "10^9 mm": (page(f'<rect width="1000000000mm" height="3mm" {INK}/>'), "farther out"),
    "10^400": (page(f'<path d="M0 0L1e400 3" {INK}/>'), "not a number, or farther out"),
    "nan": (page(f'<path d="M nan 0 L 10 inf" {INK}/><rect width="nan" height="3"/>{WING}'), ""),
    "scaled without end": (page('<g transform="scale(1e300)">' * 2 + WING + "</g>" * 2), "not a number, or farther"),
    "curves of kilometres": (page(f'<g transform="scale(1e5)">{BEND * 2000}</g>'), "25,000,000 points"),
    "dashes of a thousandth": (page(f'<path d="M0 0H400000" stroke-dasharray=".0001" {INK}/>'), "1,000,000 dashes"),
    "a long path many times": (page(f'<defs><path id="h" d="M0 0{"L1 1" * 100_000}" {INK}/></defs>' + '<use href="#h"/>' * 20_000), "3,000,000 curves"),
    "a loop of clipping paths": (page(f'<clipPath id="a" clip-path="url(#b)"><rect width="20" height="20"/></clipPath><clipPath id="b" clip-path="url(#a)"><rect width="20" height="20"/></clipPath><g clip-path="url(#a)">{WING}</g>'), ""),
    "a loop of gradients": (page(f'<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/><rect width="20" height="20" fill="url(#a)"/>{WING}'), ""),
    "a pattern in itself": (page('<pattern id="a" width="4" height="4"><rect fill="url(#a)" width="4" height="4"/></pattern><rect width="20" height="20" fill="url(#a)"/>'), ""),
    "markers on markers": (page(f'<marker id="m"><path d="M0 0L4 4" marker-end="url(#m)" {INK}/></marker><path d="M5 5L30 5" marker-end="url(#m)" {INK}/>'), ""),
    "a large marker on many points": (page(f'<marker id="m">{WING * 1000}</marker><path d="M5 5{"L30 5L5 5" * 2000}" marker-mid="url(#m)" {INK}/>'), "100,000 copies"),
    "boxes of groups in groups": (page(NESTED_BOXES + '<g clip-path="url(#c)">' * 800 + WING * 100 + "</g>" * 800), "30,000 measurements"),
    "a clipping path that crosses itself": (page(f'<clipPath id="c"><path d="M{CROSSING}"/></clipPath><rect width="30" height="30" clip-path="url(#c)"/>'), "crosses itself"),
    "selectors that look at every ancestor": (page(f'<style>svg a g g g g g g path{{fill:red}}</style>{"<g>" * 900}{WING * 100}{"</g>" * 900}'), "20,000,000 steps"),
    "selectors that look at every sibling": (page(f'<style>path:nth-last-of-type(3n+1){{fill:red}}</style>{WING * 30_000}'), "20,000,000 steps"),
    "an attribute looked through by every rule": (page(f'<style>{"[d*=Q]{fill:red}" * 10_000}</style><path {INK} d="M5 5{"L30 5L5 5" * 100_000}"/>'), "20,000,000 steps"),
    "one rule of many declarations": (page(f'<style>*{{{"fill:red;" * 100_000}}}</style>{WING * 20_000}'), ""),
    "30,000 entities": (page(f'<g id="&e5;"/>{WING}', "<!DOCTYPE svg [" + "".join(f'<!ENTITY e{at} "x{at}">' for at in range(30_000)) + "]>"), ""),
    "a document type that another parser reads on": (page(f'<g id="&z;"/>{WING}', '<!DOCTYPE svg [<!ENTITY a "moth"> <!BAD> <!ENTITY z "&a;&a;">]>'), "not a whole XML file"),
    "100,000 attributes on one element": (page("<g " + " ".join(f"a{at}='1'" for at in range(100_000)) + f">{WING}</g>"), "more than 1,000 attributes"),
    "brackets in brackets": (page(f'<g style="fill:{"(" * 100_000}">{WING}</g>'), "nest too deeply"),
    "selectors in selectors": (page(f"<style>{':not(' * 3000}a{')' * 3000}{{fill:red}}</style>{WING}"), "nest too deeply"),
    "half a million letters": (page(f'<text y="9">{"A" * 500_000}</text>'), "100,000 copies"),
    "a page of a thousand kilometres": (f'<svg {SVG} width="1000000000mm" height="1mm" viewBox="0 0 9 9">{WING}</svg>', "longer than a kilometre"),
}  # fmt: skip


def importing(path: Path, *options: str) -> subprocess.CompletedProcess[str]:
    """The command, in a process that may not take more than MOST_BYTES."""
    command = [sys.executable, "-m", "underdraw", "import", str(path), *options]
    limit = lambda: resource.setrlimit(resource.RLIMIT_AS, (3 * MOST_BYTES, 3 * MOST_BYTES))  # noqa: E731
    return subprocess.run(
        command,
        capture_output=True,
        text=True,
        timeout=MOST_SECONDS,
        check=False,
        preexec_fn=limit,
    )


LONG = {  # of these, each takes a second or more
    "a long path many times",
    "selectors that look at every ancestor",
    "selectors that look at every sibling",
    "one rule of many declarations",
    "an attribute looked through by every rule",
}
assert set(BOMBS) > LONG


@pytest.mark.parametrize(
    "what", [pytest.param(what, marks=pytest.mark.slow) if what in LONG else what for what in BOMBS]
)
def test_a_bomb_ends_with_one_clear_line_or_a_drawing(what, artwork) -> None:  # type: ignore[no-untyped-def]
    text, said = BOMBS[what]
    options = ("--text", str(Path(__file__).parents[4] / "fixtures/import/moth.ttf")) if "letters" in what else ()
    done = importing(artwork(text), *options)
    ours = [line for line in done.stderr.splitlines() if line.startswith("underdraw: ")]
    assert "Traceback" not in done.stderr
    if said:
        assert done.returncode in (1, 2) and done.stdout == ""
        assert said in ours[-1]
    else:
        assert done.returncode == 0, done.stderr
        assert "<path" in done.stdout


@pytest.mark.slow
def test_a_packed_bomb_is_not_unpacked(artwork) -> None:  # type: ignore[no-untyped-def]
    packed = gzip.compress(b" " * (300 * 2**20), compresslevel=9)
    done = importing(artwork(packed, name="bomb.svgz"))
    assert done.returncode == 2
    assert "larger than 10 MB unpacked" in done.stderr


def test_no_bomb_takes_a_gigabyte() -> None:
    """Of every process that the tests of this file started."""
    kilobytes = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    assert kilobytes * 1024 <= MOST_BYTES
