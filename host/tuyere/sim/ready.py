"""Whether all that commands will need is compiled. A mark in the cache says so for this version of the sources."""

from __future__ import annotations

import hashlib
from pathlib import Path

import platformdirs

from tuyere.sim import compiled

SETS = (
    (*compiled.CORE, *compiled.PIT),
    compiled.MEAT,
    (*compiled.CORE, "tuyere.replay.again"),
    (*compiled.CORE, *compiled.PIT, "tuyere.tune.led"),
)


def mark() -> Path:
    """The file that says that everything is compiled; its name changes with the sources."""
    keys = [key for modules in SETS for key in compiled.keys(modules).values()]
    name = hashlib.sha256("".join(keys).encode()).hexdigest()[:16]
    return Path(platformdirs.user_cache_dir("tuyere", False)) / "kernels" / f"ready-{name}"


def needed() -> bool:
    """Whether there is something to compile."""
    return compiled.available() and not mark().exists()
