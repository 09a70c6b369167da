"""What the screen remembers between runs: `screen.toml` in the user's home folder for Tuyere."""

from __future__ import annotations

import os
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

from tuyere import paths

NAME = "screen.toml"
CHOICES = {"units": ("F", "C"), "colours": ("dark", "light"), "window": ("1 h", "4 h", "all"), "bell": ("on", "off")}
WINDOWS = {"1 h": 3_600_000, "4 h": 4 * 3_600_000, "all": 0}


@dataclass
class ScreenSettings:
    """Choices of the person at the screen; `keys` maps the id of an action to the keys that call it."""

    units: str = "F"
    colours: str = "dark"
    window: str = "all"
    bell: str = "on"  # for urgent alarms
    keys: dict[str, str] = field(default_factory=dict)


def load(home: Path) -> tuple[ScreenSettings, list[str]]:
    """The settings and a sentence for each thing in the file that could not be used. No file: the defaults."""
    path = home / NAME
    settings, trouble = ScreenSettings(colours=_terminal_colours()), []
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return settings, []
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        return settings, [f"{path} cannot be read ({error}); using the defaults. Mend it or delete it."]
    for name, value in data.items():
        if name == "keys" and isinstance(value, dict):
            for action, key in value.items():
                if isinstance(key, str) and key:
                    settings.keys[action] = key
                else:
                    trouble.append(f'{path}: keys.{action} must be a key in quotes, such as "b"; it was left out.')
        elif name in CHOICES and value in CHOICES[name]:
            setattr(settings, name, value)
        elif name in CHOICES:
            known = ", ".join(CHOICES[name])
            trouble.append(f"{path}: {name} is {value!r}; it can be {known}. The default is used.")
        else:
            trouble.append(f"{path}: there is no setting {name!r}; take the line out.")
    return settings, trouble


def save(home: Path, settings: ScreenSettings) -> None:
    """Write the file whole, then put it in place of the old one."""
    lines = [f"{name} = {_quoted(getattr(settings, name))}" for name in CHOICES]
    if settings.keys:
        lines += ["", "[keys]", *(f"{action} = {_quoted(key)}" for action, key in sorted(settings.keys.items()))]
    paths.ensure(home)
    new = home / (NAME + ".new")
    with open(new, "w", encoding="utf-8", opener=paths.private) as out:
        out.write("\n".join(lines) + "\n")
    os.replace(new, home / NAME)


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _terminal_colours() -> str:
    """Some terminals say their colours in COLORFGBG as 'text;background'; 7 and 9..15 are light backgrounds."""
    background = os.environ.get("COLORFGBG", "").rpartition(";")[2]
    return "light" if background == "7" or (background.isdigit() and 9 <= int(background) <= 15) else "dark"
