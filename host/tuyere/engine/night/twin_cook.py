"""The cook that a twin shows when nobody asked for another."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tuyere.client.launch import TwinOptions
from tuyere.engine.device import twin_process
from tuyere.engine.device.connection import Board
from tuyere.engine.night.current import Cooking
from tuyere.engine.night.from_plan import FromPlan
from tuyere.engine.night.orders import Orders
from tuyere.logbook import Logbook


class TwinCook:
    """Starts or finds the twin of a home, and begins a cook on it."""

    def __init__(
        self,
        home: Path,
        logbook: Logbook,
        board: Board,
        cooking: Cooking,
        plan: FromPlan,
        orders: Orders,
        log: Callable[[str], None],
    ) -> None:
        self._home, self._logbook, self._board, self._cooking = home, logbook, board, cooking
        self._plan, self._orders, self._log = plan, orders, log

    async def bring(self, options: TwinOptions) -> None:
        """Find the twin that runs, or start one."""
        fresh, trouble = await twin_process.attach(self._home, options)
        if trouble:
            self._board.finder.words = self._board.link.words = trouble
            self._log(trouble)
        cook = self._cooking.open
        if fresh and cook is not None and cook.simulated:
            self._cooking.end_stale(cook)  # its pit is gone

    async def begin(self) -> None:
        """Open a cook if none is open, by the plan if one is kept for now, and hold its band."""
        cooking = self._cooking
        if cooking.open is None and not self._plan.begin():
            number = cooking.begin(twin_process.SUPPER)
            for piece in twin_process.pieces(self._board.hello.get("meats")):
                self._logbook.pieces.add(number, **piece)
            cooking.change_kitchen({"cooker": (twin_process.live(self._home) or {}).get("cooker", "")})
            cooking.refresh()
        cook = cooking.cook.id if cooking.cook is not None else 0
        if self._logbook.cooks.text(cook, "begun") is None:
            done = await self._orders.hold()
            if done["ok"]:
                self._logbook.cooks.set_text(cook, "begun", "1")
            else:
                self._log(f"the twin was not started: {done['words']}")
