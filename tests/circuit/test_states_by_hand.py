"""Settled states of small networks: between which states another is looked for, moments, courses and samples side by side, lumps."""

from dataclasses import replace

import numpy as np
import pytest
from circuit_cases import load, one_point, supply, watts

from lostneutral import parse_case
from lostneutral.case.model import Break
from lostneutral.circuit import arrival, continued, large, many_states, outcome, search, states
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.equations import Samples
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import newton
from lostneutral.circuit.starts import usual
from lostneutral.circuit.wiring import wiring
from lostneutral.errors import NoSolutionError


def net_of(case):
    return network(wiring(case, case.breaks))


def test_a_state_that_parts_two_others_is_looked_for_on_the_way_between_them():
    a, b, far = np.array([0.0, 50j]), np.array([100.0, 50j]), np.array([300.0, 50j])
    started = lambda *found: [start[0].real for start in search._between([a, b], [a, b, *found])]
    # documented: at 10, 30, 50, 70 and 90 % of the way, from either end, where nothing is known in between
    assert started() == pytest.approx([10, 30, 50, 70, 90, 90, 70, 50, 30, 10]) == started(np.array([-1.0, 50j]))
    assert started(np.array([60.0, 0.0])) == [] == search._between([a], [a, b])
    # of three the nearest counts: 100 V to one side, 200 V to the other
    assert [start[0].real for start in search._between([b, far, a], [a, b, far])][-10:] == pytest.approx([280, 240, 200, 160, 120, 10, 30, 50, 70, 90])


def test_a_moment_has_its_loads_as_they_are():
    # practice: a cold filament has a small part of its hot resistance, so that it draws several times its current
    net = net_of(case := one_point(supply(), [load("lamp", "L1", power=60)], breaks=()))
    cold, hot = (outcome.moment(case, net, net.settled(np.array([volts]))) for volts in (0.0, 230.0))
    assert hot.loads[0].power == pytest.approx(60.0, rel=1e-6) and 5 < cold.loads[0].power / 60 < 20
    assert cold.attracting and cold.reached and cold.currents["intake", "L1"] == pytest.approx(cold.loads[0].current)


def test_a_charger_meets_a_changed_circuit_with_its_current():
    # by its law: once it has met the circuit its state is the one that belongs to the voltage that it then has, wherever it was before
    case = one_point(supply(), [load("charger", "L1", power=3000.0), watts(500, 230.0, "L2"), load("lamp", "L3", power=100)], breaks=[Break("intake", "N", 5.0)])
    dynamics = Dynamics(net_of(case), 230.0)
    for before in (dynamics.cold, 3 * dynamics.cold):
        met = dynamics.met(before)
        assert met[0] == pytest.approx(dynamics.net.settled(dynamics.sizes(met))[0], rel=1e-5)
        assert met[1:] == pytest.approx(before[1:]) and met[0] != pytest.approx(before[0], rel=1e-3)


def test_courses_with_loads_of_their_own_end_each_in_its_own_state():
    # independent: Newton's method in each network by itself
    net = net_of(one_point(supply(), [load("lamp", "L1", power=60), load("lamp", "L2", power=60), watts(100, 230.0, "L3")]))
    counts = np.array([[1.0, 1.0, 1.0], [4.0, 1.0, 1.0], [1.0, 1.0, 3.0]])
    ends = arrival.arrive(net, 230.0, np.tile(Dynamics(net, 230.0).cold, (3, 1)), counts)
    for count, end in zip(counts, ends):
        own = net.varied(count=count)
        assert end.ends == "settled" and end.settled.root.voltages == pytest.approx(newton(own, usual(own, 230.0)).voltages, abs=1e-3)


def test_samples_of_which_a_first_effort_finds_no_state_have_a_second(monkeypatch):
    net = net_of(one_point(supply(), [load("lamp", "L1", power=60), load("lamp", "L2", power=100), watts(60, 230.0, "L3")]))
    samples = Samples(2, count=np.array([[1.0, 1.0, 1.0], [2.0, 1.0, 1.0]]))
    whole = many_states.states_of_many(net, samples, 230.0)
    monkeypatch.setattr(many_states, "EFFORTS", ((0, 1), (30, 4)))  # without a step nothing is found
    again = many_states.states_of_many(net, samples, 230.0)
    assert whole.sample.tolist() == again.sample.tolist() == [0, 1] and again.voltages == pytest.approx(whole.voltages, abs=1e-6)


def test_what_is_said_of_a_network_that_is_taken_in_lumps(monkeypatch):
    case = one_point(supply(), [load("electronic", f"L{k}", power=p) for k, p in ((1, 10.0), (2, 20.0), (3, 900.0))])
    monkeypatch.setattr(large, "MOST_BRANCHES", 2)
    net = net_of(case)
    found = large.states_by_lumps(net, 230.0, net.settled(np.full(3, 230.0)))
    told = lambda **changed: (monkeypatch.setattr(large, "states_by_lumps", lambda *_: replace(found, **changed)), states.settled_states(case, "after", net))[1]
    state, reached = told(ends="settled")
    assert reached is found.states[0] and state.solutions[0].reached and not state.reason.startswith(states.NO_END)
    state, reached = told(ends="cycle")
    assert reached is None and not state.solutions[0].reached and state.reason.startswith(states.NO_END)
    monkeypatch.setattr(large, "followed", lambda *_: None)
    with pytest.raises(NoSolutionError, match="likelier combinations"):
        told(states=[], ends="undecided")


