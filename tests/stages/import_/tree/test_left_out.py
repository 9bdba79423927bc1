"""Nothing is dropped in silence: each kind has a line in the summary and a count in the history."""
# ruff: noqa: E501  # tables of artwork, a line each

import json

import numpy as np
import pytest
from small_artwork import INK, Watched

from underdraw.drawing.facts import Ground
from underdraw.errors import CannotDo, InputError
from underdraw_stages.import_.tree.left_out import KINDS, LeftOut

WING = f'<path d="M5 5L30 5L30 30" {INK}/>'
# the screen shows something else than is drawn
ALARMS = {"text", "image", "foreign", "reference", "sheet", "clip", "blend", "variable", "property"}
HREF = "http://moth.invalid/a.svg#b"


@pytest.mark.parametrize(
    ("kind", "body", "said"),
    [
        ("text", '<g id="titles"><text>Night garden, <tspan>by hand</tspan></text></g>', "skipped 1 text (“Night garden, by hand” in titles): turn text into outlines"),
        ("text", "<text>" + "moonflower " * 9 + "</text>", "“moonflower moonflower …”"),
        ("image", '<image id="photo" href="moth.png" width="4" height="4"/>', "skipped 1 raster image (photo): trace it into paths before export"),
        ("foreign", '<foreignObject width="9" height="9"><p xmlns="urn:x">a</p></foreignObject>', "skipped 1 embedded page: turn it into paths before export"),
        ("pattern", '<pattern id="p" width="4" height="4"><path d="M0 0h2v2z"/></pattern><path id="wing" d="M0 0h9v9z" fill="url(#p)"/>', "1 shape painted with a pattern (wing): drawn as outlines; shapes beneath are drawn too"),
        ("filter", '<g filter="url(#blur)"><path d="M0 0h9v9"/></g>', "ignored 1 filter (<g>): the shapes are drawn without it"),
        ("reference", f'<use href="{HREF}"/>', f"skipped 1 reference to another file ({HREF})"),
        ("reference", '<g clip-path="url(moth.svg#a)"><path d="M0 0h9v9"/></g>', "clip-path moth.svg#a"),
        ("sheet", '<style>@import "moth.css";</style>', "ignored 1 style sheet in another file"),
        ("missing", '<use href="#nobody"/>', "skipped 1 reference to nothing in the file (#nobody)"),
        ("missing", '<use/>', "skipped 1 reference to nothing in the file"),
        ("loop", '<g id="a"><use href="#a"/></g>', "skipped 1 use of itself (#a)"),
        ("transform", '<g transform="bend(3)"><path d="M0 0h9v9"/></g>', "ignored 1 transform with an error (bend(3))"),
        ("clip", '<g clip-path="circle(4px)"><path d="M0 0h9v9"/></g>', "ignored 1 clip function (circle(4px)): the shapes are drawn whole"),
        ("blend", '<path id="veil" d="M0 0h9v9" style="mix-blend-mode:multiply"/>', "1 element blended with what is beneath (veil): taken as see-through"),
        ("blend", '<g mix-blend-mode="Screen"><path d="M0 0h9v9"/></g>', "1 element blended with what is beneath (<g>)"),
        ("variable", '<path d="M0 0h9v9" style="stroke:var(--ink)"/>' * 2, "ignored 1 value of a variable (stroke: var(--ink)): write colours and sizes out"),
        ("variable", '<path d="M0 0h9v9" fill="var(--ink, red)"/>', "ignored 1 value of a variable (fill: var(--ink, red))"),
        ("variable", '<style>path{stroke-width:calc(2*var(--w))}</style>', "(stroke-width: calc(2*var(--w)))"),
        ("property", '<path d="M0 0h9v9" style="translate:3px 4px;rotate:20deg"/>', "ignored 2 styles that move or reshape something (translate: 3px 4px; rotate: 20deg): use `transform`"),
        ("property", "<style>path{offset-path:none;d:path(M0)}</style>", "ignored 1 style that moves or reshapes something (d: path(M0))"),
        ("error", '<path id="torn" d="M0 0h9v9L"/>', "1 path with an error in the data (torn): drawn as far as the error"),
        ("hidden", '<g id="old" display="none"><path d="M0 0h9"/><circle r="4"/></g>', "skipped 2 hidden shapes (old): display, visibility or opacity hides them"),
        ("unpainted", '<path d="M0 0h9" fill="none"/>' * 3, "skipped 3 shapes that have no visible fill or stroke"),
        ("beneath", '<path d="M0 0h9v9"/><rect width="40" height="40" fill="#123"/>', "skipped 1 shape that the background rectangle hides"),
        ("hidden", '<path d="M0 0h9" visibility="hidden"/>', "skipped 1 hidden shape"),
        ("hidden", '<path d="M0 0h9v9" opacity="0"/>', "skipped 1 hidden shape"),
        ("unpainted", '<path id="ghost" d="M0 0h9v9" fill="none"/>', "skipped 1 shape that has no visible fill or stroke (ghost)"),
        ("language", '<switch><g systemLanguage="fr"><path d="M0 0h9v9"/></g><g/></switch>', "skipped 1 shape in another language"),
        ("unknown", "<flutter/><flutter/>", "skipped 2 unknown elements (<flutter>)"),
        ("animation", '<g><animate attributeName="x"/></g>', "ignored 1 animation (<animate>): the shapes are drawn at rest"),
        ("clipped", '<clipPath id="c"><circle r="2"/></clipPath><path id="far" d="M20 20h9v9" clip-path="url(#c)"/>', "skipped 1 shape outside the clipping path (far)"),
        ("thin", '<path id="hair" d="M0 0L9 9"/>', "skipped 1 fill that has no area (hair)"),
        ("background", '<rect id="sky" width="40" height="40" fill="#123"/>', "skipped 1 page-size background rectangle (sky): --background draws it"),
    ],
)  # fmt: skip
def test_what_is_left_out_is_told_and_counted(kind, body, said, run) -> None:  # type: ignore[no-untyped-def]
    watched = Watched()
    result = run(body + WING, context=watched)
    assert said in "\n".join(watched.warnings if kind in ALARMS else result.summary.splitlines())
    assert not (watched.warnings if kind not in ALARMS else result.summary.splitlines()[2:])
    assert kind in result.figures["left_out"]
    assert len(result.drawing) >= 1


