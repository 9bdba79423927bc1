"""Which strokes go into which program: the loads of those that were chosen, and how they are split into files."""

import re
import unicodedata
from dataclasses import dataclass, replace

import numpy as np

from underdraw import Context, Controller
from underdraw.machine.loads import Load
from underdraw_stages.gcode.chosen import Chosen

LONGEST_WORD = 50  # characters of a file's name that a marker gives; file systems take some 250 bytes in all


@dataclass(frozen=True)
class ProgramFile:
    """The loads that one program draws; `label` distinguishes its file. chosen: the strokes that they count in."""

    label: str
    loads: tuple[Load, ...]
    chosen: Chosen
    asks: bool = True  # whether a program may wait for its first marker; False: it is put in before the start

    @property
    def runs(self) -> list[tuple[int, int]]:
        """First and last strokes of each run within a load, by their numbers in the whole."""
        return [run for load in self.loads for run in self.runs_of(load)]

    def runs_of(self, load: Load) -> list[tuple[int, int]]:
        """The same of one load."""
        numbers = self.chosen.numbers[load.first - 1 : load.last]
        parts = np.split(numbers, np.flatnonzero(np.diff(numbers) > 1) + 1)
        return [(int(part[0]), int(part[-1])) for part in parts]

    @property
    def begins(self) -> float:
        """The share of its first stroke that is left out."""
        return self.chosen.begins if self.loads[0].first == 1 else 0.0

    @property
    def announces(self) -> bool:
        """Whether the operator is asked for the first marker before it is used: the holder may have another."""
        return self.asks and self.chosen.carries_on and self.loads[0].first == 1


def of_section(held: list[ProgramFile], section: int) -> list[ProgramFile]:
    """The same programs, named after the section that they draw; as they are where the board is drawn in one go."""
    if not section:
        return held
    return [replace(file, label=f"section-{section}{'-' if file.label else ''}{file.label}") for file in held]


def program_files(chosen: Chosen, split: str, controller: Controller, context: Context) -> list[ProgramFile]:
    """Loads in programs: all in one, one for each marker, or one each; a controller without a pause takes one each."""
    loads = chosen.loads
    if split != "load" and not controller.pauses and len(loads) > 1:
        context.warn(f"controller {controller.name!r} cannot pause for a marker swap: a file for each load is written")
        split = "load"
    if split == "none" or len(loads) == 1:
        return [ProgramFile("", loads, chosen, asks=split != "load")]
    if split == "load":
        return [
            ProgramFile(f"{index:0{len(str(len(loads)))}d}-{file_word(load.marker.name)}", (load,), chosen, asks=False)
            for index, load in enumerate(loads, 1)
        ]
    names = list(dict.fromkeys(load.marker.name for load in loads))
    words = [file_word(name) for name in names]
    if len({unicodedata.normalize("NFC", word).casefold() for word in words}) < len(
        words
    ):  # some disks are blind to case
        words = [f"{index}-{word}" for index, word in enumerate(words, 1)]
    held = [
        ProgramFile(word, tuple(load for load in loads if load.marker.name == name), chosen)
        for name, word in zip(names, words, strict=True)
    ]
    return held if len(held) > 1 else [ProgramFile("", loads, chosen)]


def file_word(name: str) -> str:
    """A marker's name as part of a file's: letters, digits, - and _ of any script.

    >>> file_word("gold / fine")
    'gold-fine'
    """
    return re.sub(r"[^\w-]+", "-", name).strip("-")[:LONGEST_WORD] or "marker"
