"""What each shape keeps of its appearance: colours, opacities, widths, ends, rules; and which marker draws it."""
# ruff: noqa: E501  # tables of artwork, a line each

import pytest
from small_artwork import INK, SVG

from underdraw.drawing.paint.gradients import Stop
from underdraw.drawing.wire import read_drawing, write_drawing
from underdraw.job.sections import Job, MarkerSection

BOX = "M5 5H30V30H5Z"


def one(result):  # type: ignore[no-untyped-def]
    assert len(result.drawing) == 1
    return result.drawing


@pytest.mark.parametrize(
    ("written", "colour", "opacity"),
    [
        ("#abc", "#aabbcc", 1), ("#1B1B3A", "#1b1b3a", 1), ("rgb(20, 30,40)", "#141e28", 1), ("rgb(10%,20%,30%)", "#1a334d", 1),
        ("rgb(300,-5,40)", "#ff0028", 1), ("rgba(20,30,40,.5)", "#141e28", 0.5), ("hsl(120,100%,25%)", "#008000", 1),
        ("hsla(240,100%,50%,0.25)", "#0000ff", 0.25), ("RebeccaPurple", "#663399", 1), ("darkslategrey", "#2f4f4f", 1),
        ("#11223380", "#112233", 128 / 255), ("rgb(20 30 40 / 50%)", "#141e28", 0.5), ("#123 icc-color(moth, 1, 2)", "#112233", 1),
    ],
)  # fmt: skip
def test_every_form_of_colour_is_read(written, colour, opacity, run) -> None:  # type: ignore[no-untyped-def]
    """Source: CSS Color Module Level 3 (and Level 4 for the newer forms)."""
    drawing = one(run(f'<path d="{BOX}" fill="{written}"/>'))
    assert drawing.fill[0] == colour
    assert drawing.fill_opacity[0] == pytest.approx(opacity, abs=1e-3)


def test_opacities_multiply_down_the_groups(run) -> None:  # type: ignore[no-untyped-def]
    text = f'<g opacity=".5"><g opacity="50%"><path d="{BOX}" fill="#000" fill-opacity=".5" stroke="#000"/></g></g>'
    drawing = one(run(text))
    assert drawing.fill_opacity[0] == pytest.approx(0.125)
    assert drawing.stroke_opacity[0] == pytest.approx(0.25)


def test_a_strokes_width_is_in_millimetres_on_the_page(run) -> None:  # type: ignore[no-untyped-def]
    head = 'width="80mm" height="80mm" viewBox="0 0 40 40"'
    drawing = one(run('<g transform="scale(3)"><path d="M1 1H9" stroke="#000" stroke-width=".5"/></g>', head=head))
    assert drawing.stroke_width[0] == pytest.approx(3.0)


def test_a_stroke_that_does_not_scale_keeps_its_width_on_the_screen(run) -> None:  # type: ignore[no-untyped-def]
    style = 'stroke="#000" stroke-width="96" vector-effect="non-scaling-stroke"'
    drawing = one(run(f'<g transform="scale(3)"><path d="M1 1H9" {style}/></g>'))
    assert drawing.stroke_width[0] == pytest.approx(25.4)


def test_dashes_of_a_stroke_that_does_not_scale_do_not_either(run) -> None:  # type: ignore[no-untyped-def]
    """SVG 2, section 8.13. Dashes of 8 px are 2.1167 mm at 96 px an inch; scaled, of 8 mm on this page, 24 mm."""
    line = '<path transform="scale(3)" d="M1 4H13" stroke="#1b1b3a" style="stroke-dasharray:8;stroke-dashoffset:4{}"/>'
    still = run(line.format(";vector-effect:non-scaling-stroke")).drawing
    px = 25.4 / 96
    assert still.part_lengths()[:3] == pytest.approx([4 * px, 8 * px, 8 * px], abs=2e-3)
    assert run(line.format("")).drawing.part_lengths() == pytest.approx([12], abs=2e-3)


@pytest.mark.parametrize(("root", "side"), [("", 32 * 25.4 / 96), ('font-size="10"', 20 * 25.4 / 96)])
def test_rem_is_the_font_size_of_the_outermost_element(root: str, side: float, run) -> None:  # type: ignore[no-untyped-def]
    """CSS Values 3, section 5.1.1."""
    head = f'width="40mm" height="40mm" {root}'
    rect = '<rect width="2rem" height="2rem"/>'
    uses = f'<symbol id="s" viewBox="0 0 90 90">{rect}</symbol><use href="#s" width="90" height="90"/>'
    for body in (rect, f'<g font-size="2">{rect}</g>', f'<g font-size="2">{uses}</g>'):
        x0, y0, x1, y1 = run(body, head).drawing.bounds
        assert (x1 - x0, y1 - y0) == pytest.approx((side, side), abs=2e-3)


