"""The parts that settled states, arrivals and cycles are made of, each against a closed form, a count or brute force."""

from math import pi, sqrt
from types import SimpleNamespace

import numpy as np
import pytest
from circuit_cases import after, load, ohms, one_point, star, supply, watts
from daily import daily

from lostneutral import parse_case
from lostneutral.circuit import arrival, cycle, large, outcome, starts
from lostneutral.circuit.arrival import _Visit
from lostneutral.circuit.course import Stretch
from lostneutral.circuit.equations import Equations
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import first_guess, newton, newton_rows
from lostneutral.circuit.sameness import FLAT, SAME, are_one, distinct
from lostneutral.circuit.states import before_and_after
from lostneutral.circuit.tabled import _cubic
from lostneutral.circuit.waveform.measures import FORM_FACTOR, wave
from lostneutral.circuit.waveform.turns import _each, _swing, turn_figures
from lostneutral.circuit.wiring import wiring

TURN = np.exp(-2j * pi / 3)
LINES = 230 * TURN ** np.arange(3)


def net_of(case):
    return network(wiring(case, case.breaks))


# Where settled states are looked for

def test_coarse_starts_are_the_middle_and_two_rings():
    found = starts.coarse(230.0)
    assert len(found) == 13 and found[0] == 0
    assert np.abs(found[1:7]) == pytest.approx(115.0) and np.abs(found[7:]) == pytest.approx(276.0)
    for ring in (found[1:7], found[7:]):
        assert np.angle(ring / ring[0]) % (2 * pi) == pytest.approx(np.arange(6) * pi / 3)
        assert np.degrees(np.angle(ring[0])) == pytest.approx(7.2)  # off every axis of symmetry


def test_the_usual_start_has_every_load_as_at_nominal_voltage():
    # closed form: the node-voltage formula with each load's impedance at 230 V, also of lamps, whose own star differs
    case = one_point(supply(), [load("lamp", "L1", power=60), load("lamp", "L2", power=100), watts(40, 230.0, "L3")])
    net = net_of(case)
    neutral = sum(w * u for w, u in zip((60, 100, 40), LINES)) / 200
    for v in (starts.usual(net, 230.0), first_guess(net, 230.0)):
        assert v[net.node["intake", "N"]] == pytest.approx(neutral, abs=1e-3)
    settled = newton(net, starts.usual(net, 230.0))
    assert settled.solved and abs(settled.voltages[net.node["intake", "N"]] - neutral) > 1


def test_newton_cuts_no_corner_of_its_equations():
    """Independent: the current sum of every start's answer, worked out from the loads' own laws."""
    case = one_point(supply(), [load("lamp", "L1", power=60), load("lamp", "L2", power=100), watts(40, 230.0, "L3")])
    net = net_of(case)
    at = net.node["intake", "N"]
    begun = np.tile(starts.usual(net, 230.0), (3, 1))
    begun[1, at], begun[2, at] = 500 + 300j, -900
    roots = newton_rows(Equations(net), begun)
    assert roots.solved.all()
    neutral = roots.voltages[:, at]
    assert neutral == pytest.approx(neutral[0], abs=1e-6)
    sums = sum(model.response(abs(u - neutral[0]))[0] * (u - neutral[0]) for model, u in zip(net.models, LINES))
    assert abs(sums) < 1e-9 and roots.largest[0] == pytest.approx(max(abs(model.response(abs(u - neutral[0]))[0] * (u - neutral[0]))
                                                                 for model, u in zip(net.models, LINES)), rel=1e-6)


def test_two_states_are_one_within_a_hundred_thousandth_of_nominal():
    net = net_of(star(supply(), (100 + 0j, 50 + 0j, 25 + 0j)))
    root = newton(net, starts.usual(net, 230.0)).voltages
    at = net.node["intake", "N"]

    def moved(volts):
        other = root.copy()
        other[at] += volts
        return other

    assert are_one(net, root, moved(0.9 * SAME * 230), 230.0)
    assert not are_one(net, root, moved(1.1 * SAME * 230), 230.0)  # the equations do not hold in between
    assert not are_one(net, root, moved(1.1 * FLAT * 230), 230.0)
    assert distinct(net, [root, moved(1e-3 * SAME * 230), moved(50), moved(50 + 1e-4), root], 230.0) == [0, 2]


