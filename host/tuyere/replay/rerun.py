"""Running a cook's cycles again from its state records.

Every state record is a start; from there all cycles up to the next one are run and compared, and the memory that
they leave is compared with the next one. What lies behind a hole waits for the next state record.
"""

from __future__ import annotations

import time
from bisect import bisect_right
from collections.abc import Iterator, Mapping
from typing import Protocol

from hearth.link import messages
from msgspec import Struct

from tuyere.logbook import Logbook
from tuyere.logbook.decode import HEAD_NAMES, Layout, Value
from tuyere.logbook.reading import Run
from tuyere.replay import changes, sentences
from tuyere.replay.cores import NAMED, Core, Cores
from tuyere.replay.found import Boot, Difference, Passed, Ran, Replay
from tuyere.replay.interpreted import Outcome, Plain, unlike
from tuyere.sim import compiled

SEQUENCE, AT, SETTINGS = (HEAD_NAMES.index(name) for name in ("sequence", "at", "settings"))


class Runner(Protocol):
    """Runs cycles: `plain.Plain`, or `fast.Fast`."""

    def start(self, memory: Mapping[str, Value], settings: Mapping[str, Value]) -> None:
        """Go on from a state record."""

    def memory(self) -> dict[str, Value]:
        """What is remembered now."""

    def now(self) -> dict[str, Value]:
        """The inputs of the last cycle run."""

    def run(self, records: list[bytes], number: int) -> Outcome:
        """Run cycle records again under the settings of this number."""


class State(Struct):
    """A state record, decoded."""

    sequence: int
    at: int
    number: int  # of its settings
    cause: int
    core: str
    memory: dict[str, Value]
    settings: dict[str, Value]


def replay(book: Logbook, cook: int, *, with_today: bool = False, fast: bool | None = None) -> Replay:
    """Run every cycle of a cook again and compare.

    with_today: with today's core whatever recorded it, which is a what-if if that was another. fast: compiled or
    plain; None is compiled where numba is there. Raises LogbookError.
    """
    its = book.cooks.get(cook)
    found = Replay(cook, its.name, its.simulated, its.origin == "foreign", with_today)
    cores = Cores(book, with_today)
    fast = compiled.available() if fast is None else fast
    began = time.perf_counter()
    for run in book.reading.runs(cook):
        found.reading += time.perf_counter() - began
        _Again(found, run, cores, fast).all()
        began = time.perf_counter()
    found.gaps = book.reading.gaps(cook)
    found.flaws = book.soundness.of(cook).flaws
    found.cuts = [cut.words for cut in book.reading.cuts(cook)]
    found.restarts = max(0, len(found.boots) - 1)
    found.what_if = any(ran.core != ran.recorded for ran in found.cores)
    found.equal = found.first is None and found.replayed > 0 and not found.missing_cores
    found.speed = found.replayed / found.seconds if found.seconds else 0.0
    return found


