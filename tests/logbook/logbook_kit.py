"""Records as a board would send them."""

import struct

from hearth.core import fields, records
from hearth.link import messages

BOARD, BOOT = "board-1", 0xA0000001
LAYOUT = {
    "now": records.layout(fields.NOW),
    "out": records.layout(fields.OUT),
    "memory": records.layout(fields.MEMORY),
    "settings": records.layout(fields.SETTINGS),
}


def hello(layout=None, **more):
    """A hello with what the logbook looks at."""
    return {"board": BOARD, "boot": BOOT, "firmware": "f1", "core": "c1", "layout": layout or LAYOUT, **more}


def head(kind, sequence, boot=BOOT, at=None, settings=1):
    return struct.pack(messages.HEAD, kind, boot, sequence, sequence * 2000 if at is None else at, settings)


def cycle(sequence, boot=BOOT, at=None, **values):
    """A cycle record; values by field name, set in Now or Out."""
    now, out = records.Now(), records.Out()
    for name, value in values.items():
        setattr(now if hasattr(now, name) else out, name, value)
    return head(messages.CYCLE, sequence, boot, at) + now.pack() + out.pack()


def state(sequence, boot=BOOT, cause=messages.BOOTED, at=None, settings=None, **values):
    """A state record; values by field name of the memory."""
    memory, chosen = records.Memory(), records.Settings()
    for name, value in values.items():
        setattr(memory, name, value)
    for name, value in (settings or {}).items():
        setattr(chosen, name, value)
    inner = struct.pack(messages.STATE_HEAD, cause, b"corehash") + memory.pack() + chosen.pack()
    return head(messages.STATE, sequence, boot, at) + inner


def night(cycles, boot=BOOT, first=0):
    """A boot's records: a state, then cycles that climb from 20 C."""
    return [state(first, boot)] + [
        cycle(first + i, boot, pit=2000 + i % 10000, meat_1=500 + i % 8000, fan=i % 10001, state=fields.CLIMBING)
        for i in range(1, cycles + 1)
    ]


def table(book, columns="board, boot, sequence, kind, at, bytes, cook"):
    """All records of a logbook but their ids, in the order of their keys."""
    return book._store.rows(f"SELECT {columns} FROM records ORDER BY board, boot, sequence")
