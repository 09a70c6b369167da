"""The same law and the same pit, compiled by numba; without numba, as they are.

The modules below are executed a second time with every function of theirs compiled, so that the plain ones stay
plain. Numba's cache looks only at the file of the function it compiles and would go on running an old law after an
edit of another file: therefore the cache folder bears the hash of all these sources.
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
    "hearth.core.climb",
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
MEAT = ("tuyere.meat.water", "tuyere.meat.slab", "tuyere.meat.cooking")
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


def sources_hash(modules: tuple[str, ...] = CORE + PIT) -> str:
    """SHA-256 over all that a compiled kernel is made from, hex."""
    total = hashlib.sha256(Path(__file__).read_bytes())
    for name in (*modules, *TABLES):
        file = importlib.import_module(name).__file__
        assert file
        total.update(Path(file).read_bytes())
    return total.hexdigest()


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
    """The last of `modules`, compiled with the others where numba is there; each comes after what it imports."""
    if not available():
        return importlib.import_module(modules[-1])
    numba: Any = importlib.import_module("numba")
    sources = sources_hash(modules)[:16]
    folder = Path(platformdirs.user_cache_dir("tuyere", False)) / f"kernel-{sources}"
    numba.config.CACHE_DIR = str(folder)
    return _copies(modules, f"tuyere_compiled_{sources}", numba.njit(cache=True, nogil=True))[modules[-1]]


def _copies(modules: tuple[str, ...], package: str, compile_one: Any) -> dict[str, ModuleType]:
    """Execute the modules again, each importing the copies made before it, and compile what they define."""
    plain: dict[str, ModuleType] = {name: importlib.import_module(name) for name in modules}
    made: dict[str, ModuleType] = {}
    try:
        for name, module in plain.items():
            copy = ModuleType(f"{package}.{name}")
            copy.__file__, copy.__package__ = module.__file__, module.__package__
            sys.modules[copy.__name__] = copy
            assert module.__file__
            code = compile(Path(module.__file__).read_text(encoding="utf-8"), module.__file__, "exec")
            exec(code, copy.__dict__)
            for key, value in list(copy.__dict__.items()):
                if isinstance(value, FunctionType) and value.__module__ == copy.__name__:
                    setattr(copy, key, compile_one(value))
            made[name] = copy
            _put(name, copy)
    finally:
        for name, module in plain.items():
            _put(name, module)
    return made


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
