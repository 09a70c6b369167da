"""Draw host/pictures/plan.png: the page that README's plan command prints, as it prints it today.

python tests/tools/plan_picture.py
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import matplotlib

matplotlib.use("Agg")
from matplotlib import pyplot as plt

ROOT = Path(__file__).resolve().parents[2]
COMMAND = ["plan", "--guests", "40", "--serve", "Sat 18:00", "--oven", "--unit", "F", "--sleep", "00:00-05:00",
           "--name", "Village hall supper"]  # fmt: skip
TYPED = ["$ tuyere plan --guests 40 --serve \"Sat 18:00\" --oven --unit F \\",
         "    --sleep 00:00-05:00 --name \"Village hall supper\""]  # fmt: skip
SIZE, LINE = 9.5, 0.19  # points, inches


def main() -> None:
    """Run the command and draw what it printed."""
    printed = subprocess.run(
        [sys.executable, "-m", "tuyere", *COMMAND], capture_output=True, text=True, check=True, cwd=ROOT
    ).stdout.splitlines()
    shown = [*TYPED, *printed]
    figure = plt.figure(figsize=(7.4, LINE * (len(shown) + 2)), facecolor="#f7f5f0")
    for i, line in enumerate(shown):
        heading = line.isupper() and not line.startswith(" ")
        figure.text(
            0.03, 1.0 - (i + 1.5) / (len(shown) + 2), line, family="DejaVu Sans Mono", size=SIZE,
            color="#777777" if i < len(TYPED) else "#1c1c1c", weight="bold" if heading else "normal",
        )  # fmt: skip
    figure.savefig(ROOT / "host" / "pictures" / "plan.png", dpi=105)


if __name__ == "__main__":
    main()
