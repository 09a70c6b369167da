"""Files onto a board at MicroPython's prompt, by mpremote's own transport.

`main.py` is removed first and written last. Without it a board that restarts stands at its prompt and drives nothing.
So half a firmware never runs, and an upload that broke off is simply done again. Only `main.py` and what lies under
`hearth/` is touched; settings, spool and whatever else is on the flash stay.
"""

from __future__ import annotations

import ast
import contextlib
import hashlib
import io
import os
from collections.abc import Callable, Iterator
from typing import Any

import serial

from tuyere.board.bytecode import MAIN, Prompted
from tuyere.board.trouble import Trouble

TREE = "hearth"
BESIDE = MAIN + ".new"
BLOCK = 4096  # bytes: what a file takes at least on littlefs
WAIT_S = 2.0  # s for a byte of the prompt

# Run on the board: path -> SHA-256 (hex) of main.py and of all files under hearth/.
_LOOK = """
import binascii, hashlib, os
def _hash(path):
    h = hashlib.sha256()
    with open(path, "rb") as f:
        while True:
            part = f.read(512)
            if not part:
                break
            h.update(part)
    return binascii.hexlify(h.digest()).decode()
def _look(path):
    try:
        kind = os.stat(path)[0]
    except OSError:
        return
    if kind & 0x4000:
        for row in os.ilistdir(path):
            _look(path + "/" + row[0])
    else:
        print(repr((path, _hash(path))), end=",")
for _path in ("{main}", "{tree}"):
    _look(_path)
"""
_WHO = """
import sys
_i = sys.implementation
print(repr((tuple(_i.version[:3]), getattr(_i, "_mpy", 0), getattr(_i, "_machine", sys.platform))))
"""
_FREE = "import os\n_s = os.statvfs(os.getcwd())\nprint(_s[0] * _s[3])"


class Uploader:
    """A board at its prompt. `transport` is mpremote's SerialTransport in its raw REPL."""

    def __init__(self, transport: Any) -> None:
        self._to = transport

    def who(self) -> Prompted:
        """What its MicroPython is."""
        version, mpy, machine = ast.literal_eval(self._run(_WHO))
        return Prompted(version, mpy, machine)

    def look(self) -> dict[str, str]:
        """Path -> SHA-256 (hex) of the firmware's files that are on it."""
        said = self._run(_LOOK.replace("{main}", MAIN).replace("{tree}", TREE))
        return dict(ast.literal_eval(f"[{said}]"))

    def clear_main(self) -> None:
        """Remove `main.py`: from here on a restart ends at the prompt."""
        self._run(f"import os\ntry:\n    os.remove({MAIN!r})\nexcept OSError:\n    pass")

    def put(self, files: dict[str, bytes], say: Callable[[str], None]) -> int:
        """Have the board hold exactly these files, `main.py` last; how many were written. Trouble if one differs."""
        wanted = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
        there = self.look()
        changed = sorted(name for name in files if name != MAIN and there.get(name) != wanted[name])
        if not changed and there == wanted:
            return 0
        self.clear_main()
        for name in there:
            if name not in wanted:  # a .py beside a .mpy would hide it
                self._run(f"import os\nos.remove({name!r})")
        self._see_room(sum(-(-len(files[name]) // BLOCK) * BLOCK for name in changed))
        for folder in sorted({os.path.dirname(name) for name in changed} - {""}):
            self._folder(folder)
        for i, name in enumerate(changed, 1):
            say(f"{i:3}/{len(changed)} {name} ({len(files[name])} bytes)")
            self._write(name, files[name])
        there = self.look()
        for name, digest in wanted.items():
            if name != MAIN and there.get(name) != digest:
                raise Trouble(f"{name} is not on the board as it was written: run `tuyere board load` again")
        self._write(BESIDE, files[MAIN])
        self._run(f"import os\nos.rename({BESIDE!r}, {MAIN!r})")
        if self.look() != wanted:
            self.clear_main()
            raise Trouble(f"{MAIN} is not on the board as it was written: run `tuyere board load` again")
        return len(changed) + 1

    def restart(self) -> None:
        """Restart the board as a power-up does; the port may go away for a moment."""
        with _worded():
            self._to.exec_raw_no_follow("import machine\nmachine.reset()\n")
        self._to.in_raw_repl = False

    def close(self) -> None:
        """Let the port go, with the prompt as a person knows it."""
        with contextlib.suppress(Exception):
            if self._to.in_raw_repl:
                self._to.exit_raw_repl()
        with contextlib.suppress(Exception):
            self._to.close()

    def _see_room(self, needed: int) -> None:
        free = int(self._run(_FREE))
        if free < needed:
            raise Trouble(
                f"the board's flash has {free // 1024} KB left and the firmware needs {needed // 1024} KB more: "
                "remove files of your own with `mpremote rm`, then run `tuyere board load` again"
            )

    def _folder(self, path: str) -> None:
        for i in range(1, path.count("/") + 2):
            part = "/".join(path.split("/")[:i])
            self._run(
                f"import os\ntry:\n    os.mkdir({part!r})\nexcept OSError as e:\n    if e.errno != 17:\n        raise"
            )

    def _write(self, name: str, data: bytes) -> None:
        with _worded():
            self._to.fs_writefile(name, data, chunk_size=512)

    def _run(self, script: str) -> str:
        with _worded():
            return str(self._to.exec(script).decode().strip())


@contextlib.contextmanager
def _worded() -> Iterator[None]:
    """What mpremote and the system raise, as one sentence."""
    from mpremote.transport import TransportError

    try:
        yield
    except (TransportError, serial.SerialException, OSError, ValueError, SyntaxError) as error:
        last = (str(error).strip().splitlines() or [type(error).__name__])[-1]
        raise Trouble(
            f"the upload broke off ({last}): the board stands at its prompt with nothing driven; "
            "see that it is plugged in and run `tuyere board load` again"
        ) from error


def prompt_at(port: str) -> Uploader:
    """The board on a port, interrupted and at a fresh prompt. Trouble if there is none."""
    from mpremote.transport import TransportError
    from mpremote.transport_serial import SerialTransport

    try:
        transport = SerialTransport(port, timeout=WAIT_S)
    except (TransportError, serial.SerialException, OSError) as error:
        raise Trouble(
            f"{port} cannot be opened ({error}): close the program that has it, or plug the board in"
        ) from None
    try:
        with contextlib.redirect_stdout(io.StringIO()):  # it prints what it could not read
            transport.enter_raw_repl(soft_reset=True)
    except (TransportError, serial.SerialException, OSError):
        transport.close()
        raise Trouble(
            f"MicroPython does not answer on {port}: hold BOOTSEL while you plug the board in, copy MicroPython 1.27 "
            "or newer (a .uf2 from micropython.org) onto the drive that appears, and run `tuyere board load` again"
        ) from None
    return Uploader(transport)
