"""What a cook has of each boot, and which of its records are not here, by the rows that are there."""

from __future__ import annotations

from hearth.link import messages
from msgspec import Struct

from tuyere.logbook import digests
from tuyere.logbook.boards import Boards
from tuyere.logbook.clock import Clock
from tuyere.logbook.cooks import Cooks
from tuyere.logbook.rows import Counts, Gap
from tuyere.logbook.store import Store

GONE = "they were stored, and are gone from the file"
PARTLY = "some of them were stored, and are gone from the file"


class Span(Struct, kw_only=True):
    """What a cook has of one boot."""

    clock: Clock
    number: int
    board: str
    boot: int
    first: int
    last: int
    records: int
    cycles: int
    states: int


class Spans:
    """What a cook has of each boot."""

    def __init__(self, store: Store, boards: Boards, cooks: Cooks) -> None:
        self._store, self._boards, self._cooks = store, boards, cooks

    def of(self, cook: int) -> list[Span]:
        """The boots of a cook, oldest first."""
        self._cooks.get(cook)
        with self._store.still():
            # the first record that is there: the very first may be gone
            sql = """SELECT s.board, b.name, s.boot, s.first, s.last, s.records, s.cycles, s.states,
                (SELECT at FROM records r WHERE r.board = s.board AND r.boot = s.boot
                    AND r.sequence BETWEEN s.first AND s.last ORDER BY r.sequence LIMIT 1)
                FROM spans s JOIN boards b ON b.id = s.board WHERE s.cook = ?"""
            found = []
            for number, board, boot, first, last, records, cycles, states, at in self._store.rows(sql, (cook,)):
                clock = self._boards.clock(number, boot)
                span = Span(
                    clock=clock, number=number, board=board, boot=boot, first=first, last=last,
                    records=records, cycles=cycles, states=states,
                )  # fmt: skip
                found.append((clock.utc(at or 0), span))
            return [span for _, span in sorted(found, key=lambda pair: pair[0])]


class Missing:
    """Counts and gaps of cooks."""

    def __init__(self, store: Store, boards: Boards, cooks: Cooks) -> None:
        self._store, self._cooks = store, cooks
        self._spans = Spans(store, boards, cooks).of

    def counts(self, cook: int) -> Counts:
        """What is stored of a cook and what is missing, by the rows that are there."""
        with self._store.still():
            gaps = self.gaps(cook)
            cycles = states = 0
            for span in self._spans(cook):
                if self._there(span) >= span.records:
                    cycles, states = cycles + span.cycles, states + span.states
                    continue
                sql = """SELECT coalesce(sum(kind = ?), 0), coalesce(sum(kind = ?), 0) FROM records
                    WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ? AND cook = ?"""
                kinds = (messages.CYCLE, messages.STATE)
                found = self._store.row(sql, (*kinds, span.number, span.boot, span.first, span.last, cook))
                cycles, states = cycles + found[0], states + found[1]
            return Counts(cycles, states, len(gaps), sum(gap.last - gap.first + 1 for gap in gaps))

    def all_counts(self) -> dict[int, Counts]:
        """The same for every cook, by number. If the file has as many records as were ever stored, and nothing is
        missing between the first and the last of a cook, its rows are not walked through."""
        with self._store.still():
            (there,) = self._store.row("SELECT count(*) FROM records")
            link = digests.newest(self._store.db)
            whole = link is not None and link.records == there
            sql = """SELECT cook, sum(cycles), sum(states), sum(records <> last - first + 1) FROM spans GROUP BY cook"""
            spans = {cook: rest for cook, *rest in self._store.rows(sql)}
            with_gaps = {cook for (cook,) in self._store.rows("SELECT DISTINCT cook FROM gaps")}
            found = {}
            for cook in self._cooks.all():
                cycles, states, holes = spans.get(cook.id, (0, 0, 0))
                plain = whole and not holes and cook.id not in with_gaps
                found[cook.id] = Counts(cycles, states, 0, 0) if plain else self.counts(cook.id)
            return found

    def gaps(self, cook: int) -> list[Gap]:
        """Records of a cook that are not here, whether or not a cause was noted, oldest boot first.

        From the first to the last record that the cook ever had of each boot, also where those are gone.
        """
        with self._store.still():
            self._cooks.get(cook)
            known: dict[tuple[int, str, int], list[tuple[int, int, str]]] = {}
            sql = """SELECT g.board, b.name, g.boot, g.first, g.last, g.cause FROM gaps g
                JOIN boards b ON b.id = g.board WHERE g.cook = ? ORDER BY g.first"""
            for number, board, boot, *gap in self._store.rows(sql, (cook,)):
                known.setdefault((number, board, boot), []).append((gap[0], gap[1], gap[2]))
            spans = {(span.number, span.board, span.boot): span for span in self._spans(cook)}
            missing = []
            for key in [*spans, *(key for key in known if key not in spans)]:
                span = spans.get(key)
                ends = [end for low, high, _ in known.get(key, []) for end in (low, high)]
                ends += [span.first, span.last] if span else []
                first, last = min(ends), max(ends)
                there = self._count(key[0], key[2], first, last)
                if there != last - first + 1:
                    holes = self._holes(key, first, last, known.get(key, []))
                    missing += self._with_causes(holes, span.records - self._of_cook(span, cook) if span else 0)
            return missing

    @staticmethod
    def _with_causes(holes: list[Gap], vanished: int) -> list[Gap]:
        """Holes without a noted cause get one if this number of their records had been stored."""
        unknown = [hole for hole in holes if not hole.cause]
        if vanished > 0:
            count = sum(hole.last - hole.first + 1 for hole in unknown)
            for hole in unknown:
                hole.cause = GONE if count <= vanished else PARTLY
        return holes

    def _there(self, span: Span) -> int:
        return self._count(span.number, span.boot, span.first, span.last)

    def _count(self, number: int, boot: int, first: int, last: int) -> int:
        """How many records of a boot there are from first to last; by the index alone."""
        sql = "SELECT count(*) FROM records WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ?"
        return int(self._store.row(sql, (number, boot, first, last))[0])

    def _of_cook(self, span: Span, cook: int) -> int:
        sql = "SELECT count(*) FROM records WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ? AND cook = ?"
        return int(self._store.row(sql, (span.number, span.boot, span.first, span.last, cook))[0])

    def _holes(self, key: tuple[int, str, int], first: int, last: int, known: list[tuple[int, int, str]]) -> list[Gap]:
        """Sequences from first to last that no record of this boot has, as gaps with their noted causes."""
        number, board, boot = key
        sql = "SELECT sequence FROM records WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ? ORDER BY sequence"
        holes, past = [], first - 1
        for (sequence,) in [*self._store.rows(sql, (number, boot, first, last)), (last + 1,)]:
            low = past + 1
            while low < sequence:  # a hole is cut where what is known of its cause changes
                noted = next(((end, cause) for begin, end, cause in known if begin <= low <= end), None)
                unknown = min([begin - 1 for begin, _, _ in known if begin > low] + [sequence - 1])
                end, cause = noted or (unknown, "")
                end = min(end, sequence - 1)
                holes.append(Gap(board, boot, low, end, cause))
                low = end + 1
            past = sequence
        return holes
