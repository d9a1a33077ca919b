"""Sources that are coils: windings that a core couples, a transformer, a source behind its impedance.

An ideal transformer with its short-circuit impedance z carries the current (V1 − V2 − (V3 − V4)) / z from terminal 1 to 2,
and as much from 4 to 3. More generally a winding here has a weight w at each of its terminals, the weights summing to
zero, and takes from terminal k the current w_k · Σ w V / z. Its nodal matrix w wᵀ / z is that of ordinary impedances −z / (w_j w_k)
between each pair of its terminals, some of them negative, so that whatever solves a network solves it.
"""

from itertools import combinations
from math import sqrt

import numpy as np

from lostneutral.case.model import LINES, Supply, SupplyTransformer
from lostneutral.frozen import dataclass

Terminal = tuple[str, str]

@dataclass(frozen=True)
class Element:
    """A linear impedance (ohm) between two terminals; `key` says what it is, current counts from `a` to `b`."""

    key: tuple
    a: tuple[str, str]
    b: tuple[str, str]
    impedance: complex
    ties: bool = True  #: False: it stands for coils that a core couples, and does not tie one end's voltage to the other's


@dataclass(frozen=True)
class Winding:
    """Coupled coils as one: the current Σ w V / impedance flows out of each terminal w times into it."""

    key: tuple
    weights: tuple[tuple[Terminal, float], ...]  #: terminal -> w
    impedance: complex  #: ohm
    far: frozenset = frozenset()  #: the terminals on the other side of the core


MODES = {3: ((1.0, 1.0, 1.0), (2.0, -1.0, -1.0), (0.0, 1.0, -1.0)), 2: ((1.0, 1.0), (1.0, -1.0)), 1: ((1.0,),)}
"""Number of lines -> directions in which a symmetric source has one impedance each: the first is zero sequence."""


def pairwise_elements(winding: Winding) -> list[Element]:
    """Return the impedances between pairs of terminals that are, together, `winding`."""
    made = []
    for (a, first), (b, second) in combinations(winding.weights, 2):
        same = (a in winding.far) == (b in winding.far)
        made.append(Element(("winding", *winding.key, a, b), a, b, -winding.impedance / (first * second), ties=same))
    return made


def coupled(key: tuple, legs, impedance: complex, zero: complex, far=frozenset()) -> list[Winding]:
    """Return windings of equal `legs`, each {terminal: weight}, with one impedance and another where all carry the same (ohm)."""
    made = []
    for number, direction in enumerate(MODES[len(legs)]):
        size, weights = sqrt(sum(x * x for x in direction)), {}
        for share, leg in zip(direction, legs):
            for terminal, weight in leg.items():
                weights[terminal] = weights.get(terminal, 0.0) + share / size * weight
        kept = tuple((t, w) for t, w in weights.items() if abs(w) > 1e-12)
        made.append(Winding((*key, number), kept, zero if number == 0 and len(legs) > 1 else impedance, far))
    return made


def behind_impedance(name: str, phasors, lines, star: Terminal, zero: Terminal, impedance: complex, zero_impedance: complex):
    """Return (fixed voltages, windings) of a source whose star point may float: {line: V} behind its impedances (ohm).

    `lines` {line: terminal}; `zero` is a terminal of 0 V, from which the fixed voltages count.
    """
    fixed = {line: ("source", f"{name} {line}") for line in lines}
    legs = [{terminal: 1.0, star: -1.0, fixed[line]: -1.0, zero: 1.0} for line, terminal in lines.items()]
    windings = coupled((name,), legs, impedance, zero_impedance, frozenset({*fixed.values(), zero}))
    return {fixed[line]: volts for line, volts in phasors.items()}, windings


def vector_group(group: str):
    """Return (high-voltage winding, low-voltage winding, clock hour) of a vector group: ("D", "y", 11) of "Dyn11"."""
    high, low = group[0], group[1] if group[1] != "N" else group[2]
    return high, low, int("".join(c for c in group if c.isdigit()))


def transformer_coils(supply: Supply, lines, star: Terminal, resistance):
    """Return (fixed voltages, elements, windings) of the supply's transformer, seen from its low-voltage side.

    `lines` {line: terminal of the low-voltage winding}. On the high-voltage side stand three fixed voltages behind fuses
    (`resistance` {("fuse", "supply", line): ohm}), in volts of the low-voltage side, such that with all fuses sound and no load
    the supply's own phasors come out. Leg k of the core has the low-voltage winding of line k.
    """
    t = supply.transformer
    base = supply.nominal**2 * 3 / t.power
    high = {line: ("high voltage", line) for line in LINES}
    hv_star, ends = star if t.group.startswith("YN") else ("high voltage", "star"), _ends(t)
    fixed, elements = {}, []
    high_voltages = _high_voltages(t, [supply.phasors[x] for x in LINES])
    for line, volts in zip(LINES, high_voltages):
        fixed["source", f"high voltage {line}"] = volts
        ohms = resistance.get(("fuse", "supply", line), 0.0)
        if not np.isinf(ohms):
            elements.append(Element(("fuse", "supply", line), ("source", f"high voltage {line}"), high[line], complex(ohms)))
    node = lambda end: hv_star if end is None else high[LINES[end]]
    coils = [{node(a): 1.0, node(b): -1.0} for a, b in ends]
    # The voltage that each leg's flux induces in a low-voltage coil, and what of these makes the voltage of a line.
    legs = []
    for number, line in enumerate(LINES):
        weights = {lines[line]: 1.0, star: -1.0}
        for leg, share in _shares(t, number):
            for terminal, weight in coils[leg].items():
                weights[terminal] = weights.get(terminal, 0.0) - share * weight
        legs.append(weights)
    far = frozenset({*high.values(), hv_star})
    impedance = t.impedance * base
    windings = coupled(("transformer",), legs, impedance, impedance * t.zero_sequence, far)
    a, b = ends[0]
    of_coil = base * abs(high_voltages[a] - (0 if b is None else high_voltages[b])) ** 2 / abs(supply.phasors["L1"]) ** 2
    windings += coupled(("core",), coils, t.magnetising * of_coil, t.zero_magnetising * of_coil, far)
    return fixed, elements, windings


def _ends(t: SupplyTransformer):
    """Return the ends (index of a line, or None: the star point) of the high-voltage coil of each leg."""
    high, _, hour = vector_group(t.group)
    if high == "Y":
        return [(k, None) for k in range(3)]
    back = hour % 12 in (1, 7)
    return [(k, (k + (2 if back else 1)) % 3) for k in range(3)]


def _shares(t: SupplyTransformer, number: int):
    """Return (leg, turns with sign) of the coils that make the low-voltage winding of the line `number`, in series."""
    _, low, hour = vector_group(t.group)
    sign = -1.0 if hour % 12 in (5, 6, 7) else 1.0
    if low != "z":
        return [(number, sign)]
    other = (number + (1 if hour % 12 in (11, 5) else 2)) % 3
    return [(number, sign), (other, -sign)]


def _high_voltages(t: SupplyTransformer, wanted):
    """Return the high-voltage line voltages (V of the low-voltage side) that give the phasors `wanted` with all sound."""
    turns = np.zeros((3, 3))
    for line in range(3):
        for leg, share in _shares(t, line):
            for end, weight in zip(_ends(t)[leg], (1.0, -1.0)):
                if end is not None:
                    turns[line, end] += share * weight
    # A delta or a zigzag leaves the zero sequence of the high voltage open: the least that gives what is wanted.
    return np.linalg.lstsq(turns.astype(complex), np.array(wanted, complex), rcond=None)[0].tolist()
