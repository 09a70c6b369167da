"""Reading and changing a board's settings: through the engine that has the port, or else directly."""

from __future__ import annotations

from pathlib import Path

import msgspec
from hearth.core import fields

from tuyere.board import values
from tuyere.board.bench import Bench
from tuyere.board.trouble import Trouble
from tuyere.client.client import Client, EngineError
from tuyere.cook import wording
from tuyere.cook.snapshot import About
from tuyere.link import find
from tuyere.text import as_said


async def change(home: Path, port: str, new: dict[str, int], *, forget: bool = False) -> dict[str, int]:
    """Order the settings in `new` (by name, in board units; none is allowed) and return all, as the board acknowledged
    them, and with them "learned", what the board learned of its fire.

    forget: have the board forget that. Returns none if nothing is ordered, no port is named and no board is plugged in.
    """
    try:
        client = await Client.open(home)
    except EngineError as error:
        if error.code:  # one runs and refuses
            raise Trouble(error.said) from None
        return await _directly(home, port, new, forget)
    try:
        about = msgspec.convert(await client.call("about"), About)
        if port and port not in (about.port, about.link.port):
            raise Trouble(
                f"an engine runs here with the board on {about.link.port or about.port or 'no port yet'}, not {port}: "
                "leave --port out to set that one, or end the engine with `tuyere keep --end`"
            )
        standing = msgspec.convert(await client.call("settings"), dict[str, int])
        if new:
            values.see_fit(standing, new)
            shown = {name: raw / values.ROWS[name].scale for name, raw in new.items()}
            answer = await client.call("order", name="settings", values=shown)
            if not answer["ok"]:
                raise Trouble(as_said(answer["words"]))
        if forget:
            answer = await client.call("order", name="forget")
            if not answer["ok"]:
                raise Trouble(as_said(answer["words"]))
            about = msgspec.structs.replace(about, learned=fields.WHOLE)
        standing = msgspec.convert(await client.call("settings"), dict[str, int])
        return {**standing, values.LEARNED.name: about.learned} if about.learned else standing
    except EngineError as error:
        raise Trouble(error.said) from None
    finally:
        await client.close()


async def _directly(home: Path, port: str, new: dict[str, int], forget: bool) -> dict[str, int]:
    if not new and not forget and not port and not find.boards():
        return {}
    async with Bench(home, port) as bench:
        if new:
            values.see_fit(bench.settings, new)
            ok, why = await bench.order("settings", values=new)
            if not ok:
                raise Trouble(wording.refusal(why, bench.against))
        if forget:
            ok, why = await bench.order("forget")
            if not ok:
                raise Trouble(wording.refusal(why, bench.against))
        return {**bench.settings, values.LEARNED.name: bench.learned} if bench.learned else bench.settings
