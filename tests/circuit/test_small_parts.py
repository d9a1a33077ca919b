"""The small parts of the circuit, each by hand: what is said of states, clocks of delays, steps of courses, loops without impedance."""

from dataclasses import replace
from fractions import Fraction
from math import inf, log10, sqrt
from types import SimpleNamespace

import numpy as np
import pytest
from circuit_cases import LINES, load, one_point, star, supply, watts
from scipy.integrate import solve_ivp

from lostneutral.case.model import Break, Case, Event, Path, Point
from lostneutral.circuit import arrival, continued, course, cycle, large, many, many_states, outcome, search, states
from lostneutral.circuit import network as networks
from lostneutral.circuit.course import Clocks
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.equations import Equations, Rough, Samples, model_part, take, tie
from lostneutral.circuit.incident import _break_words, _changes, _first, _with_break, cooled
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import Root, Roots, _dense_step, _moved, newton
from lostneutral.circuit.recording import Block, _lines, _runs, _told
from lostneutral.circuit.starts import floating_neutrals, usual
from lostneutral.circuit.states import before_and_after
from lostneutral.circuit.stiff import Trajectories, dense_output
from lostneutral.circuit.waveform import measures
from lostneutral.circuit.waveform.model import _path, _without_loops
from lostneutral.circuit.waveform.parts import matters, rectifier_share, spectrum_of, too_many_pulses
from lostneutral.circuit.windings import coupled, pairwise_elements, vector_group
from lostneutral.circuit.wiring import Element, wiring
from lostneutral.data import load as data
from lostneutral.errors import NoSolutionError
from lostneutral.loads import load_model

LINES_AT = [supply().phasors[line] for line in LINES]


def net_of(case):
    return network(wiring(case, case.breaks))


# What is said of settled states

def found(attracting, *modes):
    return SimpleNamespace(attracting=attracting, net=SimpleNamespace(modes=modes))


@pytest.mark.parametrize(("settled", "ends", "whole", "words"), [
    ([found(True, "running")], "settled", True, ("found one settled state that can hold",)),
    ([found(True, "running"), found(False, "running")], "settled", True, ("found one settled state that can hold",)),
    ([found(True, "running")], "undecided", True, ("is not decided by the loads given",)),
    ([found(True, "running"), found(True, "running")], "undecided", True, ("is not decided", "2 settled states can hold: loads that draw less")),
    ([found(True, "running"), found(True, "stalled")], "settled", True, ("2 settled states can hold: a motor may run on",)),
    ([found(True, "stalled"), found(True, "stalled")], "settled", True, ("2 settled states can hold: loads that draw less",)),
    ([found(True, "running"), found(True, "running"), found(False, "stalled")], "settled", True, ("2 settled states can hold: loads that draw less",)),
    ([], "cycle", False, ("does not settle", "Not every combination")), ([found(False, "running")], "settled", True, ())])
def test_what_is_said_of_the_states_that_were_found(settled, ends, whole, words):
    said = states._reason(settled, SimpleNamespace(ends=ends), whole)
    assert all(part in said for part in words) and said.count(". ") + bool(said) == len(words)
    assert ("and of the likelier combinations" in states._tried("after", whole)) is not whole


def test_a_state_whose_growth_hardly_tells_is_followed_in_time(monkeypatch):
    asked = []
    monkeypatch.setattr(states, "Dynamics", lambda net, nominal: SimpleNamespace(slowest=2.0))
    monkeypatch.setattr(arrival, "holds", lambda state, nominal: asked.append(state.growth) or True)
    state = lambda growth: search.Settled(None, None, None, growth)
    # documented: beyond 0.05 of the slowest load's own rate eigenvalues are believed
    assert [states._tested(state(g), 230.0).returns for g in (-0.026, 0.026, 0.024, -0.024)] == [None, None, True, True] and asked == [0.024, -0.024]


def test_loads_go_on_from_where_they_were():
    case = one_point(supply(), [load("lamp", "L1", power=60), load("heater", "L2", power=1000), watts(100, 230.0, "L3")], breaks=())
    net = net_of(case)
    cold = net.settled(np.zeros(3))
    assert states.carried_states(net, None, 230.0) == pytest.approx(cold)
    healthy = SimpleNamespace(net=SimpleNamespace(keys=net.keys[:1]), states=[2500.0])
    assert states.carried_states(net, healthy, 230.0) == pytest.approx([2500.0, *cold[1:]])


# Delays

def ticking(*counting):
    """A network of loads with delays: edge "low" of 2 s and "back" of 5 s."""
    models = tuple(SimpleNamespace(counting=edges, delay=lambda edge: {"low": 2.0, "back": 5.0}[edge], mode="running", expired=lambda edge: edge) for edges in counting)
    return SimpleNamespace(keys=tuple(range(len(models))), models=models)


