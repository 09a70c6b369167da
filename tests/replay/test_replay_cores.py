"""Cooks recorded by another core run again with that one's source, or as a what-if with today's."""

from __future__ import annotations

import re
import sys

import pytest
from replay_kit import Night, another_core, fill, quiet
from tuyere import staging
from tuyere.logbook import Logbook
from tuyere.logbook.errors import NoSuchEntry
from tuyere.replay.cores import NAMED, BadCore, Cores, kept, today


def slower(text: str) -> str:
    """One constant of the law changed: a whole number that stands alone at the file's outermost level."""
    found = re.search(r"^(SLOPE_MS|[A-Z_]+) = (\d{3,})\b", text, re.M)
    assert found
    return text.replace(found[0], f"{found[1]} = {int(found[2]) * 2}")


def richer(text: str) -> str:
    """One more input, output, and memory in the field table, each with a default of its own."""
    row = '("{0}", "C", 10, 0, 1000, {1}, "{0} of another day")'
    for table, name, default in (("NOW", "sun", 7), ("OUT", "moon", 8), ("MEMORY", "star", 9)):
        text += f"\n{table} = {table} + ({row.format(name, default)},)\n"
    return text


def run_with(folder, name: str, change) -> Night:
    """A night of the twin with a changed core."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(staging, "HEARTH", another_core(folder, name, change))
        return quiet(0.4)


@pytest.fixture(scope="session")
def other(tmp_path_factory) -> Night:
    """A night whose core has one other constant than today's."""
    return run_with(tmp_path_factory.mktemp("other"), "law.py", slower)


@pytest.fixture(scope="session")
def rich(tmp_path_factory) -> Night:
    """A night whose core has fields that today's has not."""
    return run_with(tmp_path_factory.mktemp("rich"), "fields.py", richer)


def test_a_night_runs_again_with_its_own_core(other: Night, rerun) -> None:
    assert other.hellos[0]["core"] == other.core != staging.core_hash()
    found = rerun(other, fast=None)
    assert found.equal and found.replayed == found.cycles > 700 and not found.what_if
    (ran,) = found.cores
    assert (ran.core, ran.recorded) == (other.core[:NAMED], other.core[:NAMED])
    assert not ran.today and not ran.compiled


@pytest.mark.parametrize("fast", [False, None])
def test_todays_core_decides_otherwise_and_that_is_a_what_if(other: Night, rerun, fast) -> None:
    found = rerun(other, with_today=True, fast=fast)
    assert found.what_if and not found.equal and 0 < found.different < found.replayed == found.cycles
    assert found.first.part == "out" and found.first.recorded != found.first.replayed
    (ran,) = found.cores
    assert (ran.core, ran.recorded, ran.today) == (today().name, other.core[:NAMED], True)


def test_without_its_source_a_night_waits_and_says_for_what(other: Night, rerun) -> None:
    found = rerun(other, sources=False)
    assert not found.equal and found.replayed == 0 and found.missing_cores == [other.core[:NAMED]]
    assert found.passed[0].cycles == found.cycles and other.core[:NAMED] in found.passed[0].why


def test_todays_core_on_its_own_night_is_no_what_if(hour: Night, rerun) -> None:
    found = rerun(hour, with_today=True, sources=False)
    assert found.equal and not found.what_if


def test_a_core_with_other_fields_is_read_by_its_own_table(rich: Night, rerun) -> None:
    assert [row[0] for row in rich.hellos[0]["layout"]["out"]][-1] == "moon"
    assert rerun(rich).equal


@pytest.mark.parametrize("fast", [False, None])
def test_a_what_if_leaves_out_what_todays_core_does_not_know(rich: Night, rerun, fast) -> None:
    found = rerun(rich, with_today=True, fast=fast)
    assert found.what_if and found.equal and found.replayed == found.cycles


def test_a_field_in_another_unit_is_not_mixed_up(rich: Night, rerun) -> None:
    hello = {**rich.hellos[0], "layout": {**rich.hellos[0]["layout"]}}
    hello["layout"]["now"] = [[name, code, count, scale * 10] for name, code, count, scale in hello["layout"]["now"]]
    night = Night([hello], rich.records, rich.files)
    for with_today in (False, True):
        found = rerun(night, with_today=with_today)
        assert found.replayed == 0 and "in the same unit" in found.passed[0].why


def test_a_layout_that_is_not_its_cores_is_said(hour: Night, other: Night, rerun) -> None:
    hello = {**hour.hellos[0], "layout": {**hour.hellos[0]["layout"]}}
    hello["layout"]["out"] = [["blower", *row[1:]] if row[0] == "fan" else row for row in hello["layout"]["out"]]
    found = rerun(Night([hello], hour.records, hour.files))
    assert found.replayed == 0 and "other fields than the core has (out: blower, fan)" in found.passed[0].why


def test_a_source_that_is_not_what_its_hash_says_is_not_run(other: Night) -> None:
    files = {**other.files, "law.py": other.files["law.py"] + "\n"}
    with pytest.raises(BadCore, match="is not what its hash says"):
        kept(other.core, files)


def test_a_source_that_does_not_run_is_said_and_leaves_nothing_behind(other: Night) -> None:
    files = {**other.files, "law.py": "def (:\n"}
    hash = staging.core_hash(files)
    for _ in range(2):
        with pytest.raises(BadCore, match="does not run here"):
            kept(hash, files)
    assert not any(hash in name for name in sys.modules)
    empty = {"__init__.py": ""}
    with pytest.raises(BadCore, match="is no core as this program knows them"):
        kept(staging.core_hash(empty), empty)


def test_cores_stand_side_by_side(other: Night) -> None:
    one = kept(other.core, other.files)
    assert one.cycle is not today().cycle and one.module("law") is not today().module("law")
    assert one.fields.__name__.startswith("tuyere_core_") and today().fields.__name__ == "hearth.core.fields"


def test_a_core_is_found_by_the_beginning_of_its_hash(tmp_path, other: Night) -> None:
    fill(tmp_path / "logbook.sqlite", other)
    with Logbook(tmp_path / "logbook.sqlite", owner=False) as book:
        assert book.cores.named(other.core[:NAMED]) == (other.core, other.files)
        for beginning in ("", "0" * NAMED, other.core[: NAMED - 1] + "g"):
            with pytest.raises(NoSuchEntry):
                book.cores.named(beginning)
        cores = Cores(book, False)
        assert cores.named(today().name) is today()
        assert cores.named(other.core[:NAMED]) is cores.named(other.core[:NAMED])
        assert "no source of core" in cores.named("0" * NAMED)
