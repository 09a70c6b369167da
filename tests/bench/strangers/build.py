"""The law, the pits and the day, compiled together by numba where it is there, else as they are.

Every module is imported a second time under another name, and in these copies each function becomes a compiled one; so
the plain ones stay plain. The cache folder bears the hash of all these files, since numba looks at one file only.
"""

from __future__ import annotations

import hashlib
import importlib
import importlib.util
import sys
from functools import cache
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any

import hearth.core
import platformdirs

HERE = Path(__file__).parent
# What Python calls, by module. All others are called by compiled code only and get no way in from Python, which takes a
# third of the time of compiling. `day` and `search` give only these: called from Python, others would crash it.
CALLED = {".day": ("cook", "keep", "look", "note", "read", "run", "still"), ".search": ("cook",)}
LAW = Path(str(hearth.core.__file__)).parent


def day(plain: bool = False) -> ModuleType:
    """`strangers.day` with all that it calls, compiled unless `plain` is asked for or numba is missing."""
    return _ours(plain)[".day"]


def search(plain: bool = False) -> ModuleType:
    """`strangers.search`, likewise."""
    return _ours(plain)[".search"]


@cache
def _ours(plain: bool) -> dict[str, ModuleType]:
    """What is called from outside, by its name."""
    try:
        numba: Any = importlib.import_module("numba")
    except ImportError:
        numba = None
    if plain or numba is None:
        return {name: importlib.import_module("strangers" + name) for name in (".day", ".search")}
    digest = sources()
    numba.config.CACHE_DIR = str(Path(platformdirs.user_cache_dir("tuyere", False)) / f"strangers-{digest}")
    law = _copies(f"law_{digest}", "hearth.core", LAW)
    ours = _copies(f"strangers_{digest}", "strangers", HERE, ("places", "pits", "day", "search"))
    compiled: dict[int, Any] = {}
    for (name, module), root in [(item, "hearth.core") for item in law.items()] + [
        (item, "strangers") for item in ours.items()
    ]:
        first = importlib.import_module(root + name)
        for key, value in list(vars(module).items()):
            if isinstance(value, FunctionType) and value.__module__ == module.__name__:
                shut = root == "hearth.core" or key not in CALLED.get(name, ())
                how = {"no_cpython_wrapper": shut, "no_cfunc_wrapper": shut}
                made = numba.njit(cache=True, nogil=True, **how)(value)
                compiled[id(value)] = compiled[id(getattr(first, key))] = made
    for module in (*law.values(), *ours.values()):
        for key, value in list(vars(module).items()):
            if id(value) in compiled:
                setattr(module, key, compiled[id(value)])
            elif isinstance(value, ModuleType) and value.__name__.startswith("strangers."):
                setattr(module, key, ours[value.__name__[len("strangers") :]])
    return {name: _open(ours[name], called) for name, called in CALLED.items()}


def _open(module: ModuleType, called: tuple[str, ...]) -> ModuleType:
    """A compiled module without what Python must not call."""
    shown = ModuleType(module.__name__)
    for name, value in vars(module).items():
        if name in called or not hasattr(value, "py_func"):
            setattr(shown, name, value)
    return shown


def sources() -> str:
    """Hash of all that is compiled, 16 hex digits."""
    total = hashlib.sha256()
    ours = [HERE / "build.py", HERE / "places.py", HERE / "day.py", HERE / "search.py", *HERE.glob("pits/*.py")]
    for file in sorted([*LAW.rglob("*.py"), *ours]):
        total.update(file.read_bytes())
    return total.hexdigest()[:16]


def _copies(alias: str, root: str, folder: Path, only: tuple[str, ...] = ()) -> dict[str, ModuleType]:
    """Import a package's modules again under another name: {".leaf": module}. Data tables are left out of compiling."""
    spec = importlib.util.spec_from_file_location(
        alias, folder / "__init__.py", submodule_search_locations=[str(folder)]
    )
    assert spec and spec.loader
    package = importlib.util.module_from_spec(spec)
    sys.modules[alias] = package
    if not only:
        spec.loader.exec_module(package)
    made: dict[str, ModuleType] = {}
    for file in sorted(folder.rglob("*.py")):
        parts = file.relative_to(folder).with_suffix("").parts
        if (only and parts[0] not in only) or parts[-1] in ("__init__", "fields", "records"):
            continue
        name = "." + ".".join(parts)
        made[name] = importlib.import_module(alias + name)
    return made


def record(kind: Any, compiled: bool = True) -> Any:
    """A record of `hearth.core`; compiled: as a numpy record that compiled code takes and changes in place."""
    plain = kind()
    if not compiled:
        return plain
    import numpy as np

    fields = [(name, np.int64, (count,)) if count else (name, np.int64) for name, count in kind.NAMES]
    made = np.zeros(1, dtype=np.dtype((np.record, fields)))
    for name, _ in kind.NAMES:
        made[name][0] = getattr(plain, name)
    return made[0]
