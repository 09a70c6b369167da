"""From nights to a cooker that is known: the ensemble, how each member answers its fan, and what to say of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from tuyere.text import BadValue
from tuyere.tune import answers, candidates, in_words, smoother, strength, worlds
from tuyere.tune.cooker import Cooker, Member
from tuyere.tune.night import Night

Array = Any  # a numpy array of float64
Progress = Callable[[float, str], None]
DRAWS, KEPT = 320, 120
NEAR, FEW, FEWEST = 2.0, 6, 2
FAR = 1.0  # spreads that a number may go beyond the draws' ends
# The smoother's own spread missed the delay of four of eight even cookers. So it is inflated at the end (multiplicative
# covariance inflation: Anderson and Anderson, Monthly Weather Review 127, 1999, 2741-2758).
WIDER = 1.4


def identify(
    given: Night | Sequence[Night],
    members: int = 24,
    seed: int = 1,
    share: float = 1.0,
    kind: str = "",
    progress: Progress = lambda part, what: None,
) -> Cooker:
    """An ensemble that explains one night or several of the same cooker.

    share: only the first part of each night is fitted, the rest is run freely and judged (`Cooker.ahead_c`). kind: a
    name of `sim.cookers.KINDS` where it is known. BadValue without a night.
    """
    nights = [given] if isinstance(given, Night) else list(given)
    if not nights:
        raise BadValue("Give at least one night to know a cooker by.")
    fitted = [smoother.data(night, share) for night in nights]
    total, done = (strength.COOKERS + DRAWS + KEPT * (smoother.ROUNDS + 1)) * len(nights), 0

    def told(now: int) -> None:
        progress((done + now) / total, "running the night in front of many pits")

    progress(0.0, "preparing the model")
    worlds.kernel()
    fan = strength.of_nights([night.first(share) for night in nights], seed, kind, told)
    done += strength.COOKERS * len(nights)
    drawn = candidates.draw(DRAWS, len(nights), seed, kind)
    late = fan is not None and fan.delay is not None
    paths = smoother.run(drawn, nights, fitted, told, late)
    done += DRAWS * len(nights)
    rest = smoother.Rest(4.0, 1.0)
    chosen = first(smoother.misfit(paths, fitted, rest), smoother.answered(paths), fan)
    drawn, paths = drawn.pick(chosen), [path.pick(chosen) for path in paths]
    wide = FAR * drawn.rows.std(axis=0)
    low, high = drawn.rows.min(axis=0) - wide, drawn.rows.max(axis=0) + wide
    random = np.random.RandomState(seed)
    now = smoother.answered(paths)
    aims = None if fan is None or now is None else fan.aimed(now[:, 0])
    rounds = []
    for _ in range(smoother.ROUNDS):
        rest = smoother.measure(paths, fitted)
        drawn.rows = np.clip(smoother.moved(drawn.rows, paths, fitted, rest, random, aims), low, high)
        paths = smoother.run(drawn, nights, fitted, told, late)
        done += KEPT * len(nights)
        rounds.append((float(np.median(smoother.unexplained(paths, fitted))), drawn.rows, paths, rest))
    drawn.rows, paths, rest = best(rounds)
    chosen, weights = spread(paths, fitted, rest, fan, members, FEW)
    guess = summed(drawn.pick(chosen), weights, [path.pick(chosen) for path in paths], fitted)
    middle = drawn.rows.mean(axis=0)
    drawn.rows = np.clip(middle + WIDER * (drawn.rows - middle), low, high)
    held = steady(drawn, nights[0], members)
    drawn = drawn.pick(held)
    paths = smoother.run(drawn, nights, fitted, told, late)
    chosen, weights = spread(paths, fitted, rest, fan, members, FEWEST)
    found = summed(drawn.pick(chosen), weights, [path.pick(chosen) for path in paths], fitted)
    # the wider ones say what is possible, not what is likely
    found.misfit_c, found.ahead_c, found.lead = guess.misfit_c, guess.ahead_c, guess.lead
    found.runs, found.nights = total, [night.name for night in nights]
    found.strength = fan
    found.tried_s = sum(night.tried_s for night in nights)
    for number, night in enumerate(nights):
        for member, seen in zip(found.members, answers.of_members(night, found.members, number), strict=True):
            member.answers += seen
    found.spreads = in_words.spreads(found, nights[0])
    found.held, found.was_held = in_words.held(found, nights[0]), nights[0].in_band()
    found.fits = in_words.fits(found)
    found.says_little = in_words.says_little(found, nights)
    progress(1.0, "done")
    return found


def best(rounds: Sequence[tuple[float, Array, list[smoother.Paths], smoother.Rest]]) -> tuple[Any, ...]:
    """The round whose members explain the nights best (the last of equals). On some nights the later rounds lose what
    the earlier ones had: the rest's slow part is hardly weighed, and the fuel drifts until fires go out."""
    least = min(one[0] for one in rounds)
    return next(one[1:] for one in reversed(rounds) if one[0] <= least)


