"""A tangle that would fill the memory and that no marker could paint is refused in one line, before it is begun."""

import numpy as np
import pytest
from night_artwork import artwork, run, stroke

from underdraw.errors import CannotDo
from underdraw_stages.tidy.strokes import doubled


def tangle(count: int) -> list[dict[str, object]]:
    """Stamens that all cross about one place."""
    random = np.random.default_rng(0)
    return [stroke(*random.uniform(60, 140, (2, 2)), width=0.1) for _ in range(count)]


def test_a_tangle_beyond_the_limit_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doubled, "MOST_PAIRS", 2_000)
    with pytest.raises(CannotDo, match="no marker could show them apart; thin the artwork out, or scale it up"):
        run(artwork(*tangle(200)))


def test_as_many_lines_that_lie_apart_are_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doubled, "MOST_PAIRS", 2_000)
    grass = [stroke((10 + 0.9 * blade, 20), (10 + 0.9 * blade, 25), width=0.1) for blade in range(200)]
    assert len(run(artwork(*grass)).drawing) == 200


@pytest.mark.slow
def test_the_tangle_is_drawn_within_the_limit() -> None:
    assert len(run(artwork(*tangle(200))).drawing) > 0
