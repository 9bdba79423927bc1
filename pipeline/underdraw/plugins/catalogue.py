"""Parts of one kind by name, each with the plugin that brings it."""

from collections.abc import Iterator, Mapping
from typing import Generic, TypeVar

from underdraw.errors import InputError
from underdraw.job.settings import did_you_mean

T = TypeVar("T")


class Plugin:
    """One plugin: where it came from, the names it brings, and what went wrong with it.

    `distribution` is its distribution, or the file that a job or the command line named; `module` is what its code
    is imported as, so that a fault can be laid at its door; `brings` maps a kind of part to names; `failures` has a
    line for each fault of its own, `clashes` one for each name that another plugin brings too, and `errors` what was
    raised.
    """

    def __init__(self, name: str, distribution: str, version: str = "", module: str = "") -> None:
        self.name = name
        self.distribution = distribution
        self.version = version
        self.module = module
        self.brings: dict[str, list[str]] = {}
        self.failures: list[str] = []
        self.clashes: dict[str, str] = {}
        self.errors: list[BaseException] = []

    def __str__(self) -> str:
        return f"{self.name} ({f'{self.distribution} {self.version}'.strip()})"

    @property
    def faults(self) -> list[str]:
        """One line for each thing that is wrong with it."""
        return [*self.failures, *self.clashes.values()]

    def failed(self, text: str, error: BaseException | None = None) -> None:
        """Note one fault, and what was raised."""
        self.failures.append(text)
        if error is not None:
            self.errors.append(error)


class Parts(Mapping[str, T], Generic[T]):
    """Parts of one kind by name; asking for one that is not there names those nearest to it.

    `unloaded_files`: plugin files that the job at hand names and that were not loaded.
    """

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self.unloaded_files: tuple[str, ...] = ()
        self._held: dict[str, T] = {}
        self._owners: dict[str, list[Plugin]] = {}

    def add(self, name: str, part: T, owner: Plugin) -> None:
        """Take a part; a name that is brought twice is withdrawn, and whoever asks for it learns who brought it."""
        owner.brings.setdefault(self.kind, []).append(name)
        owners = self._owners.setdefault(name, [])
        owners.append(owner)
        if len(owners) == 1:
            self._held[name] = part
            return
        self._held.pop(name, None)
        for plugin in dict.fromkeys(owners):
            plugin.clashes[f"{self.kind} {name}"] = self._clash(name)

    def put(self, name: str, part: T, owner: Plugin) -> None:
        """Take a part in the place of any other of its name: a contract tries it out."""
        self._held[name] = part
        self._owners[name] = [owner]

    def owner(self, name: str) -> Plugin:
        """The plugin that brings this part."""
        return self._owners[name][0]

    def is_claimed_twice(self, name: str) -> bool:
        """Whether more than one plugin brings this name, so that it is nobody's."""
        return len(self._owners.get(name, ())) > 1

    def find(self, name: str) -> T:
        """The part of that name. Raises InputError that names the nearest one, or the plugins that both bring it."""
        if name in self._held:
            return self._held[name]
        if self.is_claimed_twice(name):
            raise InputError(f"{self._clash(name)}; one of them has to go")
        known = ", ".join(self._held) or "none is installed"
        raise InputError(f"there is no {self.kind} {did_you_mean(name, self)}; installed: {known}{self._unloaded()}")

    def default(self, name: str | None = None) -> T:
        """The part of that name, or for None the one declared as the default.

        Raises InputError, also where two say so: which one was meant decides where a drawing lands.
        """
        if name is not None:
            return self.find(name)
        chosen = [key for key, part in self._held.items() if getattr(part, "default", False)]
        if not chosen:
            raise InputError(f"no {self.kind} was named and no plugin brings a default one{self._unloaded()}")
        if len(chosen) > 1:
            claims = " and ".join(f"{key!r} of {self.owner(key)}" for key in chosen)
            raise InputError(f"no {self.kind} was named, and each of {claims} is declared as the default; name one")
        return self._held[chosen[0]]

    def _clash(self, name: str) -> str:
        """Who brings one name, in words."""
        owners = [str(owner) for owner in dict.fromkeys(self._owners[name])]
        who = " and ".join(owners) if len(owners) > 1 else f"{''.join(owners)} twice"
        return f"{self.kind} {name!r} is brought by {who}"

    def _unloaded(self) -> str:
        if not self.unloaded_files:
            return ""
        options = " ".join(f"--plugin {file}" for file in self.unloaded_files)
        return (
            f"; the drawing's job names plugin files, which a drawing never loads by itself: underdraw {options} … "
            "would load them"
        )

    def __getitem__(self, name: str) -> T:
        return self._held[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._held)

    def __len__(self) -> int:
        return len(self._held)


def one_line(error: BaseException) -> str:
    """An exception in one line: its kind and its text."""
    text = " ".join(str(error).split())
    return f"{type(error).__name__}: {text}" if text else type(error).__name__
