"""What board and host say to each other; bytes in `lines.py`, meaning here.

Board to host
    H hello    JSON, answers a host's hello: who speaks, how records are laid out
    R record   a record's bytes as in `pack_head` and after
    A answer   JSON {"id", "ok", "why"} to an order; "why" is one of WHY or OWN_WHY. With "over_limit" come "numbers",
               {name: number}: what contradicts what, board units
    N notice   text, something the board wants said (a traceback, say)
Host to board
    h hello    JSON {"ask": any number, echoed}
    k keep     boot and sequence: all records of that boot up to here are on the host's disk
    f fetch    boot and sequence: send that boot's records from here
    o order    JSON {"id", "name", ...arguments of ORDERS}

Records of one boot share one sequence from 0. The board sends them in order and
goes on sending what was not kept; the host asks again with `fetch` when one is missing.
A hello names what the board holds: "first" and "next" of this boot, "earlier" as rows of boot, first, next,
and "lost", what it can no longer give, as rows of boot, first, next, cause.

The board carries out one order a cycle, and takes no more than it has time for: what it has not taken yet waits on the
line. Orders that make it write to its flash are counted: WRITES of them may come in a row, and one more each minute.
What goes beyond is answered "too_soon" and changes nothing; `stop`, `acknowledge`, `opened`, `looked`, `rely` and
`meat` never are. An order that was answered "accepted" is on the flash, or in the next cycle's write to it. Settings
that are in force already are accepted, and nothing is written.
"""

import struct

from ..core import fields

HELLO, RECORD, ANSWER, NOTICE = "H", "R", "A", "N"
ASK, KEEP, FETCH, ORDER = "h", "k", "f", "o"

VERSION = 1

# A record: kind, boot, sequence, board time in ms, number of the settings in force; then the parts.
CYCLE, STATE = 1, 2
HEAD = "<BIIQH"
HEAD_SIZE = struct.calcsize(HEAD)
# CYCLE: Now, Out.  STATE: cause, eight bytes of the core's hash, Memory, Settings.
BOOTED, CHANGED, GAP, HOURLY = range(4)  # why a state record was written
STATE_HEAD = "<B8s"

POSITION = "<II"  # boot, sequence: payload of KEEP and FETCH

# name -> (code of the core or 0 where the loop itself acts, ((argument, low, high), ...)), board units
ORDERS = {
    "start": (fields.ORDER_START, ()),
    "stop": (fields.ORDER_STOP, ()),
    "band": (fields.ORDER_BAND, (("low", 4000, 20000), ("high", 4500, 22000))),
    "fan": (fields.ORDER_FAN, (("demand", 0, 10000), ("seconds", 0, 7200))),
    "phase": (fields.ORDER_PHASE, (("row", 0, fields.ROWS),)),
    "opened": (fields.ORDER_OPENED, (("seconds", 0, 1800),)),
    "acknowledge": (fields.ORDER_ACKNOWLEDGE, ()),
    "looked": (fields.ORDER_LOOKED, ()),  # a person has looked at the pit probe, and it lies where it should
    "witness": (fields.ORDER_WITNESS, (("probe", 0, 3),)),  # a meat probe hangs at the grate beside the pit's; 0: none
    "forget": (fields.ORDER_FORGET, ()),  # what was learned of the fire
    "experiment": (fields.ORDER_EXPERIMENT, (("step", 0, 1500), ("seconds", 0, 2400))),  # 0 seconds ends it
    "rely": (fields.ORDER_RELY, (("level", 0, 2),)),  # 0 nobody relies on the host, 1 somebody, 2 it reaches nobody
    "meat": (fields.ORDER_MEAT, (("mass", 0, 2000),)),  # cold meat that went on lately, 0.1 kg in all; 0: none did
    # "rows": up to eight of [low, high, end kind, end value]; "row": where the phase in force stands in them, or, with
    # "afresh": true, the row to enter. Without "row" it keeps its number; at rest the first row waits.
    "programme": (0, ()),
    "settings": (0, ()),  # "values": {name: number}
    "release": (0, ()),  # restart without the watchdog, for uploads
}

WRITES = 12  # orders in a row that may make the board write to its flash
FORGIVEN = 60000 // fields.PERIOD_MS  # cycles after which one more may

# What became of an order; the host has the words. The core's answers by their code, and what link and loop say.
WHY = ("", "accepted", "band_order", "out_of_range", "stands_tripped", "no_such_phase", "not_running", "fault_stands",
       "opened_enough", "no_reading", "not_steady")  # fmt: skip
OWN_WHY = ("unknown_order", "bad_arguments", "busy", "too_soon", "over_limit")


def check(order):
    """A decoded order -> (code, first, second) for the core, or why not, one of WHY and OWN_WHY."""
    known = ORDERS.get(order.get("name"))
    if known is None:
        return "unknown_order"
    numbers = [0, 0]
    for i, (name, low, high) in enumerate(known[1]):
        value = order.get(name)
        if type(value) is not int:
            return "bad_arguments"
        if not low <= value <= high:
            return "out_of_range"
        numbers[i] = value
    return known[0], numbers[0], numbers[1]
