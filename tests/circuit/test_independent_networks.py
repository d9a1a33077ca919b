"""Networks against solutions written another way. Kind of all checks: independent, method named at each."""

from math import inf, sqrt

import mpmath
import numpy as np
import pytest
from circuit_cases import after, load, ohms, one_point, polar, sizes, split_phase, star, supply
from loop_equations import solve_loops
from scipy.optimize import root

from lostneutral.case.model import Break, Cable, Case, Cross, Path, Point, Supply
from lostneutral.circuit.states import before_and_after
from lostneutral.errors import NoSolutionError
from lostneutral.loads import load_model

LINE, NEUTRAL = 0.02 + 0.015j, 0.03 + 0.01j
CABLES = {"joint": Cable(0.11 + 0.03j, 0.12 + 0.04j, 0.13 + 0.02j), "left": Cable(0.21 + 0.01j, 0.22 + 0.02j, 0.23 + 0.03j),
          "right": Cable(0.31 + 0.05j, 0.35 + 0.01j, 0.33 + 0.02j), "board": Cable(0.4 + 0.01j, 0.45 + 0.02j, 0.5 + 0.03j)}
FED = {"joint": "supply", "left": "joint", "right": "joint", "board": "left"}
KIND = {"joint": "joint", "left": "intake", "right": "intake", "board": "board"}
ELECTRODES = {"joint": 35.0, "left": 20.0, "right": 50.0}
PATHS = (Path("left", "right", 8.0), Path("board", "earth", 60.0))
LOADS = (("left", "L1-N", 30 + 0j), ("board", "L2-N", 50 + 10j), ("right", "L3-N", 12 + 0j), ("right", "L1-L2", 60 - 15j),
         ("board", "L1-L2-L3", 90 + 30j), ("left", "L2-N", 25 - 4j), ("board", "L1-PE", 3000 + 0j),
         ("right", "N-PE", 400 + 0j))
SUPPLIES = {
    "abc": supply(230).phasors,
    "acb": supply(230, "acb").phasors,
    "unequal": {"L1": polar(240, 3), "L2": polar(221, -115), "L3": polar(228, 126)},
    "split-phase": split_phase(120).phasors,
}
STREETS = {f"unequal {e}": (SUPPLIES["unequal"], e) for e in (None, "TN-S", "TN-C-S", "TN-C", "TT")} | {
    f"{s} TN-C-S": (SUPPLIES[s], "TN-C-S") for s in ("abc", "acb", "split-phase")}
FAULTS = {
    "sound": (),
    "N of the joint open": (Break("joint", "N", inf),),
    "N of an intake open": (Break("left", "N", inf),),
    "bad N joint at the board": (Break("board", "N", 5.0),),
    "line open": (Break("right", "L1", inf),),
    "PE of the board open": (Break("board", "PE", inf),),
    "N and a line open": (Break("joint", "N", inf), Break("left", "L2", inf)),
    "both intakes without N": (Break("left", "N", inf), Break("right", "N", inf)),
    "bad N and bad PE": (Break("joint", "N", 0.5), Break("board", "PE", 3.0)),
    "two bad joints in a row": (Break("joint", "N", 2.0), Break("left", "N", 40.0), Break("left", "L1", 1.5)),
    "line and N exchanged": (Cross("right", ("L1", "N")),),
    "lines exchanged": (Cross("joint", ("L1", "L2")), Break("joint", "N", inf)),
}


def conductors(earthing, name):
    """Return which of N and PE run to a point, by the definitions of the earthing systems."""
    return ("N", "PE") if earthing == "TN-S" or (name == "board" and earthing in ("TN-C-S", "TT")) else ("N",)


def street(phasors, earthing, faults):
    lines = tuple(phasors)
    system = "three-phase" if len(lines) == 3 else "split-phase"
    source = Supply(phasors, system, abs(phasors["L1"]), 50.0, LINE, NEUTRAL, earthing, 2.0)
    points = tuple(Point(n, KIND[n], FED[n], c, ELECTRODES.get(n), lines) for n, c in CABLES.items())
    loads = tuple(load("impedance", ends, 230.0, f"{point} {ends}", point, resistance=z.real, reactance=z.imag)
                  for point, ends, z in fitting(lines, earthing))
    breaks, crosses = (tuple(f for f in faults if isinstance(f, kind)) for kind in (Break, Cross))
    return Case("street", source, points, loads, paths=PATHS if earthing else (), breaks=breaks, crosses=crosses)


