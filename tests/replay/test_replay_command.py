"""`tuyere replay`: what it prints, and its exit codes."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner
from replay_kit import BOARD, Night, cycles, fill, head, read, tampered
from tuyere import paths
from tuyere.cli import replay_pit
from tuyere.cli.main import main
from tuyere.logbook import Logbook


def run(*args: str):
    return CliRunner().invoke(main, ["replay", *args])


@pytest.fixture
def store(tmp_path, monkeypatch):
    """Makes a night the user's logbook."""
    monkeypatch.setenv("TUYERE_HOME", str(tmp_path))
    monkeypatch.setattr("tuyere.cli.working.PATIENCE", float("inf"))  # a slow machine would say what it does
    return lambda night, **how: fill(paths.logbook_path(tmp_path), night, **how)


def test_an_equal_night_in_words(night: Night, store) -> None:
    cook = store(night)
    done = run(str(cook), "--plain")
    assert done.exit_code == 0 and done.stderr == ""
    count = sum(data[0] == 1 for data in night.records)
    assert f"cook {cook}: a night (simulated)" in done.stdout
    assert f"{count:,} cycles and {len(night.records) - count} state records stored" in done.stdout
    assert "3 boots, so 2 restarts" in done.stdout and done.stdout.count("all run") == 3
    assert "no record is missing" in done.stdout and "cycles/s" in done.stdout
    assert "3 changes of settings or programme between cycles, made by the core just so" in done.stdout
    assert f"\nequal: every output of {count:,} cycles and the memory at " in done.stdout


def test_a_difference_in_words_and_units(hour: Night, store) -> None:
    index = cycles(hour)[1000]
    was = read(hour, hour.records[index], "out", "aim") / 100
    store(tampered(hour, index, "out", "aim", -50))
    done = run("last", "--plain")
    assert done.exit_code == 1 and done.stderr == ""
    later = len(hour.records) - len(cycles(hour)) - 1  # all state records but the start
    of = f"0 of {later} state record{'s' if later != 1 else ''} compared"
    assert f"\ndifferent: 1 of {len(cycles(hour)):,} cycles, {of}" in done.stdout
    said = next(line for line in done.stdout.splitlines() if "first at" in line)
    assert f"at record {head(hour.records[index])[2]} of boot {hour.hellos[0]['boot']} (20" in said
    assert f"aim (target the law works to now): recorded {was - 0.5:g} C, replayed {was:g} C" in said


def test_gaps_and_what_waits_behind_them_in_words(hour: Night, store) -> None:
    index = cycles(hour)[700]
    store(hour.with_records(hour.records[:index] + hour.records[index + 1 :]), gaps="the ring was full")
    done = run("last", "--plain")
    assert done.exit_code == 0
    number = head(hour.records[index])[2]
    assert f"missing: 1 record, {number} to {number} of boot" in done.stdout and "the ring was full" in done.stdout
    assert f"record {number} is missing before them; the next state record is a new start" in done.stdout
    assert "cycles were not run" in done.stdout


def test_a_core_without_source_is_offered_as_a_what_if(hour: Night, store) -> None:
    at = 20  # eight bytes of the core's hash in a state record, after the head and the cause
    stranger = [data[:at] + b"\xee" * 8 + data[at + 8 :] if data[0] == 2 else data for data in hour.records]
    cook = store(hour.with_records(stranger))
    done = run(str(cook), "--plain")
    assert done.exit_code == 1 and "nothing could be run again" in done.stdout
    assert f"`tuyere replay {cook} --with-today`" in done.stdout and "ee" * 8 in done.stdout
    done = run(str(cook), "--plain", "--with-today")
    assert done.exit_code == 0
    assert "what-if: equal" in done.stdout and f"not {'ee' * 8}, which recorded them" in done.stdout


def test_json_is_data(hour: Night, store) -> None:
    index = cycles(hour)[1000]
    cook = store(tampered(hour, index, "out", "duty", 1))
    done = run("last", "--json", "--plain")
    assert done.exit_code == 1
    said = json.loads(done.stdout)
    assert (said["cook"], said["equal"], said["what_if"], said["cycles"]) == (cook, False, False, len(cycles(hour)))
    assert (said["first"]["field"], said["first"]["unit"], said["different"]) == ("duty", "%", 1)
    assert said["first"]["recorded"] == pytest.approx(said["first"]["replayed"] + 0.01)
    assert said["restarts"] == 0 and said["gaps"] == [] and said["speed"] > 0


def test_cooks_that_are_not_there_or_empty(store, hour: Night, tmp_path) -> None:
    store(hour)
    with Logbook(paths.logbook_path(tmp_path)) as book:
        book.cooks.end(1, book.cooks.get(1).started + 1)
        book.cooks.start("nothing yet", 1, BOARD, True)
    done = run("last")
    assert done.exit_code == 1 and "there is no cycle to run again" in done.stdout
    for which, said in (("7", "there is no cook 7"), ("-x", "No such option"), ("first", '"first" is not a cook')):
        done = run(which)
        assert done.exit_code != 0 and said in done.stderr


def test_what_belongs_to_the_pit_is_not_taken_without_it(night: Night, store) -> None:
    cook = store(night)
    for option in (("--set", "gain=1"), ("--band", "225-250F"), ("--plot", "a.png")):
        done = run(str(cook), *option)
        assert done.exit_code == 2 and "belong to --pit" in done.stderr


def test_through_the_pit_what_cannot_be_is_refused_before_anything_is_computed(night: Night, store) -> None:
    pytest.importorskip("numba")
    cook = store(night)
    for option, said in (
        (("--set", "gain=nonsense"), "gain=nonsense is no number"),
        (("--set", "nothing=1"), "there is no setting 'nothing'"),
        (("--band", "hot"), 'The band "hot" cannot be read'),
    ):
        done = run(str(cook), "--pit", "--with-today", *option)
        assert done.exit_code == 1 and said in done.stderr


def test_the_screen_needs_a_terminal(night: Night, store) -> None:
    done = run(str(store(night)), "--watch")
    assert done.exit_code == 1 and "the screen needs a terminal" in done.stderr


def test_shares_and_minutes_of_a_played_night_in_words() -> None:
    assert replay_pit._range((0.912, 0.95, 0.9881)) == "95.0 % (91.2 to 98.8)"
    assert replay_pit._back(2.25) == "2.2 min" and replay_pit._back(None) == "not back before the next"
