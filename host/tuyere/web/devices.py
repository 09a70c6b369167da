"""Which devices may see the page: their tokens, and codes that let one more in. One file, readable by its owner only.

Tokens and codes are kept as SHA-256 digests. A code works once. `tuyere web pair` and `devices` write the same file as
the running page, under a lock; the page reads it again when it has changed.
"""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import os
import secrets
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import msgspec
from msgspec import Struct, field

from tuyere import paths

LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"  # none that looks like another
LENGTH = 10  # letters of a code: 49 bits
VALID = 10 * 60_000  # ms
MOST = 32  # devices
SEEN_EVERY = 3_600_000  # ms between notes of when a device was last seen
LONGEST_NAME = 40


class Device(Struct, kw_only=True):
    """A phone or computer that was let in. look: it may see everything and do nothing. Times UTC ms."""

    id: int
    name: str
    digest: str
    look: bool
    paired: int
    seen: int = 0


class Code(Struct):
    """A code that lets one device in."""

    digest: str
    until: int
    look: bool


class Kept(Struct):
    """The file. address: where the page is served while it runs."""

    devices: list[Device] = field(default_factory=list)
    codes: list[Code] = field(default_factory=list)
    last: int = 0  # number given last; none is given twice
    address: str = ""


class TooMany(Exception):
    """There is no room for another device."""


def wall() -> int:
    """UTC ms."""
    return time.time_ns() // 1_000_000


def path(home: Path) -> Path:
    """The file in the data folder."""
    return home / "web.json"


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _tidy(code: str) -> str:
    """A code as it may have been typed: '7kq2m xw9rt'."""
    return "".join(letter for letter in code.upper() if letter.isascii() and letter.isalnum())


class Devices:
    """The devices of one data folder."""

    def __init__(self, home: Path, clock: Callable[[], int] = wall) -> None:
        self._home, self._clock = home, clock
        self._path = path(home)
        self._read_at: tuple[int, int, int] | None = None
        self._kept = Kept()

    def all(self) -> list[Device]:
        """In the order they were let in."""
        return list(self._read().devices)

    @property
    def address(self) -> str:
        """Where the page was last served, '' if never."""
        return self._read().address

    def served_at(self, address: str) -> None:
        """The page is served there from now on."""
        with self._changing() as kept:
            kept.address = address

    def offer(self, look: bool = False) -> str:
        """A new code, '7KQ2M-XW9RT'. It works once, for ten minutes."""
        code = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
        with self._changing() as kept:
            kept.codes.append(Code(_digest(code), self._clock() + VALID, look))
        return f"{code[:5]}-{code[5:]}"

    def pair(self, code: str, name: str) -> tuple[str, Device] | None:
        """Let a device in by its code: its token, which is stored nowhere, and what is kept of it. None for a wrong, an
        old or a used code. TooMany if there is no room."""
        given, now = _digest(_tidy(code)), self._clock()
        with self._changing() as kept:
            found = next((one for one in kept.codes if hmac.compare_digest(one.digest, given)), None)
            if found is None or found.until < now:
                return None
            if len(kept.devices) >= MOST:
                raise TooMany(f"{MOST} devices are paired: withdraw one with `tuyere web devices --withdraw N`")
            kept.codes.remove(found)
            token = secrets.token_urlsafe(32)
            kept.last += 1
            words = " ".join("".join(c if c.isprintable() else " " for c in name).split())[:LONGEST_NAME] or "a device"
            device = Device(
                id=kept.last, name=words, digest=_digest(token), look=found.look, paired=now, seen=now
            )  # fmt: skip
            kept.devices.append(device)
        return token, device

    def known(self, token: str) -> Device | None:
        """The device with this token, None if there is none or it was withdrawn."""
        given = _digest(token)
        found = next((one for one in self._read().devices if hmac.compare_digest(one.digest, given)), None)
        if found is not None and self._clock() - found.seen >= SEEN_EVERY:
            with contextlib.suppress(OSError), self._changing() as kept:  # a full disk shuts nobody out
                for one in kept.devices:
                    one.seen = self._clock() if one.id == found.id else one.seen
        return found

    def withdraw(self, number: int) -> Device | None:
        """Shut a device out; None if there is none of that number."""
        with self._changing() as kept:
            found = next((one for one in kept.devices if one.id == number), None)
            kept.devices = [one for one in kept.devices if one.id != number]
        return found

    def _read(self) -> Kept:
        """The file as it is now. One that cannot be read lets nobody in."""
        try:
            stat = os.stat(self._path)
            at = (stat.st_mtime_ns, stat.st_size, stat.st_ino)
            if at != self._read_at:
                self._kept, self._read_at = msgspec.json.decode(self._path.read_bytes(), type=Kept), at
        except FileNotFoundError:
            self._kept, self._read_at = Kept(), None
        except (OSError, msgspec.MsgspecError):
            return Kept()
        return self._kept

    @contextlib.contextmanager
    def _changing(self) -> Iterator[Kept]:
        """The file, to be changed by one process at a time and written whole."""
        paths.ensure(self._home)
        with open(self._path.with_suffix(".lock"), "wb", opener=paths.private) as lock:
            if sys.platform != "win32":
                import fcntl

                fcntl.flock(lock, fcntl.LOCK_EX)
            self._read_at = None
            kept = self._read()
            if self._read_at is None and self._path.exists():  # not readable: whoever looks into it finds it as it was
                os.replace(self._path, self._path.with_suffix(".damaged"))
            kept.codes = [one for one in kept.codes if one.until >= self._clock()]
            yield kept
            new = self._path.with_suffix(".new")
            with open(new, "wb", opener=paths.private) as out:
                out.write(msgspec.json.encode(kept))
                out.flush()
                os.fsync(out.fileno())  # a power cut leaves the old file or the new one
            os.replace(new, self._path)
            self._read_at = None
