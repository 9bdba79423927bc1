"""Layers by label, id or class, at any depth; what a wrong name does; the listing of them."""

import pytest
from small_artwork import INK, Watched

from underdraw.errors import CannotDo, InputError

GARDEN = f"""
<g id="guides" class="aids"><path id="fold" d="M0 0H40" {INK}/></g>
<g id="g12" xmlns:p="urn:program" p:label="Moths">
  <g id="luna"><path id="wing" d="M5 5H30" {INK}/><path d="M5 6H30" fill="none" stroke="#d9793a"/></g>
  <g class="far small"><path id="far" d="M5 8H30" {INK}/></g>
</g>
<g data-name="Vine"><path id="vine" d="M5 30H30" {INK}/></g>
<path id="loose" d="M1 1H4" {INK}/>
"""


def left(result) -> list[str]:  # type: ignore[no-untyped-def]
    return [name for name in result.drawing.element.tolist() if not name.startswith("<")]


@pytest.mark.parametrize(
    ("skip", "drawn"),
    [
        (["guides"], ["wing", "far", "vine", "loose"]),
        (["aids"], ["wing", "far", "vine", "loose"]),
        (["Moths"], ["fold", "vine", "loose"]),
        (["g12", "Vine"], ["fold", "loose"]),
        (["luna"], ["fold", "far", "vine", "loose"]),
        (["small"], ["fold", "wing", "vine", "loose"]),
        (["loose", "guides"], ["wing", "far", "vine"]),
    ],
)
def test_a_skipped_layer_is_left_out_by_any_of_its_names(skip, drawn, run) -> None:  # type: ignore[no-untyped-def]
    assert left(run(GARDEN, skip=skip)) == drawn


@pytest.mark.parametrize(
    ("only", "drawn"),
    [
        (["Moths"], ["wing", "far"]),
        (["luna", "Vine"], ["wing", "vine"]),
        (["far"], ["far"]),
        (["loose"], ["loose"]),
    ],
)
def test_only_takes_the_layers_named_and_no_others(only, drawn, run) -> None:  # type: ignore[no-untyped-def]
    assert left(run(GARDEN, only=only)) == drawn


def test_skip_goes_before_only(run) -> None:  # type: ignore[no-untyped-def]
    assert left(run(GARDEN, only=["Moths"], skip=["luna"])) == ["far"]


def test_skipped_shapes_are_counted(run) -> None:  # type: ignore[no-untyped-def]
    result = run(GARDEN, skip=["Moths"])
    assert result.figures["left_out"] == {"skipped": 3}
    assert "skipped 3 shapes in layers that --skip or --only leaves out (Moths)" in result.summary


def test_a_layer_that_is_nearly_named_is_a_slip_and_refused(run) -> None:  # type: ignore[no-untyped-def]
    """The guides would be drawn on the canvas otherwise."""
    with pytest.raises(InputError, match=r"no layer 'guide' \(did you mean 'guides'\?\)"):
        run(GARDEN, skip=["guide"])


def test_a_layer_to_skip_that_is_nowhere_is_a_warning(run) -> None:  # type: ignore[no-untyped-def]
    watched = Watched()
    run(GARDEN, skip=["registration"], context=watched)
    assert len(watched.warnings) == 1 and "no layer 'registration' to skip" in watched.warnings[0]


def test_only_a_layer_that_is_nowhere_is_refused(run) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match="no layer 'registration'; --layers lists them"):
        run(GARDEN, only=["registration"])


def test_nothing_left_says_why(run) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(
        CannotDo,
        match=r"no shapes to draw with these layers \(skipped 6 shapes in layers that --skip or --only leaves out",
    ):
        run(GARDEN, skip=["Moths", "Vine", "guides", "loose"])


def test_each_shape_knows_its_layer(run) -> None:  # type: ignore[no-untyped-def]
    drawing = run(GARDEN).drawing
    layers = dict(zip(drawing.element.tolist(), drawing.layer.tolist(), strict=True))
    assert layers["fold"] == "guides"
    assert layers["wing"] == "Moths"  # a label goes before an id further in
    assert layers["vine"] == "Vine"
    assert layers["loose"] == ""


def test_the_listing_names_every_layer_with_counts_and_colours(run) -> None:  # type: ignore[no-untyped-def]
    listing = run(GARDEN, layers=True).listing
    assert [" ".join(line.split()) for line in listing.splitlines()] == [
        "guides [aids] 1 shape #1b1b3a 1",
        "Moths [g12] 3 shapes #1b1b3a 2, #d9793a 1",
        "luna 2 shapes #1b1b3a 1, #d9793a 1",
        "far [small] 1 shape #1b1b3a 1",
        "Vine 1 shape #1b1b3a 1",
        "(in no named group) 1 shape #1b1b3a 1",
    ]
    assert listing.splitlines()[2].startswith("  luna")  # indented by depth


def test_a_hidden_layer_is_listed_as_hidden(run) -> None:  # type: ignore[no-untyped-def]
    listing = run(f'<g id="old" display="none"><path d="M0 0H9" {INK}/></g>', layers=True).listing
    assert "old (hidden)" in listing and "0 shapes" in listing


def test_a_layer_that_is_used_elsewhere_is_skipped_there_too(run) -> None:  # type: ignore[no-untyped-def]
    body = f'<g id="guides"><path d="M0 0H40" {INK}/></g><use href="#guides" y="9"/><path id="a" d="M0 5H9" {INK}/>'
    assert left(run(body, skip=["guides"])) == ["a"]
