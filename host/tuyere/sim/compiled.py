"""The same law and the same pit, compiled by numba; without numba, as they are.

The modules below are executed a second time with every function of theirs compiled, so that the plain ones stay
plain. Numba's cache looks only at the file of the function it compiles and would go on running an old law after an
edit of another file: therefore the cache folder bears the hash of all sources it is made from.
"""

from __future__ import annotations

import hashlib
import importlib
import sys
from functools import cache
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any

import platformdirs

# In order: each comes after what it imports.
CORE = (
    "hearth.core.whole",
    "hearth.core.forget",
    "hearth.core.held_back",
    "hearth.core.law",
    "hearth.core.drive",
    "hearth.core.trips",
    "hearth.core.reading",
    "hearth.core.heat",
    "hearth.core.parts",
    "hearth.core.learned",
    "hearth.core.climb",
    "hearth.core.reach",
    "hearth.core.openings",
    "hearth.core.need",
    "hearth.core.doubt",
    "hearth.core.fading",
    "hearth.core.leak",
    "hearth.core.resume",
    "hearth.core.programme",
    "hearth.core.orders",
    "hearth.core.decide",
)
MEAT = ("tuyere.meat.water", "tuyere.meat.heat", "tuyere.meat.slab", "tuyere.meat.cooking")
PIT = (
    *MEAT,
    "tuyere.sim.pit",
    "tuyere.sim.course",
    "tuyere.sim.kernel",
)
TABLES = (
    "hearth.core.fields",
    "hearth.core.records",
    "tuyere.sim.pit_slots",
    "tuyere.meat.piece_slots",
    "tuyere.meat.tables",
)


def available() -> bool:
    """Is numba there?"""
    try:
        importlib.import_module("numba")
    except ImportError:
        return False
    return True


def kernel() -> ModuleType:
    """`tuyere.sim.kernel`, compiled where numba is there."""
    return load(CORE + PIT)


def meat_kernel() -> ModuleType:
    """`tuyere.meat.cooking`, compiled where numba is there."""
    return load(MEAT)


@cache
def load(modules: tuple[str, ...]) -> ModuleType:
    """The last of `modules`, compiled with the others where numba is there; each comes after what it imports.

    A module is compiled once, whatever set it is asked for with: its cache folder is named by its key, see `keys`.
    Several processes may compile the same one at once: numba puts each file in place whole.
    """
    if not available():
        return importlib.import_module(modules[-1])
    plain = {name: importlib.import_module(name) for name in modules}
    sources = {name: _source(module) for name, module in plain.items()}
    made = None
    try:
        for name, key in keys(modules, sources).items():
            if (name, key) not in _made:
                _made[name, key] = _compiled(plain[name], sources[name], key)
            made = _made[name, key]
            _put(name, made)
    finally:
        for name, module in plain.items():
            _put(name, module)
    assert made is not None
    return made


_made: dict[tuple[str, str], ModuleType] = {}  # name and key -> the compiled copy


def keys(modules: tuple[str, ...], sources: dict[str, str] | None = None) -> dict[str, str]:
    """For each module a hash over all that its machine code is made from: this file, the tables, its own source and
    those of the modules before it. The law and the meat import only their own packages, so only those count there."""
    sources = sources or {name: _source(importlib.import_module(name)) for name in modules}
    base = hashlib.sha256(Path(__file__).read_bytes())
    for name in TABLES:
        table = importlib.import_module(name)
        base.update(_source(table).encode())
        # A process that imported a table before an edit of it has the old numbers: so these count as well.
        base.update(repr([(n, v) for n, v in vars(table).items() if isinstance(v, int | float | tuple)]).encode())
    found = {}
    for i, name in enumerate(modules):
        package, total = name.rpartition(".")[0], base.copy()
        for other in modules[: i + 1]:
            if package not in ("hearth.core", "tuyere.meat") or other.rpartition(".")[0] == package:
                total.update(sources[other].encode())
        found[name] = total.hexdigest()[:16]
    return found


def _source(module: ModuleType) -> str:
    assert module.__file__
    return Path(module.__file__).read_text(encoding="utf-8")


def _compiled(plain: ModuleType, source: str, key: str) -> ModuleType:
    """Execute a module again, while the copies of what it imports stand in for them, and compile what it defines."""
    numba: Any = importlib.import_module("numba")
    numba.config.CACHE_DIR = str(Path(platformdirs.user_cache_dir("tuyere", False)) / "kernels" / key)
    copy = ModuleType(f"tuyere_compiled_{key}.{plain.__name__}")
    copy.__file__, copy.__package__ = plain.__file__, plain.__package__
    sys.modules[copy.__name__] = copy
    exec(compile(source, str(plain.__file__), "exec"), copy.__dict__)
    for name, value in list(copy.__dict__.items()):
        if isinstance(value, FunctionType) and value.__module__ == copy.__name__:
            setattr(copy, name, numba.njit(cache=True, nogil=True)(value))
    return copy


def _put(name: str, module: ModuleType) -> None:
    parent, _, leaf = name.rpartition(".")
    sys.modules[name] = module
    setattr(sys.modules[parent], leaf, module)


def dtype(kind: Any) -> Any:
    """The numpy type of a record of `hearth.core.records`, every number in 64 bits."""
    import numpy as np

    fields = [(name, np.int64, (count,)) if count else (name, np.int64) for name, count in kind.NAMES]
    return np.dtype((np.record, fields))


def record(kind: Any) -> Any:
    """A record of `hearth.core.records` as a numpy record that the compiled kernel takes and changes in place."""
    import numpy as np

    plain = kind()
    made = np.zeros(1, dtype=dtype(kind))
    for name, _ in plain.NAMES:
        made[name][0] = getattr(plain, name)
    return made[0]
