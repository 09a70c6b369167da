"""Textual themes from our palettes, and the style sheet of the whole app."""

from __future__ import annotations

from textual.scrollbar import ScrollBarRender
from textual.theme import Theme

from tuyere.chart.colours import Palette


def theme(palette: Palette) -> Theme:
    """The theme 'tuyere-<name>'. Without colour the terminal's own two colours are used, nothing else."""
    if palette.text is None:
        plain = "ansi_default"
        return Theme(
            f"tuyere-{palette.name}", primary=plain, secondary=plain, warning=plain, error=plain, success=plain,
            accent=plain, foreground=plain, background=plain, surface=plain, panel=plain, boost=plain, ansi=True,
            variables={"ours-muted": plain, "ours-raised": plain, "ours-hand": plain, "ours-text": plain,
                       "ours-shade": plain, "ansi-background": plain, "ansi-foreground": plain},
        )  # fmt: skip
    assert palette.muted and palette.base and palette.raised and palette.shade and palette.hand
    return Theme(
        f"tuyere-{palette.name}", primary=palette.muted, secondary=palette.muted, warning=palette.hand,
        error=palette.urgent, success=palette.muted, accent=palette.text, foreground=palette.text,
        background=palette.base, surface=palette.base, panel=palette.raised, dark=palette.dark,
        variables={"ours-muted": palette.muted, "ours-raised": palette.raised, "ours-hand": palette.hand,
                   "ours-text": palette.text, "ours-shade": palette.shade,
                   "footer-background": palette.raised, "footer-foreground": palette.text,
                   "footer-description-foreground": palette.text, "footer-key-foreground": palette.pit or palette.text,
                   "block-cursor-background": palette.shade, "block-cursor-foreground": palette.pit or palette.text,
                   "input-cursor-background": palette.text, "input-cursor-foreground": palette.base},
    )  # fmt: skip


STYLES = """
Screen { background: $background; color: $foreground; overflow: hidden; }
#status { margin: 0 1; }
#headline { margin: 0 1; }
#alarms { margin: 0 1; }
#serving { margin: 0 1; }
#top { height: auto; margin: 0 1; layout: vertical; }
#top > Panel { width: 100%; }
#below { height: 1fr; margin: 0 1; }
#detail { display: none; width: 1fr; }
#below.-detail #detail { display: block; }
#below.-detail #trend { display: none; }
.-wide #top { layout: grid; grid-size: 2; grid-columns: 36 1fr; grid-rows: auto; grid-gutter: 0 2; height: auto; }
.-wide #top > #hands { column-span: 2; }
.-broad #top, .-vast #top { layout: grid; grid-size: 3; grid-rows: auto; grid-gutter: 0 2; height: auto; }
.-broad #top { grid-columns: 37 1fr 36; }
.-vast #top { grid-columns: 37 62 1fr; }
.-broad #top > #hands, .-vast #top > #hands { column-span: 1; }
.-broad #below.-detail #trend, .-vast #below.-detail #trend { display: block; }
.-broad #below.-detail #detail, .-vast #below.-detail #detail { width: 38; margin-left: 3; }
.-short #top { layout: vertical; }
.-high #headline { margin: 1 1 1 1; }
.-high #alarms { margin: 0 1 1 1; }
.-high #below { margin: 1 1 0 1; }
Footer { background: $ours-raised; }
.-narrow .first-to-go { display: none; }
ModalScreen { align: center middle; background: $background 60%; }
.box { width: 62; max-width: 100%; height: auto; max-height: 100%; background: $ours-raised; padding: 1 2; }
.box.wide { width: 80; }
.about { margin-top: 1; }
.box.tall { width: 90; height: 90%; }
.title { text-style: bold; margin-bottom: 1; }
.words { margin-bottom: 1; }
.hint { color: $ours-muted; margin-top: 1; }
.error { color: $ours-hand; text-style: bold; height: auto; }
.row { height: 1; }
.row Label { width: 16; color: $ours-muted; }
.row Label.unit { width: 18; padding-left: 1; }
.row Input { width: 1fr; background: $background; color: $ours-text; }
.row Input:focus { background: $ours-shade; }
OptionList { height: auto; max-height: 100%; background: $ours-raised; border: none; padding: 0; }
.columns { height: auto; max-height: 100%; }
.columns OptionList { width: 1fr; min-width: 12; }
.columns OptionList:blur > .option-list--option-highlighted { text-style: none; background: $ours-raised; }
OptionList:focus { background-tint: $background 0%; }
OptionList > .option-list--option-highlighted { text-style: bold reverse; }
.box.tall VerticalScroll { height: 1fr; }
.-short .box { padding: 0 2; }
.-short .title, .-short .words { margin-bottom: 0; }
.-short .hint, .-short .about { margin-top: 0; }
ModalScreen:nocolor { background: transparent; }
.box:nocolor { border: solid ansi_default; padding: 0 1; }
.row Input:nocolor { text-style: underline; }
.row Input:nocolor:focus { text-style: reverse; }
.-ascii .box:nocolor { border: ascii ansi_default; }
.-ascii Toast { border-left: ascii $ours-muted; }
.-ascii SearchIcon { display: none; }
.-ascii CommandPalette #--input { border: none; }
.-ascii CommandPalette #--results { border: none; }
"""


class AsciiBars(ScrollBarRender):
    """Scroll bars without block glyphs, of which a terminal without UTF-8 makes several letters."""

    VERTICAL_BARS = [" "] * 8
    HORIZONTAL_BARS = [" "] * 8
