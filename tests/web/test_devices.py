"""Who is let in: codes that work once, tokens that can be withdrawn, one file for the page and the commands."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest
from click.testing import CliRunner
from tuyere.cli.main import main
from tuyere.web.devices import LETTERS, MOST, SEEN_EVERY, VALID, Devices, TooMany, path
from web_kit import Clock


def made(home: Path) -> tuple[Devices, Clock]:
    clock = Clock()
    return Devices(home, clock.wall), clock


def test_a_code_lets_one_device_in_once(tmp_path: Path) -> None:
    devices, _ = made(tmp_path)
    code = devices.offer()
    assert len(code) == 11 and set(code.replace("-", "")) <= set(LETTERS)
    paired = devices.pair(f" {code.lower().replace('-', ' ')} ", "Kitchen\u202e\nphone")
    assert paired is not None
    token, device = paired
    assert device.name == "Kitchen phone" and not device.look
    assert devices.pair(code, "another") is None
    known = devices.known(token)
    assert known is not None and known.id == device.id
    assert devices.known(token[:-1]) is None and devices.known("") is None


def test_a_code_is_over_after_ten_minutes(tmp_path: Path) -> None:
    devices, clock = made(tmp_path)
    code = devices.offer()
    clock.on(VALID / 1000 + 1)
    assert devices.pair(code, "late") is None and devices.all() == []


def test_neither_codes_nor_tokens_are_in_the_file_and_only_its_owner_reads_it(tmp_path: Path) -> None:
    devices, _ = made(tmp_path)
    paired = devices.pair(devices.offer(), "a")
    code = devices.offer()
    assert paired is not None
    kept = path(tmp_path).read_text()
    assert paired[0] not in kept and code.replace("-", "") not in kept
    assert stat.S_IMODE(path(tmp_path).stat().st_mode) == 0o600


def test_a_withdrawn_device_is_out_at_once_in_every_process(tmp_path: Path) -> None:
    devices, clock = made(tmp_path)
    paired = devices.pair(devices.offer(look=True), "a")
    assert paired is not None
    token, device = paired
    other = Devices(tmp_path, clock.wall)  # as a command has it
    known = other.known(token)
    assert known is not None and known.look
    assert other.withdraw(device.id) is not None and other.withdraw(device.id) is None
    assert devices.known(token) is None
    again = devices.pair(devices.offer(), "b")
    assert again is not None and again[1].id == device.id + 1  # a number is given once


def test_when_a_device_was_seen_is_written_once_an_hour(tmp_path: Path) -> None:
    devices, clock = made(tmp_path)
    paired = devices.pair(devices.offer(), "a")
    assert paired is not None
    before = path(tmp_path).stat().st_mtime_ns
    clock.on(SEEN_EVERY / 1000 - 1)
    devices.known(paired[0])
    assert path(tmp_path).stat().st_mtime_ns == before
    clock.on(2)
    devices.known(paired[0])
    assert devices.all()[0].seen == clock.wall()


def test_there_is_room_for_so_many(tmp_path: Path) -> None:
    devices, _ = made(tmp_path)
    for n in range(MOST):
        assert devices.pair(devices.offer(), str(n)) is not None
    with pytest.raises(TooMany, match="withdraw one"):
        devices.pair(devices.offer(), "one more")


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"devices": [1]}', b"\xff"])
def test_a_file_that_cannot_be_read_lets_nobody_in(tmp_path: Path, content: bytes) -> None:
    devices, _ = made(tmp_path)
    paired = devices.pair(devices.offer(), "a")
    assert paired is not None
    path(tmp_path).write_bytes(content)
    assert devices.known(paired[0]) is None and devices.all() == []
    assert devices.pair(devices.offer(), "b") is not None  # it goes on, and the file is kept for whoever looks into it
    assert (tmp_path / "web.damaged").read_bytes() == content


def test_the_commands_list_and_withdraw(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TUYERE_HOME", str(tmp_path))
    run = CliRunner().invoke
    assert "run `tuyere web` first" in run(main, ["web", "pair"]).output
    devices = Devices(tmp_path)
    devices.served_at("http://192.168.1.20:8424")
    shown = run(main, ["web", "pair", "--look"]).output
    code = shown.split("#")[1].split()[0]
    assert "http://192.168.1.20:8424/pair#" in shown and "\u2588" in shown  # the QR code
    assert devices.pair(code, "Sofa") is not None
    listed = json.loads(run(main, ["web", "devices", "--json"]).stdout)
    assert [(d["id"], d["name"], d["look"]) for d in listed] == [(1, "Sofa", True)]
    assert "digest" not in listed[0]
    assert "look" in run(main, ["web", "devices"]).stdout
    assert "there is no device 5" in run(main, ["web", "devices", "--withdraw", "5"]).output
    run(main, ["web", "devices", "--withdraw", "1"])
    assert devices.all() == []