def test_clocks_keep_when_each_delay_began(monkeypatch):
    net = ticking(("low",), (), ("back", "low"))
    clocks = Clocks().at(net, 10.0).at(net, 11.0)
    assert clocks.began == {(0, "low"): 10.0, (2, "back"): 10.0, (2, "low"): 10.0} and clocks.due(net) == 12.0
    assert clocks.left(net, 11.5).tolist() == [0.5, 3.5, 0.5]
    later = clocks.at(ticking((), ("low",), ("back",)), 11.0)  # what was called off is forgotten, what goes on is not
    assert later.began == {(1, "low"): 11.0, (2, "back"): 10.0} and Clocks().due(ticking(())) == inf
    over = []
    monkeypatch.setattr(course, "_followed", lambda net, state, new: over.append(new))
    clocks.expired(net, None)
    assert over == [{0: "low", 2: "low"}]  # those that are over together; of two of one load the first that is told of


# Steps of a course

def test_times_of_a_course_are_dense_at_first():
    assert course.grid(5.0, 5.0 + 1e-4).tolist() == [5.0, 5.0 + 1e-4]
    times = course.grid(2.0, 12.0)
    steps = times[1:] - 2.0
    assert times[0] == 2.0 and steps[0] == pytest.approx(1e-4) and steps[-1] == pytest.approx(10.0) and len(steps) == int(14 * log10(1e5))
    assert steps[1:] / steps[:-1] == pytest.approx(steps[1] / steps[0]) and len(course.grid(0.0, 2e-4)) == 13


def test_what_is_gained_along_a_step_is_the_integral_of_its_rate():
    # closed form: a rate of 1 + 6 t² + 5 t⁴ over a step has the integral t + 2 t³ + t⁵, in one piece or in two
    rate = lambda t: (1 + 6 * t**2 + 5 * t**4)[:, None]
    whole = course.Gains(np.array([0.0]), np.array([1.0]), np.array([rate(course._NODES)]))
    halves = course.Gains(np.array([0.0, 0.5]), np.array([0.5, 0.5]), np.array([rate(0.5 * course._NODES), rate(0.5 + 0.5 * course._NODES)]))
    t = np.array([0.0, 0.3, 0.5, 0.8, 1.0])
    for gains in (whole, halves):
        assert gains.at(t)[:, 0] == pytest.approx(t + 2 * t**3 + t**5)
        # full where a start of -0.5 reaches 1: t + 2 t³ + t⁵ = 1.5
        full = gains.full_at(np.array([-0.5]))
        assert full + 2 * full**3 + full**5 == pytest.approx(1.5)
        assert gains.full_at(np.array([-3.1])) == inf and gains.full_at(np.array([-3.0])) == pytest.approx(1.0)


def test_what_ended_a_stretch():
    dynamics = SimpleNamespace(turning=lambda state: np.array([1e-4, 2.0, 3e-4]), net=SimpleNamespace(models=(1, 2, 3)))
    # a millionth of nominal: 0.23 mV
    assert course._enders(dynamics, None, np.array([0.5, 1.0]), 230.0) == (0, 4) and course._enders(dynamics, None, np.zeros(0), 400.0) == (0, 2)


def test_a_load_cools_while_it_is_off():
    case = one_point(supply(), [load("lamp", "L1", power=60)])
    lamp = load_model(case.loads[0], case.supply)[0]
    hot, cold = float(lamp.settled(np.array(230.0))), float(lamp.settled(np.array(0.0)))
    assert hot > cooled(lamp, hot, 0.01) > cooled(lamp, hot, 1.0) > cold and cooled(lamp, hot, 1e5) == pytest.approx(cold, rel=0.01)
    # independent: small steps of the lamp's own rate without voltage
    x = hot
    for _ in range(100):
        x += 1e-4 * float(lamp.rate(x, 0.0))
    assert cooled(lamp, hot, 0.01) == pytest.approx(x, rel=2e-3)
    for seconds in (0.01, 1.0, 100.0):  # independent: another method
        exact = solve_ivp(lambda _, x: [float(lamp.rate(x[0], 0.0))], (0.0, seconds), [hot], method="LSODA", rtol=1e-10, atol=1e-10)
        assert cooled(lamp, hot, seconds) == pytest.approx(exact.y[0, -1], rel=1e-4)


