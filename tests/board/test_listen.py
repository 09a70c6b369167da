"""What the board says is printed as it comes, decoded by its hello."""

from __future__ import annotations

import json
import os
import re
import struct
import subprocess
import sys
from itertools import islice
from pathlib import Path
from typing import Any

import pytest
from board_kit import running
from click.testing import CliRunner
from hearth.core import Memory, Now, Out, Settings, fields, records
from hearth.link import lines, messages
from tuyere.board import console as line
from tuyere.board import listen
from tuyere.board.listen import Listener
from tuyere.cli.main import main
from tuyere.sim.bath import Bath

TABLES = {"now": fields.NOW, "out": fields.OUT, "memory": fields.MEMORY, "settings": fields.SETTINGS}
HELLO = json.dumps({"boot": 7, "layout": {name: records.layout(table) for name, table in TABLES.items()}}).encode()


@pytest.fixture
def twin() -> Any:
    with running(Bath(), speed=60.0) as made:
        yield made


def run(home: Path, *arguments: str) -> Any:
    return CliRunner(env={"TUYERE_HOME": str(home)}).invoke(main, ["board", *arguments])


def test_what_the_board_says_is_printed_and_damage_counted(tmp_path: Path, twin: Any) -> None:
    done = run(tmp_path, "listen", "--messages", "60", "--port", twin.line.path)
    assert done.exit_code == 0 and "60 messages, 0 damaged lines" in done.stderr, done.output
    assert "hello from twin-bench (twin)" in done.stdout and re.search(r"pit +\d+\.\d\d C  meat", done.stdout)
    done = run(tmp_path, "listen", "--json", "--messages", "40", "--port", twin.line.path)
    said = [json.loads(row) for row in done.stdout.splitlines()]
    cycles = [each["body"] for each in said if each["kind"] == "cycle"]
    assert len(cycles) >= 30 and all(18 < cycle["now_pit"] < 22 for cycle in cycles)
    with line.Line(twin.line.path) as talk:
        hello = talk.hello()
    assert hello and line.held(hello) >= 40  # listening takes nothing from the board


def test_a_reader_that_goes_away_ends_listening_quietly(tmp_path: Path, twin: Any) -> None:
    command = [sys.executable, "-m", "tuyere", "board", "listen", "--port", twin.line.path]
    env = {**os.environ, "TUYERE_HOME": str(tmp_path)}
    with subprocess.Popen(command, env=env, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as heard:
        assert heard.stdout and "hello from twin-bench" in heard.stdout.readline() + heard.stdout.readline()
        heard.stdout.close()
        said = heard.stderr.read() if heard.stderr else ""
    assert heard.returncode == 0 and said.rstrip().endswith("0 damaged lines"), said
    assert len(said.splitlines()) == 1


class Said:
    """A port that has said something already."""

    damaged = 1
    prompts = False

    def __init__(self, *said: tuple[str, bytes]) -> None:
        self._said = said

    def ask(self) -> None:
        """Nothing."""

    def messages(self, seconds: float) -> Any:
        said, self._said = self._said, ()
        yield from said


def cycle(sequence: int) -> tuple[str, bytes]:
    head = struct.pack(messages.HEAD, messages.CYCLE, 7, sequence, 2000 * sequence, 0)
    return "R", head + Now().pack() + Out().pack()


def state(sequence: int) -> tuple[str, bytes]:
    head = struct.pack(messages.HEAD, messages.STATE, 7, sequence, 2000 * sequence, 0)
    cause = struct.pack(messages.STATE_HEAD, messages.HOURLY, b"the core")
    return "R", head + cause + Memory().pack() + Settings().pack()


def heard(port: Any, count: int) -> list[str]:
    """The first messages: kind and sequence."""
    listener = Listener(port)
    found = [f"{one.kind} {one.body.get('sequence', '')}".strip() for one in islice(listener.listen(), count)]
    assert listener.heard == count
    return found


def test_records_that_come_before_the_hello_wait_for_it_and_follow_in_their_order() -> None:
    port = Said(cycle(3), cycle(4), ("N", b"a word"), ("H", b"{"), state(5), ("H", HELLO), cycle(6))
    assert heard(port, 7) == ["notice", "unknown", "hello", "cycle 3", "cycle 4", "state 5", "cycle 6"]


def test_without_a_hello_they_wait_no_longer_than_until_the_next_question() -> None:
    class Silent(Said):
        asked = 0

        def ask(self) -> None:
            self.asked += 1
            if self.asked == 2:
                self._said = (cycle(5), ("H", HELLO), cycle(6))

    assert heard(Silent(cycle(3), cycle(4)), 5) == ["unknown", "unknown", "unknown", "hello", "cycle 6"]


def test_no_more_of_them_wait_than_a_board_holds() -> None:
    most = listen.MOST_EARLY + 1
    assert heard(Said(*map(cycle, range(most)), ("H", HELLO), cycle(most)), most + 2)[most - 1 :] == [
        "unknown", "hello", f"cycle {most}",
    ]  # fmt: skip


def test_what_cannot_be_read_is_said_to_be_so() -> None:
    port: Any = Said(("R", b""), ("R", b"\x01short"), ("H", b"{"), ("A", b"[]"), ("N", b"a word"), ("?", b"12"))
    assert [listen.words(each) for each in islice(Listener(port).listen(), 6)] == [
        "unknown message 'H' of 1 bytes", "unknown message 'A' of 2 bytes", "notice: a word",
        "unknown message '?' of 2 bytes", "unknown message 'R' of 0 bytes", "unknown message 'R' of 6 bytes",
    ]  # fmt: skip
    answer = lines.encode(messages.ANSWER, b'{"id": 3, "ok": false, "why": "busy"}')
    kind, payload = lines.decode(answer.strip())
    assert listen.words(listen.Listener(port).read(kind, payload)) == "answer to order 3: busy"
