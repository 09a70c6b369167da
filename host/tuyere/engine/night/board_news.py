"""What a board's news does to the cook: the hooks of the engine's board."""

from __future__ import annotations

from collections.abc import Callable

from tuyere.engine.device import restore
from tuyere.engine.device.connection import Board
from tuyere.engine.night.current import Cooking
from tuyere.engine.night.notes import Notes
from tuyere.engine.night.orders import Orders
from tuyere.link import session as links
from tuyere.logbook import Logbook, LogbookError

SENSELESS = "made no sense"  # in a notice: the board could not read one of our messages; no fire hangs on it


class BoardNews:
    """See `connection.Hooks`. `on_twin()` is called when a twin has been met; `steady` is a clock in s."""

    def __init__(
        self,
        logbook: Logbook,
        board: Board,
        cooking: Cooking,
        orders: Orders,
        notes: Notes,
        *,
        on_twin: Callable[[], None],
        on_change: Callable[[], None],
        steady: Callable[[], float],
        log: Callable[[str], None],
    ) -> None:
        self._logbook, self._board, self._cooking, self._orders, self._notes = logbook, board, cooking, orders, notes
        self._on_twin, self._steady = on_twin, steady
        self.changed = on_change
        self.log = log
        self._notice = ""

    def take_notice(self) -> str:
        """What the board has said of its own program since this was last asked, "" for nothing."""
        said, self._notice = self._notice, ""
        return said

    def cook_of_records(self, simulated: bool, utc: int | None) -> int | None:
        """Records belong to the open cook, unless one is simulated and the other is not, or they are of before it."""
        cook = self._cooking.open
        if cook is None or cook.simulated != simulated or (utc is not None and utc < cook.started):
            return None
        return cook.id

    def boot_start(self, hello: links.Hello) -> int | None:
        """A twin's simulated time goes on while its firmware restarts: `outside_ms` says how much had passed."""
        outside, cook = hello.hello.get("outside_ms"), self._cooking.open
        if not isinstance(outside, int) or cook is None:
            return None
        begin = self._logbook.cooks.text(cook.id, "twin_zero")
        return int(begin) + outside if begin else None

    def met(self, hello: links.Hello, known: bool) -> None:
        """A board has said hello for the first time."""
        cooking, simulated = self._cooking, self._board.link.simulated
        cook = cooking.open
        self._orders.met()
        if cook is not None:
            if cook.simulated and not simulated:
                cooking.end_stale(cook)  # a real board has come; the pit of that cook was never there
            elif known:
                self._board.readout.phase_since = self._phase_since(cook.id)
            elif cooking.cycles:
                cooking.restarted = True
        cooking.read_phases()
        if simulated:
            self._on_twin()

    def _phase_since(self, cook: int) -> int:
        """Since when the phase of a boot that the logbook knows runs, by its last state record."""
        since = 0
        for state in self._logbook.reading.states(cook):
            cycles = state.memory.get("phase_cycles")
            if state.boot == self._board.session.boot and isinstance(cycles, int):
                since = state.utc - cycles * self._board.readout.period_ms
        return since

    def lost(self, count: int) -> None:
        """Records are gone."""
        if self._cooking.open is not None:
            self._cooking.missing += count

    def stored(self, count: int) -> None:
        """New cycles of the present boot are on disk."""
        cycle, cooking = self._board.readout.cycle, self._cooking
        if cycle is None:
            return
        cooking.follow()
        self._orders.look(self._steady())
        if cooking.restarted and restore.runs(cycle):
            cooking.restarted = False
        for done in cooking.hands.look(cooking.open, cooking.pieces):
            self._notes.twins(done)

    def notice(self, text: str) -> None:
        """The board says that its program failed, or why it started again: into the cook's log, and an alarm."""
        if SENSELESS not in text:
            self._notice = text
        session = self._board.session
        source = f"{session.board}/{session.boot}/said {self._board.clock.now()}"
        try:
            self._cooking.note_once("board_says", source, text[:2000])
        except LogbookError as error:
            self.log(str(error))
