"""The parts of a board that are not probes: supply, own health, alarm, button, fan."""

from __future__ import annotations

from hearth.core import fields

from tuyere.board.report import Finding
from tuyere.board.walk import Walk
from tuyere.cook import wording
from tuyere.text import text

# mV; the parts are worked out for 15 V (hardware/README.md, Figures), and under 10.5 V the fan rests (`supply_least`)
LOWEST, HIGHEST = 11000, 15000
ALARM_LIMIT = 7000  # 0.01 C: what boiling water passes at any altitude
ALARM_SETTINGS = {"band_low": 4000, "band_high": 4500, "pit_limit": ALARM_LIMIT}
MORE = 500  # 0.01 % above the duty that sets the fan turning
FAN_S = 60
RUNS_DOWN = 10  # cycles: a large fan needs a while to run down
NOTHING = {"slowest": 0, "breakaway": 0}  # so that the least demand is driven as it is
LEAST = 1  # 0.01 %: the supply on, the speed wire as good as low
HAND_CYCLES = 60  # for a person to find the button
PROBE_WORDS = {
    fields.PROBE_OPEN: "the couple or its wire is open",
    fields.PROBE_SHORT: "the couple touches ground",
    fields.PROBE_RANGE: "the reading is out of the converter's range",
    fields.PROBE_SILENT: "the converter does not answer: look at its four wires and its 3.3 V",
    fields.COLD_JUNCTION: "the converter reports an impossible temperature of its own",
    fields.PROBE_TO_SUPPLY: "the couple touches the supply",
    fields.PROBE_FROZEN: "the reading stands still",
    fields.PROBE_REVERSED: "colder than any air: the couple's leads are swapped",
}
HEALTH_WORDS = {
    fields.BOARD_SETTINGS: "the stored settings are damaged; these are the defaults",
    fields.BOARD_FLASH: "the flash cannot be written",
    fields.BOARD_FULL: "the flash is full of records that no host has fetched",
    fields.BOARD_RESTARTS: "it has restarted too often in a short time",
    fields.BOARD_WATCHDOG: "this start came from its watchdog",
    fields.BOARD_ALONE: "no computer has spoken to it for longer than the settings allow",
}
FAN_WORDS = {
    fields.FAN_NOT_TURNING: "it does not turn, or its switch does not conduct",
    fields.FAN_NOT_STOPPING: "it goes on turning when it should stand still",
    fields.FAN_SHORTED: "its own switch Q1, or its wires, are shorted",
    fields.FAN_FED: "its 12 V do not switch off: Q3 is shorted",
    fields.FAN_OUT: "no blower is plugged in, or the jumper stands on four wires",
}


def supply(cycle: dict[str, int]) -> Finding:
    """The 12 V as the board measures it."""
    volts = cycle["now.supply"] / 1000
    if not volts:
        return Finding("supply", False, "no 12 V is measured: plug the supply in; look at F1 and R23, R24")
    good = LOWEST <= cycle["now.supply"] <= HIGHEST
    said = f"{volts:.2f} V"
    return Finding("supply", good, said if good else f"{said}, and 11 to 15 V is right", {"volts": volts})


def health(cycle: dict[str, int]) -> Finding:
    """What the board says of itself."""
    said = [text for bit, text in HEALTH_WORDS.items() if cycle["now.board"] & bit]
    return Finding("board", not said, "; ".join(said) or "settings, flash and starts are in order")


def faults(cycle: dict[str, int]) -> str:
    """What is wrong with the pit's channel."""
    bits = cycle["now.faults"] | cycle["out.bad"]
    return "; ".join(text for bit, text in PROBE_WORDS.items() if bits & bit) or "no good reading"


async def alarm(check: Walk) -> list[Finding]:
    """Have it trip for real, by a limit below boiling water. The person hears, sees and silences it."""
    bench = check.bench
    question = "ALARM. With the pit probe still in boiling water. Enter makes the board trip, s skips."
    if await check.ask(question) == "s":
        return [Finding("alarm", None, "not tried")]
    bench.forget()
    cycle = await bench.cycle()
    if cycle["now.faults"] or cycle["now.pit"] <= ALARM_LIMIT + 200:
        return [Finding("alarm", None, "the pit probe is not in boiling water")]
    standing = {name: bench.settings[name] for name in ALARM_SETTINGS}
    try:
        ok, why = await bench.order("settings", values=ALARM_SETTINGS)
        if not ok:
            return [Finding("alarm", False, wording.refusal(why, bench.against))]
        if not await check.until(lambda c: c["out.trip"] == fields.TRIP_HOT, 15, "waiting for the trip"):
            return [Finding("alarm", False, "the board did not trip above its limit")]
        heard = await check.yes("It has tripped. Does the buzzer call, and the lamp flicker fast?")
        wakes = heard and await check.yes(
            "It goes on calling. Go to where you will sleep, doors and windows as at night: would it wake you there?"
        )
        check.hands.say("Now hold the button for three seconds.")
        held = await check.until(lambda c: c["now.order"] == fields.ORDER_ACKNOWLEDGE, HAND_CYCLES, "hold the button")
        silent = held is not None and await check.yes("Is the buzzer silent?")
    finally:
        await _restore(check, standing)
    return [
        Finding(
            "alarm",
            heard,
            "trips, calls and flickers" if heard else "buzzer or lamp: see LS1, X11, X10 and their wires",
        ),
        Finding(
            "alarm in bed",
            wakes,
            "loud enough where the cook sleeps"
            if wakes
            else "hang the buzzer in the bedroom, on a longer cable from X11",
        ),
        Finding(
            "acknowledge",
            silent,
            "the button silences it" if silent else "a long hold does not: see X10 and R27, or LS1",
        ),
    ]


