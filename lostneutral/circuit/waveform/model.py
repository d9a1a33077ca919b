"""The case as equations in time: M y' = K y + forcing(t) + what the nonlinear parts draw.

Unknowns y, in this order: node voltages, currents of the branches that have reactance or no impedance at all,
voltages of their capacitors, currents into the bridges, voltages of the d.c. links.
"""

from dataclasses import replace
from math import pi, sqrt

import numpy as np

from lostneutral import data
from lostneutral.case.model import Assumption, Case, Load
from lostneutral.circuit.waveform.parts import bridge_of, clamp_of, model_of, spectrum_of
from lostneutral.circuit.wiring import pairs, wiring
from lostneutral.errors import NoSolutionError
from lostneutral.frozen import dataclass
from lostneutral.loads.bridge import Bridge
from lostneutral.loads.catalogue import resolve


@dataclass(frozen=True)
class Port:
    """One load, or one branch of a balanced three-phase load, between two terminals."""

    load: int  #: index into `Case.loads`
    a: tuple[str, str]
    b: tuple[str, str]

    @property
    def key(self):
        """What its rows and unknowns are kept under."""
        return ("load", self.load, self.a[1], self.b[1])


@dataclass(frozen=True, eq=False)
class TimeNetwork:
    """The equations; arrays over unknowns (n), forcing orders (f), bridges (b), varistors (v). All in SI units."""

    case: Case
    mass: np.ndarray  #: M, (n, n)
    stiffness: np.ndarray  #: K, (n, n), with every bridge's own row left empty
    orders: np.ndarray  #: (f,) multiples of the supply's frequency
    forcing: np.ndarray  #: (n, f) complex peak values: forcing(t) = Re Σ forcing e^(j order ω t)
    node: dict  #: terminal -> unknown; a terminal that nothing ties to the supply is missing
    ports: tuple[Port, ...]  #: loads that are on and tied down
    names: tuple  #: what each unknown is: ("volts", terminal), ("current" | "capacitor" | "bridge" | "link", key)
    through: dict  #: key of an element or port -> row that gives its current as row · y
    harmonics: dict  #: key of a port -> (orders, complex peak currents) that it draws beside `through`
    bridge_port: np.ndarray  #: (b,) index into `ports`
    bridge_ends: np.ndarray  #: (b, 2) unknowns
    bridge_row: np.ndarray  #: (b,) unknown of the current into it
    link: np.ndarray  #: (b,) unknown of the link's voltage
    bridges: tuple[Bridge, ...]
    varistor_port: np.ndarray
    varistor_ends: np.ndarray  #: (v, 2)
    varistor_law: np.ndarray  #: (v, 3) reference voltage, exponent, current at that voltage
    driven: np.ndarray  #: unknowns that are fixed source voltages
    undetermined: frozenset  #: keys of elements in a loop without impedance, whose share of its current is not known

    @property
    def omega(self):
        """Angular frequency of the supply, rad/s."""
        return 2 * pi * self.case.supply.frequency

    @property
    def period(self):
        """Of the supply, s."""
        return 1 / self.case.supply.frequency

    @property
    def linear(self):
        """Whether there is neither bridge nor varistor."""
        return not len(self.bridges) and not len(self.varistor_law)

    def force(self, times):
        """Return the forcing (n, times) at `times` (s)."""
        turn = np.exp(1j * self.omega * np.outer(self.orders, times))
        return (self.forcing @ turn).real

    def waves(self, times):
        """Return cosine and sine of each order in turn, and of order 0, at `times` (s), (times, 2f + 2)."""
        return np.exp(1j * self.omega * np.outer(times, [*self.orders, 0])).view(float)

    def turned(self, after):
        """Return what takes `waves` to those `after` some time (s), (2f + 2, 2f + 2)."""
        turn, angle = np.eye(2 * len(self.orders) + 2), self.omega * self.orders * after
        cos, sin = (np.arange(first, 2 * len(angle), 2) for first in (0, 1))
        turn[cos, cos] = turn[sin, sin] = np.cos(angle)
        turn[sin, cos] = np.sin(angle)
        turn[cos, sin] = -np.sin(angle)
        return turn

    def across(self, port):
        """Return the row whose product with y is the voltage across `port`."""
        row = np.zeros(len(self.mass))
        row[self.node[port.a]] += 1
        row[self.node[port.b]] -= 1
        return row

    def harmonic_current(self, port, times):
        """Return the current (A) at `times` that `port` draws as a source, beside `through`."""
        if port.key not in self.harmonics:
            return 0.0
        orders, peaks = self.harmonics[port.key]
        return (peaks @ np.exp(1j * self.omega * np.outer(orders, times))).real