def test_a_mask_that_is_not_applied_is_a_warning_that_names_its_element(run) -> None:  # type: ignore[no-untyped-def]
    watched = Watched()
    veil = '<mask id="m"><path d="M0 0h9v9z"/></mask><g id="veil" mask="url(#m)"><path d="M0 0h9v9"/></g>'
    result = run(veil + WING, context=watched)
    assert [text.partition(":")[0] for text in watched.warnings] == ["1 mask not applied (veil)"]
    assert len(result.summary.splitlines()) == 2  # shapes and page, and the file: the warning is told once
    assert result.figures["left_out"] == {"mask": 1}


def test_a_transform_of_the_outermost_element_is_a_warning(run) -> None:  # type: ignore[no-untyped-def]
    for transform, warned in (("rotate(10)", True), ("translate(0)", False)):
        watched = Watched()
        head = f'width="40mm" height="40mm" viewBox="0 0 40 40" transform="{transform}"'
        run(WING, head=head, context=watched)
        assert (
            watched.warnings
            == ["ignored the transform of the outermost element: put it on a group inside before export"] * warned
        )


@pytest.mark.parametrize("value", ["normal", "NORMAL", "initial"])
def test_what_is_blended_as_usual_hides_what_is_beneath(value: str, run) -> None:  # type: ignore[no-untyped-def]
    watched = Watched()
    result = run(f'<path d="M0 0h9v9" fill="#123" style="mix-blend-mode:{value};translate:none"/>', context=watched)
    assert (result.drawing.fill_opacity.tolist(), watched.warnings) == ([1.0], [])


def test_what_is_blended_hides_nothing(run) -> None:  # type: ignore[no-untyped-def]
    drawing = run('<path d="M0 0h9v9" fill="#123" style="mix-blend-mode:multiply"/>').drawing
    assert not drawing.opaque_fill.any() and drawing.fill_opacity.tolist() == [0.5]


def test_where_nothing_is_left_the_error_alone_says_why(run) -> None:  # type: ignore[no-untyped-def]
    watched = Watched()
    with pytest.raises(CannotDo, match=r"^[^\n]*no shapes to draw \(skipped 1 text .*skipped 1 hidden shape"):
        run('<text>moth</text><path d="M0 0h9v9" visibility="hidden"/>', context=watched)
    assert watched.warnings == []


def test_the_history_can_hold_what_is_counted(run) -> None:  # type: ignore[no-untyped-def]
    assert json.loads(json.dumps(run(WING + "<text>moth</text>").figures))["left_out"] == {"text": 1}


def test_a_sound_drawing_says_nothing_but_what_came(run) -> None:  # type: ignore[no-untyped-def]
    assert "left out" not in run(WING).summary
    assert len(run(WING).summary.splitlines()) == 2  # shapes and page, and the file


def test_other_programs_notes_are_no_loss(run) -> None:  # type: ignore[no-untyped-def]
    notes = '<metadata><a/></metadata><x:view xmlns:x="urn:x"><x:grid/></x:view><title>moth</title><desc>a</desc>'
    assert run(notes + WING).summary.splitlines()[0] == "1 shape on a page of 40 × 40 mm"
    assert len(run(notes + WING).summary.splitlines()) == 2


