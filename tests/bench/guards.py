"""Take each guard of the firmware out in turn, and say which test noticed.

`python tests/bench/guards.py` prints a line a guard and ends with 1 if one was missed. The rows are those of
`firmware/guards.md`. `--smoke` tries a few.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
CORE = "core"  # the portable cases, run by this Python
BOARD = "tests/firmware/test_board.py"
STORED = "tests/link/test_stored.py"
FANS = "tests/firmware/test_drivers_fans.py"
WORST = "tests/link/test_worst.py"
STREAM = "tests/firmware/test_stream.py"
LONGEST_S = 900.0
TWIN = " ".join(f"tests/sim/test_twin{name}.py" for name in ("_inhibits", "_guards", "_doubt", "_faults", ""))


class Out(NamedTuple):
    """A guard, and the edit that takes it out: file under hearth, text, what it becomes; where its test is; and why
    the twin cannot show it alone, if so."""

    name: str
    file: str
    text: str
    without: str
    tests: str = CORE
    unseen: str = ""


GUARDS = (
    Out("probe: open, short, silent, out of range", "core/reading.py", "    bad = now.faults\n", "    bad = 0\n"),
    Out(
        "bad readings stop the fan",
        "core/reading.py",
        "return 1 if memory.bad_cycles >= settings.bad_after",
        "return 0 if memory.bad_cycles >= settings.bad_after",
    ),
    Out("a minute without a reading trips", "core/reading.py", "        trip(memory, TRIP_PROBE)", "        pass"),
    Out("frozen value", "core/reading.py", "        bad |= PROBE_FROZEN", "        pass"),
    Out("reversed leads", "core/reading.py", "        bad |= PROBE_REVERSED", "        pass"),
    Out("pit over its limit", "core/reading.py", "            trip(memory, TRIP_HOT)", "            pass"),
    Out("far above the band the fan rests", "core/decide.py", "    hot = 1 if", "    hot = 0 if"),
    Out("grease fire", "core/heat.py", "        trip(memory, TRIP_FLARE)", "        pass"),
    Out(
        "leak",
        "core/leak.py",
        "    return 1 if memory.rest_cycles >= seconds(settings.leak_after) else 0",
        "    return 0",
    ),
    Out("runaway with the fan off", "core/heat.py", "        trip(memory, TRIP_RUNAWAY)", "        pass"),
    Out("the fan's own wires", "core/parts.py", "        trip(memory, TRIP_FAN)", "        pass"),
    Out("settings damaged", "core/parts.py", "        trip(memory, TRIP_SETTINGS)", "        pass"),
    Out("brown-out loop", "core/parts.py", "        trip(memory, TRIP_RESTARTS)", "        pass"),
    Out("supply too low", "core/parts.py", "        memory.weak_left = WEAK_REST", "        memory.weak_left = 0"),
    Out(
        "no answer from the fire",
        "core/fading.py",
        "        trip(memory, TRIP_SUPPLY if parts.sags(memory) else TRIP_FIRE)",
        "        pass",
    ),
    Out(
        "off the grate, or the lid left open",
        "core/openings.py",
        "            trip(memory, TRIP_FELL)",
        "            pass",
    ),
    Out(
        "a shallow fall, too",
        "core/openings.py",
        "    return settings.fall_least if later(memory) else settings.deep",
        "    return settings.deep",
        unseen="its row there is played with a deep fall",
    ),
    Out(
        "a doubted pit is held where it reads",
        "core/law.py",
        "    if held_back.known(memory):\n",
        "    if False:\n",
    ),
    Out(
        "a doubted fire keeps what it lately did",
        "core/decide.py",
        "        least = max(least, held_back.keeps(memory))",
        "        pass",
    ),
    Out(
        "a gust is no fading",
        "core/fading.py",
        "    return 1 if memory.more_cycles >= MORE_FOR else 0",
        "    return 1 if memory.more_cycles >= 1 else 0",
        unseen="needs hours",
    ),
    Out(
        "a pit that reads low for long after a lid",
        "core/doubt.py",
        "        if memory.lack >= allowed(memory, settings.lack_most * A_MINUTE):",
        "        if False:",
    ),
    Out(
        "air beyond the usual after a lid",
        "core/doubt.py",
        "        if memory.strain >= allowed(memory, settings.strain_after * A_SECOND):",
        "        if False:",
        unseen="needs hours",
    ),
    Out(
        "a pit near its band is not let up",
        "core/held_back.py",
        "min(memory.mark + LET_UP, memory.low * 16 - SHORT_OF)",
        "memory.mark + LET_UP",
        unseen="needs hours",
    ),
    Out(
        "a climb's own budget",
        "core/doubt.py",
        "        if memory.climb_spent >= memory.climb_due:",
        "        if False:",
        unseen="needs hours",
    ),
    Out(
        "after a later opening half of that",
        "core/doubt.py",
        "    return most // 2 if openings.later(memory) else most",
        "    return most",
        unseen="needs hours",
    ),
    Out(
        "a start does not end a doubt",
        "core/orders.py",
        "        if memory.doubt:\n            held_back.mark(memory)",
        "        if False:\n            held_back.mark(memory)",
    ),
    Out(
        "a fire that is out is doubted",
        "core/trips.py",
        "    if code == TRIP_FIRE:\n        held_back.begin(memory)",
        "    if code == TRIP_FIRE:\n        pass",
        unseen="one trip more on the twin",
    ),
    Out(
        "a fallen probe is doubted",
        "core/trips.py",
        "    if code == TRIP_FELL:\n        held_back.begin(memory)",
        "    if code == TRIP_FELL:\n        pass",
        unseen="one trip more on the twin",
    ),
    Out(
        "the middle one of three readings",
        "core/law.py",
        "        memory.pit = middle(now.pit, memory.last, memory.earlier)",
        "        pass",
    ),
    Out("a fall counts from a plateau", "core/law.py", "min(memory.smooth, memory.plateau + RISES)", "memory.smooth"),
    Out(
        "a word is no opening",
        "core/openings.py",
        "memory.open_fell == 0 and fell >= RISEN and memory.slope <= -512 * settings.fall // TOLD:",
        "memory.open_fell == 0:",
    ),
    Out("openings have a total", "core/orders.py", "        return OPENED_ENOUGH", "        pass"),
    Out("a supply that sags", "core/parts.py", "    return 1 if memory.weak_share >= WEAK_SAID else 0", "    return 0"),
    Out(
        "a growing fire cannot be acknowledged",
        "core/trips.py",
        "    return 1 if memory.smooth > memory.high * 16 and memory.slope > SLOW else 0",
        "    return 0",
    ),
    Out(
        "nor a rising one", "core/trips.py", "        return 1 if memory.slope > RISES_FAST else 0", "        return 0"
    ),
    Out(
        "a pit over its limit goes first",
        "core/trips.py",
        " or (code == TRIP_HOT and not of_fire)",
        "",
        unseen="two faults at once",
    ),
    Out(
        "a piece's probe lost",
        "core/programme.py",
        "    return max(0, memory.rows[memory.phase * ROW + 2] - END_MEAT_1 + 1)",
        "    return 0",
    ),
    Out("fan by hand forgotten", "core/decide.py", "        memory.hand_left -= 1", "        pass"),
    Out("a fault that stands cannot be acknowledged", "core/orders.py", "        return FAULT_STANDS", "        pass"),
    Out(
        "a trip cannot be started away",
        "core/orders.py",
        "    if memory.trip != NO_TRIP:\n        return STANDS_TRIPPED\n    memory.resume",
        "    memory.resume",
    ),
    Out(
        "a cold pit is not resumed",
        "core/resume.py",
        "if now.board & BOARD_SHORT or memory.pit >= memory.low - settings.resume_below:",
        "if True:",
    ),
    Out(
        "a band out of range",
        "core/orders.py",
        "    if not (now.first >= 4000 and",
        "    if False and not (now.first >= 4000 and",
    ),
    Out("an order out of range", "link/messages.py", "        if not low <= value <= high:\n", "        if False:\n"),
    Out(
        "a corrupt line",
        "link/lines.py",
        "    if bytes((crc & 255, crc >> 8 & 255, crc >> 16 & 255, crc >> 24 & 255)) != raw[-4:]:",
        "    if False:",
    ),
    Out(
        "a hostile line",
        "link/lines.py",
        "        if len(self._part) > self._longest:",
        "        if False:",
        "tests/core tests/link/test_session.py",
    ),
    Out(
        "a converter that does not answer",
        "drivers/max31856.py",
        "        if self._back != self._config:",
        "        if False:",
        BOARD,
    ),
    Out(
        "the first conversion is not trusted",
        "drivers/max31856.py",
        "        self._fresh = True\n",
        "        self._fresh = False\n",
        "tests/firmware/test_drivers.py",
    ),
    Out(
        "the switch's drain",
        "drivers/sense.py",
        "            self.grounded = millivolts(high) < supply // 4",
        "            pass",
        FANS,
    ),
    Out(
        "a blower's switch that does not conduct",
        "drivers/sense.py",
        "            self.cut = millivolts(low) > supply // 4",
        "            pass",
        FANS,
    ),
    Out(
        "a four-wire fan that does not turn",
        "drivers/fan4.py",
        "            self._still = min(_STILL, self._still + 1)",
        "            pass",
        FANS,
    ),
    Out(
        "a four-wire fan that does not stop",
        "drivers/fan4.py",
        "min(_LATE, self._late + 1) if self.turns >= _RUNS and not self._duty else 0",
        "0",
        FANS,
    ),
    Out(
        "a mended fan is looked at anew",
        "board.py",
        "            self._fan.anew()",
        "            pass",
        BOARD,
        "there the fan turns again before the trip's time is up",
    ),
    Out(
        "a MAX31855 whose bits stand still",
        "drivers/max31855.py",
        "            return true, PROBE_FROZEN",
        "            pass",
        "tests/firmware/test_drivers.py",
    ),
    Out(
        "a blower's other switch",
        "drivers/blower.py",
        "        self._switch(1 if duty else 0)\n",
        "        self._switch(1)\n",
        FANS,
    ),
    Out(
        "a select line stuck up",
        "drivers/mux.py",
        "            self._passed[3] = not",
        "            known = not",
        "tests/firmware/test_drivers_probes.py",
        "the twin's multiplexer stands on its first channel only",
    ),
    Out(
        "hang: only a finished cycle feeds the watchdog",
        "board.py",
        "            serve()\n            now = self._elapsed\n",
        "            serve()\n            self.feed(0)\n            now = self._elapsed\n",
        BOARD,
        "the twin waits in its own way",
    ),
    Out("hang: 8 s", "board.py", "timeout=self.WATCHDOG_MS", "timeout=8388", BOARD, "the twin's watchdog is its own"),
    Out(
        "Ctrl-C on the line is data",
        "board.py",
        "        micropython.kbd_intr(-1)",
        "        (-1)",
        STREAM,
        "the twin's line is no console",
    ),
    Out(
        "a host that does not read",
        "board.py",
        "        if not _ready(self._room):",
        "        if False:",
        STREAM,
        "the twin's line says how much room it has",
    ),
    Out("whatever ends the loop ends the fan", "loop.py", "        board.end()", "        pass", BOARD),
    Out("a multiplexer that lies", "board.py", "        if self._mux.sound():", "        if True:", BOARD),
    Out("the clock wraps", "board.py", "self._time.ticks_diff(ticks, self._ticks)", "(ticks - self._ticks)", BOARD),
    Out(
        "pins end plainly low",
        "board.py",
        "            self._machine.Pin(number, self._machine.Pin.OUT, value=0)\n",
        "",
        BOARD,
        "the twin's pins end with its process",
    ),
    Out(
        "damaged settings are noticed",
        "store/flash.py",
        "                self._bits |= fields.BOARD_SETTINGS",
        "                pass",
        STORED,
    ),
    Out(
        "stored settings out of range are noticed",
        "store/flash.py",
        "        self._bits |= fields.BOARD_SETTINGS\n        return 0",
        "        return 0",
        STORED,
        "a checksum that is right over such values is no accident",
    ),
    Out(
        "restarts are counted",
        "store/flash.py",
        "            self._bits |= fields.BOARD_RESTARTS",
        "            pass",
        STORED,
    ),
    Out(
        "an unwritable flash is said",
        "store/flash.py",
        "        self._bits |= fields.BOARD_FLASH\n        return False",
        "        return False",
        STORED,
        "the spool notices it, too",
    ),
    Out("a program's last words", "loop.py", "            loop.flash.keep_words(words)", "            pass", STORED),
    Out("a stop outlives a power cut", "loop.py", "self._worth() != self._stored or (", "(", STORED),
    Out("draught turns no fan", "drivers/fan4.py", "_RUNS = 240", "_RUNS = 1", FANS, "the twin knows no draught"),
    Out("nor hides a still one", "drivers/fan4.py", "_TURNS = 60", "_TURNS = 1", FANS, "the twin knows no draught"),
    Out(
        "one that only its wire stops trips",
        "drivers/fan4.py",
        "            self._said = _SAID_FOR",
        "            self._said = 1",
        FANS,
        "the twin's fan runs on at full speed",
    ),
    Out(
        "a sag within the pulse",
        "board.py",
        "        now.supply = min(now.supply, self._fan.least)",
        "        pass",
        BOARD,
        "the twin's supply is the same within a frame",
    ),
    Out("a bite is known to be short", "store/flash.py", "            self._bits |= fields.BOARD_SHORT", "", STORED),
    Out(
        "a memory that is too old makes no outage short",
        "store/flash.py",
        "if finished >= 0 and missed <= most:",
        "if finished >= 0:",
        STORED,
        "a flash that fails for an hour, then a bite",
    ),
    Out(
        "three bites on end and nobody knows how long it was",
        "board.py",
        " or bites > _BITES or",
        " or",
        BOARD,
        "the twin's board finishes a cycle at once",
    ),
    Out(
        "a settings' limit against the band in force",
        "order_checks.py",
        "contradicts(new, highest(memory)) if memory.mode",
        "contradicts(new, new.band_high) if memory.mode",
        STORED,
    ),
    Out(
        "orders that write are rationed",
        "order_checks.py",
        "        return self.left == 0 and",
        "        return False and",
        STORED,
    ),
    Out(
        "a go on the line takes 20 ms",
        "link/talk.py",
        "            while self._came and self._clock() - began < TAKE_MS:",
        "            while self._came:",
        WORST,
        "on the twin a line costs no time",
    ),
    Out(
        "and garbage no more",
        "link/talk.py",
        "            if self._came or self._clock() - began >= TAKE_MS:",
        "            if self._came:",
        WORST,
        "on the twin a line costs no time",
    ),
    Out(
        "no hello shortly before a cycle",
        "link/talk.py",
        " and self.due - self._clock() >= HELLO_MS:",
        ":",
        WORST,
        "on the twin a hello costs no time",
    ),
    Out(
        "one order of the loop a cycle",
        "loop.py",
        "        if self._own_order(at):\n            return\n",
        "        while self._own_order(at):\n            pass\n",
        WORST,
        "on the twin a write costs no time",
    ),
    Out(
        "one segment deleted a cycle",
        "store/spool.py",
        "                segment.kept = True  # `tidy` deletes it: each costs the time of a write",
        "                segment.kept = True\n                self.tidy()",
        "tests/firmware/test_spool.py",
        "on the twin a write costs no time",
    ),
    Out(
        "a full flash gives up its oldest",
        "store/spool.py",
        "        self.full = True",
        "        pass",
        "tests/firmware/test_spool.py",
    ),
)


def noticed(guard: Out, firmware: Path) -> str:
    """The first test that fails without this guard, or ""."""
    path = firmware / "hearth" / guard.file
    whole = path.read_text(encoding="utf-8")
    if guard.text not in whole:
        raise SystemExit(f"{guard.name}: {guard.file} no longer holds {guard.text!r}; bring this list up to date")
    path.write_text(whole.replace(guard.text, guard.without, 1), encoding="utf-8")
    try:
        env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(firmware), str(ROOT / "host")])}
        if guard.tests == CORE:
            command, folder = [sys.executable, "run.py"], ROOT / "tests" / "core"
        else:
            command, folder = [sys.executable, "-m", "pytest", "-x", "-q", *guard.tests.split()], ROOT
        ran = subprocess.run(
            command, cwd=folder, env=env, capture_output=True, text=True, timeout=LONGEST_S, check=False
        )
    except subprocess.TimeoutExpired:
        return ""  # nothing says that it was this guard's lack that was noticed
    finally:
        path.write_text(whole, encoding="utf-8")
    if ran.returncode == 0:
        return ""
    found = re.search(r"^(?:FAIL \w+|FAILED \S+::|ERROR) ?(\S+)", ran.stdout, re.M)
    return found.group(1) if found else f"exit code {ran.returncode}"


def main() -> int:
    """Print the table; 1 if a guard can go unnoticed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--twin", action="store_true", help="by the tests on the twin alone (some minutes)")
    parser.add_argument("--from", dest="first", type=int, default=0, metavar="N", help="leave the first N out")
    parser.add_argument("--smoke", action="store_true", help="only every ninth guard")
    given = parser.parse_args()
    guards = GUARDS[given.first :][:: 9 if given.smoke else 1]
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        firmware = Path(folder)
        shutil.copytree(ROOT / "firmware" / "hearth", firmware / "hearth", ignore=shutil.ignore_patterns("__pycache__"))
        for guard in guards:
            twin = given.twin and not guard.unseen
            test = noticed(guard._replace(tests=TWIN) if twin else guard, firmware)
            missed += not test
            why = f" (not on the twin: {guard.unseen})" if given.twin and guard.unseen else ""
            print(f"{'caught' if test else 'MISSED'}  {guard.name:45} {test}{why}", flush=True)
    print(f"{len(guards) - missed} of {len(guards)} guards are noticed by a test when they are taken out")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
