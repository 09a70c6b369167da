"""A plain conversation with whatever answers at a port. It takes no records: what a board holds stays there."""

from __future__ import annotations

import contextlib
import json
import os
import random
import time
from collections.abc import Iterator
from typing import Any, NamedTuple

from hearth.link import lines, messages

from tuyere.board.trouble import Trouble
from tuyere.link import port as ports

SAYS_HELLO = 5.0  # s; a board looks at its line all the time, a twin once a period
ASK_EVERY = 1.0  # s
# A prompt that an upload left in its raw mode answers nothing else. A board counts it as a damaged line.
LEAVE_RAW = b"\x02\r\n"
SILENCE = (
    "gives no answer that we know: this may be an upload that was cut off (`tuyere board load` does it again), another "
    "program, or none"
)
FIRMWARE, PROMPT, SILENT, CLOSED = "firmware", "prompt", "silent", "closed"


class Line:
    """An open port. Trouble if it cannot be opened or is lost."""

    def __init__(self, port: str) -> None:
        self.port = port
        self._lines = lines.Lines()
        self._number = random.SystemRandom().randrange(2**29)
        self.text = b""  # the end of what came, as it came
        try:
            self._serial = ports.open_line(port)
        except Exception as error:  # pyserial lets OSError, TypeError and termios.error through besides its own
            why = ports.words_of(error, port)
            if why.startswith("another program"):
                why += ", or if it is the engine, end that with `tuyere keep --end`"
            raise Trouble(f"{port} cannot be opened: {why}") from None

    def __enter__(self) -> Line:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let the port go."""
        with contextlib.suppress(Exception):
            self._serial.close()

    @property
    def damaged(self) -> int:
        """Lines that made no sense."""
        return int(self._lines.damaged)

    def write(self, data: bytes) -> None:
        """Send bytes as they are."""
        try:
            self._serial.write(data)
        except Exception as error:
            raise Trouble(f"{self.port} is lost: {ports.words_of(error, self.port)}") from None

    def say(self, kind: str, body: dict[str, Any]) -> None:
        """Send a message."""
        self.write(lines.encode(kind, json.dumps(body).encode()))

    def ask(self) -> None:
        """Ask who is there."""
        self._number += 1
        self.say(messages.ASK, {"ask": self._number})

    def messages(self, seconds: float) -> Iterator[tuple[str, bytes]]:
        """(kind, payload) of what comes within `seconds`."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            try:
                data = self._serial.read(max(1, min(int(self._serial.in_waiting), 65536)))
            except Exception as error:
                raise Trouble(f"{self.port} is lost: {ports.words_of(error, self.port)}") from None
            self.text = (self.text + data)[-4096:]
            yield from self._lines.feed(data)

    def hello(self, seconds: float = SAYS_HELLO) -> dict[str, Any] | None:
        """The board's hello, asked for every second; None if none comes, or at once if a prompt answers."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            self.ask()
            for _ in range(10):
                for kind, payload in self.messages(ASK_EVERY / 10):
                    if kind == messages.HELLO and isinstance(said := _decoded(payload), dict):
                        return said
                if self.prompts:
                    return None
            if not self.text:
                self.write(LEAVE_RAW)
        return None

    @property
    def prompts(self) -> bool:
        """Whether MicroPython's prompt has answered."""
        return b">>> " in self.text or b"raw REPL" in self.text

    def order(self, name: str, seconds: float = 10.0, **arguments: Any) -> tuple[bool, str]:
        """Send an order in board units; (accepted, why not). Trouble without an answer."""
        self._number += 1
        self.say(messages.ORDER, {"id": self._number, "name": name, **arguments})
        for kind, payload in self.messages(seconds):
            said = _decoded(payload) if kind == messages.ANSWER else None
            if isinstance(said, dict) and said.get("id") == self._number:
                return said.get("ok") is True, str(said.get("why", ""))
        raise Trouble(f"the board on {self.port} did not answer the order {name}: see that it is still plugged in")


class Who(NamedTuple):
    """Who answers at a port: kind is FIRMWARE, PROMPT, SILENT or CLOSED."""

    kind: str
    words: str
    hello: dict[str, Any]


def who(port: str) -> Who:
    """Look who is there. Other programs are not interrupted."""
    if "://" not in port and os.path.exists(port) and not os.access(port, os.R_OK | os.W_OK):
        return Who(CLOSED, "cannot be opened by this user: join the group that owns it (often dialout)", {})
    try:
        with Line(port) as line:
            hello = line.hello()
            if hello is not None:
                kind = "the twin, a simulated board," if hello.get("simulated") else f"board {hello.get('board')}"
                return Who(FIRMWARE, f"{kind} runs firmware {str(hello.get('firmware'))[:12]}", hello)
            if line.prompts:
                return Who(PROMPT, "MicroPython's prompt, ready for `tuyere board load`", {})
    except Trouble as trouble:
        return Who(CLOSED, str(trouble).removeprefix(f"{port} "), {})
    return Who(SILENT, SILENCE, {})


def held(hello: dict[str, Any]) -> int:
    """How many records a board holds that no host has kept, by its hello."""
    earlier = hello.get("earlier") or []
    return int(hello["next"]) - int(hello["first"]) + sum(int(run[2]) - int(run[1]) for run in earlier)


def _decoded(payload: bytes) -> Any:
    try:
        return json.loads(payload)
    except ValueError:
        return None
