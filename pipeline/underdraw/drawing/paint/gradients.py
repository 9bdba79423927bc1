"""Gradients, in the drawing's millimetres: what they are, and how they move with the shape they paint.

A gradient is held in units of its own, in which it is as simple as can be, with the matrix that takes it to mm: so a
reflection or a stretch of the drawing is one more matrix, and nothing of the gradient is lost.
Source: SVG 1.1 (2nd ed.), section 13.2.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from underdraw.drawing.affine import Matrix, compose

Spread = Literal["pad", "reflect", "repeat"]
SPREADS: tuple[Spread, ...] = ("pad", "reflect", "repeat")
MOST_STOPS = 10_000  # of one gradient; a damaged file asks for no more


@dataclass(frozen=True)
class Stop:
    """A colour ("#rrggbb") and its opacity at a share of the gradient's way, from 0 to 1."""

    offset: float
    colour: str
    opacity: float = 1.0

    def __post_init__(self) -> None:
        """Keep numbers as the wire writes them."""
        object.__setattr__(self, "offset", short(self.offset))
        object.__setattr__(self, "opacity", short(self.opacity))

    @property
    def look(self) -> tuple[str, float]:
        """What it shows, wherever it stands."""
        return self.colour, self.opacity


@dataclass(frozen=True)
class _Gradient:
    stops: tuple[Stop, ...]
    matrix: Matrix
    spread: Spread = "pad"

    def __post_init__(self) -> None:
        """Keep numbers as the wire writes them."""
        if not self.stops:
            raise ValueError("a gradient has no stops")
        object.__setattr__(self, "matrix", tuple(short(value) for value in self.matrix))

    @property
    def least_opacity(self) -> float:
        """Of all its stops."""
        return min(stop.opacity for stop in self.stops)

    @cached_property
    def jumps(self) -> tuple[float, ...]:
        """Shares of the way, from 0 to 1, at which what shows changes at once: hard stops.

        Where a repeated gradient begins anew is 0. A reflected one turns back at its ends, and jumps at neither.
        """
        shown = self._shown_stops()
        jumps = tuple(stops[0].offset for stops in shown if stops[0].look != stops[-1].look)
        begins_anew = self.spread == "repeat" and shown[0][0].look != shown[-1][-1].look
        return (0.0, *jumps) if begins_anew else jumps

    @cached_property
    def bands(self) -> tuple[tuple[Stop, ...], ...]:
        """The stops before, between and after the jumps; where a repeated gradient begins anew without one, as one."""
        bands: list[list[Stop]] = [[]]
        for stops in self._shown_stops():
            bands[-1].append(stops[0])
            if stops[0].look != stops[-1].look:
                bands.append([stops[-1]])
        if self.spread == "repeat" and len(bands) > 1 and 0.0 not in self.jumps:
            bands[0] = bands.pop() + bands[0]
        return tuple(tuple(band) for band in bands)

    def band_at(self, share: float) -> int:
        """Which of `bands` shows at a share of the way; below 0 that of what lies before all stops."""
        jumps = self.jumps[1:] if self.spread == "repeat" and self.jumps[:1] == (0.0,) else self.jumps
        return bisect_right(jumps, share) % len(self.bands)

    def _shown_stops(self) -> list[tuple[Stop, ...]]:
        """The stops at each offset: one, or the one that shows before it and the one that shows after it.

        SVG 1.1, section 13.2.4: of those at 0 and 1 both are seen only where the gradient is padded.
        """
        shown: list[tuple[Stop, ...]] = []
        for offset, several in groupby(self.stops, key=lambda stop: stop.offset):
            stops = tuple(several)
            first, last = stops[0], stops[-1]
            if self.spread != "pad" and offset in (0, 1):
                first = last = last if offset == 0 else first
            shown.append((first,) if first == last else (first, last))
        return shown


@dataclass(frozen=True)
class LinearGradient(_Gradient):
    """From (0, 0) to (1, 0) in its own units, which `matrix` takes to mm; stops in order of their offsets."""


