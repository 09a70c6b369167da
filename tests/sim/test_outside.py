"""The world in front of the board: its surface, its probes, its script."""

import pytest
from pit_kit import hold, quiet
from tuyere.meat import piece_slots as ps
from tuyere.meat.piece import PieceOfMeat
from tuyere.sim import cookers
from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside
from tuyere.sim.script import Script, still


def test_any_step_is_taken_whole():
    o = Outside("upright", 1)
    for seconds in (2.0, 0.001, 0.3, 7.5, 61.0, 1800.0):
        before = o.now_s
        r = o.step(seconds, 0.5)
        assert o.now_s == pytest.approx(before + seconds)
    assert r is o.readings


def test_long_and_short_steps_agree():
    one, many = quiet("drum", 4), quiet("drum", 4)
    for _ in range(60):
        one.step(60.0, 0.3)
    for _ in range(1800):
        many.step(2.0, 0.3)
    assert one.air_c == pytest.approx(many.air_c, abs=1e-6)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan")])
def test_a_step_needs_time(bad):
    with pytest.raises(ValueError, match="more than 0 seconds"):
        Outside().step(bad, 0.0)


def test_bad_input_is_told():
    with pytest.raises(ValueError, match="Unknown cooker 'kettle'; choose one of upright"):
        Outside("kettle")
    with pytest.raises(ValueError, match="hours"):
        Script.draw(1, 0.0)
    with pytest.raises(ValueError, match="no weather"):
        Outside("drum", 1, Script())
    with pytest.raises(ValueError, match="at most 6 pieces"):
        Outside("drum", 1, Script(weather=still(1.0), pieces=[(1.0, 20.0)] * 7))


def test_pieces_go_on_at_their_own_times_and_no_heat_is_lost():
    o = quiet("upright", 1, meat=True)
    late = [PieceOfMeat(cut="flat", mass_kg=2.0)] * 2
    script = Script(
        hours=8.0, weather=still(8.0), pieces=[*o.script.pieces, *late], later=[0.0, 1800.0, 0.0, 3600.0], out_open=0.0
    )
    o, seen, opened = Outside("upright", 1, script), [], 0
    for _ in range(round(4.0 * 1800)):
        r = o.step(2.0, 0.35)
        seen.append((o.now_s, [o.pieces[i * ps.SIZE + ps.ON] for i in range(4)]))
        opened = max(opened, int(o.state[at.OPENINGS]))
    on = o.meat_on_s
    assert on is not None and opened == 3  # two go on together
    for i, after in enumerate(script.later):
        first = next(s for s, flags in seen if flags[i] > 0.0)
        assert on + after <= first <= on + after + 2.0 * at.LOOK_S
    assert len(r.meat_c) == 3  # the fourth has no probe
    assert abs(o.closure) < 1e-3


def test_the_probe_lags_and_counts_in_128ths():
    # A MAX31856 gives 2^-7 C a step (datasheet).
    o = quiet("upright", 1)
    for _ in range(300):
        r = o.step(2.0, 1.0)
        assert (r.pit_c * 128.0) == int(r.pit_c * 128.0)
    assert o.air_c - r.pit_c > 3.0  # while it climbs
    noise = o.constants[at.NOISE_C]
    o.constants[at.NOISE_C] = 0.0
    calm = [o.step(2.0, 0.0).pit_c - o.state[at.PROBE] for _ in range(50)]
    assert max(map(abs, calm)) <= 1.0 / 256.0 + 1e-9
    o.constants[at.NOISE_C] = noise
    rough = [o.step(2.0, 0.0).pit_c - o.state[at.PROBE] for _ in range(4000)]
    assert (sum(x * x for x in rough) / len(rough)) ** 0.5 == pytest.approx(noise, rel=0.1)


def test_meat_goes_on_after_an_hour_or_ten_minutes_after_the_first_arrival():
    early, late = quiet("drum", 2, meat=True), quiet("drum", 2, meat=True)
    hold(early, 2.0)
    assert early.meat_on_s == pytest.approx(3600.0, abs=10.0)
    assert all(x is not None for x in early.readings.meat_c[:2])
    assert early.readings.meat_c[2] is None
    while late.now_s < 4500.0:
        late.step(2.0, 0.0)
    assert late.meat_on_s is None
    assert late.readings.meat_c == [None, None, None]
    while late.state[at.ARRIVED] < 0.0:
        late.step(2.0, 1.0)
    hold(late, late.now_s / 3600.0 + 0.25)
    assert late.meat_on_s == pytest.approx(late.state[at.ARRIVED] + 600.0, abs=10.0)


