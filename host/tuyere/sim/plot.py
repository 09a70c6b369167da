"""A cook on paper: pit against band, lids, fan and states, in grey and words."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tuyere.codes import STATES
from tuyere.sim import kernel

INK, GREY, PALE, SHADE = "#1c1c1c", "#6e6e6e", "#b8b8b8", "#ebebeb"


def figure(trace: Any, low: float, high: float, title: str) -> Any:
    """A matplotlib figure of one trace (rows of `kernel.TRACE` numbers). low, high: the band, C.

    RuntimeError where matplotlib is missing.
    """
    try:
        from matplotlib.figure import Figure
    except ImportError as missing:
        raise RuntimeError(
            "Drawing a cook needs matplotlib, which is not installed: run `pip install matplotlib` in this environment."
        ) from missing
    size = kernel.TRACE
    pit, fan = list(trace[kernel.T_PIT :: size]), list(trace[kernel.T_FAN :: size])
    hours = [(i + 1) * kernel.PERIOD_S / 3600.0 for i in range(len(pit))]
    lids = spans(hours, [lid > 0.0 for lid in trace[kernel.T_OPEN :: size]])
    states = [int(code) for code in trace[kernel.T_STATE :: size]]
    shown = sorted(set(states) - {-1})
    drawn = Figure(figsize=(11.0, 6.2), dpi=120, layout="constrained")
    heights = [5.0, 1.3, 0.28 * len(shown) + 0.1] if shown else [5.0, 1.3]
    axes = drawn.subplots(len(heights), 1, sharex=True, height_ratios=heights)
    above, strip = axes[0], axes[1]
    above.set_title(title, loc="left", fontsize=10, color=INK)
    above.axhspan(low, high, color=SHADE, lw=0)
    for edge in (low, high):
        above.axhline(edge, color=GREY, lw=0.8, ls=(0, (5, 3)))
    above.plot(hours, pit, color=INK, lw=0.9)
    bottom, top = min(0.0, *pit) - 5.0, max(high, *pit) + 12.0
    above.set_ylim(bottom, top)
    above.text(hours[-1] * 1.005, (low + high) / 2.0, "band", va="center", fontsize=8, color=GREY)
    climb = next((i for i, one in enumerate(pit) if one > 0.6 * low), 0)
    above.text(hours[climb] + hours[-1] * 0.008, pit[climb], "pit", va="top", fontsize=8, color=INK)
    for i, (start, end) in enumerate(lids):
        for panel in (above, strip):
            panel.axvspan(start, max(end, start + 0.005 * hours[-1] / 14.0), color=PALE, lw=0)
        above.text(start, bottom + 2.0, " lid" if i == 0 else "", fontsize=7, color=GREY, va="bottom")
    above.set_ylabel("C", color=GREY, rotation=0, labelpad=10)
    strip.step(hours, [100.0 * x for x in fan], color=INK, lw=0.6, where="post")
    strip.set_ylim(-4.0, 104.0)
    strip.set_yticks([0, 50, 100])
    strip.set_ylabel("fan %", color=GREY, rotation=0, labelpad=16, va="center")
    if shown:
        _states(axes[2], hours, states, shown)
    for panel in axes:
        panel.tick_params(colors=GREY, labelsize=8)
        panel.set_xlim(0.0, hours[-1])
        for side in ("top", "right"):
            panel.spines[side].set_visible(False)
        for side in ("left", "bottom"):
            panel.spines[side].set_color(PALE)
    axes[-1].set_xlabel("hours since the fire was lit", color=GREY, fontsize=9)
    return drawn


def _states(panel: Any, hours: Sequence[float], states: Sequence[int], shown: Sequence[int]) -> None:
    """A row for each state that occurred, with a bar for the time it lasted."""
    least = hours[-1] / 700.0  # a state of one cycle stays visible
    for row, code in enumerate(shown):
        bars = [(start, max(end - start, least)) for start, end in spans(hours, [state == code for state in states])]
        panel.broken_barh(bars, (row - 0.3, 0.6), color=INK if STATES[code] in ("fading", "tripped") else GREY, lw=0)
    panel.set_yticks(range(len(shown)), [STATES[code] for code in shown])
    panel.set_ylim(len(shown) - 0.4, -0.6)


def spans(hours: Sequence[float], held: Sequence[bool]) -> list[tuple[float, float]]:
    """(start, end) in hours of each stretch in which something held."""
    found: list[tuple[float, float]] = []
    start: float | None = None
    for hour, on in zip(hours, held, strict=True):
        if on and start is None:
            start = hour
        elif not on and start is not None:
            found.append((start, hour))
            start = None
    if start is not None:
        found.append((start, hours[-1]))
    return found


def save(trace: Any, low: float, high: float, title: str, file: Path) -> None:
    """Draw a trace into a PNG file. RuntimeError without matplotlib, OSError when the file cannot be written."""
    figure(trace, low, high, title).savefig(file, format="png")


def compare(traces: Sequence[Any], names: Sequence[str], low: float, high: float, title: str, file: Path) -> None:
    """Draw the same cook under several controllers or settings into a PNG file; errors as `save`. low, high: C."""
    try:
        from matplotlib.figure import Figure
    except ImportError as missing:
        raise RuntimeError(
            "Drawing a cook needs matplotlib, which is not installed: run `pip install matplotlib` in this environment."
        ) from missing
    drawn = Figure(figsize=(11.0, 2.2 + 1.5 * len(traces)), dpi=120, layout="constrained")
    rows = drawn.subplots(len(traces), 1, sharex=True, sharey=True, squeeze=False)[:, 0]
    rows[0].set_title(title, loc="left", fontsize=10, color=INK)
    for panel, trace, name in zip(rows, traces, names, strict=True):
        pit = list(trace[kernel.T_PIT :: kernel.TRACE])
        hours = [(k + 1) * kernel.PERIOD_S / 3600.0 for k in range(len(pit))]
        panel.axhspan(low, high, color=SHADE, lw=0)
        for start, end in spans(hours, [lid > 0.0 for lid in trace[kernel.T_OPEN :: kernel.TRACE]]):
            panel.axvspan(start, max(end, start + 0.01), color=PALE, lw=0)
        panel.plot(hours, pit, color=INK, lw=0.9)
        panel.text(0.01, 0.06, name, transform=panel.transAxes, fontsize=9, color=INK)
        panel.set_ylim(low - 45.0, high + 20.0)
        panel.set_xlim(0.0, hours[-1])
        panel.tick_params(colors=GREY, labelsize=8)
        panel.set_ylabel("C", color=GREY, rotation=0, labelpad=10)
    rows[-1].set_xlabel("hours since the fire was lit; shade: band and lids", color=GREY, fontsize=9)
    drawn.savefig(file, format="png")
