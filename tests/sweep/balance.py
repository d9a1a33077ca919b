"""Kirchhoff's current law at every node of a solution, from its voltages, the case's impedances and the loads' currents.

Written from the format's description of the wiring, without the program's own: kind of check independent (the network
is assembled a second time), and invariant (currents sum to zero).
"""

from math import isinf

import numpy as np

STAR, EARTH = ("star", ""), ("earth", "")
ALLOWED = 1e-8  #: of the largest current in the circuit
ALLOWED_IN_PULSES = 1e-6  #: the same in waveforms, which are followed to about that
NOTHING = 1e-9  #: A, below which what flows anywhere is the rounding of voltages
IN_COILS = 2e-14  #: of what a voltage drives through a coil, below which currents are the rounding of coils
EPS = 2.3e-16  #: rounding of a voltage, as a share of the highest: the voltages of a circuit are worked out together


def imbalances(case, solution, breaks, crosses):
    """Return [(terminals of a node, A out of it, A allowed)] of every node at which the currents do not sum to zero.

    Terminals that something without impedance joins are one node.
    """
    volts = dict(solution.nodes) | {("source", line): v for line, v in case.supply.phasors.items()}
    sources = {STAR, *(("source", line) for line in case.supply.lines)}
    elements = [(a, b, z) for a, b, z in _elements(case, breaks, crosses)]
    loads = [(load, seen) for load, seen in zip(case.loads, solution.loads) if load.on]
    joined = [(a, b) for a, b, z in elements if z == 0]
    joined += [((load.point, load.connect[-2]), (load.point, load.connect[-1])) for load, _ in loads
               if _short(load)]
    node = _nodes(joined, volts)
    out, rounding, largest = {}, {}, 0.0
    highest = max((abs(v) for v in volts.values() if v is not None), default=0.0)
    for a, b, z in elements:
        if z == 0:
            continue
        if (volts[a] is None) != (volts[b] is None):
            return [((a, b), float("inf"), 0.0)]  # a conductor that floats at one end only
        if volts[a] is None:
            continue
        i = (volts[a] - volts[b]) / z
        largest = max(largest, abs(i))
        for terminal, sign in ((a, 1), (b, -1)):
            out[node[terminal]] = out.get(node[terminal], 0j) + sign * i
            rounding[node[terminal]] = rounding.get(node[terminal], 0.0) + 4 * EPS * highest / abs(z)
    for load, seen in loads:
        if _short(load) or not (seen.current or seen.currents):
            continue
        into = seen.currents or {load.connect[0]: seen.current, load.connect[-1]: -seen.current}
        largest = max(largest, *map(abs, into.values()))
        for end, i in into.items():
            if end != "star":
                out[node[load.point, end]] = out.get(node[load.point, end], 0j) + i
    if largest <= NOTHING:
        return []
    # Coils stand behind these, which no impedance between two terminals describes.
    coils = {t for t in node if t[0] in ("transformer", "high voltage") or t[0] in {g.name for g in case.generators} or
             t[0] == "star"}
    fixed = {node[s] for s in (*sources, *coils) if s in node}
    allowed = {n: ALLOWED * largest + rounding.get(n, 0.0) + IN_COILS * highest * _of_coils(case) for n in out}
    return [(sorted(t for t, n in node.items() if n == at), abs(i), allowed[at]) for at, i in out.items()
            if at not in fixed and not abs(i) <= allowed[at]]


def _of_coils(case):
    """Largest admittance (S) of a source's coils: these are worked out as impedances between every two ends, whose currents cancel."""
    t = case.supply.transformer
    ohms = [t.impedance * 3 * case.supply.nominal**2 / t.power] if t else []
    ohms += [z for g in case.generators for z in (g.line_impedance, g.zero_impedance) if z]
    return max((1 / abs(z) for z in ohms), default=0.0)