def test_groups_and_cells():
    # count: numbers that pairs join
    assert [g.tolist() for g in starts._joined(6, np.array([0, 2, 4]), np.array([2, 5, 4]))] == [[0, 2, 5], [1], [3], [4]]
    values = np.array([[1.0, 1.0, -1.0], [1.0, 1.0, -1.0], [1.0, -1.0, -1.0]])
    assert starts._cells(values).tolist() == [[False, True], [True, True]]  # brute force: whether the corners differ in sign


def test_a_star_point_is_found_where_the_current_sum_is_zero():
    case = star(supply(), (100 + 0j, 50 + 30j, 25 - 10j))
    net, s = net_of(case), [1 / z for z in (100 + 0j, 50 + 30j, 25 - 10j)]
    wanted = sum(u * y for u, y in zip(LINES, s)) / sum(s)
    (group,) = starts.floating_neutrals(net)
    found = starts.positions(net, group, starts.usual(net, 230.0), 230.0, starts.LawTables(net, 230.0))
    assert min(abs(z - wanted) for z in found) < 230 * 2.1 * 2 / 128 / 16 * 1.5  # a cell of the map, divided twice
    law = starts.CurrentSum(net, group, starts.usual(net, 230.0), 230.0, starts.LawTables(net, 230.0))
    points = np.array([[0j, 50 + 20j, wanted]])
    assert law(points)[0] == pytest.approx([sum(y * (z - u) for u, y in zip(LINES, s)) for z in points[0]], abs=1e-9)
    assert starts.LawTables(net, 230.0).reach == starts.RESONANT  # a coil and a capacitor
    assert starts.LawTables(net_of(star(supply(), (100 + 0j, 50 + 0j, 25 + 0j))), 230.0).reach == starts.REACH


def test_a_machine_s_star_point_counts_in_the_current_sum():
    # independent: Kirchhoff's law by the nodal matrix of the whole network, resistances and the machine as at 230 V
    case = one_point(supply(), [load("motor", "L1-L2-L3-N", rated=400.0, power=1500.0, name="pump"), ohms(100 + 0j, "L1"), ohms(50 + 0j, "L2")])
    net = net_of(case)
    (group,) = starts.floating_neutrals(net)
    base = starts.usual(net, 230.0)
    law = starts.CurrentSum(net, group, base, 230.0, starts.LawTables(net, 230.0))
    nodal = net.nodal(net.admittance(net.at(230.0)))
    for z in (0j, 50 + 20j, -80j):
        v = base.copy()
        v[group] = z
        assert law(np.array([[z]]))[0, 0] == pytest.approx((nodal @ v)[group].sum(), rel=1e-6) and abs(law(np.array([[z]]))[0, 0]) > 0.1


# What a state says of its currents and loads

def test_currents_of_joined_conductors_follow_from_those_they_join():
    # Kirchhoff by hand: conductors without impedance carry what the loads beyond take
    case = one_point(supply(), [watts(2300, 230.0, "L1"), watts(1150, 230.0, "L2"), watts(0.1, 230.0, "L3")], breaks=())
    state = after(case)
    assert [abs(state.currents["intake", c]) for c in ("L1", "L2")] == pytest.approx([10.0, 5.0])
    assert state.currents["intake", "N"] == pytest.approx(-(10 * LINES[0] + 5 * LINES[1] + 0.1 / 230 * LINES[2]) / 230, abs=1e-9)


def test_a_load_in_delta_tells_its_highest_branch_and_what_flows_into_each_line():
    case = one_point(supply(), [load("resistive", "L1-L2-L3", rated=400.0, name="boiler", power=3000.0), ohms(100 + 0j, "L1")])
    boiler = next(x for x in after(case).loads if x.name == "boiler")
    branch = 1000 / 400**2  # S, three alike
    between = [LINES[0] - LINES[1], LINES[1] - LINES[2], LINES[2] - LINES[0]]
    assert abs(boiler.voltage) == pytest.approx(230 * sqrt(3)) and boiler.ratio == pytest.approx(230 * sqrt(3) / 400)
    assert boiler.power == pytest.approx(3 * branch * 3 * 230**2)
    wanted = {"L1": branch * (between[0] - between[2]), "L2": branch * (between[1] - between[0]), "L3": branch * (between[2] - between[1])}
    assert {end: abs(i) for end, i in boiler.currents.items()} == pytest.approx({end: abs(i) for end, i in wanted.items()})
    assert outcome._into(SimpleNamespace(connect=("L1", "N")), [3 + 4j]) == {"L1": 3 + 4j, "N": -3 - 4j}


