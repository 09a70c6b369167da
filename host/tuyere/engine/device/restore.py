"""The last state that the board reported in this cook. A board that comes back without it gets it again.

A board keeps its settings, programme and band on its flash. A board that has lost them (a worn flash, another board, an
earlier firmware) starts with its defaults. Only what differs is sent again. Nothing here ever starts a fan.
All numbers are in the board's units.
"""

from __future__ import annotations

from typing import Any

import msgspec
from msgspec import Struct, field

from tuyere.cook.snapshot import Cycle
from tuyere.engine.device.latest import Readout
from tuyere.text import Said, band, text

NAME = "stood"  # of the cook's text that holds it
AT_ONCE = 16  # settings in one order: a line to the board is bounded
# the board checks these together, so they go together and first
TOGETHER = ("band_low", "band_high", "pit_limit")
# these belong to one board: its parts, and its probes as a person has measured them
OF_ITS_PARTS = (
    "converter", "mains", "fan_wires", "servo_shut", "servo_open", "probe_ohms", "probe_beta", "series_ohms",
    "pit_offset", "meat_1_offset", "meat_2_offset", "meat_3_offset", "ambient_offset",
)  # fmt: skip

Order = tuple[str, dict[str, Any], Said]  # name, arguments, what it does in words


class Stood(Struct):
    """The last known of one cook."""

    board: str = ""
    settled: int = -1  # the boot that is known to be in this state
    settings: dict[str, int] = field(default_factory=dict)
    rows: list[list[int]] = field(default_factory=list)
    row: int = 0
    low: int = 0  # 0 until a band is known
    high: int = 0
    told: tuple[int, int] | None = None  # a band acknowledged, until a cycle carries it

    @classmethod
    def read(cls, text: str | None) -> Stood:
        """From the text kept with the cook. A text that does not parse gives an empty one."""
        try:
            return msgspec.json.decode(text or "{}", type=cls)
        except ValueError:
            return cls()

    def text(self) -> str:
        """As kept with the cook."""
        return msgspec.json.encode(self).decode()

    def acknowledged(self, name: str, arguments: dict[str, Any]) -> None:
        """The board has taken an order."""
        if name == "band":
            self.low, self.high = self.told = arguments["low"], arguments["high"]
        elif name == "settings":
            self.settings.update(arguments["values"])
        elif name == "programme":
            self.rows, self.told = arguments["rows"], None
        elif name == "phase":
            self.row, self.told = arguments["row"], None

    def follow(self, board: str, boot: int, readout: Readout) -> None:
        """Take the state of a settled board from its newest cycle."""
        cycle = readout.cycle
        if boot != self.settled or cycle is None:
            return
        band = _band(cycle)
        if self.told not in (None, band) and cycle.phase == self.row:
            band = self.low, self.high  # this cycle is older than the answer to the order
        else:
            self.told = None
        self.board, self.row, (self.low, self.high) = board, cycle.phase, band
        self.rows, self.settings = readout.rows, dict(readout.settings)

    def settings_lost(self, board: str, readout: Readout) -> list[Order]:
        """Orders that give a board the settings it acknowledged; those of its parts only to the same board."""
        now = readout.settings
        differ = {
            name: value
            for name, value in self.settings.items()
            if name in now and now[name] != value and (board == self.board or name not in OF_ITS_PARTS)
        }
        names = sorted(differ, key=lambda name: name not in TOGETHER)
        parts = [names[i : i + AT_ONCE] for i in range(0, len(names), AT_ONCE)]
        return [("settings", {"values": {n: differ[n] for n in part}}, f"settings {', '.join(part)}") for part in parts]

    def programme_lost(self, readout: Readout) -> list[Order]:
        """Orders that give a board its programme, its phase and its band again.

        A board that has its programme still has its phase too, and may have moved on by itself. Then only a band set
        by hand in this same phase can be missing.
        """
        cycle = readout.cycle
        if cycle is None:
            return []
        found: list[Order] = []
        row, held = cycle.phase, _band(cycle)
        if self.rows and readout.rows != self.rows:
            found.append(("programme", {"rows": self.rows}, "the programme"))
            row = 0 if cycle.state in ("off", "tripped", "burnout") or row >= len(self.rows) else row
            held = (self.rows[row][0], self.rows[row][1])
            if row != self.row < len(self.rows):
                found.append(("phase", {"row": self.row}, "its phase"))
                row, held = self.row, (self.rows[self.row][0], self.rows[self.row][1])
        if self.low and row == self.row and held != (self.low, self.high) and row < max(1, len(self.rows)):
            said = text("band {band}", band=band(self.low / 100, self.high / 100))
            found.append(("band", {"low": self.low, "high": self.high}, said))
        return found


def _band(cycle: Cycle) -> tuple[int, int]:
    return round(cycle.low * 100), round(cycle.high * 100)


def waits(cycle: Cycle | None) -> bool:
    """Whether the board is still deciding by itself whether to go on."""
    return cycle is None or cycle.resume == "waiting"


def rests(cycle: Cycle | None) -> bool:
    """Whether the board is known not to hold the pit."""
    return cycle is not None and cycle.state in ("off", "tripped", "burnout")


def runs(cycle: Cycle | None) -> bool:
    """Whether the board holds the pit."""
    return cycle is not None and cycle.state not in ("off", "tripped", "burnout")