class _Builder:
    """Collects stamps; everything is addressed by terminals until `finish`."""

    def __init__(self, case, breaks, crosses):
        self.case, self.omega = case, 2 * pi * case.supply.frequency
        self.wires = wiring(replace(case, loads=()), breaks, crosses)
        self.resistors, self.branches, self.sources = [], [], []
        self.windings = []  #: coupled coils
        self.bridges, self.varistors, self.ports = [], [], []

    def impedance(self, key, a, b, z):
        """Add a series impedance (Ω at the supply's frequency): R, R-L or R-C; zero joins the two ends."""
        if z != 0 and abs(z.imag) <= 1e-9 * abs(z.real):  # less could not be told from none, and would be a huge capacitor
            self.resistors.append((key, a, b, z.real))
        else:
            inductance = max(z.imag, 0.0) / self.omega
            capacitance = -1 / (self.omega * z.imag) if z.imag < 0 else None
            self.branches.append((key, a, b, z.real, inductance, capacitance))

    def load(self, number, load, admittance):
        """Add the branches of one load; `admittance` is that of its fundamental where its law is not known in time."""
        series, bridge, clamp = model_of(load).series, bridge_of(load), clamp_of(load)
        for a, b in pairs(load.connect):
            at, port = len(self.ports), Port(number, load.terminal(a), load.terminal(b))
            self.ports.append(port)
            key = port.key
            if bridge is not None:
                self.bridges.append((at, port, bridge))
                self.resistors.append((key, port.a, port.b, bridge.leakage))
                if bridge.suppressor:
                    self.impedance(("suppressor", *key), port.a, port.b, -1j / (self.omega * bridge.suppressor))
            elif series is not None:
                self.impedance(key, port.a, port.b, complex(series) / load.count)
            elif admittance is not None:
                self.impedance(key, port.a, port.b, 1 / (admittance[port.a[1], port.b[1]] * load.count))
            if (spectrum := spectrum_of(load, self._source_angle(load, a, b))) is not None:
                self.sources.append((at, port, *spectrum))
            if clamp is not None:
                self.varistors.append((at, port, clamp))

    def _source_angle(self, load, a, b):
        volts = self.case.supply.phasors
        return np.angle(volts.get(a, 0j) - volts.get(b, 0j))

    def finish(self):
        wires = self.wires
        tied = _tied(wires, [(a, b) for _, a, b, *_ in (*self.resistors, *self.branches)]
                     + [(p.a, p.b) for _, p, _ in self.varistors]
                     + [(e.a, e.b) for e in wires.elements if e.key[0] == "winding" and e.ties])
        windings = [w for w in self.windings if w.weights and all(terminal in tied for terminal, _ in w.weights)]  # of a coil left alone none
        self.resistors, self.branches = ([e for e in es if e[1] in tied] for es in (self.resistors, self.branches))
        self.branches, undetermined = _without_loops(self.branches, wires.sources)
        live = [i for i, p in enumerate(self.ports) if p.a in tied and p.b in tied]
        renumber = {old: new for new, old in enumerate(live)}
        bridges = [x for x in self.bridges if x[0] in renumber]
        node = {t: i for i, t in enumerate(t for t in wires.terminals if t in tied)}
        for p in (self.ports[i] for i in live):
            node.setdefault(p.a, len(node)), node.setdefault(p.b, len(node))
        capacitive = [e for e in self.branches if e[5] is not None]
        sizes = np.cumsum([len(node), len(self.branches) + len(windings), len(capacitive), len(bridges), len(bridges)])
        n = sizes[-1]
        mass, k = np.zeros((n, n)), np.zeros((n, n))
        through, leaks_in = {}, data.load("waveform")["capacitor_leakage"]["value"]
        kcl = np.zeros((len(node), n))  # current that leaves each node
        for key, a, b, r in self.resistors:
            row = np.zeros(n)
            row[node[a]], row[node[b]] = 1 / r, -1 / r
            kcl[node[a]] += row
            kcl[node[b]] -= row
            through[key] = row
        for at, (key, a, b, r, inductance, capacitance) in enumerate(self.branches, sizes[0]):
            kcl[node[a], at] += 1
            kcl[node[b], at] -= 1
            mass[at, at] = inductance
            k[at, node[a]], k[at, node[b]], k[at, at] = 1, -1, -r
            if capacitance is not None:
                u = sizes[1] + [e[0] for e in capacitive].index(key)
                k[at, u] = -1
                mass[u, u], k[u, at], k[u, u] = capacitance, 1, -capacitance / leaks_in
            through[key] = np.eye(1, n, at)[0]
        for at, winding in enumerate(windings, sizes[0] + len(self.branches)):
            for terminal, weight in winding.weights:
                kcl[node[terminal], at] += weight
                k[at, node[terminal]] = weight
            k[at, at], mass[at, at] = -winding.impedance.real, winding.impedance.imag / self.omega
        for at, (_number, port, bridge) in enumerate(bridges, sizes[2]):
            kcl[node[port.a], at] += 1
            kcl[node[port.b], at] -= 1
            link = at + len(bridges)
            mass[link, link] = bridge.capacitance
            through[port.key] = through[port.key] + np.eye(1, n, at)[0]
            if bridge.suppressor:
                through[port.key] = through[port.key] + through["suppressor", *port.key]
        k[: len(node)] = -kcl
        driven = []
        orders, forcing = [1], np.zeros((n, 1), complex)
        for terminal, volts in wires.sources.items():
            at = node[terminal]
            driven.append(at)
            k[at] = 0
            k[at, at] = -1
            forcing[at, 0] = sqrt(2) * volts
        forcing, orders, harmonics = self._harmonic(renumber, node, driven, forcing, orders)
        varistors = [x for x in self.varistors if x[0] in renumber]
        names = ([("volts", t) for t in node] + [("current", e[0]) for e in self.branches]
                 + [("current", w.key) for w in windings]
                 + [("capacitor", e[0]) for e in capacitive] + [("bridge", p.key) for _, p, _ in bridges]
                 + [("link", p.key) for _, p, _ in bridges])
        ends = lambda items: np.array([(node[p.a], node[p.b]) for _, p, _ in items], int).reshape(-1, 2)
        return TimeNetwork(
            self.case, mass, k, np.array(orders, float), forcing, node, tuple(self.ports[i] for i in live),
            tuple(names), through, harmonics, np.array([renumber[x[0]] for x in bridges], int), ends(bridges),
            np.arange(sizes[2], sizes[3]), np.arange(sizes[3], sizes[4]), tuple(x[2] for x in bridges),
            np.array([renumber[x[0]] for x in varistors], int), ends(varistors),
            np.array([x[2] for x in varistors]).reshape(-1, 3), np.array(driven, int), undetermined)

    def _harmonic(self, renumber, node, driven, forcing, orders):
        orders, harmonics = list(orders), {}
        for at, port, drawn, peaks in self.sources:
            if at not in renumber:
                continue
            harmonics[port.key] = (np.array(drawn, float), peaks)
            for order, peak in zip(drawn, peaks):
                if order not in orders:
                    orders.append(order)
                    forcing = np.hstack([forcing, np.zeros((len(forcing), 1))])
                column = orders.index(order)
                for end, sign in ((node[port.a], -1), (node[port.b], 1)):
                    if end not in driven:
                        forcing[end, column] += sign * peak
        return forcing, orders, harmonics


