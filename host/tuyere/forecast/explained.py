"""What a forecast says in words: the plateau, the water, the choices, and a probe that is not where it should be."""

from __future__ import annotations

import numpy as np

from tuyere.forecast import exchange, prior, update
from tuyere.forecast.prior import Array, Members
from tuyere.meat import piece_slots as at
from tuyere.meat.cuts import cut
from tuyere.meat.water import latent
from tuyere.text import Clock, Duration, Length, Mass, Number, Rate, Said, Share, Span, Temperature, text

MINUTE = 60_000
SLOW_C_H, PLATEAU_C = 3.0, (55.0, 88.0)  # a rise slower than this, in between, is the plateau
OWN_C = 55.0  # colder meat tells little of its plateau: `tuyere.forecast.rise.FROM_C`
LEAVES_C_H = 5.0  # and faster than this is its end
LATELY_MIN = 40.0
WORTH_H = 1.0  # a finish nearer than this leaves nothing to choose
LATER_H = 1.5  # a wrap later than now
WORTH_MIN = 10.0  # a choice that moves the finish by less is not worth a sentence
EARLY_MIN = 180.0  # a probe's place is judged from its first hours in the meat
JUDGED_MIN = 25.0  # and not before
SHALLOW_M, SHALLOW_SHARE, SURE = 0.006, 0.25, 0.95  # how far off the middle, and in what share of the members
LEAD_C = 2.5  # a tip off the middle that leads it by less brings the target forward by little
# A probe this far above what a centred one may read is close under the surface, or not in meat. One this far below is
# in fat, if it also falls further behind: half frozen meat lags as much, but catches up once the first heat is in. One
# that reads no more than a centred one lies near no face. Checked on 102 nights of strangers, even seeds.
LAGS_SD, LEADS_SD, AHEAD_SD = 4.2, 3.0, 0.0
BEHIND_MIN, BEHIND_N, BEHIND_SD = 100.0, 6, 1.0  # min after it went on, and this much further over this many readings
FOLLOWS_C, FALLS_C = 2.5, 15.0  # a tip in meat does not fall this far when the pit falls that far for minutes


def about(minutes: float) -> Duration:
    """'1 h 20 min', to 5 min: a forecast knows no better."""
    return Duration(60.0 * max(5, 5 * round(minutes / 5.0)))


def reached(c: float, target: float) -> Said:
    """It is there."""
    return text(
        "Its probe reads {here}, its target of {target}: feel it now; done when a probe slides in.",
        here=Temperature(c), target=Temperature(target),
    )  # fmt: skip


def usual(one: exchange.KnownPiece, read: update.Read) -> Said:
    """That a range is hardly tonight's own yet; "" once its readings have come near the plateau."""
    if not one.probe and not len(read.c):
        return "With no probe in it the range is what such pieces usually take. A reading by hand narrows it."
    if len(read.c) and read.c[-1] >= OWN_C:
        return ""
    return text(
        "So far the range is mostly what such pieces usually take: its own readings tell more from {c} on.",
        c=Temperature(OWN_C),
    )  # fmt: skip


def never(share: float) -> Said:
    """Most members do not come to the target."""
    return text(
        "In {share} of the courses it may take from here its probe never reads the target: wrap it, hold the pit "
        "higher within its band, or go by feel from {feel} on.",
        share=Share(1.0 - share), feel=Temperature(90.0),
    )  # fmt: skip


def state(
    known: exchange.Known,
    one: exchange.KnownPiece,
    seat: update.Seats,
    made: Members,
    m: Array,
    found: exchange.PieceAhead,
) -> list[Said]:
    """Where the piece stands on its way, and how much water has gone. m: the members now."""
    raw = made.mass
    dried = float(np.median(m[:, at.SLAB + at.EVAPORATED] / raw))
    dripped = float(np.median(m[:, at.SLAB + at.DRIPPED] / raw))
    part = cut(one.cut).parts[0].name
    dry, juice = round(100.0 * dried) / 100.0, round(100.0 * dripped) / 100.0  # whole per cent, so that they add up
    words: list[Said] = [text(
        "About {all} of the {part} has gone: {dried} dried off, {juice} as juice.",
        all=Share(dry + juice), part=part, dried=Share(dry), juice=Share(juice),
    )]  # fmt: skip
    rise = rising(known, one, seat)
    here = float(np.median(m[:, at.PROBE]))
    if rise is None or not PLATEAU_C[0] < here < PLATEAU_C[1] or rise >= SLOW_C_H:
        return words
    grams = 1000.0 * 3600.0 * float(np.median(m[:, at.RATE]))
    watts = grams / 3.6e6 * latent(here)
    climbs = [
        when
        for when, low, high in zip(found.at[1:], found.mid, found.mid[1:], strict=False)
        if high - low >= LEAVES_C_H / 4.0
    ]
    again: Said = text("; it should climb again about {at}", at=Clock(climbs[0])) if climbs else ""
    why: Said = "wrapped, it is slow still"
    if m[0, at.WRAP] == at.BARE:
        why = text(
            "about {water} of water an hour dry off the {part} and take {watts} with them",
            water=Mass(grams / 1000.0), part=part, watts=Number(watts, unit="W"),
        )  # fmt: skip
    return [text("On the drying plateau, {rise}: {why}{again}.", rise=Rate(rise), why=why, again=again), *words]


