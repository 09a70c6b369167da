"""What a session with a board tells its caller."""

from __future__ import annotations

from typing import Any, NamedTuple

# why records will never come: a word of the board -> words for the logbook
CAUSES = {
    "full": "the board's flash was full and gave up its oldest records",
    "torn": "a power cut tore the block that held them",
    "core": "the board's firmware was changed before they were fetched",
    "check": "the block that held them did not give the same records again",
    "flash": "the board's flash could not be written",
}


class Hello(NamedTuple):
    """The board has said who it is."""

    board: str
    boot: int
    at: int  # board time, ms
    hello: dict[str, Any]
    sent: float  # when the question left, session clock
    received: float
    fresh: bool  # the first of this boot, or the first since the port was opened


class Earlier(NamedTuple):
    """Records of an earlier boot of this board follow; `hello` is today's, which lays them out, with that boot."""

    board: str
    boot: int
    hello: dict[str, Any]


class Record(NamedTuple):
    """The next record in order; `data` is all of its bytes, head first."""

    boot: int
    sequence: int
    kind: int
    data: bytes


class Gap(NamedTuple):
    """Records that the board no longer holds: sequence `first` to `last`."""

    boot: int
    first: int
    last: int
    cause: str


class Cut(NamedTuple):
    """A boot has ended, and what it had in its RAM is gone.

    It made between `least` and `most` records; the first `reached` are stored or known to be lost.
    """

    boot: int
    reached: int
    least: int
    most: int


class Answer(NamedTuple):
    """The answer to an order.

    why: one of messages.WHY and OWN_WHY, or "no_answer", "restarted", "link_lost". numbers: of what contradicts what,
    if the board named them, in its units.
    """

    id: int
    name: str
    ok: bool
    why: str
    numbers: dict[str, int] | None = None


class Notice(NamedTuple):
    """A sentence from the board for a person."""

    text: str


class Refused(NamedTuple):
    """A board that does not fit this program, and why, in one sentence."""

    words: str


Happening = Hello | Earlier | Record | Gap | Cut | Answer | Notice | Refused
