"""What must hold of every course: where it ends, what a tolerance is worth, energy, mirror images, first-order answers."""

from dataclasses import replace
from math import exp

import numpy as np
import pytest
from course_cases import LINES, at, broken_network, driver, load, star, supply
from daily import daily
from scipy.integrate import quad

from lostneutral.circuit.course import Along, stretch
from lostneutral.circuit.incident import follow_course
from lostneutral.circuit.states import before_and_after
from lostneutral.loads import load_model

LAMPS = tuple(load("lamp", line, power) for line, power in zip(LINES, (40, 60, 100)))
MIXES = {
    "lamps": LAMPS,
    "lamps and heater": (load("lamp", "L1", 60), load("lamp", "L2", 100), load("heater", "L3", 800)),
    "ceramic heater and lamp": (load("ptc_heater", "L1", 1000), load("lamp", "L2", 60)),
    "driver, lamp, heater": (driver("L1", 100), load("lamp", "L2", 60), load("heater", "L3", 500)),
    "unequal drivers": tuple(driver(line, p) for line, p in zip(LINES, (100, 200, 300))),
    "motor that stalls": (load("motor", "L1", 300), driver("L2", 100), load("lamp", "L3", 100)),
}


@pytest.mark.parametrize("name", daily(MIXES, ("driver, lamp, heater", "motor that stalls")))
def test_a_long_course_ends_in_the_settled_state_that_the_other_method_names(name):
    """Independent: integration in time against the roots of the settled equations."""
    case = star(MIXES[name])
    course, reached = follow_course(case), before_and_after(case)[1].reached
    assert course.ends == "settled"
    for seen in reached.loads:
        assert course.voltages[seen.name][-1] == pytest.approx(abs(seen.voltage), abs=0.02)


@pytest.mark.thorough
def test_halving_the_tolerance_moves_the_answer_by_less_than_stated():
    """Invariant: a step's error of `tolerance` may add up over the steps of a course, to a hundred times that at most."""
    case = star(MIXES["driver, lamp, heater"], events=[at(1.0, ohms=float("inf"))], course_end=60.0)
    runs = [follow_course(case, tolerance=t) for t in (2e-6, 1e-6, 5e-7)]
    for coarse, fine, stated in zip(runs, runs[1:], (2e-4, 1e-4)):
        for name in coarse.states:
            scale = np.abs(fine.states[name]).max()
            assert np.abs(coarse.states[name] - fine.states[name]).max() < stated * scale


@pytest.mark.parametrize("loads", [LAMPS, MIXES["lamps and heater"]], ids=["lamps", "with a heater"])
def test_energy_given_out_is_energy_taken_in_less_what_is_stored(loads):
    """Invariant, to 1e-6: electrical energy = heat lost + heat stored in filaments and elements."""
    net = broken_network(star(loads))
    cold = net.settled(np.zeros(3))
    unit = 1e5  # J, so that no energy reaches the 1 at which an extra quantity would end the stretch

    def powers(net, state, across):  # a row a time
        taken = net.admittances(state).real * across**2
        lost = net.each(lambda model, x: model.loss(x)[0], state)
        return np.stack([taken.sum(axis=-1), lost.sum(axis=-1)], axis=-1) / unit

    part = stretch(net, 230.0, cold, 0.0, 30.0, along=Along(powers, np.zeros(2)), tolerance=1e-8)
    taken, lost = part.extra[-1] * unit
    stored = sum(quad(model.heat_capacity, start, end, epsabs=0, epsrel=1e-10, limit=400)[0]
                 for model, start, end in zip(net.models, cold, part.states[-1]))
    assert stored > 10.0
    assert taken == pytest.approx(lost + stored, rel=1e-6)


