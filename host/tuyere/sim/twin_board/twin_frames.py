"""The frames between the twin and the board's program, defined once for both ends. Little-endian, no padding.

OUT, from the board: wake time (ms), drive of the fan (0..65535), pulse of the damper (us), share of the ring in use
(percent), flags, the watchdog's SCRATCH0, number of bytes for the host that follow.
BACK, from the twin: time (ms), couple and cold junction as the chip sees them (0.01 C), faults of the chip
(`fields.PROBE_*`), fault of the bus, ADC counts of the four probes, supply (mV), fault of the fan, bits of the pieces
that have come out, flags, room for bytes to the host, number of bytes from the host that follow.
"""

OUT = "<QHHBBIH"
BACK = "<QihBBHHHHHBBBHH"

# flags from the board
RELEASED, FED, LIT, CALLING = 1, 2, 4, 8  # CALLING: the buzzer calls a person

# flags from the twin
TOLD = 1  # the button was pressed briefly
HELD = 2  # the button was held down
FLASH_FAILS = 4  # every write to the flash fails
MUX_STUCK = 8  # the multiplexer is stuck on its first channel

# faults of the converter's bus: none, all bits high, all bits low, bytes swapped in pairs, always the same answer
BUS_FINE, BUS_SILENT, BUS_LOW, BUS_SWAPPED, BUS_FROZEN = range(5)

# what is wrong with the fan. FAN_SWITCH_SHORTED: of a two-wire one its low side always conducts, of a four-wire one the
# speed wire never goes low; FAN_SUPPLY_SHORTED: the 12 V of either never go off
FAN_WELL, FAN_UNPLUGGED, FAN_SWITCH_SHORTED, FAN_SWITCH_OPEN, FAN_SUPPLY_SHORTED = range(5)

# One more fault of the couple, beside `fields.PROBE_*`: something live holds a lead beyond the converter's supply
COUPLE_LIVE = 64
