"""The logbook: one SQLite file, opened by one owner and any number of readers."""

from __future__ import annotations

from types import TracebackType

from tuyere.logbook.reading import Reading


class Logbook(Reading):
    """Everything kept of all cooks. `Logbook(path)` owns and may write; `Logbook(path, owner=False)` reads.

    Every method that writes has its data on the disk when it returns. Errors are in `errors`.
    Store (file, transactions) < Boards (records) < Cooks (people) < Reading (giving it back).
    """

    def __enter__(self) -> Logbook:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
