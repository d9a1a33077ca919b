"""The march against another method: smooth diodes (a soft knee of 20 mV) in scipy's own stiff integrator.

Independent: the equations are written here from the circuit, without the program's matrices. Three cases, three cycles each
from given link voltages; what differs is the knee.
"""

from math import pi, sqrt

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import expit
from wave_cases import Cable, case, load, rectifier, rectifier_star, supply

from lostneutral.case.model import Break
from lostneutral.circuit.waveform.march import Marcher, Marching
from lostneutral.circuit.waveform.model import time_network

KNEE, OMEGA, CYCLES = 0.02, 2 * pi * 50, 3
ANGLES = np.radians([0.0, -120.0, 120.0])


def marched(made, start):
    """Links after the cycles, by the program."""
    net = time_network(made, made.breaks)
    y = np.zeros(len(net.mass))
    y[net.link] = start
    course = Marching(0.0, y, np.zeros(len(start), int), np.ones(len(start), bool))
    marcher = Marcher(net, 96)
    marcher.settle(course)
    return marcher.march(course, CYCLES * net.period).y[net.link]


def soft(x):
    """x where positive, 0 where negative, with a knee."""
    return KNEE * np.logaddexp(0.0, x / KNEE)


def bridge(across, link, resistance):
    """(current in, current into the link) of a bridge with inlet resistance and soft diodes."""
    forward, backward = soft(across - link) / resistance, soft(-across - link) / resistance
    return forward - backward, forward + backward


def integrated(power, capacitance, resistance, start, ways):
    """Links after the cycles, by solve_ivp: a star whose point is tied down by `ways` (S) and 20 nF."""
    power, capacitance = np.array(power, float), np.array(capacitance)

    def slope(t, x):
        links, star = x[:3], x[3]
        across = sqrt(2) * 230.0 * np.cos(OMEGA * t + ANGLES) - star
        into, charging = bridge(across, links, resistance)
        return [*((charging - power / links) / capacitance), (into.sum() + ways(t, across, star)) / 20e-9]

    found = solve_ivp(slope, (0, CYCLES / 50), [*start, 0.0], "BDF", rtol=1e-6, atol=1e-4, max_step=2e-4)
    assert found.success
    return found.y[:3, -1]


@pytest.mark.thorough
def test_floating_star():
    """100/50/55 W, 3 µF/W, 1 Ω, leakage 1 MΩ; from 290 V."""
    power = (100, 50, 55)
    expected = integrated(power, [3e-6 * p for p in power], 1.0, [290.0] * 3, lambda t, across, star: across.sum() / 1e6)
    assert marched(rectifier_star(power), [290.0] * 3) == pytest.approx(expected, rel=5e-4)


@pytest.mark.thorough
def test_bad_joint_and_a_heater_in_parallel():
    """50/60/200 W, 3 µF/W, 2 Ω; joint of 100 Ω, 200 W of heating on L1; from 320/310/300 V."""
    power, start = (50, 60, 200), [320.0, 310.0, 300.0]
    expected = integrated(power, [3e-6 * p for p in power], 2.0, start,
                          lambda t, across, star: across[0] * 200 / 230**2 - star / 100 + across.sum() / 1e6)
    made = rectifier_star(power, [Break("intake", "N", 100.0)], extra=[load("resistive", "L1", power=200.0)], inlet=2.0)
    assert marched(made, start) == pytest.approx(expected, rel=5e-4)


def test_one_bridge_behind_an_inductance():
    """100 W, 1 µF/W, 5 Ω, behind 0.5 Ω and 2 mH; from 300 V. Here the smooth diode is a voltage that follows the current."""
    ohms, henry, farad = 5.5, 2e-3, 100e-6

    def slope(t, x):
        sign = 2 * expit(2 * x[0] / 1e-4) - 1
        volts = sqrt(2) * 230.0 * np.cos(OMEGA * t)
        return [(volts - ohms * x[0] - x[1] * sign) / henry, (x[0] * sign - 100.0 / x[1]) / farad]

    found = solve_ivp(slope, (0, CYCLES / 50), [0.0, 300.0], "Radau", rtol=1e-7, atol=1e-7, max_step=1e-4)
    made = case([rectifier("L1", 100, per_watt=1e-6, inlet=5.0)], [],
                Cable(0.5 + 0.0j, 0j), supply(line_impedance=1j * OMEGA * henry))
    assert marched(made, [300.0]) == pytest.approx(found.y[1:, -1], rel=5e-4)
