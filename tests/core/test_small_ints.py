"""Every intermediate of the law stays a small integer of a 32-bit board, at the ends of all ranges."""

from __future__ import annotations

import pytest
from cases.case_wild import night
from hearth.core import cycle

LIMIT = 2**30 - 1


class Small(int):
    """A whole number that refuses to leave the small integers of a 32-bit MicroPython."""


def _checked(name: str):
    plain = getattr(int, name)

    def operate(self: Small, *others: int) -> object:
        result = plain(self, *others)
        if result is NotImplemented or isinstance(result, tuple):
            return result
        if not -LIMIT <= result <= LIMIT:
            raise OverflowError(f"{int(self)} {name} {[int(other) for other in others]} = {result}")
        return Small(result)

    return operate


for _name in ("add", "sub", "mul", "floordiv", "mod", "lshift", "rshift", "and", "or", "xor"):
    setattr(Small, f"__{_name}__", _checked(f"__{_name}__"))
    setattr(Small, f"__r{_name}__", _checked(f"__r{_name}__"))
for _name in ("neg", "abs"):
    setattr(Small, f"__{_name}__", _checked(f"__{_name}__"))


@pytest.mark.parametrize("seed", [3, 5, 11])
def test_no_intermediate_leaves_the_small_integers(seed: int) -> None:
    assert night(seed, 4000, wrap=Small) == night(seed, 4000)


def test_the_check_bites() -> None:
    def greedy(settings, now, memory, out):
        cycle(settings, now, memory, out)
        return now.pit * 100000 + now.dt * 1000000

    with pytest.raises(OverflowError):
        night(3, 2000, wrap=Small, step=greedy)
