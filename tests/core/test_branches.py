"""The portable cases take every line and every branch of the law."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import hearth

HERE = Path(__file__).parent
# Cases of long nights take no branch that the others leave out, and most of the time under the tracer. They are run
# only if something is left out. If a new branch is taken only by one of these, take its name out: it saves their time.
LONG = {
    "case_learned": (
        "test_a_fan_that_can_do_no_more_or_no_less_is_no_late_return",
        "test_a_late_return_raises_the_share_and_no_further_than_its_bound",
        "test_a_quiet_night_changes_nothing",
        "test_another_cookers_share_is_left_within_two_hours",
        "test_nothing_is_learned_of_lids_hands_other_bands_doubt_or_a_weak_supply",
        "test_small_slow_and_few_swings_change_nothing",
        "test_swings_lower_the_share_and_no_further_than_its_bound",
        "test_the_next_cook_climbs_with_the_set_gain_and_begins_half_way",
    ),
    "case_fire": (
        "test_a_gust_is_no_lid_that_stays_open",
        "test_a_pit_that_stands_in_its_band_after_a_small_fall_is_no_fallen_probe",
        "test_after_a_shallow_fall_without_a_rise_the_fan_does_no_more_than_it_did_and_then_trips",
        "test_more_air_than_usual_is_fading_while_still_in_the_band",
    ),
    "case_opened": ("test_corrupt_readings_open_no_lid_and_trip_nothing",),
    "case_doubt": (
        "test_a_climbing_reading_does_not_end_a_doubt_nor_does_any_order_but_looked",
        "test_a_lid_on_the_way_does_not_make_a_slow_climb_a_doubtful_one",
        "test_after_a_trip_of_the_fire_a_start_goes_on_with_what_it_knew",
        "test_the_evidence_goes_with_how_fast_it_came_back_beside_how_fast_it_fell",
    ),
    "case_held_back": (
        "test_a_higher_band_is_no_evidence_and_a_phase_that_ends_forgives_none",
        "test_in_doubt_a_dead_fire_trips_as_ever",
        "test_in_doubt_a_pit_that_rises_on_what_it_lately_got_is_let_rise",
        "test_in_doubt_the_pit_is_held_where_it_reads_and_let_up_slowly",
        "test_without_a_lid_more_may_be_missing",
    ),
    "case_law": ("test_what_the_pit_is_known_to_need_survives_a_fan_by_hand",),
    "case_resume": ("test_after_a_short_outage_it_goes_on_at_any_temperature",),
    "case_relied": ("test_a_silent_host_calls_only_if_somebody_relies_on_it",),
    "case_experiment": ("test_a_lid_told_or_felt_a_bad_reading_and_any_plan_of_a_person_end_it",),
    "case_edges": ("test_the_law_itself_refuses_one_step_beyond",),
    "case_wild": ("test_random_nights_give_one_hash",),
}
PROGRAM = """
import json, sys
import run
long, wanted = json.loads(sys.argv[1]), sys.argv[2] == "long"
for module in run.CASES:
    there = dict(run.cases(module))
    assert not set(long.get(module, ())) - set(there), module
    for name, case in there.items():
        if (name in long.get(module, ())) == wanted:
            case()
"""


def test_every_branch_of_the_law_is_taken(tmp_path: Path) -> None:
    missing = left_out(tmp_path, "others")
    if any(missing.values()):
        missing = left_out(tmp_path, "long")
    assert len(missing) >= 9
    assert not any(missing.values()), missing


def left_out(folder: Path, which: str) -> dict[str, list[object]]:
    """Run these cases, `others` or `long`, under the tracer: {file of the law: lines and branches that neither these
    nor those of an earlier call took}."""
    firmware = Path(hearth.__file__).parent.parent
    data, report, program = folder / "data", folder / "report.json", folder / "most_cases.py"
    program.write_text(PROGRAM)
    # dynamic_context and the like of a developer's own settings must not matter: no config file
    start = [sys.executable, "-m", "coverage"]
    own = ["--rcfile=/dev/null", f"--data-file={data}"]
    ran = subprocess.run(
        [*start, "run", *own, "--append", "--branch", "--source=hearth.core", str(program), json.dumps(LONG), which],
        env={"PYTHONPATH": f"{firmware}{os.pathsep}{HERE}", "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    subprocess.run([*start, "json", *own, "-o", str(report), "-q"], check=True)
    found = json.loads(report.read_text())["files"]
    law = [name for name in found if not name.endswith("records.py")]  # records.py only makes tables, no decision
    return {name: [*found[name]["missing_lines"], *found[name]["missing_branches"]] for name in law}
