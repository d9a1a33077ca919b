"""What differs from row to row of one network: couplings, switches, causes and conditions, each against its closed form or by arithmetic.

Values of the data files `couplings` and `evidence` are assumptions; what is made of them is held here.
"""

from dataclasses import replace
from math import floor, inf, pi, sqrt
from types import SimpleNamespace

import numpy as np
import pytest

from lostneutral import parse_case
from lostneutral.case.model import Break
from lostneutral.circuit.states import before_and_after
from lostneutral.circuit.wiring import EARTH
from lostneutral.consequences.touch import is_live
from lostneutral.data import load as data
from lostneutral.evidence.assumed import unmeasured
from lostneutral.evidence.couplings import admittances, arrangements, couplings
from lostneutral.evidence.effects import line_words, point_words
from lostneutral.evidence.likelihood import loaded
from lostneutral.evidence.places import places, tried
from lostneutral.evidence.rivals import rivals
from lostneutral.evidence.settled import Maps
from lostneutral.evidence.world import RAISED, States, World, drawn, highest_supply, world_columns
from lostneutral.studies.conditions import Circumstance

HOUSE = """title = "t"
[supply]
voltage = 240
earthing = "TN-S"
electrode = 2
[[point]]
name = "house"
cable = { length = 40, area = 10 }
[[point]]
name = "shed"
fed_from = "house"
phases = ["L1"]
cable = { line = [0.2, 0], neutral = [0.3, 0], pe = [0.4, 0] }
[[point]]
name = "lodge"
fed_from = "house"
kind = "board"
cable = { length = 0.5, area = 10 }
[[load]]
name = "set"
kind = "electronic"
connect = "L1-N"
power = 300
count = 3
point = "house"
[[load]]
name = "stove"
kind = "resistive"
connect = "L2-N"
power = 2000
point = "house"
[[load]]
name = "fan"
kind = "resistive"
connect = "L3-N"
power = 50
point = "house"
on = false
"""
UNKNOWN = """[[unknown]]
break = "shed"
capacitance = { low = 1e-9, high = 4e-9 }
[[unknown]]
load = "stove"
on = 0.3
[[unknown]]
load = "stove"
power = { low = 1000, high = 3000 }
[[unknown]]
one_of = ["set", "fan"]
weights = [3, 1]
none = 0.2
[[unknown]]
supply_voltage = { low = 220, high = 252 }
[[unknown]]
point = "house"
electrode = { low = 20, high = 200, scale = "log" }
[[unknown]]
point = "shed"
phases = ["L1", "L3"]
"""


def case_of(more="", head=HOUSE):
    return parse_case(head + more)


def test_every_coupling_has_the_admittance_of_its_part():
    """Closed form: ω C of the cable's length or of what the case says of it, shares of it further apart and to earth, 1/R, ω C of a filter."""
    case = case_of(UNKNOWN)
    columns, parts = world_columns(case), couplings(case)
    values = np.random.default_rng(2).random((6, len(columns)))
    table, at = data("couplings"), {c.key: k for k, c in enumerate(columns) if c.unknown is None}
    of = lambda key, entry, row: table[entry]["low"] * (table[entry]["high"] / table[entry]["low"]) ** values[row, at[key]]
    own = next(k for k, c in enumerate(columns) if c.key == "capacitance")
    lengths = {"house": 40.0, "shed": 20.0, "lodge": 1.0}  # as given, as the data file has it, and no less than a metre
    found = admittances(case, parts, columns, values)
    for row in range(6):
        core, arranged = of("core", "core", row), values[row, at["arrangement"]]
        for k, part in enumerate(parts):
            point, omega = part.element.key[1], 2 * pi * 50
            farads = 1e-9 + 3e-9 * values[row, own] if point == "shed" else lengths[point] * core
            if part.of == "core":
                ways = arrangements(part.cores)
                order = ways[floor(arranged * len(ways))]
                apart = (order.index(part.pair[0]) - order.index(part.pair[1])) % len(order)
                wanted = 1j * omega * farads * (1.0 if apart in (1, len(order) - 1) else of("far", "far", row))
            elif part.of == "surround":
                wanted = 1j * omega * farads * of("surround", "surround", row)
            elif part.of.startswith("leak"):
                wanted = 1 / of(part.of, "leak_earth" if part.of == "leak_earth" else "leak_line", row)
            else:
                wanted = 3j * omega * of(part.of, part.of, row)
            assert found[row, k] == pytest.approx(wanted, rel=1e-9), part
            ends = {"core": part.pair[1], "surround": "PE", "leak_earth": "PE", "filter_x": "N", "filter_y": "PE"}
            to = EARTH if part.of == "surround" and part.pair[0] == "PE" else (point, ends.get(part.of, "N"))
            assert (part.element.a, part.element.b) == ((point, part.pair[0]), to)  # what is round a cable is its PE, round that the earth
    assert {p.of for p in parts} == {"core", "surround", "leak_earth", "leak L1", "leak L2", "leak L3", "filter_x", "filter_y"}


