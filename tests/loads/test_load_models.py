"""What every kind of load must do, whatever its parameters."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lostneutral.loads.heater import ALLOYS, COOLING, Heater
from lostneutral.loads.lamp import Lamp
from lostneutral.loads.simple import Exponential, Impedance, Resistive

few = settings(max_examples=40, derandomize=True, deadline=None)
powers = st.floats(5.0, 20000.0)
rated = st.sampled_from([120.0, 230.0, 400.0])
exponents = st.floats(-1.0, 4.0)

models = st.one_of(
    st.builds(Resistive, powers, rated),
    st.builds(Impedance, st.floats(0.1, 1000.0), st.floats(-1000.0, 1000.0)),
    st.builds(Exponential, powers, rated, st.floats(-5000.0, 5000.0), exponents, exponents),
    st.builds(Lamp, powers, rated, st.floats(2400.0, 3300.0), st.floats(0.0, 0.3)),
    st.builds(Heater, powers, rated, st.sampled_from(ALLOYS), st.floats(150.0, 1100.0), st.sampled_from(COOLING)),
)
rising_models = models.filter(lambda model: model.rising)


@few
@given(models, st.floats(0.0, 1000.0))
def test_settled_is_where_the_state_stands_still(model, voltage):
    state = model.settled(voltage)
    # invariant; the scale is the rate that a voltage 1 % higher would cause, or a rounding of the state at next to no voltage
    scale = max(abs(model.rate(state, 1.01 * voltage + 1e-3)), abs(model.rate(state * (1 + 1e-6), voltage)), 1e-9)
    assert abs(model.rate(state, voltage)) <= 1e-9 * scale


@few
@given(models, st.floats(0.0, 1000.0))
def test_state_returns_when_pushed(model, voltage):
    # invariant: a load alone on a stiff voltage is stable
    state = model.settled(voltage)
    push = 1e-3 * (abs(state) + 1)
    assert model.rate(state + push, voltage) < 0 < model.rate(state - push, voltage) or state - push < 293.15


@few
@given(models, st.floats(1.0, 1000.0))
def test_slope_of_the_settled_admittance(model, voltage):
    # independent: central difference; the held part of the exponential law has a corner, which is passed by
    if isinstance(model, Exponential) and abs(voltage / model.voltage - model.held_below) < 1e-3:
        return
    y, slope = model.response(voltage)
    step = 1e-4 * voltage
    above, below = (model.admittance(model.settled(voltage + s)) for s in (step, -step))
    assert y == model.admittance(model.settled(voltage))
    assert abs(slope - (above - below) / (2 * step)) <= 1e-5 * abs(y) / voltage


@few
@given(rising_models)
def test_current_rises_where_claimed(model):
    # invariant: what `rising` says, on currents from 0 to 1000 V
    voltage = np.linspace(0, 1000, 2001)
    current = np.abs(model.admittance(model.settled(voltage))) * voltage
    assert np.all(np.diff(current) >= -1e-12 * current.max())


@few
@given(rising_models)
def test_uniqueness_condition_where_claimed(model):
    # invariant: g ≥ 0, g + v g′ ≥ 0, g (g + v g′) ≥ (v b′/2)² wherever `rising` is claimed
    voltage = np.geomspace(0.5, 3000, 500)
    y, slope = model.response(voltage)
    g, turn = y.real, voltage * slope
    room = 1e-9 * np.abs(y) ** 2
    assert np.all(g >= 0)
    assert np.all(g + turn.real >= -1e-9 * g)
    assert np.all(g * (g + turn.real) - (turn.imag / 2) ** 2 >= -room)


@few
@given(powers, rated, st.floats(-5000.0, 5000.0).map(lambda q: q if abs(q) > 1e-6 else 0.0), exponents, exponents)
def test_uniqueness_is_not_denied_without_cause(power, voltage, reactive, n, m):
    # invariant: where the exponential law does not claim to rise, its condition does fail at some voltage
    model = Exponential(power, voltage, reactive, n, m)
    if model.rising:
        return
    u = np.geomspace(model.held_below, 1e60, 5000)[1:]
    g, b = power * u ** (n - 2), reactive * u ** (m - 2)
    fails = (n < 1) | (g**2 * (n - 1) < (b * (m - 2) / 2) ** 2 * (1 + 1e-6))
    assert np.any(fails) or m - n < 0.05


@few
@given(models, st.lists(st.floats(0.0, 1000.0), min_size=1, max_size=8))
def test_arrays_equal_loops(model, voltages):
    # invariant
    together = model.settled(np.array(voltages))
    assert together == pytest.approx([model.settled(v) for v in voltages], rel=1e-12)
    y, slope = model.response(np.array(voltages))
    single = [model.response(v) for v in voltages]
    assert y == pytest.approx([one[0] for one in single], rel=1e-11)
    assert slope == pytest.approx([one[1] for one in single], rel=1e-9, abs=1e-15)


@pytest.mark.parametrize(
    "make",
    [
        lambda p: Resistive(p, 230.0),
        lambda p: Impedance(p, 2 * p),
        lambda p: Exponential(p, 230.0, 0.3 * p, 1.2, 1.9),
        lambda p: Lamp(p, 230.0, 2700 + p / 10),
        lambda p: Heater(p, 230.0, element_temperature=300 + p),
    ],
    ids=["resistive", "impedance", "exponential", "lamp", "heater"],
)
def test_parameters_may_be_arrays(make):
    # invariant: three loads at once answer as three loads, at one voltage and over a row of voltages
    several = np.array([40.0, 100.0, 300.0])
    model = make(several)
    for voltage in (150.0, np.array([[100.0], [250.0]])):
        y, slope = model.response(voltage)
        assert y.shape == np.broadcast(several, voltage).shape
        for i, p in enumerate(several):
            one = make(float(p)).response(np.asarray(voltage)[..., 0] if np.ndim(voltage) else voltage)
            assert y[..., i] == pytest.approx(one[0], rel=1e-11)
            assert slope[..., i] == pytest.approx(one[1], rel=1e-9, abs=1e-15)


@few
@given(powers, rated)
def test_rated_voltage_gives_rated_power(power, voltage):
    # invariant
    exponential, lamp = Exponential(power, voltage, 0.0, 1.3), Lamp(power, voltage, 2800.0)
    for model in (Resistive(power, voltage), exponential, lamp, Heater(power, voltage)):
        assert voltage**2 * model.admittance(model.settled(voltage)).real == pytest.approx(power, rel=1e-10)


def test_zero_ohm_impedance_is_a_short():
    # invariant
    model = Impedance(np.array([0.0, 0.0, 3.0]), np.array([0.0, 4.0, 4.0]))
    assert model.short.tolist() == [True, False, False]
    y = model.admittance(0.0)
    assert np.isinf(y[0]) and y[1:] == pytest.approx([-0.25j, 0.12 - 0.16j])
    assert model.response(0.0)[1].tolist() == [0, 0, 0]


def test_inductive_reactive_power_is_positive():
    # practice: S = V² conj(Y)
    model = Exponential(100.0, 230.0, 50.0, 1.0, 2.0)
    assert 230**2 * np.conj(model.admittance(model.settled(230.0))) == pytest.approx(100 + 50j)


def test_exponential_current_vanishes_with_the_voltage():
    # invariant: constant power draws no infinite current at 0 V, and the current is continuous where it is held
    model = Exponential(100.0, 230.0, 0.0, 0.0)
    voltage = 23.0 + np.array([-1e-9, 1e-9])
    current = np.abs(model.admittance(model.settled(voltage))) * voltage
    assert current[0] == pytest.approx(current[1], rel=1e-8)
    assert model.admittance(model.settled(0.0)).real * 0.0 == 0.0
    assert not model.rising


@pytest.mark.parametrize(
    ("n", "m", "most"),
    [
        (1.25, 1.25, 4 / 3),  # equal exponents: P² (n − 1) ≥ (Q (m − 2) / 2)²
        (1.25, 2.0, 1e6),  # constant susceptance: any Q
        (1.25, 1.0, 10**-0.25),  # m < n: hardest at the lowest ratio, 0.1, where u^(2(m − n)) = 10^0.5
        (1.25, 1.5, 0.0),  # m > n: no Q holds at every voltage
        (1.0, 1.5, 0.0),  # constant current: none to spare
    ],
)
def test_uniqueness_threshold_of_the_exponential_law(n, m, most):
    # derived by hand from the condition of `rising`
    assert Exponential(100.0, 230.0, 0.99 * 100 * most, n, m).rising
    assert m == 2 or not Exponential(100.0, 230.0, 1.01 * 100 * most + 1e-3, n, m).rising


@pytest.mark.parametrize("model", [Lamp(500.0, 230.0, 2800.0, 0.1), Heater(500.0, 230.0, ALLOYS[0], 600.0, COOLING[0])], ids=["lamp", "heater"])
def test_bounds_that_close_in_find_the_temperature_that_is_found_without(model, monkeypatch):
    # independent: kept between bounds; from a hundred-millionth of rated voltage to forty times it none are needed
    volts = np.geomspace(1e-5, 1e4, 181)
    expected = model._enclosed(volts**2, volts / 230.0, model.rated_temperature - model.surroundings)
    monkeypatch.setattr(type(model), "_enclosed", None)
    assert model.settled(volts) == pytest.approx(expected, rel=1e-12)
    assert [model.settled(v) for v in volts] == pytest.approx(expected, rel=1e-12)
    assert model.settled(np.array([0.0, 230.0]))[0] == model.settled(1e-12) == model.surroundings


def test_lamps_of_several_powers_at_once_settle_as_each_alone():  # invariant
    powers, volts = np.array([60.0, 100.0]), np.array([[150.0, 300.0], [1e-9, 0.0], [20.0, 700.0]])
    alone = [[Lamp(p, 230.0, 2800.0, 0.1).settled(v) for p, v in zip(powers, row)] for row in volts]
    assert Lamp(powers, 230.0, 2800.0, 0.1).settled(volts) == pytest.approx(np.array(alone), rel=1e-12)
