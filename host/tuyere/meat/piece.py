"""A piece of meat as the cook describes it, and its layout for the kernel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tuyere.meat import piece_slots as at
from tuyere.meat.cuts import THICK, Cut, Mix, Part, cut, mix
from tuyere.meat.doneness import FEEL, TARGET_C
from tuyere.meat.food import properties
from tuyere.meat.parameters import Parameters
from tuyere.meat.water import WATER_HEAT
from tuyere.text import BadValue, Length, Mass, Number, Range, Temperature, band, text

GRADED = 1.35  # each node distance is this times the one before: fine at the surface, which dries
PROPERTIES_C = 45.0  # the temperature at which the properties of the raw mix are taken
WATER_DENSITY = 1000.0


@dataclass(frozen=True)
class PieceOfMeat:
    """One piece. mass_kg: trimmed. flat_m, point_m: thickness of its parts, m; None takes the cut's, scaled by mass.

    intact: whole muscle, neither rolled nor injected nor needled. fat: share by mass; None takes the cut's. probe_in:
    the part that holds the probe; "" is the first. probe_off_m: distance of the tip from the middle, m. A piece is done
    when its probe reads done_c and the share done_feel of its collagen has dissolved. BadValue for an impossible piece.
    """

    name: str = "piece"
    cut: str = "packer"
    mass_kg: float = 5.5
    flat_m: float | None = None  # the first part of any cut
    point_m: float | None = None  # the second part
    start_c: float = 5.0
    intact: bool = True
    fat: float | None = None
    probe_in: str = ""
    probe_off_m: float = 0.0
    done_c: float = TARGET_C
    done_feel: float = FEEL

    def __post_init__(self) -> None:
        what = cut(self.cut)
        least, _, most = what.kg
        mass = Mass(self.mass_kg)
        if not self.mass_kg > 0.0:
            raise BadValue(text("{name} weighs {mass}; give its trimmed mass, more than 0.", name=self.name, mass=mass))
        if not least <= self.mass_kg <= most:
            raise BadValue(
                text(
                    "{name} weighs {mass}; a {cut} is taken from {least} to {most}: check the mass, or choose another "
                    "cut.",
                    name=self.name, mass=mass, cut=self.cut, least=Mass(least), most=Mass(most),
                )
            )  # fmt: skip
        if self.point_m is not None and len(what.parts) < 2:
            raise BadValue(f"{self.name} has a second thickness, but a {self.cut} is one part; leave that out.")
        for part, given in zip(what.parts, (self.flat_m, self.point_m), strict=False):
            low, high = (round(limit * part.thick_m, 3) for limit in THICK)
            if given is not None and not low <= given <= high:
                raise BadValue(
                    text(
                        "The {part} of {name} is {given} thick; that of a {cut} is {allowed}: measure it where it is "
                        "thickest.",
                        part=part.name, name=self.name, given=Length(given), cut=self.cut,
                        allowed=Range(Length(low), Length(high)),
                    )
                )  # fmt: skip
        if not -2.0 <= self.start_c <= 40.0:
            raise BadValue(
                text(
                    "{name} starts at {start}; it must be thawed and raw, {allowed}.",
                    name=self.name, start=Temperature(self.start_c, 1), allowed=band(-2.0, 40.0),
                )
            )  # fmt: skip
        if self.fat is not None and not 0.0 <= self.fat <= 0.5:
            raise BadValue(f"{self.name} has a fat share of {self.fat:g}; give 0 to 0.5 of its mass.")
        if self.probe_in and self.probe_in not in [part.name for part in what.parts]:
            raise BadValue(
                f"The probe of {self.name} is in its {self.probe_in}; a {self.cut} has "
                f"{' and '.join(part.name for part in what.parts)}."
            )
        if not 0.0 <= self.probe_off_m <= self.thick_m(self.probe_part) / 2.0:
            raise BadValue(
                text(
                    "The probe of {name} is {off} off the middle; that is outside the meat.",
                    name=self.name, off=Length(self.probe_off_m),
                )
            )  # fmt: skip
        if not 50.0 <= self.done_c <= 110.0 or not 0.0 <= self.done_feel < 1.0:
            raise BadValue(
                text(
                    "{name} is done at {given} and a feel of {feel}; give {allowed}, and a feel of 0 to 1.",
                    name=self.name, given=Temperature(self.done_c, 1), feel=Number(self.done_feel, 2),
                    allowed=band(50.0, 110.0),
                )
            )  # fmt: skip

    @property
    def probe_part(self) -> int:
        """Index of the part that holds the probe; 0 is the first."""
        names = [part.name for part in cut(self.cut).parts]
        return names.index(self.probe_in) if self.probe_in else 0

    def thick_m(self, i: int) -> float:
        """Thickness of part i, m: the given one, or the cut's, which grows with the cube root of the mass."""
        what = cut(self.cut)
        given = (self.flat_m, self.point_m)[i]
        return given if given is not None else what.parts[i].thick_m * (self.mass_kg / what.kg[1]) ** (1.0 / 3.0)

    def lay(self, parameters: Parameters | None = None) -> tuple[list[float], list[float]]:
        """The raw piece for the kernel: (m, q), see `piece_slots`."""
        what: Cut = cut(self.cut)
        m, q = [0.0] * at.SLAB, [0.0] * at.Q_SLAB
        for i, part in enumerate(what.parts):
            one, two = slab(
                self.mass_kg * part.share,
                self.thick_m(i),
                self.start_c,
                mix(part.fat if self.fat is None else self.fat),
                parameters or Parameters(),
                part=part,
            )
            m += one
            q += two
        m += [0.0] * (at.SIZE - len(m))
        q += [0.0] * (at.QSIZE - len(q))
        m[at.PROBE] = m[at.BEFORE] = self.start_c
        m[at.COME_UP_S] = m[at.DONE_S] = -1.0
        i = self.probe_part
        q[at.PROBE_IN] = float(i)
        q[at.PROBE_LOW], q[at.PROBE_SHARE] = self._tip(self.thick_m(i) / 2.0)
        q[at.DONE_C], q[at.DONE_FEEL] = self.done_c, self.done_feel
        return m, q

    def _tip(self, half: float) -> tuple[float, float]:
        """Place of the probe's tip in the grid: the node just outside of it and the share of the way to the next."""
        places = depths(half, at.N, GRADED)
        depth = half - self.probe_off_m
        i = max(i for i in range(at.N - 1) if places[i] <= depth)
        return float(i), min(1.0, (depth - places[i]) / (places[i + 1] - places[i]))


