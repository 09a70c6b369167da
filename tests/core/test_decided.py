"""What the law decides in the portable cases is as the page says. A change shows there in which of them it matters."""

from __future__ import annotations

import json

import decided
import pytest
import run

PAGE: dict[str, dict[str, str]] = json.loads(decided.PAGE.read_text(encoding="utf-8"))


@pytest.mark.parametrize("module", PAGE)
def test_the_law_decides_as_written(module: str) -> None:
    was = PAGE[module]
    now = decided.nights() if module == decided.NIGHTS else decided.decided(module, was)
    other = [f"{name}: was {was[name]}, is {now.get(name, 'gone')}" for name in was if now.get(name) != was[name]]
    assert not other, "\n".join(["look at each; if they are meant: `python tests/core/decided.py`", *other])


def test_every_case_of_the_law_is_on_the_page() -> None:
    """A case without a cycle, or a long one, may be missing; a new module may not."""
    assert [module for module in run.CASES if module in PAGE] == [module for module in PAGE if module != decided.NIGHTS]
    assert sum(map(len, PAGE.values())) > 0.7 * sum(len(run.cases(module)) for module in run.CASES)
