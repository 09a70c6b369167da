"""One button: a short press announces an opening, a long hold acknowledges. A press is one event, however long."""

_STEADY_MS = 30  # contacts bounce for a few ms (common practice, no source)
SHORT_MS = 1000  # let go before this: a short press
LONG_MS = 3000  # held for so long: a long hold; between the two is neither


class Button:
    """Made with the button in any position: one that is stuck down from the start does nothing until it was up."""

    def __init__(self):
        self._level = True  # what the contact last said
        self._since = 0  # since when, ms
        self._down = True  # what is believed of it
        self._from = 0  # when the press began
        self._used = True  # this press has had its event
        self.pressed = False
        self.held = False

    def step(self, down, now):
        """Look at the contact, `down` or not, at `now` ms; sets `pressed` or `held` when one has come."""
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
        elif down and not self._used and self._down and now - self._from >= LONG_MS:
            self._used = True
            self.held = True
