"""The portable cases take every line and every branch of the law."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import hearth

HERE = Path(__file__).parent
# Cases of long nights take no branch that the others leave out, and half the time under the tracer. If a new branch is
# taken only by one of these, take its name out.
LONG = {
    "case_learned": (
        "test_a_late_return_raises_the_share_and_no_further_than_its_bound",
        "test_a_quiet_night_changes_nothing",
        "test_another_cookers_share_is_left_within_two_hours",
        "test_nothing_is_learned_of_lids_hands_other_bands_doubt_or_a_weak_supply",
        "test_small_slow_and_few_swings_change_nothing",
        "test_swings_lower_the_share_and_no_further_than_its_bound",
    ),
    "case_fire": (
        "test_a_gust_is_no_lid_that_stays_open",
        "test_more_air_than_usual_is_fading_while_still_in_the_band",
    ),
    "case_opened": ("test_corrupt_readings_open_no_lid_and_trip_nothing",),
    "case_doubt": (
        "test_a_lid_on_the_way_does_not_make_a_slow_climb_a_doubtful_one",
        "test_after_a_trip_of_the_fire_a_start_goes_on_with_what_it_knew",
    ),
    "case_held_back": (
        "test_a_higher_band_is_no_evidence_and_a_phase_that_ends_forgives_none",
        "test_in_doubt_the_pit_is_held_where_it_reads_and_let_up_slowly",
    ),
    "case_relied": ("test_a_silent_host_calls_only_if_somebody_relies_on_it",),
    "case_experiment": ("test_a_lid_told_or_felt_a_bad_reading_and_any_plan_of_a_person_end_it",),
    "case_edges": ("test_the_law_itself_refuses_one_step_beyond",),
    "case_wild": ("test_random_nights_give_one_hash",),
}
PROGRAM = """
import json, sys
import run
long = json.loads(sys.argv[1])
for module in run.CASES:
    there = dict(run.cases(module))
    for name in long.get(module, ()):
        del there[name]
    for case in there.values():
        case()
"""


def test_every_branch_of_the_law_is_taken(tmp_path: Path) -> None:
    firmware = Path(hearth.__file__).parent.parent
    data, report, program = tmp_path / "data", tmp_path / "report.json", tmp_path / "most_cases.py"
    program.write_text(PROGRAM)
    # dynamic_context and the like of a developer's own settings must not matter: no config file
    start = [sys.executable, "-m", "coverage"]
    ran = subprocess.run(
        [
            *start,
            "run",
            "--rcfile=/dev/null",
            f"--data-file={data}",
            "--branch",
            "--source=hearth.core",
            str(program),
            json.dumps(LONG),
        ],
        env={"PYTHONPATH": f"{firmware}{os.pathsep}{HERE}", "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    subprocess.run([*start, "json", "--rcfile=/dev/null", f"--data-file={data}", "-o", str(report), "-q"], check=True)
    found = json.loads(report.read_text())["files"]
    law = [name for name in found if not name.endswith("records.py")]  # records.py only makes tables, no decision
    assert len(law) >= 9
    missing = {name: (found[name]["missing_lines"], found[name]["missing_branches"]) for name in law}
    assert all(not lines and not branches for lines, branches in missing.values()), missing
