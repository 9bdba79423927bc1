"""What the strokes are made of, kept for whoever compares them with it: pictures, and checks of how they will read."""

import numpy as np
import shapely

from underdraw.drawing.drawing import Drawing
from underdraw.drawing.facts import Artwork
from underdraw.drawing.wire import path_data

KEPT_MM = 0.02  # how near its outlines are kept: finer than any tip shows
DECIMALS = 2


def kept_artwork(drawing: Drawing) -> Artwork | None:
    """The shapes that paint something; None where these are strokes already, with nothing else to compare them to."""
    if drawing.artwork is not None:
        return drawing.artwork
    if drawing.is_tidied:
        return None
    shown = drawing.select((drawing.fill != "") | (drawing.stroke != ""))
    shown = shown.with_lines(shapely.simplify(shown.shape_lines(), KEPT_MM, preserve_topology=False))
    shown = shown.replace(coords=np.round(shown.coords, DECIMALS))
    return Artwork(
        paths=tuple(path_data(shown)),
        fills=tuple(shown.fill.tolist()),
        evenodd=tuple(shown.evenodd.tolist()),
        strokes=tuple(shown.stroke.tolist()),
        widths=tuple(np.round(shown.stroke_width, DECIMALS).tolist()),
        fill_opacity=tuple(shown.fill_opacity.tolist()),
        stroke_opacity=tuple(shown.stroke_opacity.tolist()),
    )
