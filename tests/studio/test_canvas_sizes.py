"""Canvas sizes that shops sell by name."""

from underdraw.plugins.registry import Registry

FRENCH_CM = (
    "1F 22×16, 2F 24×19, 3F 27×22, 4F 33×24, 5F 35×27, 6F 41×33, 8F 46×38, 10F 55×46, 12F 61×50, 15F 65×54, 20F 73×60, "
    "25F 81×65, 30F 92×73, 40F 100×81, 50F 116×89, 60F 130×97, 80F 146×114, 100F 162×130"
)  # from memory, to be confirmed by whoever can


def test_french_figure_sizes_are_those_remembered() -> None:
    registry = Registry.installed()
    for entry in FRENCH_CM.split(", "):
        name, size = entry.split(" ")
        height, width = (10.0 * float(side) for side in size.split("×"))
        assert registry.canvas_sizes[name].size == (width, height)
        assert "from memory" in registry.canvas_sizes[name].source
    assert len([name for name in registry.canvas_sizes if name.endswith("F")]) == 18
