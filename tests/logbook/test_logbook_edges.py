"""Every event with a range takes its ends, and is refused in words one step beyond."""

import pytest
from tuyere.logbook import kinds
from tuyere.logbook.errors import BadEntry

RANGED = {name: kind for name, kind in kinds.KINDS.items() if kind.value}


@pytest.mark.parametrize("name", RANGED)
def test_an_event_takes_its_ends_and_names_them_beyond(name):
    kind = RANGED[name]
    step = 1.0 if kind.whole else 0.001
    for value in (kind.low, kind.low + step, kind.high - step, kind.high):
        kinds.check_event(name, 1, value, "")
    for value in (kind.low - step, kind.high + step, float("nan")):
        with pytest.raises(BadEntry, match=f'"{kind.words}" .* is out of range: '):
            kinds.check_event(name, 1, value, "")


def test_what_an_event_needs_and_does_not_take():
    for name, kind in kinds.KINDS.items():
        value = kind.low if kind.value else None
        kinds.check_event(name, 1, value, "")
        if kind.needs_piece:
            with pytest.raises(BadEntry, match="say which"):
                kinds.check_event(name, 0, value, "")
        else:
            kinds.check_event(name, 0, value, "")
        if kind.needs_value:
            with pytest.raises(BadEntry, match="needs a value: "):
                kinds.check_event(name, 1, None, "")
        if not kind.value:
            with pytest.raises(BadEntry, match="takes no value: leave 1 out"):
                kinds.check_event(name, 1, 1.0, "")
        if kind.whole:
            with pytest.raises(BadEntry, match="is not whole: "):
                kinds.check_event(name, 1, kind.low + 0.5, "")
        for text in kind.texts:
            kinds.check_event(name, 1, value, text)
        if kind.texts:
            with pytest.raises(BadEntry, match="does not take"):
                kinds.check_event(name, 1, value, "something")
