"""No traceback reaches a user and no key ends the screen: real terminals, real permissions, full disks."""

from __future__ import annotations

import json
import os
import random
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from real_terminal import WITHIN, bound, terminal
from tuyere import paths, unexpected
from tuyere.cli import main as entry
from tuyere.cli.keep import keep
from tuyere.logbook import Logbook

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals and permissions are others there")
TUYERE = [sys.executable, "-m", "tuyere"]


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Path]:
    """An empty home; whatever engine was started for it is ended."""
    yield tmp_path / "pit"
    CliRunner().invoke(keep, ["--end"], env={"TUYERE_HOME": str(tmp_path / "pit")})


def test_a_byte_that_is_no_utf8_ends_no_screen(home: Path) -> None:
    with terminal(["watch", "--port", str(home / "no port")], home) as person:
        person.until("Looking for the board")
        # No byte here is a key of the screen: one that opens a form would keep the "?" below for its own field.
        for typed in (b"\xff", b";\xe9;", b"\xc3(", b"\xf0\x28\x8c\xbc", b"\x80" * 5000):
            person.keys(typed)
        person.keys(b"?")
        person.until("Keys")
        person.keys(b"\x11")  # ctrl+q
        assert person.wait() == 0
        assert "Traceback" not in person.told()
    assert not (home / unexpected.NAME).exists()


def test_no_key_ends_the_screen(home: Path) -> None:
    """Every printable key, F-keys, arrows, broken escape sequences and noise; only the keys that quit are left out."""
    draw = random.Random(5)
    noise = [bytes(draw.choice(range(256)) for _ in range(40)).translate(None, b"\x03\x11\x1aq") for _ in range(20)]
    typed = [bytes([code]) for code in range(32, 127) if chr(code) != "q"]
    typed += [b"\x1b[%c" % code for code in b"ABCDFHZ"] + [b"\x1bO%c" % code for code in b"PQRS"]
    typed += [b"\x1b[<0;5;5M", b"\x1b[<99999;-1;x", b"\x1b[200~paste \xe9\x1b[201~", b"\x1b[", b"\x1b]0;x", b"\x00"]
    with terminal(["watch", "--port", str(home / "no port")], home) as person:
        person.until("Looking for the board")
        for keys in [*typed, *noise]:
            person.keys(keys)
            person.keys(b"\x1b")  # out of whatever it opened
        person.keys(b"\x11")
        assert person.wait() == 0, person.told()
        assert "Traceback" not in person.told()
    assert not (home / unexpected.NAME).exists()


def test_keep_end_stays_ended_while_a_screen_is_open_until_a_key_starts_it_again(home: Path) -> None:
    with terminal(["watch", "--port", str(home / "no port")], home) as person:
        person.until("Looking for the board")
        done = CliRunner().invoke(keep, ["--end"], env={"TUYERE_HOME": str(home)})
        assert done.exit_code == 0, done.output
        person.until("The engine was ended on purpose")
        person.keys(b"?")  # the screen goes on
        person.until("Keys")
        person.keys(b"\x1b")
        Logbook(paths.logbook_path(home)).close()  # nobody has taken it
        person.keys(b"\x1b[15~")  # F5
        person.until("Looking for the board")
        with pytest.raises(Exception, match="another engine already owns"):
            Logbook(paths.logbook_path(home))
        person.keys(b"\x11")
        assert person.wait() == 0


# -- homes ---------------------------------------------------------------------------------


def _file(home: Path) -> None:
    home.write_text("in the way")


def _no_permission(home: Path) -> None:
    Logbook(paths.logbook_path(home)).close()
    home.chmod(0)


def _read_only(home: Path) -> None:
    Logbook(paths.logbook_path(home)).close()
    home.chmod(0o500)


def _garbage(home: Path) -> None:
    home.mkdir()
    for name in ("logbook.sqlite", "screen.toml", "engine.json", "twin.json"):
        (home / name).write_bytes(b"\xff\xfe\x00{[\n" * 100)


def _folders(home: Path) -> None:
    for name in ("logbook.sqlite", "screen.toml", "engine.json", "twin.json", "engine.log"):
        (home / name).mkdir(parents=True)


def _loop(home: Path) -> None:
    home.symlink_to(home)


def _full(home: Path) -> None:
    home.mkdir()  # and nothing may be written: see EACH


HOMES = (_file, _no_permission, _read_only, _garbage, _folders, _loop, _full)
COMMANDS = (
    ["doctor"],
    ["keep", "--end"],
    ["keep"],
    ["watch", "--plain"],
    ["log", "list"],
    ["log", "show", "last"],
    ["replay", "last"],
    ["twin", "--alone", "1"],
    ["board", "settings"],
    ["plan", "move", "Sat 20:00"],
)


