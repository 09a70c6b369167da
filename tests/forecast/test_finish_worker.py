"""The worker as the engine runs it: a process, a line in, a line out."""

from __future__ import annotations

import io
import subprocess
import sys

import finish_kit as kit
import msgspec
import pytest
from rendered import words
from tuyere.forecast import __main__ as worker
from tuyere.forecast import exchange
from tuyere.forecast.__main__ import serve
from tuyere.forecast.finish import Finish
from tuyere.sim import compiled


@pytest.mark.skipif(not compiled.available(), reason="takes a minute without numba")
def test_it_answers_line_after_line_a_damaged_one_and_a_piece_that_cannot_be_included() -> None:
    read = kit.probes()
    good = kit.known(240, read)
    bad = kit.known(240, read)
    bad.pieces = [msgspec.structs.replace(kit.ada(), id=7, flat=0.20), *bad.pieces]
    lines = [msgspec.json.encode(good), b'{"now": 1, "pieces": [{"id"', msgspec.json.encode(bad), b""]
    ran = subprocess.run(
        [sys.executable, "-m", "tuyere.forecast"], input=b"\n".join(lines) + b"\n", capture_output=True, timeout=300,
        check=True,
    )  # fmt: skip
    first, damaged, second = (msgspec.json.decode(line, type=exchange.Ahead) for line in ran.stdout.splitlines())
    assert first.now == good.now and first.members > 0 and first.seconds > 0.0
    assert first.pieces[0].finish is not None
    assert damaged.now == 0 and not damaged.pieces
    assert b"could not be answered" in ran.stderr and b"Traceback" not in ran.stderr
    assert second.pieces[0].id == 7 and "20 cm thick" in words(second.pieces[0].words[0])
    assert second.pieces[1].finish is not None


def test_each_line_has_its_answer_and_the_rest_is_made_ready_after_the_first(
    capsys: pytest.CaptureFixture[str],
) -> None:
    out, ready = io.BytesIO(), list[int]()
    questions = [msgspec.json.encode(exchange.Known(now=now)) for now in (5, 6)]
    lines = io.BytesIO(b"\n".join([questions[0], b" ", b"{", questions[1], b""]))
    serve(lines, out, lambda: ready.append(len(out.getvalue().splitlines())))
    answers = [msgspec.json.decode(line, type=exchange.Ahead) for line in out.getvalue().splitlines()]
    assert [answer.now for answer in answers] == [5, 0, 6] and ready == [1]
    assert answers[0].fuel is None and "not judged yet" in words(answers[0].fuel_words)
    assert capsys.readouterr().err.startswith("forecast: a question could not be answered: DecodeError: ")


def test_a_part_that_fails_says_why_and_takes_no_other_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*given: object) -> None:
        raise ValueError("the coal is wet")

    for part, name in ((worker.fuel, "ahead"), (worker.cooling, "until")):
        monkeypatch.setattr(part, name, fails)
    known = exchange.Known(now=5, pieces=[exchange.KnownPiece(id=1, place="fridge")])
    found = worker.answer(Finish(kit.MEMBERS), known)
    assert words(found.fuel_words) == "No forecast of the fuel: the coal is wet"
    assert [words(said) for said in found.pieces[0].words] == ["No forecast of the hold: the coal is wet"]
