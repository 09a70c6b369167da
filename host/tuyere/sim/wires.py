"""What the twin's world does on the board's wires: temperatures as volts and counts, the fan as it really turns.

The probes of the simulated board are those of the default settings, 100 kohm at 25 C with a Beta of 3950 K under
22 kohm, read by an ADC of 12 bits.
"""

from __future__ import annotations

import math
import struct

from tuyere.sim.outside import Readings
from tuyere.sim.twin_board import twin_frames as frames

OHMS, BETA, SERIES = 100_000.0, 3950.0, 22_000.0
OPEN, SHORT = 65535, 0  # counts


def counts(celsius: float) -> int:
    """ADC counts (of 0..65535, in steps of 12 bits) of a probe at a temperature."""
    ohms = OHMS * math.exp(BETA * (1.0 / (celsius + 273.15) - 1.0 / 298.15))
    raw = round(4095.0 * ohms / (ohms + SERIES))
    return raw << 4 | raw >> 8


def _probes(readings: Readings) -> list[int]:
    found = []
    for i, celsius in enumerate((*readings.meat_c, readings.ambient_c)):
        if celsius is None or readings.open_probes >> i & 1:
            found.append(OPEN)
        else:
            found.append(SHORT if readings.short_probes >> i & 1 else counts(max(-60.0, celsius)))
    return found


def frame(readings: Readings, now_ms: int, told: bool, held: bool, room: int, came: int) -> bytes:
    """The frame `twin_frames.BACK` for these readings; `came` bytes from the host follow it."""
    hot = 2.0 * readings.cold_c - readings.pit_c if readings.reversed else readings.pit_c
    flags = frames.TOLD * told | frames.HELD * held
    flags |= frames.FLASH_FAILS * readings.flash_fails | frames.MUX_STUCK * readings.mux_stuck
    return struct.pack(
        frames.BACK,
        now_ms,
        round(max(-270.0, min(1372.0, hot)) * 100.0),
        round(readings.cold_c * 100.0),
        readings.faults,
        readings.bus,
        *_probes(readings),
        round(readings.supply_v * 1000.0),
        readings.fan_stuck,
        readings.out,
        flags,
        room,
        came,
    )


def air(readings: Readings, drive: int) -> float:
    """How far the fan really turns, 0..1, when its switches give it `drive` of 65535, with these wires and supply."""
    if readings.fan_stuck in (frames.FAN_UNPLUGGED, frames.FAN_SWITCH_OPEN):
        return 0.0
    return drive / 65535.0 * min(1.0, readings.supply_v / 12.0)
