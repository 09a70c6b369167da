"""What the messages of the board change in the cook: the engine's `Hooks`."""

from __future__ import annotations

from collections.abc import Callable

from tuyere.engine.device import restore
from tuyere.engine.device.connection import Board, Hooks
from tuyere.engine.night.cold_meat import ColdMeat
from tuyere.engine.night.current import Cooking
from tuyere.engine.night.notes import Notes
from tuyere.engine.night.orders import Orders
from tuyere.link import session as links
from tuyere.logbook import Logbook, LogbookError
from tuyere.logbook.clock_steps import Written
from tuyere.text import Duration, Said, text

AGO_MS = 10_000  # ms by which a new boot may seem to begin before the newest known boot
SENSELESS = "made no sense"  # in a notice: the board could not read one of our messages; the fire does not depend on it


class BoardNews(Hooks):
    """What happens at the engine's board.

    `on_twin()` is called when a twin has been met, `on_step(by)` when times were moved by `by` ms, `on_cycle()` when
    cycles of the present boot are on disk; `steady` is a clock in s.
    """

    def __init__(
        self,
        logbook: Logbook,
        board: Board,
        cooking: Cooking,
        orders: Orders,
        notes: Notes,
        cold_meat: ColdMeat,
        *,
        on_twin: Callable[[], None],
        on_step: Callable[[int], None],
        on_change: Callable[[], None],
        on_cycle: Callable[[], None],
        steady: Callable[[], float],
        log: Callable[[str], None],
    ) -> None:
        self._logbook, self._board, self._cooking, self._orders, self._notes = logbook, board, cooking, orders, notes
        self._cold_meat = cold_meat
        self._on_twin, self._on_step, self._steady = on_twin, on_step, steady
        self._upto = logbook.clock.written()  # by engines before this one
        board.clock.on_step = self.stepped
        self._on_change, self._on_cycle, self._log = on_change, on_cycle, log
        self._notice = self._trouble = ""

    def changed(self) -> None:
        self._on_change()

    def log(self, text: str) -> None:
        self._log(text)

    def take_notice(self) -> str:
        """The board's messages about its own program since the last call, "" if there were none."""
        said, self._notice = self._notice, ""
        return said

    def cook_of_records(self, board: str, boot: int, at: int, simulated: bool) -> int | None:
        """Records belong to the open cook, unless only one of the two is simulated, or the records are older."""
        cook, began = self._cooking.open, self._cooking.began
        if cook is None or cook.simulated != simulated or (began is not None and not began.has(board, boot, at)):
            return None
        return cook.id

    def stepped(self, by: int, before: bool) -> bool:
        """The wall clock has stepped by `by` ms; see `board_clock.Clock`."""
        session, clock = self._board.session, self._board.clock
        boot = (session.board, session.boot) if session.board else None
        if not self._move(by, clock.now() + by, boot, self._upto if before else None):
            return False
        self._board.readout.move(by)
        return True

    def powered_up(self, utc: int) -> None:
        """A boot begins later than everything known of earlier boots. If it seems not to, the clock was put back."""
        cook, now = self._cooking.open, self._board.clock.now()
        if cook is None or cook.simulated:
            return
        noted, recorded = self._logbook.clock.newest(cook.id, self._upto)
        back = max(noted - now, recorded - utc)
        if back > AGO_MS:
            self._move(-back, now, None, self._upto, mark=True)

    def _move(
        self, by: int, now: int, boot: tuple[str, int] | None, upto: Written | None, *, mark: bool = False
    ) -> bool:
        """Move what was dated by the wall clock; `now` by the new one."""
        cook, book = self._cooking.open, self._logbook
        number = cook.id if cook is not None and not cook.simulated else None
        kind = "clock_doubtful" if mark else "clock_changed"
        try:
            with book.together():
                book.clock.move(by, boot=boot, cook=number, upto=upto, mark=mark)
                if number is not None:
                    book.events.note_once(number, kind, now, now, f"clock/{now}", by / 1000, _stepped(by, mark))
        except LogbookError as error:
            if str(error) != self._trouble:  # said once: it is tried several times a second
                self._trouble = str(error)
                self.log(f"the times before a step of the clock were not moved, it is tried again: {error}")
            return False
        self._trouble = ""
        self.log(f"the computer's clock has stepped by {by / 1000:+.1f} s: what was dated before it moves with it")
        self._cooking.read_again()
        self._on_step(by)
        return True

    def boot_start(self, hello: links.Hello) -> int | None:
        """A twin's simulated time goes on while its firmware restarts: `outside_ms` says how much had passed. One that
        cooks a plan says when it begins."""
        outside, begins, cook = hello.hello.get("outside_ms"), hello.hello.get("begins"), self._cooking.open
        if not isinstance(outside, int):
            return None
        if zero := self._logbook.cooks.text(cook.id, "twin_zero") if cook is not None else None:
            return int(zero) + outside
        return begins + outside if isinstance(begins, int) else None

    def met(self, hello: links.Hello, known: bool) -> None:
        """A board has said hello for the first time."""
        cooking, simulated = self._cooking, self._board.link.simulated
        cook = cooking.open
        self._orders.met()
        if cook is not None:
            if cook.simulated and not simulated:
                cooking.end_stale(cook)  # a real board has come; the pit of that cook was simulated
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
        if cooking.open is not None:
            now = self._board.clock.now()
            self._cold_meat.look(self._steady(), now, cooking.open.id, cooking.pieces, cooking.events)
        self._on_cycle()

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


def _stepped(by: int, mark: bool) -> Said:
    """What the log says of a step of the clock."""
    way = Duration(abs(by) / 1000)
    if mark:
        return text("by {by} or more; the board restarted as well, so the times before are estimates", by=way)
    if by < 0:
        return text("put back by {by}; the times before moved with it", by=way)
    return text("put forward by {by}; the times before moved with it", by=way)
