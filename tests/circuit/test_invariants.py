"""What must hold of any circuit. Kind of all checks: invariant (unless a line says otherwise)."""

from dataclasses import replace
from math import inf, sqrt

import numpy as np
import pytest
from circuit_cases import LINES, after, before, load, load_voltages, one_point, polar, sizes, star, supply, watts
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lostneutral.case.model import Break, Cable, Case, Path, Point, Supply
from lostneutral.circuit import network as network_module
from lostneutral.circuit.states import before_and_after

quick = settings(max_examples=20, derandomize=True, deadline=None)
OHMS = st.builds(complex, st.floats(0.01, 2.0), st.floats(0.0, 0.5))
CABLE = st.builds(Cable, OHMS, OHMS, OHMS)
POWER = st.floats(10.0, 5e3)
JOINT = st.floats(0.01, 1e4) | st.just(inf)


@st.composite
def houses(draw):
    """A joint, two intakes and a board with mixed loads, cables, electrodes, a path and up to three breaks."""
    source = Supply({x: polar(draw(st.floats(200, 250)), a + draw(st.floats(-5, 5)))
                     for x, a in zip(LINES, (0, -120, 120))}, line_impedance=draw(OHMS), neutral_impedance=draw(OHMS),
                    earthing=draw(st.sampled_from([None, "TN-S", "TN-C-S", "TN-C", "TT"])),
                    electrode=draw(st.floats(0.5, 20.0)))
    places = {"joint": "supply", "left": "joint", "right": "joint", "board": "left"}
    kinds = {"joint": "joint", "left": "intake", "right": "intake", "board": "board"}
    points = tuple(Point(n, kinds[n], up, draw(CABLE), draw(st.none() | st.floats(5.0, 100.0)))
                   for n, up in places.items())
    ends = st.sampled_from(["L1-N", "L2-N", "L3-N", "L1-L2", "L3-L1", "L1-L2-L3"])
    kind = st.sampled_from(["resistive", "lamp", "heater", "exponential"])
    loads = []
    for k in range(draw(st.integers(3, 6))):
        where = draw(ends)
        loads.append(load(draw(kind), where, 230.0 if "N" in where else 230 * sqrt(3), f"load {k}",
                          draw(st.sampled_from(list(places))), draw(st.integers(1, 4)), power=draw(POWER)))
    breaks = {(b.feeding, b.conductor): b for b in draw(st.lists(st.builds(
        Break, st.sampled_from(list(places)), st.sampled_from(["N", "L1", "L2"]), JOINT), max_size=3))}
    paths = (Path("left", "right", draw(st.floats(1.0, 100.0))),)
    return Case("house", source, points, tuple(loads), paths=paths, breaks=tuple(breaks.values()))


def earth_currents(case, found):
    """Return [(terminal, current out of it)] of electrodes and paths, from Ohm's law between node voltages."""
    if not case.supply.earthing:
        return []
    out = [(earth_terminal(case, p), ("earth", ""), p.electrode) for p in case.points if p.electrode is not None]
    out += [((p.start, "PE"), (p.end, "PE"), p.resistance) for p in case.paths]
    return [(a, b, (found.nodes[a] - found.nodes[b]) / r, r) for a, b, r in out if found.nodes[a] is not None]


def earth_terminal(case, point):
    return point.name, "N" if point.kind == "joint" and case.supply.earthing != "TN-S" else "PE"


def largest(found):
    return max(abs(i) for i in found.currents.values())


@quick
@given(houses())
def test_currents_sum_to_zero_at_every_point(case):
    found = after(case)
    total = {}
    feeds = {p.name: p.fed_from for p in case.points}
    for (name, c), i in found.currents.items():
        total[name, c] = total.get((name, c), 0) - i
        total[feeds[name], c] = total.get((feeds[name], c), 0) + i
    for given_, answer in zip(case.loads, found.loads):
        if len(given_.connect) == 2:
            for c, i in zip(given_.connect, (answer.current, -answer.current)):
                total[given_.point, c] = total.get((given_.point, c), 0) + i
        else:
            # A balanced delta's other two terminals are not in the answer: look at the sum of its three lines only.
            total[given_.point, "delta"] = True
    for a, b, i, _ in earth_currents(case, found):
        total[a], total[b] = total.get(a, 0) + i, total.get(b, 0) - i
    for p in case.points:
        with_delta = (p.name, "delta") in total
        pe = total.get((p.name, "PE"), 0)
        # N and PE may be joined at the point, so their currents count together.
        sums = [total[p.name, "N"] + pe] + ([sum(total[p.name, x] for x in LINES)] if with_delta
                                            else [total[p.name, x] for x in LINES])
        assert np.abs(sums).max() <= 1e-8 * max(largest(found), 1e-6)