def time_network(case: Case, breaks=(), crosses=(), admittances=None) -> TimeNetwork:
    """Return the equations of `case` with `breaks` and `crosses` in force.

    `admittances` maps the index of a load that is not known in time (lamp, heater, motor …) to
    {(conductor, conductor): S of one unit at the supply's frequency}; each becomes a resistance in series with an
    inductance or a capacitance that have this admittance. Raises NoSolutionError where conductors without impedance
    join two sources.
    """
    builder = _Builder(case, breaks, crosses)
    builder.windings += builder.wires.windings
    for element in builder.wires.elements:
        if element.key[0] != "winding":
            builder.impedance(element.key, element.a, element.b, complex(element.impedance))
    for number, load in enumerate(case.loads):
        if load.on:
            builder.load(number, load, (admittances or {}).get(number))
    return builder.finish()


def assumptions(case: Case) -> tuple[Assumption, ...]:
    """Return what the waveform model takes for granted beside the case and the loads' models: leakage, equivalents."""
    made = []
    bridges = [resolve(load) for load in case.loads if load.on and bridge_of(load)]
    if any("leakage" not in load.parameters for load in bridges):
        entry = data.load("waveform")["leakage"]
        made.append(Assumption("rectifier loads", "leakage across the inlet", f"{entry['value']:g} {entry['unit']}",
                               f"{entry['source']} ({data.KNOWN[entry['known']]})"))
    if bridges:
        made.append(Assumption("rectifier loads", "rated power in the waveforms", "what is taken behind the d.c. link",
                               f"what inlet and diodes lose comes on top, a few per cent ({data.KNOWN['A']})"))
    if any(is_slow(load) for load in case.loads if load.on):
        made.append(Assumption("waveform model", "loads that are neither resistance, impedance nor bridge",
                               "a resistance in series with an inductance or a capacitance",
                               "as at the supply's frequency and at the load's r.m.s. voltage"))
    return tuple(made)


