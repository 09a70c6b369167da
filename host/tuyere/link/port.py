"""A port that is opened again whenever it is lost: serial device, pseudo-terminal, `socket://` or `rfc2217://`.

Two threads do what may block; the event loop never waits for the port. A line that nobody reads is given up after a
second; the protocol sends the messages in it again later.
"""

from __future__ import annotations

import asyncio
import contextlib
import queue
import threading
from collections.abc import Callable
from typing import Any

import serial

RETRY = 1.0  # s between tries to open
SOCKET_WAIT = 0.02  # s; a socket cannot say how much is waiting, so it is read in short waits
WRITE_WAIT = 1.0  # s
CHUNK = 65536
AHEAD = 4  # chunks that may wait for the event loop: a peer at full speed must not fill the memory
PATIENCE = 0.2  # s between looks whether the port is to be closed, while reading is held


class Port:
    """Keeps a port open and hands what happens on it to the event loop.

    `where()` names the port each time it is to be opened (see `find.Finder`), or gives
    None to wait. `on_open(name)`, `on_data(bytes)` and `on_close(words)` are called in
    the loop; `on_close` also after each failed try, with what the system said.
    """

    def __init__(
        self,
        where: Callable[[], str | None],
        on_open: Callable[[str], None],
        on_data: Callable[[bytes], None],
        on_close: Callable[[str], None],
        loop: asyncio.AbstractEventLoop | None = None,
    ) -> None:
        self._where = where
        self._calls: tuple[Callable[[Any], None], ...] = (on_open, self._take, on_close)
        self._on_data = on_data
        self._loop = loop or asyncio.get_running_loop()
        self._ending = threading.Event()
        self._room = threading.BoundedSemaphore(AHEAD)
        self._go_on = threading.Event()
        self._go_on.set()
        self._out: queue.Queue[tuple[Any, bytes] | None] = queue.Queue(maxsize=256)
        self._line: Any = None  # the open pyserial object
        self.dropped = 0  # bytes that could not be written
        self._threads = [
            threading.Thread(target=self._read, name="port-read", daemon=True),
            threading.Thread(target=self._write, name="port-write", daemon=True),
        ]
        for thread in self._threads:
            thread.start()

    def write(self, data: bytes) -> None:
        """Hand bytes over for writing; never waits. Without an open port they are dropped."""
        if not data or self._line is None:
            return
        try:
            self._out.put_nowait((self._line, data))
        except queue.Full:
            self.dropped += len(data)

    def hold(self, full: bool) -> None:
        """Stop reading while the caller has enough to do; the system then holds up the other side."""
        if full:
            self._go_on.clear()
        else:
            self._go_on.set()

    async def close(self) -> None:
        """Close the port for good."""
        self._ending.set()
        self._go_on.set()
        with contextlib.suppress(queue.Empty):  # make room for the end mark; nobody is there to read these
            while True:
                self._out.get_nowait()
        self._out.put_nowait(None)
        for thread in self._threads:
            await asyncio.to_thread(thread.join, 5)

    # -- in the threads -------------------------------------------------------------

    def _call(self, which: int, argument: str | bytes) -> None:
        try:
            self._loop.call_soon_threadsafe(self._calls[which], argument)
        except RuntimeError:
            self._ending.set()  # the loop has ended

    def _take(self, data: bytes) -> None:
        try:
            self._on_data(data)
        finally:
            self._room.release()

    def _read(self) -> None:
        while not self._ending.is_set():
            line = name = None
            words = ""
            try:
                name = self._where()
                if name is not None:
                    line = open_line(name)
                    self._line = line
                    self._call(0, name)
                    self._listen(line)
            except Exception as error:  # pyserial lets OSError, TypeError and termios.error through besides its own
                words = words_of(error, name or "")
            self._line = None
            if line is not None:
                try:
                    line.close()
                except Exception as error:
                    words = words or words_of(error, name or "")
            if not self._ending.is_set():
                self._call(2, words)
            self._ending.wait(RETRY)

    def _listen(self, line: Any) -> None:
        by_socket = type(line).__module__.endswith("protocol_socket")
        while not self._ending.is_set() and self._line is line:
            if not (self._go_on.wait(PATIENCE) and self._room.acquire(timeout=PATIENCE)):
                continue
            data = b""
            try:
                data = line.read(CHUNK if by_socket else max(1, min(line.in_waiting, CHUNK)))
            finally:
                if not data:
                    self._room.release()
            if data:
                self._call(1, data)

    def _write(self) -> None:
        while (job := self._out.get()) is not None:
            line, data = job
            if line is not self._line:
                continue  # meant for a port that is gone
            try:
                line.write(data)
            except serial.SerialTimeoutException:
                self.dropped += len(data)
            except Exception:
                self.dropped += len(data)
                self._line = None  # the reader finds out and opens it again


def open_line(name: str) -> Any:
    """The pyserial object of a port, opened for itself alone; raises what pyserial and the system raise."""
    by_socket = name.startswith("socket://")
    return serial.serial_for_url(
        name,
        baudrate=115200,
        timeout=SOCKET_WAIT if by_socket else 0.2,
        write_timeout=None if name.startswith("rfc2217://") else WRITE_WAIT,  # pyserial has none there
        exclusive=None if "://" in name else True,
    )


def words_of(error: BaseException, port: str) -> str:
    """What the system said, as a sentence for a person; `port` is its name, "" where none was to be opened yet."""
    text = str(error).strip() or type(error).__name__
    if "Could not exclusively lock" in text:
        return "another program has the port open: close it there"
    if isinstance(error, PermissionError) or "Permission denied" in text:
        return "this user may not open the port: join the group that owns it (often dialout)"
    if "readiness to read but returned no data" in text:  # pyserial's words for both
        return "another program has the port open, or it was unplugged"
    if isinstance(error, FileNotFoundError) or "No such file" in text:
        return f"there is no port{port and f' {port}'} now: plug the board in, or name another with --port"
    if isinstance(error, ConnectionRefusedError) or "Connection refused" in text:
        return f"nobody listens at {port}: start what serves it, or see that its number is right"
    if "Inappropriate ioctl" in text or "Is a directory" in text:
        return f"{port} is no serial port: `tuyere board find` lists the ports there are"
    if "invalid URL" in text:
        return f"{port} is no kind of port: give a device, such as /dev/ttyACM0, or socket://host:port"
    return text.splitlines()[0][:200]
