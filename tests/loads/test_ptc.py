"""Ceramic heaters: nearly constant power warm, a resistor when cold."""

import numpy as np
import pytest

from lostneutral.loads.ptc import PtcHeater

HEATER = PtcHeater(1500.0, 230.0)


def power(ratio):
    v = np.asarray(ratio) * 230.0
    return v**2 * HEATER.admittance(HEATER.settled(v)).real


def test_rated_power_at_rated_voltage():  # definition
    assert power(1.0) == pytest.approx(1500.0, rel=1e-9)


def test_resistance_is_doubled_at_the_switch_temperature():
    # published definition: IEC 60738-1 as remembered; the least resistance is that of the cold ceramic
    cold = HEATER.resistance(20.0)[0]
    assert HEATER.resistance(220.0)[0] / cold == pytest.approx(2.0, rel=1e-4)
    assert HEATER.resistance(200.0)[0] / cold < 1.1  # memory: at its least up to 20 K below


def test_logarithmic_rise_above():  # published, equipment data of one make: 14 % per kelvin or more; memory: up to 30 %
    value, slope = HEATER.resistance(250.0)
    assert 0.135 < slope / value < 0.30


def test_exponent_of_power():  # memory: 0.1 to 0.3 over about 0.5 to 1.1 of rated voltage
    overall = np.log(power(1.1) / power(0.5)) / np.log(1.1 / 0.5)
    assert 0.1 <= overall <= 0.3
    # practice: some run at 230 and 400 V without noticeable change of power
    assert power(400 / 230) / power(1.0) < 1.10


def test_below_four_tenths_it_stays_cold_and_acts_as_a_resistor():  # memory
    assert np.log(power(0.30) / power(0.15)) / np.log(2) == pytest.approx(2.0, abs=0.05)
    assert HEATER.settled(0.3 * 230.0) < 200.0


def test_current_falls_as_the_voltage_rises():  # practice
    v = np.linspace(120.0, 400.0, 100)
    assert np.all(np.diff(power(v / 230.0) / v) < 0)
    assert not HEATER.rising


def test_cold_it_takes_several_times_its_rated_current_for_seconds():  # practice
    cold = 230.0**2 / HEATER.resistance(20.0)[0]
    assert 4 < cold / 1500.0 < 10
    temperature, time, step = 20.0, 0.0, 0.01
    while temperature < 220.0:
        temperature += step * HEATER.rate(temperature, 230.0)
        time += step
    assert 2 < time < 15
