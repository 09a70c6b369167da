"""The button's lamp: how the pit stands, seen from the door. A pattern repeats every 2 s and is only looked up."""

SLOT_MS = 125

# One bit a slot of 1/8 s, the lowest first; in the order of the states in core/fields.py.
PATTERNS = (
    0b0000000000000001,  # off: a flick, to show that the board lives
    0b0000000000000101,  # manual: two flicks
    0b0000000011111111,  # climbing: slow, half and half
    0b1111111111111111,  # holding: steady
    0b0000111100001111,  # opened: even, once a second
    0b0000000000010101,  # fading: three flicks
    0b1111111100000001,  # burnout: mostly lit, a flick
    0b0101010101010101,  # tripped: as fast as it goes
)


class Lamp:
    """`pins` are called with a level."""

    def __init__(self, pins):
        self._pins = pins
        self._pattern = 0
        self._level = -1

    def show(self, state):
        """Show a state of the board from here on."""
        self._pattern = PATTERNS[state]

    def step(self, now):
        """Light what belongs to `now`, ms."""
        self.light(self._pattern >> (now // SLOT_MS & 15) & 1)

    def light(self, level):
        """1 lights it, 0 puts it out."""
        if level != self._level:
            self._level = level
            for pin in self._pins:
                pin(level)