def test_what_is_on_in_each_row():
    case = case_of(UNKNOWN)
    world = World(case, rivals(case)[:1])
    values = np.full((5, len(world.columns)), 0.5)
    keys = [c.key for c in world.columns]
    values[:, keys.index("on")] = [0.29, 0.31, 0.0, 0.99, 0.29]
    values[:, keys.index("one_of")] = [0.59, 0.61, 0.79, 0.81, 0.0]  # the set in 0.8 · 3/4, the fan in 0.8 · 1/4, else none of them
    assert world.on(values, Circumstance()).tolist() == [[True, True, False], [False, False, True], [False, True, True], [False, False, False], [True, True, False]]
    given = world.on(values[:1], Circumstance(switched=(("fan", True), ("set", False), ("stove", False))))
    assert given.tolist() == [[False, False, True]]  # what is known under a condition comes first


def test_supply_powers_electrodes_and_lines_of_each_row():
    case = case_of(UNKNOWN)
    world = World(case, rivals(case)[:1])
    values = np.random.default_rng(3).random((7, len(world.columns)))
    keys = [c.key for c in world.columns]
    share = lambda key: values[:, keys.index(key)]
    made = world.samples(np.zeros(7, int), values, Circumstance())
    volts = 220 + 32 * share("supply_voltage")
    assert np.abs(made.fixed[:, world.net.node["source", "L2"] - world.net.free]) == pytest.approx(volts)
    assert made.element_admittance[:, world.at["electrode", "house"]] == pytest.approx(1 / (20 * 10 ** share("electrode")))
    for k, line in enumerate(("L1", "L3")):
        on_it = (share("phases") >= 0.5) == (k == 1)
        assert (made.element_admittance[:, world.at["phase", "shed", line]] != 0).tolist() == on_it.tolist()
    stove = next(m for m, owner in zip(made.models, world.owner) if case.loads[owner].name == "stove")
    assert stove.power == pytest.approx(1000 + 2000 * share("power"))
    on = world.on(values, Circumstance())
    assert (made.count == np.array([[3, 1, 1]])[:, world.owner] * on[:, world.owner]).all()


def put(world, kind, condition=None, values=None, nth=0):
    """(rows of admittances by key, fixed voltages by terminal) of one row with the cause `kind`."""
    number = [n for n, r in enumerate(world.causes) if r.kind == kind][nth]
    values = np.full((1, len(world.columns)), 0.5) if values is None else values
    made = world.samples(np.array([number]), values, condition or Circumstance())
    return {key: made.element_admittance[0, k] for key, k in world.at.items()}, {
        t: made.fixed[0, k - world.net.free] for t, k in world.net.node.items() if k >= world.net.free and t[0] in ("source", RAISED[0])}


