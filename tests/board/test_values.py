"""Settings as a person types and reads them."""

from __future__ import annotations

import pytest
from hearth.core import Settings, fields
from hypothesis import given
from hypothesis import strategies as st
from tuyere.board import values
from tuyere.board.trouble import Trouble

# every setting in C and what it is: a new one must be put on one side
READINGS = {"band_low", "band_high", "pit_limit", "coldest"}
DIFFERENCES = {
    "fall_least", "rest_above", "out_below", "lack_below", "deep", "resume_below",
    "pit_offset", "meat_1_offset", "meat_2_offset", "meat_3_offset", "ambient_offset",
}  # fmt: skip


def test_readings_and_differences_are_told_apart() -> None:
    assert {row[0] for row in fields.SETTINGS if row[1] == "C"} == READINGS | DIFFERENCES
    assert set(values.ABSOLUTE) == READINGS
    assert {row[1] for row in fields.SETTINGS if "C" in row[1]} <= set(values.DEGREES)


def test_fahrenheit() -> None:
    """250 F is 121.11 C; 9 F between two readings are 5 C (NIST SP 811, appendix B.8: t/C = (t/F - 32)/1.8)."""
    assert values.edits(["band_low=250", "pit_offset=9", "fall=0.9", "gain=1.8", "coldest=32"], "F") == {
        "band_low": 12111, "pit_offset": 500, "fall": 50, "gain": 324, "coldest": 0,
    }  # fmt: skip
    row = values.ROWS["gain"]
    assert row.shown(350, "F") == pytest.approx(3.5 / 1.8) and row.in_unit("F") == "%/F"
    assert values.ROWS["reset"].in_unit("F") == "s" and values.ROWS["reset"].shown(1500, "F") == 1500


@given(st.sampled_from(list(values.ROWS.values())), st.data(), st.sampled_from(["F", "C"]))
def test_what_is_shown_can_be_typed_again(row: values.Row, data: st.DataObject, unit: str) -> None:
    raw = data.draw(st.integers(row.low, row.high))
    assert values.edits([f"{row.name}={row.shown(raw, unit)!r}"], unit) == {row.name: raw}


def test_names_may_be_cut_to_an_end_that_only_one_has() -> None:
    assert values.edits(["high=132", "probe_beta=default"], "C") == {"band_high": 13200, "probe_beta": 3950}
    with pytest.raises(Trouble, match="could be pit_offset or meat_1_offset"):
        values.find("offset")


@pytest.mark.parametrize(
    ("given_", "words"),
    [
        ("band_high", "write name=number"),
        ("hihg=1", "no setting 'hihg'"),
        ("band_high=warm", "give a number from 45 to 220 C"),
        ("band_high=nan", "give a number"),
        ("band_high=221", "band_high=221 is out of range"),
        ("gain=abc", "gain=abc is no number"),
        ("pit_offset=-5.01", "from -5 to 5 C"),
        ("mains=inf", "give a number from 50 to 60 Hz"),
    ],
)
def test_what_cannot_be_is_answered_with_what_could(given_: str, words: str) -> None:
    with pytest.raises(Trouble, match=words):
        values.edits([given_], "C")


def test_settings_that_do_not_fit_together_are_said_before_they_are_sent() -> None:
    standing = {row[0]: row[5] for row in fields.SETTINGS}
    values.see_fit(standing, {"band_high": 13200})
    servo = {"servo_shut": 1000, "servo_open": 1000}
    for wrong in ({"band_high": 12200}, {"pit_limit": 15000}, {"mains": 55}, {"fan_wires": 3}, servo):
        with pytest.raises(Trouble, match="do not fit together"):
            values.see_fit(standing, wrong)


def test_every_setting_is_shown_with_value_unit_range_default_and_help() -> None:
    raw = dict(zip([name for name, _ in Settings().NAMES], Settings().values(), strict=True)) | {"gain": 500}
    lines = values.lines(raw, "C")
    assert len(lines) == len(fields.SETTINGS) + 1 and lines[-1].startswith("learned")
    for line, (name, unit, *_, help_) in zip(lines[:-1], fields.SETTINGS, strict=True):
        assert line.startswith(name) and help_ in line and unit in line and "default" in line
    assert [line.split()[0] for line in lines if "*" in line] == ["gain"]
    table = values.table(raw, "F")
    assert {row["name"]: row["value"] for row in table}["band_low"] == pytest.approx(249.98)
    assert values.table({}, "C")[0]["value"] is None


@pytest.mark.parametrize("unit", ["F", "C"])
@pytest.mark.parametrize("row", values.ROWS.values(), ids=lambda row: row.name)
def test_a_setting_takes_its_edges_and_names_them_beyond(row: values.Row, unit: str) -> None:
    for raw in (row.low, row.low + 1, row.high - 1, row.high):
        assert values.edits([f"{row.name}={row.shown(raw, unit)!r}"], unit) == {row.name: raw}
    for raw in (row.low - 1, row.high + 1):
        with pytest.raises(Trouble) as said:
            values.edits([f"{row.name}={row.shown(raw, unit)!r}"], unit)
        assert f"from {row.words(row.low, unit)} to {row.words(row.high, unit)}" in str(said.value)