@pytest.mark.parametrize(
    ("media", "applies"), [("screen, print", True), ("print, only screen", True), ("print", False), ("print,tv", False)]
)
def test_a_style_for_several_media_is_for_the_screen_if_one_of_them_is(media: str, applies: bool, run) -> None:  # type: ignore[no-untyped-def]
    """Media Queries 3, section 2: a list is true where one of its queries is."""
    for sheet in (
        f'<style media="{media}">path{{fill:#d9793a}}</style>',
        f"<style>@media {media}{{path{{fill:#d9793a}}}}</style>",
    ):
        assert run(sheet + '<path d="M0 0h9v9"/>').drawing.fill.tolist() == ["#d9793a" if applies else "#000000"]


def test_caps_joins_and_rules_are_kept(run) -> None:  # type: ignore[no-untyped-def]
    style = 'stroke="#000" fill="#fff" stroke-linecap="round" stroke-linejoin="bevel" fill-rule="evenodd"'
    drawing = one(run(f'<path d="{BOX}" {style}/>'))
    assert (drawing.cap[0], drawing.join[0], bool(drawing.evenodd[0])) == ("round", "bevel", True)


def test_gradients_are_fills_and_patterns_count_as_fills(run) -> None:  # type: ignore[no-untyped-def]
    text = (
        '<linearGradient id="a"><stop stop-color="#112233" stop-opacity=".6"/><stop offset="1" style="stop-color:red"/>'
        "</linearGradient>"
        '<pattern id="b" width="4" height="4"><path d="M0 0h2v2z" fill="#445566"/></pattern>'
        f'<path d="{BOX}" fill="url(#a)"/><path d="{BOX}" fill="url(#b)"/>'
    )
    drawing = run(text).drawing
    assert drawing.fill.tolist() == ["#112233", "#445566"]
    assert drawing.fill_opacity.tolist() == [1.0, 0.5]  # a gradient has its own; a pattern has gaps
    assert drawing.opaque_fill.tolist() == [False, False]
    assert drawing.fill_gradient[0].stops == (Stop(0, "#112233", 0.6), Stop(1, "#ff0000"))


def gradient(*stops: tuple[str, float], name: str = "a") -> str:
    marks = "".join(
        f'<stop offset="{number / max(1, len(stops) - 1)}" stop-color="{colour}" stop-opacity="{opacity}"/>'
        for number, (colour, opacity) in enumerate(stops)
    )
    return f'<linearGradient id="{name}">{marks}</linearGradient>'


@pytest.mark.parametrize(
    ("stops", "colour"),
    [
        ((("#1b1b3a", 1), ("#1b1b3a", 0)), "#1b1b3a"),  # fades out
        ((("#ffffff", 0), ("#1b1b3a", 1)), "#1b1b3a"),  # fades in: the first that shows stands for it
        ((("#1b1b3a", 0), ("#f4c95d", 0.3), ("#1b1b3a", 0)), "#f4c95d"),
        ((("transparent", 1), ("#1b1b3a", 1)), "#1b1b3a"),
    ],
)
def test_a_gradient_that_is_transparent_somewhere_is_kept_and_is_not_opaque(stops, colour, run) -> None:  # type: ignore[no-untyped-def]
    """Its edge shows where the gradient does, and so does what is beneath it."""
    beneath = '<path d="M1 20H39" fill="none" stroke="#445566" stroke-width="0.3"/>'
    result = run(f'{gradient(*stops)}{beneath}<path d="{BOX}" fill="url(#a)"/>')
    assert result.drawing.fill.tolist() == ["", colour]
    assert [stop.opacity for stop in result.drawing.fill_gradient[1].stops] == [
        0.0 if name == "transparent" else opacity for name, opacity in stops
    ]
    assert not result.drawing.opaque_fill[1]
    assert result.figures["left_out"] == {}


FADES = '<stop stop-color="#1b1b3a"/><stop offset="1" stop-color="#f4c95d"/>'
ROUND = f'<radialGradient id="a" gradientUnits="userSpaceOnUse" cx="20" cy="20" r="8">{FADES}</radialGradient>'


@pytest.mark.parametrize(
    ("words", "matrix"),
    [
        ("", (30, 0, 0, 20, 5, 5)),  # by the shape's box, 5 5 to 35 25
        ('gradientUnits="userSpaceOnUse" x1="10" y1="0" x2="10" y2="20"', (0, 20, -20, 0, 10, 0)),
        ('gradientUnits="userSpaceOnUse" x1="25%" x2="75%"', (20, 0, 0, 20, 10, 0)),  # of a page of 40
        ('gradientTransform="translate(.5)"', (30, 0, 0, 20, 20, 5)),
    ],
)
def test_a_linear_gradient_is_placed_in_millimetres(words, matrix, run) -> None:  # type: ignore[no-untyped-def]
    drawing = one(run(f'<linearGradient id="a" {words}>{FADES}</linearGradient><path d="{RECT}" fill="url(#a)"/>'))
    assert drawing.fill_gradient[0].matrix == pytest.approx(matrix)


