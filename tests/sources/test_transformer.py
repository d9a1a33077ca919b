"""A transformer as supply, and one high-voltage fuse lost, against other methods."""

from dataclasses import replace

import numpy as np
import pytest

from lostneutral.case import parse_case
from lostneutral.case.model import Break, SupplyTransformer
from lostneutral.circuit.network import network
from lostneutral.circuit.states import settled_states
from lostneutral.circuit.wiring import wiring

LINES = ("L1", "L2", "L3")
A = np.exp(2j * np.pi / 3)
LOST = Break("supply", "L1", float("inf"), "fuse")


def case(powers, group, fuses=(), *, current=0.005, short=complex(0.012, 0.038), zero=0.92, power=400e3, line=0j):
    """Resistors of the given powers (W at 230 V) from each line to the neutral of a transformer."""
    text = 'title = "t"\nbreak = []\n[supply]\n' + "".join(
        f'[[load]]\nname = "{line}"\nkind = "resistive"\nconnect = "{line}-N"\npower = {watts}\n' for line, watts in zip(LINES, powers))
    made = parse_case(text)
    magnetising = 1 / (current * complex(0.5, -(0.75**0.5)))
    t = SupplyTransformer(group, power, short, zero, magnetising, 0.8j if group[0] == "Y" else magnetising)
    return replace(made, supply=replace(made.supply, transformer=t, line_impedance=line), breaks=tuple(fuses))


def lines(of):
    state, _ = settled_states(of, "after", network(wiring(of, of.breaks_now())))
    nodes = state.solutions[0].nodes
    return np.array([nodes["intake", line] - nodes["intake", "N"] for line in LINES])


def between(v):
    return np.abs([v[0] - v[1], v[1] - v[2], v[2] - v[0]])


# Derived for the ideal machine (the weak windings in series across the sound one): at 400/√3 V, so scaled from 230.9 to 230 V.
# (group, loads W, the lost fuse) -> line to neutral, line to line.
TABLE = [
    ("Dyn11", (1000, 1000, 1000), (115.5, 230.9, 115.5), (346.4, 346.4, 0.0)),
    ("Dyn11", (1000, 500, 3000), (173.2, 230.9, 57.7), (404.1, 288.7, 115.5)),
    ("Dyn11", (500, 500, 3000), (197.9, 230.9, 33.0), (428.9, 263.9, 165.0)),
    ("Yyn0", (1e-3, 1e-3, 1e-3), (0.0, 200.0, 200.0), (200.0, 400.0, 200.0)),
]


@pytest.mark.parametrize(("group", "powers", "to_neutral", "to_line"), TABLE)
def test_one_fuse_lost_of_an_ideal_machine(group, powers, to_neutral, to_line):
    """Derived: both weak windings carry one current, so their voltages add up to the sound one's and divide as their loads do."""
    v = lines(case(powers, group, [LOST], current=1e-6, short=complex(1e-6, 1e-6)))
    assert np.abs(v) * 400 / 3**0.5 / 230 == pytest.approx(to_neutral, abs=0.15)
    assert between(v) * 400 / 3**0.5 / 230 == pytest.approx(to_line, abs=0.15)


def tableau(powers, group, lost, *, current, short, power=400e3):
    """Independent: one equation for each winding, coil and node, in a tableau, instead of nodal admittances."""
    base = 3 * 230.0**2 / power
    e = np.array([1, A**2, A]) * 230.0
    delta = group[0] == "D"
    back = group[3:] in ("1", "7")
    sign = -1 if group[3:] in ("5", "6", "7") else 1
    # Unknowns: currents i (low, out of the winding), coil voltages u, coil currents j, high-voltage nodes U, star n.
    n = 13
    left, right = [], []

    def equation(terms, value=0.0):
        row = np.zeros(n, complex)
        for at, factor in terms:
            row[at] += factor
        left.append(row)
        right.append(value)

    ends = [(k, (k + (2 if back else 1)) % 3) for k in range(3)] if delta else [(k, 3) for k in range(3)]
    # Supply voltages such that the coils see what makes the low side e.
    sound = {k: (sign * e[k] + sign * e[(k + (1 if back else 2)) % 3] * -1) / 3 if delta else sign * e[k] for k in range(3)}
    coil_base = base
    for k in range(3):
        y = powers[k] / 230.0**2
        equation([(3 + k, sign * y), (k, -(1 + short * base * y))])  # i = y (sign u − z i)
        equation([(6 + k, 1), (k, -sign), (3 + k, -current * complex(0.5, -(0.75**0.5)) / coil_base)])  # j = sign i + u / zm
        equation([(3 + k, 1), (9 + ends[k][0], -1), (9 + ends[k][1], 1)])
    for k in range(3):
        if lost is not None and k == lost:
            equation([(6 + leg, 1 if ends[leg][0] == k else -1) for leg in range(3) if k in ends[leg]])
        else:
            equation([(9 + k, 1)], sound[k])
    if delta:
        equation([(12, 1)])
    else:
        # Zero-sequence magnetising of the three-limb core beside the magnetising of each leg: total into the star is zero.
        equation([(6 + k, 1) for k in range(3)])
        zero = 1 / (0.8j * coil_base) - current * complex(0.5, -(0.75**0.5)) / coil_base
        for k in range(3):
            for other in range(3):
                left[3 * k + 1][3 + other] -= zero / 3
    x = np.linalg.solve(np.array(left), np.array(right))
    return sign * x[3:6] - short * base * x[:3]


