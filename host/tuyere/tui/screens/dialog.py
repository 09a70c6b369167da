"""What every dialog has in common: only the one on top closes, and once."""

from __future__ import annotations

from textual.await_complete import AwaitComplete
from textual.screen import ModalScreen, ScreenResultType


class Dialog(ModalScreen[ScreenResultType]):
    """A dialog over the watch screen, or over another dialog.

    Keys that were typed before it closed, or before another one opened above it, may still be on their way to it.
    Textual takes the topmost screen away for any answer: the wrong one, and the next answer would end the app.
    """

    def follow(self) -> None:
        """The view has changed under the dialog."""

    def dismiss(self, result: ScreenResultType | None = None) -> AwaitComplete:
        """Close with an answer; nothing if it has closed already or is not on top."""
        return super().dismiss(result) if self.app.screen is self else AwaitComplete()