RECT = "M5 5H35V25H5Z"


def test_a_gradient_of_no_length_or_one_colour_is_a_plain_colour(run) -> None:  # type: ignore[no-untyped-def]
    """Source: SVG 1.1, 13.2.2 and 13.2.3: the colour of the last stop."""
    for words in ('x1="1" x2="1"', 'gradientUnits="userSpaceOnUse" x1="3" x2="3"'):
        drawing = one(run(f'<linearGradient id="a" {words}>{FADES}</linearGradient><path d="{RECT}" fill="url(#a)"/>'))
        assert (drawing.fill[0], drawing.fill_gradient[0]) == ("#f4c95d", None)
    drawing = one(run(f'{gradient(("#112233", 0.5), ("#112233", 0.5))}<path d="{RECT}" fill="url(#a)"/>'))
    assert (drawing.fill[0], drawing.fill_opacity[0], drawing.fill_gradient[0]) == ("#112233", 0.5, None)


def test_a_gradient_moves_with_the_drawing_where_the_file_states_no_size(run) -> None:  # type: ignore[no-untyped-def]
    drawing = one(run(f'<svg {SVG}>{ROUND}<path d="M10 10h20v20h-9z" fill="url(#a)"/></svg>'))
    mm = 25.4 / 96
    assert drawing.fill_gradient[0].matrix == pytest.approx((8 * mm, 0, 0, 8 * mm, 10 * mm, 10 * mm), abs=1e-3)


def test_a_stroke_painted_with_a_gradient_that_fades_out_is_drawn(run) -> None:  # type: ignore[no-untyped-def]
    fades = gradient(("#1b1b3a", 1), ("#1b1b3a", 0))
    drawing = one(run(f'{fades}<path d="{BOX}" fill="none" stroke="url(#a)" stroke-width="2"/>'))
    assert (drawing.stroke[0], drawing.stroke_width[0]) == ("#1b1b3a", pytest.approx(2))


@pytest.mark.parametrize(
    "stops", [(("#1b1b3a", 0),), (("#1b1b3a", 0), ("#f4c95d", 0)), (("transparent", 1), ("#000", 0))]
)
def test_only_a_gradient_that_is_transparent_throughout_is_invisible(stops, run) -> None:  # type: ignore[no-untyped-def]
    shown = f'<path d="{BOX}" fill="#333"/>'
    result = run(f'{gradient(*stops)}<path id="ghost" d="{BOX}" fill="url(#a)"/>{shown}')
    assert result.drawing.fill.tolist() == ["#333333"]
    assert result.figures["left_out"] == {"unpainted": 1}


def test_a_shape_whose_own_opacity_hides_it_stays_hidden_under_a_gradient(run) -> None:  # type: ignore[no-untyped-def]
    fades = gradient(("#1b1b3a", 1), ("#1b1b3a", 0))
    result = run(f'{fades}<path d="{BOX}" fill="url(#a)" fill-opacity="0"/><path d="{BOX}" fill="#333"/>')
    assert result.figures["left_out"] == {"unpainted": 1}


def test_current_colour_is_the_shapes_own(run) -> None:  # type: ignore[no-untyped-def]
    text = f'<g color="#112233" fill="currentColor"><path d="{BOX}"/><path d="{BOX}" color="#445566"/></g>'
    assert run(text).drawing.fill.tolist() == ["#112233", "#445566"]


def test_shapes_keep_their_stacking_order(run) -> None:  # type: ignore[no-untyped-def]
    clip = '<clipPath id="c"><circle cx="20" cy="20" r="8"/></clipPath>'
    text = (
        f'{clip}<path id="a" d="{BOX}" fill="#111"/><path id="b" d="{BOX}" fill="#222" clip-path="url(#c)"/>'
        f'<path id="c2" d="{BOX}" fill="none" stroke="#333" stroke-dasharray="2"/><path id="d" d="{BOX}" fill="#444"/>'
    )
    assert run(text).drawing.element.tolist() == ["a", "b", "c2", "d"]


def test_a_dashed_and_filled_shape_is_its_fill_and_then_its_dashes(run) -> None:  # type: ignore[no-untyped-def]
    drawing = run(f'<path d="{BOX}" fill="#f6e3b4" stroke="#1b1b3a" stroke-dasharray="5 5"/>').drawing
    assert drawing.fill.tolist() == ["#f6e3b4", ""]
    assert drawing.stroke.tolist() == ["", "#1b1b3a"]
    assert drawing.shape_lengths().tolist() == pytest.approx([100, 50], abs=0.01)