def test_what_each_cause_changes_and_nothing_else():
    case = case_of()
    world = World(case, rivals(case), (Circumstance(),))
    sound, at_rest = put(world, "sound")
    assert sound["run", "shed", "N"] == pytest.approx(1 / 0.3) and sound["source", "N"] == pytest.approx(1 / 0.001)
    assert all(y == 0 for key, y in sound.items() if key[0] in ("cross", "raised"))

    def changed(kind, nth=0, **more):
        y, fixed = put(world, kind, nth=nth, **more)
        return {key: v for key, v in y.items() if v != pytest.approx(sound[key])}, {t: v for t, v in fixed.items() if v != pytest.approx(at_rest[t])}

    assert changed("open neutral") == ({("run", "house", "N"): 0}, {})
    joint = sqrt(0.1 * 100.0)  # the middle of a log-uniform range
    assert changed("bad joint", nth=1) == ({("run", "shed", "N"): pytest.approx(1 / (0.3 + joint))}, {})
    assert changed("line crossed with neutral", nth=3) == (
        {("run", "shed", "L1"): 0, ("run", "shed", "N"): 0, ("cross", "shed", "L1", "N"): pytest.approx(1 / 0.2),
         ("cross", "shed", "N", "L1"): pytest.approx(1 / 0.3)}, {})
    assert changed("supply neutral open") == ({("source", "N"): 0}, {})
    y, fixed = changed("supply overvoltage")
    middle = (1.1 + 1.6) / 2 * case.supply.nominal / 240
    assert y == {} and set(fixed) == {("source", line) for line in ("L1", "L2", "L3")}
    assert all(v == pytest.approx(at_rest[t] * middle) for t, v in fixed.items())
    y, fixed = changed("raised earth")
    assert y == {("raised",): pytest.approx(1.0)} and fixed == {RAISED: pytest.approx(sqrt(10 * 500))}
    _, fixed = changed("high-voltage phase lost", nth=1)
    assert fixed == {("source", line): pytest.approx(at_rest["source", "L2"] / -2) for line in ("L1", "L3")}
    # before the fault none is in force; a conductor that was mended or isolated is so whatever the cause
    assert changed("open neutral", condition=Circumstance(before=True)) == ({}, {})
    runs = ((("house", "N"), 0.0), (("shed", "L1"), inf))
    y, _ = changed("open neutral", condition=Circumstance(runs=runs))
    assert y == {("run", "shed", "L1"): 0}


@pytest.mark.parametrize(("classes", "edges"), [  # weights 0.7, 0.1, 0.15, 0.05 of the data file
    ((), {0.69: 1e7, 0.71: 1e6, 0.79: 1e6, 0.81: 3e5, 0.94: 3e5, 0.96: 5e3, 1.0: 5e3}),
    (("analogue meter", "low-impedance tester"), {0.66: 1e6, 0.67: 5e3}), (("voltage tester",), {0.0: 3e5, 0.99: 3e5})])
def test_the_impedance_of_an_instrument_goes_by_how_usual_each_is(classes, edges):
    case = case_of()
    world = World(case, rivals(case)[:1])
    values = np.full((len(edges), len(world.columns)), 0.5)
    values[:, [c.key for c in world.columns].index("instrument")] = list(edges)
    assert world.impedance(values, classes).tolist() == list(edges.values())


@pytest.mark.parametrize(("supply", "unknown", "factor"), [
    ("voltage = 240", "", 1.0), ("voltage = 240", "[[unknown]]\nsupply_voltage = { low = 220, high = 252 }\n", 252 / 240),
    ("voltage = 240", "[[unknown]]\nsupply_voltage = { mean = 236, deviation = 4 }\n", 248 / 240), ("", "", 1 + 3 * 0.03)])
def test_by_how_much_a_supply_may_exceed_its_usual_voltage(supply, unknown, factor):
    # arithmetic: the end of its range, or three standard deviations (3 % where nobody says)
    case = case_of(unknown, HOUSE.replace("voltage = 240", supply))
    assert highest_supply(World(case, rivals(case)[:1])) == pytest.approx(factor)


def test_electrodes_that_nobody_measured():
    """Assumption of the data file: none with a probability of 0.3 where a PEN arrives; in TT there must be one. Boards have none of their own."""
    points = '[[point]]\nname = "a"\n[[point]]\nname = "b"\nelectrode = 30\n[[point]]\nname = "c"\n[[point]]\nname = "d"\nkind = "board"\nfed_from = "a"\n' \
        '[[load]]\nname = "x"\nkind = "resistive"\nconnect = "L1-N"\npower = 9\npoint = "a"\n[[unknown]]\npoint = "c"\nelectrode = { low = 5, high = 50 }\n'
    of = lambda earthing: parse_case(f'title = "t"\n[supply]\nearthing = "{earthing}"\n{points}')
    assert unmeasured(of("TN-S")) is None
    for earthing, none in (("TN-C-S", 0.3), ("TT", 0.0)):
        found = unmeasured(of(earthing))
        assert (found.points, found.none, found.electrode.low, found.electrode.high) == (("a",), none, 10.0, 500.0)
    column = next(c for c in world_columns(of("TN-C-S")) if c.unknown == unmeasured(of("TN-C-S")))
    assert drawn(column, np.array([0.0, 0.35, 0.699, 0.701, 1.0])) == pytest.approx([10, 10 * 50**0.5, 500, inf, inf], rel=6e-3)
    given = next(c for c in world_columns(of("TN-C-S")) if c.key == "electrode" and c.unknown.points == ("c",))
    assert drawn(given, np.array([0.0, 0.5, 0.999])) == pytest.approx([5, 27.5, 49.955])


