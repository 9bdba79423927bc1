"""What an independent renderer (resvg) shows of an SVG, as numbers."""

import functools
import io

import numpy as np
import resvg_py
from numpy.typing import NDArray
from PIL import Image


def rendered(svg: str, width: int) -> NDArray[np.float64]:
    """(h, w, 3) the picture on a white page, so many pixels wide; 0 to 255."""
    picture = pixels(_png(svg, width, sans_serif()))
    opacity = picture[..., 3:] / 255
    return np.asarray(picture[..., :3] * opacity + 255 * (1 - opacity))


def _png(svg: str, width: int, sans_serif: str | None) -> bytes:
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, width=width, dpi=96.0, sans_serif_family=sans_serif))


@functools.cache
def sans_serif() -> str | None:
    """A family that this machine has: without one, text would be left out and no test of it could fail."""
    letter = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><text y="8" font-family="sans-serif">8</text></svg>'
    )
    for family in (None, "DejaVu Sans", "Liberation Sans", "Noto Sans", "FreeSans"):  # its own choice first
        if pixels(_png(letter, 9, family)).any():
            return family
    raise AssertionError("the renderer finds no font to draw letters with; install DejaVu Sans")


def pixels(png: bytes) -> NDArray[np.uint8]:
    """(height, width, 4) of a picture: red, green, blue, opacity."""
    with Image.open(io.BytesIO(png)) as picture:
        return np.asarray(picture.convert("RGBA"))
