"""The five kinds of ink, with the common practice of each."""

from underdraw import Ink, hookimpl

INCH_A_MINUTE = 25.4 / 60  # in mm/s
COMMON = "common practice, no source"

INKS = [
    Ink(
        name="permanent",
        help="alcohol-based permanent marker",
        speed=60 * INCH_A_MINUTE,
        wants_spring=True,
        seal_before_resin=True,
        fades_soon=False,
        source=COMMON,
        default=True,
    ),
    Ink(
        name="oil-paint",
        help="oil-based paint marker with a pumped nib",
        speed=30 * INCH_A_MINUTE,
        wants_spring=False,
        seal_before_resin=True,
        fades_soon=True,
        nib_gives=0.5,
        source=f"{COMMON}; how far its nib gives is from memory",
    ),
    Ink(
        name="acrylic-paint",
        help="water-based acrylic paint marker with a pumped nib",
        speed=30 * INCH_A_MINUTE,
        wants_spring=False,
        seal_before_resin=False,
        fades_soon=True,
        nib_gives=0.5,
        source=f"{COMMON}; how far its nib gives is from memory",
    ),
    Ink(
        name="pencil",
        help="graphite or coloured pencil, kept sharp",
        speed=60 * INCH_A_MINUTE,
        wants_spring=True,
        seal_before_resin=True,
        fades_soon=False,
        source=f"{COMMON}; its speed and its smearing under a coat are from memory",
    ),
    Ink(
        name="ballpoint",
        help="ballpoint pen",
        speed=60 * INCH_A_MINUTE,
        wants_spring=True,
        seal_before_resin=True,
        fades_soon=False,
        source=f"{COMMON}; its speed and its running under a coat are from memory",
    ),
]


@hookimpl
def underdraw_inks() -> list[Ink]:
    """The five inks."""
    return INKS