# Cycles

def visit(time, state, condition="on", low=0.0, high=0.0, left=0.0):
    return _Visit(time, (condition,), np.array([state]), np.array([low]), np.array([high]), np.array([left]))


def test_a_cycle_is_known_by_three_turns_alike():
    slow = SimpleNamespace(scale=np.array([1.0]), slowest=5.0)
    turns = [visit(0, 3.0), visit(10, 3.0), visit(20, 3.0)]
    assert arrival._repeats(turns, slow) and not arrival._repeats(turns[1:], slow)
    assert not arrival._repeats([visit(0, 3.0), visit(10, 3.0), visit(20, 3.01)], slow)  # 0.3 % in its state
    assert not arrival._repeats([visit(0, 3.0), visit(9.9, 3.0), visit(20, 3.0)], slow)  # 2 % in its time
    assert not arrival._repeats([visit(0, 3.0, left=1.0), visit(10, 3.0), visit(20, 3.0)], slow)  # a delay that ran
    # faster than its loads, by four fifths: 0.2 % in its state becomes 0.16 %
    assert arrival._repeats([visit(0, 3.0), visit(10, 3.0), visit(20, 3.0054)], slow) and not arrival._repeats([visit(0, 3.0), visit(4, 3.0), visit(8, 3.0054)], slow)
    assert arrival._repeats([visit(0, 3.0), visit(4, 3.0), visit(8, 3.0042)], slow)
    assert not arrival._repeats([visit(0, 3.0, "off"), visit(10, 3.0), visit(20, 3.0)], slow)


def test_turns_shorter_than_a_load_takes_to_follow_are_drawn_on_to_where_they_lead():
    # a geometric series by hand: differences of 1, 0.5, 0.25 … lead 1 + 0.5 + 0.25 … = 2 on from the first, to 3
    slow = SimpleNamespace(scale=np.array([1.0]), slowest=50.0)

    def drawn(*visits):
        course = SimpleNamespace(visits=list(visits), undrawn=0, state=visits[-1].state)
        arrival._draw_on(course, slow)
        return course

    course = drawn(visit(0, 1.0), visit(4, 7.0, "off"), visit(10, 2.0), visit(14, 7.0, "off"), visit(20, 2.5))
    assert course.state[0] == pytest.approx(3.0) and course.visits[-1].state[0] == pytest.approx(3.0) and course.undrawn == 4
    arrival._draw_on(course, slow)
    assert course.state[0] == pytest.approx(3.0)  # not again by the same turns
    # differences that do not shrink: as fast as the slowest load allows
    assert drawn(visit(0, 1.0), visit(10, 2.0), visit(20, 3.0)).state[0] == pytest.approx(3 + 1 / (np.exp(10 / 50) - 1))
    assert drawn(visit(0, 1.0), visit(10, 2.0), visit(20, 1.5)).state[0] == pytest.approx(1.5)  # to and fro
    for turns in ((visit(0, 1.0), visit(60, 2.0), visit(120, 2.5)), (visit(0, 1.0), visit(10, 2.0), visit(25, 2.5)),
                  (visit(0, 1.0, "off"), visit(10, 2.0), visit(20, 2.5)), (visit(10, 2.0), visit(20, 2.5))):
        assert drawn(*turns).state[0] == 2.5  # longer than it takes; not of one length; no turns; one turn


