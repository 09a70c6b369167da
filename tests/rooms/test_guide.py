"""What the guides name is there: every file, and in it every function, class or table; DEVELOPERS.md stays short."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
GUIDE = ROOT / "DEVELOPERS.md"
PAGES = [
    GUIDE,
    *(ROOT / room / "README.md" for room in (
        "firmware", "firmware/hearth/core", "host/tuyere/meat", "host/tuyere/forecast", "host/tuyere/cook",
        "host/tuyere/sim",
        "host/tuyere/logbook", "host/tuyere/service", "host/tuyere/web",
        "tests/bench",
    )),
]  # fmt: skip
ROOMS = (ROOT, ROOT / "host/tuyere", ROOT / "firmware/hearth")
FILE = re.compile(r"[\w.-]+(?:/[\w.-]+)*\.(?:py|pyi|md|toml|sh)")


def spans(page: Path) -> list[str]:
    """What stands in backticks, code blocks left out."""
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.S)
    return [" ".join(span.split()) for span in re.findall(r"`([^`]+)`", text)]


def named(page: Path) -> Iterator[tuple[str, str]]:
    """(file or folder, name in it or "")."""
    for span in spans(page):
        file, _, name = span.partition(": ")
        if FILE.fullmatch(file) or re.fullmatch(r"(?:\w+/)+\w*", file):
            yield file, name


def found(file: str, page: Path) -> Path | None:
    """Where it lies: beside the page, or from a root that the guide speaks from."""
    places = [place / file for place in (page.parent, *ROOMS)]
    return next((path for path in places if path.exists()), None)


@cache
def names(file: Path) -> frozenset[str]:
    """What a Python file defines: 'cycle', 'Loop', 'Loop.step', 'SETTINGS'."""
    out: set[str] = set()

    def define(body: list[ast.stmt], above: str) -> None:
        for node in body:
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
                out.add(above + node.name)
                if isinstance(node, ast.ClassDef):
                    define(node.body, above + node.name + ".")
            elif isinstance(node, ast.Assign | ast.AnnAssign):
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                out.update(above + leaf.id for one in targets for leaf in ast.walk(one) if isinstance(leaf, ast.Name))

    define(ast.parse(file.read_text(encoding="utf-8")).body, "")
    return frozenset(out)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.parent.name)
def test_every_file_and_name_in_a_guide_exists(page: Path) -> None:
    pairs = list(named(page))
    assert len(pairs) > (50 if page == GUIDE else 0)
    for file, name in pairs:
        path = found(file, page)
        assert path is not None, f"{page.name} names {file}, which is not there"
        if name:
            assert name in names(path), f"{page.name} names {name} in {file}, which has none"


@pytest.mark.parametrize("page", [*PAGES, ROOT / "README.md"], ids=lambda page: page.parent.name + "/" + page.name)
def test_links_lead_to_files(page: Path) -> None:
    for link in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
        assert "://" in link or (page.parent / link).exists(), link


def test_the_guide_is_short_and_leads_to_every_room_s_page() -> None:
    text = GUIDE.read_text(encoding="utf-8")
    assert len(text.split()) <= 1500
    for page in PAGES[1:]:
        assert f"({page.relative_to(ROOT).as_posix()})" in text


def test_every_room_is_in_the_house() -> None:
    house = GUIDE.read_text(encoding="utf-8").split("```")[1]
    _, _, host = house.partition("host/tuyere/")
    for folder in (ROOT / "host/tuyere").iterdir():
        if (folder / "__init__.py").exists():
            assert f"    {folder.name}/ " in host, folder.name


def test_a_name_that_is_gone_is_noticed(tmp_path: Path) -> None:
    page = tmp_path / "README.md"
    page.write_text("`core/decide.py: cycle`, `core/gone.py`, `a sentence`, `core/decide.py: gone`, `tests/nowhere`")
    assert list(named(page)) == [
        ("core/decide.py", "cycle"), ("core/gone.py", ""), ("core/decide.py", "gone"), ("tests/nowhere", ""),
    ]  # fmt: skip
    assert found("core/gone.py", page) is None and found("tests/nowhere", page) is None
    path = found("core/decide.py", page)
    assert path is not None and "cycle" in names(path) and "gone" not in names(path)