@dataclass(frozen=True)
class RadialGradient(_Gradient):
    """From the focal point to the circle of radius 1 about (0, 0), in its own units, which `matrix` takes to mm."""

    focal: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        """Keep numbers as the wire writes them."""
        super().__post_init__()
        object.__setattr__(self, "focal", tuple(short(value) for value in self.focal))


Gradient = LinearGradient | RadialGradient


def short(value: float) -> float:
    """A number with the ten digits that the wire keeps of it."""
    return float(f"{value:.10g}") + 0.0


def moved_gradient(gradient: Gradient, matrix: Matrix) -> Gradient:
    """A gradient moved with what it paints."""
    return replace(gradient, matrix=compose(matrix, gradient.matrix))


def moved_gradients(gradients: NDArray[Any], matrix: Matrix) -> NDArray[Any]:
    """(n,) gradients or None, as the column of a drawing holds them, moved with their shapes."""
    return each_changed(gradients, moved_gradient, [matrix] * len(gradients))


def each_changed(
    gradients: NDArray[Any], change: Callable[[Gradient, Any], Gradient], given: Sequence[Any]
) -> NDArray[Any]:
    """(n,) gradients or None, each changed by what is given for its shape; one that many shapes share, once."""
    done: dict[tuple[int, Any], Gradient] = {}
    found = gradients.copy()
    for index in np.flatnonzero(gradients != None).tolist():  # noqa: E711 - elementwise
        key = (id(gradients[index]), given[index])
        if key not in done:
            done[key] = change(gradients[index], given[index])
        found[index] = done[key]
    return found


def plain(gradient: Gradient) -> dict[str, Any]:
    """A gradient as JSON can hold it."""
    plain: dict[str, Any] = {
        "kind": "linear" if isinstance(gradient, LinearGradient) else "radial",
        "matrix": list(gradient.matrix),
        "spread": gradient.spread,
        "stops": [[stop.offset, stop.colour, stop.opacity] for stop in gradient.stops],
    }
    if isinstance(gradient, RadialGradient):
        plain["focal"] = list(gradient.focal)
    return plain


def from_plain(plain: Mapping[str, Any]) -> Gradient:
    """What `plain` wrote. Raises KeyError, TypeError or ValueError."""
    stops = tuple(Stop(share(offset), colour(text), share(opacity)) for offset, text, opacity in plain["stops"])
    return gradient_of(plain["kind"], stops, plain["matrix"], plain["spread"], plain.get("focal", (0.0, 0.0)))


def gradient_of(
    kind: str, stops: tuple[Stop, ...], matrix: Iterable[float], spread: str, focal: Iterable[float]
) -> Gradient:
    """A gradient from what was read. Raises TypeError or ValueError for what is none."""
    numbers = tuple(float(value) for value in matrix)
    if len(numbers) != 6 or not np.isfinite(numbers).all():
        raise ValueError("a gradient's matrix is not six numbers")
    if kind not in ("linear", "radial") or spread not in SPREADS or len(stops) > MOST_STOPS:
        raise ValueError("a gradient is damaged")
    a, b, c, d, e, f = numbers
    if kind == "linear":
        return LinearGradient(stops, (a, b, c, d, e, f), spread)
    x, y = (float(value) for value in focal)
    if not x * x + y * y < 1:
        raise ValueError("a gradient's focal point is outside its circle")
    return RadialGradient(stops, (a, b, c, d, e, f), spread, (x, y))


def share(value: Any) -> float:
    """A number from 0 to 1. Raises TypeError or ValueError."""
    number = float(value)
    if not 0 <= number <= 1:
        raise ValueError(f"{number!r} is not from 0 to 1")
    return number


def colour(text: Any) -> str:
    """A colour of the wire. Raises ValueError for anything else."""
    if not isinstance(text, str) or len(text) != 7 or text[0] != "#" or set(text[1:]) - set("0123456789abcdef"):
        raise ValueError(f"{str(text)[:40]!r} is no colour of the wire, which are #rrggbb")
    return text
