"""What moves air: the blower and its drain, the four-wire fan and its tach, the damper's servo."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hearth.core.fields import FAN_FED, FAN_FINE, FAN_NOT_STOPPING, FAN_NOT_TURNING, FAN_OUT, FAN_SHORTED
from hearth.drivers.blower import Blower
from hearth.drivers.fan4 import Fan4
from hearth.drivers.sense import Drain, Tach
from hearth.drivers.servo import Servo


class Pwm:
    """A PWM pin that keeps what it was given."""

    def __init__(self) -> None:
        self.duties: list[int] = []
        self.pulses: list[int] = []

    @property
    def duty(self) -> int:
        return self.duties[-1]

    def duty_u16(self, duty: int) -> None:
        self.duties.append(duty)

    def duty_ns(self, ns: int) -> None:
        self.pulses.append(ns)


class Circuit:
    """Gate, low-side switch, motor and divider, at 1 kHz: what the ADC reads at a moment. All well unless told."""

    def __init__(self) -> None:
        self.pwm = Pwm()
        self.us = 0
        self.supply = 12.0
        self.sag = 0.0  # V by which a conducting switch pulls the supply down
        self.emf = 0.0  # share of the supply that the running-down motor makes itself
        self.plugged, self.shorted, self.conducts = True, False, True
        self.stays_fed = False
        self.fed = -1
        self.feeds: list[int] = []

    def switch(self, level: int) -> None:
        self.fed = level
        self.feeds.append(level)

    @property
    def blows(self) -> float:
        """Share of the time in which current flows through the motor."""
        return (self.fed or self.stays_fed) * (1.0 if self.shorted else self.pwm.duty / 65535)

    @property
    def on(self) -> bool:
        """The gate is high at this moment."""
        return self.us % 1000 < self.pwm.duty * 1000 / 65535

    def supply_counts(self) -> int:
        volts = self.supply - (self.sag if self.fed == 1 and self.on else 0.0)
        return round(volts * 8.2 / 55.2 / 3.3 * 65535)

    def read_u16(self) -> int:
        on = self.on
        if self.fed != 1 and not self.stays_fed:
            volts = 0.0
        elif self.shorted or (on and self.conducts):
            volts = 0.1 if self.plugged else 0.0
        elif not self.plugged:
            volts = self.supply * 55.2 / 155.2  # 100 k from the fan's 12 V to the drain
        else:
            volts = self.supply * (1 - self.emf)
        return round(volts * 8.2 / 55.2 / 3.3 * 65535)

    def sleep_us(self, us: int) -> None:
        self.us += us + 17  # the interpreter takes its time, too


@pytest.fixture
def circuit() -> Circuit:
    return Circuit()


def judged(circuit: Circuit, blower: Blower, duty: int, cycles: int = 4) -> int:
    found = FAN_FINE
    for _ in range(cycles):
        blower.set(duty)
        found = blower.watch(round(circuit.supply * 1000), 2000)
    return found


def made(circuit: Circuit) -> Blower:
    return Blower(circuit.pwm, circuit.switch, Drain(circuit, circuit.supply_counts, circuit.sleep_us))


def test_blower_is_off_from_the_start_and_linear(circuit: Circuit) -> None:
    blower = made(circuit)
    assert circuit.pwm.duty == 0
    for asked, given in ((10000, 65535), (2500, 16383), (-5, 0), (20000, 65535), (0, 0)):
        blower.set(asked)
        assert circuit.pwm.duty == given and circuit.fed == (given > 0)


@pytest.mark.parametrize("duty", [0, 1200, 2000, 5000, 8000, 10000])
def test_a_blower_that_obeys_is_fine_at_any_duty(circuit: Circuit, duty: int) -> None:
    assert judged(circuit, made(circuit), duty, cycles=20) == FAN_FINE


@pytest.mark.parametrize("duty", [0, 1200, 3000, 5000])
@pytest.mark.parametrize("what", ["shorted", "unplugged"])
def test_a_shorted_switch_and_a_blower_that_is_not_there_are_told_apart(circuit: Circuit, duty: int, what: str) -> None:
    blower = made(circuit)
    circuit.shorted = what == "shorted"
    circuit.plugged = what != "unplugged"
    assert judged(circuit, blower, duty) == (FAN_SHORTED if what == "shorted" else FAN_OUT)


@pytest.mark.parametrize("plugged", [True, False])
def test_a_blower_whose_12_v_stay_on_is_seen_before_it_is_fed_and_stays_off(circuit: Circuit, plugged: bool) -> None:
    blower = made(circuit)
    circuit.stays_fed, circuit.plugged = True, plugged
    assert [judged(circuit, blower, 0, cycles=1) for _ in range(3)][-1] == (FAN_FED if plugged else FAN_OUT)
    del circuit.feeds[:]
    judged(circuit, blower, 0, cycles=1)
    assert circuit.blows == 0 and (1 not in circuit.feeds) == plugged
    circuit.stays_fed, circuit.plugged = False, True
    assert judged(circuit, blower, 0) == FAN_FINE


def test_one_stray_look_at_the_unfed_drain_is_no_fault(circuit: Circuit) -> None:
    blower = made(circuit)
    found = []
    for stray in (True, True, False) * 5:
        circuit.stays_fed = stray
        found.append(judged(circuit, blower, 0, cycles=1))
    assert set(found) == {FAN_FINE}


@pytest.mark.parametrize("duty", [0, 3000, 10000])
def test_a_blower_with_a_shorted_switch_is_stopped_by_its_other_one(circuit: Circuit, duty: int) -> None:
    blower = made(circuit)
    circuit.shorted = True
    judged(circuit, blower, duty)
    assert circuit.blows == (duty > 0)
    del circuit.feeds[:]
    begun = circuit.us
    judged(circuit, blower, 0, cycles=1)
    assert circuit.blows == 0 and circuit.feeds == [0, 1, 0]  # looked at unfed, fed, and off again
    assert circuit.us - begun < 2000  # fed for the look alone: a thousandth of the cycle
    assert judged(circuit, blower, 0, cycles=2) == FAN_SHORTED and circuit.blows == 0


@pytest.mark.parametrize("duty", [2000, 5000, 10000])
def test_a_switch_that_never_conducts_is_a_fan_that_does_not_turn(circuit: Circuit, duty: int) -> None:
    blower = made(circuit)
    circuit.conducts = False
    assert judged(circuit, blower, duty) == FAN_NOT_TURNING


def test_what_was_found_stands_while_the_duty_cannot_show_it(circuit: Circuit) -> None:
    blower = made(circuit)
    circuit.conducts = False
    assert judged(circuit, blower, 3000) == FAN_NOT_TURNING
    assert judged(circuit, blower, 0) == FAN_NOT_TURNING  # a pause between pulses proves nothing
    circuit.conducts = True
    assert judged(circuit, blower, 3000, cycles=1) == FAN_FINE


def test_a_person_who_has_seen_to_the_blower_has_it_looked_at_anew(circuit: Circuit) -> None:
    blower = made(circuit)
    circuit.conducts = False
    assert judged(circuit, blower, 3000) == FAN_NOT_TURNING
    blower.anew()
    assert judged(circuit, blower, 0) == FAN_FINE
    assert judged(circuit, blower, 3000, cycles=1) == FAN_NOT_TURNING


def test_a_motor_running_down_from_full_speed_is_no_short(circuit: Circuit) -> None:
    """A brushed motor makes nearly the supply's voltage itself for a moment, so the drain stands low."""
    blower = made(circuit)
    judged(circuit, blower, 10000)
    blower.set(0)
    for emf in (0.9, 0.8):
        circuit.emf = emf
        assert blower.watch(12000, 2000) == FAN_FINE
    circuit.emf = 0.4
    assert judged(circuit, blower, 0) == FAN_FINE


