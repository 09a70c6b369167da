"""An engine that runs already: what it keeps, and whether that is what the options ask for."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import click

from tuyere.cook.snapshot import About


def about(home: Path) -> About | None:
    """What the engine of this home reports about itself; None if none runs or it does not answer."""
    import msgspec

    from tuyere.client.client import Client, EngineError

    async def ask() -> About:
        client = await Client.open(home)
        try:
            return msgspec.convert(await asyncio.wait_for(client.call("about"), 5), About)
        finally:
            await client.close()

    try:
        return asyncio.run(ask())
    except (EngineError, TimeoutError, msgspec.ValidationError):
        return None


def keeps(found: About) -> str:
    """'the twin of an upright cooker, seed 1, at 60x', 'the board on /dev/ttyACM0'."""
    if found.twin:
        speed = f"at {found.speed:g}x" if found.speed else "as fast as it goes"
        seed = f", seed {found.seed}" if found.seed is not None else ""
        return f"the twin ({found.cooker or 'its own choice of cooker'}{seed}, {speed})"
    if found.port:
        return f"the board on {found.port}"
    return f"the board on {found.link.port}" if found.link.port else "a place for the first board that is plugged in"


def leaves(found: About | None) -> bool:
    """Whether a twin's engine is about to end: its last screen has gone, and it lingers for a moment."""
    return found is not None and found.twin and not found.stays and found.screens <= 1


def refuse_other(found: About | None, asked: Mapping[str, Any]) -> None:
    """Raise unless a running engine keeps what the options ask for; `asked` are those given, by name."""
    if found is None:
        return
    for name, value, same in _compared(found, asked):
        if not same:
            shown = f"{value:g}" if isinstance(value, float) else value
            raise click.ClickException(
                f"an engine already runs here and keeps {keeps(found)}, so --{name} {shown} does not apply: "
                "leave it out to attach, or end that engine with `tuyere keep --end` and watch again"
            )


def fits(found: About, asked: Mapping[str, Any]) -> bool:
    """Whether a running engine keeps what the options ask for."""
    return all(same for _, _, same in _compared(found, asked))


def _compared(found: About, asked: Mapping[str, Any]) -> Iterator[tuple[str, Any, bool]]:
    have: dict[str, Any] = {"speed": found.speed, "cooker": found.cooker, "seed": found.seed, "trouble": found.trouble}
    for name, value in asked.items():
        if name == "port":
            same = not found.twin and value in (found.port, found.link.port)
        else:
            same = found.twin and value == have[name]
        yield name, value, same