def depths(half: float, n: int, graded: float) -> list[float]:
    """Depth of each node below the surface, m."""
    steps = [graded**i for i in range(n - 1)]
    scale = half / sum(steps)
    places = [0.0]
    for one in steps:
        places.append(places[-1] + one * scale)
    places[-1] = half
    return places


def slab(
    mass: float,
    thick: float,
    start_c: float,
    composition: Mix,
    p: Parameters,
    *,
    part: Part | None = None,
    n: int = at.N,
    graded: float = GRADED,
) -> tuple[list[float], list[float]]:
    """One slab of `mass` kg and `thick` m: (m, q). `part` gives a brick of its proportions; None has no edges.

    Heat enters a brick through its edges, too. The brick is replaced by a body of the same surface and volume whose
    area shrinks inwards as (1 - x/half)^s (s = 0 slab, 1 cylinder, 2 sphere), with s = surface * half / volume - 1.
    """
    half = thick / 2.0
    raw = properties(composition, PROPERTIES_C)
    water = composition["water"]
    volume = mass / raw.density
    surface = volume / half
    if part is not None:
        width = (volume / thick / part.aspect) ** 0.5
        surface += part.edges * 2.0 * thick * width * (1.0 + part.aspect)
    s = min(max(surface * half / volume - 1.0, 0.0), 2.0)
    surface = (s + 1.0) * volume / half
    x = depths(half, n, graded)
    middles = [0.5 * (x[i] + x[i + 1]) for i in range(n - 1)]
    inside = [(1.0 - edge / half) ** (s + 1.0) for edge in (0.0, *middles, half)]
    m, q = [0.0] * at.slab_size(n), [0.0] * at.slab_constants(n)
    q[at.NODES], q[at.AREA] = float(n), surface
    q[at.CONVECTION], q[at.EMISSIVITY], q[at.FOIL_E] = p.convection, p.emissivity, p.foil_emissivity
    q[at.GAP_H], q[at.PAPER_R], q[at.GREASED_R], q[at.GREASE_S] = p.gap, p.paper, p.greased, p.grease_s
    q[at.FOIL_R], q[at.CRUST_R], q[at.CRUST_S], q[at.WETTED] = p.foil, p.crust, p.crust_s, p.wetted
    q[at.DRIP], q[at.SOAK], q[at.JUICE_S] = p.drip, p.soak, p.juice_s
    q[at.HOLD_LEAST], q[at.HOLD_MID], q[at.HOLD_WIDTH] = p.hold_least, p.hold_middle, p.hold_width
    q[at.HOLD_FALL], q[at.RUN_OFF] = p.hold_fall, p.run_off
    q[at.DRY_HEAT] = (raw.heat - water * WATER_HEAT) / (1.0 - water)
    q[at.RAW] = water / (1.0 - water)
    q[at.FULL] = volume * raw.density * water / surface
    q[at.SHRINK] = p.shrink * water * raw.density / WATER_DENSITY
    m[at.SPREAD] = 1.0
    for i in range(n):
        full = raw.density * half / (s + 1.0) * (inside[i] - inside[i + 1])
        q[at.DRY + i] = full * (1.0 - water)
        m[at.T0 + i] = start_c
        m[at.T0 + n + i] = full * water
        if i < n - 1:
            face = (1.0 - middles[i] / half) ** s / (x[i + 1] - x[i])
            q[at.DRY + n + i] = raw.middle * face
            q[at.DRY + 2 * n + i] = p.seep * raw.density * (1.0 - water) * face
    return m, q


