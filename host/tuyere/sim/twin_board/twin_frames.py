"""The frames between the twin and the board's program, one definition for both ends. Little-endian, no padding.

OUT, from the board: when to wake (ms), what the pins give the fan (0..65535), the damper's pulse (us), the ring's
percent in use, flags, the watchdog's SCRATCH0, how many bytes for the host follow.
BACK, from the twin: time (ms), the couple as the chip sees it and the cold junction (0.01 C), the chip's faults
(`fields.PROBE_*`), what is wrong with the bus, ADC counts of the four probes, supply (mV), what is wrong with the fan,
flags, room for bytes to the host, how many bytes from the host follow.
"""

OUT = "<QHHBBIH"
BACK = "<QihBBHHHHHBBHH"

# flags from the board
RELEASED, FED, LIT, CALLING = 1, 2, 4, 8  # CALLING: the buzzer calls for a person

# flags from the twin
TOLD = 1  # the button was pressed for a moment
HELD = 2  # the button was held for long
FLASH_FAILS = 4  # no block of the flash can be written
MUX_STUCK = 8  # the multiplexer stands on its first channel

# what is wrong with the converter's bus
# all bits high, all low, each two bytes swapped, the same answer for ever
BUS_FINE, BUS_SILENT, BUS_LOW, BUS_SWAPPED, BUS_FROZEN = range(5)

# what is wrong with the fan. FAN_SWITCH_SHORTED: of a two-wire one its low side always conducts, of a four-wire one the
# speed wire never goes low; FAN_SUPPLY_SHORTED: the 12 V of either never go off
FAN_WELL, FAN_UNPLUGGED, FAN_SWITCH_SHORTED, FAN_SWITCH_OPEN, FAN_SUPPLY_SHORTED = range(5)

# One more fault of the couple, beside `fields.PROBE_*`: something live holds a lead beyond the converter's supply
COUPLE_LIVE = 64