def test_a_fill_that_is_not_stroked_is_closed_as_it_is_seen(run) -> None:  # type: ignore[no-untyped-def]
    """Source: SVG 1.1, 11.3: a fill closes open subpaths; the edge is there to see."""
    drawing = one(run('<path d="M5 5H30V30" fill="#333"/>'))
    assert drawing.part_closed().tolist() == [True]
    stroked = one(run('<path d="M5 5H30V30" fill="#333" stroke="#000"/>'))
    assert stroked.part_closed().tolist() == [False]


def test_a_dot_is_drawn_where_its_cap_shows(run) -> None:  # type: ignore[no-untyped-def]
    """Source: SVG 1.1, 11.4, stroke-linecap: zero length subpaths."""
    text = '<path d="M5 5H9M20 20Z" fill="none" stroke="#000" stroke-linecap="{}"/>'
    assert len(one(run(text.format("round"))).parts) - 1 == 2
    assert len(one(run(text.format("butt"))).parts) - 1 == 1


MARKERS = Job(
    markers=(
        MarkerSection(name="outline", colours=("#1b1b3a",)),
        MarkerSection(name="warm", colours=("#d9793a", "#f4c95d")),
    )
)


def test_the_strokes_colour_chooses_the_marker_and_else_the_fills(run) -> None:  # type: ignore[no-untyped-def]
    text = (
        f'<path d="{BOX}" fill="#d9793a" stroke="#1b1b3a"/><path d="{BOX}" fill="#f4c95d"/>'
        f'<path d="{BOX}" fill="none" stroke="#D9793A"/><path d="{BOX}" fill="#00ff00"/>'
    )
    assert run(text, job=MARKERS).drawing.marker.tolist() == ["outline", "warm", "warm", "outline"]


def test_colours_that_no_marker_names_are_listed_with_their_counts(run) -> None:  # type: ignore[no-untyped-def]
    text = f'<path d="{BOX}" {INK}/>' + f'<path d="{BOX}" fill="#00ff00"/>' * 3 + f'<path d="{BOX}" fill="#123456"/>'
    result = run(text, job=MARKERS)
    assert "drawn with 'outline', as no marker names their colour: #00ff00 (3), #123456 (1)" in result.summary
    assert result.figures["colours"] == {"#00ff00": 3, "#123456": 1, "#1b1b3a": 1}


def test_without_markers_in_the_job_no_colour_is_strange(run) -> None:  # type: ignore[no-untyped-def]
    assert "no marker" not in run(f'<path d="{BOX}" fill="#0f0"/>').summary


@pytest.mark.parametrize(("written", "limit"), [("", 4), ("10", 10), ("1", 1), ("0.5", 4), ("moth", 4), ("1e99", 1e7)])
def test_the_miter_limit_is_kept_and_one_that_is_none_is_the_initial_one(written: str, limit: float, run) -> None:  # type: ignore[no-untyped-def]
    """Source: SVG 1.1 (2nd ed.), 11.4: below 1 it is an error."""
    words = f' stroke-miterlimit="{written}"' if written else ""
    drawing = run(f'<g{words}><path d="M0 0L9 9L0 10" stroke="#000" fill="none"/></g>').drawing
    assert drawing.miter_limit.tolist() == [limit]
    assert read_drawing(write_drawing(drawing)).miter_limit.tolist() == [limit]


@pytest.mark.parametrize("name", ["stroke-linejoin", "stroke-linecap", "fill-rule", "visibility"])
def test_none_where_it_is_no_value_is_dropped(name, run) -> None:  # type: ignore[no-untyped-def]
    """Source: CSS 2.1, 4.2: a declaration with an illegal value is ignored."""
    for body in (f'<path d="{BOX}" {INK} {name}="none"/>', f'<path d="{BOX}" {INK} style="{name}:none"/>'):
        drawing = one(run(body))
        assert (drawing.join[0], drawing.cap[0]) == ("miter", "butt")


def test_settled_declarations_keep_the_cascades_order(run) -> None:  # type: ignore[no-untyped-def]
    """Source: CSS 2.1, 6.4.1: important over not, a style attribute over rules, later over earlier."""
    sheet = "<style>.a{fill:#111111;fill:#222222;fill:nonsense} path{fill:#333333}.b{fill:#444444 !important}</style>"
    body = f'<path class="a" d="{BOX}"/><path class="a" style="fill:#555555" d="{BOX}"/><path class="a b" style="fill:#555555" d="{BOX}"/>'
    assert run(sheet + body).drawing.fill.tolist() == ["#222222", "#555555", "#444444"]