def test_events_in_words_and_in_the_case():
    case = one_point(supply(earthing="TN-S"), [load("lamp", "L1", power=60, name="Lamp")], breaks=(Break("intake", "L2", 3.0),))
    events = (Event(5.0, load="Lamp", on=False), Event(1.0, Break("intake", "N")), Event(2.0, Break("intake", "N", 0.0)), Event(6.0, load="Lamp", on=True))
    case = replace(case, events=events)
    told = _changes(case)
    assert [(time, kind, what) for time, kind, _, what, _ in told] == [
        (1.0, "break", "neutral in the cable to intake goes open-circuit"), (2.0, "break", "neutral in the cable to intake is restored"),
        (5.0, "switch", "Lamp: switched off"), (6.0, "switch", "Lamp: switched on")]
    assert told[0][4](case).breaks == (*case.breaks, Break("intake", "N")) and told[1][4](told[0][4](case)).breaks == case.breaks
    assert not told[2][4](case).loads[0].on and told[3][4](told[2][4](case)).loads[0].on
    assert _break_words(case, case.breaks[0]) == "L2 in the cable to intake becomes a high-resistance joint (3 Ω)"
    assert _with_break(case.breaks, Break("intake", "L2", 9.0)) == (Break("intake", "L2", 9.0),)
    plain = replace(case, events=())
    assert _changes(plain)[0][:4] == (0.0, "break", "the supply", "L2 in the cable to intake becomes a high-resistance joint (3 Ω)")
    assert _changes(replace(plain, breaks=()))[0][3] == "no conductor opens" and _first(case) is case and not _first(plain).breaks
    a, b = object(), object()
    assert _runs([a, a, b, a]) == [(0, 2), (2, 3), (3, 4)] and _runs([]) == []


# Terminals and loops

def test_a_loop_without_impedance_leaves_its_currents_open_and_no_others():
    # Kirchhoff: two paths without impedance beside each other between two terminals share an unknown part of what flows
    case = one_point(supply(earthing="TN-S"), [load("resistive", "L1-PE", power=2300.0), watts(1150, 230.0, "L2")], breaks=())
    looped = replace(case, points=(*case.points, Point("shed", fed_from="intake")), paths=(Path("intake", "shed", 0.0),))
    plain, both = (before_and_after(c)[1].reached for c in (case, looped))
    assert abs(plain.currents["intake", "PE"]) == pytest.approx(10.0) and abs(both.currents["intake", "PE"]) == pytest.approx(10.0)
    assert both.currents["shed", "PE"] is None and both.earth_currents["path", 0] is None and both.currents["shed", "N"] == 0


def test_currents_of_two_joined_ends_are_found_where_a_source_ends_the_loop():
    # by hand: terminals a and b are joined to one source by elements without impedance; 3 A and 4 A leave there
    joined = (Element(("x",), ("s", ""), ("a", ""), 0j), Element(("y",), ("a", ""), ("b", ""), 0j), Element(("z",), ("p", ""), ("q", ""), 0j),
              Element(("w",), ("p", ""), ("q", ""), 0j))
    node = {("s", ""): 0, ("a", ""): 0, ("b", ""): 0, ("p", ""): 1, ("q", ""): 1}
    net = SimpleNamespace(joined=joined, node=node, wiring=SimpleNamespace(sources={("s", ""): 230.0}))
    found = outcome._joined_currents(net, {("a", ""): 3 + 0j, ("b", ""): 4 + 0j, ("p", ""): -2 + 0j, ("q", ""): 2 + 0j})
    assert (found["x",], found["y",], found["z",], found["w",]) == (7, 4, None, None)
    sources = SimpleNamespace(joined=joined[:2] + (Element(("v",), ("b", ""), ("t", ""), 0j),), node=node | {("t", ""): 0},
                              wiring=SimpleNamespace(sources={("s", ""): 230.0, ("t", ""): 230.0}))
    assert set(outcome._joined_currents(sources, {("a", ""): 3 + 0j, ("b", ""): 4 + 0j}).values()) == {None}  # fed from two ends: any share


def test_what_a_load_that_is_off_and_one_that_hangs_on_nothing_see():
    case = one_point(supply(), [watts(100, 230.0, "L1"), watts(300, 230.0, "L2"), load("resistive", "L1-L2-L3", rated=400.0, power=900.0, on=False, name="oven"),
                                watts(5, 230.0, "L3", on=False, name="idle")])
    after = before_and_after(case)[1].reached
    by = {x.name: x for x in after.loads}
    lines = [case.supply.phasors[x] for x in LINES]
    neutral = (100 * lines[0] + 300 * lines[1]) / 400
    assert abs(by["idle"].voltage) == pytest.approx(abs(lines[2] - neutral)) and by["idle"].ratio == pytest.approx(abs(lines[2] - neutral) / 230)
    assert (by["idle"].current, by["idle"].power, by["idle"].on) == (0, 0.0, False) and abs(by["oven"].voltage) == pytest.approx(230 * sqrt(3))
    floating = before_and_after(one_point(supply(), [watts(5, 230.0, "L3", on=False)]))[1].solutions[0]
    assert floating.loads[0].voltage is None and floating.loads[0].ratio is None and floating.between(("intake", "N"), ("intake", "N")) == 0


# Many at once

def test_samples_are_solved_in_chunks_that_fit():
    # arithmetic: four million numbers in matrices of twice the free nodes, 20 000 samples at most
    assert [many.chunk_size(SimpleNamespace(free=n)) for n in (0, 7, 8, 100, 2000)] == [20_000, 20_000, 15_625, 100, 1]
    net = net_of(one_point(supply(), [watts(9, 230.0, "L1")]))
    with pytest.raises(ValueError, match="rises"):
        many.solve_many(net, Samples(1, (SimpleNamespace(single_state=False),)), 230.0)


