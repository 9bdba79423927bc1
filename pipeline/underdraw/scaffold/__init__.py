"""The files of a new plugin, from templates: a distribution ready to install, or one file to name in a job."""

import importlib.util
import keyword
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from underdraw import __version__
from underdraw.errors import InputError
from underdraw.plugins import reserved
from underdraw.plugins.hookspecs import HOOKS_VERSION
from underdraw.plugins.registry import WORD, Registry

if TYPE_CHECKING:
    from underdraw.plugins.catalogue import Parts

KINDS = ("controller", "stage", "holder")
TEMPLATES = "templates"

# Where each template's text goes, for a distribution. A stage's own work is a module apart: what is declared must be
# cheap to import, so that the command line starts at once.
_EVERY = {
    "pyproject.toml": "pyproject.toml.jinja",
    "README.md": "readme.md.jinja",
    "tests/test_{package}.py": "{kind}_test.py.jinja",
}
_LAYOUT: Mapping[str, Mapping[str, str]] = {
    "controller": {**_EVERY, "src/{package}/__init__.py": "controller.py.jinja"},
    "holder": {**_EVERY, "src/{package}/__init__.py": "holder.py.jinja"},
    "stage": {
        **_EVERY,
        "src/{package}/__init__.py": "stage_declared.py.jinja",
        "src/{package}/stage.py": "stage_work.py.jinja",
    },
}
_SINGLE = {"controller": "controller.py.jinja", "holder": "holder.py.jinja", "stage": "stage_single.py.jinja"}


def plugin_files(kind: str, name: str, registry: Registry, *, single_file: bool = False) -> dict[str, bytes]:
    """The files of a new plugin by their place, with slashes, in the folder where it is put.

    Raises InputError for a name that cannot be a part's and a package's, or that is taken.
    """
    check_name(kind, name, registry)
    package = name.replace("-", "_")
    words = {
        "kind": kind,
        "name": name,
        "package": package,
        "class_name": "".join(word.capitalize() for word in package.split("_")),
        "constant": package.upper(),
        "hooks_version": HOOKS_VERSION,
        "host_version": ".".join(__version__.split(".")[:2]),
        "ranked": registry.ranked_stages(),
        "chain": chain_with(name, registry),
    }
    if single_file:
        return {place_of(name, single_file=True): _rendered(_SINGLE[kind], words)}
    return {
        f"{name}/{place.format(**words)}": _rendered(template.format(**words), words)
        for place, template in _LAYOUT[kind].items()
    }


def chain_with(name: str, registry: Registry) -> list[str]:
    """The chain of all ranked stages with one of one's own in it, before the last step."""
    stages = registry.ranked_stages()
    steps = [index for index, stage in enumerate(stages) if stage.kind == "step"]
    names = [stage.name for stage in stages]
    names.insert(steps[-1] if steps else len(names), name)
    return names


def place_of(name: str, *, single_file: bool = False) -> str:
    """The folder of a new distribution, or its one file. Raises InputError for a name that cannot be a package's."""
    if not WORD.fullmatch(name) or not name[0].isalpha() or name.endswith("-") or "--" in name:
        raise InputError(f"{name!r} cannot name a plugin; use small letters, digits and hyphens, such as moon-vine")
    return f"{name.replace('-', '_')}.py" if single_file else name


def check_name(kind: str, name: str, registry: Registry) -> None:
    """Raise InputError for a name that cannot be a part's and a package's, or that is taken."""
    place_of(name)
    installed: dict[str, Parts[Any]] = {
        "controller": registry.controllers,
        "stage": registry.stages,
        "holder": registry.holders,
    }
    parts = installed[kind]
    if name in parts:
        raise InputError(f"there is a {kind} {name!r} already, of {parts.owner(name)}; use another name")
    if kind == "stage" and (name in reserved.COMMANDS or name in reserved.JOB_KEYS):
        raise InputError(f"{name!r} is a word of the host; use another name")
    package = name.replace("-", "_")
    if keyword.iskeyword(package) or importlib.util.find_spec(package) is not None:
        raise InputError(f"there is a Python module {package!r} already, or a word of Python's; use another name")


def _rendered(template: str, words: Mapping[str, Any]) -> bytes:
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader(__name__, TEMPLATES),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return environment.get_template(template).render(words).encode()
