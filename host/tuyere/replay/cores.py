"""The core that recorded a cook: today's, or one whose source the logbook keeps, as a package of its own.

A kept source is run as it is, so a replay trusts the logbook as much as the program itself; that its hash is that
of the source is checked first.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Sequence
from functools import cache
from importlib.abc import InspectLoader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_loader
from types import ModuleType
from typing import Any

from tuyere import staging
from tuyere.logbook import Logbook
from tuyere.logbook.errors import NoSuchEntry

NAMED = 16  # hex digits of a core's hash in a state record


class BadCore(Exception):
    """A kept source cannot be run; one sentence for a person."""


class Core:
    """One core: its records, its field table and `cycle`. `name` is as much of its hash as a state record holds."""

    def __init__(self, name: str, package: ModuleType, today: bool) -> None:
        self.name, self.package, self.today = name, package, today
        self.fields = importlib.import_module(f"{package.__name__}.fields")
        self.cycle: Any = package.cycle
        self.Now: Any = package.Now
        self.Memory: Any = package.Memory
        self.Out: Any = package.Out
        self.Settings: Any = package.Settings
        tables = {"now": self.fields.NOW, "out": self.fields.OUT, "memory": self.fields.MEMORY}
        tables["settings"] = self.fields.SETTINGS
        # part -> name -> (count, scale, unit, help)
        self.table: dict[str, dict[str, tuple[int, int, str, str]]] = {}
        kinds = {"now": self.Now, "out": self.Out, "memory": self.Memory, "settings": self.Settings}
        for part, rows in tables.items():
            names = [(name, count) for name, count in kinds[part].NAMES]
            self.table[part] = {
                name: (count, row[2], row[1], row[6]) for (name, count), row in zip(names, rows, strict=True)
            }

    def module(self, name: str) -> ModuleType:
        """One of its files, say `law`; ImportError if it has none of that name."""
        return importlib.import_module(f"{self.package.__name__}.{name}")


@cache
def today() -> Core:
    """The core this program came with."""
    return Core(staging.core_hash()[:NAMED], importlib.import_module("hearth.core"), True)


def kept(hash: str, files: dict[str, str]) -> Core:
    """The core of a source from a logbook, loaded beside any other; BadCore if it cannot be run."""
    if staging.core_hash(files) != hash:
        raise BadCore(f"the source kept as core {hash[:NAMED]} is not what its hash says; bring back a backup")
    package = f"tuyere_core_{hash}"
    if package not in sys.modules:
        finder = _Finder(package, files)
        sys.meta_path.insert(0, finder)
        try:
            for file in ("__init__", *(name[:-3] for name in sorted(files) if name != "__init__.py")):
                importlib.import_module(package if file == "__init__" else f"{package}.{file}")
        except Exception as error:
            for name in [name for name in sys.modules if name == package or name.startswith(package + ".")]:
                del sys.modules[name]
            raise BadCore(f"the source kept as core {hash[:NAMED]} does not run here ({error})") from error
        finally:
            sys.meta_path.remove(finder)
    try:
        return Core(hash[:NAMED], sys.modules[package], False)
    except (AttributeError, ImportError, ValueError) as error:
        raise BadCore(
            f"the source kept as core {hash[:NAMED]} is no core as this program knows them ({error})"
        ) from error


class Cores:
    """Finds the core of a state record; each is looked for once. With `only_today` it is always today's."""

    def __init__(self, book: Logbook, only_today: bool) -> None:
        self._book, self._only_today = book, only_today
        self._found: dict[str, Core | str] = {}

    def named(self, name: str) -> Core | str:
        """The core whose hash begins with `name`, or a sentence why there is none."""
        if self._only_today or name == today().name:
            return today()
        if name not in self._found:
            try:
                self._found[name] = kept(*self._book.cores.named(name))
            except (NoSuchEntry, BadCore) as error:
                self._found[name] = str(error)
        return self._found[name]


class _Finder(MetaPathFinder, InspectLoader):
    """Imports one package out of a dict of sources."""

    def __init__(self, package: str, files: dict[str, str]) -> None:
        self._files = {f"{package}.{name[:-3]}": text for name, text in files.items() if name.endswith(".py")}
        self._files[package] = self._files.pop(f"{package}.__init__", "")
        self._package = package

    def find_spec(
        self, fullname: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """The spec of a file of this package."""
        return (
            spec_from_loader(fullname, self, is_package=fullname == self._package) if fullname in self._files else None
        )

    def is_package(self, fullname: str) -> bool:
        """Only the package itself is one."""
        return fullname == self._package

    def get_source(self, fullname: str) -> str:
        """The text of a file."""
        return self._files[fullname]
