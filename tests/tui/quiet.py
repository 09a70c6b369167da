"""Waits until a screen has nothing left to do: by what its event loop holds, not by a clock."""

from __future__ import annotations

import asyncio
from typing import Any

from textual._context import active_app

TURNS = 10_000  # of the event loop; a screen that is still busy then never rests


async def quiet(*_: Any) -> bool:
    """Return when no callback of the running loop is ready and all that changed is painted.

    Textual's own wait ends when the process has used little CPU for a while. That adds a pause to each key, and on a
    busy machine, where the process gets no CPU, it ends too early. Textual paints at the next frame; here that is
    when nothing else is left to do. The arguments of Textual's functions in whose place it stands mean nothing here.
    The screens under test use no threads and no files that a loop waits for.
    """
    loop: Any = asyncio.get_running_loop()
    app = active_app.get()
    for _turn in range(TURNS):
        await asyncio.sleep(0)
        if loop._ready:
            continue
        due = [screen for screen in app.screen_stack if screen._update_timer._active.is_set()]
        if app._exit or not due:
            return True
        for screen in due:
            screen._on_timer_update()
    raise AssertionError("The screen never rests: something is always ready or always to be painted.")
