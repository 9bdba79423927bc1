"""A font file as outlines of letters, with what spaces them: advances and pair kerning."""

import logging
from functools import lru_cache
from pathlib import Path
from typing import Any

from fontTools.pens.basePen import BasePen
from fontTools.ttLib import TTFont, TTLibError

from underdraw.errors import InputError
from underdraw_stages.import_.outlines.path_data import Outline, Pen

logging.getLogger("fontTools").setLevel(logging.CRITICAL)  # its remarks on a font's tables are of no use to a painter


class _OutlinePen(BasePen):  # type: ignore[misc]  # fontTools has no types
    """Draws a glyph with the importer's own pen; components and quadratic runs are resolved by the base class."""

    def __init__(self, glyphs: Any) -> None:
        super().__init__(glyphs)
        self.pen = Pen()

    def _moveTo(self, to: tuple[float, float]) -> None:
        self.pen.move(*to)

    def _lineTo(self, to: tuple[float, float]) -> None:
        self.pen.line(*to)

    def _curveToOne(self, a: tuple[float, float], b: tuple[float, float], to: tuple[float, float]) -> None:
        self.pen.cubic(*a, *b, *to)

    def _qCurveToOne(self, a: tuple[float, float], to: tuple[float, float]) -> None:
        self.pen.quadratic(*a, *to)

    def _closePath(self) -> None:
        self.pen.close()

    def _endPath(self) -> None:
        pass


class Font:
    """One font. Outlines and advances are in font units, y up; `units` of them are the font size."""

    def __init__(self, path: Path, name: str) -> None:
        """Raises InputError where the file is no font that can be read."""
        try:
            font = TTFont(path, lazy=True, fontNumber=0)
            self.units = float(font["head"].unitsPerEm)
            self._names: dict[int, str] = font.getBestCmap() or {}
            self._glyphs = font.getGlyphSet()
            self._advances: Any = font["hmtx"]
        except OSError as error:
            raise InputError(f"cannot read the font: {error.strerror or error}", file=name) from None
        except (TTLibError, KeyError, AssertionError, ValueError, TypeError, IndexError) as error:
            raise InputError(f"no font that can be read ({error}); name a TTF or OTF file", file=name) from None
        if not self._names or self.units <= 0:
            raise InputError("the font has no letters; name another TTF or OTF file", file=name)
        self._pairs = _pair_lookups(font)
        self._old_pairs = _old_pairs(font)

    def has(self, letter: str) -> bool:
        """Whether the font can show a letter."""
        return ord(letter) in self._names

    @lru_cache(maxsize=4096)  # noqa: B019  # one font lives as long as its import
    def outline(self, letter: str) -> Outline | None:
        """The outline of a letter, or None for one without, such as a space."""
        pen = _OutlinePen(self._glyphs)
        self._glyphs[self._names[ord(letter)]].draw(pen)
        outline = pen.pen.outline()
        return outline if len(outline) else None

    def advance(self, letter: str) -> float:
        """How far the next letter stands from this one, before kerning."""
        return float(self._advances[self._names[ord(letter)]][0])

    def kerning(self, left: str, right: str) -> float:
        """What is added between two letters."""
        first, second = self._names[ord(left)], self._names[ord(right)]
        for lookup in self._pairs:
            found = _kern_of(lookup, first, second)
            if found is not None:
                return found
        return float(self._old_pairs.get((first, second), 0))


def _pair_lookups(font: Any) -> list[list[Any]]:
    """The pair adjustments of the feature `kern`, lookup by lookup. Source: OpenType 1.9, GPOS, lookup type 2."""
    if "GPOS" not in font or font["GPOS"].table.FeatureList is None or font["GPOS"].table.LookupList is None:
        return []
    table = font["GPOS"].table
    features = [record.Feature for record in table.FeatureList.FeatureRecord if record.FeatureTag == "kern"]
    indices = sorted({index for feature in features for index in feature.LookupListIndex})
    found = []
    for index in indices:
        subtables = [getattr(sub, "ExtSubTable", sub) for sub in table.LookupList.Lookup[index].SubTable]
        found.append([sub for sub in subtables if sub.LookupType == 2])
    return found


def _old_pairs(font: Any) -> dict[tuple[str, str], int]:
    """The pairs of a `kern` table, which fonts had before GPOS."""
    if "kern" not in font or "GPOS" in font:
        return {}
    return {pair: value for table in font["kern"].kernTables for pair, value in getattr(table, "kernTable", {}).items()}


def _kern_of(lookup: list[Any], first: str, second: str) -> float | None:
    """What a lookup's first matching subtable adds to the first glyph's advance."""
    for sub in lookup:
        if first not in sub.Coverage.glyphs:
            continue
        if sub.Format == 1:
            pairs = sub.PairSet[sub.Coverage.glyphs.index(first)].PairValueRecord
            record = next((pair for pair in pairs if pair.SecondGlyph == second), None)
            if record is None:
                continue
        else:
            one, two = sub.ClassDef1.classDefs.get(first, 0), sub.ClassDef2.classDefs.get(second, 0)
            record = sub.Class1Record[one].Class2Record[two]
        return float(getattr(record.Value1, "XAdvance", 0) or 0) if record.Value1 else 0.0
    return None
