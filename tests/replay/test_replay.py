"""Cooks of the real twin run again: equal as they are, and whatever is changed in them is found and named."""

from __future__ import annotations

import itertools
import struct
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest
from hearth.core import fields
from hearth.link import messages
from replay_kit import Night, cycles, head, read, states, tampered
from tuyere.sim import compiled
from tuyere.sim.twin import interpreter

SPEEDS = ("seconds", "reading", "preparing", "speed", "cores")


def test_the_night_has_what_it_is_to_show(night: Night) -> None:
    """Restarts, a trip, every order of the core, a phase that ended by time: else the tests below show little."""
    assert night.interpreter == interpreter()[1]
    assert len({hello["boot"] for hello in night.hellos}) == 3
    every = [data for data in night.records if data[0] == messages.CYCLE]
    orders = {read(night, data, "now", "order") for data in every}
    assert orders >= {
        fields.ORDER_START, fields.ORDER_BAND, fields.ORDER_FAN, fields.ORDER_PHASE, fields.ORDER_OPENED,
        fields.ORDER_ACKNOWLEDGE,
    }  # fmt: skip
    assert {read(night, data, "out", "trip") for data in every} == {fields.NO_TRIP, fields.TRIP_PROBE}
    assert {read(night, data, "out", "answer") for data in every} >= {fields.ACCEPTED, fields.STANDS_TRIPPED}
    assert {read(night, data, "out", "phase") for data in every} == {0, 1, 2}
    assert max(head(data)[4] for data in every) == 2  # other settings, and their number outlives a power cut


@pytest.mark.parametrize("fast", [False, True])
def test_a_night_with_everything_in_it_is_equal(night: Night, rerun, fast: bool) -> None:
    if fast:
        pytest.importorskip("numba")
    found = rerun(night, fast=fast)
    assert found.equal and found.first is None and not found.what_if
    assert found.replayed == found.cycles == sum(data[0] == messages.CYCLE for data in night.records)
    assert found.states == len(night.records) - found.cycles
    assert found.restarts == 2 and [boot.replayed for boot in found.boots] == [boot.cycles for boot in found.boots]
    assert not found.gaps and not found.passed
    # each boot's first state is a start, the others are either compared or made anew from the order
    assert found.compared + found.changes == found.states - 3
    assert found.changes == found.changes_followed == 3  # a programme and two times settings
    assert found.compared >= 4  # phase by time, band, phase by order, hourly
    assert [(ran.today, ran.compiled) for ran in found.cores] == [(True, fast)]


def test_compiled_and_plain_say_the_same_of_any_night(night: Night, rerun) -> None:
    pytest.importorskip("numba")
    middle = cycles(night, 1)[900]
    late = states(night, messages.HOURLY, 1)[0]
    hole = night.with_records(night.records[:200] + night.records[203:])
    for one in (night, tampered(night, middle, "now", "pit", 700), tampered(night, late, "memory", "last", 1), hole):
        plain, fast = (msgspec.to_builtins(rerun(one, fast=fast)) for fast in (False, True))
        for name in SPEEDS:
            del plain[name], fast[name]
        assert plain == fast


def test_without_numba_it_runs_plain(hour: Night, rerun, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiled, "available", lambda: False)
    found = rerun(hour, fast=None)
    assert found.equal and [ran.compiled for ran in found.cores] == [False]


@pytest.mark.parametrize("name", [row[0] for row in fields.OUT])
def test_any_output_that_was_changed_is_named(hour: Night, rerun, name: str) -> None:
    index = cycles(hour)[1000]
    was = read(hour, hour.records[index], "out", name)
    change = 1 if was == 0 else -1
    found = rerun(tampered(hour, index, "out", name, change))
    first = found.first
    assert not found.equal and found.different == 1 and found.states_different == 0
    assert (first.part, first.field, first.sequence) == ("out", name, head(hour.records[index])[2])
    assert first.at == head(hour.records[index])[3] and first.also == []
    row = next(row for row in fields.OUT if row[0] == name)
    assert first.help == row[6] and first.recorded != first.replayed
    if row[1] == "code":
        assert {type(first.recorded), type(first.replayed)} <= {str, int} and first.unit == ""
    else:
        assert first.replayed == pytest.approx(was / row[2]) and first.unit == row[1]
        assert first.recorded == pytest.approx((was + change) / row[2])