def test_networks_whose_loads_stand_otherwise_are_told_apart():
    net = net_of(one_point(supply(), [load("electronic", f"L{k}", power=60.0, works_from=160.0, restarts_from=210.0) for k in (1, 2)]))
    stand = {net.conditions}
    for k in (0, 1):
        models = tuple(model.in_mode("cut off") if n == k else model for n, model in enumerate(net.models))
        stand.add(net.varied(models=models).conditions)
    assert len(stand) == 3


def test_fans_that_start_and_are_not_held_crawl():
    # practice: 178 kW of fans behind 0.7 ohm, which give 57 kW at most; at standstill nothing brakes them, and they turn far below their speed
    case = parse_case('title = "t"\n[supply]\nline_impedance = [0.7, 0.15]\n[[point]]\nname = "hall"\n[[load]]\nname = "Fans"\nkind = "motor"\n'
                      'connect = "L1-L2-L3-N"\npower = 14800\ntorque_exponent = 2\ncount = 12\npoint = "hall"\n[[break]]\nfeeding = "hall"\n')
    for state in states.before_and_after(case):
        fans = state.reached.loads[0]
        assert state.ends == "settled" and fans.details["stalled"] and 0.5 < fans.details["slip"] < 1 and 0 < fans.power < 57e3


def test_a_circuit_that_comes_to_nothing_is_told_so(monkeypatch):
    case = one_point(supply(), [load("electronic", "L1", power=60.0, restarts_from=170.0), load("resistive", "L2", power=60.0)])
    monkeypatch.setattr(search, "search", lambda *_: ([], True))
    monkeypatch.setattr(arrival, "decide", lambda *_, **__: arrival.Arrival("undecided"))
    with pytest.raises(NoSolutionError, match="neither to rest nor to a cycle.* Look for motors or sources that the supply cannot hold"):
        states.settled_states(case, "after", net_of(case))


@pytest.mark.parametrize("kettle", [567.0, 400.0])
def test_a_source_that_feeds_an_island_by_itself_is_no_state(kettle):
    # by hand: 430 W of a source are what a kettle takes at some voltage, at any angle; as a current it follows a voltage that nothing gives
    case = parse_case('title = "t"\n[supply]\n[[point]]\nname = "hall"\n[[break]]\nfeeding = "hall"\n[[load]]\nname = "Kettle"\nkind = "resistive"\n'
                      f'connect = "L1-N"\npower = {kettle}\n[[load]]\nname = "Panel"\nkind = "source"\npower = 430\nconnect = "L1-N"\n')
    after = states.before_and_after(case)[1]
    assert after.ends == "settled" and len(after.solutions) == 1
    assert abs(after.reached.loads[0].voltage) < 1e-6 and not after.reached.loads[1].details["works"]


def _restless(**other):
    """A supply unit beside fixed loads: running it draws its own line down below where it goes off, off it meets what it comes back at."""
    unit = load("electronic", "L1", power=600.0, works_from=170.0, restarts_from=200.0, restart_delay=0.5)
    return one_point(supply(), [unit, watts(300.0, 230.0, "L1"), watts(400.0, 230.0, "L2"), watts(500.0, 230.0, "L3")], **other)


def test_loads_that_come_round_to_where_they_have_been_are_not_asked_again(monkeypatch):
    # behaviour: running, off, running; what follows is the same again
    net, asked = net_of(_restless()), []
    monkeypatch.setattr(continued, "newton", lambda net, *given, **how: asked.append(net.modes[0]) or newton(net, *given, **how))
    assert continued.in_its_modes(net, usual(net, 230.0)) is None and asked == ["running", "cut off", "running"]


def test_the_state_arrived_at_is_that_among_all_of_them(monkeypatch):
    # invariant: by the search for every state, or without it
    held = one_point(supply(), [load("electronic", "L1", power=60.0, restarts_from=170.0), watts(80.0, 230.0, "L2"), watts(70.0, 230.0, "L3")])
    cases = [held, _restless(), _restless(breaks=())]
    wanted = [states.settled_states(case, "after", net_of(case))[1] for case in cases]
    monkeypatch.setattr(search, "search", lambda *_: pytest.fail("no other state is asked for"))
    found = [states.arrived_at(case, "after", net_of(case)) for case in cases]
    assert [state and state.net.modes[0] for state in found] == ["running", None, "running"]
    for state, same in zip(found, wanted):
        assert (state is None) == (same is None) and (state is None or search.same(state, same, 230.0))
    # where none is arrived at, one that can hold is enough, or there is none
    monkeypatch.setattr(arrival, "decide", lambda *_, **__: arrival.Arrival("undecided"))
    monkeypatch.setattr(search, "search", lambda *_: ([wanted[0]], True))
    assert states.arrived_at(held, "after", net_of(held)) is None
    monkeypatch.setattr(search, "search", lambda *_: ([], True))
    with pytest.raises(NoSolutionError, match="neither to rest nor to a cycle"):
        states.arrived_at(held, "after", net_of(held))
