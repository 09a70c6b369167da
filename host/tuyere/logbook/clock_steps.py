"""Moves stored times when the computer's clock is changed, so that the times of one night stay consistent."""

from __future__ import annotations

from msgspec import Struct

from tuyere.logbook.boards import Boards
from tuyere.logbook.store import Store

# Columns with times of the computer's clock in UTC ms. 0 means no time.
DATED = {
    "cooks": ("started", "meat_on", "ended"),
    "pieces": ("on_at", "shade_at", "hand_at"),
    "events": ("at", "noted", "withdrawn"),
    "alarms": ("raised", "acknowledged", "shelved", "cleared"),
    "calls": ("at", "wall"),
}


class Written(Struct):
    """The newest event and alarm at some moment."""

    event: int
    alarm: int


class ClockSteps:
    """`book.clock`."""

    def __init__(self, store: Store, boards: Boards) -> None:
        self._store, self._boards = store, boards

    def written(self) -> Written:
        """The newest event and alarm now."""
        event, alarm = self._store.row(
            "SELECT (SELECT coalesce(max(id), 0) FROM events), (SELECT coalesce(max(id), 0) FROM alarms)"
        )
        return Written(event, alarm)

    def newest(self, cook: int, upto: Written) -> tuple[int, int]:
        """UTC ms of (what was last noted or raised in a cook, its last record whose time is no estimate); 0 for none.

        Later notes than `upto` do not count.
        """
        noted = self._store.row(
            """SELECT max(c.started,
                    coalesce((SELECT max(noted) FROM events WHERE cook = c.id AND id <= ?2), 0),
                    coalesce((SELECT max(raised) FROM alarms WHERE cook = c.id AND id <= ?3), 0))
                FROM cooks c WHERE c.id = ?1""",
            (cook, upto.event, upto.alarm),
        )
        last = 0
        sql = """SELECT s.board, s.boot, (SELECT at FROM records r
                WHERE r.board = s.board AND r.boot = s.boot AND r.sequence BETWEEN s.first AND s.last
                ORDER BY r.sequence DESC LIMIT 1) FROM spans s WHERE s.cook = ?"""
        for number, boot, at in self._store.rows(sql, (cook,)):
            clock = self._boards.clock(number, boot)
            last = max(last, 0 if clock.estimated or at is None else clock.utc(at))
        return (noted[0] if noted else 0), last

    def move(
        self,
        by: int,
        *,
        boot: tuple[str, int] | None = None,
        cook: int | None = None,
        upto: Written | None = None,
        mark: bool = False,
    ) -> None:
        """Add `by` ms to all times that belong together with a boot of a board and a cook: the pairs of the boot, every
        cook with records of it, and the other boots of those cooks.

        upto: events and alarms written later are of the new clock already. mark: the boots' times are estimates from
        now on, since no board's time says by how much the clock was changed.
        """
        with self._store.together():
            begin = {(self._boards.boot(*boot), boot[1])} if boot is not None else set()
            boots, cooks = self._together_with(begin, {cook} if cook is not None else set())
            for number, its in boots:
                where = "WHERE board = ? AND boot = ?"
                self._store.db.execute(f"UPDATE pairs SET utc_ms = utc_ms + ? {where}", (by, number, its))
                self._store.db.execute(
                    f"UPDATE boots SET seen = CASE seen WHEN 0 THEN 0 ELSE seen + ? END, doubtful = max(doubtful, ?) "
                    f"{where}",
                    (by, int(mark), number, its),
                )
            for one in cooks:
                for table, names in DATED.items():
                    last = {"events": upto.event, "alarms": upto.alarm}.get(table) if upto is not None else None
                    sets = ", ".join(f"{name} = CASE {name} WHEN 0 THEN 0 ELSE {name} + ?1 END" for name in names)
                    key = "id" if table == "cooks" else "cook"
                    self._store.db.execute(
                        f"UPDATE {table} SET {sets} WHERE {key} = ?2 AND (?3 IS NULL OR id <= ?3)", (by, one, last)
                    )
                self._move_forecasts(one, by)

    def _move_forecasts(self, cook: int, by: int) -> None:
        rows = self._store.rows("SELECT * FROM forecasts WHERE cook = ?", (cook,))
        self._store.db.execute("DELETE FROM forecasts WHERE cook = ?", (cook,))  # `at` is in their key
        self._store.db.executemany(
            "INSERT INTO forecasts VALUES (?, ?, ?, ?, ?, ?, ?)",
            [(*row[:3], *(at + by for at in row[3:])) for row in rows],
        )

    def _together_with(self, boots: set[tuple[int, int]], cooks: set[int]) -> tuple[set[tuple[int, int]], set[int]]:
        """These boots and cooks, and all that are connected with them by shared records."""
        spans = self._store.rows("SELECT board, boot, cook FROM spans")
        while True:
            more = {cook for board, boot, cook in spans if (board, boot) in boots} - cooks
            cooks = cooks | more
            others = {(board, boot) for board, boot, cook in spans if cook in cooks} - boots
            boots = boots | others
            if not more and not others:
                return boots, cooks