def fitting(lines, earthing):
    return [x for x in LOADS if set(x[1].split("-")) <= {*lines, "N", *(["PE"] if earthing else [])}]


def street_branches(phasors, earthing, faults):
    """The same street, written down as branches without the program's help."""
    ohm = {(f.feeding, f.conductor): f.resistance for f in faults if isinstance(f, Break)}
    cross = {f.point: dict([f.conductors, f.conductors[::-1]]) for f in faults if isinstance(f, Cross)}
    out = {("source", x): ("star", ("supply", x), LINE, e) for x, e in phasors.items()}
    out["source", "N"] = ("star", ("supply", "N"), NEUTRAL, 0)
    for n, cable in CABLES.items():
        for c in (*phasors, *conductors(earthing, n)):
            z = {"N": cable.neutral, "PE": cable.pe}.get(c, cable.line) + ohm.get((n, c), 0)
            if abs(z) < inf:
                begin = "star" if (c, n) == ("PE", "joint") else (FED[n], c)
                out["run", n, c] = (begin, (n, cross.get(n, {}).get(c, c)), z, 0)
    if earthing:
        out["electrode", "supply"] = ("star", "earth", 2.0, 0)
        pen = {"TN-C-S": ("left", "right"), "TN-C": ("left", "right", "board")}.get(earthing, ())
        out |= {("link", n): ((n, "N"), (n, "PE"), 0, 0) for n in pen}
        joint = ("joint", "PE" if earthing == "TN-S" else "N")
        out["electrode", "joint"] = (joint, "earth", 35.0, 0)
        out["electrode", "left"], out["electrode", "right"] = (("left", "PE"), "earth", 20.0, 0), (("right", "PE"), "earth", 50.0, 0)
        out["path", 0], out["path", 1] = (("left", "PE"), ("right", "PE"), 8.0, 0), (("board", "PE"), "earth", 60.0, 0)
    for point, ends, z in fitting(tuple(phasors), earthing):
        c = ends.split("-")
        for k, (a, b) in enumerate(zip(c, c[1:] + c[:1]) if len(c) == 3 else [c]):
            out["load", point, ends, k] = ((point, a), (point, b), z, 0)
    return out


@pytest.mark.parametrize("faults", FAULTS.values(), ids=FAULTS)
@pytest.mark.parametrize(("phasors", "earthing"), STREETS.values(), ids=STREETS)
def test_street_against_loop_equations_at_30_digits(phasors, earthing, faults):
    branches = street_branches(phasors, earthing, faults)
    currents, voltages = solve_loops(branches, "star")
    found = after(street(phasors, earthing, faults))
    assert len(voltages) > 12
    expected = {{"star": ("star", ""), "earth": ("earth", "")}.get(n, n): v for n, v in voltages.items()}
    assert {n for n, v in found.nodes.items() if v is not None} - {("supply", "PE")} == set(expected)
    for node, value in expected.items():
        assert found.nodes[node] == pytest.approx(value, rel=1e-10, abs=1e-9), node
    for n in CABLES:
        for c in (*phasors, *conductors(earthing, n)):
            expected = currents.get(("run", n, c), 0j)
            assert found.currents[n, c] == pytest.approx(expected, rel=1e-9, abs=1e-9), (n, c)
    for answer, (point, ends, _) in zip(found.loads, fitting(tuple(phasors), earthing)):
        of_load = [currents["load", point, ends, k] for k in range(3) if ("load", point, ends, k) in currents]
        expected = of_load[0] - of_load[-1] if len(of_load) == 3 else of_load[0]
        assert answer.current == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_star_with_source_and_neutral_impedance_against_mesh_equations_at_50_digits():
    # mpmath: three meshes through the neutral, at angles of exactly a third of a turn
    with mpmath.workdps(50):
        e = [230 * mpmath.expjpi(mpmath.mpf(-2 * k) / 3) for k in range(3)]
        z = [mpmath.mpc(10, 0), mpmath.mpc(20, 5), mpmath.mpc(30, -7)]
        line, neutral = mpmath.mpc("0.2", "0.1"), mpmath.mpf("1.5")
        meshes = mpmath.matrix(3, 3)
        for k in range(3):
            for m in range(3):
                meshes[k, m] = neutral + (z[k] + line if k == m else 0)
        currents = [complex(i) for i in mpmath.lu_solve(meshes, mpmath.matrix(e))]
    case = star(supply(230, line_impedance=0.2 + 0.1j), [complex(x) for x in z], 1.5)
    for x, i in zip(after(case).loads, currents, strict=True):
        assert x.current == pytest.approx(i, rel=1e-11)


