"""The world in front of the board: one cooker, one script, one clock."""

from __future__ import annotations

from tuyere.meat import piece_slots as piece
from tuyere.meat.piece import take_less
from tuyere.meat.water import boiling, pressure_at
from tuyere.sim import cookers, course
from tuyere.sim import pit_slots as at
from tuyere.sim.script import Script, flat_pieces


class Readings:
    """What the board's parts read, and the true values. One object, written again each step.

    pit_c: the probe, C; faults: `fields.PROBE_*` bits; meat_c: three probes, C or None; ambient_c; told: True in the
    step in which the cook announces an opening; out: bits of the pieces that have come out, 1 for the first. True
    values that no board sees: opened, lit_kg, fuel_kg (with the lit), ash_kg. Faults of the board's wires, none unless
    somebody sets one: held (the button is held for long), cold_c (cold junction), reversed (the couple's leads), bus
    and fan_stuck (`twin_frames.BUS_*`, `FAN_*`), open_probes and short_probes (bits: meat 1, 2, 4, ambient 8),
    supply_v, flash_fails, mux_stuck.
    """

    __slots__ = (
        "ambient_c", "ash_kg", "bus", "cold_c", "fan_stuck", "faults", "flash_fails", "fuel_kg", "held", "lit_kg",
        "meat_c", "mux_stuck", "open_probes", "opened", "out", "pit_c", "reversed", "short_probes", "supply_v", "told",
    )  # fmt: skip

    def __init__(self) -> None:
        self.pit_c = 20.0
        self.faults = 0
        self.meat_c: list[float | None] = [None, None, None]
        self.ambient_c = 20.0
        self.told = False
        self.out = 0
        self.opened = False
        self.lit_kg = 0.0
        self.fuel_kg = 0.0
        self.ash_kg = 0.0
        self.held = False
        self.cold_c = 25.0
        self.reversed = False
        self.bus = 0
        self.fan_stuck = 0
        self.open_probes = 0
        self.short_probes = 0
        self.supply_v = 12.0
        self.flash_fails = False
        self.mux_stuck = False


class Outside:
    """A cooker of a kind, drawn from the seed, with the script of a cook. Same arguments, same bits.

    cooker: one of `cookers.KINDS`; script: `Script.draw(seed, hours)` when None. ValueError on an unknown cooker, too
    many pieces or a script without weather. Past the script's hours the last weather stands.
    The flat sequences (`state, constants, pieces, piece_constants, events, weather`) are what `course.advance` takes.
    """

    def __init__(
        self, cooker: str = "upright", seed: int = 1, script: Script | None = None, hours: float = 14.0
    ) -> None:
        self.script = script if script is not None else Script.draw(seed, hours)
        if len(self.script.weather) < at.WEATHER:
            raise ValueError("The script has no weather; fill it with script.still(hours) or Script.draw(seed, hours).")
        self.cooker = cooker
        self.state, self.constants = cookers.draw(cooker, seed)
        p = self.constants
        p[at.ARRIVAL_C], p[at.AMBIENT_W] = self.script.arrival_c, self.script.humidity
        p[at.MEAT_AFTER], p[at.MEAT_WAIT] = self.script.meat_after, self.script.meat_wait
        p[at.MEAT_OPEN], p[at.MEAT_TOLD] = self.script.meat_open, float(self.script.meat_told)
        p[at.OUT_OPEN] = self.script.out_open
        p[at.LATER : at.LATER + len(self.script.later)] = self.script.later
        p[at.FELT : at.FELT + len(self.script.felt)] = self.script.felt
        p[at.AIR_PA] = pressure_at(self.script.altitude_m)
        p[at.BOILS] = boiling(p[at.AIR_PA])
        cookers.settle(self.state, self.script.weather[at.W_AMBIENT], self.script.humidity)
        self.state[at.NOTED] = 0.0 if self.script.meat_noted else -1.0
        self.pieces, self.piece_constants = flat_pieces(self.script.pieces, self.script.meats)
        for i, share in enumerate(self.script.shares):
            take_less(self.piece_constants, i, share)
        self.events = list(self.script.events)
        self.weather = self.script.weather
        self.readings = Readings()
        self._probes = dict(enumerate(self.script.probes))  # by piece
        self.start_j = self.stored_j

    def step(self, seconds: float, fan: float) -> Readings:
        """Let `seconds` (> 0) pass with the fan driven at `fan` (0..1) and read the probes at their end."""
        if not seconds > 0.0:
            raise ValueError(f"A step takes more than 0 seconds, not {seconds!r}.")
        s = self.state
        s[at.FAN] = 0.0 if fan < 0.0 else 1.0 if fan > 1.0 else fan
        s[at.TOLD] = 0.0
        course.advance(s, self.constants, self.pieces, self.piece_constants, self.events, self.weather, seconds)
        r = self.readings
        r.pit_c = s[at.READING]
        r.faults = int(s[at.FAULTS])
        r.ambient_c = s[at.AMBIENT]
        r.told = s[at.TOLD] > 0.0
        r.opened = s[at.NOW] < s[at.OPEN_UNTIL]
        r.lit_kg = s[at.LIT]
        r.fuel_kg = s[at.LIT] + s[at.UNLIT]
        r.ash_kg = s[at.ASH]
        m = self.pieces
        r.meat_c[:] = [None] * at.PROBES
        for i in range(at.PIECES):
            o = i * piece.SIZE
            if m[o + piece.ON] <= 0.0:
                r.out |= (m[o + piece.COOKED_S] > 0.0) << i
            elif probe := self._probes.get(i):
                r.meat_c[probe - 1] = round(m[o + piece.PROBE] * 20.0) / 20.0
        return r

    @property
    def now_s(self) -> float:
        """Seconds since the start."""
        return self.state[at.NOW]

    @property
    def air_c(self) -> float:
        """True temperature of the air at the grate, C."""
        return self.state[at.GAS]

    @property
    def meat_on_s(self) -> float | None:
        """When the meat went on, seconds since the start; None before."""
        on = self.state[at.MEAT_ON]
        return on if on >= 0.0 else None

    @property
    def stored_j(self) -> float:
        """Heat standing in pit and meat, J above 0 C."""
        return float(course.account(self.state, self.constants, self.pieces, self.piece_constants))

    @property
    def closure(self) -> float:
        """Energy in, less out, less the change of what is stored, as a share of what went in."""
        s = self.state
        return (s[at.IN_J] - s[at.OUT_J] - (self.stored_j - self.start_j)) / max(s[at.IN_J], 1.0)
