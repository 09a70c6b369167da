"""The store: every record, cook, piece, event and alarm, in one SQLite file that loses nothing."""

from tuyere.logbook.errors import LogbookBusy, LogbookError, LogbookGone, LogbookTaken, RecordConflict
from tuyere.logbook.logbook import Logbook

__all__ = ["Logbook", "LogbookBusy", "LogbookError", "LogbookGone", "LogbookTaken", "RecordConflict"]