@quick
@given(houses())
def test_power_given_equals_power_taken(case):
    found = after(case)
    resistance = {(b.feeding, b.conductor): b.resistance for b in case.breaks}
    given_out, lost = 0.0, 0.0
    for x in (*LINES, "N", "PE"):
        i = found.currents.get(("joint", x), 0j)
        given_out += (case.supply.phasors.get(x, 0j) * i.conjugate()).real
        z = {"N": case.supply.neutral_impedance, "PE": 0j}.get(x, case.supply.line_impedance)
        lost += z.real * abs(i) ** 2
    for p in case.points:
        for (name, c), i in found.currents.items():
            if name == p.name and i != 0:
                z = {"N": p.cable.neutral, "PE": p.cable.pe}.get(c, p.cable.line)
                lost += (z.real + resistance.get((name, c), 0.0)) * abs(i) ** 2
    lost += sum(abs(i) ** 2 * r for _, _, i, r in earth_currents(case, found))
    if case.supply.earthing:
        lost += abs(found.nodes["earth", ""]) ** 2 / case.supply.electrode
    taken = sum(x.power for x in found.loads)
    assert given_out == pytest.approx(taken + lost, rel=1e-7, abs=1e-6)


@quick
@given(houses())
def test_residual_is_reported_and_small(case):
    for state in before_and_after(case):
        assert len(state.solutions) == 1 and state.reached.attracting
        assert 0 <= state.reached.residual <= 1e-9 * max(largest(state.reached), 1e-9)


@quick
@given(houses())
def test_relabelling_the_lines_relabels_the_answer(case):
    new = dict(zip(LINES, ("L2", "L3", "L1")))
    relabel = lambda name: new.get(name, name)
    moved = replace(
        case,
        supply=replace(case.supply, phasors={x: case.supply.phasors[old] for x in LINES for old in LINES if new[old] == x}),
        loads=tuple(replace(x, connect=tuple(map(relabel, x.connect))) for x in case.loads),
        breaks=tuple(replace(b, conductor=relabel(b.conductor)) for b in case.breaks))
    one, other = after(case), after(moved)
    for (place, c), v in one.nodes.items():
        assert other.nodes[place, relabel(c)] == (None if v is None else pytest.approx(v, rel=1e-7, abs=1e-6))
    for (place, c), i in one.currents.items():
        assert other.currents[place, relabel(c)] == pytest.approx(i, rel=1e-7, abs=1e-6)
    assert [x.power for x in other.loads] == pytest.approx([x.power for x in one.loads], rel=1e-7, abs=1e-6)


@quick
@given(houses(), st.floats(-180, 180))
def test_turning_the_supply_turns_every_phasor(case, degrees):
    turn = polar(1.0, degrees)
    turned = replace(case.supply, phasors={x: v * turn for x, v in case.supply.phasors.items()})
    one, other = after(case), after(replace(case, supply=turned))
    assert [x.voltage for x in other.loads] == pytest.approx([x.voltage * turn for x in one.loads], rel=1e-7, abs=1e-6)


@quick
@given(st.lists(st.builds(complex, st.floats(1, 100), st.floats(-50, 50)), min_size=3, max_size=3), JOINT,
       st.floats(0.01, 100.0))
def test_linear_circuits_scale(impedances, joint, k):
    one = after(star(supply(230), impedances, joint))
    more_volts = after(star(supply(230 * k), impedances, joint))
    more_ohms = after(star(supply(230), [z * k for z in impedances], joint * k))
    for a, b, c in zip(one.loads, more_volts.loads, more_ohms.loads):
        assert b.voltage == pytest.approx(a.voltage * k, rel=1e-8, abs=1e-7)
        assert b.power == pytest.approx(a.power * k**2, rel=1e-8, abs=1e-7)
        assert c.voltage == pytest.approx(a.voltage, rel=1e-8, abs=1e-7)
        assert c.current == pytest.approx(a.current / k, rel=1e-8, abs=1e-7)


@quick
@given(houses())
def test_a_break_of_zero_ohm_is_sound(case):
    sound = replace(case, breaks=tuple(replace(b, resistance=0.0) for b in case.breaks))
    first, second = before_and_after(sound)
    assert second.reached.nodes == first.reached.nodes
    assert second.reached.loads == first.reached.loads


@pytest.mark.thorough
@quick
@given(houses())
def test_a_poor_joint_becomes_a_sound_one_continuously(case):
    assume(case.breaks)
    tiny = replace(case, breaks=tuple(replace(b, resistance=1e-6) for b in case.breaks))
    assert load_voltages(after(tiny)) == pytest.approx(load_voltages(before(case)), abs=2e-3)