# Settled states

@pytest.mark.parametrize("kind", ["open neutral", "line lost as well"])
def test_what_a_meter_draws_changes_what_stands_as_a_load_would(kind):
    """Independent: the same house with each meter, of 100 kΩ, as a resistance of its own, a lamp and a motor beside it."""
    head = HOUSE.replace("voltage = 240", "voltage = 230").split('[[load]]\nname = "set"')[0]
    loads = "".join(f'[[load]]\nname = "{n}"\nkind = "{kind}"\nconnect = "{c}"\npower = {p}\npoint = "house"\n' for n, kind, c, p in (
        ("lamp", "lamp", "L1-N", 25), ("stove", "resistive", "L2-N", 60), ("saw", "motor", "L1-L2-L3", 1500)))
    pairs = (("house", ("L1", "N")), ("house", ("N", "PE")), ("shed", ("L1", "PE")))
    shown, bare = [], []
    for meter in (None, *pairs):
        own = "" if meter is None else f'[[load]]\nname = "meter"\nkind = "resistive"\nconnect = "{"-".join(meter[1])}"\npower = {230**2 / 1e5}\nvoltage = 230\npoint = "{meter[0]}"\n'
        case = parse_case(head + loads + own)
        world = World(case, [r for r in rivals(case) if (r.kind, r.at) == (kind, "house")][:1], (Circumstance(),), pairs)
        found = world.settle(np.zeros(1, int), np.full((1, len(world.columns)), 0.5), Circumstance())
        assert found.solved.all()
        if meter is None:
            for n, (point, (a, b)) in enumerate(pairs):
                bare.append(abs(found.between((point, a), (point, b))[0]))
                shown.append(float(loaded(found.between((point, a), (point, b)), found.inner[:, n], 1e5)[0]))
        else:
            n, (point, (a, b)) = pairs.index(meter), meter
            change = abs(found.between((point, a), (point, b))[0]) - bare[n]
            assert shown[n] - bare[n] == pytest.approx(change, rel=0.002, abs=1e-4)


def test_voltages_of_loads_and_of_terminals_that_are_not_there():
    case = case_of('[[load]]\nname = "delta"\nkind = "resistive"\nconnect = "L1-L2-L3"\npower = 900\npoint = "house"\n')
    world = World(case, rivals(case)[:1])
    node, v = world.net.node, np.zeros((2, world.net.free + len(world.net.fixed)), complex)
    for k, line in enumerate(("L1", "L2", "L3")):
        v[:, node["house", line]] = (230, 200j, -100)[k]
    v[:, node["house", "N"]] = 5.0
    made = States(world, np.arange(2), np.ones(2), v, np.ones((2, 4), bool), np.array([True, False]), np.zeros((2, 0, 2, 2)), np.zeros((2, 0)), np.zeros(2, int))
    # arithmetic: of a delta the highest of its three voltages, 330 V between L3 and L1
    assert made.loads[0] == pytest.approx([225.0, abs(200j - 5), 105.0, 330.0]) and np.isnan(made.loads[1]).all()
    assert np.isnan(made.between(("house", "L1"), ("nowhere", "N"))).all() and np.isnan(made.between(("nowhere", "L1"), ("house", "N"))).all()
    assert made.between(("house", "L1"), ("house", "N"))[0] == 225.0


@pytest.mark.parametrize(("volts", "live", "raised"), [(None, True, True), (5.0, False, False), (5.1, False, True), (50.0, False, True), (50.1, True, True)])
def test_metalwork_is_live_above_its_limit_or_where_nobody_can_say(volts, live, raised):  # published 50 V; 5 V of the data file `where`
    state = lambda nodes: SimpleNamespace(nodes=nodes, between=lambda a, b: None if nodes[a] is None else nodes[a] - nodes[b])
    to_earth = state({EARTH: 100.0 + 0j, ("house", "PE"): None if volts is None else 100.0 - volts})
    assert (is_live(to_earth, "house", "PE"), is_live(to_earth, "house", "PE", "raised")) == (live, raised)
    assert is_live(state({("house", "PE"): volts}), "house", "PE") is live  # no earth in the case: to the supply's star point


