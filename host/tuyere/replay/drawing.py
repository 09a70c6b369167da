"""A recorded night and what would have been, on paper."""

from __future__ import annotations

from pathlib import Path

from tuyere.replay.played import Would
from tuyere.sim.plot import GREY, INK, PALE, SHADE
from tuyere.tune.night import Night


def save(night: Night, would: Would, title: str, file: Path) -> None:
    """Draw both into a PNG file: pit against the band with the ensemble's range, the fan below. RuntimeError without
    matplotlib, OSError when the file cannot be written."""
    try:
        from matplotlib.figure import Figure
    except ImportError as missing:
        raise RuntimeError(
            "Drawing needs matplotlib, which is not installed: run `pip install matplotlib` in this environment."
        ) from missing
    hours = (would.seconds - would.seconds[0]) / 3600.0
    drawn = Figure(figsize=(11.0, 6.0), dpi=120, layout="constrained")
    above, strip = drawn.subplots(2, 1, sharex=True, height_ratios=[4.0, 1.2])
    above.set_title(title, loc="left", fontsize=10, color=INK)
    above.fill_between(hours, would.low, would.high, color=SHADE, lw=0, step="post")
    above.fill_between(hours, would.pit_low, would.pit_high, color=PALE, lw=0, alpha=0.7)
    above.plot(hours, night.pit_cycles(), color=GREY, lw=0.7, label="recorded")
    above.plot(hours, would.pit_c, color=INK, lw=1.0, ls=(0, (5, 2)), label="would have been, with its range")
    for start, length, _ in night.openings:
        at = (start - float(would.seconds[0])) / 3600.0
        strip.axvspan(at, at + max(length / 3600.0, 0.01), color=PALE, lw=0)
    above.set_ylim(float(would.low.min()) - 45.0, float(would.high.max()) + 25.0)
    above.legend(loc="lower right", fontsize=8, frameon=False)
    above.set_ylabel("C", color=GREY, rotation=0, labelpad=10)
    minutes = len(hours) // 30 * 30
    for fan, ink, line in ((night.fan_cycles(), GREY, "-"), (would.fan, INK, (0, (5, 2)))):
        strip.plot(hours[:minutes:30], 100.0 * fan[:minutes].reshape(-1, 30).mean(axis=1), color=ink, lw=0.8, ls=line)
    strip.set_ylim(-4.0, 104.0)
    strip.set_ylabel("fan %", color=GREY, rotation=0, labelpad=16, va="center")
    strip.set_xlabel("hours since the record began; shade: band and lids", color=GREY, fontsize=9)
    for panel in (above, strip):
        panel.tick_params(colors=GREY, labelsize=8)
        panel.set_xlim(0.0, float(hours[-1]))
        for side in ("top", "right"):
            panel.spines[side].set_visible(False)
        for side in ("left", "bottom"):
            panel.spines[side].set_color(PALE)
    drawn.savefig(file, format="png")