def test_starts_of_many_lie_on_rings_and_about_each_line_where_a_load_cuts_off():
    models = tuple(SimpleNamespace(cuts_off=c) for c in ((80.0, 90.0), None, (80.0, 90.0)))
    net = SimpleNamespace(models=models, fixed=np.array([230.0, 0.0, 230j]))
    assert many_states._edges(net, 230.0) == [85.0]
    made = np.array(many_states._positions(net, 230.0))
    assert len(made) == 1 + 4 * 12 + 2 * 24 and made[0] == 0
    assert np.abs(made[1:49]) == pytest.approx(np.repeat([69.0, 138.0, 207.0, 276.0], 12))
    assert np.abs(made[49:73] - 230) == pytest.approx(85.0) and np.abs(made[73:] - 230j) == pytest.approx(85.0)
    assert np.degrees(np.angle(made[1])) == pytest.approx(0.6) and np.degrees(np.angle(made[49] - 230)) == pytest.approx(0.3)


def test_parts_of_samples_take_their_own_parameters():
    lamp = load_model(load("lamp", "L1", power=60), supply())[0]
    model = replace(lamp, power=np.array([40.0, 60.0, 100.0]))
    some = take(Samples(3, (model, lamp), np.array([[1, 1], [2, 2], [3, 3]]), None, np.array([[1.0], [2.0], [3.0]])), np.array([2, 0]))
    assert (some.size, some.models[0].power.tolist(), some.models[1] is lamp) == (2, [100.0, 40.0], True)
    assert some.count.tolist() == [[3, 3], [1, 1]] and some.fixed.tolist() == [[3.0], [1.0]] and some.element_admittance is None
    assert model_part(model, 4, np.array([0])) is model and model_part("not a model", 3, np.array([0])) == "not a model"
    assert many_states._single(replace(lamp, power=np.array([40.0]))).power == 40.0 and many_states._single(lamp) is lamp


def test_a_matrix_is_tied_by_what_rounding_does_not_lose():
    one = np.array([[[2.0, 1.0], [1.0, -8.0]], [[0.0, 0.0], [0.0, 0.0]]])
    tied = one.copy()
    tie(tied)
    added = tied - one
    assert np.diagonal(added, axis1=1, axis2=2) == pytest.approx(np.array([[8e-13 + 1e-15] * 2, [1e-15] * 2]), rel=1e-2)
    assert (added[:, 0, 1] == 0).all() and (added[:, 1, 0] == 0).all()


def test_rough_laws_are_straight_between_their_voltages():
    net = net_of(star(supply(), (100 + 0j, 50 + 0j, 25 + 0j)))
    laws = np.array([[1.0, 2.0, 4.0, 4.0, 0.0]] * 3, complex)
    rough = Rough(net, laws, 400.0)
    y, slope, _ = rough.response(np.array([[50.0, 150.0, 450.0]]))
    assert y[0] == pytest.approx([1.5, 3.0, 0.0]) and slope[0] == pytest.approx([0.01, 0.02, 0.0])
    y, slope, _ = rough.response(np.array([[399.0, 250.0, 100.0]]))
    assert y[0] == pytest.approx([0.04, 4.0, 2.0]) and slope[0] == pytest.approx([-0.04, 0.0, 0.02])


# Modes and neutrals

def test_modes_are_tried_in_all_their_combinations_or_each_alone():
    made = lambda counts: one_point(supply(), [load("electronic", LINES[k % 3], name=f"s{k}", power=50.0 + k, works_from=160.0, restarts_from=210.0) for k in range(counts)])
    few, many_ = (net_of(made(n)) for n in (3, 7))
    choices, whole = search.mode_choices(few)
    resting = len(few.models[0].resting)
    assert resting > 1 and whole and len(choices) == resting**3 == len({tuple(m.mode for m in c) for c in choices})
    choices, whole = search.mode_choices(many_)  # 128 are more than 64: all running, then each alone in its others
    assert not whole and len(choices) == 1 + 7 * (resting - 1) and all(sum(m.mode != choices[0][k].mode for k, m in enumerate(c)) == 1 for c in choices[1:])
    alike = net_of(one_point(supply(), [load("electronic", "L1", name=f"s{k}", power=50.0, works_from=160.0, restarts_from=210.0) for k in range(9)]))
    assert len(search.mode_choices(alike)[0]) == resting  # like loads between the same nodes are in the same mode
    assert len(search.mode_choices(few, np.array([True, False, False]))[0]) == resting


def test_which_loads_hang_on_a_neutral():
    case = one_point(supply(), [watts(100, 230.0, "L1"), load("resistive", "L1-L2", rated=400.0, power=50.0), watts(100, 230.0, "L3")])
    net = net_of(case)
    (neutral,) = floating_neutrals(net)
    assert search.hang_on(net, neutral).tolist() == [True, False, True]
    held, order = search.holding(net, neutral)
    assert held.free == 0 and sorted(order) == list(range(net.free + len(net.fixed))) and held.node["intake", "N"] == list(order).index(neutral[0])