def test_what_a_cycle_repeats_is_its_last_turn():
    made = SimpleNamespace(net="net", state=np.array([3.0]), clocks="clocks", time=40.0, visits=[
        visit(0, 9.0, low=-5, high=99), visit(10, 3.0, low=1, high=90), visit(25, 8.0, "off", low=4, high=7), visit(40, 3.0, low=2, high=8)])
    found = arrival._cycle(made, np.array([1.0]))
    assert (found.ends, found.period, found.low[0], found.high[0], found.time) == ("cycle", 30.0, 2, 8, 40.0)
    # none alike: the mean time between changes into these modes, and the extremes of the later half
    made.visits[1] = visit(10, 6.0, low=1, high=90)
    found = arrival._cycle(made, np.array([1.0]))
    assert (found.period, found.low[0], found.high[0]) == (20.0, 2, 8)
    made.visits = [visit(40, 3.0)]
    assert arrival._cycle(made, np.array([1.0])).ends == "undecided"


def test_patterns_differ_for_every_load_and_are_no_larger_than_one():
    made = np.array(arrival.patterns(5, 4))
    assert made.shape == (4, 5) and np.abs(made).max() <= 1 and len({tuple(np.round(row, 6)) for row in made}) == 4
    assert arrival._disturbed(np.full(5, 2.0), 0.01, 4) == pytest.approx(2 * (1 + 0.01 * made))


def test_as_few_moments_as_cover_every_extreme():
    # by hand: row 1 covers two of three extremes, row 3 the last
    assert cycle._few([np.array([5.0, 0, 9, 9]), np.array([7.0, 0.05, 0, 9]), np.array([9.0, 9, 9, 0.1])], 0.1) == [1, 3]
    assert cycle._rms(np.array([0.0, 1.0, 3.0]), np.array([2.0, 2.0, 2.0])) == pytest.approx(2.0)
    assert cycle._rms(np.array([0.0, 1.0, 2.0]), np.array([0.0, 3.0, 0.0])) == pytest.approx(sqrt(9 / 2))  # trapezia of the squares
    assert cycle._rms(np.array([1.0, 1.0]), np.array([3.0, 4.0])) == 4.0


def test_how_long_lines_stay_about_as_they_are(monkeypatch):
    case = star(supply(), (100 + 0j, 50 + 0j, 25 + 0j))
    part = Stretch("net", np.array([0.0, 1.0, 2.0, 3.0, 4.0]), np.zeros((5, 1)))
    told = [{"lines": {"intake L1": np.array([230.0, 236, 240, 270, 236])}, "metalwork": {}}]
    monkeypatch.setattr(cycle, "moment", lambda case, net, state: (net, state))
    ((_, at, lasts), (_, at_top, lasts_top)) = cycle._moments(case, [part], told, [1, 3])
    # 0.05 of 230 V: 230 to 240 V are about 236 V, from 0 s to 2 s; 270 V stands alone
    assert (at, lasts, at_top, lasts_top) == (0.0, 2.0, 3.0, 0.0)


# Waveforms

def repeating(values, cycles=1, period=0.02, rows=400):
    times = (np.arange(rows * cycles) + 0.5) * period / rows
    weights = np.full(len(times), period / rows)
    turning = np.array([np.exp(-2j * pi * k * times / (cycles * period) * cycles) * (1 if k == 0 else sqrt(2)) / len(times) for k in range(41)])
    return SimpleNamespace(times=times, weights=weights, mean=lambda v: float(np.mean(v)), turning=turning, net=SimpleNamespace(period=period),
                           duration=cycles * period, values=values(times) if values else None, ends="cycle", restarts=())


def test_measures_of_a_wave_with_a_third_harmonic():
    # closed form: r.m.s. √(a² + b²), distortion b / a, angles as they stand
    turn = repeating(None)
    v = sqrt(2) * (200 * np.cos(100 * pi * turn.times + 0.3) + 60 * np.cos(300 * pi * turn.times - 1.0)) + 0.0
    found = wave(turn, v)
    assert found.rms == pytest.approx(sqrt(200**2 + 60**2)) and found.crest == pytest.approx(np.abs(v).max())
    assert found.thd == pytest.approx(0.3) == wave(turn, 1e-7 * v).thd and found.harmonics[0] == pytest.approx(200) and found.harmonics[2] == pytest.approx(60)
    assert np.radians([found.angles[0], found.angles[2]]) == pytest.approx([0.3, -1.0], abs=1e-6)
    assert found.average_reading == pytest.approx(np.abs(v).mean() * pi / sqrt(8)) and pytest.approx(1.1107, abs=1e-4) == FORM_FACTOR