def test_every_kind_that_is_counted_has_its_words() -> None:
    """A kind without words would be dropped in silence."""
    import re
    from pathlib import Path

    import underdraw_stages.import_ as stage

    sources = "".join(path.read_text() for path in Path(str(stage.__file__)).parent.rglob("*.py"))
    used = set(re.findall(r'left_out\.add\("(\w+)"', sources)) | {"foreign", "image", "reference", "missing", "loop"}
    assert used <= set(KINDS)


def test_examples_are_few() -> None:
    told = LeftOut()
    for at in range(20):
        told.add("text", f"moth {at}")
    assert told.warnings() == [
        "skipped 20 texts (moth 0; moth 1; moth 2): turn text into outlines before export, or name a font file with --text"
    ]


@pytest.mark.parametrize(("by", "told"), [(0.005, False), (0.1, True), (5.0, True)])
@pytest.mark.parametrize("side", ["left", "top", "right", "bottom"])
def test_what_hangs_over_any_edge_of_the_page_is_kept_and_counted(side: str, by: float, told: bool, run) -> None:  # type: ignore[no-untyped-def]
    x, y = {"left": (-by, 9), "top": (9, -by), "right": (31 + by, 9), "bottom": (9, 31 + by)}[side]
    result = run(WING + f'<rect x="{x}" y="{y}" width="9" height="9" fill="#123"/>')
    assert ("kept 1 shape that reaches beyond the page's edge" in result.summary) is told


@pytest.mark.parametrize(("opacity", "left"), [(1, 0), (0.4, 1)])
def test_beneath_a_background_that_lets_some_of_it_show_nothing_is_lost(opacity: float, left: int, run) -> None:  # type: ignore[no-untyped-def]
    fade = f'<linearGradient id="f"><stop stop-color="#123"/><stop offset="1" stop-color="#456" stop-opacity="{opacity}"/></linearGradient>'
    drawing = run(
        fade + WING + '<rect width="40" height="40" fill="url(#f)"/>' + WING.replace('d="M5', 'd="M6')
    ).drawing
    assert len(drawing) == 1 + left


SKY = '<rect id="sky" width="40" height="40" fill="#123456"/>'


def test_a_background_is_drawn_when_asked(run) -> None:  # type: ignore[no-untyped-def]
    assert run(SKY + WING, background=True).drawing.element.tolist()[0] == "sky"


@pytest.mark.parametrize(
    "rectangle",
    [
        '<rect x="-5" y="-5" width="50" height="50" fill="#123456"/>',
        '<path d="M0 0H40V40H0Z" fill="#123456"/>',
        '<polygon points="0,0 40,0 40,40 0,40" fill="#123456"/>',
        '<g transform="scale(40)"><rect width="1" height="1" fill="#123456"/></g>',
        '<rect x=".2" y=".2" width="39.6" height="39.6" fill="#123456"/>',
    ],
)
def test_a_page_size_rectangle_is_background_however_it_is_made(rectangle, run) -> None:  # type: ignore[no-untyped-def]
    result = run(rectangle + WING)
    assert len(result.drawing) == 1 and result.figures["left_out"] == {"background": 1}


@pytest.mark.parametrize(
    "shape",
    [
        '<rect width="40" height="40" fill="#123456" stroke="#000"/>',
        '<rect width="38" height="40" fill="#123456"/>',
        '<rect width="40" height="40" rx="6" fill="#123456"/>',
        '<circle cx="20" cy="20" r="40" fill="#123456"/>',
        '<rect width="80" height="80" transform="rotate(10)" fill="#123456"/>',
    ],
)
def test_what_is_no_plain_page_size_rectangle_is_drawn(shape, run) -> None:  # type: ignore[no-untyped-def]
    assert len(run(shape + WING).drawing) == 2


def test_what_lies_beneath_an_opaque_background_is_not_seen(run) -> None:  # type: ignore[no-untyped-def]
    result = run(WING + WING + SKY + WING)
    assert len(result.drawing) == 1
    assert result.figures["left_out"] == {"background": 1, "beneath": 2}
    veil = SKY.replace("fill=", 'fill-opacity=".3" fill=')
    assert len(run(WING + WING + veil + WING).drawing) == 3


def test_a_font_that_is_none_is_refused(run, artwork) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match="no font that can be read"):
        run(WING, text=str(artwork(WING, name="moth.ttf")))
    with pytest.raises(InputError, match="cannot read the font"):
        run(WING, text="no-such-font.ttf")


