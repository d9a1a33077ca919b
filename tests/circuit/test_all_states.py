"""Every settled state at once: neutrals that float apart, streets, loads that are on or off. Kinds as each test says."""

import os
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from daily import daily
from scipy.optimize import root

sys.path.insert(0, str(Path(__file__).parents[1] / "course"))
from brute_force import VOLTS, brute_force, random_stars  # noqa: E402
from course_cases import LINES, driver, load, star, supply  # noqa: E402

from lostneutral.case.model import Break, Case, Point  # noqa: E402
from lostneutral.case.reader import parse_case  # noqa: E402
from lostneutral.circuit.network import network  # noqa: E402
from lostneutral.circuit.search import mode_choices, search  # noqa: E402
from lostneutral.circuit.starts import floating_neutrals  # noqa: E402
from lostneutral.circuit.states import before_and_after, settle  # noqa: E402
from lostneutral.circuit.wiring import wiring  # noqa: E402
from lostneutral.loads import load_model  # noqa: E402

STARS = int(os.environ.get("STARS", "0"))  #: `STARS=500` takes all of so many
SEEDS = range(STARS) if STARS else daily((0, 4, 21, 30, 31, 73, 83, 88, 92, 103, 107, 112, 116, 121, 124, 127, 276), (21, 31, 88, 107, 116, 124))
STARTS = 600  #: of the brute force in each star
SOURCES = [supply().phasors[line] for line in LINES]


@pytest.mark.parametrize("seed", SEEDS)
def test_brute_force_finds_no_state_that_the_search_has_not(seed):
    """Independent: Newton's method from very many random starts, with residual, eigenvalues and modes worked out anew."""
    case = random_stars(seed)
    net = network(wiring(case, case.breaks_after()))
    states, whole = search(net, VOLTS)
    told = [(np.array([s.root.voltages[net.node[p.name, "N"]] for p in case.points]), s) for s in states]
    missing, otherwise = [], []
    for found in brute_force(case, STARTS, seed):
        same = [s for at, s in told if np.abs(at - found.neutrals).max() < 0.05 and s.net.modes == found.modes]
        if not same:
            missing.append(found)
        elif (found.growth < 0) != same[0].attracting:
            otherwise.append((found, same[0].growth))
    assert not missing and not otherwise, "\n".join(map(str, [*missing, *otherwise]))
    assert whole


def star_points(loads, starts, seed):
    """Return every star point that a general root finder reaches from random starts, by the current sum alone."""
    models = [load_model(one, supply())[0] for one in loads]
    ends = [supply().phasors[one.connect[0]] for one in loads]

    def current(s):
        u = np.array([complex(*s) - v for v in ends])
        total = sum(complex(m.admittance(m.settled(abs(x)))) * x for m, x in zip(models, u))
        return [total.real, total.imag]

    random, found = np.random.default_rng(seed), []
    near = [v + 89.5 * np.exp(2j * np.pi * k / 12) for v in SOURCES for k in range(12)]
    for z in [*(random.uniform(-400, 400, starts) + 1j * random.uniform(-400, 400, starts)), *near]:
        got = root(current, [z.real, z.imag], method="hybr", options={"maxfev": 60})
        at = complex(*got.x)
        if np.hypot(*current(got.x)) < 1e-9 and abs(at) < 2000 and all(abs(at - other) > 0.05 for other in found):
            found.append(at)
    return found


def test_neutrals_that_float_apart_have_every_combination_of_their_states():
    """Independent: a general root finder on each star alone; on ideal lines the stars know nothing of each other."""
    random = np.random.default_rng(7)
    points, loads, alone = [], [], []
    for name in ("a", "b"):
        own = [replace(driver(line, round(p)), point=name, name=f"{name} {line}")
               for line, p in zip(LINES, random.uniform(60, 250, 3))]
        points.append(Point(name))
        loads += own
        alone.append(star_points(own, 40, 1))
    case = Case("two", supply(), tuple(points), tuple(loads), breaks=tuple(Break(p.name, "N", np.inf) for p in points))
    after = before_and_after(case)[1]
    seen = [(s.nodes["a", "N"], s.nodes["b", "N"]) for s in after.solutions]
    assert min(len(part) for part in alone) > 1
    for a in alone[0]:
        for b in alone[1]:
            assert min(max(abs(a - x), abs(b - y)) for x, y in seen) < 0.2, (a, b)
    assert sum(s.attracting for s in after.solutions) > 1


def test_a_street_of_many_electronics_has_the_states_of_its_lump():
    """Independent: its lump is a star of three constant powers, whose known states hold one line at the cut-off."""
    case = parse_case("""title = "street"
[supply]
[[group]]
name = "home"
count = 60
spacing = { line = [0.0002, 0.0001] }
service = { line = [0.01, 0.0] }
load = [
  { name = "set", kind = "electronic", power = 100, front_end = "corrected" },
  { name = "computer", kind = "electronic", power = 60, front_end = "corrected" },
]
[[break]]
feeding = "home joint 1"
""")
    after = before_and_after(case)[1]
    held = [s for s in after.solutions if s.attracting]
    lows = {min(abs(load_.voltage) for load_ in s.loads) for s in held}
    assert len(held) == 3 and max(lows) < 92  # one line held at its cut-off, whichever
    assert not any(s.reached and not s.attracting for s in after.solutions)
    assert max(s.residual for s in after.solutions) < 1e-6
    assert "taken together" in after.reason and "not tested" not in after.reason