@pytest.mark.parametrize(("ohms_", "groups"), [(5.0, 1), (13.0, 2)])
def test_a_joint_holds_two_neutrals_together_up_to_a_quarter_of_nominal(ohms_, groups):
    # closed form: 1.15 kW on the lesser side draw 5 A, which 0.25 · 230 V bear through 11.5 ohm
    case = Case("t", supply(), (Point("intake"), Point("shed", fed_from="intake")), (
        watts(1150, 230.0, "L1", point="shed"), watts(9000, 230.0, "L2"), watts(9000, 230.0, "L1")), breaks=(Break("intake", "N"), Break("shed", "N", ohms_)))
    net = network(wiring(case, case.breaks))
    assert len(floating_neutrals(net, 230.0)) == groups and len(floating_neutrals(net)) == 1


# Waveforms and windings

def test_loops_of_conductors_without_impedance_are_opened():
    branch = lambda key, a, b, r=0.0, x=0.0, c=None: (key, a, b, r, x, c)
    loop = [branch("ab", "a", "b"), branch("bc", "b", "c"), branch("ca", "c", "a"), branch("cd", "c", "d"), branch("ad", "a", "d", 0.1), branch("ae", "a", "e", 0.0, 0.1)]
    kept, open_ = _without_loops(loop, {})
    assert [e[0] for e in kept] == ["ab", "bc", "cd", "ad", "ae"] and open_ == {"ab", "bc", "ca"}
    with pytest.raises(NoSolutionError):
        _without_loops([branch("sa", "s", "a"), branch("at", "a", "t")], {"s": 1.0, "t": 2.0})
    kept, open_ = _without_loops([branch("sa", "s", "a"), branch("at", "a", "t")], {"s": 1.0, "t": 1.0})
    assert [e[0] for e in kept] == ["sa"] and open_ == {"sa", "at"}  # sources of one voltage hang together
    assert _path({"a": [("b", "x")], "b": [("a", "x"), ("c", "y")]}, "a", "c") == ("x", "y") and _path({}, "a", "b") is None


def rectifier(line, power, **more):
    made = load("electronic", line, power=power, **more)
    return replace(made, parameters=made.parameters | {"front_end": "rectifier"})


def test_how_much_of_the_power_is_drawn_in_pulses():
    # arithmetic: 300 of 900 W; what is off does not count
    case = one_point(supply(), [rectifier("L1", 100.0, count=3), watts(600, 230.0, "L2"), rectifier("L3", 500.0, on=False)])
    assert rectifier_share(case) == pytest.approx(1 / 3, rel=1e-6) and rectifier_share(one_point(supply(), [])) == 0.0
    assert rectifier_share(one_point(supply(), [rectifier("L1", 100.0), load("resistive", "L1-L2-L3", rated=400.0, power=900.0)])) == pytest.approx(0.1, rel=1e-6)
    edge = lambda share: matters(one_point(supply(), [rectifier("L1", 1000.0 * share), watts(1000.0 * (1 - share), 230.0, "L2")]))
    limit = data("waveform")["share"]["value"]
    assert (edge(limit - 0.01), edge(limit + 0.01)) == (False, True)
    saw = load("motor", "L1-L2-L3", rated=400.0, power=10.0)
    lost = one_point(supply(), [rectifier("L1", 1000.0), saw], breaks=(Break("intake", "L2"),))
    assert not matters(lost) and matters(replace(lost, breaks=(Break("intake", "N"),))) and matters(replace(lost, loads=lost.loads[:1]))
    most = int(data("waveform")["most"]["value"])
    several = lambda n, on: [rectifier("L1", 10.0, name=f"{on} {k}", on=on) for k in range(n)]
    assert not too_many_pulses(one_point(supply(), several(most, True) + several(5, False))) and too_many_pulses(one_point(supply(), several(most + 1, True)))


def test_harmonic_currents_have_their_shares_of_the_rated_current():
    made = load("harmonic", "L1", power=230.0, count=2)
    made = replace(made, parameters=made.parameters | {"orders": (3, 5), "shares": (0.5, 0.2), "angles": (0.0, 90.0)})
    orders, peaks = spectrum_of(made, 0.1)
    assert orders == (3, 5) and peaks == pytest.approx([sqrt(2) * 2 * 0.5 * np.exp(0.3j), sqrt(2) * 2 * 0.2 * np.exp(1j * (0.5 + np.pi / 2))])
    assert spectrum_of(watts(100, 230.0, "L1"), 0.0) is None


