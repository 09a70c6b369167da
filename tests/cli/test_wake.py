"""`tuyere wake`: routes kept in the user's own file, shown without their addresses; what `doctor` says of them."""

from __future__ import annotations

import json
import os
import stat
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from tuyere import paths
from tuyere.cli.doctor_wake import wake as examined
from tuyere.cli.main import main
from tuyere.engine.calls import routes
from tuyere.engine.calls.routes import BadRoute, Route, Routes
from tuyere.logbook import Logbook
from tuyere.logbook.rows import CallStep

SECRET = "tk_Zq81mmWx"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TUYERE_HOME", str(tmp_path))
    return tmp_path


def run(*words: str, typed: str = "") -> Result:
    return CliRunner().invoke(main, ["wake", *words], input=typed)


def test_an_address_comes_by_standard_input_and_is_shown_nowhere(home: Path) -> None:
    done = run("add", "phone", "--from", "22:00", "--to", "07:00", "--next", "sister", typed=f"ntfy://{SECRET}\n")
    assert done.exit_code == 0 and "ntfy, urgent alarms, 22:00-07:00, then sister after 9 min" in done.output
    assert "no route 'sister' yet" in done.output
    listed, plain = run("list"), run("list", "--json")
    assert SECRET not in done.output + listed.output + plain.output
    [one] = json.loads(plain.output)
    assert one["name"] == "phone" and one["from"] == "22:00" and not one["accepted"]
    assert stat.S_IMODE(os.stat(paths.wake_file(home)).st_mode) == 0o600
    assert routes.read(home).routes[0].address == f"ntfy://{SECRET}"


def test_a_file_that_others_may_read_is_closed_to_them(home: Path) -> None:
    routes.write(home, Routes(routes=[Route(name="a", address="x", kind="command")]))
    os.chmod(paths.wake_file(home), 0o644)
    assert routes.read(home).routes[0].name == "a"
    assert stat.S_IMODE(os.stat(paths.wake_file(home)).st_mode) == 0o600


def test_a_damaged_file_says_what_to_do_and_quotes_nothing(home: Path) -> None:
    paths.wake_file(home).write_text('{"routes": [{"address": "' + SECRET)
    done = run("list")
    assert done.exit_code == 1 and "damaged" in done.output and SECRET not in done.output
    assert run("add", "phone", typed=f"ntfy://{SECRET}\n").exit_code == 1  # nothing is written over


@pytest.mark.parametrize(
    ("words", "typed", "said"),
    [
        (("add", "Phone"), "ntfy://x\n", "small letters"),
        (("add", "phone"), "nothing\n", "has no kind"),
        (("add", "phone"), "\n", "there is nobody to ask"),
        (("add", "phone"), f"nosuch://{SECRET}\n", "no service is known"),
        (("add", "phone", "--next", "phone"), "ntfy://x\n", "cannot come after itself"),
        (("add", "beat", "--for", "heartbeat"), "ntfy://x\n", "begins with https"),
        (("add", "phone", "--from", "25:00"), "ntfy://x\n", "no time of the day"),
        (("add", "phone", "ntfy://x", "--run", "true"), "", "one of them"),
        (("remove", "phone"), "", "there is no route 'phone' (there is none yet)"),
        (("test",), "", "no engine is running"),
        (("test", "--now"), "", "there is no route yet"),
        (("set", "--repeat", "0"), "", "from 1 to 60"),
    ],
)
def test_what_is_wrong_is_said(words: tuple[str, ...], typed: str, said: str) -> None:
    done = run(*words, typed=typed)
    assert done.exit_code and said in done.output and SECRET not in done.output


def test_routes_in_a_circle_are_refused() -> None:
    book = Routes()
    routes.add(book, Route(name="a", address="x", kind="command", next="b"))
    routes.add(book, Route(name="b", address="x", kind="command", next="c"))
    with pytest.raises(BadRoute, match="in a circle"):
        routes.add(book, Route(name="c", address="x", kind="command", next="a"))


def test_a_command_and_a_plain_test(home: Path) -> None:
    out = home / "out"
    script = home / "say.py"
    script.write_text(f"import sys\nopen({str(out)!r}, 'w').write(sys.stdin.read())\n")
    assert run("add", "bell", "--run", f"{sys.executable} {script}").exit_code == 0
    done = run("test", "--now")
    assert done.exit_code == 0 and "accepted" in done.output and "plain test" in out.read_text()
    assert run("remove", "bell").exit_code == 0 and routes.read(home).routes == []


def test_times_are_kept(home: Path) -> None:
    assert "repeat   4 min" in run("set", "--repeat", "4", "--silence", "10").output
    assert (routes.read(home).repeat, routes.read(home).silence, routes.read(home).again) == (4, 10, 30)


def step(name: str, kind: str, wall: int, words: str = "") -> CallStep:
    return CallStep(cook=None, code="trip_hot", step=kind, at=wall, wall=wall, route=name, words=words)


def test_doctor_says_whether_each_route_works_and_when_it_last_did(home: Path) -> None:
    assert "no route" in examined(home)[0] and examined(home)[1] == []
    mail = Route(name="mail", address=f"mailto://{SECRET}", kind="mailto")
    routes.write(home, Routes(routes=[mail]))
    assert "no route can wake anybody" in examined(home)[1][0]
    phone = Route(name="phone", address=f"ntfy://{SECRET}", kind="ntfy", next="gone")
    routes.write(home, Routes(routes=[mail, phone]))
    at = 1_900_000_000_000
    with Logbook(paths.logbook_path(home)) as book:
        book.calls.add([step("phone", "accepted", at), step("mail", "failed", at, "no answer")])
    found, trouble = examined(home)
    assert isinstance(found, dict) and "last accepted 2030-" in found["phone"] and "no answer" in found["mail"]
    assert len(trouble) == 2 and "mail failed" in trouble[0] and "'gone'" in trouble[1]
    assert SECRET not in str(found) + str(trouble)
