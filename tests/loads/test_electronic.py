"""Electronic loads: constant power, cut-off, restart, capacitor limits."""

import numpy as np
import pytest

from lostneutral import data
from lostneutral.loads.electronic import Electronic, default_front_end

SUPPLY = Electronic(100.0, 230.0, "corrected")


def current(model, voltage):
    return np.abs(model.admittance(model.settled(voltage))) * voltage


def test_constant_power_within_the_window():  # definition of the kind
    v = np.linspace(100.0, 264.0, 50)
    assert SUPPLY.admittance(SUPPLY.settled(v)).real * v**2 == pytest.approx(100.0, rel=1e-12)


def test_current_rises_as_the_voltage_falls():  # practice
    v = np.linspace(400.0, 100.0, 200)
    assert np.all(np.diff(current(SUPPLY, v)) > 0)


def test_current_is_limited_at_the_low_end_and_goes_to_zero_without_a_step():  # definition of the kind
    v = np.linspace(60.0, 120.0, 60001)
    i = current(SUPPLY, v)
    assert i.max() <= 100.0 / (1.05 * 90.0) * (1 + 1e-9)
    assert np.abs(np.diff(i)).max() < 0.01 * i.max()  # a step would be the whole of it
    assert np.all(i[v < 88.1] < 1e-4 * i.max())
    assert np.all(i[v < 88.1] > 0)  # leakage: the network never becomes singular


def test_surge_factor_of_low_ratings():  # memory: 1.15 up to 315 V
    rated, surge = Electronic(60.0, 120.0, capacitor_rating=200.0).capacitor_limits()
    assert surge / rated == pytest.approx(1.15)


@pytest.mark.parametrize("works_from", [85.0, 90.0, 160.0])
def test_one_mode_without_hysteresis(works_from):
    model = Electronic(100.0, 230.0, works_from=works_from)
    assert model.modes == ("running",)
    assert model.margin(0.0, 10.0) == np.inf


def test_cuts_off_and_restarts_with_hysteresis():  # definition of the modes
    model = Electronic(100.0, 230.0, "corrected", restarts_from=110.0)
    assert model.modes == ("running", "cut off")
    off = model.in_mode("cut off")
    low, high = float(model.cuts_off_at), 110.0
    for v in np.linspace(10.0, 240.0, 47):
        assert (model.margin(model.settled(v), v) > 0) == (v > low)
        assert (off.margin(off.settled(v), v) > 0) == (v < high)
    assert model.next_mode(0.0, 80.0) == "cut off"
    assert off.next_mode(0.0, 120.0) == "running"
    assert abs(off.admittance(1.0)) == pytest.approx(1e-4 * 100.0 / 230.0**2)
    assert off.in_mode("running") == model
    assert hash(off.in_mode("running")) == hash(model)


def test_hold_up_time_is_tens_of_milliseconds():  # practice; and the energy balance it stands for
    assert 0.01 < SUPPLY.lag < 0.1
    energy = 0.5 * SUPPLY.bulk_capacitance * 2 * (230.0**2 - 90.0**2)  # between the two crests
    assert energy / 100.0 == pytest.approx(SUPPLY.lag)


@pytest.mark.parametrize(("power", "front_end"), [(8.0, "rectifier"), (74.9, "rectifier"), (75.0, "corrected")])
def test_front_end_by_power(power, front_end):  # the case format's default
    assert default_front_end(power) == front_end


def test_a_rectifier_says_that_it_stands_in():
    assert Electronic(8.0, 230.0).stands_in
    assert not SUPPLY.stands_in


def test_varistor_at_the_input_adds_its_current_above_its_rating():
    plain, protected = SUPPLY, Electronic(100.0, 230.0, "corrected", protection=275.0)
    assert current(protected, 230.0) == pytest.approx(current(plain, 230.0), rel=1e-6)
    extra = (protected.settled(360.0) - plain.settled(360.0)) * 360.0**2
    leaks = 360.0**2 / data.load("varistor")["leakage"]["value"]  # arithmetic: beside the disc's own current
    assert extra == pytest.approx(protected.varistor.power(360.0) + leaks, rel=1e-12)
    assert protected.describe(protected.settled(360.0), 360.0)["varistor_overload"] > 10


def test_a_supply_that_goes_off_at_a_threshold_is_on_until_it_is_there():  # definition of the modes, but for rounding on either side
    held = Electronic(100.0, 230.0, "corrected", works_from=190.0)
    unit = Electronic(100.0, 230.0, "corrected", works_from=190.0, restarts_from=200.0)
    for volts, links in ((190.0 - 1e-9, [268.7, 380.0]), (190.0 + 1e-6, [380.0, 380.0]), (189.9, [268.6, 268.6])):
        found = [model.describe(model.settled(volts), volts)["link_voltage"] for model in (held, unit)]
        assert found == pytest.approx(links, abs=0.05)


def test_what_it_tells():
    told = Electronic(60.0, 230.0).describe(0.0, np.array([230.0, 300.0]))
    assert told["link_voltage"] == pytest.approx([325.3, 424.3], abs=0.05)  # derived: √2 V
    assert told["capacitor_stress"] == pytest.approx([0.813, 1.061], abs=5e-4)
    assert list(told["above_window"]) == [False, True]
    assert told["harmonic_share"] == pytest.approx(0.8)  # derived: power factor 0.6, fundamental in phase
    assert SUPPLY.describe(0.0, 230.0)["link_voltage"] == pytest.approx(380.0)
