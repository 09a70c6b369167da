"""Small things kept whole across a power cut: the settings, and the memory of the law.

A file is magic, length, CRC-32 of the body, body. It is written beside, brought to the medium, and renamed over the
old one, which littlefs does at once or not at all (its README: "All POSIX operations, such as remove and rename, are
atomic, even in event of power-loss"). So a cut leaves the old body or the new one, never a mixture.
"""

import binascii
import json
import os
import struct

MAGIC = b"TyK1"
HEAD = "<4sII"  # magic, bytes of the body, CRC-32 of the body
HEAD_SIZE = struct.calcsize(HEAD)
MOST = 8192  # bytes in a body
BESIDE = ".new"
ENOENT = 2
CHECKPOINT = "<8sIQ"  # the core's hash, boot, board time; the memory follows
_replace = os.replace if hasattr(os, "replace") else os.rename  # CPython's rename minds an old file on Windows


class Damaged(Exception):
    """What was kept is there and is not what was written; the text says in which way."""


def put(path, mode, *parts):
    """Write all parts to a file opened with `mode`; when this returns they are on the medium. Raises OSError."""
    with open(path, mode) as file:
        for part in parts:
            if file.write(part) != len(part):
                raise OSError("short write to " + path)
        file.flush()  # MicroPython's flush is a sync
        if hasattr(os, "fsync"):
            os.fsync(file.fileno())


def save(path, body):
    """Keep `body` in place of what was kept; False, with the old one still there, if the medium refuses."""
    try:
        put(path + BESIDE, "wb", struct.pack(HEAD, MAGIC, len(body), binascii.crc32(body)), body)
        _replace(path + BESIDE, path)
        return True
    except OSError:
        _clean(path)
        return False


def load(path):
    """The body last kept, or None if none ever was. Raises Damaged."""
    _clean(path)  # of a save that a cut ended
    try:
        with open(path, "rb") as file:
            head = file.read(HEAD_SIZE)
            if len(head) < HEAD_SIZE or head[:4] != MAGIC:
                raise Damaged("is not a kept file")
            _, length, crc = struct.unpack(HEAD, head)
            # No more than it takes: MicroPython makes room for all that is asked for, in one piece, and at boot the
            # RAM may not have one of 8 KB.
            body = file.read(min(length, MOST) + 1)
    except OSError as problem:
        if problem.errno == ENOENT:
            return None
        raise Damaged("cannot be read: %r" % problem) from problem
    if len(body) != length:
        raise Damaged("has another length than was written")
    if binascii.crc32(body) != crc:
        raise Damaged("has another CRC-32 than was written")
    return body


def _clean(path):
    try:
        os.remove(path + BESIDE)
    except OSError:
        pass


def pack_settings(settings, number):
    """Settings and their number as a body, by name, so that another field table takes those that it knows."""
    values = dict([(name, getattr(settings, name)) for name, _ in settings.NAMES])
    return json.dumps({"number": number, "values": values}).encode()


def take_settings(body, settings):
    """Fill `settings` from a body; returns their number.

    A name that the table lacks is skipped, a field that the body lacks gets its default. Raises Damaged,
    with `settings` untouched, when a value is no whole number or out of its field's range.
    """
    new = type(settings)()
    try:
        kept = json.loads(body)
        number, values = kept["number"], kept["values"]
        for name in values:
            if (name, 0) in new.NAMES:
                setattr(new, name, values[name])
    except (ValueError, KeyError, TypeError):
        raise Damaged("holds no settings") from None
    if not all([type(value) is int for value in new.values()]) or type(number) is not int or not 0 <= number < 65536:
        raise Damaged("holds a value that is no whole number")
    wrong = new.wrong()
    if wrong:
        raise Damaged("holds %s = %d, outside %d..%d" % wrong)
    settings.set_values(new.values())
    return number


def pack_checkpoint(core, boot, at, memory):
    """What the law knows, as a body: `core` is the first 8 bytes of its hash, `at` the board's time in ms."""
    return struct.pack(CHECKPOINT, core, boot, at) + memory.pack()


def take_checkpoint(body, core, memory):
    """Fill `memory` from a body; returns (boot, at) of the writer, or None, untouched, if another core wrote it.

    Raises Damaged when the length or a value cannot be right.
    """
    size = struct.calcsize(CHECKPOINT)
    if len(body) < size:
        raise Damaged("holds no checkpoint")
    writer, boot, at = struct.unpack(CHECKPOINT, body[:size])
    if writer != core:
        return None
    new = type(memory)()
    if len(body) - size != struct.calcsize(new.FORM):
        raise Damaged("holds a memory of another size")
    new.unpack(body[size:])
    if new.wrong():
        raise Damaged("holds %s = %d, outside %d..%d" % new.wrong())
    memory.set_values(new.values())
    return boot, at