def exponential_current(power, reactive, n, m, u):
    """Conjugate of (P + jQ) / U, written from the definition of the law."""
    ratio = abs(u) / 230.0
    return ((power * ratio**n + 1j * reactive * ratio**m) / u).conjugate()


@pytest.mark.parametrize("seed", range(12))
def test_exponential_stars_against_a_general_root_finder(seed):
    # scipy.optimize.root on the star point and the three load voltages, cables included.
    chance = np.random.default_rng(seed)
    powers, n, m = chance.uniform(200, 2500, 3), chance.uniform(1.2, 2.5, 3), np.full(3, 2.0)
    reactive = powers * chance.uniform(-0.5, 0.5, 3)
    e, cable = np.array(list(supply(230).phasors.values())), 0.3 + 0.1j
    laws = list(zip(powers, reactive, n, m))

    def imbalance(x):
        shift, *u = x[:4] + 1j * x[4:]
        i = [exponential_current(*law, v) for law, v in zip(laws, u)]
        gap = [e[k] - cable * i[k] - u[k] - shift for k in range(3)] + [sum(i)]
        return np.concatenate([np.real(gap), np.imag(gap)])

    start = np.concatenate([[0], e])
    answer = root(imbalance, np.concatenate([start.real, start.imag]), tol=1e-13)
    expected = answer.x[1:4] + 1j * answer.x[5:]
    assert np.abs(answer.fun).max() < 1e-8
    loads = [load("exponential", x, power=p, reactive_power=q, power_exponent=a, reactive_exponent=b)
             for x, (p, q, a, b) in zip(("L1", "L2", "L3"), laws)]
    found = after(one_point(supply(230), loads, cable=Cable(cable, cable)))
    for x, u in zip(found.loads, expected):
        assert x.voltage == pytest.approx(complex(u), rel=1e-7)


@pytest.mark.parametrize("watts", [(25, 60, 100), (40, 40, 150), (15, 1000, 60), (100, 100, 101)])
@pytest.mark.parametrize("kind", ["lamp", "heater"])
@pytest.mark.parametrize("joint", [0.5, 40.0, inf])
def test_lamps_and_heaters_against_a_general_root_finder(kind, watts, joint):
    # scipy.optimize.root on the star point; each load's current from its own model, one load at a time.
    source = supply(230)
    loads = [load(kind, x, power=p) for x, p in zip(source.lines, watts)]
    models = [load_model(x, source)[0] for x in loads]

    def currents(shift):
        u = [e - shift for e in source.phasors.values()]
        return [complex(m.admittance(m.settled(abs(v)))) * v for m, v in zip(models, u)]

    def imbalance(x):
        shift = complex(*x)
        total = sum(currents(shift)) - shift / joint
        return [total.real, total.imag]

    answer = root(imbalance, [1.0, 1.0], tol=1e-14)
    assert np.abs(answer.fun).max() < 1e-9
    shift = complex(*answer.x)
    found = after(one_point(source, loads, [Break("intake", "N", joint)]))
    assert found.nodes["intake", "N"] == pytest.approx(shift, rel=1e-6, abs=1e-6)
    for x, i in zip(found.loads, currents(shift)):
        assert x.current == pytest.approx(i, rel=1e-6)


def test_count_is_units_in_parallel():
    several = one_point(supply(230), [load("lamp", "L1", power=40, count=5), load("lamp", "L2", power=60)])
    one_each = one_point(supply(230), [*(load("lamp", "L1", power=40, name=str(k)) for k in range(5)),
                                       load("lamp", "L2", power=60)])
    many, single = after(several), after(one_each)
    assert many.loads[0].voltage == pytest.approx(single.loads[0].voltage, rel=1e-9)
    assert many.loads[0].current == pytest.approx(sum(x.current for x in single.loads[:5]), rel=1e-9)
    assert many.loads[0].power == pytest.approx(sum(x.power for x in single.loads[:5]), rel=1e-9)