@pytest.mark.thorough
@quick
@given(houses())
def test_a_worse_joint_becomes_an_open_one_continuously(case):
    assume(case.breaks)
    ends = after(replace(case, breaks=tuple(replace(b, resistance=inf) for b in case.breaks)))
    gaps = []
    for r in (1e8, 1e10):
        near = after(replace(case, breaks=tuple(replace(b, resistance=r) for b in case.breaks)))
        gaps.append(max(abs(a.voltage - b.voltage) for a, b in zip(near.loads, ends.loads) if b.voltage is not None))
    assert gaps[0] <= 0.05 and gaps[1] <= max(gaps[0] / 50, 1e-6)


@quick
@given(houses())
def test_a_load_that_is_off_is_not_in_the_circuit(case):
    off = tuple(replace(x, name=f"{x.name} off", on=False) for x in case.loads)
    with_off = after(replace(case, loads=case.loads + off))
    plain = after(case)
    assert with_off.nodes == plain.nodes and with_off.loads[: len(case.loads)] == plain.loads
    for on, idle in zip(plain.loads, with_off.loads[len(case.loads):]):
        assert idle.voltage == pytest.approx(on.voltage, rel=1e-12, abs=1e-9)
        assert idle.current == 0 and idle.power == 0


@quick
@given(houses())
def test_sparse_equals_dense(case):
    dense = after(case)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(network_module, "DENSE_UP_TO", 0)
        sparse = after(case)
    assert load_voltages(sparse) == pytest.approx(load_voltages(dense), rel=1e-8, abs=1e-7)
    assert sparse.residual <= 1e-9 * largest(dense)


def test_a_long_street_is_solved_sparse_and_balances():
    # Forty intakes in a row, lamps on all lines, N open in the middle: what is fed beyond it shares one star point.
    count = 40
    cable = Cable(0.02 + 0.005j, 0.02 + 0.005j)
    points = tuple(Point(f"p{k}", "joint", f"p{k - 1}" if k else "supply", cable) for k in range(count))
    loads = tuple(load("lamp", LINES[k * 7 % 3], name=f"lamp {k}", point=f"p{k}", power=40.0 + 13 * (k % 5))
                  for k in range(count))
    found = after(Case("street", supply(230), points, loads, breaks=(Break("p20", "N", inf),)))
    assert found.currents["p20", "N"] == 0
    beyond = sum(found.currents["p20", x] for x in LINES)
    assert abs(beyond) <= 1e-8 * largest(found)
    taken = sum(x.current for x in found.loads[:20])
    assert found.currents["p0", "N"] == pytest.approx(-taken, rel=1e-8)
    assert max(sizes(found)) > 240


@quick
@given(st.sampled_from(LINES), POWER, OHMS)
def test_a_lone_load_behind_a_cable_has_no_return_and_no_voltage(line, power, z):
    found = after(one_point(supply(230, line_impedance=z), [watts(power, 230, line)], cable=Cable(z, z)))
    assert abs(found.loads[0].voltage) < 1e-9 and largest(found) < 1e-9
    assert found.nodes["intake", "N"] == pytest.approx(supply(230).phasors[line], rel=1e-12)


@pytest.mark.parametrize("ohms", [1e-3, 1e-5, 1e-6, 1e-8])
def test_very_small_resistances_do_not_spoil_the_answer(ohms):
    # Independent: Millman's theorem in numpy, for a bar of hardly any resistance before the star.
    case = one_point(supply(230), [watts(p, 230, x) for p, x in zip((100, 200, 300), LINES)],
                     cable=Cable(complex(ohms), complex(ohms)))
    y = 1 / (ohms + 230**2 / np.array([100, 200, 300]))
    e = np.array(list(supply(230).phasors.values()))
    expected = (e - (e @ y) / y.sum()) * y * 230**2 / np.array([100, 200, 300])
    found = after(case)
    assert load_voltages(found) == pytest.approx(list(expected), rel=1e-9)
    assert [found.currents["intake", x] for x in LINES] == pytest.approx([x.current for x in found.loads], rel=1e-9)
    assert found.residual <= 1e-9 * largest(found)


@pytest.mark.parametrize("powers", [(1e-3, 1e5, 1e5), (1e5, 1e-3, 1e-3), (0.1, 50.0, 5e6)])
def test_very_unequal_loads(powers):
    # Independent: Millman's theorem in numpy.
    y, e = np.array(powers) / 230**2, np.array(list(supply(230).phasors.values()))
    expected = e - (e @ y) / y.sum()
    found = after(one_point(supply(230), [watts(p, 230, x) for p, x in zip(powers, LINES)]))
    assert load_voltages(found) == pytest.approx(list(expected), rel=1e-9, abs=1e-6)