def test_mirrored_phases_give_the_mirrored_course():
    """Invariant: the other rotation gives the complex conjugate of every node voltage, the same loads."""
    events = [at(0.5, ohms=float("inf")), at(2.0, load="lamp L1", on=False), at(3.0, load="lamp L1", on=True)]
    one, other = (follow_course(star(MIXES["lamps and heater"], events, source=supply(turn), course_end=20.0))
                  for turn in (-120.0, 120.0))
    assert one.times == pytest.approx(other.times)
    for terminal, volts in one.nodes.items():
        assert np.conj(volts) == pytest.approx(other.nodes[terminal], abs=1e-3, nan_ok=True)
    for name in one.states:
        assert one.states[name] == pytest.approx(other.states[name], rel=1e-5, nan_ok=True)


def test_loads_moved_round_with_the_phases_give_the_course_moved_round():
    """Invariant: relabelling lines and loads together relabels the answer."""
    one = follow_course(star([load("lamp", line, p, name=str(p)) for line, p in zip(LINES, (40, 60, 100))], course_end=10.0))
    other = follow_course(star([load("lamp", line, p, name=str(p)) for line, p in zip(LINES, (100, 40, 60))], course_end=10.0))
    for name in one.voltages:
        assert one.voltages[name] == pytest.approx(other.voltages[name], rel=1e-6)


def test_one_supply_on_a_fixed_voltage_follows_an_exponential():
    """Independent, closed form: g(t) = P/v² (1 − exp(−t/lag)), a driver switched on between two lines."""
    case = star([driver("L1-L2", 100, name="driver", on=False)], [at(0.0, load="driver", on=True)], course_end=0.5)
    model = load_model(case.loads[0], case.supply)[0]
    course = follow_course(case)
    v = 230 * 3**0.5
    inside = course.times > 0
    expected = 100 / v**2 * (1 - np.exp(-course.times[inside] / model.lag))
    # The leakage of a supply that stands without voltage, 1e-7 S or so, is all that differs.
    assert course.states["driver"][inside] == pytest.approx(expected, rel=1e-4, abs=1e-6)


def test_one_element_in_water_follows_an_exponential():
    """Independent, closed form: T = T∞ (1 − exp(−t/τ)) above the water, as exact as its resistance is constant."""
    case = star([load("heater", "L1-L2", 2000, name="h", on=False, cooling="water")], [at(0.0, load="h", on=True)],
                course_end=60.0)
    model = load_model(case.loads[0], case.supply)[0]
    course = follow_course(case)
    per_kelvin, capacity = model.loss(200.0)[1], float(model.heat_capacity(200.0))
    start, end = model.surroundings, float(model.settled(230 * 3**0.5))
    resistances = model.resistance(np.linspace(start, end, 50))[0]
    spread = np.ptp(resistances) / resistances.mean()
    assert spread < 0.03
    warm = course.times > 0
    expected = 1 - np.exp(-course.times[warm] * per_kelvin / capacity)
    assert (course.states["h"][warm] - start) / (end - start) == pytest.approx(expected, abs=spread + 1e-6)


@pytest.mark.parametrize("volts", [120.0, 230.0])
def test_a_cold_lamp_takes_fourteen_to_fifteen_times_its_current(volts):
    """Published in a secondary source: 100 W at 120 V, cold 1/15 of hot resistance, current settled in about 0.10 s."""
    lamp = replace(load("lamp", "L1", 100, name="lamp", on=False), voltage=volts)
    course = follow_course(star([lamp], [at(0.0, load="lamp", on=True)], source=supply(volts=volts), course_end=2.0))
    lit = ~np.isnan(course.powers["lamp"])
    time, current = course.times[lit], course.powers["lamp"][lit] / volts
    assert 13.5 <= current[0] / current[-1] <= 15.5
    assert 0.02 < time[np.argmax(current < 1.1 * current[-1])] < 0.2


def test_after_one_lag_a_driver_is_almost_two_thirds_of_the_way():
    """Invariant of the closed form: after one lag, 1 − 1/e of the way."""
    case = star([driver("L1-L2", 60, name="d", on=False)], [at(0.0, load="d", on=True)], course_end=1.0)
    model = load_model(case.loads[0], case.supply)[0]
    course = follow_course(case)
    way = np.interp(model.lag, course.times, course.states["d"]) / course.states["d"][-1]
    assert way == pytest.approx(1 - exp(-1), abs=0.01)
