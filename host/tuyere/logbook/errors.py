"""What can go wrong with a logbook. Each message is one sentence for a person: what, where, what to do.

LogbookError
    LogbookBusy         another engine owns it, or it stayed locked
    LogbookMissing      a reader found no file
    NotALogbook         the file is something else, or its first page is broken
    LogbookDamaged      SQLite found the file broken inside
    LogbookNewer        written by a later version of this program
    LogbookOld          written by an earlier version, and it cannot be brought up to date just now
    NotWritable         the folder or the file refuses to be written
    DiskFull            no room; nothing of the batch was stored
    LogbookGone         the file that is open no longer lies at its path: nothing was stored
    LogbookTaken        and another engine owns what lies there
    RecordConflict      same board, boot and sequence, other bytes
    BadRecord           too short, or of another boot
    HelloConflict       one boot, two record layouts
    NoLayout            the records' layout is not known, so they cannot be read
    NoSuchEntry         no cook, piece, alarm or core of that number
    CookOpen            a cook is still open
    BadEntry            a piece, event or alarm with a value out of range
"""

from tuyere.text import CELSIUS, Reader, Said, render


class LogbookError(Exception):
    """Anything the logbook refuses or cannot do."""


class LogbookBusy(LogbookError):
    """Another engine owns this logbook, or somebody held it locked for too long."""


class LogbookGone(LogbookError):
    """The open file was moved, deleted or replaced. Nobody would find what is written to it."""


class LogbookTaken(LogbookGone):
    """Another engine owns this path now."""


class LogbookMissing(LogbookError):
    """There is no file to read."""


class NotALogbook(LogbookError):
    """The file is something else; it was left as it is."""


class LogbookDamaged(LogbookError):
    """SQLite found the file broken inside."""


class LogbookNewer(LogbookError):
    """A later version of this program wrote the file."""


class LogbookOld(LogbookError):
    """An earlier version wrote the file, and it cannot be brought up to date just now."""


class NotWritable(LogbookError):
    """The folder or the file refuses to be written."""


class DiskFull(LogbookError):
    """No room on the disk; the transaction was rolled back."""


class RecordConflict(LogbookError):
    """A record came again with other bytes: same board, boot and sequence. Nothing of the batch was stored."""

    def __init__(self, board: str, boot: int, sequence: int) -> None:
        super().__init__(
            f"record {sequence} of boot {boot} from board {board} came again with other bytes; "
            "nothing of this batch was stored: restart the board, and send in the log if it happens again"
        )
        self.board, self.boot, self.sequence = board, boot, sequence


class BadRecord(LogbookError):
    """Bytes that cannot be a record of this boot. Nothing of the batch was stored."""


class HelloConflict(LogbookError):
    """One boot announced two different record layouts."""


class NoLayout(LogbookError):
    """The layout of these records is not known, so they cannot be read; their bytes are kept."""


class NoSuchEntry(LogbookError):
    """No cook, piece, alarm or core of that number."""


class CookOpen(LogbookError):
    """A cook is still open; one pit holds one cook at a time."""


class BadEntry(LogbookError):
    """A piece, event or alarm with an invalid name or value. `str` of it is metric, `said` is for any reader."""

    def __init__(self, said: Said) -> None:
        super().__init__(render(said, Reader(CELSIUS)))
        self.said = said