def rising(known: exchange.Known, one: exchange.KnownPiece, seat: update.Seats) -> float | None:
    """How fast its probe has risen in the last minutes, C/h."""
    ats, values = update.readings(known, one)
    since = max(seat.now + update.SETTLED * MINUTE, known.now - LATELY_MIN * MINUTE)
    pairs = [(when, c) for when, c in zip(ats, values, strict=True) if when >= since]
    if len(pairs) < 5 or pairs[-1][0] - pairs[0][0] < 0.5 * LATELY_MIN * MINUTE:
        return None
    hours = np.array([when - pairs[0][0] for when, _ in pairs]) / 3.6e6
    return float(np.polyfit(hours, [c for _, c in pairs], 1)[0])


def choices(
    one: exchange.KnownPiece, now: float | None, later: float | None, hotter: float | None, room: float
) -> list[Said]:
    """What else could be done. Each number: hours that it takes longer than as planned, None where it is no choice."""
    words: list[Said] = []
    wrap = one.wrap_with or "paper"
    planned = "against a wrap by its bark" if one.wrap_with else "against leaving it bare"
    if now is not None and abs(now) * 60.0 >= WORTH_MIN:
        words.append(text("Wrapping it in {wrap} now would {by} {planned}.", wrap=wrap, by=_by(now), planned=planned))
    if later is not None and abs(later) * 60.0 >= WORTH_MIN:
        wait = about(60.0 * LATER_H)
        words.append(
            text("Wrapping it {wait} from now would {by} {planned}.", wait=wait, by=_by(later), planned=planned)
        )
    if hotter is not None and -hotter * 60.0 >= WORTH_MIN:
        words.append(
            text("Holding the pit {room} hotter, within its band, would {by}.", room=Span(room, 0), by=_by(hotter))
        )
    return words


def _by(hours: float) -> Said:
    return text("{what} about {time}", what="save" if hours < 0.0 else "cost", time=about(60.0 * abs(hours)))


def probe(
    known: exchange.Known, one: exchange.KnownPiece, seat: update.Seats, made: Members, m: Array, rows: Array,
    early: update.Read, unread: Array,
) -> Said:  # fmt: skip
    """Where its probe seems to be, if not in the middle; "" while nothing speaks against it. m: the members now.
    early: what it read in its first hours; unread: what members with no evidence and their tips in the middle would
    have read then."""
    again = "and note that the probe was seated"
    if not one.probe:
        return ""
    if follows(known, one):
        return (
            "Its probe falls and rises with the pit: the tip stands in the air or touches metal. Push it into the "
            f"meat, {again}."
        )
    minutes = (known.now - max(one.on_at, seat.before or seat.now)) / MINUTE
    if minutes < JUDGED_MIN or not len(early.c):
        return ""
    error = np.sqrt(update.DOUBT_C**2 + update.PROBE_C**2 + unread.var(axis=0))
    off_by = (early.c - unread.mean(axis=0)) / error
    apart = float(np.median(off_by[-3:]))
    first_hours = minutes <= EARLY_MIN
    if first_hours and apart < -LAGS_SD and behind(early.minute, off_by):
        return (
            f"Its probe lags behind what meat of that size would read: the tip may lie in fat. Move it into lean "
            f"meat in mid-thickness, {again}."
        )
    if first_hours and apart > LEADS_SD:
        return (
            "Its probe runs far ahead of what the middle could read: the tip is close under the surface or "
            f"touches metal. Push it to mid-thickness, {again}."
        )
    if apart <= AHEAD_SD:
        return ""
    share = made.tip / made.half
    off = (made.tip >= SHALLOW_M) & (share >= SHALLOW_SHARE)
    usual = prior.members(one, np.zeros((1, rows.shape[1])))
    lead = float(np.median(m[:, at.PROBE] - m[:, at.SLAB + at.T0 + at.N - 1]))
    if off.mean() >= SURE and lead >= LEAD_C and np.median(made.tip) > usual.tip[0] + 0.5 * SHALLOW_M:
        return text(
            "Its probe may lie {off} off the middle and {face} from a face ({share} of the courses say so): it leads "
            "the middle by about {lead}. Push it to mid-thickness, {again}; until then its target comes early.",
            off=Length(float(np.median(made.tip))), face=Length(float(np.median(made.half - made.tip))),
            share=Share(round(float(off.mean()), 2)), lead=Span(lead, 0), again=again,
        )  # fmt: skip
    return ""


def behind(minute: Array, off_by: Array) -> bool:
    """Whether a probe still falls further behind a centred one. minute: of each reading, after the piece went on;
    off_by: the reading less a centred probe's, in sd of that, oldest first."""
    if len(off_by) < BEHIND_N or minute[-1] < BEHIND_MIN:
        return False
    return bool(off_by[-1] - off_by[-BEHIND_N] <= -BEHIND_SD)


def follows(known: exchange.Known, one: exchange.KnownPiece) -> bool:
    """Whether its probe fell with the pit while the lid was open, or follows the pit's own swings."""
    ats, values = update.readings(known, one)
    pit = {when: c for when, c in zip(known.columns.at, known.columns.pit, strict=False) if c is not None}
    noted = max((note.at for note in one.notes if note.kind == "probe_seated"), default=one.on_at)
    since = noted + 20 * MINUTE
    pairs = [(when, c, pit[when]) for when, c in zip(ats, values, strict=True) if when >= since and when in pit]
    for i, (when, c, air) in enumerate(pairs):
        for later, cooler, colder in pairs[i + 1 : i + 6]:
            if later - when > 6 * MINUTE:
                break
            if air - colder >= FALLS_C and c - cooler >= FOLLOWS_C:
                return True
    return False
