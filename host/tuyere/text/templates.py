"""A sentence is a template and the values in it. It becomes words only for its reader.

It is made where something is known, stored and sent as data (msgspec, JSON), and rendered once, where a person reads
it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

import msgspec
from msgspec import Struct

from tuyere.text.quantities import (
    CELSIUS,
    Clock,
    Count,
    Duration,
    Length,
    Mass,
    Number,
    Range,
    Rate,
    Reader,
    Share,
    Span,
    Temperature,
    Typed,
    Volume,
)

_NAME = re.compile(r"\{(\w+)\}")


class Key(Typed, frozen=True, tag="key"):
    """The key of an action of the watch screen, `usual` unless the reader has another."""

    action: str
    usual: str

    def shown(self, reader: Reader) -> str:
        return dict(reader.keys).get(self.action, self.usual)


class Listed(Typed, frozen=True, tag="listed"):
    """Several in a row: `by` between them, `last` before the last one ('' for the same as `by`)."""

    items: tuple[Value, ...]
    by: str = ", "
    last: str = ""

    def shown(self, reader: Reader) -> str:
        items = [render(item, reader) for item in self.items]
        if len(items) < 2 or not self.last:
            return self.by.join(items)
        return self.by.join(items[:-1]) + self.last + items[-1]


class Text(Typed, frozen=True, tag="text"):
    """A sentence: `template` with {names}, and a value for each."""

    template: str
    values: dict[str, Value] = {}

    def shown(self, reader: Reader) -> str:
        return _NAME.sub(lambda name: render(self.values[name[1]], reader), self.template)


class Unconverted(Typed, frozen=True, tag="unconverted"):
    """Words of an older version that could not be taken apart: shown as they were written, in its units."""

    words: str

    def shown(self, reader: Reader) -> str:
        return self.words


Value = (
    Temperature | Span | Rate | Mass | Volume | Length | Share | Number | Count | Duration | Clock
    | Key | Range | Listed | Text | Unconverted | str | int
)  # fmt: skip
Said = Text | Unconverted | str  # what stands where a sentence is wanted
_SAID: Any = Said


def text(template: str, /, **values: Value) -> Text:
    """A sentence. ValueError if the template's names and the values' names are not the same."""
    names = set(_NAME.findall(template))
    if names != values.keys():
        raise ValueError(f"{template!r} wants {sorted(names)}, was given {sorted(values)}")
    return Text(template, values)


def as_said(value: Any) -> Said:
    """Typed text from its plain form (JSON). msgspec.ValidationError if it is none."""
    said: Said = msgspec.convert(value, _SAID)
    return said


def render(said: Value, reader: Reader) -> str:
    """The words for this reader."""
    if isinstance(said, str):
        return said
    return f"{said:,}" if isinstance(said, int) else said.shown(reader)


class BadValue(ValueError):
    """A value that cannot be used: what, where and what to do, in one sentence. `str` of it is metric."""

    def __init__(self, said: Said) -> None:
        super().__init__(render(said, Reader(CELSIUS)))
        self.said = said


def said_of(error: BaseException) -> Said:
    """An error as a sentence for any reader: typed where it is, its plain words else."""
    return getattr(error, "said", None) or str(error)


def plain(said: Said) -> str:
    """The words of a plain sentence; "" for a typed one."""
    return said if isinstance(said, str) else ""


def gist(said: Value) -> str:
    """The words without their measures: what stays the same while the numbers in a sentence move."""
    if isinstance(said, str):
        return said
    if isinstance(said, Text):
        return _NAME.sub(lambda name: gist(said.values[name[1]]), said.template)
    if isinstance(said, Listed):
        return said.by.join(gist(item) for item in said.items)
    return said.words if isinstance(said, Unconverted) else ""


def rendered(sentences: Iterable[Said], reader: Reader) -> list[str]:
    """Each of several sentences."""
    return [render(one, reader) for one in sentences]


def sentences(said: Sequence[Said], by: str = " ") -> Said:
    """Several sentences as one."""
    kept = tuple(one for one in said if one != "")
    return kept[0] if len(kept) == 1 else text("{all}", all=Listed(kept, by)) if kept else ""


def worded(value: Any, reader: Reader) -> Any:
    """Structs and lists as plain data (JSON), each sentence in them in the words for this reader."""
    if isinstance(value, Text | Unconverted):
        return render(value, reader)
    if isinstance(value, Struct):
        return {name: worded(getattr(value, name), reader) for name in value.__struct_fields__}
    if isinstance(value, list | tuple):
        return [worded(one, reader) for one in value]
    return {name: worded(one, reader) for name, one in value.items()} if isinstance(value, dict) else value
