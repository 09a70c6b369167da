"""An hour of abuse at random: a twin, an engine, and everything that can happen to them and to the logbook between.

    python tests/bench/abuse.py [--seed 1] [--minutes 60] [--smoke] [--keep FOLDER]

The twin runs at 60 times real speed behind a socket. What lies between damages 1 % of its lines and calls it a real
board; the engine's clocks run 60 times as fast, so that for the engine all of it is a real night. The campaign draws
from its seed: kill, stop and continue the engine, step its clock, fill its disk and empty it, damage a page of its
logbook, move the file away and back, flood its port, and crowd its door. After each it notes something, and the engine
must answer. At the end:

- the chain of each logbook holds, but for what was damaged here, and says where;
- every cycle that is there replays bit for bit, and no record is in two files with different bytes;
- every missing record is named by a reader, and every note that was accepted is there, or its file was damaged.

Linux: it limits the size of the engine's files as a full disk does.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import json
import os
import random
import resource
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path

from hearth.link import lines, messages
from tuyere import paths
from tuyere.client.client import Client, EngineError
from tuyere.engine.engine import Engine
from tuyere.engine.set_aside import carry_on, carrying_on
from tuyere.link.session import HEAD
from tuyere.logbook import Logbook, LogbookError
from tuyere.logbook.salvage import salvage
from tuyere.replay.rerun import replay

SPEED = 60
DAMAGE = 0.01  # of the lines
PAGE = 4096
ANSWER_WITHIN = 60.0  # s
FREE = resource.RLIM_INFINITY


# -- the engine, with clocks that run as fast as the twin ------------------------------------------


def engine(home: Path, port: str) -> None:
    """Run as `tuyere keep` does until told to end."""
    clock = home.parent / "clock.json"

    def given() -> dict[str, float]:
        return json.loads(clock.read_text())

    began = given()["began"]

    def wall() -> int:
        return round((began + (time.time() - began) * SPEED) * 1000 + given()["offset"])

    def lasting() -> float:
        return time.clock_gettime(time.CLOCK_BOOTTIME) * SPEED

    def make() -> Engine:
        return Engine(home, port=port, wall=wall, lasting=lasting, forecaster=())

    def log(line: str) -> None:
        print(line, file=sys.stderr, flush=True)

    async def run() -> None:
        loop, again = asyncio.get_running_loop(), True
        while again:
            made = carrying_on(paths.logbook_path(home), wall, make, log)
            loop.add_signal_handler(signal.SIGTERM, made.stop)
            await made.run()
            again = made.replaced
            if made.logbook.damaged:
                carry_on(made.logbook.path, wall, log)

    asyncio.run(run())


# -- what lies between -------------------------------------------------------------------------------


class Between:
    """A socket for the engine in front of the twin's: damages lines, floods, and calls the twin a real board."""

    def __init__(self, twin: tuple[str, int], seed: int) -> None:
        self._twin = twin
        self._dice = random.Random(seed)
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = f"socket://127.0.0.1:{self._server.getsockname()[1]}"
        self.flood_until = 0.0
        self.damaged = self.flooded = 0
        self.seen: dict[tuple[int, int], bytes] = {}  # what the board has sent, by boot and sequence
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self) -> None:
        while True:
            near, _ = self._server.accept()
            try:
                far = socket.create_connection(self._twin)
            except OSError:
                near.close()
                continue
            threading.Thread(target=self._pass_back, args=(near, far), daemon=True).start()
            self._pass_on(far, near)

    @staticmethod
    def _pass_back(near: socket.socket, far: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while data := near.recv(65536):
                far.sendall(data)
        for one in (near, far):
            with contextlib.suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)

    def _pass_on(self, far: socket.socket, near: socket.socket) -> None:
        rest = b""
        with contextlib.suppress(OSError):
            far.settimeout(0.05)
            while True:
                try:
                    data = far.recv(65536)
                    if not data:
                        break
                except TimeoutError:
                    data = b""
                *whole, rest = (rest + data).split(b"\n")
                for line in whole:
                    near.sendall(self._bent(line) + b"\n")
                while time.monotonic() < self.flood_until:
                    junk = self._dice.randbytes(65536)
                    near.sendall(junk)
                    self.flooded += len(junk)
        for one in (near, far):
            one.close()

    def _bent(self, line: bytes) -> bytes:
        message = lines.decode(line.strip())
        if message is not None and message[0] == messages.HELLO:
            said = json.loads(message[1])
            line = lines.encode(messages.HELLO, json.dumps({**said, "simulated": False, "speed": 1}).encode()).strip()
        elif message is not None and message[0] == messages.RECORD and len(message[1]) >= HEAD.size:
            _, boot, sequence, _, _ = HEAD.unpack_from(message[1])
            self.seen[boot, sequence] = bytes(message[1])
        if line and self._dice.random() < DAMAGE:
            self.damaged += 1
            at = self._dice.randrange(len(line))
            line = line[:at] + bytes([line[at] ^ 1 << self._dice.randrange(7)]) + line[at + 1 :]
        return line


