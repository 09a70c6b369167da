"""Helpers for the pit's tests: a quiet cook, and a plain PI of the tests' own."""

from collections.abc import Callable

from tuyere.meat.piece import PieceOfMeat
from tuyere.sim.outside import Outside
from tuyere.sim.script import Script, still


def quiet(cooker: str = "upright", seed: int = 1, hours: float = 8.0, meat: bool = False) -> Outside:
    """A cooker in still air, without openings, and without meat unless asked."""
    script = Script(hours=hours, weather=still(hours, 20.0), meat_after=3600.0 if meat else 1e9)
    if meat:
        script.pieces = [PieceOfMeat(cut="flat", mass_kg=3.0), PieceOfMeat(cut="point", mass_kg=3.2)]
    return Outside(cooker, seed, script)


def pi(aim: float = 128.05) -> Callable[[float], float]:
    """A filtered PI that stops summing while the fan stands at an end."""
    owed, smooth, rise = 0.0, None, 0.0

    def law(pit: float) -> float:
        nonlocal owed, smooth, rise
        if smooth is None:
            smooth = pit
        before = smooth
        smooth += (pit - smooth) * 0.1
        rise += ((smooth - before) / 2.0 - rise) * 0.05
        error = aim - smooth
        u = 0.045 * error + owed - 0.045 * 120.0 * rise
        if 0.0 < u < 1.0 or (u >= 1.0 and error < 0.0) or (u <= 0.0 and error > 0.0):
            owed += 0.045 / 1200.0 * error * 2.0
        return min(1.0, max(0.0, u))

    return law


def hold(outside: Outside, hours: float, law: Callable[[float], float] | None = None) -> list[float]:
    """Run with a law until `hours`; the probe of each 2 s."""
    law = law or pi()
    fan, seen = 1.0, []
    while outside.now_s < hours * 3600.0:
        pit = outside.step(2.0, fan).pit_c
        fan = law(pit)
        seen.append(pit)
    return seen
