"""Which port the board is on: named by the user, or found by its USB id."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from typing import NamedTuple

# MicroPython on a Raspberry Pi Pico names itself so (ports/rp2 of MicroPython; also in the
# udev rules of github gist tjvr/3c406bddfe9ae0a3860a3a5e6b381a93, read 2026).
USB_IDS = ((0x2E8A, 0x0005),)


class Found(NamedTuple):
    """A port with a board on it."""

    port: str  # what pyserial opens
    words: str  # what the system calls it
    serial: str  # of the board's chip, "" if it has none


def ports() -> list[tuple[str, str, int | None, int | None, str]]:
    """Every serial port of this machine: name, words, USB vendor, USB product, serial number."""
    from serial.tools import list_ports

    return [(p.device, p.description or "", p.vid, p.pid, p.serial_number or "") for p in list_ports.comports()]


def boards(listed: Iterable[tuple[str, str, int | None, int | None, str]] | None = None) -> list[Found]:
    """The ports whose USB id is that of a board we know, by name."""
    rows = ports() if listed is None else listed
    return sorted(Found(port, words, serial) for port, words, vid, pid, serial in rows if (vid, pid) in USB_IDS)


class Finder:
    """Says which port to open; it looks again each time.

    `asked` is what the user named (a device, `socket://host:port`, `rfc2217://host:port`),
    or "" to look for a board. A board found once is known by its serial number. So it may come back under another name
    after it was unplugged.
    """

    def __init__(self, asked: str = "", look: Callable[[], list[Found]] = boards) -> None:
        self._asked = asked
        self._look = look
        self._serial = ""
        self.words = "looking for a board"

    def where(self) -> str | None:
        """The port to open now, or None with the reason in `words`."""
        if self._asked and ("://" in self._asked or (not self._serial and os.path.exists(self._asked))):
            self._remember(self._asked)
            return self._asked
        found = self._look()
        same = [board for board in found if self._serial and board.serial == self._serial]
        if same:
            return same[0].port
        if self._asked:
            if os.path.exists(self._asked) or os.name == "nt":
                return self._asked
            self.words = f"there is no port {self._asked} now: plug the board in, or name another port with --port"
            return None
        if len(found) == 1:
            self._serial = found[0].serial
            return found[0].port
        if found:
            names = ", ".join(board.port for board in found)
            self.words = f"more than one board is plugged in ({names}): say which with --port"
        else:
            self.words = "no board found: plug it in, or name its port with --port"
        return None

    def _remember(self, port: str) -> None:
        if "://" not in port:
            self._serial = next((board.serial for board in self._look() if board.port == port), "")
