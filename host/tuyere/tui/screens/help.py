"""All keys by what they are for, and what the marks and lines mean. Made from the registry of actions."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.text import Text

from tuyere.chart.frame import LETTERS as ASCII_LINES
from tuyere.chart.frame import SAMPLES
from tuyere.cook import say
from tuyere.cook.in_short import LETTERS
from tuyere.logbook.kinds import KINDS
from tuyere.tui.actions import ACTIONS, Action, key_words

KEYS = 6
SIDE = 24  # columns a sentence needs beside the name; else it stands below


def help_text(
    keys: dict[str, str], width: int, file: Path, ascii: bool = False, registry: Sequence[Action] = ACTIONS
) -> Text:
    """The page for a width; `keys` by action id as they are now, `file` where they can be changed."""
    text, group = Text(), ""
    label = max(len(action.words) for action in registry) + 2
    for action in registry:
        if action.group != group:
            group = action.group
            text.append(("" if not text else "\n") + group + "\n", "bold")
        head = f"{key_words(keys.get(action.id, action.keys)):{KEYS}}"
        beside = width - KEYS - label >= SIDE
        indent = KEYS + label if beside else KEYS
        lines = say.wrap(action.help, width - indent)
        text.append(head + (action.words.ljust(label) if beside else action.words + "\n" + " " * indent))
        text.append(("\n" + " " * indent).join(lines) + "\n")
    text.append("\nThe trend\n", "bold")
    samples = {n: ASCII_LINES[n] if ascii else SAMPLES[n] for n in SAMPLES}
    lines_of = ", ".join(f"{samples[n]} {'the pit' if n == 0 else f'meat probe {n}'}" for n in samples)
    _add(text, f"The shade is the band. Lines: {lines_of}. The fan has its own strip below.", width)
    text.append("\nMarks under the trend and in lists\n", "bold")
    words = [f"{letter} {KINDS[kind].words}" for kind, letter in LETTERS.items() if kind in KINDS and kind != "shade"]
    words += [
        "0 to 9 and X a shade of the bark",
        "! a trip",
        "^ the board restarted",
        ". anything else the board tells",
    ]
    _add(text, ", ".join(words), width)
    text.append("\nOther keys\n", "bold")
    names = ", ".join(action.id for action in registry)
    _add(text, f'In {file}, under [keys], a line such as note = "5" changes a key. The names are {names}.', width)
    return text


def _add(text: Text, words: str, width: int) -> None:
    text.append("\n".join(say.wrap(words, width)) + "\n")