def test_a_turn_of_several_cycles_has_the_extremes_of_each():
    turn = repeating(None, cycles=3)
    number = (turn.times / 0.02).astype(int)
    volts = np.array([100.0, 250.0, 180.0])[number] * sqrt(2) * np.cos(100 * pi * turn.times)
    assert _each(turn, number, volts) == pytest.approx([100, 250, 180])
    swing = _swing(turn, number, volts)
    assert (swing["lowest"], swing["highest"]) == (pytest.approx(100), pytest.approx(250))
    assert swing["rms"] == pytest.approx(sqrt((100**2 + 250**2 + 180**2) / 3))
    case = one_point(supply(), [watts(100, 230.0, "L1", name="lamp"), load("resistive", "L1-L2", name="oven", power=100.0)])
    turn.restarts = ((0.021, 0),)
    turn.net.ports, turn.net.bridge_port = [SimpleNamespace(load=0)], [0]
    made = turn_figures(case, turn, {("volts", "intake", "L1"): volts, ("volts", "intake", "L2"): -volts, ("link", "lamp"): volts**2})
    assert made["period"] == pytest.approx(0.06) and made["lines"]["intake L2"] == pytest.approx(swing)
    assert made["loads"]["oven"]["highest"] == pytest.approx(500) and made["loads"]["lamp"]["highest"] == pytest.approx(250)
    assert made["links"]["lamp"]["highest"] == pytest.approx((volts**2).max()) and made["links"]["lamp"]["lowest"] == pytest.approx((volts**2).min())
    (again,) = made["restarts"]
    assert (again["load"], again["time"]) == ("lamp", 0.021) and again["met"]["lamp"] == pytest.approx(250)  # from its cycle to the end
    # of two restarts each counts until the next: 100 and 250 V in the first two cycles, 180 V in the third
    turn.restarts = ((0.001, 0), (0.041, 0))
    traces = {("volts", "intake", "L1"): volts, ("volts", "intake", "L2"): -volts}
    assert [again["met"]["lamp"] for again in turn_figures(case, turn, traces)["restarts"]] == [pytest.approx(250), pytest.approx(180)]
    turn.ends = "settled"
    assert turn_figures(case, turn, {}) is None


def test_a_cubic_has_its_value_and_slope():
    parts = np.array([[1.0], [2.0], [3.0], [4.0]])[None]
    t, per = np.array([0.5]), np.array([10.0])
    assert _cubic(parts, t)[0, 0, 0] == pytest.approx(1 + 1 + 0.75 + 0.5)
    assert _cubic(parts, t, per)[0, 1, 0] == pytest.approx((2 + 3 + 3) * 10)


@pytest.mark.parametrize("powers, ends", daily(
    [((60, 60, 60), "undecided"), ((60, 80, 100), "settled"), ((10, 20, 900), "settled")], several=True))
def test_a_large_network_taken_in_lumps_ends_as_the_whole_search_says(powers, ends):
    # practice: of three alike nothing decides which line is held down; independent: the search of the whole small network
    text = 'title = "t"\nsupply = {}\n' + "".join(
        f'[[load]]\nname = "{n}"\nkind = "electronic"\nfront_end = "corrected"\nconnect = "L{n + 1}-N"\npower = {p}\n' for n, p in enumerate(powers))
    case = parse_case(text)
    net, whole = net_of(case), before_and_after(case)[1]
    found = large.states_by_lumps(net, 230.0, net.settled(np.full(3, 230.0)))
    assert found.ends == ends == whole.ends and found.lumps == 3 and found.lost == 0
    at = net.node["intake", "N"]
    neutrals = [state.root.voltages[at] for state in found.states]
    wanted = [s.nodes["intake", "N"] for s in whole.solutions if s.attracting]
    assert all(min(abs(z - w) for z in neutrals) < 1e-3 for w in wanted)
    if ends == "settled":
        assert neutrals[0] == pytest.approx(whole.reached.nodes["intake", "N"], abs=1e-3)


def _map_of(case):
    net = net_of(case)
    (nodes,) = starts.floating_neutrals(net)
    return net, nodes, starts.usual(net, 230.0), starts.LawTables(net, 230.0)


