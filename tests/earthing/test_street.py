"""A street: the sparse answer is the dense one, and what must never change it. Kind of all checks: invariant."""

from dataclasses import replace

import numpy as np
import pytest
from earth_cases import EARTH, LINES, after, resistor, street, supply
from hypothesis import given, settings
from hypothesis import strategies as st

from lostneutral.case.model import Break, Case, Load, Path, Point
from lostneutral.case.reader import parse_case
from lostneutral.circuit import network as networks
from lostneutral.circuit.states import before_and_after
from lostneutral.consequences.diverted import ways
from lostneutral.consequences.touch import between_neighbours, touch_voltages

FEW = settings(max_examples=25, deadline=None, derandomize=True)
OHMS = st.floats(10.0, 500.0)


def volts(solution):
    return {key: v for key, v in solution.nodes.items() if key[0] not in ("star",)}


def with_lamps(case):
    lamps = tuple(Load(f"lamp {k}", "lamp", load.connect, load.point, 230.0, parameters={"power": 60.0})
                  for k, load in enumerate(case.loads))
    return replace(case, loads=case.loads + lamps)


@pytest.mark.parametrize("count", [4, 12, 25])
def test_sparse_is_dense(count, monkeypatch):
    case = with_lamps(street(count, broken=count // 2))
    monkeypatch.setattr(networks, "DENSE_UP_TO", 10**6)
    dense = before_and_after(case)
    monkeypatch.setattr(networks, "DENSE_UP_TO", 0)
    for a, b in zip(dense, before_and_after(case)):
        assert volts(a.reached).keys() == volts(b.reached).keys()
        for key, value in volts(a.reached).items():
            assert abs(value - b.reached.nodes[key]) < 1e-8, key


@FEW
@given(st.lists(OHMS, min_size=4, max_size=4), st.integers(0, 5))
def test_renaming_the_points_changes_nothing(loads, broken):
    case = street(loads=loads, broken=broken)

    def name(n):
        return n if n == "supply" else f"x{hash_of(n)}"

    def hash_of(n):
        return sum(ord(c) * 31**i for i, c in enumerate(n)) % 10**9

    other = replace(case, points=tuple(replace(p, name=name(p.name), fed_from=name(p.fed_from)) for p in case.points[::-1]),
                    loads=tuple(replace(load, point=name(load.point)) for load in case.loads),
                    breaks=tuple(replace(b, feeding=name(b.feeding)) for b in case.breaks))
    one, two = after(case), after(other)
    for point in case.points:
        for c in (*point.phases, "N"):
            assert abs(one.nodes[point.name, c] - two.nodes[name(point.name), c]) < 1e-9


@FEW
@given(st.lists(OHMS, min_size=4, max_size=4), st.permutations(["L1", "L2", "L3"]))
def test_the_roles_of_the_lines_change_nothing(loads, order):
    """Lines of supply, points and loads relabelled together."""
    new = dict(zip(("L1", "L2", "L3"), order))
    case = street(loads=loads)
    lines = {new[k]: LINES[k] for k in LINES}
    other = replace(
        case, supply=replace(case.supply, phasors={k: lines[k] for k in ("L1", "L2", "L3")}),
        points=tuple(replace(p, phases=tuple(new[x] for x in p.phases)) for p in case.points),
        loads=tuple(replace(load, connect=(new[load.connect[0]], "N")) for load in case.loads))
    one, two = touch_voltages(case, after(case)), touch_voltages(other, after(other))
    assert one == pytest.approx(two, abs=1e-9)


@FEW
@given(st.lists(OHMS, min_size=4, max_size=4), st.integers(0, 5))
def test_premises_with_everything_off_and_no_electrode_change_nothing(loads, where):
    case = street(loads=loads)
    extra = replace(case, points=(*case.points, Point("empty", "intake", f"joint {where}")),
                    loads=(*case.loads, resistor("unused", 20.0, "empty", on=False)))
    one, two = after(case), after(extra)
    assert all(abs(v - two.nodes[key]) < 1e-9 for key, v in one.nodes.items())


@FEW
@given(OHMS, st.floats(1.0, 500.0), st.floats(1.0, 500.0), st.integers(0, 5))
def test_a_sounder_own_electrode_never_raises_its_touch_voltage(load, one, other, which):
    """Linear loads: the rest of the network is a source with an impedance r + jx, r >= 0 since it is passive.

    RA² / ((RA + r)² + x²) then rises with RA, its slope having the sign of r (RA + r) + x².
    """
    sound, poor = sorted((one, other))

    def at(ohms):
        case = street(loads=[load, 40.0, 70.0, 25.0])
        points = tuple(replace(p, electrode=ohms) if p.name == f"home {which}" else p for p in case.points)
        return abs(after(replace(case, points=points)).between((f"home {which}", "PE"), EARTH))

    assert at(sound) <= at(poor) + 1e-9


def test_currents_into_earth_add_up_to_nothing():
    found = after(street(broken=2))
    assert abs(sum(i for key, i in found.earth_currents.items() if key[0] == "electrode")) < 1e-9


def test_shares_and_neighbours():
    """A path between two premises carries what its ends' voltage drives; shares are to the sound conductor's current."""
    case = replace(street(broken=3), paths=(Path("home 2", "home 3", 2.0),))
    before, broken = (state.reached for state in before_and_after(case))
    path = next(w for w in ways(case, before, broken) if w.name.startswith("path"))
    across = between_neighbours(case, broken)["home 2", "home 3"]
    assert abs(path.current) == pytest.approx(across / 2.0, rel=1e-9)
    assert path.share == pytest.approx(abs(path.current) / abs(before.currents["joint 3", "N"]), rel=1e-9)


def test_a_group_is_solved_like_the_same_street_in_code():
    """Independent: the file's group against points and loads made one by one."""
    text = """title = "t"
[supply]
earthing = "TN-C-S"
electrode = 2.0
line_impedance = [0.01, 0.02]
[[group]]
name = "home"
count = 6
electrode = 40.0
spacing = { line = [0.02, 0.01], neutral = [0.03, 0.01] }
service = { line = [0.03, 0.0] }
load = [{ name = "load", kind = "impedance", resistance = 40.0 }]
[[break]]
feeding = "home joint 4"
"""
    file, code = after(parse_case(text)), after(street(loads=[40.0] * 4))
    for k in range(6):
        assert abs(file.nodes[f"home {k + 1}", "PE"] - code.nodes[f"home {k}", "PE"]) < 1e-9


def test_a_large_street_of_falling_loads_says_how_it_was_searched():
    case = street(60, broken=30)
    loads = tuple(Load(f"e{k}", "exponential", load.connect, load.point, 230.0,
                       parameters={"power": 200.0 + 40 * (k % 5), "power_exponent": 0.6}) for k, load in enumerate(case.loads))
    state = before_and_after(replace(case, loads=case.loads + loads))[1]
    # invariant: the states are those of loads taken together, solved back for all loads as they are
    assert state.ends == "settled" and not state.unique and "taken together" in state.reason
    assert state.solutions[0].residual < 1e-6


def test_three_earthing_points_along_the_pen_hold_it_down():
    """More electrodes on the PEN behind the break never raise the touch voltage there (linear, practice)."""
    def touch(every):
        case = street(9, broken=3, own=None)
        points = tuple(replace(p, electrode=15.0) if p.kind == "joint" and k // 2 % every == 0 else p
                       for k, p in enumerate(case.points))
        return abs(after(replace(case, points=points)).between(("home 8", "PE"), EARTH))

    assert touch(1) < touch(2) < touch(4)
    assert np.isfinite(touch(1))


def test_tn_c_s_without_any_electrode_beyond_the_break_floats_free_of_earth():
    case = Case("no earth", supply(), (Point("intake"),), (resistor("load", 23.0),), breaks=(Break("intake", "N"),))
    assert abs(after(case).between(("intake", "PE"), EARTH)) == pytest.approx(230.0, rel=1e-12)


@pytest.mark.parametrize("columns", [None, 3])
def test_nodes_that_meet_very_many_are_solved_for_last(columns, monkeypatch):
    """Independent: the plain sparse solve of the same equations."""
    from scipy.sparse import random as sparse_random

    rng = np.random.default_rng(2)
    made = sparse_random(60, 60, 0.05, random_state=rng).tolil()
    made[7, :], made[:, 7] = 0.3, 0.2
    made.setdiag(5.0)
    left = made.tocsr() * (1 + 0.5j)
    right = rng.normal(size=60 if columns is None else (60, columns)) + 0j
    monkeypatch.setattr(networks, "MANY_MET", 5)
    assert (np.diff(left.tocsc().indptr) > 5 * 60**0.5).sum() == 1
    assert np.allclose(networks.solve_nodal(left, right), np.linalg.solve(left.toarray(), right), rtol=1e-12)
