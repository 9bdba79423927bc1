"""Which strokes go into which program: the chosen run of strokes, its loads, and how they are split into files."""

import re
import unicodedata
from dataclasses import dataclass

from underdraw import Context, Controller, Drawing
from underdraw.errors import CannotDo
from underdraw.machine.loads import Load
from underdraw_stages.gcode import GcodeSettings

LONGEST_WORD = 50  # characters of a file's name that a marker gives; file systems take some 250 bytes in all


@dataclass(frozen=True)
class ProgramFile:
    """The loads that one program draws; `label` tells its file from others."""

    label: str
    loads: tuple[Load, ...]

    @property
    def runs(self) -> list[tuple[int, int]]:
        """First and last strokes of each load."""
        return [(load.first, load.last) for load in self.loads]


def chosen_strokes(drawing: Drawing, settings: GcodeSettings) -> tuple[int, int]:
    """The first and last stroke to draw. Raises CannotDo where the drawing has no strokes, or not these."""
    if not len(drawing):
        raise CannotDo("no strokes are left to draw")
    if not drawing.is_strokes:
        raise CannotDo(
            "the drawing still holds shapes: a program wants strokes, one path each and no fill; tidy it first "
            "(underdraw tidy, then underdraw order)"
        )
    first, last = settings.from_ or 1, settings.to or len(drawing)
    if first > len(drawing) or last > len(drawing):
        raise CannotDo(f"the drawing has {len(drawing)} strokes; --from {first} --to {last} asks for more")
    if first > last:
        raise CannotDo(f"--from {first} lies after --to {last}: nothing would be drawn")
    return first, last


def program_files(loads: list[Load], split: str, controller: Controller, context: Context) -> list[ProgramFile]:
    """Loads in programs: all in one, one for each marker, or one each; a controller without a pause takes one each."""
    if split != "load" and not controller.pauses and len(loads) > 1:
        context.warn(f"controller {controller.name!r} cannot pause for a marker swap: a file for each load is written")
        split = "load"
    if split == "none" or len(loads) == 1:
        return [ProgramFile("", tuple(loads))]
    if split == "load":
        return [
            ProgramFile(f"{index:0{len(str(len(loads)))}d}-{file_word(load.marker.name)}", (load,))
            for index, load in enumerate(loads, 1)
        ]
    names = list(dict.fromkeys(load.marker.name for load in loads))
    words = [file_word(name) for name in names]
    if len({unicodedata.normalize("NFC", word).casefold() for word in words}) < len(
        words
    ):  # some disks are blind to case
        words = [f"{index}-{word}" for index, word in enumerate(words, 1)]
    held = [
        ProgramFile(word, tuple(load for load in loads if load.marker.name == name))
        for name, word in zip(names, words, strict=True)
    ]
    return held if len(held) > 1 else [ProgramFile("", tuple(loads))]


def file_word(name: str) -> str:
    """A marker's name as part of a file's: letters, digits, - and _ of any script.

    >>> file_word("gold / fine")
    'gold-fine'
    """
    return re.sub(r"[^\w-]+", "-", name).strip("-")[:LONGEST_WORD] or "marker"
