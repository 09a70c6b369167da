"""The PID part: filter, aim, parts of the demand, anti-windup, bumpless changes."""

from cases.kit import Pit
from hearth.core import Settings, fields, law


def test_a_cold_pit_that_does_not_rise_gets_all_the_air():
    pit = Pit()
    assert pit.order(fields.ORDER_START, celsius=20) == fields.ACCEPTED
    out = pit.run(20, 400)
    assert out.fan == fields.FULL and out.state == fields.CLIMBING and out.reason == fields.BELOW_BAND


def test_hot_pit_gets_none():
    pit = Pit()
    pit.hold(133.0)
    out = pit.run(134.9, 200)
    assert out.fan == 0 and out.state == fields.HOLDING


def test_filter_follows_a_step_as_a_first_order_lag_does():
    # After one time constant a backward-Euler first-order lag has covered 1 - (1 + dt/tau)**-n of a step.
    pit = Pit(filter=8000)
    pit.run(100)
    pit.run(110, 5)  # the middle one of three readings is a cycle late
    covered = (pit.memory.smooth - 160000) / 16000
    assert abs(covered - (1 - (1 + 2 / 8) ** -4)) < 0.002


def test_slope_of_a_steady_climb_is_its_rate():
    pit = Pit()
    pit.run(50, 200, per_cycle=0.1)  # 0.05 C/s
    assert abs(pit.memory.slope / 51200 - 0.05) < 0.001


def test_first_climb_brakes_before_the_band():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=60)
    out = pit.run(60, 330, per_cycle=0.18)  # 5.4 C/min, ends at 119 C
    assert out.state == fields.CLIMBING and out.fan == 0 and out.reason == fields.BRAKING


def test_nothing_is_owed_for_the_climb():
    pit = Pit()
    pit.order(fields.ORDER_START, celsius=20)
    pit.run(20, 600, per_cycle=0.15)
    assert pit.memory.owed == 0


def test_a_lasting_error_is_learned_with_the_reset_time():
    pit = Pit(reset=1200, gain=450)
    pit.hold(132.39)
    pit.run(131.39, 100)  # let the filters settle one degree below the aim, thirteen sixteenths up the band
    before = pit.memory.owed
    pit.run(131.39, 600)  # 1200 s, one reset time: the pull is repeated once
    assert abs(pit.memory.owed - before - 450 * 1000) < 20000


def test_integral_does_not_wind_up_against_a_full_fan():
    pit = Pit(lack_most=2000)
    pit.hold()
    pit.run(128.0, 475, per_cycle=-0.08)  # too slow for a lid
    full = pit.memory.owed
    out = pit.run(90.0, 300)
    assert out.fan == fields.FULL and pit.memory.owed == full


def test_new_band_moves_the_aim_at_its_pace_without_a_bump():
    pit = Pit(pace=200)
    pit.hold(127.0, 900)
    before = pit.out.fan
    assert pit.order(fields.ORDER_BAND, 13000, 14000) == fields.ACCEPTED
    assert abs(pit.out.fan - before) <= 60  # 2 C/min for 2 s is 0.07 C, times 3.5 %/C
    pit.run(127.0, 29)
    assert abs(pit.memory.aim / 1600 - (132.39375 + 2.0)) < 0.02  # a minute at 2 C/min
    pit.run(127.0, 120)
    assert abs(pit.memory.aim / 1600 - 138.125) < 0.01


def test_the_aim_leaves_room_below():
    pit = Pit()
    pit.hold(128.0)
    assert abs(pit.memory.aim / 1600 - 132.39375) < 0.01  # thirteen sixteenths up 121.1-135.0 until the first opening
    pit.run(128.0, 15, per_cycle=-1.0)
    pit.run(113.0, 10, per_cycle=1.5)
    pit.run(128.0, 200)
    assert abs(pit.memory.aim / 1600 - 129.7875) < 0.01  # five eighths while it is made up for
    pit.run(128.0, 300)
    assert abs(pit.memory.aim / 1600 - 132.22) < 0.01  # then four fifths


def test_above_the_band_a_fan_by_hand_rests_as_soon_as_the_rise_will_take_the_pit_too_far():
    for celsius, per_cycle, fan in ((136.0, 0.1, 8000), (136.0, 0.4, 0), (120.0, 0.4, 8000), (136.0, -0.4, 8000)):
        pit = Pit()
        pit.hold(131.0, 900)
        pit.order(fields.ORDER_FAN, 8000, 480)
        out = pit.run(celsius, 30, per_cycle=per_cycle)
        pit.memory.smooth, pit.memory.slope = int(celsius * 1600), int(per_cycle * 25600)
        pit.memory.flare_cycles = 0
        out = pit.run(celsius)
        assert out.fan == fan, (celsius, per_cycle, out.fan)
        assert out.reason == (fields.BY_HAND if fan else fields.TOO_HOT)


