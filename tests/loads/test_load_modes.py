"""What every kind with modes or falling current must do, in every mode, for one load or many. Invariants throughout."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lostneutral.loads.electronic import Electronic
from lostneutral.loads.motor import Motor
from lostneutral.loads.ptc import PtcHeater
from lostneutral.loads.rectifier import Rectifier
from lostneutral.loads.varistor import Varistor

few = settings(max_examples=60, derandomize=True, deadline=None)
powers = st.floats(1.0, 5000.0)
rated = st.sampled_from([120.0, 230.0, 400.0])

plain = st.one_of(
    st.builds(Electronic, powers, rated, st.sampled_from(["rectifier", "corrected"]), st.floats(60.0, 170.0),
              restarts_from=st.sampled_from([None, 175.0]), protection=st.sampled_from([None, 275.0, 420.0])),
    st.builds(Rectifier, st.floats(1.0, 300.0), rated, protection=st.sampled_from([None, 275.0]),
              restarts_from=st.sampled_from([None, 175.0]), inlet_resistance=st.floats(0.1, 20.0),
              inlet_leakage=st.sampled_from([None, 1e6]), suppressor=st.sampled_from([0.0, 3e-5])),
    st.builds(PtcHeater, powers, rated, st.floats(80.0, 300.0)),
    st.builds(Motor, powers, rated, st.floats(0.5, 1.0), st.floats(0.05, 2.2), st.floats(0.5, 6.0), st.floats(0.45, 0.7)),
    st.builds(Varistor, st.floats(130.0, 680.0), st.sampled_from([7.0, 14.0, 20.0]), st.floats(20.0, 50.0)),
)
models = plain.flatmap(lambda model: st.sampled_from(model.modes).map(model.in_mode))


@few
@given(models, st.floats(0.0, 900.0))
def test_settled_is_where_the_state_stands_still(model, voltage):
    state = model.settled(voltage)
    scale = max(abs(model.rate(state, 1.01 * voltage + 1e-3)), 1e-9)
    assert abs(model.rate(state, voltage)) <= 1e-9 * scale


@few
@given(models, st.floats(0.0, 900.0))
def test_state_returns_when_pushed(model, voltage):
    state = model.settled(voltage)
    push = 1e-3 * (abs(state) + 1e-3)
    assert model.rate(state + push, voltage) < 0 < model.rate(state - push, voltage)


@few
@given(models, st.floats(1.0, 900.0))
def test_slope_of_the_settled_admittance(model, voltage):
    y, slope = model.response(voltage)
    step = 1e-6 * voltage
    above, below = (model.response(voltage + s)[0] for s in (step, -step))
    assert y == pytest.approx(model.admittance(model.settled(voltage)), rel=1e-12)
    # central difference; where the curve bends sharply (the fade at the cut-off) it is good to the bend over one step
    bend = max(abs(model.response(voltage + s)[1] - slope) for s in (step, -step))
    assert abs(slope - (above - below) / (2 * step)) <= 1e-5 * abs(y) / voltage + bend


@few
@given(models, st.floats(1.0, 900.0))
def test_takes_power_and_never_gives_it(model, voltage):
    assert model.admittance(model.settled(voltage)).real > 0


@few
@given(plain.filter(lambda model: len(model.modes) > 1))
def test_modes_are_values(model):
    for mode in model.modes:
        moded = model.in_mode(mode)
        assert moded.mode == mode
        assert moded == model.in_mode(mode)
        assert hash(moded) == hash(model.in_mode(mode))
        assert moded.in_mode("running") == model
    with pytest.raises(KeyError):
        model.in_mode("asleep")


@few
@given(models, st.lists(st.floats(0.0, 900.0), min_size=2, max_size=6))
def test_arrays_equal_loops(model, voltages):
    v = np.array(voltages)
    # every number of the model as an array too, each element its own
    grown = {}
    for field in fields(model):
        value = getattr(model, field.name)
        if isinstance(value, float):
            grown[field.name] = value * np.linspace(1.0, 1.01, len(v))
    many = replace(model, **grown)
    ones = [replace(model, **{key: float(value[i]) for key, value in grown.items()}) for i in range(len(v))]
    state = many.settled(v)
    assert state == pytest.approx([one.settled(x) for one, x in zip(ones, v)], rel=1e-9, abs=1e-12)
    for law in ("rate", "margin"):
        looped = [getattr(one, law)(s, x) for one, s, x in zip(ones, 1.1 * state, v)]
        assert getattr(many, law)(1.1 * state, v) == pytest.approx(np.array(looped, float), rel=1e-9, abs=1e-12)
    for got, looped in zip(many.response(v), zip(*(one.response(x) for one, x in zip(ones, v)))):
        assert got == pytest.approx(np.array(looped), rel=1e-8, abs=1e-12)


@few
@given(st.floats(75.0, 3000.0), st.floats(100.0, 400.0), st.floats(1.01, 2.0))
def test_constant_power_current_rises_as_the_voltage_falls(power, voltage, factor):
    model = Electronic(power, 230.0, "corrected")
    high, low = (v * model.settled(v) for v in (voltage * factor, voltage))
    assert low > high


@few
@given(models)
def test_what_it_tells_is_numbers(model):
    # invariant: finite, and of two voltages at once what it tells of each
    told, both = (model.describe(model.settled(v), v) for v in (200.0, np.array([120.0, 200.0])))
    assert told.keys() == both.keys()
    for key, value in told.items():
        assert np.isfinite(value) and np.broadcast_to(both[key], 2)[1] == pytest.approx(value, rel=1e-9)
