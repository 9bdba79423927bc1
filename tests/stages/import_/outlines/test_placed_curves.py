"""The curves of all outlines are worked out a slice at a time: any slice is that part of the whole."""

from types import SimpleNamespace

import numpy as np

from underdraw_stages.import_.shapes.flattened_shapes import PlacedCurves


class Outline:
    def __init__(self, curves: np.ndarray) -> None:
        self.curves = curves

    def __len__(self) -> int:
        return len(self.curves)


def test_any_slice_is_that_part_of_the_whole() -> None:
    random = np.random.default_rng(3)
    items = [
        SimpleNamespace(outline=Outline(random.normal(0, 9, (count, 4, 2))), matrix=tuple(random.normal(0, 1, 6)))
        for count in (3, 0, 12, 1, 7)
    ]
    placed = PlacedCurves(items)  # type: ignore[arg-type]
    whole = placed[0 : len(placed)]
    by_hand = np.concatenate([
        np.stack([a * x + c * y + e, b * x + d * y + f], axis=-1)
        for item in items
        for (a, b, c, d, e, f), (x, y) in [(item.matrix, np.moveaxis(item.outline.curves, -1, 0))]
    ])  # fmt: skip
    assert len(placed) == 23 and np.allclose(whole, by_hand)
    for begin in range(23):
        for end in range(begin + 1, 24):
            assert np.array_equal(placed[begin:end], whole[begin:end])
