"""What the terminal's screen knows beyond any onlooker: what was asked, how it is looked at, the person's keys."""

from __future__ import annotations

from dataclasses import dataclass, field

from tuyere.cook.onlooker import Onlooker
from tuyere.cook.snapshot import Prompt
from tuyere.text import Reader, gist
from tuyere.tui.actions import BY_ID, key_words

Line = list[tuple[str, str]]  # runs of (text, role); roles: "", strong, muted, hand, urgent, asked, band


@dataclass
class Asked:
    """Something asked of the board that a snapshot does not show yet."""

    name: str
    words: str
    at: float  # monotonic seconds
    low: float = 0.0
    high: float = 0.0


Chosen = tuple[str, int, str]  # kind, piece and words of a prompt, without its measures


def mark_of(prompt: Prompt) -> Chosen:
    """What makes a prompt the same one while its times move on."""
    return prompt.kind, prompt.piece, gist(prompt.words)


@dataclass
class View(Onlooker):
    """All a widget needs to draw itself."""

    asked: list[Asked] = field(default_factory=list)
    window: int = 0  # ms, 0 for the whole cook
    near: bool = False
    detail: bool = False
    ascii: bool = False
    chosen: Chosen | None = None  # of the things to do
    keys: dict[str, str] = field(default_factory=dict)  # by action id, where a person has changed them

    def key(self, action: str) -> str:
        """The key of an action, as it is called: 'r', 'F2'."""
        return key_words(self.keys.get(action) or BY_ID[action].keys).split()[0]

    @property
    def more(self) -> str:
        """The note where there was no room for all words."""
        return f"{self.key('read')} reads the rest"

    @property
    def reader(self) -> Reader:
        """For whom the engine's sentences are rendered."""
        return Reader(self.units, self.zone, now=self.now, keys=tuple((name, self.key(name)) for name in self.keys))