def is_slow(load: Load) -> bool:
    """Return whether the waveform model takes `load` as an impedance that follows its r.m.s. voltage."""
    model = model_of(load)
    return model.series is None and model.bridge is None


def _tied(wires, ends):
    """Return the terminals that something ties to a source."""
    seen, edges = set(wires.sources), {}
    for a, b in ends:
        edges.setdefault(a, []).append(b)
        edges.setdefault(b, []).append(a)
    todo = list(seen)
    while todo:
        for other in edges.get(todo.pop(), ()):
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return seen


def _without_loops(branches, sources):
    """Drop what closes a loop without impedance; return what is left and the keys in such loops.

    Raises NoSolutionError where that would join two sources of different voltage.
    """
    ideal = [e for e in branches if e[3] == 0 and e[4] == 0 and e[5] is None]
    at = {}  # terminal -> [(other end, key)] of the tree so far; sources of one voltage hang together from the start
    for a in sources:
        at[a] = [(b, None) for b in sources if b != a and sources[a] == sources[b]]
    dropped, undetermined = set(), set()
    for key, a, b, *_ in ideal:
        path = _path(at, a, b)
        if path is not None:
            dropped.add(key)
            undetermined |= {key, *path}
            continue
        at.setdefault(a, []).append((b, key))
        at.setdefault(b, []).append((a, key))
        if any(_path(at, s, t) is not None for s in sources for t in sources if sources[s] != sources[t]):
            raise NoSolutionError("a dead short without any impedance joins two source conductors: give the supply or a "
                                  "cable its impedance")
    return [e for e in branches if e[0] not in dropped], frozenset(undetermined - {None})


def _path(at, a, b):
    """Return the keys from terminal `a` to `b` along the tree `at`, None where they are not joined."""
    todo, seen = [(a, ())], {a}
    while todo:
        here, keys = todo.pop()
        if here == b:
            return keys
        for other, key in at.get(here, ()):
            if other not in seen:
                seen.add(other)
                todo.append((other, (*keys, key)))
    return None
