"""The models that average over a cycle, against the waveform model (independent) and against what they must do."""

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from charge_star import charge_star, pulse
from daily import daily
from scipy.integrate import quad
from scipy.optimize import root
from wave_cases import case, rectifier, rectifier_star, supply

from lostneutral.case.model import Break
from lostneutral.circuit.waveform.march import Marcher
from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.circuit.waveform.picture import waveforms
from lostneutral.circuit.waveform.steady import repeating
from lostneutral.consequences.waves import pair_currents
from lostneutral.loads import load_model


def averaged(load):
    return load_model(load, supply())[0]


def bridges(made):
    return tuple(map(bridge_of, made.loads))


def test_charge_of_a_pulse():
    # independent: quadrature of the same pulse
    expected, _ = quad(lambda t: max(325.0 * np.cos(314.0 * t) - 300.0, 0.0) / 7.0, -0.0013, 0.0013, points=[0.0])
    assert pulse(325.0, 300.0, 7.0, 314.0) == pytest.approx(expected, rel=1e-6)
    assert pulse(300.0, 325.0, 7.0, 314.0) == 0.0


@pytest.mark.parametrize("per_watt, inlet, lost", [(1e-6, 1.0, 0.02), (1e-6, 20.0, 0.1), (10e-6, 1.0, 0.02), (10e-6, 20.0, 0.1)],
                         ids=str)
def test_one_rectifier_on_a_sound_neutral(per_watt, inlet, lost):
    """100 W, cut-off 127 V d.c., 1.8 V: the range that the docstring states."""
    load = rectifier("L1", 100, per_watt, inlet, 1.8)
    model, seen = averaged(load), waveforms(case([load], []), steps=96).before.loads[0]
    assert model.link(230.0) == pytest.approx(seen.link[0], rel=0.04)
    taken = 230.0**2 * model.admittance(model.settled(230.0)).real
    assert taken == pytest.approx(seen.power / (1 + lost), rel=0.01)


def test_power_is_constant_in_the_window_and_gone_below_the_cut_off():
    model = averaged(rectifier("L1", 100, inlet=1.0))
    volts = np.array([60.0, 110.0, 230.0, 346.0])
    power = model.settled(volts) * volts**2
    assert power[0] < 0.1  # leakage only
    assert power[1:] == pytest.approx([100.0] * 3, rel=1e-9)
    assert np.all(np.diff(model.link(np.linspace(100.0, 400.0, 30))) > 0)  # invariant
    assert model.link(230.0) == pytest.approx(sqrt(2) * 230.0, rel=0.03)  # practice


def test_a_bad_joint_within_the_range():
    """50/60/200 W, 3 µF/W, 1 Ω, joint of 20 Ω: R_N ΣP / U0² = 0.12; Newton's place for the star point by scipy."""
    made = rectifier_star((50, 60, 200), [Break("intake", "N", 20.0)])
    models, lines = tuple(map(averaged, made.loads)), np.array(list(made.supply.phasors.values()))

    def imbalance(x):
        across = lines - complex(*x)
        total = sum(m.admittance(m.settled(abs(u))) * u for m, u in zip(models, across)) - complex(*x) / 20.0
        return total.real, total.imag

    found = np.abs(lines - complex(*root(imbalance, [0.0, 0.0]).x))
    seen = [load.voltage.rms for load in waveforms(made, steps=96).after.loads]
    assert found == pytest.approx(seen, rel=0.015)


def test_the_link_follows_its_pulses_as_the_waveforms_have_it():
    """100 W, 3 µF/W, 5 Ω. Independent: what is left of 5 V too much after five cycles of the waveform model, pulse by pulse."""
    made = case([rectifier("L1", 100, inlet=5.0)], [])
    model, turn = averaged(made.loads[0]), repeating(made, steps=96)
    start = replace(turn.start, y=turn.start.y.copy(), time=0.0)
    start.y[turn.net.link] -= 5.0
    course = Marcher(turn.net, 96).march(start, 0.02)
    left = (turn.start.y - course.y)[turn.net.link][0] / 5.0
    assert np.exp(-0.02 * model.pace(230.0)) == pytest.approx(left, abs=0.1)


@pytest.mark.parametrize("powers", [(100.0, 50.0, 55.0), (50.0, 60.0, 200.0), (60.0, 60.0, 119.0)], ids=str)
def test_pairs_give_each_phase_its_current(powers):
    ab, bc, ca = pair_currents(powers)
    assert [ab + ca, ab + bc, bc + ca] == pytest.approx(powers)  # invariant
    assert (min(ab, bc, ca) < 0) == (2 * max(powers) > sum(powers))


@pytest.mark.parametrize("powers, per_watt, inlet", daily([
    ((100, 50, 55), 3e-6, 1.0), ((50, 60, 200), 3e-6, 1.0), ((100, 100, 100), 1e-6, 5.0), ((100, 50, 55), 3e-6, 5.0), ((60, 60, 110), 3e-6, 5.0)],
    several=True), ids=str)
def test_pulse_by_pulse_agrees_with_the_waveforms(powers, per_watt, inlet):
    """Cut-off 127 V d.c., no drop, links first 320 V against as they settle with a sound neutral."""
    made = rectifier_star(powers, per_watt=per_watt, inlet=inlet)
    quick = charge_star(bridges(made), 230.0, 50.0, [320.0] * 3)
    full = repeating(made, made.breaks, before=repeating(made, steps=96), steps=96)
    expected = full.mean(full.values[:, full.net.link])
    assert quick.holds == bool((expected > 130.0).all())
    assert quick.links[-1] == pytest.approx(expected, rel=0.02)


def holds(powers, per_watt, inlet, conductance=0.0, **keys):
    made = rectifier_star(powers, per_watt=per_watt, inlet=inlet, **keys)
    return charge_star(bridges(made), 230.0, 50.0, [320.0] * 3, 600, conductance).holds


def edge(per_watt, inlet):
    """The largest power that 60 W and 60 W hold, to 1 W."""
    low, high = 96.0, 128.0
    while high - low > 1.0:
        middle = (low + high) / 2
        low, high = (middle, high) if holds((60, 60, middle), per_watt, inlet) else (low, middle)
    return low


@pytest.mark.thorough
def test_the_edge_moves_towards_the_rule_and_not_past_it():
    """60 and 60 W with a third; 127 V d.c.; links first 320 V. Invariant: less inlet or ripple never moves it inwards."""
    edges = [edge(3e-6, 5.0), edge(3e-6, 1.0), edge(10e-6, 0.2)]
    assert edges == sorted(edges) and edges[-1] <= 120.0
    assert edges[0] > 100.0 and edges[-1] > 116.0


def test_a_way_back_for_lone_pulses_widens_the_range():
    """60/60/150 W, 3 µF/W, 1 Ω: with a joint of 30 Ω it holds, with one of 3 kΩ it does not."""
    assert holds((60, 60, 150), 3e-6, 1.0, 1 / 30) and not holds((60, 60, 150), 3e-6, 1.0, 1 / 3000)
