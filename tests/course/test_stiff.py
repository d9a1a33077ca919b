"""The method by which courses are followed, and what it asks of the loads. Kinds: as each test says."""

from dataclasses import replace

import numpy as np
import pytest
from course_cases import LINES, broken_network, driver, load, star
from scipy.integrate import solve_ivp

from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.stiff import Trajectories
from lostneutral.loads import load_model
from lostneutral.loads.base import LoadModel
from lostneutral.loads.stack import alike, stacked

MIX = [driver("L1", 120), driver("L2", 90, restarts_from=110.0), load("lamp", "L3", 60), load("lamp", "L1", 25),
       load("heater", "L2", 700), load("heater", "L3", 1500, cooling="radiant", element_temperature=800.0),
       load("motor", "L3", 300), load("ptc_heater", "L1", 900), load("electronic", "L2", 40, protection=275.0)]


def law(x):
    return np.stack([x[:, 1], 5 * (1 - x[:, 0] ** 2) * x[:, 1] - x[:, 0]], axis=1)


def jacobian(x):
    made = np.zeros((len(x), 2, 2))
    made[:, 0, 1], made[:, 1, 0], made[:, 1, 1] = 1, -10 * x[:, 0] * x[:, 1] - 1, 5 * (1 - x[:, 0] ** 2)
    return made


def sloped(x):
    return law(x), jacobian(x)


def reference(start, end):
    return solve_ivp(lambda _, x: law(x[None])[0], (0, end), start, rtol=1e-12, atol=1e-13, method="DOP853").y[:, -1]


def test_halving_the_step_divides_the_error_by_sixteen():
    """Independent: an oscillator against an explicit method of order 8; published: the method is of order 4."""
    expected, errors = reference([2.0, 0.0], 0.5), []
    for count in (10, 20, 40):
        courses = Trajectories(law, sloped, 0.0, [[2.0, 0.0]], 0.5, 1e9)
        for _ in range(count):
            courses.next[:] = 0.5 / count
            courses.step()
        errors.append(np.abs(courses.x[0] - expected).max())
    assert np.log2(np.divide(errors[:-1], errors[1:])) == pytest.approx([4.0, 4.0], abs=0.15)


def test_courses_together_are_courses_alone():
    """Invariant, and independent by the other method: each course has its own steps."""
    starts = [[2.0, 0.0], [0.5, 1.0], [-1.0, 3.0]]
    together = Trajectories(law, sloped, 0.0, starts, 3.0, 1e-7)
    while together.active.any():
        together.step()
    for start, x in zip(starts, together.x):
        assert x == pytest.approx(reference(start, 3.0), abs=1e-6)


@pytest.mark.filterwarnings("error")
def test_a_step_that_leads_beyond_all_numbers_is_refused_without_a_word():
    # by hand: of dx/dt = 1 − exp(x) exp(−x) is 1 + (exp(−x at first) − 1) exp(−t); the first step tried ends where exp(x) has no value
    courses = Trajectories(lambda x: 1 - np.exp(x), lambda x: (1 - np.exp(x), -np.exp(x)[..., None]), 0.0, [[-700.0]], 705.0, 1e-6)
    courses.next[:] = 5000.0
    courses.end[:] = 5000.0
    courses.step()
    assert not courses.took.any()
    courses.end[:] = 705.0
    while courses.active.any():
        courses.step()
    assert courses.x[0] == pytest.approx(-np.log1p(np.exp(-5.0)), rel=1e-4)


def test_slopes_in_closed_form_are_those_of_differences():
    """Independent: central differences of rate and admittance."""
    random = np.random.default_rng(3)
    for one in (*MIX, replace(load("varistor", "L1", 1), parameters={"rating": 275.0})):
        made = load_model(one, star(MIX).supply)[0]
        for mode in made.modes:
            model = made.in_mode(mode)
            voltage = random.uniform(120, 380, 40)
            state = model.settled(voltage) * random.uniform(0.95, 1.05, 40)
            voltage = random.uniform(120, 380, 40)
            for closed, differences in zip(model.slopes(state, voltage), LoadModel.slopes(model, state, voltage)):
                size = np.abs(differences).max() + 1e-12
                expected = pytest.approx(differences, rel=2e-3, abs=1e-5 * size)
                assert np.broadcast_to(closed, 40) == expected, (one.kind, mode)


def test_the_jacobian_of_a_star_is_that_of_differences():
    """Independent: central differences of the rates of all loads together."""
    net = broken_network(star(MIX))
    dynamics = Dynamics(net, 230.0)
    state = net.settled(np.linspace(150.0, 320.0, len(MIX)))
    moving, columns = dynamics.moving, []
    for j in moving:
        step = np.zeros(len(state))
        step[j] = 1e-6 * dynamics.scale[j]
        change = dynamics.rates(state + step) - dynamics.rates(state - step)
        columns.append(change[moving] / 2e-6 / dynamics.scale[moving])
    made = dynamics.jacobian(state)
    assert made == pytest.approx(np.array(columns).T, abs=1e-5 * np.abs(made).max())


def test_loads_stacked_answer_as_each_alone():
    """Invariant: to rounding, in every mode."""
    models = [load_model(driver(line, p, restarts_from=r), star(MIX).supply)[0]
              for line, p, r in zip(LINES, (50, 80, 300), (100.0, 110.0, 120.0))]
    assert len({alike(m) for m in models}) == 1
    volts = np.array([[60.0, 150.0, 230.0], [300.0, 90.5, 400.0]])
    for mode in models[0].modes:
        many = stacked([m.in_mode(mode) for m in models])
        for k, model in enumerate(m.in_mode(mode) for m in models):
            for seen, alone in zip(many.response(volts), model.response(volts[:, k])):
                assert seen[:, k] == pytest.approx(alone, rel=1e-12)


def test_a_course_begins_with_about_the_step_that_it_goes_on_with():
    """Invariant: two decays; a first step that is far too short takes many steps to grow, and one that is too long is refused."""
    matrix = np.array([[-1.0, 0.5], [0.0, -300.0]])
    courses = Trajectories(lambda x: x @ matrix.T, lambda x: (x @ matrix.T, np.broadcast_to(matrix, (len(x), 2, 2))), 0.0, [[1.0, 2.0]], 1.0, 1e-5)
    courses.step()
    assert courses.took.all()
    first = courses.length[0]
    courses.step()
    courses.step()
    assert 1e-3 * courses.length[0] < first < courses.length[0]
    assert first > 1e-3 / 300
