"""The period: read, decide, drive, record, talk. Knows no pin and no clock; a `board` brings them (see `board.py`)."""

import binascii
import gc
import struct

from . import order_checks, version
from .core import Memory, Now, Out, Settings, cycle, fields, law, orders, programme
from .link import messages
from .link.talk import Talk
from .store.flash import Flash
from .store.ring import Ring

RING = 24576  # bytes: about 380 records, 12 min of cycles
HOUR = 3600000 // fields.PERIOD_MS
CHECKPOINT = 600000 // fields.PERIOD_MS  # the law's memory is stored this often, host or no host
STATES = 60  # more state records than lie between two checkpoints

# CPython counts references: there it would only look through a whole host program, every few cycles
collect = gc.collect if hasattr(gc, "mem_free") else lambda: 0


class Loop:
    """One boot of the board, from the first state record on; `step` is one period."""

    def __init__(self, board):
        collect()  # the ring and the hello want room in one piece
        self.board = board
        self.settings = Settings()
        self.memory = Memory()
        self.now = Now()
        self.out = Out()
        self.ring = Ring(board.ring_size if board.ring_size else RING)
        self.boot = board.draw_boot()
        self._core = binascii.unhexlify(version.CORE)[:8]
        self.flash = Flash(board.folder, self._core)
        self.flash.count_start()
        self.flash.read_ran()
        self.flash.keep_ran(self.boot, 0)
        self.settings_number = self.flash.read_settings(self.settings)
        board.configure(self.settings)
        self.talk = Talk(board.stream, self.ring, self.boot, self.hello, self.flash.spool, board.elapsed)
        self._budget = order_checks.Budget()
        self._form = "<" + self.now.FORM[1:] + self.out.FORM[1:]
        self._head = bytearray(messages.HEAD_SIZE)
        self._due = board.elapsed()
        self._last = self._due - fields.PERIOD_MS
        if not self.flash.read_memory(self.memory, board.finished(), 2 * CHECKPOINT):
            programme.enter(self.settings, self.memory, 0)
        if self.flash.spool:
            self.flash.spool.begin(self.boot, 0, self._due, self.settings_number, self.memory, self.settings)
        self._cause = fields.BOARD_WATCHDOG if board.cause() == "watchdog" else 0
        self._cycles = self._lost = self._gap = 0
        self._checkpoint = self._ran = False  # due to be written
        self._acknowledges = False  # what the present hold of the button means
        self._stored, self._noted = self._worth(), self._evidence()
        self._state(messages.BOOTED)

    def hello(self):
        """Who speaks and how its records are laid out."""
        collect()  # so that "heap" is what is really free
        words = self.flash.take_words()
        if words:
            self.talk.notice("before this start: " + words)
        hello = dict(self.board.identity)
        hello.update(self.talk.held())
        # earlier boots, the records each made at the least, and at the most
        hello["ran"] = [[boot, least, least + CHECKPOINT + STATES] for boot, least in self.flash.ran]
        hello.update(
            {
                "link": messages.VERSION,
                "firmware": version.FIRMWARE,
                "core": version.CORE,
                "boot": self.boot,
                "at": self.board.elapsed(),
                "period_ms": fields.PERIOD_MS,
                "heap": gc.mem_free() if hasattr(gc, "mem_free") else 0,
                "settings_number": self.settings_number,
                "settings": dict([(name, getattr(self.settings, name)) for name, _ in self.settings.NAMES]),
                "learned": self.memory.learned,
                "forgot": 1 if self.flash.forgot else 0,
                "programme": self._rows(),
                "layout": {
                    "now": fields.NOW,
                    "out": fields.OUT,
                    "memory": fields.MEMORY,
                    "settings": fields.SETTINGS,
                },
            }
        )
        return hello

    def step(self):
        """One period of 2 s: returns when the next one is due."""
        board = self.board
        at = board.elapsed()
        order = self._next_order()
        self.now.dt = law.clip(at - self._last, 0, 10000)
        self._last = at
        board.read(self.now)
        self.now.board = self._cause | self.flash.health
        if self.settings.alone_after and at - self.talk.heard >= self.settings.alone_after * 60000:
            self.now.board |= fields.BOARD_ALONE
        if order is None:
            self._take_button()
        cycle(self.settings, self.now, self.memory, self.out)
        board.fan(self.out.duty, self.out.fan)
        board.show(self.out)
        self.ring.append(self._cycle_record(at))
        if self.flash.spool:
            self.flash.spool.cycle(self.now, self.out, at)
        if order is not None:
            self.talk.answer(order.get("id"), self.out.answer)
        if self._standing() != self._stands:
            self._state(messages.CHANGED)
        elif self._gap_ended():
            self._state(messages.GAP)
        elif self.memory.cycles % HOUR == 0:
            self._state(messages.HOURLY)
        board.feed(self.memory.cycles)
        self._store(at)
        collect()  # here it costs nobody anything: what a cycle makes must not make one begin by itself in the next
        self._due += fields.PERIOD_MS
        if self._due <= board.elapsed():  # a cycle was late: start a new beat rather than rush
            self._due = board.elapsed() + fields.PERIOD_MS
        self.talk.due = self._due
        board.sleep_until(self._due, self.talk.serve)

    def _take_button(self):
        """Pressed for a moment it says that the lid is being opened. Held long it acknowledges what calls, which never
        starts the fan; where nothing calls it says, as it is let go, that a person has looked at the pit probe."""
        memory = self.memory
        if self.board.held():
            self._acknowledges = memory.trip != fields.NO_TRIP or memory.resume != fields.NO_RESUME
            if self._acknowledges:
                self.now.order = fields.ORDER_ACKNOWLEDGE
        elif self.board.let_go():
            if not self._acknowledges:
                self.now.order = fields.ORDER_LOOKED
        elif self.board.told():
            self.now.order = fields.ORDER_OPENED

    def _worth(self):
        """What a start after a power cut must know of at once."""
        memory = self.memory
        return memory.mode, memory.phase, memory.low, memory.high, memory.trip, memory.arrived, memory.resume

    def _evidence(self):
        """What it should know of as well, where the flash can bear it."""
        return self.memory.openings, self.memory.doubt, self.memory.cold

    def _store(self, at):
        """Bring to the flash what is due: after the fan is set, and one slow write a cycle at the most."""
        self._cycles += 1
        self._budget.pass_cycle()
        if self._cycles % CHECKPOINT == 0:
            self._checkpoint = self._ran = True
        spool = self.flash.spool
        if self._own_order(at):
            return
        news = self._worth() != self._stored or (self._budget.left and self._evidence() != self._noted)
        if self._checkpoint or news:
            if not self._checkpoint:
                self._budget.spend()
            self._keep_memory(at)
        elif self._ran:
            self._ran = False
            self.flash.keep_ran(self.boot, self.ring.next)
        elif spool and spool.due():
            spool.write()
        elif not (spool and spool.tidy()) and self._cycles > CHECKPOINT:
            self.flash.settled()

    def _keep_memory(self, at):
        self._checkpoint = False
        self._stored, self._noted = self._worth(), self._evidence()
        self.flash.keep_memory(self.boot, at, self.memory)

    def _gap_ended(self):
        """Records have gone out of the ring that no spool holds, and it has stopped: a replay wants a new beginning."""
        before, self._lost = self._lost, self.ring.lost
        if (self.flash.spool and not self.flash.spool.broken) or self._lost > before or self._gap == self._lost:
            return False
        self._gap = self._lost
        return True

    def _next_order(self):
        """Hand the next order to `now`, if it is one for the core; one of the loop's own waits until the fan is set."""
        now = self.now
        now.order = now.first = now.second = 0
        waiting = self.talk.orders
        while waiting and waiting[0]["code"]:
            order = waiting.pop(0)
            against = order_checks.before_core(self.settings, self.memory, order)
            if self._budget.spent(order["name"], self.memory.mode):
                self.talk.answer(order.get("id"), "too_soon")
            elif against:
                self.talk.answer(order.get("id"), "over_limit", against)
            else:
                now.order, now.first, now.second = order["code"], order["first"], order["second"]
                return order
        return None

    def _own_order(self, at):
        """Carry out the next order, if it is the loop's own; True if that has cost the time of a slow write.

        It is answered when what it changed is on the flash.
        """
        waiting = self.talk.orders
        if not waiting or waiting[0]["code"]:
            return False
        order, spool = waiting[0], self.flash.spool
        why, numbers, wrote = "too_soon", None, False
        if order["name"] == "release":
            self._release(order)
        elif not self._budget.spent(order["name"], self.memory.mode):
            if spool and spool.crowded():  # a change would have its block written: that is this cycle's write
                spool.write()
                return True
            if order["name"] == "programme":
                why, numbers, wrote = self._programme(order, at)
            else:
                why, numbers, wrote = self._settings(order.get("values"))
        waiting.pop(0)
        if wrote:
            self._budget.spend()
        self.talk.answer(order.get("id"), why, numbers)
        return wrote

    def _release(self, order):
        self.board.fan(0)
        if self.flash.spool:
            self.flash.spool.write()
        self.talk.answer(order.get("id"), "accepted")
        self.talk.serve()
        self.board.release()

    def _programme(self, order, at):
        """(what became of it, numbers, True if it was written)."""
        rows, row = order.get("rows"), order.get("row")
        if type(rows) is not list or not all([type(row) is list for row in rows]):
            return "bad_arguments", None, False
        if programme.wrong(rows, orders.HIGHEST):
            return "out_of_range", None, False
        against = order_checks.contradicts(self.settings, max([row[1] for row in rows])) if rows else {}
        if against:
            return "over_limit", against, False
        if row is None:
            row = self.memory.phase if self.memory.mode != fields.MODE_OFF else 0
        elif type(row) is not int:
            return "bad_arguments", None, False
        elif not 0 <= row < len(rows):
            return "no_such_phase", None, False
        programme.load(self.settings, self.memory, rows, row, 1 if order.get("afresh") else 0)
        self._state(messages.CHANGED, True)
        self._keep_memory(at)
        return "accepted", None, True

    def _settings(self, values):
        """(what became of them, numbers, True if they were written)."""
        new, why, numbers = order_checks.new_settings(values, self.settings, self.memory)
        if new is None:
            return why, numbers, False
        if new.values() == self.settings.values() and not self.flash.health & fields.BOARD_SETTINGS:
            return "accepted", None, False
        law.rebase(self.settings, new, self.now, self.memory)
        self.settings.set_values(new.values())
        self.settings_number = (self.settings_number + 1) & 65535
        if self.memory.mode == 0 and self.memory.phases == 0:
            programme.enter(self.settings, self.memory, 0)  # their band is the one to start with
        self.board.configure(self.settings)
        self._state(messages.CHANGED, True)
        self.flash.keep_settings(self.settings, self.settings_number)
        return "accepted", None, True

    def _rows(self):
        rows = self.memory.rows
        return [list(rows[i * fields.ROW : (i + 1) * fields.ROW]) for i in range(self.memory.phases)]

    def _pack_head(self, kind, at):
        struct.pack_into(messages.HEAD, self._head, 0, kind, self.boot, self.ring.next, at, self.settings_number)
        return bytes(self._head)

    def _cycle_record(self, at):
        values = self.now.values()
        values.extend(self.out.values())
        return self._pack_head(messages.CYCLE, at) + struct.pack(self._form, *values)

    def _state(self, cause, changed=False):
        """Write the whole memory and the settings: a replay can start here.

        changed: something besides the law has touched them.
        """
        at = self.board.elapsed()
        body = self.memory.pack() + self.settings.pack()  # once for both stores: it takes a Pico some 10 ms
        self.ring.append(
            self._pack_head(messages.STATE, at) + struct.pack(messages.STATE_HEAD, cause, self._core) + body
        )
        if self.flash.spool:
            self.flash.spool.state(cause, at, self.settings_number, body, changed)
        self._stands = self._standing()

    def _standing(self):
        """What of the memory changes seldom, and is worth a state record when it does."""
        memory = self.memory
        return memory.phase, memory.low, memory.high, memory.share, memory.learned


def run(board):
    """Run for ever. Whatever ends it, the fan is off, and the host gets the reason.

    Guard: program exception
        cause: an error in the firmware
        evidence: whatever ends the loop, at once
        clears: the watchdog restarts
        does: fan off, pins low, last words kept
        bounds: none
        reads: The board says what failed
        tests: test_stored, test_twin, test_twin_guards
    """
    loop = None
    try:
        loop = Loop(board)
        while True:
            loop.step()
    except Exception as problem:
        board.fan(0)
        if loop:
            words = "the board's program failed: %r" % problem
            loop.flash.keep_words(words)
            loop.talk.notice(words)
            loop.talk.serve()
        raise
    finally:
        board.end()
