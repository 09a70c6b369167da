"""A pytest plugin that tries the changes of one room: collects its tests once, and forks a process for each change.

A first fork runs every test under coverage.py and notes which lines it takes; a long test is ended there and left out.
Then each change meets the tests that take its line, the quickest first, until one fails. A change
within a function replaces that function's code in the fork. A change that an import would notice runs in a new
process. Either way the file on disk holds the change meanwhile, for processes that the tests start.

It is told what to do in the JSON file that TUYERE_MUTANTS names.
"""

from __future__ import annotations

import contextlib
import ctypes
import gc
import json
import os
import re
import select
import signal
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from types import CodeType, FrameType, FunctionType
from typing import Any, NamedTuple

import coverage
import pytest

from mutating.places import Mutant

LONG_WALL_S = 120.0  # a test that waits so long is left out, too; on a busy machine all of them take far longer
PATIENCE_S, PATIENCE = 25.0, 5.0  # a trial may take so long, and so many times what its tests took unchanged
ALONE_S = 4.0  # a new process needs about so long before its first test
SUBREAPER = 36  # PR_SET_CHILD_SUBREAPER of <linux/prctl.h>


class Ran(NamedTuple):
    """A test as it ran unchanged."""

    seconds: float  # of the processor, with its children: whoever else keeps the machine busy does not count
    wall: float
    shared: dict[str, float]  # fixture that other tests use, too -> its seconds
    lines: dict[str, set[int]]  # file -> lines

    def cost(self) -> float:
        """Seconds of this test alone."""
        return self.seconds + sum(self.shared.values())


class TooLong(BaseException):
    """The test is ended: too long to be run for every change."""


def pytest_configure(config: pytest.Config) -> None:
    job = json.loads(Path(os.environ["TUYERE_MUTANTS"]).read_text(encoding="utf-8"))
    config.pluginmanager.register(Alone(job) if job["alone"] else Server(job), "mutants")


class Alone:
    """Runs the tests that it is given in their order, in a process of its own."""

    def __init__(self, job: dict[str, Any]) -> None:
        self._place = {test: i for i, test in enumerate(job["alone"])}
        self._said = Path(job["said"])

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted((one for one in items if one.nodeid in self._place), key=lambda one: self._place[one.nodeid])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and not self._said.exists():
            self._said.write_text(report.nodeid, encoding="utf-8")