def pulse_imbalances(case, state, crosses):
    """Return [(terminal, A)] of the line terminals of points at which a harmonic of a `WaveState` does not sum to zero.

    Of a three-phase load only the current into L1 is known, none in a loop without impedance, and behind a changeover none that a
    generator gives: left out.
    """
    swap = {(c.point, a): (c.point, b) for c in crosses for a, b in (c.conductors, c.conductors[::-1])}
    flows = []  # (terminal, wave of the current, sign of it out of the terminal)
    for (point, conductor), wave in state.currents.items():
        flows += [((case.point(point).fed_from, conductor), wave, 1),
                  (swap.get((point, conductor), (point, conductor)), wave, -1)]
    for load, seen in zip(case.loads, state.loads):
        if load.on:
            flows.append(((load.point, load.connect[0]), seen.current, 1))
            flows += [((load.point, c), None if len(load.connect) > 2 else seen.current, -1) for c in load.connect[1:]]
    unknown = {terminal for terminal, wave, _ in flows if wave is None} | {
        (at, line) for c in case.changeovers for at in (c.point, case.point(c.point).fed_from) for line in case.point(c.point).phases}
    out, largest = {}, NOTHING
    for terminal, wave, sign in flows:
        if wave is not None:
            amps = np.array(wave.harmonics) * np.exp(1j * np.radians(wave.angles))
            largest = max(largest, np.abs(amps).max())
            out[terminal] = out.get(terminal, 0) + sign * amps
    if largest == NOTHING:
        return []
    return [(terminal, np.abs(i).max()) for terminal, i in out.items() if terminal[0] != "supply" and terminal[1][0] == "L"
            and terminal not in unknown and not np.abs(i).max() <= ALLOWED_IN_PULSES * largest]


def _short(load):
    own = load.parameters
    return load.kind == "impedance" and not own.get("resistance") and not own.get("reactance")


def _elements(case, breaks, crosses):
    supply, resistance = case.supply, {(b.feeding, b.conductor): b.resistance for b in breaks if b.part == "cable"}
    contacts = {(b.feeding, b.conductor) for b in breaks if b.part == "contact"}
    changeovers = {c.point: c for c in case.changeovers}
    generators = {g.name: g for g in case.generators}
    kinds = {p.name: p.kind for p in case.points}
    earthing = supply.earthing
    behind = "transformer" if supply.transformer else "source"
    yield from (((behind, line), ("supply", line), supply.line_impedance) for line in supply.lines)
    yield STAR, ("supply", "N"), supply.neutral_impedance
    if earthing:
        yield STAR, ("supply", "PE"), 0j
        yield STAR, EARTH, complex(supply.electrode)
    for point in case.points:
        board = point.kind == "board"
        own_pe = earthing == "TN-S" or (earthing in ("TN-C-S", "TT") and board)
        swap = next((dict([c.conductors, c.conductors[::-1]]) for c in crosses if c.point == point.name), {})
        for conductor in (*point.phases, "N", *(("PE",) if own_pe else ())):
            extra = resistance.get((point.name, conductor), 0.0)
            at = changeovers.get(point.name)
            if at and conductor in at.poles and (at.position != "supply" or (point.name, conductor) in contacts):
                if at.position == "generator" and (point.name, conductor) not in contacts:
                    cable = generators[at.generator].cable
                    yield (at.generator, conductor), (point.name, conductor), cable.neutral if conductor == "N" else cable.line
                continue
            if not isinf(extra):
                z = {"N": point.cable.neutral, "PE": point.cable.pe}.get(conductor, point.cable.line)
                yield (point.fed_from, conductor), (point.name, swap.get(conductor, conductor)), z + extra
        pen = earthing == "TN-C" or (earthing == "TN-C-S" and not board)
        if pen and point.kind != "joint":
            yield (point.name, "N"), (point.name, "PE"), 0j
        if earthing and point.electrode is not None:
            yield _earth_terminal(earthing, kinds, point.name), EARTH, complex(point.electrode)
    for name, generator in generators.items():
        at = next(c for c in case.changeovers if c.generator == name)
        if "N" in at.poles and at.position != "generator":
            continue
        yield ("star", name), (name, "N"), generator.neutral_impedance
        if "N" not in at.poles:
            yield (name, "N"), (at.point, "N"), generator.cable.neutral
        if earthing and generator.bonded:
            yield ("star", name), _earth_terminal(earthing, kinds, at.point), generator.cable.pe
        if earthing and generator.electrode is not None:
            yield ("star", name), EARTH, complex(generator.electrode)
    for path in case.paths if earthing else ():
        yield *(EARTH if end == "earth" else _earth_terminal(earthing, kinds, end) for end in (path.start, path.end)), \
            complex(path.resistance)


def _earth_terminal(earthing, kinds, name):
    return name, "N" if kinds[name] == "joint" and earthing != "TN-S" else "PE"


def _nodes(joined, terminals):
    """Return {terminal: one terminal that stands for its node}."""
    node = {t: t for t in terminals}
    for a, b in joined:
        old, new = node[a], node[b]
        node.update({t: new for t, n in node.items() if n == old})
    return node
