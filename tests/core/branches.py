"""Writes `tests/core/branches.txt`: cases of the law that together take every line and branch that all of them take.

Run it with `python tests/core/branches.py` (a minute on a quiet machine) when `test_branches.py` has become slow. Where
the cases on the page leave something out, that test runs all the others, too. The page begins with the case that takes
most in its time; each further one takes most of what is still left.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

PAGE = Path(__file__).with_name("branches.txt")


def measured() -> dict[str, tuple[float, set[tuple[str, int, int]]]]:
    """Each case by module and name: seconds of the processor under the tracer, steps from line to line."""
    import coverage
    import run

    found = {}
    for module in run.CASES:
        for name, case in run.cases(module):
            tracer = coverage.Coverage(data_file=None, config_file=False, branch=True, include=["*/hearth/core/*"])
            tracer.start()
            began = time.process_time()
            case()
            took = time.process_time() - began
            tracer.stop()
            data = tracer.get_data()
            steps = {(file, *step) for file in data.measured_files() for step in data.arcs(file) or ()}
            found[f"{module} {name}"] = (took + 0.001, steps)
    return found


def chosen(cases: dict[str, tuple[float, set[tuple[str, int, int]]]]) -> list[str]:
    """Cases that take every step, those that take most of what is left in their time first."""
    left: set[tuple[str, int, int]] = set().union(*(steps for _, steps in cases.values()))
    names = []
    while left:
        best = max(cases, key=lambda name: len(cases[name][1] & left) / cases[name][0])
        names.append(best)
        left -= cases[best][1]
    return names


if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[2] / "firmware"), str(Path(__file__).parent)]
    PAGE.write_text("\n".join(chosen(measured())) + "\n", encoding="utf-8")
