"""What is done to the engine and its files."""

from __future__ import annotations

import asyncio
import contextlib
import json
import random
import resource
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

from tuyere import paths
from tuyere.client.client import Client, EngineError

from abused import fast_engine
from abused.between import Between
from abused.fast_engine import SPEED

PAGE = 4096
ANSWER_WITHIN = 60.0  # s
SETTLED_WITHIN = 15.0  # s that a step of the clock may take to be dealt with
OFF = 3600  # s that the newest cycle may be off the clock: a minute of the campaign
FREE = resource.RLIM_INFINITY


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
                [sys.executable, fast_engine.__file__, str(self.home), self.between.port], stderr=log
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
        until = time.monotonic() + SETTLED_WITHIN
        while (off := await self._off(client)) > OFF and time.monotonic() < until:
            await asyncio.sleep(0.1)
        self.counts["newest cycle off the clock, s"] = off
        await client.call("stop")
        await client.close()
        await asyncio.to_thread(self.engine.wait, 30)
        self.twin.terminate()
        self.twin.wait()

    async def _off(self, client: Client) -> int:
        """Seconds between the newest cycle and the clock as it was set last."""
        shot = await client.snapshot()
        wall = (self.began + (time.time() - self.began) * SPEED) * 1000 + self.offset
        return abs(round((shot.cycle.at - wall) / 1000))

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
