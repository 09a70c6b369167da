"""The host that somebody relies on: when it is silent or reaches nobody, the buzzer calls. The fire is not touched."""

from .fields import (
    ACCEPTED,
    BOARD_ALONE,
    MODE_OFF,
    NO_ORDER,
    ORDER_RELY,
    OUT_OF_RANGE,
    RELIED_BY_NOBODY,
    UNREACHED,
)


def take(now, memory):
    """The order `rely`: what the host says of those who rely on it."""
    if not RELIED_BY_NOBODY <= now.first <= UNREACHED:
        return OUT_OF_RANGE
    if now.first == UNREACHED and memory.relied != UNREACHED:
        memory.hushed = 0
    memory.relied = now.first
    return ACCEPTED


def watch(now, memory):
    """Once a cycle, after the orders; returns 1 to call for a silent host, 2 for one that reaches nobody, else 0.

    Guard: the host is gone
        cause: the computer that would wake somebody sleeps, hangs or has lost its cable or its network
        evidence: nothing from a host that is relied on for 10 min; or the host says that it reaches nobody
        clears: by itself, when the host speaks or reaches somebody; a press of the button, or any order, ends the sound
        does: the buzzer calls; the pit is held as before
        bounds: alone_after
        reads: The link to the board is lost
        tests: case_relied, test_twin_alone
    """
    cause = 0
    if memory.mode != MODE_OFF and memory.relied != RELIED_BY_NOBODY:
        cause = 2 if memory.relied == UNREACHED else 1 if now.board & BOARD_ALONE else 0
    if cause == 0:
        memory.hushed = 0
    elif now.order != NO_ORDER and now.order != ORDER_RELY:
        memory.hushed = 1
    return 0 if memory.hushed else cause
