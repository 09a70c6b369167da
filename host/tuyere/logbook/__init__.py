"""The store: every record, cook, piece, event and alarm, in one SQLite file that loses nothing."""

from .errors import LogbookBusy, LogbookError, RecordConflict
from .logbook import Logbook

__all__ = ["Logbook", "LogbookBusy", "LogbookError", "RecordConflict"]
