"""The bench of slips, in small: hardly anything that is drawn gets past the rule check, and what does is harmless."""

import random
import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))
import mutated_circuit as bench


def test_of_sixty_slips_at_least_fifty_seven_are_seen_and_the_rest_is_harmless():
    seen, missed = bench.run(seed=1, count=60)
    assert seen >= 57
    assert [slip[:2] for slip, why in missed if not why] == []


def test_what_is_called_harmless_is_a_slip_that_is_drawn_and_really_not_seen():
    everything = bench.slips(random.Random(1))
    named = [slip for slip in everything if bench.why_harmless(slip)]
    assert named and not any(bench.seen(slip) for slip in named)
    for kind, pattern, _ in bench.HARMLESS:
        only = [s for s in named if s[0] == kind and re.fullmatch(pattern, s[1])]
        assert only, (kind, pattern)