def test_windings_are_impedances_between_pairs_of_their_terminals():
    # closed form: the nodal matrix w wᵀ / z of each, the weights summing to zero
    ends = [("a", ""), ("b", ""), ("c", ""), ("n", "")]
    legs = [{end: 1.0, ends[3]: -1.0} for end in ends[:3]]
    nodal = np.zeros((4, 4), complex)
    for winding in coupled(("t",), legs, 2 + 1j, 0.5 + 0j):
        for e in pairwise_elements(winding):
            a, b = ends.index(e.a), ends.index(e.b)
            nodal[[a, b], [a, b]] += 1 / e.impedance
            nodal[[a, b], [b, a]] -= 1 / e.impedance
    # symmetric components: (2 z1 + z0) / 3 for each leg alone is the inverse of the mean of the admittances
    own, between = (2 / (2 + 1j) + 1 / 0.5) / 3, (1 / 0.5 - 1 / (2 + 1j)) / 3
    wanted = own * np.eye(3) + between * (1 - np.eye(3))
    assert nodal[:3, :3] == pytest.approx(wanted) and nodal.sum(axis=0) == pytest.approx(np.zeros(4), abs=1e-12)
    assert [vector_group(g) for g in ("Dyn11", "YNyn0", "Yzn5", "YNd1")] == [("D", "y", 11), ("Y", "y", 0), ("Y", "z", 5), ("Y", "d", 1)]


def test_newton_stops_where_nothing_is_free_and_residuals_are_told():
    net = net_of(one_point(supply(), [watts(100, 230.0, "L1")], breaks=()))
    root = newton(net, usual(net, 230.0))
    assert root.solved and root.residual == 0.0 and root.largest == pytest.approx(100 / 230)
    assert networks._name(("intake", "N")) == "intake N" and networks._name(("star", "")) == "star"


# Newton's method and steps in time

@pytest.mark.parametrize(("left", "solved"), [(0.9e-9, True), (1.1e-9, False)])
def test_what_counts_as_solved(left, solved):
    # documented: 1e-9 of the currents that meet at a node
    nothing = np.zeros(1)
    assert Root(nothing, 1.0, 1.0, nothing, left).solved is solved
    assert Roots(nothing[None], np.ones(1), np.ones(1), nothing[None], np.array([left])).solved.tolist() == [solved]


@pytest.mark.parametrize("sparse", [False, True])
def test_what_is_left_over_is_held_to_what_meets_at_the_node(monkeypatch, sparse):
    # by hand: 159 A pass by a neutral that hangs on 100 MΩ alone, 1 V from where that leaves it
    monkeypatch.setattr(networks, "DENSE_UP_TO", 0 if sparse else 100)
    net = net_of(one_point(supply(line_impedance=0.1 + 0j), [watts(23000.0, 230.0, "L2-L3"), load("impedance", "L1", resistance=1e8)]))
    v, neutral = newton(net, usual(net, 230.0)).voltages, net.node["intake", "N"]
    v[neutral] += 1.0
    left, largest = (float(x[0]) for x in Equations(net).imbalance((v[None], 0 * v[None]))[1:3])
    assert largest > 100 and left == pytest.approx(1e-8 / (1e-5 * largest), rel=1e-3)  # no less than what may be rounding
    root = newton(net, v, steps=0)
    assert root.residual == pytest.approx(1e-8, rel=1e-3) and not root.solved and newton(net, v).solved


def test_a_step_keeps_what_rounding_drops():
    # exact fractions: what a float holds and what it dropped are together the sum
    v, rest = np.array([[1e8 + 0j, 230.0, 5.0]]), np.array([[3e-9 + 0j, 0.0, 0.0]])
    after, dropped = _moved((v, rest), np.array([[1e-9 + 0j, 0.1]]), 2)
    for k, (a, b, c) in enumerate(((1e8, 3e-9, 1e-9), (230.0, 0.0, 0.1), (5.0, 0.0, 0.0))):
        exact = Fraction(a) + Fraction(b) + Fraction(c)
        assert float(Fraction(after[0, k].real) + Fraction(dropped[0, k].real) - exact) == pytest.approx(0.0, abs=1e-24)
    assert dropped[0, 0] != 0 and dropped[0, 2] == 0


def test_a_step_that_cannot_be_solved_is_none_and_one_without_end_is_nothing():
    assert _dense_step(np.zeros((1, 2, 2)), np.ones((1, 2)), 1) is None
    assert _dense_step(np.array([[[2.0, 0.0], [0.0, 4.0]]]), np.array([[2.0, 8.0]]), 1).tolist() == [[1 + 2j]]
    assert _dense_step(np.array([[[1.0, 0.0], [0.0, 1.0]]]), np.array([[np.inf, 0.0]]), 1).tolist() == [[0j]]


