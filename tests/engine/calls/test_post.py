"""One message, by real HTTP and SMTP: services that take it, refuse it, hang and come back; no secret leaves."""

from __future__ import annotations

import asyncio
import logging
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import msgspec
import pytest
from calls_kit import SECRET
from receivers import Web, mail, web
from tuyere import paths
from tuyere.engine.calls import post, pulse
from tuyere.engine.calls.call import Job
from tuyere.engine.calls.couriers import LEFT, Couriers
from tuyere.engine.calls.post import NO_ANSWER, Letter, Outcome, deliver
from tuyere.engine.calls.routes import COMMAND, HEARTBEAT, Route, Routes, kind_of

WITHIN = 60


def letter(address: str, **more: Any) -> Letter:
    return Letter(**{
        "address": address, "kind": COMMAND if " " in address else kind_of(address), "title": "Tripped: grease",
        "body": "Since 03:12. First: fan off.", "limit": 3.0, **more,
    })  # fmt: skip


def test_http_takes_it() -> None:
    with web() as service:
        assert deliver(letter(service.address(SECRET))) == Outcome(True)
        [got] = service.got
        assert got["title"] == "Tripped: grease" and got["message"] == "Since 03:12. First: fan off."
        assert got["type"] == "failure"


def test_smtp_takes_it_and_refuses_it() -> None:
    with mail() as (service, address):
        assert deliver(letter(address)) == Outcome(True)
        assert "Tripped: grease" in service.got[0]
        service.answer = "451 not now"
        assert not deliver(letter(address)).ok


@pytest.mark.parametrize(("status", "why"), [(500, "HTTP 500"), (401, "HTTP 401"), (404, "HTTP 404")])
def test_http_refuses(status: int, why: str) -> None:
    with web() as service:
        service.answer = status
        assert why in deliver(letter(service.address(SECRET))).why
        service.answer = 200
        assert deliver(letter(service.address(SECRET))).ok  # it comes back


def test_nobody_is_there() -> None:
    with web() as service:
        address = service.address(SECRET)
    assert deliver(letter(address)) == Outcome(False, "the connection was refused")


def test_a_service_that_hangs_is_given_up() -> None:
    with web() as service:
        service.answer = 0
        assert deliver(letter(service.address(SECRET), limit=2.0)) == Outcome(False, NO_ANSWER)


def test_an_address_that_no_service_knows() -> None:
    assert "not understood" in deliver(letter(f"nosuch://{SECRET}", kind="nosuch")).why
    assert not post.known(f"nosuch://{SECRET}") and post.known(f"ntfy://{SECRET}")


def test_a_command_of_ones_own(tmp_path: Path) -> None:
    out = tmp_path / "out"
    script = tmp_path / "call.py"
    script.write_text(f"import os, sys\nopen({str(out)!r}, 'w').write(os.environ['TUYERE_TITLE'] + sys.stdin.read())\n")
    assert deliver(letter(f"{sys.executable} {script}")) == Outcome(True)
    assert out.read_text() == "Tripped: greaseTripped: grease\nSince 03:12. First: fan off.\n"
    script.write_text("raise SystemExit(3)")
    assert deliver(letter(f"{sys.executable} {script}")).why == "the command ended with code 3"
    assert deliver(letter("/nowhere/at all")).why == "the command cannot be run"


def test_no_secret_reaches_a_log_or_an_outcome(caplog: pytest.LogCaptureFixture, capfd: Any) -> None:
    logging.getLogger("apprise").setLevel(logging.DEBUG)
    addresses = [f"{kind}://user:{SECRET}@127.0.0.1:9/{SECRET}" for kind in ("json", "ntfy", "form", "xml", "mailto")]
    addresses += [f"tgram://123456789:{SECRET}{'x' * 25}/12345", f"nosuch://{SECRET}", f"json://[{SECRET}"]
    with caplog.at_level(logging.DEBUG):
        said = [deliver(letter(address, limit=2.0)) for address in addresses if "tgram" not in address]
        said += [Outcome(post.known(address)) for address in addresses]
    out, err = capfd.readouterr()
    assert SECRET not in "".join([caplog.text, out, err, *(one.why for one in said)])
    assert not any(one.ok for one in said[: len(addresses) - 1])


def test_the_heartbeat_asks_and_says_no_more_than_a_number() -> None:
    with web() as service:
        address = f"http://127.0.0.1:{service.port}/{SECRET}"
        assert pulse.ask(address) == Outcome(True)
        service.answer = 503
        assert pulse.ask(address) == Outcome(False, "refused (HTTP 503)")
    assert pulse.ask(address) == Outcome(False, "could not be reached")
    assert pulse.ask(f"http://[{SECRET}") == Outcome(False, "could not be reached")