async def _restore(check: Walk, standing: dict[str, int]) -> None:
    ok, why = await check.bench.order("settings", values=standing)
    if not ok:
        again = " ".join(f"{name}={value / 100:g}" for name, value in standing.items())
        said = text(
            "Put back by hand, {why}: tuyere board settings --unit C {again}", why=wording.why_not(why), again=again
        )
        check.say(said)
        return
    await check.until(lambda c: c["now.pit"] <= standing["pit_limit"], 5, "putting the limit back")
    await check.bench.order("acknowledge")


async def button(check: Walk) -> list[Finding]:
    """A short press, a long hold, and the lamp."""
    if await check.ask("BUTTON AND LAMP. Enter begins, s skips.") == "s":
        return [Finding("button", None, "not tried")]
    check.hands.say("Press the button for a moment.")
    pressed = await check.until(lambda c: c["now.order"] == fields.ORDER_OPENED, HAND_CYCLES, "press the button")
    hold = "hold it for three seconds, then let go."
    check.hands.say(f"Seen. Now {hold}" if pressed else f"Not seen. Now {hold}")
    held = await check.until(lambda c: c["now.order"] == fields.ORDER_LOOKED, HAND_CYCLES, "hold the button")
    lamp = await check.yes("Does the button's lamp flick once every two seconds?")
    good = pressed is not None and held is not None
    said = "the board tells a press from a hold" if good else "not seen: a short press, a long hold, or both; see X10"
    return [
        Finding("button", good, said),
        Finding("lamp", lamp, "flicks as it must when off" if lamp else "see X10 and its resistor"),
    ]


async def fan(check: Walk) -> list[Finding]:
    """Let it turn slowly if the person agrees, and stop it."""
    bench = check.bench
    demand = min(max(bench.settings["breakaway"], bench.settings["slowest"]) + MORE, bench.settings["ceiling"])
    seconds = min(FAN_S, bench.settings["hand_most"])
    if not await check.yes(
        f"FAN. It will run at {demand / 100:.0f} % for some seconds. No fire to feed, no finger in it: may it run?"
    ):
        return [Finding("fan", None, "not tried")]
    ok, why = await bench.order("fan", demand=demand, seconds=seconds)
    if not ok:
        return [Finding("fan", False, wording.refusal(why))]
    try:
        bench.forget()
        ran = [await bench.cycle() for _ in range(6)]
        seen = await check.yes("Does it turn, and blow the right way?")
    finally:
        await bench.order("stop")
    bench.forget()
    stood = [await bench.cycle() for _ in range(RUNS_DOWN)]
    stopped = await check.yes("Does it stand still now?")
    found = [_fan(ran, stood, demand, seen, stopped)]
    if bench.settings["fan_wires"] == 4:
        found.append(await _at_nothing(check))
    return found


async def _at_nothing(check: Walk) -> Finding:
    """A four-wire fan must stand still with its 12 V on and its speed wire low: that is its second way to be off."""
    bench, step = check.bench, "fan at 0 %"
    standing = {name: bench.settings[name] for name in NOTHING}
    try:
        ok, why = await bench.order("settings", values=NOTHING)
        ok, why = await bench.order("fan", demand=LEAST, seconds=FAN_S) if ok else (ok, why)
        if not ok:
            return Finding(step, False, wording.refusal(why, bench.against))
        bench.forget()
        check.hands.say("Its 12 V are on again, its speed wire says 0 %: it must stand.")
        turns = [(await bench.cycle())["now.turns"] for _ in range(RUNS_DOWN)][-1]
    finally:
        await bench.order("stop")
        await bench.order("settings", values=standing)
    if turns:
        said = f"{turns} turns a minute at 0 %: only its supply's switch stops it; take a fan that stands still at 0 %"
        return Finding(step, False, said, {"turns": turns})
    return Finding(step, True, "stands still with its 12 V on", {"turns": turns})


def _fan(ran: list[dict[str, int]], stood: list[dict[str, int]], demand: int, seen: bool, stopped: bool) -> Finding:
    turns = max(cycle["now.turns"] for cycle in ran)
    last = stood[-1]["now.turns"]
    told = [cycle["now.fan_fault"] for cycle in ran + stood if cycle["now.fan_fault"] != fields.FAN_FINE]
    wrong = [FAN_WORDS[told[-1]]] if told else []
    if max(cycle["out.fan"] for cycle in ran) < demand:
        wrong.append("the board kept it off, " + (faults(ran[-1]) if ran[-1]["out.bad"] else "for its supply"))
    if not seen:
        wrong.append("it was not seen to turn")
    if not stopped or last > 0:
        wrong.append("it did not stop: pull the 12 V plug")
    if turns == 0:
        wrong.append("its turns are not counted: see the setting fan_wires and the tach wire")
    numbers = {"demand": demand / 100, "turns": turns, "turns_after": last}
    counted = f", {turns} turns a minute" if turns > 0 else ", turns not counted by this kind of fan"
    return Finding("fan", not wrong, "; ".join(wrong) or f"turns at {demand / 100:.0f} %{counted}, and stops", numbers)