class TestConductorsWithoutImpedance:
    """Joined conductors are one node; their currents follow from the current sums, where these decide them."""

    def case(self, earthing="TN-C-S", ring=0.0, breaks=()):
        points = (Point("joint", "joint"), Point("left", fed_from="joint"), Point("right", fed_from="joint"))
        loads = [ohms(10.0, "L1", name="one", point="left"), ohms(20.0, "L2", name="two", point="right")]
        return Case("ring", supply(230, earthing=earthing, electrode=1.0), points, tuple(loads),
                    paths=(Path("left", "right", ring),), breaks=tuple(breaks))

    def test_a_ring_without_impedance_leaves_its_own_currents_open(self):
        found = after(self.case())
        assert found.currents["left", "N"] is None and found.currents["right", "N"] is None
        # What does not run round the ring is decided: 23 A and 11.5 A.
        assert found.currents["left", "L1"] == pytest.approx(23.0)
        assert found.currents["joint", "N"] == pytest.approx(-(23.0 + polar(11.5, -120)), rel=1e-12)

    def test_a_ring_with_a_break_is_a_tree_and_decided(self):
        found = after(self.case(breaks=[Break("left", "N", inf)]))
        assert found.currents["left", "N"] == 0
        assert found.currents["right", "N"] == pytest.approx(-(23.0 + polar(11.5, -120)), rel=1e-12)

    def test_a_resistance_in_the_ring_decides_it(self):
        found = after(self.case(ring=1.0))
        assert found.currents["left", "N"] == pytest.approx(-23.0, rel=1e-12)
        assert found.currents["right", "N"] == pytest.approx(-polar(11.5, -120), rel=1e-12)

    def test_two_shorts_side_by_side_share_an_open_question(self):
        loads = [ohms(0.0, "L1", name="a"), ohms(0.0, "L1", name="b"), ohms(23.0, "L2", name="c")]
        found = after(one_point(supply(230), loads))
        assert [x.current for x in found.loads[:2]] == [None, None]
        assert found.loads[2].voltage == pytest.approx(polar(230, -120) - 230, rel=1e-12)
        assert found.currents["intake", "L1"] == pytest.approx(-found.loads[2].current, rel=1e-12)

    def test_a_short_between_lines_behind_an_impedance(self):
        # Closed form: E1 - E2 across twice the cable.
        loads = [load("impedance", "L1-L2", resistance=0, reactance=0), ohms(1e3, "L3")]
        found = before_and_after(one_point(supply(230), loads, cable=Cable(0.5 + 0.1j, 0.5 + 0.1j)))[0].reached
        expected = (230 - polar(230, -120)) / (1 + 0.2j)
        assert found.loads[0].current == pytest.approx(expected, rel=1e-9)
        assert found.currents["intake", "L2"] == pytest.approx(-expected, rel=1e-9)

    def test_a_three_phase_short_ring_behind_an_impedance_leaves_its_branches_open(self):
        loads = [load("impedance", "L1-L2-L3", resistance=0, reactance=0), ohms(1e3, "L3")]
        found = before_and_after(one_point(supply(230), loads, cable=Cable(0.5 + 0j, 0.5 + 0j)))[0].reached
        assert abs(found.currents["intake", "L1"]) == pytest.approx(460.0, rel=1e-3)
        assert found.loads[0].current is None