def test_a_step_in_time_is_a_cubic_between_its_ends():
    cubic = (np.array([[1.0]]), np.array([[3.0]]), np.array([[0.5]]), np.array([[-2.0]]))
    value = lambda s: dense_output(cubic, np.array(s))[0, 0]
    # by its definition: x (1 − s) + s (y + (1 − s)(c + s d))
    assert [value(s) for s in (0.0, 1.0, 0.25)] == pytest.approx([1.0, 3.0, 0.75 + 0.25 * (3 + 0.75 * (0.5 - 0.5))])
    assert dense_output(tuple(np.repeat(part, 2, axis=0) for part in cubic), np.array([0.0, 1.0]))[:, 0].tolist() == [1.0, 3.0]


def test_a_course_ends_within_its_step():
    """Closed form: dx/dt = −x from 1 and from 2, followed to 1 s; the second is stopped at a share of its last step."""
    courses = Trajectories(lambda x: -x, lambda x: (-x, -np.ones((2, 1, 1))), np.zeros(2), [[1.0], [2.0]], 1.0, 1e-8)
    while courses.active[1] and courses.time[1] < 0.5:
        courses.step()
    begin, length = courses.before[1], courses.length[1]
    courses.stop_at(1, 0.5)
    assert courses.time[1] == pytest.approx(begin + 0.5 * length) and courses.x[1, 0] == pytest.approx(2 * np.exp(-courses.time[1]), rel=1e-6) and not courses.active[1]
    while courses.active.any():
        courses.step()
    assert courses.time[0] == 1.0 and courses.x[0, 0] == pytest.approx(np.exp(-1.0), rel=1e-7) and courses.time[1] < 1.0


@pytest.mark.parametrize(("largest", "growth"), [(-2.0, -2.0), (3.0, 3.0), (1.9e-6, 0.0), (2.1e-6, 2.1e-6), (-1.9e-6, 0.0)])
def test_growth_counts_as_nothing_below_a_millionth_of_the_slowest_rate(monkeypatch, largest, growth):
    # closed form: two loads of equal rates −2 and −3 coupled so that the eigenvalues are `largest` and −5 − `largest`
    net = net_of(one_point(supply(), [load("lamp", "L1", power=60), load("lamp", "L2", power=100)], breaks=()))
    dynamics = Dynamics(net, 230.0)
    product = 6.0 - largest * (-5.0 - largest)
    monkeypatch.setattr(dynamics, "jacobian", lambda states: np.array([[[-2.0, product], [1.0, -3.0]]]))
    assert dynamics.growth(np.zeros(2)) == pytest.approx(growth, rel=1e-6)
    assert Dynamics(net_of(one_point(supply(), [watts(9, 230.0, "L1")], breaks=())), 230.0).growth(np.zeros(1)) == -inf


def test_what_a_restart_in_a_turn_brings():
    case = one_point(supply(), [load("electronic", "L1", power=60, name="A"), load("electronic", "L2", power=60, name="B")])
    part = lambda times, *modes: SimpleNamespace(times=np.array(times), net=SimpleNamespace(keys=((0,), (1,)), modes=modes))
    parts = [part([3.0, 4.0], "running", "cut off"), part([4.0, 6.0], "cut off", "running"), part([6.0, 9.0], "running", "running")]
    told = [{"loads": {"A": np.array([1.0, 2.0]), "B": np.array([k, 5.0 - k])}} for k in (0.0, 1.0, 2.0)]
    # counted from the beginning of the turn; what each load meets from then until something else switches
    assert cycle._restarts(case, parts, told) == [{"time": 1.0, "load": "B", "met": {"A": 2.0, "B": 4.0}}, {"time": 3.0, "load": "A", "met": {"A": 2.0, "B": 3.0}}]


def test_a_known_state_is_carried_into_another_network():
    case = one_point(supply(), [watts(100, 230.0, "L1"), watts(300, 230.0, "L2"), load("electronic", "L3", power=40.0, works_from=160.0, restarts_from=210.0)])
    net = net_of(case)
    n = net.node["intake", "N"]
    known = SimpleNamespace(root=SimpleNamespace(voltages=np.array([0.0, 77.0])), net=SimpleNamespace(node={("intake", "N"): 1, ("intake", "L1"): 0}, keys=net.keys, modes=(
        net.modes[0], net.modes[1], "cut off")))
    moded, v = continued._carried(net, 230.0, known)
    assert v[n] == 77.0 and moded.modes == (net.modes[0], net.modes[1], "cut off") and v[net.node["intake", "L1"]] == net.fixed[net.node["intake", "L1"] - net.free]
    again, usual_one = continued._carried(net, 230.0, None)
    assert again is net and usual_one == pytest.approx(usual(net, 230.0))
    other = SimpleNamespace(root=known.root, net=SimpleNamespace(node={}, keys=(), modes=()))
    assert continued._carried(net, 230.0, other)[1] == pytest.approx(usual(net, 230.0)) and continued._carried(net, 230.0, other)[0] is net
    # a supply that cannot stay cut off at 230 V comes back, and the state is that of all running
    found = continued.in_its_modes(moded, usual(net, 230.0))
    assert found is not None and found[0].modes == net.modes