class _Again:
    """One boot."""

    def __init__(self, found: Replay, run: Run, cores: Cores, fast: bool) -> None:
        self._found, self._run, self._cores, self._fast = found, run, cores, fast
        began = time.perf_counter()
        self._states = [_state(run.layout, data) for data in run.states]
        found.seconds += time.perf_counter() - began
        self._runners: dict[str, tuple[Core, Runner, Ran] | str] = {}
        looked = [state.sequence for state in self._states[:1]] + run.sequences[:1]
        started = run.clock.utc(0)
        self._boot = Boot(run.board, run.boot, started, run.clock.estimated, min(looked), run.last, 0, 0, 0)

    def all(self) -> None:
        """Run all there is of this boot."""
        found, run, boot = self._found, self._run, self._boot
        boot.cycles, boot.states = len(run.cycles), len(self._states)
        found.boots.append(boot)
        found.cycles += boot.cycles
        found.states += boot.states
        found.lead += bisect_right(run.sequences, run.first - 1)
        starts = [bisect_right(run.sequences, state.sequence) for state in self._states]
        self._pass(0, starts[0] if starts else len(run.cycles), "no state record of this boot stands before them")
        before: tuple[Core, Runner, State] | None = None  # what ran up to the state in hand without a hole
        for k, state in enumerate(self._states):
            chosen = self._runner(state.core)
            began = time.perf_counter()
            if before and not isinstance(chosen, str):
                self._judge(*before, state)
            before = None
            end = starts[k + 1] if k + 1 < len(starts) else len(run.cycles)
            if isinstance(chosen, str):
                self._pass(starts[k], end, chosen)
                continue
            core, runner, ran = chosen
            whole = _unbroken(run.sequences, starts[k], end, state.sequence + 1)
            runner.start(state.memory, state.settings)
            if whole > starts[k]:
                self._cycles(core, runner.run(run.cycles[starts[k] : whole], state.number), starts[k], state)
            found.seconds += time.perf_counter() - began
            boot.replayed += whole - starts[k]
            ran.cycles += whole - starts[k]
            follows = self._states[k + 1].sequence if k + 1 < len(starts) else None
            due = state.sequence + 1 + whole - starts[k]
            if whole < end:
                last = run.sequences[whole] - 1
                self._pass(whole, end, f"{_records(due, last)} before them; the next state record is a new start")
            elif follows == due:
                before = (core, runner, state)
        found.replayed += boot.replayed

    def _runner(self, name: str) -> tuple[Core, Runner, Ran] | str:
        """What runs the cycles that a core of this name recorded, or why nothing does."""
        if name not in self._runners:
            self._runners[name] = self._choose(name)
        return self._runners[name]

    def _choose(self, name: str) -> tuple[Core, Runner, Ran] | str:
        core = self._cores.named(name)
        why = core if isinstance(core, str) else unlike(core, self._run.layout, names=core.name == name)
        if isinstance(core, str) or why:
            if name not in self._found.missing_cores:
                self._found.missing_cores.append(name)
            return why
        runner: Runner
        if self._fast and core.today:
            from tuyere.replay.fast import Fast, ready

            began = time.perf_counter()
            ready()
            self._found.preparing += time.perf_counter() - began
            runner = Fast(core, self._run.layout)
        else:
            runner = Plain(core, self._run.layout)
        for ran in self._found.cores:
            if (ran.core, ran.recorded) == (core.name, name):
                return core, runner, ran
        self._found.cores.append(Ran(core.name, name, core.today, self._fast and core.today))
        return core, runner, self._found.cores[-1]

    def _cycles(self, core: Core, outcome: Outcome, start: int, state: State) -> None:
        """Take what came of cycles run again; `start` is the index of the first of them."""
        found, run = self._found, self._run
        found.different += outcome.different
        other, first = outcome.other_settings, outcome.first
        if found.first or (other < 0 and first < 0):
            return
        i = start + (min(other, first) if other >= 0 and first >= 0 else max(other, first))
        head = run.layout.cycle.unpack(run.cycles[i])[: len(HEAD_NAMES)]
        if i == start + other:
            told = "number of the settings in force; a state record with these settings is missing"
            self._first(head[SEQUENCE], head[AT], "number", [("settings", told, "", head[SETTINGS], state.number)])
        else:
            sides = sentences.sides(core, "out", outcome.recorded, outcome.replayed)
            self._first(head[SEQUENCE], head[AT], "out", sides)

    def _judge(self, core: Core, runner: Runner, stood: State, state: State) -> None:
        """Compare a state record with what the cycles before it have left, if none is missing between."""
        found, memory = self._found, runner.memory()
        if state.cause == messages.BOOTED:
            return
        memory = {name: value for name, value in memory.items() if name in state.memory}
        recorded = {name: value for name, value in state.memory.items() if name in memory}
        by_order = state.cause not in (messages.HOURLY, messages.GAP) and not changes.inside_a_cycle(
            memory, stood.memory
        )
        if by_order and (memory != recorded or (stood.settings, stood.number) != (state.settings, state.number)):
            found.changes += 1
            found.changes_followed += changes.followed(
                core, runner.now(), memory, stood.settings, recorded, state.settings
            )
            return
        found.compared += 1
        sides = sentences.sides(core, "memory", recorded, memory)
        part = "memory" if sides else "settings"
        if not sides:
            sides = sentences.sides(core, "settings", state.settings, stood.settings)
        if not sides and state.number != stood.number:
            part, sides = "number", [("settings", "number of the settings in force", "", state.number, stood.number)]
        if sides:
            found.states_different += 1
            if not found.first:
                self._first(state.sequence, state.at, part, sides)

    def _first(self, sequence: int, at: int, part: str, sides: list[sentences.Side]) -> None:
        run = self._run
        place = (run.board, run.boot, sequence, at, run.clock.utc(at), run.clock.estimated)
        name, told, unit, recorded, replayed = sides[0]
        also = [side[0] for side in sides[1:]]
        self._found.first = Difference(*place, part, name, told, unit, recorded, replayed, also)

    def _pass(self, start: int, end: int, why: str) -> None:
        if end > start:
            run = self._run
            first, last = run.sequences[start], run.sequences[end - 1]
            self._found.passed.append(Passed(run.board, run.boot, first, last, end - start, why))


def _state(layout: Layout, data: bytes) -> State:
    head = layout.state.unpack(data)[: len(HEAD_NAMES)]
    cause, core, memory, settings = layout.state_parts(data)
    return State(head[SEQUENCE], head[AT], head[SETTINGS], cause, core[:NAMED], memory, settings)


def _unbroken(sequences: list[int], start: int, end: int, due: int) -> int:
    """Index past the last of sequences[start:end] that follow `due` without a hole."""
    if end > start and sequences[end - 1] - due == end - 1 - start:
        return end
    return next(_breaks(sequences, start, end, due))


def _breaks(sequences: list[int], start: int, end: int, due: int) -> Iterator[int]:
    yield from (i for i in range(start, end) if sequences[i] - due != i - start)
    yield end


def _records(first: int, last: int) -> str:
    return f"record {first} is missing" if first == last else f"records {first} to {last} are missing"
