"""The USB serial line as bytes, both ways without blocking."""

_PORTION = 64  # bytes of a USB packet
_FILL = b"\n" * _PORTION


class UsbLine:
    """`source` has readinto, `sink` has write, `select` is the module. With nothing to do it makes no garbage."""

    def __init__(self, source, sink, select):
        self._in = source
        self._out = sink
        self._came = select.poll()
        self._came.register(self._in, select.POLLIN)
        self._room = select.poll()
        self._room.register(self._out, select.POLLOUT)
        self._one = bytearray(1)

    def read(self):
        """What has come, at most 256 bytes."""
        if not _ready(self._came):
            return b""
        got = bytearray()
        while len(got) < 256 and _ready(self._came):
            if not self._in.readinto(self._one):
                break
            got += self._one
        return got

    def write(self, data):
        """Write at most 64 bytes if there is room for them; returns how many bytes of `data` are gone.

        POLLOUT promises room for one byte. A write of more bytes than there is room for waits half a second
        (MicroPython, shared/tinyusb/mp_usbd_cdc.c). The chip's buffer holds 256 bytes and gives them to the bus 64 at a
        time. So it only ever gets 64 at once, filled up with newlines behind a line's end; then room for one byte is
        room for all. An empty line means nothing.
        """
        if not _ready(self._room):
            return 0
        size = min(_PORTION, len(data))
        gone = self._out.write(data[:size] if size == _PORTION else bytes(data) + _FILL[size:]) or 0
        return min(gone, size)


def _ready(poll):
    """True if what `poll` waits for is there. `ipoll` makes no list, as `poll` does."""
    for _ in poll.ipoll(0):
        return True
    return False
