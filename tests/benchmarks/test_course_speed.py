"""What an hour of a course costs, as a ratio to the same integration of the bare equations; and how that grows.

The bare equations are the node-voltage formula and the loads' laws, each kind as one array, with the same method and
tolerance, without modes, events or Jacobian. Ratios are printed and kept; no time passes or fails.
"""

from cmath import rect
from math import inf, radians
from time import perf_counter

import numpy as np
from scipy.integrate import solve_ivp

from lostneutral.case.model import Break, Case, Load, Point, Supply
from lostneutral.circuit.course import stretch
from lostneutral.circuit.incident import follow_course
from lostneutral.circuit.network import network
from lostneutral.circuit.wiring import wiring

HOUR, TOLERANCE = 3600.0, 1e-7
SUPPLY = Supply({f"L{k + 1}": rect(230.0, radians(-120.0 * k)) for k in range(3)})


def case(count):
    """Return a star of `count` lamps and heaters, of five sorts each, spread over the lines."""
    loads = tuple(Load(f"load {k}", ("lamp", "heater")[k % 2], (f"L{k % 3 + 1}", "N"), "intake", 230.0,
                       parameters={"power": (40.0, 60.0, 75.0, 100.0, 150.0)[k % 5] * (1, 10)[k % 2]})
                  for k in range(count))
    return Case("benchmark", SUPPLY, (Point("intake"),), loads, breaks=(Break("intake", "N", inf),))


def bare(net, start):
    """Integrate the states by the node-voltage formula."""
    sources = net.fixed[[net.branch_ends[i][0] - net.free for i in range(len(net.models))]]
    scale = np.maximum(np.abs(start), 1.0)

    def slope(_, x):
        state = x * scale
        y = net.each(lambda model, z: model.admittance(z).real, state)
        across = np.abs(sources - (y * sources).sum() / y.sum())
        return net.each(lambda model, z, v: model.rate(z, v), state, across) / scale

    done = solve_ivp(slope, (0, HOUR), start / scale, method="LSODA", rtol=TOLERANCE, atol=TOLERANCE * 1e-2)
    return done.y[:, -1] * scale


def seconds(work, *arguments, **more):
    """Return the shorter time of two runs, s, and what was made."""
    spent = []
    for _ in range(2):
        start = perf_counter()
        made = work(*arguments, **more)
        spent.append(perf_counter() - start)
    return min(spent), made


def test_an_hour_with_tens_of_loads_against_the_bare_equations(benchmark):
    many = case(30)
    net = network(wiring(many, many.breaks))
    start = net.settled(np.full(30, 230.0))
    own, course = seconds(stretch, net, 230.0, start, 0.0, HOUR, tolerance=TOLERANCE)
    yardstick, end = seconds(bare, net, start)
    np.testing.assert_allclose(course.states[-1], end, rtol=1e-4)  # invariant: both follow the same equations
    benchmark.pedantic(lambda: follow_course(many, end=HOUR), rounds=1)
    benchmark.extra_info["ratio"] = round(own / yardstick, 2)
    print(f"\n30 loads, an hour: {own:.2f} s, {own / yardstick:.2f} times the bare equations")


def test_growth_with_the_number_of_loads(benchmark):
    counts, taken = (9, 18, 36, 72), []
    for count in counts:
        spent, course = seconds(follow_course, case(count), end=HOUR)
        assert course.ends == "settled"
        taken.append(spent)
    order = np.polyfit(np.log(counts), np.log(taken), 1)[0]
    benchmark.pedantic(lambda: follow_course(case(9), end=HOUR), rounds=1)
    benchmark.extra_info["order"] = round(float(order), 2)
    print(f"\n{', '.join(f'{n} loads {t:.2f} s' for n, t in zip(counts, taken))}: grows as n^{order:.2f}")
