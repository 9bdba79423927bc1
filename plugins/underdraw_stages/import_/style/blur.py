"""How far a filter that only blurs lets an edge fade.

Source: SVG 1.1 (2nd ed.), section 15.17, feGaussianBlur.
"""

import math

from lxml import etree

from underdraw_stages.import_.file.user_units import numbers

EDGE = math.sqrt(2 * math.pi)  # standard deviations: how far an edge goes, if it fades as steeply as in its middle


def blur_of(effect: etree._Element | None) -> float | None:
    """User units over which edges fade; None for a filter that does anything else, or for none at all.

    The mean of both directions where it blurs one more. One blur after another adds up in squares.
    """
    if effect is None or effect.get("primitiveUnits") == "objectBoundingBox":
        return None
    steps = [step for step in effect if isinstance(step.tag, str) and etree.QName(step).localname.startswith("fe")]
    if not steps or any(etree.QName(step).localname != "feGaussianBlur" for step in steps):
        return None
    square = 0.0
    for step in steps:
        deviation = numbers(step.get("stdDeviation", "0"))[:2] or [0.0]
        square += max(0.0, sum(deviation) / len(deviation)) ** 2
    return EDGE * math.sqrt(square)
