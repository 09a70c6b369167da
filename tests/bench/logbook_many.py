"""How a logbook of many cooks reads: `log list`, `log show`, the first reading of an engine.

    python tests/bench/logbook_many.py [--smoke] [--cooks 500] [--keep FOLDER]

Writes cooks of 14 h (25,200 cycles each, a state record an hour, pieces, events, alarms, forecasts) through the
logbook's own functions, then measures what a person waits for, each in a process of its own, with the file in the
system's cache. --keep uses a folder's logbook again if it is there.
To reach with 500 cooks (some 2 GB): list 0.3 s, show 0.5 s, an engine's start as fast as with none.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "logbook"), str(HERE.parents[1] / "host"), str(HERE.parents[1] / "firmware")]

from logbook_kit import BOARD, hello, night  # noqa: E402
from tuyere.logbook import Logbook  # noqa: E402
from tuyere.logbook.rows import Forecast  # noqa: E402

BEGAN = 1_700_000_000_000
WEEK = 7 * 86_400_000
READ = """
import sys, time
begin = time.perf_counter()
from pathlib import Path
from tuyere.logbook import Logbook
loaded, used = time.perf_counter(), time.process_time()
with Logbook(Path(sys.argv[1]), owner=sys.argv[2] == "owner") as book:
    cook = book.cooks.all()[-1].id
    book.reading.trend(cook)
    print(time.perf_counter() - loaded, time.process_time() - used)
"""


def fill(path, cooks, cycles):
    """A logbook of many cooks; seconds it took."""
    begin = time.perf_counter()
    with Logbook(path) as book:
        for number in range(cooks):
            boot = 0xB0000000 + number
            at = BEGAN + number * WEEK
            records = []
            for first in range(0, cycles, 1_800):
                records += night(min(1_800, cycles - first), boot, first=len(records))
            with book.together():
                book.boards.hello(BOARD, boot, {**hello(), "boot": boot}, at)
                book.boards.pair(BOARD, boot, 0, at)
                cook = book.cooks.start(f"cook {number}", at, BOARD, False)
                book.cooks.set_meat_on(cook, at + 3_600_000)
                pieces = [book.pieces.add(cook, name=f"piece {i}", mass=5.0, on_at=at + 3_600_000) for i in range(3)]
                for i in range(30):
                    book.events.note(cook, "spritzed", at + i * 1_200_000, at + i * 1_200_000, piece=pieces[i % 3])
                for i in range(8):
                    book.alarms.add(
                        cook, at + i * 3_600_000, "warning", "opened", "The lid is open", "why", ["shut it"]
                    )
                shown = range(at, at + cycles * 2_000, 600_000)
                book.forecasts.keep(
                    [
                        Forecast(cook=cook, piece=piece, kind="finish", at=t, early=t, likely=t + 1, late=t + 2)
                        for t in shown
                        for piece in pieces
                    ]
                )
            for i in range(0, len(records), 4_000):
                book.records.add(BOARD, boot, records[i : i + 4_000], cook)
            book.cooks.end(cook, at + cycles * 2_000)
    return time.perf_counter() - begin


def command(home, *arguments):
    """(seconds on the clock, of processor time) of a command of ours, with starting Python.

    Its modules are compiled as after any first start, also where the environment forbids Python to keep that.
    """
    kept = {"PYTHONPYCACHEPREFIX": str(Path(tempfile.gettempdir(), "tuyere-bench-modules")), "TUYERE_HOME": str(home)}
    its = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    begin, used = time.perf_counter(), os.times()
    subprocess.run([sys.executable, "-m", "tuyere", *arguments], env=its | kept, check=True, stdout=subprocess.DEVNULL)
    end = os.times()
    used_s = end.children_user + end.children_system - used.children_user - used.children_system
    return time.perf_counter() - begin, used_s


def opened(path, who):
    """The same to open the logbook and read the last cook's trend, without starting Python."""
    done = subprocess.run([sys.executable, "-c", READ, str(path), who], check=True, capture_output=True, text=True)
    return tuple(map(float, done.stdout.split()))


def words(times):
    """The best of several."""
    clock, used = (min(column) for column in zip(*times, strict=True))
    return f"{clock:.2f} s, {used:.2f} s of processor time"


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--smoke", action="store_true", help="small and quick: only that it runs")
    parser.add_argument("--cooks", type=int, default=500)
    parser.add_argument("--keep", type=Path, help="a folder to write the logbook to, or to find it in")
    parser.add_argument("--check", action="store_true", help="`log check`, a backup and a salvage, too")
    options = parser.parse_args()
    cooks, cycles, rounds = (3, 600, 1) if options.smoke else (options.cooks, 25_200, 5)
    with tempfile.TemporaryDirectory() as temporary:
        home = options.keep or Path(temporary)
        path = home / "logbook.sqlite"
        if not path.exists():
            took = fill(path, cooks, cycles)
            print(f"written in {took:,.0f} s: {cooks * (cycles + cycles / 1800) / took:,.0f} records/s with all else")
        one = Path(temporary) / "one"
        one.mkdir()
        fill(one / "logbook.sqlite", 1, cycles)
        print(f"{path.stat().st_size / 1e6:,.0f} MB; best of {rounds}, with one cook in brackets")
        for name, measure in {
            "python -m tuyere --version": lambda home: command(home, "--version"),
            "log list": lambda home: command(home, "log", "list"),
            "log show last": lambda home: command(home, "log", "show", "last"),
            "opened by a reader, with the trend": lambda home: opened(home / "logbook.sqlite", "reader"),
            "opened by an owner, with the trend": lambda home: opened(home / "logbook.sqlite", "owner"),
        }.items():
            many, alone = ([measure(where) for _ in range(rounds)] for where in (home, one))
            print(f"  {name}: {words(many)} ({words(alone)})")
        if options.check:
            copied = Path(temporary) / "copy.sqlite"
            print(f"  log check: {words([command(home, 'log', 'check')])}")
            print(f"  log backup: {words([command(home, 'log', 'backup', str(copied))])}")
            copied.unlink()
            print(f"  log salvage: {words([command(home, 'log', 'salvage', '--output', str(copied))])}")
        print(json.dumps({"bytes_a_cycle": round(path.stat().st_size / cooks / cycles, 1)}))


if __name__ == "__main__":
    main()