def test_a_point_in_words_by_its_lines_and_its_metalwork():
    # published: EN 50160, within 10 % of 230 V; 5 % counts as none
    case = parse_case('title = "t"\n[supply]\nearthing = "TN-S"\n[[point]]\nname = "house"\n[[load]]\nname = "a"\nkind = "resistive"\nconnect = "L1-N"\npower = 9\n')
    (house,) = case.points

    def at(metal, *volts):
        state = SimpleNamespace(nodes={("house", "PE"): metal}, voltage=lambda point, line: dict(zip(("L1", "L2", "L3"), volts))[line])
        return line_words(case, house, state), point_words(case, house, state)

    assert at(0j, 230 + 0j, -252j, 208 + 0j) == ({"L1": "whole", "L2": "whole", "L3": "whole"}, ("whole",))
    assert at(60 + 0j, 254j, 206 + 0j, 5j) == ({"L1": "high", "L2": "low", "L3": "dead"}, ("high", "low", "dead", "live"))
    assert at(0j, None, 230 + 0j, None)[1] == ("floating",)


def test_which_runs_are_tried_in_a_large_case():
    # documented: of more than 120 runs those that feed on, evenly spread; of more than 40 the open neutral alone
    street = lambda count: parse_case('title = "t"\n[supply]\nearthing = "TN-S"\n' + "".join(
        f'[[point]]\nname = "j{n}"\nkind = "joint"\n' + (f'fed_from = "j{n - 1}"\n' if n else "") + f'[[point]]\nname = "h{n}"\nfed_from = "j{n}"\n' for n in range(count))
        + '[[load]]\nname = "x"\nkind = "resistive"\nconnect = "L1-N"\npower = 9\npoint = "h0"\n')
    assert len(tried(street(60))) == 120 and [p.name for p in tried(street(61))] == [f"j{n}" for n in range(61)]
    assert [p.name for p in tried(street(150))] == [f"j{n}" for n in range(0, 150, 2)]
    assert {p.kind for p in places(street(21))} == {"open neutral"} and {p.kind for p in places(street(20))} > {"open neutral", "bad joint", "line lost"}
    crossed = lambda count: sum(r.kind == "neutral crossed with PE" for r in rivals(street(count)))
    assert (crossed(20), crossed(21)) == (40, 0)  # and a neutral that is crossed with PE, at every point
    assert [p.is_rival for p in places(street(1))].count(False) == 2 * 6  # an open neutral and five joints in either run


def test_a_load_that_cannot_stay_in_its_mode_is_followed_into_the_next():
    # independent: the search of a single case, with the same neutral open
    case = parse_case('title = "t"\n[supply]\nvoltage = 230\n[[load]]\nname = "car"\nkind = "charger"\nconnect = "L1-N"\npower = 3700\n'
                      '[[load]]\nname = "fire"\nkind = "resistive"\nconnect = "L2-N"\npower = 1000\n')
    wanted = before_and_after(replace(case, breaks=(Break("intake", "N"),)))[1].reached
    assert "cut off" in wanted.modes.values()
    world = World(case, [r for r in rivals(case) if r.kind == "open neutral"], (Circumstance(),))
    for maps in (Maps(), Maps(0), None):
        found = world.settle(np.zeros(2, int), np.full((2, len(world.columns)), 0.5), Circumstance(), True, maps)
        assert found.solved.all() and found.sample.tolist() == [0, 1] and found.weight.tolist() == [1.0, 1.0]
        assert np.abs(found.between(("intake", "L1"), ("intake", "N"))) == pytest.approx([abs(wanted.voltage("intake", "L1"))] * 2, abs=0.1)


def test_what_is_off_as_given_may_be_on_under_a_condition():
    # closed form: 100 and 300 W in series between two lines, though the second is off in the case
    case = parse_case('title = "t"\nsupply = {}\n[[load]]\nname = "A"\nkind = "resistive"\nconnect = "L1-N"\npower = 100\n'
                      '[[load]]\nname = "B"\nkind = "resistive"\nconnect = "L2-N"\npower = 300\non = false\n')
    on = Circumstance(switched=(("B", True),))
    world = World(case, [r for r in rivals(case) if r.kind == "open neutral"], (Circumstance(), on))
    found = world.settle(np.zeros(1, int), np.full((1, len(world.columns)), 0.5), on, True, Maps())
    assert np.abs(found.loads[0]) == pytest.approx([0.75 * sqrt(3) * 230, 0.25 * sqrt(3) * 230], rel=1e-3) and found.on.all()
