"""Which elements are asked for: layers by name, languages and `switch`; and the listing of layers."""

from collections import Counter
from collections.abc import Mapping

from lxml import etree

from underdraw.errors import InputError
from underdraw.job.settings import did_you_mean
from underdraw.words.plain_text import for_terminal
from underdraw_stages.import_.shapes.found_shape import FoundShape
from underdraw_stages.import_.shapes.inherited_state import Group

LONGEST_LISTED, MOST_NAMES = 60, 5  # characters of a name, and names beside the first, in the listing of layers
GROUPS = {"g", "svg", "a", "symbol", "switch"}


def label_of(attributes: Mapping[str, str]) -> str:
    """What a drawing program calls the layer: an attribute `label` of any namespace, or `data-name`."""
    for name, value in attributes.items():
        if name == "data-name" or (name.endswith("label") and name.rpartition("}")[2] == "label"):
            return str(value).strip()
    return ""


def element_names(attributes: Mapping[str, str]) -> tuple[str, ...]:
    """Every name an element goes by: label, id, classes."""
    label, name, classes = label_of(attributes), attributes.get("id"), attributes.get("class")
    if not label and not classes:
        return (name.strip(),) if name and name.strip() else ()
    found = [label, (name or "").strip(), *(classes or "").split()]
    return tuple(dict.fromkeys(name for name in found if name))


class Selection:
    """Layers to leave out, and the only ones to take."""

    def __init__(self, skip: tuple[str, ...] = (), only: tuple[str, ...] = ()) -> None:
        self.skip, self.only = set(skip), set(only)
        self._met: set[str] = set()

    def __bool__(self) -> bool:
        return bool(self.skip or self.only)

    def skips(self, names: tuple[str, ...]) -> bool:
        """Whether an element of these names is to be left out."""
        if not self.skip:
            return False
        met = self.skip.intersection(names)
        self._met |= met
        return bool(met)

    def takes(self, names: tuple[str, ...]) -> bool:
        """Whether an element of these names is one of those asked for (all are, where none was)."""
        if not self.only:
            return True
        met = self.only.intersection(names)
        self._met |= met
        return bool(met)

    def check(self, root: etree._Element, file: str) -> list[str]:
        """Complain of names that no element has.

        Raises InputError for `only`, and for a `skip` that is nearly a name in the file: most likely a slip, and
        it would draw what should stay off the canvas. Returns a warning for each other `skip`.
        """
        unmet = sorted((self.skip | self.only) - self._met)
        if not unmet:
            return []
        known = tuple(dict.fromkeys(name for element in root.iter("*") for name in element_names(element.attrib)))
        warnings: list[str] = []
        for name in unmet:
            if name in known:
                continue  # inside another skipped layer, or in what is never drawn
            advice = did_you_mean(name, known)
            if name in self.only or advice != repr(name):
                raise InputError(f"no layer {advice}; --layers lists them", file=file)
            warnings.append(f"no layer {advice} to skip in {file}; --layers lists them")
        return warnings


def conditions_hold(attributes: Mapping[str, str], language: str) -> bool:
    """Whether an element's conditions let it be drawn for a reader of `language`; features count as there.

    Source: SVG 1.1 (2nd ed.), section 5.8.
    """
    if "requiredExtensions" in attributes:
        return False  # no extension is known here, and an empty list is false by the standard
    languages = attributes.get("systemLanguage")
    if languages is None:
        return True
    wanted = language.lower()
    tags = [tag.strip().lower() for tag in languages.split(",")]
    return any(tag == wanted or tag.startswith(wanted + "-") for tag in tags if tag)


def choose_of_switch(switch: etree._Element, language: str, drawable: set[str]) -> etree._Element | None:
    """The first direct child whose conditions hold, or None. Children that are never drawn do not count."""
    for child in switch:
        if (
            isinstance(child.tag, str)
            and etree.QName(child).localname in drawable
            and conditions_hold(child.attrib, language)
        ):
            return child
    return None


def listing(groups: list[Group], items: list[FoundShape]) -> str:
    """One line a named group, indented by depth: shapes in it at any depth, and their colours. Copies are one."""
    colours: dict[tuple[tuple[str, ...], ...], Counter[str]] = {group.path: Counter() for group in groups}
    loose: Counter[str] = Counter()
    for item in items:
        for group in item.groups:
            colours[group.path][item.colour] += 1
        if not item.groups:
            loose[item.colour] += 1
    called = {group.path: _called(group) for group in groups}
    rows = [(called[path], found) for path, found in colours.items()]
    if loose:
        rows.append(("(in no named group)", loose))
    if not rows:
        return "no named groups and no shapes\n"
    wide = max(len(name) for name, _ in rows)
    counts = [(name, sum(found.values()), found) for name, found in rows]
    return "".join(
        f"{name:<{wide}}  {count:>6,} {'shape ' if count == 1 else 'shapes'}  {_most_used(found)}".rstrip() + "\n"
        for name, count, found in counts
    )


def _called(group: Group) -> str:
    named = [for_terminal(name, LONGEST_LISTED) for name in group.names[: MOST_NAMES + 1]]
    others = f" [{' '.join(named[1:])}]" if len(named) > 1 else ""
    return f"{'  ' * (len(group.path) - 1)}{named[0]}{others}{' (hidden)' if group.hidden else ''}"


def _most_used(colours: Counter[str], most: int = 6) -> str:
    named = [f"{colour} {count:,}" for colour, count in colours.most_common(most)]
    return ", ".join(named + (["…"] if len(colours) > most else []))
