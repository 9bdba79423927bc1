"""Gradients in bands of one colour each: every way of spreading, linear and radial, turned and stretched at random."""

import numpy as np

from underdraw.drawing.paint.gradients import Gradient, LinearGradient, RadialGradient, Stop

PLAIN = ("#f4c95d", "#2d7f53", "#6f3aa5", "#101840", "#e04040")


def banded(random: np.random.Generator, side: float) -> Gradient:
    """One over a square of `side` mm; no band of it is narrower than a thirtieth of that."""
    count = int(random.integers(2, 4))
    bounds = np.linspace(0, 1, count + 1) + random.uniform(-0.1, 0.1, count + 1) / count
    bounds = np.clip(bounds, 0.0, 1.0).round(3)
    colours = random.choice(PLAIN, count, replace=False).tolist()
    stops = tuple(
        Stop(float(offset), colour)
        for colour, ends in zip(colours, np.stack([bounds[:-1], bounds[1:]], axis=1).tolist(), strict=True)
        for offset in ends
    )
    spread = ("pad", "reflect", "repeat")[int(random.integers(3))]
    turn, size = random.uniform(0, 2 * np.pi), side * random.uniform(0.25, 0.5)
    squeeze = random.uniform(0.7, 1.0)
    a, b, c, d = size * np.cos(turn), size * np.sin(turn), -size * squeeze * np.sin(turn), size * squeeze * np.cos(turn)
    x, y = random.uniform(0.3, 0.7, 2) * side
    matrix = (float(a), float(b), float(c), float(d), float(x), float(y))
    if random.random() < 0.5:
        return LinearGradient(stops, matrix, spread)
    fx, fy = random.uniform(-0.4, 0.4, 2).tolist()
    return RadialGradient(stops, matrix, spread, (fx, fy))
