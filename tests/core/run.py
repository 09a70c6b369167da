"""Run the portable cases under any interpreter: `python run.py`, `micropython run.py`.

The list below is the statement of what is portable. Prints a line a case: ok or FAIL, module, case.
"""

import sys

CASES = (
    "case_law", "case_reach", "case_learned", "case_fire", "case_opened", "case_doubt", "case_cold_meat",
    "case_held_back", "case_guard", "case_faults", "case_resume", "case_programme", "case_relied", "case_witness",
    "case_experiment", "case_carried", "case_edges", "case_wild",
)  # fmt: skip


def cases(module):
    """[(name, function), ...] of a module's cases."""
    found = __import__("cases." + module, None, None, ["*"])
    return [(name, getattr(found, name)) for name in sorted(dir(found)) if name.startswith("test_")]


def main(modules=CASES, first=0, most=1000):
    """Run at most so many cases of each module from the first on; returns how many failed."""
    failed = 0
    for module in modules:
        for name, case in cases(module)[first : first + most]:
            try:
                case()
                print("ok", module, name)
            except Exception as problem:
                failed += 1
                print("FAIL", module, name, repr(problem))
                if hasattr(sys, "print_exception"):
                    sys.print_exception(problem, sys.stdout)
    return failed


if __name__ == "__main__":
    sys.exit(1 if main() else 0)