class TestFloatingParts:
    """What nothing ties to the supply is said to float; within one floating part there is no voltage."""

    def test_a_neutral_with_nothing_on_it_floats(self):
        points = (Point("intake"), Point("board", "board", "intake"))
        loads = [ohms(20.0, "L1", point="board", on=False)]
        found = after(Case("idle", supply(230), points, tuple(loads), breaks=(Break("intake", "N", inf),)))
        assert found.nodes["intake", "N"] is None and found.nodes["board", "N"] is None
        assert found.voltage("board", "L1", "N") is None
        assert found.between(("intake", "N"), ("board", "N")) == 0
        assert found.loads[0].voltage is None

    def test_two_breaks_make_two_floating_parts(self):
        points = (Point("intake"), Point("board", "board", "intake"))
        loads = [ohms(20.0, "L1", point="board", on=False)]
        breaks = (Break("intake", "N", inf), Break("board", "N", inf))
        found = after(Case("idle", supply(230), points, tuple(loads), breaks=breaks))
        assert found.islands["intake", "N"] != found.islands["board", "N"]
        assert found.between(("intake", "N"), ("board", "N")) is None

    def test_a_line_and_neutral_lost_together_leave_the_load_dead_and_floating(self):
        breaks = (Break("intake", "N", inf), Break("intake", "L1", inf))
        found = after(one_point(supply(230), [ohms(20.0, "L1"), ohms(20.0, "L2", on=False)], breaks))
        assert found.nodes["intake", "L1"] is None and found.nodes["intake", "N"] is None
        assert found.voltage("intake", "L1") == 0 and found.loads[0].voltage == 0 and found.loads[0].current == 0
        assert found.loads[1].voltage is None

    def test_a_dead_line_is_tied_to_the_neutral_by_its_load(self):
        found = after(one_point(supply(230), [ohms(20.0, "L1"), ohms(20.0, "L2")], [Break("intake", "L1", inf)]))
        assert abs(found.voltage("intake", "L1")) < 1e-9
        assert sizes(found) == pytest.approx([0.0, 230.0], abs=1e-9)

    def test_terraces_own_electrode_keeps_its_earth_from_floating(self):
        case = one_point(supply(230, earthing="TT", electrode=1.0), [ohms(20.0, "L1", on=False)], electrode=30.0)
        found = after(case)
        assert found.nodes["intake", "PE"] == 0 and found.nodes["intake", "N"] is None
        bare = after(one_point(supply(230, earthing="TT"), [ohms(20.0, "L1")]))
        assert bare.nodes["intake", "PE"] is None


def test_broken_pen_through_the_point_s_own_electrode():
    # Closed form: U0·RA/(RA + RB + Z) on the metalwork of a house with one load and a broken PEN.
    found = after(one_point(supply(230, earthing="TN-C-S", electrode=2.0), [ohms(23.0, "L1")], electrode=20.0))
    assert found.between(("intake", "PE"), ("earth", "")) == pytest.approx(230 * 20 / 45, rel=1e-12)


def test_neutral_lost_beyond_the_link_leaves_the_metalwork_at_earth():
    points = (Point("intake"), Point("board", "board", "intake"))
    loads = (ohms(20.0, "L1", point="board"), ohms(50.0, "L2", point="board"))
    found = after(Case("inside", supply(230, earthing="TN-C-S"), points, loads, breaks=(Break("board", "N", inf),)))
    assert abs(found.between(("board", "PE"), ("earth", ""))) < 1e-9
    assert sizes(found) == pytest.approx([230 * sqrt(3) * 2 / 7, 230 * sqrt(3) * 5 / 7], rel=1e-12)


def test_series_resonance_has_no_solution_and_says_so():
    # Closed form: j20 and -j20 ohm in series across two lines carry an infinite current.
    with pytest.raises(NoSolutionError, match="resonance"):
        after(star(supply(230), (20j, -20j, None)))


def test_single_phase_premises_on_a_shared_neutral():
    # Closed form: the lines divide over the two premises, whose neutrals join at the point where N is broken.
    points = (Point("joint", "joint"), Point("flat", fed_from="joint", phases=("L2",)),
              Point("shop", fed_from="joint", phases=("L3",), cable=Cable(1.0 + 0j, 1.0 + 0j)))
    loads = (ohms(40.0, "L2", point="flat"), ohms(58.0, "L3", point="shop"))
    found = after(Case("street", supply(230), points, loads, breaks=(Break("joint", "N", inf),)))
    line = 230 * sqrt(3)
    assert sizes(found) == pytest.approx([line * 0.4, line * 0.58], rel=1e-12)
    assert abs(found.voltage("shop", "L3")) == pytest.approx(line * 0.58, rel=1e-12)
    assert found.voltage("flat", "L1") is None and ("flat", "L1") not in found.currents
    assert found.currents["flat", "N"] == pytest.approx(-found.currents["shop", "N"], rel=1e-9)
