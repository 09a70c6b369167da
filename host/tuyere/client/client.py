"""A screen's end of the conversation with the engine."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import msgspec

from tuyere import paths
from tuyere.client import launch as launching
from tuyere.client.protocol import VERSION
from tuyere.cook.snapshot import Ended, Snapshot, Trend
from tuyere.text import Said, as_said

LONGEST = 64 << 20  # bytes; a long cook's whole trend is one line
CONNECTS, ATTACHES, DETACHES = 2.0, 5.0, 2.0  # s that an engine has for each
KINDS: dict[str, type[Any]] = {"snapshot": Snapshot, "trend": Trend, "ended": Ended}


class EngineError(Exception):
    """The engine refused, in one sentence; or it cannot be reached."""

    def __init__(self, words: str, code: int = 0, said: Said = "") -> None:
        super().__init__(words)
        self.code = code
        self.said = said or words  # the same, with typed measures


class EngineEnded(EngineError):
    """The engine was ended on purpose. Do not start another unless a person asks."""


class Client:
    """One attachment to the engine. Make it with `open`."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._reader = reader
        self._writer = writer
        self._number = 0
        self._waiting: dict[int, asyncio.Future[Any]] = {}
        self._news: dict[str, list[Any]] = {}
        self._come = asyncio.Event()
        self._gone = False
        self._trouble = ""  # with the line to the engine
        self._ended = ""  # why the engine ends on purpose
        self._task = asyncio.create_task(self._listen())

    @classmethod
    async def open(
        cls,
        home: Path | None = None,
        *,
        launch: bool = False,
        twin: launching.TwinOptions | None = None,
        port: str = "",
    ) -> Client:
        """Attach to the engine of this home, or start one if `launch`. EngineError says why not."""
        folder = home or paths.home()
        client = await cls._try(folder)
        if client is None and launch:
            try:
                wait = launching.start(folder, twin=twin, port=port)
            except OSError as error:
                raise EngineError(launching.unusable(folder, error)) from error
            while client is None:
                trouble = await wait.step()
                client = await cls._try(folder)
                if client is None and trouble:
                    raise EngineError(trouble)
        if client is None:
            raise EngineError("no engine is running here: start it with `tuyere watch` or `tuyere keep`")
        return client

    @classmethod
    async def _try(cls, folder: Path) -> Client | None:
        """Attach if an engine answers; None if none does."""
        try:
            said = json.loads(paths.engine_file(folder).read_text())
            port, token = int(said["port"]), str(said["token"])
            reader, writer = await asyncio.wait_for(asyncio.open_connection("127.0.0.1", port, limit=LONGEST), CONNECTS)
        except (OSError, ValueError, KeyError, TypeError):
            return None
        client = cls(reader, writer)
        try:
            await asyncio.wait_for(client.call("attach", version=VERSION, token=token), ATTACHES)
        except EngineError as error:
            await client.close()
            if error.code and "version" in str(error):
                raise
            return None  # another program has that port now
        except TimeoutError:
            await client.close()
            return None
        return client

    async def call(self, method: str, **params: Any) -> Any:
        """Call a method of the engine; EngineError if it refuses or is gone."""
        if self._gone:
            raise self._lost()
        self._number += 1
        number = self._number
        answer: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        self._waiting[number] = answer
        try:
            self._writer.write(
                msgspec.json.encode({"jsonrpc": "2.0", "id": number, "method": method, "params": params}) + b"\n"
            )
            await self._writer.drain()
            return await answer
        except OSError as error:
            raise self._lost() from error
        finally:
            self._waiting.pop(number, None)

    async def snapshot(self) -> Snapshot:
        """All that a screen shows but the trend."""
        return msgspec.convert(await self.call("snapshot"), Snapshot)

    async def trend(self, cook: int, after: int = 0) -> Trend:
        """The trend of a cook from a record on."""
        return msgspec.convert(await self.call("trend", cook=cook, after=after), Trend)

    async def notifications(self) -> AsyncIterator[tuple[str, Any]]:
        """What the engine pushes, as (name, struct); of snapshots only the newest. Ends when the engine is gone.

        The last is ("ended", Ended) if it was ended on purpose.
        """
        while True:
            await self._come.wait()
            self._come.clear()
            while self._news:
                name = "trend" if "trend" in self._news else next(iter(self._news))
                for item in self._news.pop(name):
                    yield name, item
            if self._gone:
                return

    async def close(self) -> None:
        """Detach."""
        if not self._gone:
            with contextlib.suppress(OSError, TimeoutError, EngineError):
                await asyncio.wait_for(self.call("detach"), DETACHES)
        self._task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await self._task
        self._writer.close()
        with contextlib.suppress(OSError):
            await self._writer.wait_closed()

    async def _listen(self) -> None:
        try:
            while line := await self._reader.readline():
                self._take(msgspec.json.decode(line))
        except (OSError, ValueError) as error:
            self._trouble = f" ({error})"
        finally:
            self._gone = True
            for answer in self._waiting.values():
                if not answer.done():
                    answer.set_exception(self._lost())
            self._come.set()

    def _lost(self) -> EngineError:
        """Why there is no engine any more."""
        if self._ended:
            return EngineEnded(self._ended)
        return EngineError(f"the engine is gone{self._trouble}: start `tuyere watch` again")

    def _take(self, said: Any) -> None:
        if "method" in said:
            kind = KINDS.get(said["method"])
            if kind is None:
                return  # a later engine may say more
            item = msgspec.convert(said["params"], kind)
            if isinstance(item, Ended):
                self._ended = item.words
            if said["method"] == "trend":
                self._news.setdefault("trend", []).append(item)  # each holds other cycles
            else:
                self._news[said["method"]] = [item]
            self._come.set()
            return
        answer = self._waiting.get(said.get("id") or 0)
        if answer is not None and not answer.done():
            if "error" in said:
                answer.set_exception(_refused(said["error"]))
            else:
                answer.set_result(said["result"])


def _refused(error: dict[str, Any]) -> EngineError:
    """What the engine answered instead of doing it."""
    try:
        return EngineError(error["message"], error["code"], as_said(error.get("data", "")))
    except msgspec.ValidationError:  # a later engine may say more
        return EngineError(error["message"], error["code"])