def test_codes_are_named(hour: Night, rerun) -> None:
    index = cycles(hour)[1000]
    was = read(hour, hour.records[index], "out", "state")
    change = fields.OPENED - was
    first = rerun(tampered(hour, index, "out", "state", change)).first
    assert (first.recorded, first.replayed) == ("opened", {2: "climbing", 3: "holding"}[was])


def test_the_first_of_several_differences_is_named_and_all_are_counted(hour: Night, rerun) -> None:
    early, late = cycles(hour)[500], cycles(hour)[1500]
    found = rerun(tampered(tampered(hour, late, "out", "fan", -1), early, "out", "aim", -1))
    assert found.first.field == "aim" and found.first.sequence == head(hour.records[early])[2]
    assert found.different == 2


def test_an_input_that_was_changed_is_found_where_it_tells(hour: Night, rerun) -> None:
    index = cycles(hour)[1700]
    found = rerun(tampered(hour, index, "now", "pit", 500))
    sequence = head(hour.records[index])[2]
    assert not found.equal and found.first.part == "out"
    assert sequence <= found.first.sequence <= sequence + 5
    assert found.states_different == 1  # it is remembered until the hourly state record
    assert found.different < found.replayed - 1700  # and forgotten there: every state record is a new start


def test_a_memory_that_was_changed_is_found(night: Night, rerun) -> None:
    hourly = states(night, messages.HOURLY, 1)[0]
    found = rerun(tampered(night, hourly, "memory", "trips", 1))
    first = found.first
    assert (first.part, first.field) == ("memory", "trips") and first.recorded == first.replayed + 1
    assert first.sequence == head(night.records[hourly])[2] and found.states_different == 1


def test_the_state_after_a_phase_by_time_is_compared_too(night: Night, rerun) -> None:
    changed = states(night, messages.CHANGED)
    by_time = next(i for i in changed if read(night, night.records[i], "memory", "phase") == 1)
    assert read(night, night.records[by_time - 1], "now", "order") == fields.NO_ORDER
    found = rerun(tampered(night, by_time, "memory", "smooth", -1))
    assert (found.first.part, found.first.field) == ("memory", "smooth")
    assert found.first.recorded == pytest.approx(found.first.replayed - 1 / 1600)


def test_a_change_that_the_core_would_not_make_is_taken_as_recorded_and_said(night: Night, rerun) -> None:
    programme = states(night, messages.CHANGED)[0]
    found = rerun(tampered(night, programme, "memory", "trips", 3))
    assert (found.changes, found.changes_followed) == (3, 2)
    # from there the three trips too many are carried along, to the next state record that is compared
    assert found.first.field == "trips" and found.first.replayed == found.first.recorded + 3


def test_settings_in_a_state_record_must_be_those_in_force(night: Night, rerun) -> None:
    hourly = states(night, messages.HOURLY, 1)[0]
    first = rerun(tampered(night, hourly, "settings", "pit_limit", 100)).first
    assert (first.part, first.field, first.unit) == ("settings", "pit_limit", "C")
    assert first.recorded == first.replayed + 1.0


def test_a_cycle_under_other_settings_than_the_state_record_says_so(hour: Night, rerun) -> None:
    index = cycles(hour)[40]
    data = hour.records[index]
    data = data[: messages.HEAD_SIZE - 2] + struct.pack("<H", 5) + data[messages.HEAD_SIZE :]
    found = rerun(hour.with_records([*hour.records[:index], data, *hour.records[index + 1 :]]))
    first = found.first
    assert not found.equal and (first.part, first.recorded, first.replayed) == ("number", 5, 0)
    assert first.sequence == head(data)[2] and "settings" in first.help


