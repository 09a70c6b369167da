"""One button: a short press announces an opening; a long hold acknowledges, or says that a person has looked.

The loop decides which of the two a long hold is (`hearth.loop.Loop._take_button`). A hold is reported twice: when it
has lasted long enough, and when the button is let go again. A button that sticks is never let go.
"""

_STEADY_MS = 30  # contacts bounce for a few ms (common practice, no source)
SHORT_MS = 1000  # let go before this: a short press
LONG_MS = 3000  # held for this long: a long hold; between the two is neither
STUCK_MS = 10000  # held longer than this: nobody's finger


class Button:
    """Made with the button in any position: one that is stuck down from the start does nothing until it was up."""

    def __init__(self):
        self._level = True  # what the contact last said
        self._since = 0  # since when, ms
        self._down = True  # what is believed of it
        self._from = -STUCK_MS - 1  # when the press began; none has yet
        self._used = True  # this press has had its event
        self.pressed = False
        self.held = False
        self.let_go = False

    def step(self, down, now):
        """Look at the contact, `down` or not, at `now` ms; sets `pressed`, `held` or `let_go` when one has come."""
        if down != self._level:
            self._level = down
            self._since = now
        elif down != self._down and now - self._since >= _STEADY_MS:
            self._down = down
            if down:
                self._from = self._since
                self._used = False
            elif not self._used and self._since - self._from < SHORT_MS:
                self.pressed = True
            elif self._used and LONG_MS <= self._since - self._from <= STUCK_MS:
                self.let_go = True
        elif down and not self._used and self._down and now - self._from >= LONG_MS:
            self._used = True
            self.held = True
