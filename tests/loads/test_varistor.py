"""Varistors: the published table, the integral behind it, heating and runaway."""

import mpmath
import numpy as np
import pytest

from lostneutral.loads.varistor import Varistor, mean_of_sine_power


@pytest.mark.parametrize("exponent", [21.0, 31.0, 51.0])
def test_mean_over_a_cycle(exponent):  # independent: quadrature at 30 digits
    with mpmath.workdps(30):
        whole = mpmath.quad(lambda x: mpmath.sin(x) ** exponent, [0, mpmath.pi / 2, mpmath.pi]) / mpmath.pi
    assert mean_of_sine_power(exponent) == pytest.approx(float(whole), rel=1e-13)


def test_fundamental_conductance_takes_the_mean_power():  # invariant
    disc, v = Varistor(), np.linspace(200.0, 400.0, 21)
    assert disc.settled(v) * v**2 == pytest.approx(disc.power(v), rel=1e-12)


def test_quiet_at_its_rating():  # practice: at 230 V and at its rating a sound disc stays cold
    assert Varistor().settled_temperature(275.0) < 26.0
    assert Varistor(offset=-0.1).settled_temperature(275.0) < 30.0


def test_runaway_begins_between_300_and_350_volts():
    # published inference: a 20 mm disc sheds about 1 W (memory), so that it runs away from 300 to 350 V by its tolerance
    v = np.arange(280.0, 400.0, 1.0)
    begins = [v[np.isinf(Varistor(offset=offset).settled_temperature(v))][0] for offset in (-0.1, 0.0, 0.1)]
    assert begins == sorted(begins)
    assert 290 < begins[0] < 305
    assert 320 < begins[1] < 345
    assert 340 < begins[2] < 375
    assert Varistor().shed == pytest.approx(1.0)


def test_seconds_at_400_volts_and_no_time_limit_at_rating():  # published inference, same place
    assert Varistor().time_to_failure(400.0) < 10
    assert Varistor(offset=0.1).time_to_failure(400.0) < 60
    assert Varistor().time_to_failure(275.0) == np.inf


def test_time_to_failure_against_steps():  # independent: the rate of heating added up
    disc, temperature, time, step = Varistor(), 25.0, 0.0, 0.002
    while temperature < 180.0:
        temperature += step * disc.temperature_rate(temperature, 360.0)
        time += step
    assert disc.time_to_failure(360.0) == pytest.approx(time, rel=2e-3)


def test_settled_temperature_balances():  # invariant
    disc = Varistor()
    at = disc.settled_temperature(320.0)
    assert disc.power(320.0, at) == pytest.approx(disc.shed / 60.0 * (at - 25.0), rel=1e-9)


def test_a_higher_voltage_never_fails_later():  # ruling: more voltage never lengthens life
    times = Varistor().time_to_failure(np.linspace(275.0, 420.0, 60))
    assert np.all(times[1:] <= times[:-1])


def test_the_law_says_where_it_ends():
    told = Varistor(offset=-0.1).describe(0.0, np.array([300.0, 400.0]))
    assert list(told["law_exceeded"]) == [False, True]
