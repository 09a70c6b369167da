"""The buzzer: calls for a trip, a cook that was not resumed, a host that reaches nobody; else it is silent.

A silent host sounds thrice every ten seconds, a fading fire twice every half minute. The buzzer has an oscillator of
its own and hangs on 12 V behind a transistor: the pin only says when it sounds.
"""

from ..core.fields import ACCEPTED, FADING, FAULT_STANDS, NOT_RESUMED, TRIPPED
from .lamp import SLOT_MS

# (bits of 1/8 s slots, lowest first; slots until it repeats)
SILENCE = (0, 1)
CALL = (0b0011001100110011, 16)
FUEL = (0b101, 240)  # two chirps every half minute
ALONE = (0b11001100110000, 80)  # thrice every ten seconds


class Buzzer:
    """`pin` is called with 1 to sound. A call ends with its cause or when a person acknowledges, never by itself."""

    def __init__(self, pin):
        self._pin = pin
        self._sound = SILENCE
        self._cause = 0
        self._hushed = False
        self._level = -1
        self._sound_now(0)

    @property
    def calling(self):
        """True while it calls for a person."""
        return self._sound is CALL or self._sound is ALONE

    def show(self, out):
        """Choose the sound for what the core decided; the order's answer says whether a person is there."""
        cause = out.trip if out.state == TRIPPED else -1 if out.reason == NOT_RESUMED else 0
        if cause != self._cause:
            self._cause = cause
            self._hushed = False
        # A trip is only hushed by acknowledging while its cause stands (gone, it is cleared); any order shows a person
        # who has seen that the cook was not resumed.
        if out.answer == FAULT_STANDS or (cause == -1 and out.answer == ACCEPTED):
            self._hushed = True
        if cause:
            self._sound = SILENCE if self._hushed else CALL
        elif out.call:  # the core knows whether a person has answered
            self._sound = CALL if out.call == 2 else ALONE
        else:
            self._sound = FUEL if out.state == FADING else SILENCE

    def step(self, now):
        """Sound what belongs to `now`, ms."""
        bits, slots = self._sound
        self._sound_now(bits >> now // SLOT_MS % slots & 1)

    def _sound_now(self, level):
        """1 sounds, 0 is silent."""
        if level != self._level:
            self._level = level
            self._pin(level)