def test_an_ordinary_script():
    told = 0
    for seed in range(40):
        s = Script.draw(seed, 14.0)
        rows = [s.events[i : i + at.EVENT] for i in range(0, len(s.events), at.EVENT)]
        lids = [r for r in rows if r[at.E_KIND] == at.OPENING]
        told += sum(r[at.E_B] == 1.0 for r in lids)
        seconds = sorted(r[at.E_A] for r in lids)
        assert len(lids) == 5  # the meat going on is the sixth, and what is done is taken out
        assert seconds[0] >= 30.0
        assert 120.0 <= seconds[-1] <= 300.0
        assert seconds[-2] <= 110.0
        assert all(r[at.E_AT] < 12.5 * 3600.0 for r in rows)
        ambient = s.weather[at.W_AMBIENT :: at.WEATHER]
        assert min(ambient) > -20.0 and max(ambient) < 45.0
    assert 80 < told < 160
    short = Script.draw(1, 4.0)
    assert [k for k in short.events[at.E_KIND :: at.EVENT] if k in (at.OPENING, at.WRAPPING)] == [at.OPENING]
    assert Script.draw(3).events == Script.draw(3).events
    assert Script.draw(3).weather != Script.draw(4).weather


def test_a_probe_that_falls_off_reads_cool_and_has_no_fault():
    # A thermocouple off the grate is intact; nothing electrical tells.
    o = quiet("upright", 1)
    hold(o, 2.0)
    o.events += [0.0, o.now_s, at.PROBE_FALLS, 0.25, 0.0, 0.0]
    for _ in range(600):
        r = o.step(2.0, 0.2)
    assert r.faults == 0
    assert r.pit_c < 70.0
    assert o.air_c > 100.0
    o.events += [0.0, o.now_s, at.PROBE_FALLS, 0.0, 0.0, 0.0]
    for _ in range(600):
        r = o.step(2.0, 0.2)
    assert abs(r.pit_c - o.air_c) < 20.0


def test_a_bridge_starves_the_fire_and_its_fall_feeds_it():
    o = quiet("drum", 1)
    hold(o, 2.0)
    burn, lit = o.state[at.BURN_W], o.readings.lit_kg
    o.events += [0.0, o.now_s, at.BRIDGE, 0.4, 300.0, 0.0]
    o.step(1200.0, 0.2)
    starved = o.state[at.BURN_W]
    lit = o.readings.lit_kg
    o.events += [0.0, o.now_s, at.SETTLING, 0.06, 0.0, 0.0]
    o.step(20.0, 0.2)
    assert starved < 0.9 * burn
    assert o.readings.lit_kg > lit + 0.04
    assert o.state[at.BURN_W] > 1.3 * starved


def test_no_product_is_named_in_the_kinds():
    assert {k.words for k in cookers.KINDS.values()} == {
        "upright with a water pan",
        "ceramic",
        "drum",
        "insulated cabinet",
        "offset with a charcoal basket",
    }


def test_the_hands_of_a_script_are_told_in_order_after_the_meat_went_on() -> None:
    hands = Script.draw(1).hands()
    assert [(kind, piece, what) for kind, _, piece, what in hands] == [("spritzed", 0, "")] * 4 + [
        ("wrapped", 0, "paper")
    ]
    assert hands == sorted(hands, key=lambda one: one[1])
    bare = Script(hours=2.0)
    bare.add(at.WRAPPING, 3600.0, 0.0)
    bare.add(at.SPRITZ, 60.0, 0.02, from_start=True)
    assert bare.hands() == []
    each = Script(later=[0.0, 900.0])
    each.add(at.WRAPPING, 7200.0, ps.FOIL, 2.0)
    each.add(at.PAN_FILL, 600.0, 0.5)
    each.add(at.REFUEL, 800.0, 1.234, 0.1)
    assert each.hands() == [
        ("meat_on", 0, 1, ""), ("pan_filled", 600, 0, ""), ("fuel_added", 800, 0, 1.23), ("meat_on", 900, 2, ""),
        ("wrapped", 7200, 2, "foil"),
    ]  # fmt: skip


def test_a_done_piece_comes_out_once_somebody_feels_it_and_each_probe_reads_its_own_piece() -> None:
    script = Script(weather=still(1.0), pieces=[PieceOfMeat(start_c=c) for c in (4.0, 8.0, 12.0)], meat_after=0.0)
    script.probes, script.felt, script.out_open = [0, 3, 1], [0.0, 600.0, 0.0], 40.0
    o = Outside("drum", 1, script)
    o.state[at.ARRIVED], o.constants[at.MEAT_WAIT] = 0.0, 0.0
    r = o.step(20.0, 0.0)
    assert r.meat_c == [pytest.approx(12.0, abs=0.2), None, pytest.approx(8.0, abs=0.2)] and r.out == 0
    for i in (0, 1):
        o.pieces[i * ps.SIZE + ps.DONE_S] = 1.0
    assert o.step(20.0, 0.0).out == 0b001  # the second is done too, and nobody feels it yet
    assert o.step(560.0, 0.0).out == 0b001
    r = o.step(40.0, 0.0)
    assert r.out == 0b011 and r.meat_c[2] is None and r.meat_c[0] is not None