@pytest.mark.parametrize("lost", [None, 0, 1, 2])
@pytest.mark.parametrize("group", ["Dyn1", "Dyn5", "Dyn7", "Dyn11", "Yyn0", "Yyn6"])
def test_against_a_tableau_of_windings(group, lost):
    powers, values = (40e3, 15e3, 70e3), {"current": 0.02, "short": complex(0.012, 0.038)}
    fuses = [] if lost is None else [Break("supply", LINES[lost], float("inf"), "fuse")]
    v = lines(case(powers, group, fuses, zero=1.0, **values))
    assert v == pytest.approx(tableau(powers, group, lost, **values), abs=1e-6)


def test_by_symmetrical_components_with_balanced_loads():
    """Independent: a lost line puts positive and negative sequence in series, zero sequence has no way; shifts of ±30° in a delta."""
    base, watts, short = 3 * 230.0**2 / 400e3, 50e3, complex(0.012, 0.038)
    load, z = 230.0**2 / watts, short * base
    half = 230.0 / 2 * load / (load + z)
    # High-voltage line 1 lost: there V1 = V2 of the healthy system's half, of opposite sign in the line that is lost.
    v1, v2 = half, -half
    for group, turn in (("Yyn0", 0), ("Dyn11", 30), ("Dyn1", -30)):
        one, two = v1 * np.exp(1j * np.radians(turn)), v2 * np.exp(-1j * np.radians(turn))
        expected = np.abs([one + two, A**2 * one + A * two, A * one + A**2 * two])
        got = np.abs(lines(case((watts,) * 3, group, [LOST], current=1e-7, short=short)))
        assert got == pytest.approx(expected, abs=0.02), group


def test_zero_sequence_impedance_of_a_sound_transformer():
    """Independent: one loaded line of a Dyn transformer sees (2 Z1 + Z0) / 3."""
    base, watts, short = 3 * 230.0**2 / 100e3, 20e3, complex(0.012, 0.038)
    load = 230.0**2 / watts
    for zero in (0.85, 1.0, 3.0):
        got = lines(case((watts, 1e-3, 1e-3), "Dyn11", short=short, zero=zero, power=100e3, current=1e-7))
        inner = short * base * (2 + zero) / 3
        assert got[0] == pytest.approx(230 * load / (load + inner), abs=1e-3)


@pytest.mark.parametrize("group", ["Dyn1", "Dyn5", "Dyn7", "Dyn11", "Yyn0", "Yyn6", "YNyn0", "Yzn1", "Yzn5", "Yzn7", "Yzn11"])
def test_without_load_the_supplys_own_voltages_come_out(group):
    """Invariant, within what the no-load current drops."""
    assert lines(case((1e-3,) * 3, group)) == pytest.approx(230 * np.array([1, A**2, A]), abs=0.1)


def test_a_star_star_transformer_shifts_with_an_unbalanced_load_and_a_zigzag_does_not():
    """Practice: Yyn only for small loads to neutral; independent: shift ≈ a third of the load current through Z0 of the core."""
    yyn, yzn = (np.abs(lines(case((20e3, 1e-3, 1e-3), group, zero=0.1))) for group in ("Yyn0", "Yzn5"))
    core = 0.8j * 3 * 230.0**2 / 400e3
    load = 230.0**2 / 20e3
    assert yyn[0] == pytest.approx(abs(230 * load / (load + core / 3)), rel=0.01)
    assert yzn[0] == pytest.approx(230, rel=0.005)