# -- the campaign --------------------------------------------------------------------------------------


class Campaign:
    """Everything that is done to one home."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder, self.home = folder, folder / "home"
        self.dice = random.Random(seed)
        self.counts: Counter[str] = Counter()
        self.offset = 0
        self.began = time.time()
        self.notes: list[str] = []  # that the engine has accepted
        self.most_kb = 0
        self.engine: subprocess.Popen[bytes] | None = None
        paths.ensure(self.home)
        self._step_clock(0)
        self.twin, where = self._start_twin(seed)
        host, _, port = where.removeprefix("socket://").partition(":")
        self.between = Between((host, int(port)), seed)
        self.abuses = (
            self.kill, self.stop_and_continue, self.step_clock, self.fill_disk, self.damage_page, self.move_file,
            self.flood_port, self.crowd_door, self.restart,
        )  # fmt: skip

    @property
    def book(self) -> Path:
        return paths.logbook_path(self.home)

    def _start_twin(self, seed: int) -> tuple[subprocess.Popen[bytes], str]:
        home = paths.ensure(self.folder / "twin")
        command = [sys.executable, "-m", "tuyere", "twin", "--tcp", "--speed", str(SPEED), "--seed", str(seed % 1000)]
        made = subprocess.Popen([*command, "--home", str(home), "--alone", "100000"], stderr=subprocess.DEVNULL)
        while True:
            with contextlib.suppress(OSError, ValueError, KeyError):
                return made, json.loads(paths.twin_file(home).read_text())["tcp"]
            assert made.poll() is None, "the twin has ended"
            time.sleep(0.05)

    def _step_clock(self, by: int) -> None:
        self.offset += by
        new = self.folder / "clock.new"
        new.write_text(json.dumps({"began": self.began, "offset": self.offset}))
        new.replace(self.folder / "clock.json")

    def _start_engine(self) -> None:
        with open(paths.engine_log(self.home), "ab") as log:
            self.engine = subprocess.Popen(
                [sys.executable, __file__, "--engine", str(self.home), "--port", self.between.port], stderr=log
            )

    async def alive(self) -> Client:
        """A client of the engine, which is started if it does not run."""
        until = time.monotonic() + ANSWER_WITHIN
        while True:
            if self.engine is None or self.engine.poll() is not None:
                self._start_engine()
            try:
                client = await Client.open(self.home)
                await asyncio.wait_for(client.snapshot(), 10)
                return client
            except (EngineError, OSError, TimeoutError):
                assert time.monotonic() < until, "the engine does not answer"
                await asyncio.sleep(0.1)

    async def note(self) -> None:
        """The engine must answer; what it accepts as noted must be found at the end."""
        client = await self.alive()
        with open(f"/proc/{self.engine.pid}/status") as file:
            self.most_kb = max(self.most_kb, *(int(line.split()[1]) for line in file if line.startswith("VmHWM")))
        text = f"note {len(self.notes)} of {self.dice.getrandbits(32):x}"
        try:
            shot = await client.snapshot()
            if shot.cook is None or shot.cook.ended or shot.cycle is None or shot.cycle.state in ("off", "tripped"):
                await client.call("order", name="start")
            await client.call("note", kind="said", text=text)
            self.notes.append(text)
        except (EngineError, TimeoutError) as error:  # a full disk, a lost link: refused in a sentence
            self.counts[f"refused: {str(error)[:60]}"] += 1
        finally:
            await client.close()

    async def kill(self) -> None:
        """SIGKILL, now."""
        self.engine.kill()
        self.engine.wait()

    async def restart(self) -> None:
        """SIGTERM; it must end by itself."""
        begin = time.monotonic()
        self.engine.terminate()
        await asyncio.to_thread(self.engine.wait, 30)
        self.counts["slowest end, ms"] = max(self.counts["slowest end, ms"], round((time.monotonic() - begin) * 1000))

    async def stop_and_continue(self) -> None:
        """A machine that sleeps."""
        self.engine.send_signal(signal.SIGSTOP)
        await asyncio.sleep(self.dice.uniform(0.5, 6))
        self.engine.send_signal(signal.SIGCONT)

    async def step_clock(self) -> None:
        """Somebody sets the computer's clock, by up to three hours."""
        self._step_clock(self.dice.randrange(-3 * 3_600_000, 3 * 3_600_000))

    async def fill_disk(self) -> None:
        """No file may grow, for some seconds."""
        limit = max(file.stat().st_size for file in self.home.iterdir() if file.is_file())
        resource.prlimit(self.engine.pid, resource.RLIMIT_FSIZE, (self.dice.randrange(1, limit + 1), FREE))
        await asyncio.sleep(self.dice.uniform(1, 5))
        if self.engine.poll() is None:
            resource.prlimit(self.engine.pid, resource.RLIMIT_FSIZE, (FREE, FREE))

    async def damage_page(self) -> None:
        """Some page of the logbook becomes noise, while the engine runs."""
        with contextlib.suppress(OSError), open(self.book, "r+b") as file:
            size = file.seek(0, 2)
            if size >= 40 * PAGE:
                file.seek(self.dice.randrange(size // PAGE) * PAGE)
                file.write(self.dice.randbytes(PAGE))
                self.counts["pages damaged"] += 1

    async def move_file(self) -> None:
        """The file is moved away, and comes back."""
        away = self.home / "away.sqlite"
        with contextlib.suppress(FileNotFoundError):
            self.book.rename(away)
            await asyncio.sleep(self.dice.uniform(0.5, 4))
            if not self.book.exists():
                away.rename(self.book)

    async def flood_port(self) -> None:
        """Noise at full speed."""
        self.between.flood_until = time.monotonic() + self.dice.uniform(0.5, 3)
        await asyncio.sleep(0.5)

    async def crowd_door(self) -> None:
        """Hundreds of connections that say too much and never show the token."""
        with contextlib.suppress(OSError, ValueError):
            port = json.loads(paths.engine_file(self.home).read_text())["port"]
            made = []
            for _ in range(300):
                with contextlib.suppress(OSError):
                    one = socket.create_connection(("127.0.0.1", port), timeout=1)
                    one.setblocking(False)
                    made.append(one)
                    one.send(b"x" * 100_000)
            for one in made:
                one.close()

    async def run(self, seconds: float, least: int) -> None:
        """Abuse for so long, at least so many times."""
        end = time.monotonic() + seconds
        await self.note()
        await self.grow(40)
        while time.monotonic() < end or self.counts["abuses"] < least:
            its = self.dice.choice(self.abuses)
            self.counts["abuses"] += 1
            self.counts[its.__name__] += 1
            await its()
            await self.note()
            await asyncio.sleep(self.dice.uniform(0, min(3.0, seconds / 40)))
        await self.grow(40)
        client = await self.alive()
        await client.call("stop")
        await client.close()
        await asyncio.to_thread(self.engine.wait, 30)
        self.twin.terminate()
        self.twin.wait()

    async def grow(self, more: int) -> None:
        """Wait until so many more records are on the disk."""
        client = await self.alive()
        try:
            begin = (await client.snapshot()).link.recorded
            until = time.monotonic() + ANSWER_WITHIN
            while (await client.snapshot()).link.recorded < begin + more:
                assert time.monotonic() < until, "nothing more is stored"
                await asyncio.sleep(0.1)
        finally:
            await client.close()


# -- what must hold ----------------------------------------------------------------------------------------


def judge(campaign: Campaign) -> list[str]:
    """What does not hold; empty when all does."""
    wrong: list[str] = []
    counts = campaign.counts
    files = sorted(campaign.home.glob("logbook*.sqlite"))
    stored: dict[tuple[int, int], bytes] = {}
    named: set[tuple[int, int]] = set()
    notes: set[str] = set()
    for file in files:
        whole = file
        if "damaged" in file.name:
            whole = campaign.folder / f"salvaged-{file.name}"
            try:
                salvage(file, whole)
            except LogbookError as error:
                counts["nothing to salvage"] += 1
                print(f"  {file.name}: {error}")
                continue
        wrong += _judge_file(campaign, whole, stored, named, notes)
    first = {boot: 0 for boot, _ in stored}
    last: dict[int, int] = {}
    for boot, sequence in stored:
        last[boot] = max(last.get(boot, 0), sequence)
    missing = {(boot, n) for boot in first for n in range(last[boot] + 1)} - stored.keys()
    counts["records"], counts["missing"] = len(stored), len(missing)
    if unnamed := missing - named:
        wrong.append(f"{len(unnamed)} missing records are named nowhere, the first {min(unnamed)}")
    for key, data in campaign.between.seen.items():
        if key in stored and stored[key] != data:
            wrong.append(f"record {key} is stored with other bytes than the board sent")
    lost = [note for note in campaign.notes if note not in notes]
    counts["notes"], counts["notes lost"] = len(campaign.notes), len(lost)
    if lost and not counts["pages damaged"]:
        wrong.append(f"{len(lost)} accepted notes are gone, the first {lost[0]!r}, and no page was damaged")
    return wrong


def _judge_file(
    campaign: Campaign, file: Path, stored: dict[tuple[int, int], bytes], named: set[tuple[int, int]], notes: set[str]
) -> list[str]:
    wrong = []
    counts = campaign.counts
    with Logbook(file, owner=False) as book:
        try:
            found = book.soundness.all()
            cooks = book.cooks.all()
        except LogbookError as error:  # damaged, and tonight's work never met the page
            whole = campaign.folder / f"salvaged-{file.name}"
            if whole.exists():
                return [f"the salvaged {file.name} cannot be read: {error}"]
            salvage(file, whole)
            return _judge_file(campaign, whole, stored, named, notes)
        counts["flaws found"] += len(found.flaws) + found.more
        if found.flaws and not counts["pages damaged"]:
            wrong.append(f"{file.name} is not sound: {found.flaws[0].words}")
        if any(flaw.kind == "sqlite" for flaw in found.flaws) and "salvaged" not in file.name:
            whole = campaign.folder / f"salvaged-{file.name}"
            salvage(file, whole)
            return wrong + _judge_file(campaign, whole, stored, named, notes)
        for boot, sequence, data in book._store.rows("SELECT boot, sequence, bytes FROM records"):
            if stored.setdefault((boot, sequence), data) != data:
                wrong.append(f"record {sequence} of boot {boot} is in two files with different bytes")
        for boot, low, high in book._store.rows("SELECT boot, first, last FROM gaps"):
            named |= {(boot, n) for n in range(low, high + 1)}
        for cook in cooks:
            for gap in book.reading.gaps(cook.id):
                named |= {(gap.boot, n) for n in range(gap.first, gap.last + 1)}
            notes |= {event.text for event in book.events.of(cook.id) if isinstance(event.text, str)}
            again = replay(book, cook.id)
            counts["cycles replayed"] += again.replayed
            if again.first is not None and not found.flaws:
                wrong.append(f"cook {cook.id} of {file.name} replays differently at record {again.first.sequence}")
    return wrong


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--smoke", action="store_true", help="every abuse about once, in under a minute")
    parser.add_argument("--keep", type=Path, help="leave all files in this folder")
    parser.add_argument("--engine", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--port", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.engine:
        engine(options.engine, options.port)
        return
    if sys.platform != "linux":
        print("abuse: needs Linux")
        return
    folder = options.keep or Path(tempfile.mkdtemp(prefix="tuyere-abuse-"))
    folder.mkdir(parents=True, exist_ok=True)
    campaign = Campaign(folder, options.seed)
    try:
        seconds, least = (15.0, 9) if options.smoke else (options.minutes * 60, 1)
        asyncio.run(campaign.run(seconds, least))
        wrong = judge(campaign)
    finally:
        for process in (campaign.engine, campaign.twin):
            if process is not None and process.poll() is None:
                process.kill()
                process.wait()
        if not options.keep:
            shutil.rmtree(folder, ignore_errors=True)
    print(f"seed {options.seed}: {time.time() - campaign.began:,.0f} s, most memory {campaign.most_kb / 1000:,.0f} MB,")
    print(f"  {campaign.between.damaged:,} lines damaged, {campaign.between.flooded / 1e6:,.0f} MB of noise")
    for name, count in sorted(campaign.counts.items()):
        print(f"  {name}: {count:,}")
    for words in wrong:
        print(f"WRONG: {words}")
    print("all holds" if not wrong else f"{len(wrong)} things do not hold")
    os._exit(bool(wrong))  # threads of the socket between may hang in a read


if __name__ == "__main__":
    main()
