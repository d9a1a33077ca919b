"""Courses against other integrators and another formulation: the star point by the node-voltage formula, not the solver.

Kind of all checks: independent. The loads' own laws are the program's; they are checked among the loads' tests.
"""

import mpmath
import numpy as np
import pytest
from course_cases import LINES, broken_network, by_hand, driver, load, star, supply

from lostneutral.circuit.course import stretch
from lostneutral.loads import load_model

SOURCES = [supply().phasors[line] for line in LINES]


def runge_kutta(rate, state, end, steps):
    """Return the state at `end` by the classical method of fourth order with steps of one length."""
    h = end / steps
    for _ in range(steps):
        k1 = rate(state)
        k2 = rate(state + h / 2 * k1)
        k3 = rate(state + h / 2 * k2)
        k4 = rate(state + h * k3)
        state = state + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
    return state


STARS = {
    "three lamps from cold": ([load("lamp", line, p) for line, p in zip(LINES, (40, 60, 100))], 0.25, 0.0),
    "lamps and heater from cold": ([load("lamp", "L1", 60), load("lamp", "L2", 25), load("heater", "L3", 500)], 0.5, 0.0),
    "drivers and lamp from the healthy state": ([driver("L1", 90), driver("L2", 150), load("lamp", "L3", 60)], 0.2, 230.0),
}


@pytest.mark.thorough
@pytest.mark.parametrize("name", STARS)
def test_against_a_fixed_step_integration(name):
    loads, end, begin = STARS[name]
    models = [load_model(one, supply())[0] for one in loads]
    start = np.array([float(m.settled(begin)) for m in models])

    def rate(state):
        across = by_hand(SOURCES, [complex(m.admittance(x)) for m, x in zip(models, state)])
        return np.array([float(m.rate(x, v)) for m, x, v in zip(models, state, across)])

    coarse, fine = (runge_kutta(rate, start, end, n) for n in (500, 1000))
    reference_error = np.abs(coarse - fine) / np.abs(fine)  # sixteen times the fine one's, if its order holds
    assert reference_error.max() < 3e-4
    part = stretch(broken_network(star(loads)), 230.0, start, 0.0, end)
    assert part.ended_by == ()
    assert (np.abs(part.states[-1] - fine) / np.abs(fine) < reference_error + 1e-6).all()


def test_against_a_taylor_series_at_twenty_digits():
    """Two drivers on two lines, while both take constant power: g' = (P/v² − g)/lag, v = U g(other)/(g + g(other))."""
    loads = [driver("L1", 100), driver("L2", 130)]
    models = [load_model(one, supply())[0] for one in loads]
    start = [float(m.settled(230.0)) for m in models]
    end = 0.012
    with mpmath.workdps(20):
        line = mpmath.sqrt(3) * 230
        powers, lags = [mpmath.mpf(m.power) for m in models], [mpmath.mpf(float(m.lag)) for m in models]

        def slopes(_, g):
            across = [line * g[1] / (g[0] + g[1]), line * g[0] / (g[0] + g[1])]
            return [(p / v**2 - x) / lag for p, v, x, lag in zip(powers, across, g, lags)]

        expected = [float(x) for x in mpmath.odefun(slopes, 0, start)(end)]
    part = stretch(broken_network(star(loads)), 230.0, np.array(start), 0.0, end)
    assert part.states[-1] == pytest.approx(expected, rel=1e-6)
    lowest = min(np.abs(part.net.across(part.net.voltages(x))).min() for x in part.states)
    assert lowest > 1.1 * models[0].works_from  # within the range of the formula above