def test_a_wave_without_a_fundamental_has_no_distortion():
    times = (np.arange(200) + 0.5) * 1e-4
    turning = np.array([np.exp(-100j * np.pi * k * times) * (1 if k == 0 else sqrt(2)) / 200 for k in range(41)])
    turn = SimpleNamespace(times=times, mean=lambda v: float(np.mean(v)), turning=turning)
    assert measures.wave(turn, np.full(200, 12.0)).thd is None and measures.wave(turn, np.zeros(200)).thd is None
    assert measures.wave(turn, np.cos(100 * np.pi * times)).thd == pytest.approx(0.0, abs=1e-9)


def test_like_loads_are_lumped_by_their_line_and_kind():
    lamp = lambda line, watts_, name, count=1: load("lamp", line, power=watts_, name=name, count=count)
    case = one_point(supply(), [lamp("L1", 60, "a"), lamp("L1", 60, "b", 3), lamp("L2", 60, "c"), lamp("L1", 40, "d"), load("resistive", "L1-L2", power=9.0, rated=400.0)],
                     breaks=(Break("intake", "N", 5.0),))
    net = net_of(case)
    base = usual(net, 230.0)
    lump = large.lump_of(net, np.array([net.node["intake", "N"]]), base, 230.0)
    # by hand: five lamps of a kind on L1 are four and one; what hangs on no neutral is in no lump; the joint of 5 ohm holds it to 0 V
    assert lump.net.count.tolist() == [4.0, 1.0, 1.0] and [list(m) for m in lump.members] == [[0, 1], [2], [3]]
    assert lump.net.fixed == pytest.approx([LINES_AT[0], LINES_AT[1], LINES_AT[0], 0.0]) and lump.net.element_admittance == pytest.approx([1 / 5])
    assert large.lump_of(net, np.array([], int), base, 230.0) is None
    # a line that drops along the way is one line, at the mean of all that hangs on it, whatever their kind (by hand: 4, 1 and 1 loads)
    net = replace(net, branch_ends=net.branch_ends.copy(), fixed=np.append(net.fixed, LINES_AT[0] - 6.0))
    net.branch_ends[3, net.branch_ends[3] >= net.free] = len(base)
    lump = large.lump_of(net, np.array([net.node["intake", "N"]]), np.append(base, LINES_AT[0] - 6.0), 230.0)
    assert lump.net.fixed == pytest.approx([LINES_AT[0] - 6 / 5, LINES_AT[1], LINES_AT[0] - 6 / 5, 0.0])


def test_the_load_that_is_told_by_its_ports_and_the_one_that_is_told_by_its_lines():
    case = one_point(supply(), [load("motor", "L1-L2-L3", rated=400.0, power=1500.0, name="saw"), watts(100, 230.0, "L1")], breaks=())
    saw = before_and_after(case)[1].reached.loads[0]
    assert abs(saw.voltage) == pytest.approx(230 * sqrt(3)) and saw.ratio == pytest.approx(230 * sqrt(3) / 400)
    net = net_of(case)
    v = np.array([net.all_voltages(np.zeros(net.free, complex))] * 2)
    branch = next(k for k, m in enumerate(net.models) if len(m.ports) > 1)
    assert net.volts(v, branch) == pytest.approx([230 * sqrt(3)] * 2) and net.volts(v, int(net.pairs[0])) == pytest.approx([230.0] * 2)


def test_the_lines_of_each_row():
    case = one_point(supply(), [watts(100, 230.0, "L1"), watts(300, 230.0, "L2")])
    net = net_of(case)
    lines = [case.supply.phasors[x] for x in LINES]
    neutral = (100 * lines[0] + 300 * lines[1]) / 400
    states = np.array([net.settled(np.full(2, 230.0))] * 2)
    row, (nodes, *_) = _told([Block(np.zeros(2), net, case, states, {})] * 2)
    assert row.tolist() == [0, 1, 0, 1]  # what repeats is told once
    highest, lowest = _lines(case, nodes, 2)
    assert highest.T == pytest.approx(np.abs([[u - neutral for u in lines]] * 2)) == lowest.T


def test_of_too_many_modes_each_load_alone_is_tried_in_its_others(monkeypatch):
    class Modes:
        def __init__(self, name, mode="on"):
            self.name, self.mode, self.resting = name, mode, ("on", "off", "low")

        def in_mode(self, mode):
            return Modes(self.name, mode)

    net = SimpleNamespace(models=[Modes(n) for n in "abc"], branch_ends=[(0, 1), (1, 2), (2, 3)], ported=())
    told = lambda: [" ".join(m.mode for m in models) for models in search.mode_choices(net)[0]]
    assert len(told()) == 27 and search.mode_choices(net)[1]
    monkeypatch.setattr(search, "MOST_MODES", 26)
    # documented: all in normal running, then each alone in each of its other modes
    assert told() == ["on on on", "off on on", "low on on", "on off on", "on low on", "on on off", "on on low"] and not search.mode_choices(net)[1]