def lay(
    pieces: Sequence[PieceOfMeat], parameters: Sequence[Parameters] = (), places: int = 0
) -> tuple[list[float], list[float]]:
    """The pieces one after the other: (m, q), padded to `places`. The last of `parameters` serves all later pieces."""
    m: list[float] = []
    q: list[float] = []
    for i, piece in enumerate(pieces):
        one, two = piece.lay(parameters[min(i, len(parameters) - 1)] if parameters else None)
        m += one
        q += two
    m += [0.0] * (places * at.SIZE - len(m))
    q += [0.0] * (places * at.QSIZE - len(q))
    return m, q


def slabs(q: Sequence[float], i: int = 0) -> list[tuple[int, int]]:
    """Offsets of the slabs that piece i has, in its part of m and of q."""
    found = [(at.SLAB + s * at.SLAB_SIZE, at.Q_SLAB + s * at.SLAB_Q) for s in range(at.SECTIONS)]
    return [(o, r) for o, r in found if q[i * at.QSIZE + r + at.AREA] > 0.0]


def take_less(q: list[float], i: int, share: float) -> None:
    """Let piece i take less heat in and lead it on more slowly, or more (share over 1): the net radiation and what is
    conducted go with the share, convection with its root (view, crust), as `tuyere.forecast.prior` has it of meat."""
    for _, r in slabs(q, i):
        k = i * at.QSIZE + r
        q[k + at.EMISSIVITY] = min(q[k + at.EMISSIVITY] * share, 1.0)
        q[k + at.CONVECTION] *= share**0.5
        for j in range(k + at.DRY + at.N, k + at.DRY + 2 * at.N - 1):
            q[j] *= share
