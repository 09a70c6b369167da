"""The guards of what the law learns and tries, of the second probe and of the host that is relied on."""

from __future__ import annotations

from guard_edits import Out

OF_LEARNING = (
    Out("the host is gone", "core/relied.py", "    return 0 if memory.hushed else cause\n", "    return 0\n"),
    Out(
        "a pit probe that reads less than a second one beside it",
        "core/witness.py",
        "        held_back.begin(memory, BY_MORE)",
        "        pass",
    ),
    Out("a witness that says nothing", "core/witness.py", "    if memory.witness_gone >= SUNK:", "    if False:"),
    Out(
        "a pit that the witness shows is held by it",
        "core/decide.py",
        "    if witness.accuses(memory):",
        "    if False:",
    ),
    Out("and before it is called, too", "core/witness.py", " or memory.witness_for > 0) else 0", ") else 0"),
    Out(
        "a witness taken away leaves the pit where it read",
        "core/witness.py",
        "        memory.mark_stands = 1",
        "        pass",
    ),
    Out(
        "a witness without a reading", "core/witness.py", "        if memory.witness_gone >= GONE:", "        if False:"
    ),
    Out(
        "a witness that reads low for long",
        "core/witness.py",
        "    elif memory.witness_less >= ENDS:",
        "    elif False:",
    ),
    Out(
        "nothing is compared under a lid",
        "core/witness.py",
        "    if memory.open_left > 0 or memory.recover_left > 0:\n        return\n    pit_low",
        "    pit_low",
    ),
    Out(
        "a sheath that lags is not accused",
        "core/witness.py",
        "    own_least = min(own, memory.witness_slow - base)",
        "    own_least = own",
    ),
    Out(
        "a witness that agrees ends a doubt",
        "core/witness.py",
        "            forget.at_looked(memory)",
        "            pass",
    ),
    Out(
        "no witness without a reading",
        "core/orders.py",
        "    if memory.seen == 0 or witness.reading(now, now.first) == ABSENT:",
        "    if False:",
    ),
    Out(
        "no phase ends by a witness", "core/programme.py", "            meat = min(meat, value - 1)", "            pass"
    ),
    Out(
        "an experiment near an edge",
        "core/experiment.py",
        " or not steady(memory) or near(memory):\n        memory.trial_left = 0",
        " or not steady(memory):\n        memory.trial_left = 0",
    ),
    Out(
        "an experiment through a lid, a doubt or a fading fire",
        "core/experiment.py",
        " or not steady(memory) or near(memory):\n        memory.trial_left = 0",
        " or near(memory):\n        memory.trial_left = 0",
    ),
    Out("an experiment without a fan", "core/experiment.py", "    if calls or other or", "    if other or"),
    Out("an experiment against a person's order", "core/experiment.py", "    if calls or other or", "    if calls or"),
    Out(
        "an experiment begins only in a steady pit",
        "core/experiment.py",
        "    if not steady(memory) or near(memory):\n        return NOT_STEADY\n",
        "",
    ),
    Out(
        "an experiment has bounds",
        "core/experiment.py",
        "    if not (LEAST <= now.first <= MOST and now.second <= LONGEST):",
        "    if False:",
    ),
    Out(
        "one way at most ten minutes", "core/experiment.py", "    if far or memory.trial_for >= QUARTER:", "    if far:"
    ),
    Out(
        "after an experiment no bump",
        "core/experiment.py",
        "        law.owe(memory, memory.trial_base, rest)",
        "        pass",
    ),
    Out(
        "of an experiment nothing is learned",
        "core/decide.py",
        "            demand = experiment.demand(settings, memory)\n",
        "            demand = experiment.demand(settings, memory)\n            need.learn(memory, demand)\n",
    ),
    Out(
        "nor of its swings",
        "core/learned.py",
        "    if memory.trial_left > 0 or witness.accuses(memory):\n        return 0\n",
        "",
    ),
    Out("what is learned has bounds", "core/learned.py", "    share = clip(share, LEAST, MOST)\n", ""),
    Out(
        "only what the law does is learned",
        "core/learned.py",
        "    if settings.learn == 0 or not calm(memory):",
        "    if settings.learn == 0:",
    ),
    Out(
        "one swing teaches nothing", "core/learned.py", "    if memory.swings >= ENOUGH:", "    if memory.swings >= 1:"
    ),
    Out(
        "slow swings are the weather's",
        "core/learned.py",
        "HALF = 240",
        "HALF = 24000",
    ),
    Out(
        "a fan that can do no more is no late return",
        "core/learned.py",
        "    short = off < -OFF_AIM and demand < settings.ceiling",
        "    short = off < -OFF_AIM",
    ),
    Out("nor one that can do no less", "core/learned.py", "(off > OFF_AIM and demand > 0)", "off > OFF_AIM"),
    Out(
        "another cook begins half-way",
        "core/learned.py",
        "        memory.share = (WHOLE + memory.learned) // 2",
        "        memory.share = memory.learned",
    ),
    Out("wind's swings are no swings", "core/learned.py", " < memory.lately // 1000:", " < 0:"),
    Out(
        "a climb that swings answers less",
        "core/learned.py",
        "LESS if memory.settled else LESS_CLIMB",
        "LESS if memory.settled else WHOLE",
    ),
    Out(
        "a climb that a lid interrupted is braked less far ahead",
        "core/law.py",
        "settings.coast // 2 if",
        "settings.coast if",
    ),
    Out("the aim gives way in gusts", "core/learned.py", "memory.yields + YIELDS)", "0)"),
    Out("and comes back", "core/learned.py", "        memory.yields = max(0, memory.yields - 1)", "        pass"),
    Out("a climb that wobbled begins gently", "core/reach.py", "memory.wobbles >= WOBBLED", "memory.wobbles >= 9"),
    Out(
        "a lid on the way ends no arrival",
        "core/reach.py",
        "memory.openings and memory.held >= SOON",
        "memory.openings",
    ),
    Out(
        "the air that comes back is no fire", "core/reach.py", "    if over > 0 and not after_lid:", "    if over > 0:"
    ),
    Out("a strong fan still gets a part of the gain", "core/learned.py", "    most = max(LEAST, most)\n", ""),
    Out(
        "other gains forget what was learned",
        "core/law.py",
        "        unlearn(memory)\n    after",
        "        pass\n    after",
    ),
    Out(
        "a climb does no more than its reach",
        "core/decide.py",
        "    demand = max(clip(demand, 0, min(most, within)), min(least, most))",
        "    demand = max(clip(demand, 0, most), min(least, most))",
    ),
    Out(
        "a climb that is too fast gets less",
        "core/reach.py",
        "        memory.reach = max(LEAST, memory.reach - less)",
        "        pass",
    ),
    Out(
        "and is never put out",
        "core/reach.py",
        "        memory.reach = max(LEAST, memory.reach - less)",
        "        memory.reach = memory.reach - less",
    ),
    Out(
        "what was too much is approached slowly",
        "core/reach.py",
        "            more = max(1, more // SLOWER)",
        "            pass",
    ),
    Out(
        "it is the reach with which it began",
        "core/reach.py",
        "        if memory.reach_falls == 0:",
        "        if True:",
    ),
    Out(
        "a fan by hand rests ahead of the heat",
        "core/heat.py",
        "    if memory.mode == MODE_HAND and",
        "    if False and",
    ),
    Out("a host on which nobody relies", "core/relied.py", " and memory.relied != RELIED_BY_NOBODY:", ":"),
    Out("a host does not answer its own call", "core/relied.py", " and now.order != ORDER_RELY:", ":"),
    Out(
        "a host that reaches nobody again calls again",
        "core/relied.py",
        "        memory.hushed = 0\n    memory.relied",
        "        pass\n    memory.relied",
    ),
)
