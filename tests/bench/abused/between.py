"""What lies between the engine and the twin."""

from __future__ import annotations

import contextlib
import json
import random
import socket
import threading
import time

from hearth.link import lines, messages
from tuyere.link.session import HEAD

DAMAGE = 0.01  # of the lines


class Between:
    """A socket for the engine in front of the twin's: damages lines, floods, and calls the twin a real board."""

    def __init__(self, twin: tuple[str, int], seed: int) -> None:
        self._twin = twin
        self._dice = random.Random(seed)
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = f"socket://127.0.0.1:{self._server.getsockname()[1]}"
        self.flood_until = 0.0
        self.damaged = self.flooded = 0
        self.seen: dict[tuple[int, int], bytes] = {}  # what the board has sent, by boot and sequence
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self) -> None:
        while True:
            near, _ = self._server.accept()
            try:
                far = socket.create_connection(self._twin)
            except OSError:
                near.close()
                continue
            threading.Thread(target=self._pass_back, args=(near, far), daemon=True).start()
            self._pass_on(far, near)

    @staticmethod
    def _pass_back(near: socket.socket, far: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while data := near.recv(65536):
                far.sendall(data)
        for one in (near, far):
            with contextlib.suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)

    def _pass_on(self, far: socket.socket, near: socket.socket) -> None:
        rest = b""
        with contextlib.suppress(OSError):
            far.settimeout(0.05)
            while True:
                try:
                    data = far.recv(65536)
                    if not data:
                        break
                except TimeoutError:
                    data = b""
                *whole, rest = (rest + data).split(b"\n")
                for line in whole:
                    near.sendall(self._bent(line) + b"\n")
                while time.monotonic() < self.flood_until:
                    junk = self._dice.randbytes(65536)
                    near.sendall(junk)
                    self.flooded += len(junk)
        for one in (near, far):
            one.close()

    def _bent(self, line: bytes) -> bytes:
        message = lines.decode(line.strip())
        if message is not None and message[0] == messages.HELLO:
            said = json.loads(message[1])
            line = lines.encode(messages.HELLO, json.dumps({**said, "simulated": False, "speed": 1}).encode()).strip()
        elif message is not None and message[0] == messages.RECORD and len(message[1]) >= HEAD.size:
            _, boot, sequence, _, _ = HEAD.unpack_from(message[1])
            self.seen[boot, sequence] = bytes(message[1])
        if line and self._dice.random() < DAMAGE:
            self.damaged += 1
            at = self._dice.randrange(len(line))
            line = line[:at] + bytes([line[at] ^ 1 << self._dice.randrange(7)]) + line[at + 1 :]
        return line
