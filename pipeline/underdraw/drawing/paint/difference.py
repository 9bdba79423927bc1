"""How different two colours look: CIEDE2000, where 1 is about the least difference that is seen side by side.

G. Sharma, W. Wu, E. N. Dalal, 'The CIEDE2000 color-difference formula: implementation notes, supplementary test data,
and mathematical observations', Color Research and Application 30 (2005). sRGB to CIELAB: IEC 61966-2-1, D65.
"""

import numpy as np

from underdraw.drawing.ragged import Floats

TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])  # IEC 61966-2-1
WHITE = TO_XYZ.sum(axis=1)
KNEE = 6 / 29  # of CIELAB's cube root, below which it is a straight line


def lab(rgb: Floats) -> Floats:
    """(…, 3) CIELAB of (…, 3) sRGB from 0 to 1."""
    rgb = np.clip(rgb, 0.0, 1.0)
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    share = (linear @ TO_XYZ.T) / WHITE
    root = np.where(share > KNEE**3, np.cbrt(share), share / (3 * KNEE**2) + 4 / 29)
    x, y, z = np.moveaxis(root, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def ciede2000(one: Floats, other: Floats) -> Floats:
    """(n,) differences of (n, 3) CIELAB colours; equation numbers are those of the paper."""
    (l1, a1, b1), (l2, a2, b2) = one.T, other.T
    mean = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7  # (2), (3)
    grey = 0.5 * (1 - np.sqrt(mean / (mean + 25.0**7)))  # (4)
    a1, a2 = (1 + grey) * a1, (1 + grey) * a2  # (5)
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)  # (6)
    h1, h2 = (np.degrees(np.arctan2(b, a)) % 360 for a, b in ((a1, b1), (a2, b2)))  # (7)
    coloured = c1 * c2 != 0
    turn = np.where(coloured, (h2 - h1 + 180) % 360 - 180, 0.0)  # (10)
    turn = np.where(coloured & (np.abs(h2 - h1) == 180), h2 - h1, turn)
    lightness, chroma = l2 - l1, c2 - c1  # (8), (9)
    hue = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2))  # (11)
    l_mean, c_mean = (l1 + l2) / 2, (c1 + c2) / 2  # (12), (13)
    total = h1 + h2  # (14)
    wide = np.abs(h1 - h2) > 180
    h_mean = np.where(coloured, np.where(wide, np.where(total < 360, total + 360, total - 360), total) / 2, total)
    t = (  # (15)
        1
        - 0.17 * np.cos(np.radians(h_mean - 30))
        + 0.24 * np.cos(np.radians(2 * h_mean))
        + 0.32 * np.cos(np.radians(3 * h_mean + 6))
        - 0.20 * np.cos(np.radians(4 * h_mean - 63))
    )
    blue = 30 * np.exp(-(((h_mean - 275) / 25) ** 2))  # (16)
    rotation = 2 * np.sqrt(c_mean**7 / (c_mean**7 + 25.0**7))  # (17)
    light = 1 + 0.015 * (l_mean - 50) ** 2 / np.sqrt(20 + (l_mean - 50) ** 2)  # (18)
    strong, tint = 1 + 0.045 * c_mean, 1 + 0.015 * c_mean * t  # (19), (20)
    turned = -np.sin(np.radians(2 * blue)) * rotation  # (21)
    parts = (lightness / light) ** 2 + (chroma / strong) ** 2 + (hue / tint) ** 2  # (22)
    return np.asarray(np.sqrt(np.maximum(parts + turned * (chroma / strong) * (hue / tint), 0.0)))
