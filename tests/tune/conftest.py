"""Lets the tests here import their kit, that of the replay, and the strangers, which live beside the benches."""

import random
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "replay"))
sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

from replay_kit import Host, fill
from replay_kit import Night as Recorded
from tuyere import paths, staging
from tuyere.sim.outside import Outside
from tuyere.sim.pseudo_terminal import Line
from tuyere.sim.twin import Twin

HOURS, EXPERIMENT_H = 4.0, 3.2


@pytest.fixture(scope="session")
def twin_night() -> Recorded:
    """Four hours of a drum on the twin's MicroPython; after three, an experiment."""
    twin = Twin(Outside("drum", 5, hours=14.0), Line(), speed=0, boots=random.Random(3))
    night = Recorded(files=staging.core_files(), interpreter=twin.interpreter)
    host = Host(twin.line.path, night)
    try:
        host.order("start")
        twin.run(until_ms=int(EXPERIMENT_H * 3600_000), stop=host.look)
        host.order("experiment", step=600, seconds=2400)
        twin.run(until_ms=int(HOURS * 3600_000), stop=host.look)
    finally:
        host.close()
        twin.close()
    assert [answer["why"] for answer in host.answers] == ["accepted", "accepted"]
    return night


@pytest.fixture(scope="session")
def home(twin_night: Recorded, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with that night in its logbook."""
    folder = tmp_path_factory.mktemp("tuned")
    fill(paths.logbook_path(folder), twin_night)
    return folder