def test_letters_that_the_font_lacks_are_told(run) -> None:  # type: ignore[no-untyped-def]
    from small_artwork import FIXTURES

    watched = Watched()
    result = run("<text y='20' font-size='9'>AxB</text>", text=str(FIXTURES / "moth.ttf"), context=watched)
    (warned,) = watched.warnings
    assert warned.startswith("skipped 1 letter that the font does not have (x in “AxB”)")
    assert len(result.drawing) == 2


@pytest.mark.parametrize(
    ("more", "drawn"),
    [
        ('dominant-baseline="middle"', False),
        ('dominant-baseline="auto" writing-mode="lr-tb" baseline-shift="0"', True),
        ('style="text-transform:uppercase"', False),
        ('style="text-transform:none;dominant-baseline:alphabetic"', True),
        ('textLength="20"', False),
        ('writing-mode="tb"', False),
    ],
)
def test_letters_that_stand_elsewhere_than_side_by_side_on_a_line_are_not_drawn_there(more, drawn, run) -> None:  # type: ignore[no-untyped-def]
    from small_artwork import FIXTURES

    for text in (f"<text y='20' {more}>AB</text>", f"<text y='20'><tspan {more}>AB</tspan></text>"):
        result = run(WING + text, text=str(FIXTURES / "moth.ttf"))
        assert len(result.drawing) == (3 if drawn else 1)
        assert ("text" in result.figures.get("left_out", {})) is not drawn


@pytest.mark.parametrize("text", ["<textPath href='#a'>AB</textPath>", "שלום"])
def test_text_that_is_not_simple_is_reported_even_with_a_font(text, run) -> None:  # type: ignore[no-untyped-def]
    from small_artwork import FIXTURES

    result = run(f"{WING}<text y='20'>{text}</text>", text=str(FIXTURES / "moth.ttf"))
    assert result.figures["left_out"] == {"text": 1}


def test_progress_is_told_from_start_to_end(run) -> None:  # type: ignore[no-untyped-def]
    watched = Watched()
    run(WING, context=watched)
    assert watched.shares == sorted(watched.shares) and watched.shares[0] == 0.0


def test_only_what_is_not_drawn_counts_as_left_out(run) -> None:  # type: ignore[no-untyped-def]
    veil = '<mask id="m"><path d="M0 0h9v9z"/></mask><g id="veil" mask="url(#m)"><path d="M0 0h9v9"/></g>'
    first = run(veil + "<text>moth</text>" + WING).summary.splitlines()[0]
    assert first == "2 shapes on a page of 40 × 40 mm, 1 left out"


def test_the_colour_of_a_background_is_known_all_the_same(run) -> None:  # type: ignore[no-untyped-def]
    """What is see-through looks other on a dark page than on a bare one."""
    assert run(SKY + WING).drawing.ground == Ground("#123456")
    assert run(WING).drawing.ground is None


BLUR = '<filter id="f"><feGaussianBlur stdDeviation="0.5"/></filter>'


def test_a_blur_is_kept_as_how_far_edges_fade(run) -> None:  # type: ignore[no-untyped-def]
    """A step through a Gaussian rises over sqrt(2 pi) of its standard deviations, if as steeply as in its middle."""
    result = run(f'{BLUR}<g transform="scale(2)" filter="url(#f)"><path d="M5 5h9v9z"/></g>' + WING)
    assert result.drawing.blur.tolist() == pytest.approx([2 * 0.5 * np.sqrt(2 * np.pi), 0], abs=1e-4)
    assert result.figures["left_out"] == {"blur": 1}


def test_a_filter_that_does_more_than_blur_is_ignored(run) -> None:  # type: ignore[no-untyped-def]
    shifted = BLUR.replace("<fe", '<feOffset dx="2"/><fe')
    result = run(f'{shifted}<g filter="url(#f)"><path d="M5 5h9v9z"/></g>')
    assert (result.drawing.blur.tolist(), result.figures["left_out"]) == ([0], {"filter": 1})


def test_a_see_through_group_of_several_shapes_is_told_of(run) -> None:  # type: ignore[no-untyped-def]
    two = f'<g opacity=".5">{WING}{WING}</g>'
    assert run(two).figures["left_out"] == {"see-through": 1}
    assert run(two.replace(WING + WING, WING)).figures["left_out"] == {}


def test_a_page_in_bands_is_artwork_as_its_horizon_is_an_edge(run) -> None:  # type: ignore[no-untyped-def]
    stops = '<stop offset="{}" stop-color="#123456"/><stop offset="0.6" stop-color="#345612"/>'
    for offset, shapes in ((0.6, 2), (0.3, 1)):
        dusk = f'<defs><linearGradient id="dusk" x2="0" y2="1">{stops.format(offset)}</linearGradient></defs>'
        result = run(dusk + SKY.replace("#123456", "url(#dusk)") + WING)
        assert len(result.drawing) == shapes
        assert result.figures["left_out"] == ({} if shapes == 2 else {"background": 1})