def test_an_address_that_never_answers_keeps_no_engine_from_ending() -> None:
    """`asyncio.run` waits at its end for the loop's own threads, without limit."""
    answered, asking = threading.Event(), []

    def ask(address: str) -> Outcome:
        asking.append(threading.current_thread())
        answered.wait(20.0)
        return Outcome(True)

    async def scene() -> None:
        tasks: list[asyncio.Task[Any]] = []
        book = Routes(routes=[Route(name="watch", address=f"http://{SECRET}", kind="http", wants=HEARTBEAT)])
        beats = pulse.Pulse(lambda work: tasks.append(asyncio.ensure_future(work)), lambda route, outcome: None, ask)
        beats.step(0, book, well=True)
        await asyncio.sleep(0)  # it begins to ask
        for task in tasks:
            task.cancel()
        assert len(tasks) == 1

    asyncio.run(scene())
    assert [thread.is_alive() for thread in asking] == [True]
    answered.set()


# -- processes -----------------------------------------------------------------------------------


def job(service: Web, attempt: str = "a1") -> Job:
    route = Route(name="phone", address=service.address(SECRET), kind="json")
    return Job(attempt=attempt, code="trip_hot", route=route, title="Tripped", body="Since 03:12.", urgent=True)


def played(home: Path, scene: Callable[[Couriers, dict[str, Outcome]], Coroutine[Any, Any, None]], **more: Any) -> None:
    async def run() -> None:
        done: dict[str, Outcome] = {}
        tasks: list[asyncio.Task[Any]] = []
        couriers = Couriers(home, done.__setitem__, lambda work: tasks.append(asyncio.create_task(work)), **more)
        async with asyncio.timeout(WITHIN):
            await scene(couriers, done)
            await asyncio.gather(*tasks)

    asyncio.run(run())


def test_a_message_goes_out_by_a_process_of_its_own(tmp_path: Path) -> None:
    with web() as service:
        said: dict[str, Outcome] = {}

        async def kept(couriers: Couriers, done: dict[str, Outcome]) -> None:
            couriers.send(job(service))
            while not done:
                await asyncio.sleep(0.01)
            said.update(done)

        played(tmp_path, kept)
        assert said == {"a1": Outcome(True)} and len(service.got) == 1
        assert list(paths.sent_folder(tmp_path).iterdir()) == []


def test_an_engine_that_was_killed_finds_what_became_of_its_message(tmp_path: Path) -> None:
    """The process goes on when the engine is killed; the next engine does not send the same again."""
    with web() as service:
        program = (
            "import asyncio, sys, os, msgspec, signal\n"
            "from pathlib import Path\n"
            "from tuyere.engine.calls import couriers\n"
            "from tuyere.engine.calls.call import Job\n"
            "async def main():\n"
            "    tasks = []\n"
            "    couriers._wait = lambda *given: os.kill(os.getpid(), signal.SIGKILL)\n"
            "    made = couriers.Couriers(Path(sys.argv[1]), print, lambda w: tasks.append(asyncio.create_task(w)))\n"
            "    made.send(msgspec.json.decode(sys.stdin.read(), type=Job))\n"
            "    await asyncio.gather(*tasks)\n"
            "asyncio.run(main())\n"
        )
        ended = subprocess.run(
            [sys.executable, "-c", program, str(tmp_path)],
            input=msgspec.json.encode(job(service)),
            timeout=WITHIN,
            check=False,
        )
        assert ended.returncode == -9
        assert service.came.acquire(timeout=WITHIN)

        async def again(couriers: Couriers, done: dict[str, Outcome]) -> None:
            couriers.wait_for(["a1"], 0.0)
            while not done:
                couriers.look(1.0)
                await asyncio.sleep(0.01)
            assert done == {"a1": Outcome(True)}

        played(tmp_path, again)
        assert len(service.got) == 1


def test_one_that_never_said_anything_counts_as_lost_after_a_while(tmp_path: Path) -> None:
    async def scene(couriers: Couriers, done: dict[str, Outcome]) -> None:
        couriers.wait_for(["a1"], 100.0)
        couriers.look(120.0)
        assert not done
        couriers.look(126.0)
        assert done == {"a1": Outcome(False, LEFT)}

    played(tmp_path, scene)


def test_a_process_that_hangs_ends_by_itself(tmp_path: Path) -> None:
    with web() as service:
        service.answer = 0
        said: dict[str, Outcome] = {}

        async def scene(couriers: Couriers, done: dict[str, Outcome]) -> None:
            couriers.send(job(service))
            while not done:
                await asyncio.sleep(0.01)
            said.update(done)

        played(tmp_path, scene, limit=2.0)
        assert said == {"a1": Outcome(False, NO_ANSWER)}


def test_the_process_has_no_secret_in_its_arguments_or_its_environment(tmp_path: Path) -> None:
    looked: list[bytes] = []
    with web() as service:

        async def scene(couriers: Couriers, done: dict[str, Outcome]) -> None:
            original = subprocess.Popen

            def spawned(*given: Any, **more: Any) -> Any:
                process = original(*given, **more)
                for name in ("cmdline", "environ"):
                    if os.path.exists(f"/proc/{process.pid}/{name}"):
                        looked.append(Path(f"/proc/{process.pid}/{name}").read_bytes())
                looked.append(repr(given).encode())
                return process

            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(subprocess, "Popen", spawned)
                couriers.send(job(service))
                while not done:
                    await asyncio.sleep(0.01)

        played(tmp_path, scene)
    assert looked and SECRET.encode() not in b"".join(looked)