@pytest.mark.parametrize("volts", [0.0, 5.0])
def test_without_the_12_v_nothing_is_said_of_the_blower(circuit: Circuit, volts: float) -> None:
    circuit.supply = volts
    circuit.plugged = False
    assert judged(circuit, made(circuit), 0, cycles=10) == FAN_FINE


@pytest.mark.parametrize("duty", [2000, 5000, 10000])
def test_a_supply_that_sags_under_the_blower_is_seen_within_its_pulse(circuit: Circuit, duty: int) -> None:
    blower = made(circuit)
    circuit.supply, circuit.sag = 11.6, 1.4
    for start in range(0, 1000, 37):  # wherever in the pulse the look begins
        circuit.us = start
        assert judged(circuit, blower, duty, cycles=1) == FAN_FINE
        assert blower.least == pytest.approx(10200, abs=20)
    judged(circuit, blower, 0, cycles=1)
    assert blower.least == pytest.approx(11600, abs=20)  # at rest it has recovered


def test_without_a_supply_no_sag_is_made_up(circuit: Circuit) -> None:
    blower = made(circuit)
    circuit.supply = 0.0
    judged(circuit, blower, 5000)
    assert blower.least > 18000


class Turning:
    """A four-wire fan on its three lines: the supply's switch, the speed pin (inverting), the tach's interrupt."""

    def __init__(self) -> None:
        self.pwm = Pwm()
        self.fed = -1
        self.handler: Callable[[object], None] = lambda pin: None
        self.stays = 0  # V on the fan's 12 V while they are switched off
        drain = Drain(self, lambda: 0, lambda us: None)
        self.fan = Fan4(self.pwm, self.switch, Tach(self, 4), drain)

    def read_u16(self) -> int:
        return round((12.0 if self.fed else self.stays) * 55.2 / 155.2 * 8.2 / 55.2 / 3.3 * 65535)

    def switch(self, level: int) -> None:
        self.fed = level

    def irq(self, handler: Callable[[object], None], trigger: int, hard: bool) -> None:
        assert trigger == 4 and hard
        self.handler = handler

    def cycle(self, duty: int, turns: int, supply: int = 12000, ms: int = 2000) -> int:
        self.fan.set(duty)
        for _ in range(turns * 2 * ms // 60000):
            self.handler(self)
        return self.fan.watch(supply, ms)


@pytest.fixture
def turning() -> Turning:
    return Turning()


def test_off_means_no_supply_and_a_low_wire(turning: Turning) -> None:
    """The transistor inverts: a pin that is always high is a wire that is always low, which stops the fan by itself."""
    assert (turning.fed, turning.pwm.duty) == (0, 65535)
    turning.cycle(5000, 1500)
    turning.cycle(0, 0)
    assert (turning.fed, turning.pwm.duty) == (0, 65535)


@pytest.mark.parametrize("volts", [12.0, 10.5])
def test_12_v_that_stay_on_are_found_though_the_wire_holds_the_fan(turning: Turning, volts: float) -> None:
    turning.stays = volts
    assert [turning.cycle(0, 0) for _ in range(4)] == [FAN_FINE] * 2 + [FAN_FED] * 2
    turning.stays = 0
    assert turning.cycle(0, 0) == FAN_FINE


@pytest.mark.parametrize("volts", [0.0, 4.0, 7.5])
def test_what_a_fan_keeps_in_its_capacitors_is_not_its_supply(turning: Turning, volts: float) -> None:
    turning.stays = volts
    assert [turning.cycle(0, 0) for _ in range(10)] == [FAN_FINE] * 10


def test_the_speed_pin_is_inverted_by_the_transistor(turning: Turning) -> None:
    for duty, high in ((10000, 0), (7500, 16383), (2500, 49151)):
        turning.cycle(duty, 1000)
        assert (turning.fed, turning.pwm.duty) == (1, high)


@pytest.mark.parametrize(("turns", "ms"), [(600, 2000), (3000, 2000), (5400, 1700)])
def test_turns_are_two_edges_each(turning: Turning, turns: int, ms: int) -> None:
    turning.cycle(5000, turns, ms=ms)
    assert turning.fan.turns == pytest.approx(turns, abs=30)


def test_a_stalled_fan_is_found_in_three_cycles_and_forgiven_at_the_first_turn(turning: Turning) -> None:
    assert [turning.cycle(5000, 0) for _ in range(3)] == [FAN_FINE, FAN_FINE, FAN_NOT_TURNING]
    assert turning.cycle(0, 0) == FAN_NOT_TURNING
    assert turning.cycle(5000, 1000) == FAN_FINE


def test_pulses_of_one_cycle_are_enough_to_find_a_stall(turning: Turning) -> None:
    found = [turning.cycle(duty, 0) for duty in (2000, 0, 0, 2000, 0, 2000)]
    assert found[-1] == FAN_NOT_TURNING and found[2] == FAN_FINE


def test_without_the_12_v_a_still_fan_is_no_stall(turning: Turning) -> None:
    assert [turning.cycle(5000, 0, supply=0) for _ in range(10)] == [FAN_FINE] * 10


def test_a_fan_running_down_is_fine_one_that_never_stops_is_not(turning: Turning) -> None:
    turning.cycle(10000, 3000)
    assert [turning.cycle(0, turns) for turns in (2500, 1800, 900, 300, 0)] == [FAN_FINE] * 5
    found = [turning.cycle(0, 3000) for _ in range(9)]
    assert found[6] == FAN_FINE and found[7] == FAN_NOT_STOPPING
    assert [turning.cycle(0, 3000) for _ in range(20)] == [FAN_NOT_STOPPING] * 20
    assert turning.cycle(0, 0) == FAN_FINE


@pytest.mark.parametrize("turns", [15, 60, 120])
def test_a_fan_that_draught_turns_is_no_fan_that_does_not_stop(turning: Turning, turns: int) -> None:
    turning.cycle(10000, 3000)
    assert [turning.cycle(0, turns, ms=4000) for _ in range(200)] == [FAN_FINE] * 200
    assert turning.fan.turns == turns


def test_a_still_fan_that_draught_turns_a_little_does_not_turn(turning: Turning) -> None:
    assert [turning.cycle(5000, 15, ms=4000) for _ in range(3)][-1] == FAN_NOT_TURNING


@pytest.mark.parametrize("slowest", [300, 900])
def test_the_slowest_fan_that_is_still_fed_does_not_stop(turning: Turning, slowest: int) -> None:
    assert [turning.cycle(0, slowest) for _ in range(8)][-1] == FAN_NOT_STOPPING


def test_ms_of_nothing_do_not_divide(turning: Turning) -> None:
    assert turning.cycle(5000, 0, ms=0) == FAN_FINE


def test_the_damper_is_shut_at_nothing_and_open_at_full() -> None:
    pwm = Pwm()
    servo = Servo(pwm, 2000, 1000)  # this one turns the other way
    assert pwm.pulses[-1] == 2000_000
    for demand, us in ((10000, 1000), (5000, 1500), (2500, 1750), (0, 2000), (20000, 1000), (-3, 2000)):
        servo.set(demand)
        assert pwm.pulses[-1] == us * 1000


def test_a_damper_that_stands_where_it_should_is_let_go_and_small_moves_are_left() -> None:
    pwm = Pwm()
    servo = Servo(pwm, 1000, 2000)
    servo.set(5000)
    for demand in (5000, 5099, 4950):
        servo.set(demand)
        assert pwm.pulses[-1] == 0
    servo.set(5100)
    assert pwm.pulses[-1] == 1510_000
    servo.set(50)
    servo.set(0)
    assert pwm.pulses[-1] == 1000_000, "fully shut at 0, however small the move"