class Server:
    """Tries all changes of a job."""

    def __init__(self, job: dict[str, Any]) -> None:
        self._root = Path(job["root"])
        self._mutants = [Mutant(*one) for one in job["mutants"]]
        self._budget: float = job["budget"]
        self._long: float = job["long"]
        self._every: bool = job["every"]
        self._results = Path(job["results"])
        self._stamp = int(time.time()) - 1_000_000  # no two versions of a file share a time: stale bytecode would run
        self._imported: dict[str, set[int]] = {}
        self._ran: dict[str, Ran] = {}
        self._items: dict[str, pytest.Item] = {}
        self._failed = ""
        self._recording: Recording | None = None
        self._coverage = self._new_coverage()
        self._coverage.start()

    def _new_coverage(self) -> coverage.Coverage:
        folders = [str(self._root / name / "*") for name in ("firmware", "host", "hardware", "tests")]
        return coverage.Coverage(data_file=None, config_file=False, include=folders)

    def _lines(self, measured: coverage.Coverage) -> Iterator[tuple[str, dict[int, list[str]]]]:
        data = measured.get_data()
        for file in data.measured_files():
            yield Path(file).relative_to(self._root).as_posix(), data.contexts_by_lineno(file)

    # what pytest calls

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self._coverage.stop()
        if session.testsfailed:
            raise session.Interrupted(f"{session.testsfailed} errors during collection")
        self._imported = {file: set(lines) for file, lines in self._lines(self._coverage)}
        self._items = {item.nodeid: item for item in session.items}
        ctypes.CDLL(None).prctl(SUBREAPER, 1, 0, 0, 0)  # whatever a test leaves behind becomes a child of this process
        begun = time.monotonic()
        recorded = self._forked(self._record, None)
        if not recorded.startswith("{"):
            raise RuntimeError(f"the tests were not recorded: {recorded}")
        told = json.loads(recorded)
        self._ran = {
            test: Ran(seconds, wall, shared, {file: set(lines) for file, lines in taken.items()})
            for test, (seconds, wall, shared, taken) in told["ran"].items()
        }
        took = round(time.monotonic() - begun)
        self._say({"recorded": len(self._ran), "seconds": took, "left out": told["without"]})
        for mutant in self._mutants:
            self._say({"said": mutant.said(), "kind": mutant.kind, **self._tried(mutant)})
        return True

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Any:
        if self._recording is None or fixturedef.scope == "function":
            return (yield)
        with self._recording.shared(fixturedef):
            return (yield)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Any:
        if self._recording is None:
            return (yield)
        with self._recording.limited(self._long):
            return (yield)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self._failed = self._failed or report.nodeid
        if self._recording is not None and (not report.passed):
            why = "skipped" if report.skipped else LONG if "TooLong" in str(report.longrepr) else "failed"
            self._recording.without.setdefault(report.nodeid, why)

    # the unchanged tests

    def _record(self) -> str:
        measured = self._new_coverage()
        measured.start()
        self._recording = recording = Recording(measured)
        left = list(self._items.values())
        while left:
            item = left.pop(0)
            recording.begin(item.nodeid)
            try:
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=left[0] if left else None)
            except TooLong:  # the signal came between the test's last line and pytest's own
                recording.without[item.nodeid] = LONG
            recording.end(item)
            if recording.without.get(item.nodeid) == LONG:  # with other values it is no shorter
                same = item.nodeid.partition("[")[0]
                recording.without |= {one.nodeid: LONG for one in left if one.nodeid.partition("[")[0] == same}
                left = [one for one in left if one.nodeid not in recording.without]
                item.session._setupstate.teardown_exact(left[0] if left else None)
        measured.stop()
        by_context: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
        for file, lines in self._lines(measured):
            for line, contexts in lines.items():
                for context in contexts:
                    by_context[context][file].append(line)
        ran = {}
        for test, (seconds, wall, shared) in recording.tests.items():
            if test not in recording.without:
                taken: dict[str, list[int]] = defaultdict(list)
                for context in (test, *shared):
                    for file, found in by_context[context].items():
                        taken[file] += found
                ran[test] = (seconds, wall, {one: recording.shared_s[one] for one in shared}, taken)
        return json.dumps({"ran": ran, "without": recording.without})

    # one change

    def _tried(self, mutant: Mutant) -> dict[str, Any]:
        span = set(range(mutant.first, mutant.last + 1))
        ranks = self._ranked(mutant, span)
        chosen: list[str] = []
        shared: dict[str, float] = {}
        total = wall = 0.0
        for test in ranks:
            one = self._ran[test]
            more = one.seconds + sum(took for name, took in one.shared.items() if name not in shared)
            takes = not mutant.function or not span.isdisjoint(one.lines.get(mutant.file, ()))
            if total + more <= self._budget * (1.0 if takes else 0.25) or not chosen:  # the others seldom notice it
                chosen.append(test)
                shared |= one.shared
                total += more
                wall += max(more, one.wall)
        taking = sum(not span.isdisjoint(self._ran[test].lines.get(mutant.file, ())) for test in ranks)
        said = {"taking": taking, "tried": len(chosen), "of": len(ranks)}
        if not chosen:
            return {**said, "by": ""}
        alone = not mutant.function or not span.isdisjoint(self._imported.get(mutant.file, ()))
        limit = PATIENCE_S + PATIENCE * (wall + ALONE_S)
        path = self._root / mutant.file
        whole = path.read_text(encoding="utf-8")
        self._put(path, mutant.made(whole))
        try:
            by = None if alone else self._forked(lambda: self._child(mutant, whole, chosen), limit)
            if alone or by == CANNOT:
                by = self._alone(chosen, limit)
        finally:
            self._put(path, whole)
            _end_children()
        return {**said, "by": by}

    def _ranked(self, mutant: Mutant, span: set[int]) -> list[str]:
        """Tests by how likely they meet the change, then by their time: those that take its line; if it stands outside
        of functions, those that take a line with a name that it binds; then others of the same test files, since some
        share what they compute; then those of files that name the module, since some run it in other processes; then,
        where every test is wanted, the rest."""
        ran = self._ran
        taking = {test for test, one in ran.items() if not span.isdisjoint(one.lines.get(mutant.file, ()))}
        near: set[str] = set()
        if not mutant.function:
            using = self._using(mutant)
            near = {t for t, one in ran.items() if any(not one.lines.get(f, set()).isdisjoint(n) for f, n in using)}
            near |= {test for test, one in ran.items() if mutant.file in one.lines}
        stem = Path(mutant.file).stem
        word = re.compile(rf"\b{re.escape(Path(mutant.file).parent.name if stem == '__init__' else stem)}\b")
        files = {test.partition("::")[0] for test in taking}
        naming = {
            file for file in {test.partition("::")[0] for test in ran}
            if word.search((self._root / file).read_text(encoding="utf-8"))
        }  # fmt: skip
        ranks: dict[str, int] = {}
        for test in ran:
            file = test.partition("::")[0]
            places = (test in taking, test in near, file in files, file in naming)
            if any(places) or self._every:
                ranks[test] = (*places, True).index(True)
        return sorted(ranks, key=lambda test: (ranks[test], ran[test].cost()))

    def _using(self, mutant: Mutant) -> list[tuple[str, set[int]]]:
        """Lines of the source that hold a name which the change's statement binds."""
        if not mutant.names:
            return []
        word = re.compile(rf"\b({'|'.join(map(re.escape, mutant.names))})\b")
        found = []
        for file in {file for one in self._ran.values() for file in one.lines}:
            lines = (self._root / file).read_text(encoding="utf-8").splitlines()
            found.append((file, {i for i, line in enumerate(lines, 1) if word.search(line)}))
        return found

    def _child(self, mutant: Mutant, whole: str, tests: list[str]) -> str:
        if not _replaced(str(self._root / mutant.file), mutant, whole):
            return CANNOT
        items = [self._items[test] for test in tests]
        session = items[0].session
        session.items = items
        for item, following in zip(items, [*items[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if self._failed:
                break
        with contextlib.suppress(BaseException):
            session._setupstate.teardown_exact(None)
        return self._failed

    def _alone(self, tests: list[str], limit: float) -> str:
        said, job = self._results.with_suffix(".said"), self._results.with_suffix(".alone")
        said.unlink(missing_ok=True)
        job.write_text(json.dumps({"alone": tests, "said": str(said)}), encoding="utf-8")
        files = sorted({test.partition("::")[0] for test in tests})
        process = subprocess.Popen(
            [sys.executable, *OPTIONS, "-x", f"--basetemp={self._root / 'alone'}", *files], cwd=self._root,
            env={**os.environ, "TUYERE_MUTANTS": str(job)},
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL, text=True,
        )  # fmt: skip
        try:
            printed, _ = process.communicate(timeout=limit)
        except subprocess.TimeoutExpired:
            return TOO_LONG
        finally:
            _end_children()
        if process.returncode == 0:
            return ""
        if said.exists():
            return said.read_text(encoding="utf-8")
        return f"exit code {process.returncode}: {printed.strip()[-160:]}"

    def _forked(self, work: Callable[[], str], limit: float | None) -> str:
        """What `work` returns in a fork of this process."""
        reading, writing = os.pipe()
        sys.stdout.flush()
        pid = os.fork()
        if pid == 0:
            status = 1
            try:
                with os.fdopen(writing, "w") as pipe:
                    pipe.write(work() + "\n")
                status = 0
            finally:
                os._exit(status)
        os.close(writing)
        told = ""
        end = time.monotonic() + limit if limit else None
        with os.fdopen(reading, "rb", buffering=0) as pipe:
            taken = b""
            while not taken.endswith(b"\n"):
                left = None if end is None else max(0.0, end - time.monotonic())
                if not select.select([pipe], [], [], left)[0]:
                    told = TOO_LONG
                    break
                some = pipe.read(1 << 20)
                if not some:
                    told = "the process ended"
                    break
                taken += some
        _end_children()
        return told or taken.decode().removesuffix("\n")

    def _put(self, path: Path, text: str) -> None:
        path.write_text(text, encoding="utf-8")
        self._stamp += 1
        os.utime(path, (self._stamp, self._stamp))

    def _say(self, said: dict[str, Any]) -> None:
        with self._results.open("a", encoding="utf-8") as file:
            print(json.dumps(said), file=file)


LONG = "too long"
CANNOT = "cannot be replaced"
TOO_LONG = "it does not end"
OPTIONS = ("-m", "pytest", "-q", "-p", "no:xdist", "-p", "no:cacheprovider", "-p", "mutating.server")


class Recording:
    """Which test took which lines: a context of coverage.py for each test and each shared fixture."""

    def __init__(self, measured: coverage.Coverage) -> None:
        self._measured = measured
        self._contexts = [""]
        self._names: dict[int, str] = {}
        self._begun = self._begun_wall = 0.0
        self._shared_in_test = 0.0
        self.tests: dict[str, tuple[float, float, list[str]]] = {}
        self.shared_s: dict[str, float] = {}
        self.without: dict[str, str] = {}  # test -> failed, skipped or too long

    def begin(self, test: str) -> None:
        self._contexts = [test]
        self._measured.switch_context(test)
        self._begun, self._begun_wall, self._shared_in_test = _spent(), time.monotonic(), 0.0

    def end(self, item: pytest.Item) -> None:
        took = _spent() - self._begun - self._shared_in_test
        known = item._fixtureinfo.name2fixturedefs.values()  # type: ignore[attr-defined]
        shared = [self._names[id(one)] for defs in known for one in defs if id(one) in self._names]
        self.tests[item.nodeid] = (took, time.monotonic() - self._begun_wall, shared)

    @contextlib.contextmanager
    def shared(self, fixture: Any) -> Iterator[None]:
        """A fixture that several tests use: its lines are those of all of them."""
        name = self._names.setdefault(id(fixture), f"fixture {fixture.argname} {len(self._names)}")
        self._contexts.append(name)
        self._measured.switch_context(name)
        begun = _spent()
        try:
            yield
        finally:
            self.shared_s[name] = self.shared_s.get(name, 0.0) + _spent() - begun
            self._shared_in_test += _spent() - begun
            self._contexts.pop()
            self._measured.switch_context(self._contexts[-1])

    @contextlib.contextmanager
    def limited(self, long: float) -> Iterator[None]:
        """The call of a test is ended after so much CPU time, s."""

        def end(signum: int, frame: FrameType | None) -> None:
            raise TooLong

        signal.signal(signal.SIGPROF, end)
        signal.signal(signal.SIGALRM, end)
        signal.setitimer(signal.ITIMER_PROF, long)
        signal.setitimer(signal.ITIMER_REAL, LONG_WALL_S, 10.0)  # again, where it was lost in a callback
        try:
            yield
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
            signal.setitimer(signal.ITIMER_REAL, 0)


def _spent() -> float:
    """Processor time of this process and of its ended children, s."""
    return sum(os.times()[:4])


def _codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for one in code.co_consts:
        if isinstance(one, CodeType):
            yield from _codes(one)


def _replaced(path: str, mutant: Mutant, whole: str) -> bool:
    """Whether every function of this process that holds the change's code has the changed code now."""
    try:
        changed = compile(mutant.made(whole), path, "exec")
    except SyntaxError:
        return False
    new = [c for c in _codes(changed) if c.co_qualname == mutant.function and c.co_firstlineno == mutant.opens]
    if len(new) != 1:
        return False
    for one in [one for one in gc.get_objects() if isinstance(one, FunctionType) and one.__code__.co_filename == path]:
        code = one.__code__
        if code.co_qualname.startswith(f"{mutant.function}.<locals>"):
            return False  # made by an import, with the old code
        if code.co_qualname == mutant.function and code.co_firstlineno == mutant.opens:
            if code.co_freevars != new[0].co_freevars:
                return False
            one.__code__ = new[0]
    return True


def _end_children() -> None:
    """End every process below this one."""
    mine = os.getpid()
    while True:
        found = [int(pid) for pid in Path(f"/proc/self/task/{mine}/children").read_text().split()]
        for pid in found:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        for pid in found:
            with contextlib.suppress(ChildProcessError):
                os.waitpid(pid, 0)
        if not found:
            return
