"""What the handlers and the watch screen may use of the app."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol, TypeVar

from textual.screen import Screen

from tuyere.chart.colours import Palette
from tuyere.tui.actions import Action
from tuyere.tui.preferences import ScreenSettings
from tuyere.tui.view import View

T = TypeVar("T")


class Face(Protocol):
    """See `app.WatchApp`, which has all of this."""

    view: View
    settings: ScreenSettings
    keys: dict[str, str]  # by action id
    home: Path
    palette: Palette
    REGISTRY: Sequence[Action]  # what can be done on this screen
    who: str  # the person at this screen, for the log

    @property
    def screen(self) -> Screen[Any]:
        """The topmost screen."""

    async def attempt(self, method: str, **params: Any) -> tuple[Any, str]:
        """Call the engine: its answer, and why it was not done, empty if it was."""

    async def order(self, name: str, words: str, **params: Any) -> str:
        """Give the board an order; why not, empty if it took it."""

    async def ask(self, screen: Screen[T]) -> T | None:
        """Open a dialog and wait for its answer."""

    def say(self, words: str, severity: str = "information") -> None:
        """Show a sentence for some seconds."""

    def tell(self, trouble: str) -> None:
        """Say why something was not done, if it was not."""

    def do(self, name: str) -> None:
        """Do what the action of that id does, or say why it does not apply."""

    def look(self, **changes: str) -> None:
        """Change settings of the screen, remember them, show them."""

    def show(self) -> None:
        """Draw what is known again."""

    def start_engine(self) -> None:
        """Start an engine again after one was ended on purpose."""

    def leaving(self) -> str:
        """What goes on without this screen; empty if there is nothing to say."""

    async def leave(self, words: str = "") -> None:
        """Detach and close."""

    def action_command_palette(self) -> None:
        """Find a command by its words."""
