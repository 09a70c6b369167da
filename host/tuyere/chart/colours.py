"""Grey is normal; colour is for what needs a hand (ISA-101). One palette for light and for dark
terminals, one without any colour for NO_COLOR and for terminals that cannot show more than ASCII."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Palette:
    """Colours as '#rrggbb', None for whatever the terminal has."""

    name: str
    text: str | None = None
    muted: str | None = None
    faint: str | None = None  # grid
    base: str | None = None  # the background
    raised: str | None = None  # dialogs
    shade: str | None = None  # the band
    pit: str | None = None
    pieces: tuple[str | None, ...] = (None, None, None)
    fan: str | None = None
    fan_most: str | None = None  # the highest demand within a column
    hand: str | None = None  # needs a hand
    urgent: str | None = None  # needs a hand at once
    urgent_text: str | None = None
    dark: bool = True
    ascii: bool = False  # glyphs too must be plain

    @property
    def colourless(self) -> bool:
        return self.text is None


DARK = Palette(
    name="dark",
    text="#cfd3d6",
    muted="#8f969c",
    faint="#2f3437",
    base="#1a1c1e",
    raised="#25292c",
    shade="#373e43",
    pit="#f4f6f7",
    pieces=("#b9c0c6", "#b9c0c6", "#b9c0c6"),
    fan="#626b72",
    fan_most="#30363a",
    hand="#f0b429",
    urgent="#cc3c2b",
    urgent_text="#ffffff",
)

LIGHT = Palette(
    name="light",
    text="#2b2f33",
    muted="#646b71",
    faint="#e3e5e6",
    base="#f8f8f6",
    raised="#ebecea",
    shade="#d6dadc",
    pit="#0b0d0f",
    pieces=("#454b51", "#454b51", "#454b51"),
    fan="#a3abb1",
    fan_most="#e0e3e5",
    hand="#8f5b00",
    urgent="#b3261e",
    urgent_text="#ffffff",
    dark=False,
)

PLAIN = Palette(name="plain")


def palette(name: str, *, colour: bool = True, utf8: bool = True) -> Palette:
    """The palette of that name ('dark', 'light'), without colour or beyond-ASCII glyphs where they cannot be shown."""
    chosen = PLAIN if not colour else LIGHT if name == "light" else DARK
    return chosen if utf8 else replace(chosen, ascii=True)
