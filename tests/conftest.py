"""A data folder of its own for each run, and how hypothesis draws: the same examples on every machine, or new ones.

`fixed`, the default, draws the same examples each time, so that a first run of the tests depends on nothing but the
code. `drawn` draws new ones from the seed it is given; `.ci/run` runs it with several seeds and prints them:

    pytest -m hypothesis --hypothesis-profile=drawn --hypothesis-seed=N

An example that fails there goes into the test as an `@example`, with a comment on what it showed. No profile has a
deadline: tests don't measure time.
"""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

# One process a core runs the tests; the threads that numpy's OpenBLAS would start beside it only take its time.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

settings.register_profile("fixed", derandomize=True, deadline=None)
settings.register_profile("drawn", max_examples=300, deadline=None, print_blob=True)
settings.load_profile("fixed")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "first: compiles what others need, or is long: runs before all that is not")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """In a fresh clone two processes would compile the same at once; and a long test at the end leaves one idle."""
    items.sort(key=lambda item: item.get_closest_marker("first") is None)


@pytest.fixture(scope="session", autouse=True)
def _no_logbook_of_the_user(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Tests name their own data folders; one that forgets gets an empty one, not the user's."""
    os.environ["TUYERE_HOME"] = str(tmp_path_factory.mktemp("home"))