@pytest.mark.parametrize("cause", ["", "the ring was full"])
def test_behind_a_missing_record_the_replay_waits_for_the_next_state(hour: Night, rerun, cause: str) -> None:
    index = cycles(hour)[600]
    hourly = states(hour, messages.HOURLY)[0]
    found = rerun(hour.with_records(hour.records[:index] + hour.records[index + 2 :]), gaps=cause)
    missing = head(hour.records[index])[2]
    assert [(gap.first, gap.last, gap.cause) for gap in found.gaps] == [(missing, missing + 1, cause)]
    (passed,) = found.passed
    assert (passed.first, passed.cycles) == (missing + 2, hourly - index - 2)
    assert f"{missing} to {missing + 1} are missing" in passed.why
    assert found.replayed + passed.cycles == found.cycles and found.replayed > 700
    states_of_hour = len(hour.records) - len(cycles(hour))
    assert found.equal and found.compared == states_of_hour - 2  # all but the start and the one behind the hole


def test_a_missing_state_record_is_a_hole_like_any_other(night: Night, rerun) -> None:
    settings = next(i for i in states(night, messages.CHANGED) if head(night.records[i])[4] == 1)
    found = rerun(night.with_records(night.records[:settings] + night.records[settings + 1 :]))
    assert found.equal and found.passed[0].first == head(night.records[settings])[2] + 1
    assert found.changes == 2


def test_without_any_state_record_nothing_runs(hour: Night, rerun) -> None:
    found = rerun(hour.with_records(hour.records[1:50]))
    assert not found.equal and found.replayed == 0 and "no state record" in found.passed[0].why


def test_a_cook_that_begins_later_is_led_up_to(night: Night, rerun) -> None:
    before = cycles(night)[1000]
    start = max(i for i in range(before) if night.records[i][0] == messages.STATE)
    assert 0 < start < before - 1
    found = rerun(night, before=before)
    assert found.equal and found.lead == before - start - 1
    assert found.boots[0].first == head(night.records[start])[2]
    assert found.replayed == found.cycles == sum(data[0] == messages.CYCLE for data in night.records[start:])


def test_a_record_that_cannot_be_read_is_a_hole(hour: Night, rerun) -> None:
    index = cycles(hour)[100]
    short = hour.with_records([*hour.records[:index], hour.records[index][:-1], *hour.records[index + 1 :]])
    found = rerun(short)
    assert found.equal and found.passed[0].first == head(hour.records[index])[2] + 1


def test_cycles_are_in_the_order_of_their_sequence_whenever_they_came(hour: Night, rerun) -> None:
    shuffled = hour.records[::2] + hour.records[1::2]
    assert any(a > b for a, b in itertools.pairwise(head(data)[2] for data in shuffled))
    assert rerun(hour.with_records(shuffled)).equal


def test_the_cache_of_the_compiled_loop_bears_the_hash_of_all_it_is_made_of(tmp_path, monkeypatch) -> None:
    pytest.importorskip("numba")
    from tuyere.replay import fast

    last = fast.MODULES[-1]
    before = compiled.keys(fast.MODULES)[last]
    for name in ("tuyere.replay.again", "hearth.core.law", "hearth.core.fields"):
        copy = tmp_path / "changed.py"
        copy.write_bytes(b"# changed\n" + Path(sys.modules[name].__file__).read_bytes())
        with monkeypatch.context() as patch:
            patch.setattr(sys.modules[name], "__file__", str(copy))
            assert compiled.keys(fast.MODULES)[last] != before, name
    assert compiled.keys(fast.MODULES)[last] == before


def test_the_plain_way_needs_neither_numpy_nor_numba() -> None:
    code = "import sys, tuyere.replay.rerun, tuyere.cli.replay; print({'numpy', 'numba'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"