def test_a_street_has_as_many_floating_neutrals_whatever_its_length():
    """Invariant: no home's own cable carries more than its own home, so that no length sets its neutral apart."""
    text = """title = "street"
[supply]
[[group]]
name = "home"
count = {count}
spacing = {{ line = [0.0002, 0.0001] }}
service = {{ line = [0.03, 0.0] }}
load = [{{ name = "set", kind = "electronic", power = 400 }}]
[[break]]
feeding = "home joint {broken}"
"""
    for count in (30, 600):
        case = parse_case(text.format(count=count, broken=count // 2))
        assert len(floating_neutrals(network(wiring(case, case.breaks_after())), 230.0)) == 2


def test_a_tripped_motor_is_not_tried_as_a_state_that_lasts():
    """Invariant: its protector cools at any voltage until it tries again."""
    model = load_model(load("motor", "L1", 200), supply())[0]
    volts = np.linspace(0, 500, 51)
    assert (model.in_mode("tripped").margin(model.in_mode("tripped").settled(volts), volts) <= 0).all()
    case = star([load("motor", line, 200) for line in LINES])
    assert len(mode_choices(network(wiring(case, case.breaks_after())))[0]) == 2**3


def charger_by_small_steps(power, on_from, off_at, model, resistors):
    """Return (period, lowest, highest voltage) of an on-off supply on L1 by steps of 2 µs; resistors in S on L2, L3."""
    g, on, step, switches, seen = float(model.leakage), True, 2e-6, [], []
    fed, sum_ = sum(y * source for y, source in zip(resistors, SOURCES[1:])), sum(resistors)
    for number in range(400_000):
        y = g if on else float(model.leakage)
        v = abs(SOURCES[0] - (y * SOURCES[0] + fed) / (y + sum_))
        if len(switches) >= 2:
            seen.append(v)
        if on and v <= off_at:
            on = False
            switches.append(number * step)
            if len(switches) == 4:
                break
        elif not on and v >= on_from:
            on, g = True, float(model.leakage)
        elif on:
            g += step * (float(model.settled(v)) - g) / float(model.lag)
    return switches[-1] - switches[-2], min(seen), max(seen)


@pytest.mark.thorough
def test_a_supply_with_a_restart_voltage_cycles_as_small_steps_say():
    """Independent: the star point by the node-voltage formula, the conductance by Euler's steps."""
    loads = [driver("L1", 1700, works_from=190.0, restarts_from=195.0), load("resistive", "L2", 800),
             load("resistive", "L3", 1200)]
    after = before_and_after(star(loads))[1]
    assert after.ends == "cycle" and after.reached is None
    model = load_model(loads[0], supply())[0]
    period, low, high = charger_by_small_steps(1700, 195.0, 190.0, model, [800 / 230**2, 1200 / 230**2])
    told = after.cycle["loads"]["electronic L1"]
    assert after.cycle["period"] == pytest.approx(period, rel=0.01)
    assert told["lowest"] == pytest.approx(low, abs=0.5) and told["highest"] == pytest.approx(high, abs=0.5)


def test_many_loads_that_cycle_have_the_figures_of_one_as_large():
    """Invariant: forty supplies of a fortieth are one, also where so many loads are taken together."""
    def cycle(many):
        loads = [[driver("L1", 1700 / many, works_from=190.0, restarts_from=195.0), load("resistive", "L2", 800 / many),
                  load("resistive", "L3", 1200 / many)] for _ in range(many)]
        return before_and_after(star([replace(one, name=f"{one.name} {k}") for k, own in enumerate(loads) for one in own]))[1]

    one, many = cycle(1), cycle(40)
    assert many.ends == "cycle" and many.reached is None and len(many.cycle["loads"]) == 120
    assert many.cycle["period"] == pytest.approx(one.cycle["period"], rel=1e-3)
    for kind, name, alike in (("loads", "electronic L1 0", "electronic L1 39"), ("links", "electronic L1 0", "electronic L1 39"),
                              ("lines", "intake L3", "intake L3")):
        for figure in ("lowest", "highest", "rms"):
            assert many.cycle[kind][alike][figure] == pytest.approx(one.cycle[kind][name][figure], rel=1e-3)
    assert len(many.passing) == len(one.passing) and many.dwells == pytest.approx(one.dwells, rel=0.01)


def test_without_a_restart_voltage_the_state_at_the_cut_off_says_so():
    """Ruling: what is held at its cut-off goes on and off faster than the star moves, and its state tells it."""
    after = before_and_after(star([driver(line, p) for line, p in zip(LINES, (100, 200, 300))]))[1]
    told = [one.details["at_cut_off"] for one in after.reached.loads]
    assert told == [False, False, True]


def test_a_joint_followed_from_sound_to_open_ends_where_the_search_ends():
    """Independent: the search and the course in time, at both ends."""
    case = star([driver("L1", 150), load("lamp", "L2", 100), load("heater", "L3", 600)])
    at = None
    for ohms in np.geomspace(0.1, 1e4, 12):
        at = settle(case, [Break("intake", "N", float(ohms))], start=at)
        assert at is not None and at.attracting
    at = settle(case, start=at)
    expected = before_and_after(case)[1].reached
    assert at.root.voltages[at.net.node["intake", "N"]] == pytest.approx(expected.nodes["intake", "N"], abs=1e-6)
