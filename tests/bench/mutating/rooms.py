"""The rooms of the source, and the tests that should notice a change there."""

from __future__ import annotations

from typing import NamedTuple

HOST, HEARTH = "host/tuyere", "firmware/hearth"


class Room(NamedTuple):
    """What is changed, and by which tests it should be noticed. `plain`: without numba, which would compile for
    minutes after a change of the law, the meat or the pit."""

    source: tuple[str, ...]
    tests: tuple[str, ...]
    plain: bool = False


ALL = ("tests/identities", "tests/cli/test_reference.py")  # what is written down of all rooms
STAGED = ("tests/firmware/test_staged.py", "tests/firmware/test_declared.py")  # and of the firmware
ON_THIS_PYTHON = "tests/core/test_runtimes.py::test_on_this_python"


def own(name: str, *more: str) -> Room:
    """A room of the host with tests of its name."""
    return Room((f"{HOST}/{name}",), (f"tests/{name}", *more))


ROOMS = {
    "core": Room(
        (f"{HEARTH}/core",),
        (ON_THIS_PYTHON, "tests/core/test_edges.py", "tests/core/test_decided.py", *STAGED, *ALL),
        plain=True,
    ),
    "firmware": Room(
        tuple(f"{HEARTH}/{name}" for name in ("drivers", "link", "store", "board.py", "loop.py", "order_checks.py")),
        ("tests/firmware", "tests/link", "tests/hardware/test_pins.py", ON_THIS_PYTHON, *ALL),
        plain=True,
    ),
    "link": own("link", *ALL),
    "logbook": own("logbook", *ALL),
    "forecast": own("forecast", *ALL),
    "meat": own("meat", "tests/reference")._replace(plain=True),
    "cook": own("cook", *ALL),
    "plan": own("plan"),
    "tune": own("tune"),
    "replay": own("replay"),
    "engine": Room((f"{HOST}/engine", f"{HOST}/client"), ("tests/engine", *ALL)),
    "tui": own("tui"),
    "web": own("web"),
    "chart": own("chart"),
    "text": own("text"),
    "board": own("board"),
    "service": own("service"),
    "report": own("report"),
    "sim": own("sim")._replace(plain=True),
    "cli": Room((f"{HOST}/cli",), ("tests/cli", "tests/report", "tests/plan/test_plan_command.py")),
    "hardware": Room(("hardware",), ("tests/hardware",)),
}
SMOKE = Room((f"{HOST}/text/templates.py",), ("tests/text/test_text.py",))
