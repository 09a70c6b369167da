"""The same law and the same pit, compiled by numba; without numba, as they are.

The modules below are executed a second time with all their functions compiled. The plain modules stay plain. Numba's
cache looks only at the file of the function it compiles, so it would run an old law after an edit of another file.
Therefore the name of the cache folder holds the hash of all sources.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import sys
from collections.abc import Callable, Iterator
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
    "hearth.core.witness",
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
    "hearth.core.cold_meat",
    "hearth.core.doubt",
    "hearth.core.fading",
    "hearth.core.leak",
    "hearth.core.experiment",
    "hearth.core.resume",
    "hearth.core.programme",
    "hearth.core.relied",
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
# What Python calls, by module. All others are called by compiled code only and get no way in from Python, which takes a
# third of the time of compiling. `load` gives only these: called from Python, the others would crash the process.
CALLED = {
    "hearth.core.drive": ("duty",),
    "hearth.core.decide": ("cycle",),
    "tuyere.meat.cooking": ("cook",),
    "tuyere.sim.course": ("advance",),
    "tuyere.sim.kernel": ("cook",),
    "tuyere.sim.oracle": ("cook",),
    "tuyere.tune.led": ("follow", "stand"),
    "tuyere.replay.again": ("again",),
    "tuyere.replay.in_pit": ("track", "again", "play"),
}


def available() -> bool:
    """Whether numba is installed."""
    try:
        importlib.import_module("numba")
    except ImportError:
        return False
    return True


@contextlib.contextmanager
def told(listener: Callable[[bool], None]) -> Iterator[None]:
    """Tell `listener` when a function begins to be compiled (True) and when it is ready (False). Machine code that
    lies in the cache is only read, which is not told. Nothing is imported for it: without numba nothing is compiled."""
    waiting = _Waiting(listener)
    _listeners.append(waiting)
    if "numba" in sys.modules:
        waiting.register()
    try:
        yield
    finally:
        _listeners.remove(waiting)
        waiting.unregister()


class _Waiting:
    """A listener, registered with numba as soon as that is there."""

    def __init__(self, listener: Callable[[bool], None]) -> None:
        self._listener = listener
        self._registered: Any = None

    def register(self) -> None:
        if self._registered is None:
            event: Any = importlib.import_module("numba.core.event")
            listener = self._listener

            class Told(event.Listener):
                def on_start(self, event: Any) -> None:
                    listener(True)

                def on_end(self, event: Any) -> None:
                    listener(False)

            self._registered = Told()
            event.register("numba:compile", self._registered)

    def unregister(self) -> None:
        if self._registered is not None:
            event: Any = importlib.import_module("numba.core.event")
            event.unregister("numba:compile", self._registered)


_listeners: list[_Waiting] = []


def kernel() -> ModuleType:
    """`tuyere.sim.kernel`, compiled where numba is there."""
    return load(CORE + PIT)


def meat_kernel() -> ModuleType:
    """`tuyere.meat.cooking`, compiled where numba is there."""
    return load(MEAT)


@cache
def load(modules: tuple[str, ...]) -> ModuleType:
    """The last of `modules`, compiled with the others where numba is there; each comes after what it imports. Compiled,
    it has only the functions of CALLED, its own and those that it imports.

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
    return _open(made)


def _open(made: ModuleType) -> ModuleType:
    """A compiled module without what Python must not call."""
    shown = ModuleType(made.__name__)
    for name, value in vars(made).items():
        plain = getattr(value, "py_func", None)
        if plain is None or _called(plain):
            setattr(shown, name, value)
    return shown


def _called(plain: FunctionType) -> bool:
    return plain.__name__ in CALLED.get(plain.__module__.partition(".")[2], ())


_made: dict[tuple[str, str], ModuleType] = {}  # name and key -> the compiled copy


def keys(modules: tuple[str, ...], sources: dict[str, str] | None = None) -> dict[str, str]:
    """For each module a hash over all that its machine code is made from: this file, the tables, its own source and
    those of the modules before it. The law and the meat import only their own packages, so only those count there."""
    sources = sources or {name: _source(importlib.import_module(name)) for name in modules}
    base = hashlib.sha256(Path(__file__).read_bytes())
    for name in TABLES:
        table = importlib.import_module(name)
        base.update(_source(table).encode())
        # A process that imported a table before an edit of it has the old numbers. So the numbers count as well.
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
    """Execute a module again with compiled copies in place of what it imports, and compile what it defines."""
    numba: Any = importlib.import_module("numba")
    for waiting in _listeners:
        waiting.register()
    numba.config.CACHE_DIR = str(Path(platformdirs.user_cache_dir("tuyere", False)) / "kernels" / key)
    copy = ModuleType(f"tuyere_compiled_{key}.{plain.__name__}")
    copy.__file__, copy.__package__ = plain.__file__, plain.__package__
    sys.modules[copy.__name__] = copy
    exec(compile(source, str(plain.__file__), "exec"), copy.__dict__)
    for name, value in list(copy.__dict__.items()):
        if isinstance(value, FunctionType) and value.__module__ == copy.__name__:
            shut = not _called(value)
            setattr(
                copy, name, numba.njit(cache=True, nogil=True, no_cpython_wrapper=shut, no_cfunc_wrapper=shut)(value)
            )
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