@pytest.mark.parametrize("loads", [
    (watts(60, 230.0, "L1"), watts(300, 230.0, "L2"), watts(25, 230.0, "L3")),
    (load("electronic", "L1", power=300.0, works_from=170.0), load("electronic", "L2", power=60.0, works_from=90.0), load("electronic", "L3", power=100.0)),
    (load("lamp", "L1", power=60.0), load("varistor", "L1", rating=275.0), load("heater", "L2", power=500.0), load("varistor", "L2", rating=275.0), load("electronic", "L3", power=900.0)),
], ids=["resistors", "electronic", "mixed"])
def test_what_is_left_out_of_a_map_holds_no_star_point(monkeypatch, loads):
    # invariant: star points of the whole map are those of its blocks in which the sum may be zero
    given = _map_of(one_point(supply(), loads))
    asked, law = [], starts.CurrentSum.may_be_zero
    monkeypatch.setattr(starts.CurrentSum, "may_be_zero", lambda self, *block: asked.append(law(self, *block)) or asked[-1])
    found = starts.positions(given[0], *given[1:3], 230.0, given[3])
    assert np.mean(np.concatenate([kept.ravel() for kept in asked])) < 0.7  # much of it is left out
    monkeypatch.setattr(starts.CurrentSum, "may_be_zero", lambda self, middle, far: np.ones(middle.shape, bool))
    whole = starts.positions(given[0], *given[1:3], 230.0, given[3])
    assert found and all(min(abs(z - other) for other in found) < 1.5 * starts.APART * 230 for z in whole)


def test_star_points_are_looked_for_where_every_load_can_stay_in_its_mode():
    units = [load("electronic", line, power=power, works_from=170.0, restarts_from=200.0) for line, power in zip(("L1", "L2", "L3"), (100.0, 80.0, 60.0))]
    net, nodes, base, tables = _map_of(one_point(supply(), [*units, watts(500.0, 230.0, "L1")]))
    in_modes = lambda *modes: net.varied(models=tuple(m.in_mode(mode) for m, mode in zip(net.models, (*modes, "running"))))
    at = lambda *modes, lasting=range(4): starts.positions(in_modes(*modes), nodes, base, 230.0, tables, lasting)
    # by hand: without wiring to speak of the slack is its share of nominal
    assert starts._slack(net, 230.0) == pytest.approx(starts.SLACK * 230, abs=0.01)
    # trigonometry: of three voltages to the corners of a triangle of 398 V sides one is 230 V at least; below 200 V all three are not
    assert at("cut off", "cut off", "cut off") == []
    # the fixed load holds the star point at L1, where the unit that runs has no voltage
    assert max(abs(LINES[0] - z) for z in at("cut off", "running", "running")) < 100 and at("running", "cut off", "cut off") == []
    assert at("running", "cut off", "cut off", lasting=())  # where that is not asked
    # documented: the voltages between which a mode lasts, to a step of the table
    away = tables.away(net.models[0].in_mode("cut off"))
    assert away[tables.volts < 199].max() == 0 and away[np.argmin(np.abs(tables.volts - 230))] == pytest.approx(30, abs=0.5)


def test_the_sum_may_be_zero_only_where_it_can_change_by_what_it_is():
    # by hand: 1 S to 0 V, and 0.1 S to 10 V; within d of z the sum, 1.1 z - 1, changes by 1.1 d, by at most (1 + (1 + √2) 0.1) d as it is bounded
    held = object.__new__(starts.CurrentSum)
    volts = np.linspace(0.0, 20.0, 41)
    held.linear, held.at_rest, held.table, held.laws = 1.0 + 0j, 0j, volts, {10.0 + 0j: (np.full(41, 0.1), np.zeros(41))}
    held.ways, held.lasting = {10.0 + 0j: 0.1 * volts}, []
    side = np.arange(-20.0, 21.0)
    middle = side[:, None] + 1j * side
    zero = 10 * 0.1 / 1.1
    kept = held.may_be_zero(middle, np.full(middle.shape, 2.0))
    assert kept[np.abs(middle - zero) <= 2].all() and not kept[np.abs(middle - zero) > 2 * 1.01 * 1.2415 / 1.1].any()