UNNAMED = (("~nobody-of-that-name/x", "no such user"), (os.fsdecode(b"/tmp/caf\xe9"), "not UTF-8"))
UNNAMED_COMMANDS = (["doctor"], ["watch", "--plain"], ["keep", "--end"], ["log", "list"])


# Each command is a process of its own, forked from one that has imported the program: imports took most of the time.
EACH = """
import importlib, json, os, resource, sys
from tuyere.cli.main import COMMANDS, main
for name in COMMANDS:
    importlib.import_module("tuyere.cli." + name)
for home, full, command in json.loads(sys.argv[1]):
    ours, theirs = os.pipe()
    if not os.fork():
        os.dup2(theirs, 1), os.dup2(theirs, 2), os.close(ours), os.close(theirs)
        os.environ["TUYERE_HOME"] = home
        if full:
            resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
        break
    os.close(theirs)
    said = os.fdopen(ours, "rb").read().decode("utf-8", "replace")
    print(json.dumps([os.waitstatus_to_exitcode(os.wait()[1]), said]), flush=True)
else:
    sys.exit(0)
main(command, prog_name="tuyere")
"""


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, list[tuple[list[str], int, str]]]]:
    """What each command says of each home, by the home: (command, exit code, all that it printed)."""
    folder = tmp_path_factory.mktemp("homes")
    # a port that is not there: no command here may go on for ever
    port = {"watch": ["--port", str(folder / "no port")], "board": ["--port", str(folder / "no port")]}
    jobs: list[tuple[str, str, bool, list[str]]] = []
    for make in HOMES:
        home = folder / make.__name__
        make(home)
        jobs += [
            (make.__name__, str(home), make is _full, [*command, *port.get(command[0], [])]) for command in COMMANDS
        ]
    jobs += [(chosen, chosen, False, command) for chosen, _ in UNNAMED for command in UNNAMED_COMMANDS]
    try:
        command = [sys.executable, "-c", EACH, json.dumps([job[1:] for job in jobs])]
        done = bound(command, folder / "none", within=WITHIN * len(HOMES))
        assert done.returncode == 0, done.stdout + done.stderr
        found: dict[str, list[tuple[list[str], int, str]]] = {}
        for (name, *_, command), line in zip(jobs, done.stdout.splitlines(), strict=True):
            found.setdefault(name, []).append((command, *json.loads(line)))
        yield found
    finally:
        for make in (_no_permission, _read_only):
            (folder / make.__name__).chmod(0o700)


@pytest.mark.parametrize("make", HOMES, ids=lambda make: make.__name__.strip("_"))
def test_every_command_says_what_is_wrong_with_a_home_in_words(
    answers: dict[str, list[tuple[list[str], int, str]]], make: Callable[[Path], None]
) -> None:
    assert len(answers[make.__name__]) == len(COMMANDS)
    for command, code, said in answers[make.__name__]:
        assert "Traceback" not in said and "not foreseen" not in said, (command, said)
        assert 0 <= code <= 3, (command, code, said)
        if code and command != ["doctor"]:
            assert said.strip().splitlines()[-1].startswith("Error: "), (command, said)
        if command == ["keep"] or command[:2] == ["watch", "--plain"]:
            assert code, (command, said)  # and it has ended: these homes cannot be used


@pytest.mark.parametrize(("chosen", "words"), UNNAMED)
def test_a_home_that_cannot_be_named(
    answers: dict[str, list[tuple[list[str], int, str]]], chosen: str, words: str
) -> None:
    assert len(answers[chosen]) == len(UNNAMED_COMMANDS)
    for _, code, said in answers[chosen]:
        assert code == 1 and words in said and "set TUYERE_HOME" in said, said
        assert len(said.strip().splitlines()) == 1


# -- what no one foresaw ------------------------------------------------------------------------


def test_what_no_one_foresaw_is_one_sentence_and_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    @click.command()
    def doctor() -> None:
        raise ZeroDivisionError("of all things")

    monkeypatch.setattr("tuyere.cli.doctor.doctor", doctor)
    done = CliRunner().invoke(entry.main, ["doctor"], env={"TUYERE_HOME": str(tmp_path)})
    assert done.exit_code == 1 and len(done.output.strip().splitlines()) == 1
    assert "`tuyere doctor` failed in a way that was not foreseen (ZeroDivisionError: of all things)" in done.output
    kept = (tmp_path / unexpected.NAME).read_text()
    assert "Traceback" in kept and "ZeroDivisionError: of all things" in kept and str(tmp_path) in done.output


def test_the_details_go_elsewhere_if_the_home_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    said = unexpected.keep(tmp_path / "file", ValueError("x"), "this")
    kept = said.partition("the details are in ")[2].partition(": send")[0]
    assert kept and "ValueError: x" in Path(kept).read_text()
    Path(kept).unlink()
