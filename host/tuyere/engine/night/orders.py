"""Orders to the board: a person's units in, a sentence out. A board that restarted gets its last state again."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from datetime import datetime
from typing import Any

from hearth.core import fields
from hearth.link import messages

from tuyere import measures
from tuyere.cook import arguments as asked
from tuyere.cook import programme, snapshot, wording
from tuyere.cook.errors import Refusal
from tuyere.engine.device import restore
from tuyere.engine.device.connection import Board
from tuyere.engine.night.current import Cooking
from tuyere.engine.night.from_plan import FromPlan
from tuyere.link.session import Answer
from tuyere.logbook import Logbook
from tuyere.text import CELSIUS, Duration, Listed, Reader, Said, Share, Span, band, render, sentences, text

Takes = Callable[..., tuple[dict[str, Any], Said]]  # a person's arguments -> the board's, and what has then been done
METRIC = Reader(CELSIUS)  # of the engine's own log
BARE = {  # orders that take nothing
    "stop": "Stopped: the fan is off.",
    "acknowledge": "Acknowledged. The fan stays off: start again when you have checked.",
    "looked": "The board trusts its pit probe again: somebody has looked, and it lies where it should.",
    "forget": "What the board learned of the fire is forgotten: it answers with its set gain.",
    "release": "The board restarts without its watchdog, ready for an upload.",
}
AGAIN = 30.0  # s until a board that refused its old state gets it once more


class Orders:
    """What a person may order. An order counts as done only when the board has acknowledged it."""

    def __init__(
        self,
        logbook: Logbook,
        board: Board,
        cooking: Cooking,
        plan: FromPlan,
        *,
        task: Callable[[Coroutine[Any, Any, Any]], None],
        log: Callable[[str], None],
    ) -> None:
        self._logbook, self._board, self._cooking, self._plan = logbook, board, cooking, plan
        self._task, self._log = task, log
        self._takes: dict[str, Takes] = {
            "band": self._band,
            "fan": self._fan,
            "phase": self._phase,
            "opened": self._opened,
            "witness": self._witness,
            "experiment": self._experiment,
            "programme": self._programme,
            "settings": self._settings,
            **{name: _bare(name) for name in BARE},
        }
        self._telling = False
        self._told_at: float | None = None  # steady time of the last try
        self._followed_at: float | None = None
        self._made: list[snapshot.Phase] = []  # the programme that is being asked for
        self.untold: Said = ""  # why a board did not take again what it had lost

    async def order(self, name: str, **arguments: Any) -> dict[str, Any]:
        """Send an order; {"ok", "words"} as the board answered. Temperatures in C, shares 0..1, seconds."""
        if name == "start":
            return await self.hold()
        takes = self._takes.get(name)
        if name == "rely":
            raise Refusal("the engine tells the board who relies on this computer: `tuyere wake` sets the routes")
        if name == "meat":
            raise Refusal("the engine tells the board what meat went on: note it as on, with its mass")
        if takes is None:
            raise Refusal(f"there is no order {name!r}; the orders are {', '.join(messages.ORDERS)}")
        if wrong := asked.unfit(takes, arguments):
            raise Refusal(f"the order {name} {wrong}")
        board_arguments, done = takes(**arguments)
        made = self._made  # another order may come while the board answers
        answer = await self._send(name, board_arguments)
        if answer.ok and name == "programme":
            self._cooking.keep_phases(made)
            self._note_programme(made, str(arguments.get("who") or ""))
        return {"ok": answer.ok, "words": done if answer.ok else wording.refusal(answer.why, answer.numbers)}

    async def hold(self) -> dict[str, Any]:
        """Hold the band: opens a cook if none is open, gives the board a programme if it has none, then starts it."""
        board, cooking = self._board, self._cooking
        if not board.session.standing:
            return {"ok": False, "words": wording.refusal("link_lost")}
        cycle = board.readout.cycle
        if cycle is not None and cycle.trip:
            return {"ok": False, "words": wording.refusal("stands_tripped")}
        fresh = cooking.open is None
        if fresh and not self._plan.begin():
            cooking.begin(f"Cook of {datetime.fromtimestamp(board.clock.now() / 1000):%d %b %Y}")
        told: list[Said] = []
        if not cooking.settled:  # a board that lost its memory goes on where this cook was
            await self._tell(self._lost(starting=True), told)  # a refusal must not keep the pit cold
        planned = self._plan.phases()
        if not board.readout.rows or fresh or planned:
            rows = programme.rows(planned) or board.readout.rows or programme.rows(programme.default())
            # also to a board that has one: it answers with a state record, where a replay of this cook can begin
            answer = await self._send("programme", {"rows": rows})
            if not answer.ok:
                return {"ok": False, "words": wording.refusal(answer.why, answer.numbers)}
            if planned:
                self._plan.taken(planned)
                self._note_programme(planned, "of the plan")
        elif restore.rests(board.readout.cycle):
            await self._count_again()
        answer = await self._send("start", {})
        if not answer.ok:
            return {"ok": False, "words": wording.refusal(answer.why, answer.numbers)}
        cooking.restarted = False
        if not self.untold:
            cooking.settle()
        said: list[Said] = ["Holding the band from here on."]
        if planned and cooking.open is not None:
            said.append(f"Pieces and programme are those of the plan, {cooking.open.name}.")
        if told:
            said.append(text("Told again after its restart: {told}.", told=Listed(tuple(told))))
        if self.untold:
            said.append(text("It did not take all it had before: {untold}", untold=self.untold))
        return {"ok": True, "words": sentences(said)}

    # -- after a restart -----------------------------------------------------------------

    def look(self, now: float) -> None:
        """A cycle has come: check whether a restarted board needs something again, or whether its phase now ends by
        another probe; `now` is steady."""
        cycle = self._board.readout.cycle
        if self._telling or restore.waits(cycle) or not self._board.session.standing:
            return
        if self._cooking.settled:
            self._follow_piece(now)
            return
        if self._told_at is None or now - self._told_at >= AGAIN:
            self._telling, self._told_at = True, now
            self._task(self._tell_again())

    def met(self) -> None:
        """Another boot, or another board: forget what was tried with the last one."""
        self._told_at, self.untold = None, ""

    async def _tell_again(self) -> None:
        """Settings at once; programme, phase and band once the board holds the pit, or when a person starts it."""
        boot = self._board.session.boot
        try:
            await self._tell(self._lost(), [])
            if not self.untold and restore.runs(self._board.readout.cycle) and boot == self._board.session.boot:
                self._cooking.restarted = False
                self._cooking.settle()
        finally:
            self._telling = False

    def _lost(self, starting: bool = False) -> list[restore.Order]:
        readout, last = self._board.readout, self._cooking.stood
        found = last.settings_lost(self._board.session.board, readout)
        return found + (last.programme_lost(readout) if starting or restore.runs(readout.cycle) else [])

    async def _tell(self, orders: list[restore.Order], told: list[Said]) -> None:
        """Send them in order until one is refused; stores what the board took and adds it to `told`."""
        untold: Said = ""
        boot = self._board.session.boot
        for name, arguments, said in orders:
            answer = await self._send(name, arguments)
            if not answer.ok:
                untold = text("{what}: {why}.", what=said, why=wording.why_not(answer.why, answer.numbers))
                if untold != self.untold:
                    self._log(f"after its restart the board did not take its old {render(untold, METRIC)}")
                break
            self._log(f"after its restart the board got this again: {render(said, METRIC)}")
            told.append(said)
        self.untold = untold
        if told:
            source = f"{self._board.session.board}/{boot}/told {self._board.clock.now()}"
            self._cooking.note_once("told_again", source, text("{told}", told=Listed(tuple(told))))

    async def _send(self, name: str, arguments: dict[str, Any]) -> Answer:
        """One order in board units; what is acknowledged is remembered."""
        answer = await self._board.order(name, **arguments)
        if answer.ok:
            readout = self._board.readout
            if name == "programme":
                readout.programme(arguments["rows"])
            elif name == "settings":
                readout.settings = {**readout.settings, **arguments["values"]}
            self._cooking.stood.acknowledged(name, arguments)
            self._cooking.follow()
            if name == "programme":
                self._cooking.refresh()
        return answer

    # -- a phase follows its piece ----------------------------------------------------------

    def _follow_piece(self, now: float) -> None:
        """If the piece that ends the phase has another probe now, or is out before others, the phase ends by theirs."""
        phases = self._cooking.followed()
        if phases and (self._followed_at is None or now - self._followed_at >= AGAIN):
            self._telling, self._followed_at = True, now
            self._task(self._end_by_another(phases))

    async def _end_by_another(self, phases: list[snapshot.Phase]) -> None:
        try:
            answer = await self._send("programme", {"rows": programme.rows(phases)})
            if answer.ok:
                self._cooking.keep_phases(phases)
                phase = phases[min(self._board.readout.phase, len(phases) - 1)]
                source = f"{self._board.session.board}/{self._board.session.boot}/follows {self._board.clock.now()}"
                said = text("{name} ends {end}", name=phase.name, end=phase.end)
                self._cooking.note_once("phase_follows", source, said)
            else:
                self._log(f"the phase was not given another probe: {render(wording.why_not(answer.why), METRIC)}")
        finally:
            self._telling = False

    # -- what each order takes --------------------------------------------------------------

    def _band(self, low: float, high: float) -> tuple[dict[str, Any], Said]:
        bottom, top = asked.number("low", low, 40, 200), asked.number("high", high, 45, 220)
        if top - bottom < 2:
            raise Refusal(wording.REFUSALS["band_order"])
        return {"low": round(bottom * 100), "high": round(top * 100)}, text("Band {band}.", band=band(bottom, top))

    def _fan(self, share: float = 0.0, seconds: float = 0) -> tuple[dict[str, Any], Said]:
        demand = asked.number("share", share, 0, 1)
        time = round(asked.number("seconds", seconds, 0, self._board.readout.hand_most))
        said = text("Fan by hand at {fan} for {time}.", fan=Share(demand), time=Duration(time))
        return {"demand": round(demand * fields.FULL), "seconds": time}, said if time else "Fan given back."

    def _experiment(self, share: float = 0.0, seconds: float = 0) -> tuple[dict[str, Any], Said]:
        step = asked.number("share", share, 0, 0.15)
        time = round(asked.number("seconds", seconds, 0, 2400))
        said = text("Experiment: steps of {step} for {time} at most.", step=Share(step), time=Duration(time))
        return {"step": round(step * fields.FULL), "seconds": time}, said if time else "The experiment is over."

    def _phase(self, row: int | None = None) -> tuple[dict[str, Any], Said]:
        if row is None:
            row = self._board.readout.phase + 1
        row = asked.whole("row", row)
        if row > fields.ROWS:
            raise Refusal(f"a programme has at most {fields.ROWS} phases")
        return {"row": row}, f"Phase: {self._cooking.phase_name(row)}."

    def _opened(self, seconds: float = 0) -> tuple[dict[str, Any], Said]:
        time = round(asked.number("seconds", seconds, 0, 1800))
        return {"seconds": time}, "Opened: the fan does not answer the fall until the lid is shut."

    def _witness(self, probe: int) -> tuple[dict[str, Any], Said]:
        number = asked.whole("probe", probe)
        if number > 3:
            raise Refusal("the board has three meat probes: 1 to 3, or 0 for none beside the pit's")
        done = f"Probe {number} is compared with the pit's until it goes into the meat." if number else "None compared."
        return {"probe": number}, done

    def _programme(
        self, phases: Any, row: int | None = None, afresh: bool = False, who: str = ""
    ) -> tuple[dict[str, Any], Said]:
        """row: where the phase in force stands now, or with `afresh` the row to enter. who: for the log."""
        readout = self._board.readout
        held = restore.runs(readout.cycle)
        at = min(readout.phase if held else 0, len(phases) - 1) if row is None and isinstance(phases, list) else row
        made = phases_of(phases)
        at = asked.whole("row", at)
        if at >= len(made):
            raise Refusal(f"this programme has no row {at}: its rows are 0 to {len(made) - 1}")
        now = self._board.clock.now()
        since = readout.phase_since if held and not afresh and readout.phase_since else now
        try:
            made = programme.counted(made, at, since, now)
        except ValueError as error:
            raise Refusal(str(error)) from error
        if trouble := programme.wrong(made, readout.settings):
            raise Refusal(trouble)
        self._made = made
        arguments: dict[str, Any] = {"rows": programme.rows(made), "row": at}
        if afresh:
            arguments["afresh"] = True
        return arguments, f"Programme of {measures.count(len(made), 'phase')}."

    def _note_programme(self, phases: list[snapshot.Phase], who: str) -> None:
        """The log says which programme the board has taken, and who sent it."""
        source = f"{self._board.session.board}/{self._board.session.boot}/programme {self._board.clock.now()}"
        by = f", {' '.join(who.split())[:60]}" if who.strip() else ""
        self._cooking.note_once("programme_set", source, text("{what}{by}", what=programme.said(phases), by=by))

    async def _count_again(self) -> None:
        """The pit was at rest, and time has passed: a phase that ends at a time of day has other minutes now."""
        phases, readout, now = self._cooking.phases, self._board.readout, self._board.clock.now()
        row = readout.phase if readout.phase < len(phases) else 0
        if not any(one.clock for one in phases[row:]):
            return
        try:
            made = programme.counted(phases, row, now, now)
        except ValueError as error:
            self._log(f"the ends at a time of day stay as they were: {error}")
            return
        answer = await self._send("programme", {"rows": programme.rows(made), "row": row})
        if answer.ok:
            self._cooking.keep_phases(made)

    def _settings(self, values: Any) -> tuple[dict[str, Any], Said]:
        if not isinstance(values, dict) or not values:
            raise Refusal('settings are given as {"values": {name: number}}')
        table = {row[0]: row for row in fields.SETTINGS}
        board: dict[str, int] = {}
        for name, value in values.items():
            row = table.get(name)
            if row is None:
                raise Refusal(f"there is no setting {name!r}; the settings are {', '.join(table)}")
            board[name] = round(asked.number(name, value, row[3] / row[2], row[4] / row[2]) * row[2])
        return {"values": board}, f"Set: {', '.join(values)}."


def _bare(name: str) -> Takes:
    """An order without arguments."""

    def take() -> tuple[dict[str, Any], Said]:
        return {}, BARE[name]

    return take


def phases_of(given: Any) -> list[snapshot.Phase]:
    """[{"name", "low", "high", "end_kind", "end_value", "purpose", "clock"}, ...] -> phases; Refusal says what is
    wrong. A clock ends it at that time of day, and needs no end_value."""
    if not isinstance(given, list) or not 1 <= len(given) <= fields.ROWS:
        raise Refusal(f"a programme is a list of 1 to {fields.ROWS} phases")
    made = []
    for i, row in enumerate(given):
        if not isinstance(row, dict):
            raise Refusal(f"phase {i + 1} needs a name, low, high, end_kind and end_value")
        kind = asked.whole(f"end_kind of phase {i + 1}", row.get("end_kind", 0))
        name = str(row.get("name") or f"phase {i + 1}").replace("\n", " ")[:60]
        low, high = (
            asked.number(f"low of {name}", row.get("low"), 40, 200),
            asked.number(f"high of {name}", row.get("high"), 45, 220),
        )
        if kind > fields.END_MEAT_3 or high - low < 2:
            raise Refusal(text(
                "{name}: its band must be at least {span} wide and its end_kind 0 to {kind}",
                name=name, span=Span(2.0), kind=fields.END_MEAT_3,
            ))  # fmt: skip
        value, clock = 0.0, programme.read_clock(str(row.get("clock") or ""))
        if row.get("clock") and not clock:
            raise Refusal(f"{name}: {row['clock']} is no time of day: write it as 06:00")
        if clock:
            kind, value = fields.END_AFTER, asked.number(f"end_value of {name}", row.get("end_value") or 1, 0, 5760)
        elif kind != fields.END_BY_HAND:
            value = asked.number(f"end_value of {name}", row.get("end_value"), 1, 5760)
        purpose = str(row.get("purpose") or "")
        if purpose not in programme.PURPOSES:
            known = ", ".join(word for word in programme.PURPOSES if word)
            raise Refusal(f"{name}: there is no purpose {purpose!r}; they are {known}")
        made.append(programme.phase(name, low, high, kind, value, purpose=purpose, clock=clock))
    return made
