"""The walk through a board's parts: supply, probes in ice and boiling water, alarm, button, fan; then the offsets.

Every step can be done again or skipped, and whatever ends the check stops the fan.
"""

from __future__ import annotations

import asyncio
import contextlib
import signal
from collections.abc import Awaitable, Callable, Iterator

from hearth.core import fields

from tuyere import codes, measures
from tuyere.board import parts_check, settle, values
from tuyere.board.bench import Bench
from tuyere.board.person import Hands
from tuyere.board.report import Finding, Report
from tuyere.board.settle import CHANNELS, Settling
from tuyere.board.trouble import Trouble
from tuyere.board.walk import Ended, Walk
from tuyere.cook import wording
from tuyere.meat.water import boiling, pressure_at
from tuyere.text import Length, Span, Temperature, render, text

SETTLES_WITHIN = 150  # cycles of 2 s
FAR = 2 * settle.MOST  # 0.01 C off the water's temperature: the probe is not in it
PROBES_IN = 0.05  # m of water over a tip, at least
HOW = {
    "ice": "ICE WATER. Crushed ice with just enough water to fill the gaps, stirred now and then.",
    "boiling": "BOILING WATER. A rolling boil, the tips clear of the pot.",
}


class Check(Walk):
    """One walk; what it finds goes into `report`. `altitude`: m, None asks for it. `unit`: F or C, of the words."""

    def __init__(
        self, bench: Bench, hands: Hands, report: Report, altitude: float | None = None, unit: str = "C"
    ) -> None:
        super().__init__(bench, hands, unit)
        self.report = report
        self._altitude = altitude
        self._fitted: list[str] = []
        self._errors: dict[str, dict[str, float]] = {name: {} for name in CHANNELS}

    async def run(self) -> None:
        """Go through all steps. Trouble if the board holds a pit or is lost. CancelledError if the terminal is closed
        or the process is asked to end; everything is put back before it."""
        with _ends_politely():
            await self._walk()

    async def _walk(self) -> None:
        await self._begin()
        steps: tuple[Callable[[], Awaitable[list[Finding]]], ...] = (
            self._overview, self._ice, self._boiling, self._part(parts_check.alarm), self._part(parts_check.button),
            self._part(parts_check.fan), self._offsets,
        )  # fmt: skip
        try:
            for step in steps:
                await self._repeat(step)
            self.report.whole = True
        except Ended:
            self.hands.say("Ended here.")
        finally:
            await self._fan_off()

    def _part(self, step: Callable[[Walk], Awaitable[list[Finding]]]) -> Callable[[], Awaitable[list[Finding]]]:
        return lambda: step(self)

    async def _repeat(self, step: Callable[[], Awaitable[list[Finding]]]) -> None:
        while True:
            findings = await step()
            for finding in findings:
                self.report.add(finding)
                mark = {True: "good", False: "WRONG", None: "skipped"}[finding.good]
                self.say(text("  {step}: {mark}, {words}", step=finding.step, mark=mark, words=finding.words))
            if not findings or await self.ask("Enter goes on, a does it again, q ends.") != "a":
                return

    # -- the steps ---------------------------------------------------------------------------

    async def _begin(self) -> None:
        cycle = await self.bench.cycle()
        state = cycle["out.state"]
        if state not in (fields.OFF, fields.BURNOUT, fields.TRIPPED):
            raise Trouble(
                f"the board is {codes.STATES[state]}: a check is for a cold pit; stop it in `tuyere watch` first"
            )
        if all(self.bench.settings[name] == value for name, value in parts_check.ALARM_SETTINGS.items()):
            await self._give_back()
        if cycle["out.trip"]:
            trip = codes.TRIPS[cycle["out.trip"]]
            if (await self.ask(f"The board has tripped ({trip}). Enter acknowledges it, s leaves it.")) != "s":
                ok, why = await self.bench.order("acknowledge")
                self.say("Acknowledged." if ok else wording.refusal(why))

    async def _give_back(self) -> None:
        """Put back the limits of an alarm step that was cut off, for instance by a power cut."""
        names = ", ".join(parts_check.ALARM_SETTINGS)
        question = (
            f"An earlier alarm step was cut off, and its limits are still set ({names}). Enter gives the board the "
            "defaults, s leaves them."
        )
        if await self.ask(question) != "s":
            new = {name: values.ROWS[name].default for name in parts_check.ALARM_SETTINGS}
            ok, why = await self.bench.order("settings", values=new)
            self.say("Put right." if ok else wording.refusal(why))

    async def _overview(self) -> list[Finding]:
        self.bench.forget()
        cycles = [await self.bench.cycle() for _ in range(3)]
        absent = settle.missing(cycles)
        self._fitted = [name for name in CHANNELS if name not in absent]
        findings = [parts_check.supply(cycles[-1]), parts_check.health(cycles[-1])]
        for name in absent:
            wrong = name == "pit"
            told = parts_check.faults(cycles[-1]) if wrong else "no reading: not fitted, or its wire is open"
            findings.append(Finding(name, False if wrong else None, told))
        return findings

    async def _ice(self) -> list[Finding]:
        return await self._bath("ice", 0.0)

    async def _boiling(self) -> list[Finding]:
        while self._altitude is None:
            unit, such = measures.ALTITUDE.bare(self.unit), measures.ALTITUDE.form[self.unit != "F"]
            said = await self.ask(f"Your altitude in {unit}, or such as {such} (Enter: sea level):")
            self._altitude = altitude(said, self.unit)
        true = boiling(pressure_at(self._altitude))
        self.say(
            text(
                "At {altitude} water boils at {boils}; weather moves that by about {weather}.",
                altitude=Length(self._altitude), boils=Temperature(true, 2), weather=Span(1.0, 0),
            )
        )  # fmt: skip
        return await self._bath("boiling", true)

    async def _bath(self, point: str, true: float) -> list[Finding]:
        """All probes at once in water of `true` C."""
        if not self._fitted:
            return [Finding(f"probes in {point}", None, "there is none to be read")]
        names = ", ".join(self._fitted)
        put = text("{how}\nPut these at least {deep} in: {names}. Enter when they are, s skips.",
                   how=HOW[point], deep=Length(PROBES_IN), names=names)  # fmt: skip
        if await self.ask(put) == "s":
            return [Finding(f"{name} in {point}", None, "not measured") for name in self._fitted]
        settling = {name: Settling() for name in self._fitted}
        self.bench.forget()
        for left in range(SETTLES_WITHIN, 0, -1):
            cycle = await self.bench.cycle()
            for name, one in settling.items():
                one.add(settle.reading(cycle, name))
            shown = ", ".join(f"{name} {self._shown(cycle, name).removesuffix(f' {self.unit}')}" for name in settling)
            self.hands.live(f"{left * 2} s, Enter ends; {self.unit}: {shown}")
            if all(one.mean is not None for one in settling.values()) or self.hands.typed() is not None:
                break
        return [self._judged(name, point, true, one.mean) for name, one in settling.items()]

    def _judged(self, name: str, point: str, true: float, mean: float | None) -> Finding:
        step = f"{name} in {point}"
        self._errors[name].pop(point, None)
        if mean is None:
            return Finding(step, False, "did not come to rest: see that all of it is in the water and its plug is home")
        error = mean - true * 100.0
        numbers = {"reads": round(mean / 100.0, 3), "true": round(true, 3)}
        said = text("reads {read} where {true} is true", read=settle.temperature(mean), true=Temperature(true, 2))
        if abs(error) > FAR:
            return Finding(step, False, text("{said}: is it in the water?", said=said), numbers)
        self._errors[name][point] = error - self.bench.settings.get(f"{name}_offset", 0)  # of the probe alone
        return Finding(step, True, said, numbers)

    def _shown(self, cycle: dict[str, int], name: str) -> str:
        found = settle.reading(cycle, name)
        return "-" if found is None else render(settle.temperature(found), self.reader)

    async def _offsets(self) -> list[Finding]:
        """Work the offsets out, and store them if the person wants it."""
        new = {}
        for name, errors in self._errors.items():
            if errors:
                verdict = settle.judge(name, errors)
                finding = Finding(f"{name}_offset", verdict.offset is not None, verdict.words)
                self.report.add(finding)
                self.say(text("  {step}: {words}", step=finding.step, words=finding.words))
                if verdict.offset is not None:
                    new[finding.step] = verdict.offset
        if not new:
            return []
        if not await self.yes("Store these offsets on the board?"):
            return [Finding("stored", None, "the offsets were not stored")]
        ok, why = await self.bench.order("settings", values=new)
        if not ok:
            return [Finding("stored", False, wording.refusal(why))]
        self.report.offsets = {name: value / 100.0 for name, value in new.items()}
        return [Finding("stored", True, "the board has acknowledged the offsets")]

    async def _fan_off(self) -> None:
        await self.bench.order("fan", demand=0, seconds=0)
        ok, why = await self.bench.order("stop")
        if not ok:
            self.say(text("THE FAN MAY RUN, pull the 12 V plug: {why}.", why=wording.why_not(why)))


@contextlib.contextmanager
def _ends_politely() -> Iterator[None]:
    """A hangup and a termination cancel this task once, as Ctrl-C does. What it has changed is put back."""
    loop, task = asyncio.get_running_loop(), asyncio.current_task()
    heard: list[int] = []

    def end(number: int) -> None:
        heard.append(number)
        if task and len(heard) == 1:
            task.cancel()

    numbers = [getattr(signal, name) for name in ("SIGHUP", "SIGTERM") if hasattr(signal, name)]
    set_up = []
    with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):  # Windows; not the main thread
        for number in numbers:
            loop.add_signal_handler(number, end, number)
            set_up.append(number)
    try:
        yield
    finally:
        for number in set_up:
            loop.remove_signal_handler(number)


def altitude(said: str, unit: str) -> float | None:
    """'350', '350 m', '1200ft', '' -> m from -500 to 5000, else None. A number alone is in the reader's unit."""
    metres = measures.read(said.strip() or "0", measures.ALTITUDE, unit)
    return None if metres is None or not -500 <= metres <= 5000 else metres
