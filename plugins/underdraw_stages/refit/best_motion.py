"""The rigid motion that brings one set of points nearest to another, by least squares.

W. Kabsch, 'A solution for the best rotation to relate two sets of vectors', Acta Crystallographica A32 (1976); S.
Umeyama, 'Least-squares estimation of transformation parameters between two point patterns', IEEE Transactions on
Pattern Analysis and Machine Intelligence 13 (1991), for the rule that keeps mirror images out, and for the scale.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from underdraw.panel.lying import turn_matrix

Points = NDArray[np.float64]


@dataclass(frozen=True)
class BestMotion:
    """y = R·x + shift, R a turn by `angle_deg` counter-clockwise (y up); lengths in mm.

    residuals: (n, 2) what is left at each point, measured minus moved. scale: the factor that would fit better; it is
    not in the motion.
    """

    angle_deg: float
    shift: Points
    residuals: Points
    scale: float


def best_motion(here: Points, there: Points) -> BestMotion:
    """The motion that brings (n, 2) points `here` nearest to `there`, n of at least 2, not all in one spot."""
    middle, target = here.mean(axis=0), there.mean(axis=0)
    a, b = here - middle, there - target
    u, spread, vt = np.linalg.svd(a.T @ b)
    upright = np.array([1.0, np.sign(np.linalg.det(u @ vt)) or 1.0])  # a turn, never a mirror image
    turn = (vt.T * upright) @ u.T
    shift = target - turn @ middle
    return BestMotion(
        angle_deg=float(np.degrees(np.arctan2(turn[1, 0], turn[0, 0]))),
        shift=shift,
        residuals=there - (here @ turn.T + shift),
        scale=float((spread * upright).sum() / (a * a).sum()),
    )


def off_from_the_others(here: Points, there: Points) -> NDArray[np.float64]:
    """(n,) mm: how far each point is from where all the others put it; n of at least 3."""
    off = np.empty(len(here))
    for index in range(len(here)):
        others = np.arange(len(here)) != index
        motion = best_motion(here[others], there[others])
        off[index] = np.hypot(*(there[index] - (turn_matrix(motion.angle_deg) @ here[index] + motion.shift)))
    return off
