"""Both settings on paper: in band for every pit that explains the night, and how those pits answer their fan."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from tuyere.tune.cooker import Cooker
from tuyere.tune.search import Found

INK, GREY, SHADE = "#1c1c1c", "#6e6e6e", "#d9d9d9"
LONG_S = 2400.0


def figure(cooker: Cooker, found: Found) -> Any:
    """A matplotlib figure. RuntimeError where matplotlib is missing."""
    try:
        from matplotlib.figure import Figure
    except ImportError as missing:
        raise RuntimeError(
            "Drawing needs matplotlib, which is not installed: run `pip install matplotlib` in this environment."
        ) from missing
    drawn = Figure(figsize=(10.0, 4.2), dpi=120, layout="constrained")
    left, right = drawn.subplots(1, 2, width_ratios=(1.0, 1.4))
    for before, after in zip(found.before.by_member, found.after.by_member, strict=True):
        left.plot([0, 1], [100.0 * before, 100.0 * after], color=GREY, lw=0.8, marker="o", ms=3.5)
    mean = [100.0 * found.before.in_band, 100.0 * found.after.in_band]
    left.plot([0, 1], mean, color=INK, lw=2.2, marker="o", ms=6)
    left.set_xticks([0, 1], ["now", "proposed" if found.better else "best found"])
    left.set_xlim(-0.3, 1.3)
    left.set_title("in band, % of the time; a line a pit", loc="left", fontsize=9, color=INK)
    answers = [one for member in cooker.members for one in member.answers[:1]]
    weights = np.array([member.weight for member in cooker.members if member.answers])
    if answers:
        count = int(LONG_S / answers[0].step_s)
        rises = np.array([one.rise[:count] * 0.1 for one in answers])
        minutes = (np.arange(count) + 1.0) * answers[0].step_s / 60.0
        right.fill_between(minutes, *np.quantile(rises, (0.1, 0.9), axis=0), color=SHADE, lw=0)
        right.plot(minutes, weights @ rises / weights.sum(), color=INK, lw=1.6)
    right.set_title("what a tenth more fan does to the pit, C; shade: 10 to 90 %", loc="left", fontsize=9, color=INK)
    right.set_xlabel("minutes", color=GREY, fontsize=9)
    for panel in (left, right):
        panel.tick_params(colors=GREY, labelsize=8)
        for side in ("top", "right"):
            panel.spines[side].set_visible(False)
    return drawn


def save(cooker: Cooker, found: Found, file: Path) -> None:
    """Draw into a PNG file. RuntimeError without matplotlib, OSError where the file cannot be written."""
    figure(cooker, found).savefig(file, format="png")