def first(cost: Array, now: Array | None, fan: strength.Strength | None) -> Array:
    """The draws to begin with: of those that can answer as the cooker does (else of the nearest) the ones that explain
    the nights best. now: how each answers, a row."""
    if fan is None or now is None:
        return np.argsort(cost)[:KEPT]
    far = fan.apart(now, fan.means)
    near = np.argsort(np.maximum(far, NEAR))[: max(2 * KEPT, int(np.sum(far <= NEAR)))]
    return near[np.argsort(cost[near])[:KEPT]]


def spread(
    paths: Sequence[smoother.Paths], fitted: Sequence[smoother.Data], rest: smoother.Rest,
    fan: strength.Strength | None, members: int, few: int,
) -> tuple[Array, Array]:  # fmt: skip
    """(which are chosen, their weights): spread over the lifts that are possible, else by how well they explain."""
    cost, now = smoother.misfit(paths, fitted, rest) / smoother.TRUST, smoother.answered(paths)
    if fan is None or now is None:
        weights = smoother.tempered(cost, members / 2.0)
        chosen = np.argsort(-weights)[:members]
        return chosen, weights[chosen]
    return one_each(cost, now, fan, members, few), np.ones(members)


def steady(drawn: candidates.Drawn, night: Night, least: int) -> Array:
    """Those that the board, with the night's settings, would have held as well as it held the real pit: one that swings
    where the real one did not is another cooker. All of them where fewer than `least` are left."""
    was = night.in_band()
    every = np.arange(len(drawn.s))
    if was is None:
        return every
    members = [Member(drawn.s[i], drawn.p[i], drawn.rows[i], 1.0, drawn.kinds[i]) for i in every.tolist()]
    good = np.flatnonzero(in_words.held_by(members, night) >= was - in_words.HELD_APART)
    return good if len(good) >= least else every


def one_each(cost: Array, now: Array, fan: strength.Strength, count: int, few: int = FEW) -> Array:
    """For each answer that is possible the member that explains the nights best among the `few` nearest to it, no
    member twice. So the ensemble's answers are spread as they are known: how well a night is explained does not tell
    them. now: how each member answers, a row."""
    found: list[int] = []
    for aim in fan.aims(count):
        left = [i for i in np.argsort(fan.apart(now, aim)).tolist() if i not in found][:few]
        found.append(min(left, key=lambda i: float(cost[i])))
    return np.array(found)


def summed(
    drawn: candidates.Drawn, weights: Any, paths: Sequence[smoother.Paths], fitted: Sequence[smoother.Data]
) -> Cooker:
    """The chosen as a cooker: their weights made to add up to 1, what they leave unexplained, alone and together."""
    weights = weights / weights.sum()
    found = Cooker([])
    for i, weight in enumerate(weights.tolist()):
        alone = smoother.rms([one.rest(path.pit[i]) for path, one in zip(paths, fitted, strict=True)])
        found.members.append(Member(drawn.s[i], drawn.p[i], drawn.rows[i].copy(), weight, drawn.kinds[i], alone))
    guesses = [weights @ path.pit for path in paths]
    found.misfit_c = smoother.rms([one.rest(guess) for one, guess in zip(fitted, guesses, strict=True)])
    if any(one.until < len(one.pit) for one in fitted):
        late = [(one.pit - guess)[one.until :] for one, guess in zip(fitted, guesses, strict=True)]
        found.ahead_c = smoother.rms(late)
    leads = [np.where(one.there, weights @ path.lead, np.nan) for one, path in zip(fitted, paths, strict=True)]
    found.lead = smoother.rms(leads)
    return found