def test_what_the_pit_is_known_to_need_survives_a_fan_by_hand():
    for demand, celsius in ((8000, 150.0), (0, 100.0)):
        pit = Pit()
        pit.hold(131.0, 900)
        knew = pit.memory.owed, pit.memory.lately, pit.memory.usual, pit.memory.held
        assert pit.order(fields.ORDER_FAN, demand, 480) == fields.ACCEPTED
        assert pit.out.state == fields.MANUAL and pit.out.fan == demand
        pit.run(celsius, 238)
        assert pit.out.fan in (demand, 0)  # a hot pit rests, in a hand too
        assert (pit.memory.owed, pit.memory.lately, pit.memory.usual, pit.memory.held) == knew
        out = pit.run(celsius, 3)
        assert out.state == fields.HOLDING
        pit.run(celsius, 200)
        assert pit.memory.owed == knew[0]  # at neither end of the fan is anything learned
        assert (pit.memory.lately, pit.memory.usual) == knew[1:3]  # nor soon after


def test_a_hand_that_is_given_back_early_leaves_no_bump():
    pit = Pit()
    pit.hold(131.0, 900)
    before = pit.out.fan
    pit.order(fields.ORDER_FAN, 9000, 600)
    pit.run(131.0, 5)
    assert pit.order(fields.ORDER_FAN, 0, 0) == fields.ACCEPTED
    assert pit.out.state == fields.HOLDING and abs(pit.out.fan - before) < 60


def test_after_a_hand_the_fan_does_not_surge_until_the_pit_is_back():
    pit = Pit()
    pit.hold(131.0, 900)
    known = max(pit.memory.owed, pit.memory.lately) // 1000
    pit.order(fields.ORDER_FAN, 0, 600)
    pit.run(131.0, 299, per_cycle=-0.028)
    pit.run(122.6, 40, per_cycle=-0.028)  # still in the band, and falling through it
    assert pit.memory.hand_past == 1 and pit.memory.recover_left == 300
    out = pit.run(121.0, 20, per_cycle=-0.028)
    assert out.reason == fields.RECOVERING and out.fan <= known + 3000
    pit.run(120.0, 60, per_cycle=0.05)
    assert pit.memory.hand_past == 0 and pit.memory.recover_left == 0


def test_a_start_goes_on_from_a_hand_that_lit_the_fire():
    pit = Pit()
    pit.run(128.0, 100)
    pit.order(fields.ORDER_FAN, 3000, 600)
    pit.order(fields.ORDER_START)
    assert pit.out.state != fields.MANUAL and abs(pit.out.fan - 3000) < 60
    assert pit.memory.held <= 1 and pit.memory.arrived == 1
    pit = Pit()
    pit.hold(131.0, 900)
    owed = pit.memory.owed
    pit.order(fields.ORDER_FAN, 9000, 600)
    pit.run(131.0, 5)
    pit.order(fields.ORDER_START)  # the hand came in between: what is known stays
    assert pit.out.state == fields.HOLDING and abs(pit.memory.owed - owed) < 20000


def test_new_settings_keep_the_demand():
    pit = Pit()
    pit.hold(126.0, 400)
    new = Settings()
    new.gain = 420
    before = law.pull(pit.settings, pit.memory) - law.brake(pit.settings, pit.memory) + pit.memory.owed // 1000
    law.rebase(pit.settings, new, pit.now, pit.memory)
    after = law.pull(new, pit.memory) - law.brake(new, pit.memory) + pit.memory.owed // 1000
    assert abs(after - before) <= 2


def test_known_need_grows_with_the_cold():
    pit = Pit(known=2)  # 0.002 % a degree: 100 degrees need 0.2 %
    pit.now.ambient = 0
    pit.hold()
    cold = pit.out.need
    pit.now.ambient = 3000
    warm = pit.run(128.0).need
    assert cold > warm > 0
    pit.now.ambient = fields.ABSENT
    assert pit.run(128.0).need == 0


def test_ceiling_and_breath():
    pit = Pit(ceiling=6000)
    pit.order(fields.ORDER_START, celsius=20)
    assert pit.run(20, 400).fan == 6000
    pit = Pit(breath=500)
    pit.hold(133.0)
    assert pit.run(134.9, 200).fan == 500
    assert pit.run(137.0, 200).fan == 0
