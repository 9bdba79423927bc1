"""The lines of a small night garden, made here for the tests of `gcode`: invented data."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def circle(x: float, y: float, r: float, points: int = 90) -> NDArray[np.float64]:
    turn = np.linspace(0, 2 * np.pi, points)
    held = np.stack([x + r * np.cos(turn), y + r * np.sin(turn)], axis=1)
    held[-1] = held[0]
    return held


def bezier(ends: ArrayLike, points: int = 200) -> NDArray[np.float64]:
    t = np.linspace(0, 1, points)[:, None]
    a, b, c, d = np.asarray(ends, dtype=np.float64)
    return (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d


def night_garden() -> list[NDArray[np.float64]]:
    """Vine, moon, moths, leaves and a star: curves, corners, closed strokes, a long straight line, a dot."""
    vine = bezier([(20, 230), (150, 180), (20, 90), (170, 20)])
    moon = circle(150, 60, 30)
    moth = np.vstack(
        [bezier([(60, 60), (40, 30), (20, 50), (58, 66)]), bezier([(58, 66), (20, 80), (44, 95), (60, 60)])[1:]]
    )
    leaf = np.array([(100, 150), (120, 140), (140, 150), (120, 160), (100, 150)], dtype=np.float64)
    spiral_turn = np.linspace(0, 6 * np.pi, 400)
    tendril = np.stack(
        [60 + 2 * spiral_turn * np.cos(spiral_turn), 150 + 2 * spiral_turn * np.sin(spiral_turn)], axis=1
    )
    star = np.array([(170, 200), (180, 220), (165, 208), (185, 208), (168, 220), (170, 200)], dtype=np.float64)
    ground = np.array([(5, 235), (195, 235)], dtype=np.float64)
    dot = np.array([(100.0, 200.0), (100.0, 200.0)])
    return [vine, moon, moth, leaf, tendril, star, ground, dot]
