"""Several states of a network large enough for sparse matrices. Kind: invariant."""

import numpy as np

from lostneutral import parse_case
from lostneutral.circuit import search
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import network
from lostneutral.circuit.search import CAREFUL, SHORT
from lostneutral.circuit.starts import LawTables, usual
from lostneutral.circuit.wiring import wiring

STREET = """
title = "A street of power supplies"
[supply]
earthing = "TN-C-S"
electrode = 5
[[group]]
name = "house"
count = 70
spacing = { length = 10, area = 95 }
service = { length = 10, area = 16 }
[[group.load]]
name = "set"
kind = "electronic"
power = 100
front_end = "corrected"
[[break]]
feeding = "house joint 10"
conductor = "N"
"""


def test_several_states_are_solved_as_each_of_them():
    case = parse_case(STREET)
    net = network(wiring(case, case.breaks_after(), ()))
    assert net.sparse
    dynamics = Dynamics(net, case.supply.nominal)
    states = np.array([net.settled(np.full(len(net.models), volts)) for volts in (180.0, 230.0, 300.0)])
    assert np.allclose(net.voltages(states), [net.voltages(state) for state in states], atol=1e-9)
    assert np.allclose(dynamics.jacobian(states), [dynamics.jacobian(state) for state in states], rtol=1e-9)
    # independent: how the rates themselves change with the state of one load
    state = states[0]
    for k in (0, 9, 69):
        apart = 1e-4 * dynamics.scale[k] * np.eye(len(state))[k]
        found = (dynamics.rates(state + apart) - dynamics.rates(state - apart)) / (2e-4 * dynamics.scale)
        assert np.allclose(dynamics.jacobian(state)[:, k], found, rtol=1e-5, atol=1e-6 * np.abs(found).max())


def test_rows_with_other_numbers_of_loads_are_solved_as_each_by_itself():
    case = parse_case(STREET)
    net = network(wiring(case, case.breaks_after(), ()))
    counts = net.count * np.linspace(0.9, 1.1, 3 * len(net.models)).reshape(3, -1)
    states = np.array([net.settled(np.full(len(net.models), volts)) for volts in (180.0, 230.0, 300.0)])
    together = Dynamics(net.varied(count=counts), case.supply.nominal)
    alone = [Dynamics(net.varied(count=own), case.supply.nominal) for own in counts]
    assert np.allclose(together.rates(states), [one.rates(state) for one, state in zip(alone, states)], rtol=1e-9)
    assert np.allclose(together.jacobian(states), [one.jacobian(state) for one, state in zip(alone, states)], rtol=1e-9)


def test_a_start_near_a_state_leads_to_it_however_short_its_steps():
    case = parse_case(STREET)
    net = network(wiring(case, case.breaks_after(), ()))
    base, tables = usual(net, 230.0), LawTables(net, 230.0)
    ends = [search._led_to(net, [base], 230.0, tables, effort)[0].voltages for effort in (SHORT, CAREFUL)]
    assert np.allclose(*ends, atol=1e-6) and np.abs(ends[0] - base).max() > 1.0
