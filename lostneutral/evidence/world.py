"""One network for every cause, condition and sample of a case: what differs between them are numbers, row by row.

A conductor that a cause opens keeps its place with no admittance, and what couples to it sets its potential; so causes,
conditions and samples are solved side by side as arrays.
"""

from copy import copy
from dataclasses import replace
from functools import cached_property
from math import inf, isinf

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case, Unknown
from lostneutral.circuit.equations import Samples
from lostneutral.circuit.many import CHUNK, MOST_NUMBERS
from lostneutral.circuit.network import network
from lostneutral.circuit.wiring import EARTH, Element, earth_terminal, told_between, wiring
from lostneutral.evidence import settled
from lostneutral.evidence.asked import metalwork
from lostneutral.evidence.assumed import Electrodes, supply_left_open, unmeasured, usual_supply
from lostneutral.evidence.couplings import admittances, coupling_columns, couplings
from lostneutral.evidence.operated import runs_watched
from lostneutral.evidence.outcomes import ports
from lostneutral.evidence.reduced import Reduced, Wired
from lostneutral.evidence.sampling import Column, choice, columns, may_be_on, quantity, tied
from lostneutral.evidence.tables import Tables
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model
from lostneutral.studies.conditions import Circumstance

RAISED = ("raised earth", "")  #: what an earth fault elsewhere raises the ground to
_HIGH = 0.95  #: share of what an electrode may have, at which the metalwork on it is judged
INSTRUMENT = "instrument"


def _with_any_line(elements, point, lines, resistance):
    """Return `elements` with the run to a point of one line fed from any of `lines`, by a short piece each."""
    key, feed = ("run", point.name, point.phases[0]), (point.name, "feed")
    made = [replace(e, a=feed, impedance=e.impedance or resistance + 0j) if e.key == key else e for e in elements]
    return made + [Element(("phase", point.name, line), (point.fed_from, line), feed, resistance + 0j) for line in lines]


@dataclass(frozen=True, eq=False)
class States:
    """Settled states, a row each; voltages are complex, V, to the supply's star point."""

    world: "World"
    sample: np.ndarray  #: index of the sample that a row belongs to
    weight: np.ndarray  #: within its sample; the rows of one sample sum to 1
    v: np.ndarray  #: (rows, nodes)
    on: np.ndarray  #: (rows, loads) bool
    solved: np.ndarray  #: bool; where not, no settled state was found
    inner: np.ndarray  #: (rows, readings, 2, 2), ohm: what the network shows at the terminals of each reading
    through: np.ndarray  #: (rows, conductors of `World.watched`), complex, A
    modes: np.ndarray  #: number in `World.patterns` of the modes that the loads are in

    def at(self, rows, sample=None, weight=None):
        """Return the rows numbered `rows`, as of the samples `sample` and of weight `weight`."""
        return States(self.world, self.sample[rows] if sample is None else sample,
                      self.weight[rows] if weight is None else weight, self.v[rows], self.on[rows], self.solved[rows],
                      self.inner[rows], self.through[rows], self.modes[rows])

    def between(self, a, b):
        """Return V(a) − V(b) of two terminals (V, complex; nan where one is not there or no state was found)."""
        node = self.world.net.node
        if a not in node or b not in node:
            return np.full(len(self.sample), np.nan + 0j)
        return np.where(self.solved, self.v[:, node[a]] - self.v[:, node[b]], np.nan)

    @cached_property
    def _branches(self):
        return [np.abs([self.between(*pair) for pair in ends]) for ends in self.world.told]

    @cached_property
    def loads(self):
        """(rows, loads): across each load, V (of several branches the highest)."""
        return np.stack([np.max(branches, axis=0) for branches in self._branches], axis=1)

    def ports(self, k):
        """(rows, ports): what a machine, load number `k`, has at its ports, V; 0 where no state was found."""
        load, node = self.world.case.loads[k], self.world.net.node
        terminals = [self.v[:, node[t]] if (t := load.terminal(c)) in node else np.zeros(len(self.sample)) for c in load.connect]
        return np.where(self.solved[:, None], ports(load_model(load, self.world.case.supply)[0], terminals), 0.0)

    @cached_property
    def together(self):
        """(rows, loads): V at which three branches alike would take as much as those of a load do, as `LoadResult.together`."""
        return np.stack([np.mean(branches**2, axis=0) ** 0.5 if k in self.world.of_three else self.loads[:, k]
                         for k, branches in enumerate(self._branches)], axis=1)


def stacked_worlds(parts, sample, weight) -> States:
    """Return the rows of `parts` one after the other, as of the samples `sample` and of weight `weight`."""
    def rows(name):
        return np.concatenate([getattr(p, name) for p in parts])

    return States(parts[0].world, sample, weight, *(rows(name) for name in ("v", "on", "solved", "inner", "through", "modes")))


class World:
    """The network of `case` with everything that any of `causes` or `conditions` may change, and the columns of unknowns."""

    def __init__(self, case: Case, causes, conditions=(), readings=()):
        self.case, self.causes, self.conditions = case, tuple(causes), tuple(conditions)
        self.columns = world_columns(case)
        self.watched = runs_watched(case)  #: (point, conductor) of the runs in which an observed device stands
        self.parts = couplings(case)
        self.tables, self.patterns = Tables(), {}  #: {modes of the loads that act: number}, as they are met
        self._build(conditions)
        self._hold(readings)

    def _build(self, conditions):
        case, entry = self.case, data.load("couplings")["cable"]
        on = may_be_on(case) | np.array([any((load.name, True) in c.switched for c in conditions) for load in case.loads], bool)
        made = wiring(replace(case, loads=tuple(replace(load, on=bool(o)) for load, o in zip(case.loads, on))))
        changed = {("run", *key) for cause in self.causes for key in cause.conductors}
        changed |= {("run", *key) for c in conditions for key, _ in c.runs} | {("source", "N")}
        changed |= {("run", *key) for key in self.watched} | {key for cause in self.causes for key in cause.fuses}
        changed |= {("run", point, c) for cause in self.causes for cross in cause.crosses
                    for point in (cross.point,) for c in cross.conductors}
        elements = [replace(e, impedance=entry["resistance"] + 0j) if e.key in changed and e.impedance == 0 else e
                    for e in made.elements]
        points = {p.name: p for p in case.points}
        for column in self.columns:
            if column.key == "phases":
                elements = _with_any_line(elements, points[column.unknown.point], column.unknown.phases, entry["resistance"])
        by_key = {e.key: e for e in elements}
        for cross in dict.fromkeys(cross for cause in self.causes for cross in cause.crosses):
            for a, b in (cross.conductors, cross.conductors[::-1]):
                run = by_key["run", cross.point, a]
                elements.append(Element(("cross", cross.point, a, b), run.a, (cross.point, b), run.impedance))
        for column in self.columns:
            if column.key == "electrode":
                for name in column.unknown.points:
                    ends = (("supply", "PE"), EARTH) if name == "supply" else (earth_terminal(case, points[name]), EARTH)
                    elements = [e for e in elements if e.key != ("electrode", name)]
                    elements.append(Element(("electrode", name), *ends, 100.0 + 0j))
        sources = dict(made.sources)
        if any(cause.kind == "raised earth" for cause in self.causes):
            sources[RAISED] = 0j
            elements.append(Element(("raised",), RAISED, EARTH, 1.0 + 0j))
        elements += [part.element for part in self.parts]
        terminals = dict.fromkeys((*made.terminals, *sources, *(t for e in elements for t in (e.a, e.b))))
        self.net = network(replace(made, sources=sources, elements=tuple(elements), terminals=tuple(terminals)))
        self.at = {e.key: k for k, e in enumerate(self.net.elements)}
        self.through = [[k for key, k in self.at.items() if key[0] in ("run", "cross") and key[1:3] == own] for own in self.watched]
        self.coupled = np.array([self.at.get(part.element.key, -1) for part in self.parts])
        self.told = [told_between(load, case.supply) for load in case.loads]
        branches = [b.load for b in self.net.wiring.branches]
        self.of_three = {k for k in branches if branches.count(k) == 3}  #: loads of three branches
        self.owner = [self.net.wiring.branches[n].load for n in self.net.branch_number]
        models = [load_model(load, case.supply)[0] for load in case.loads]
        self.falling = np.array([not (m.rising and len(m.modes) == 1) for m in models], bool) & on

    def _hold(self, readings):
        """Hold meters to `readings`: (point, (a, b)) of every pair of terminals."""
        node = self.net.node
        ends = [(node.get(EARTH if a == "earth" else (point, a)), node.get(EARTH if b == "earth" else (point, b))) for point, (a, b) in readings]
        self.ends = np.array([(0, 0) if None in pair else pair for pair in ends], int).reshape(-1, 2)
        self.wired = Wired(self.net, self.case.supply.nominal, self.ends, self.tables)

    def holding(self, readings):
        """Return this world with meters held to `readings` instead."""
        other = copy(self)
        other._hold(readings)
        return other

    # What differs from row to row

    def on(self, values, condition: Circumstance):
        """(rows, loads) bool: which loads are on under `condition`."""
        state = np.tile([load.on for load in self.case.loads], (len(values), 1))
        at = {load.name: k for k, load in enumerate(self.case.loads)}
        for n, column in enumerate(self.columns):
            if column.key == "on":
                state[:, at[column.unknown.load]] = values[:, n] < column.unknown.on
            elif column.key == "one_of":
                chosen = choice(column.unknown, values[:, n])
                for k, name in enumerate(column.unknown.one_of):
                    state[:, at[name]] = chosen == k
        for name, is_on in condition.switched:
            state[:, at[name]] = is_on
        return state

    def own(self, cause, values):
        """Return what is unknown of the cause itself in every row of it, in its own unit."""
        law = self.causes[cause].own
        return None if law is None else quantity(law, values[:, -1])

    def impedance(self, values, classes=()):
        """Return the input impedance (ohm) of an instrument that nobody named, in every row: one of `classes`, () for any."""
        entry = data.load("couplings")[INSTRUMENT]
        n = next(k for k, c in enumerate(self.columns) if c.key == INSTRUMENT)
        may = [k for k, name in enumerate(entry["classes"]) if not classes or name in classes]
        weights = np.array(entry["weights"])[may]
        chosen = np.searchsorted(np.cumsum(weights) / weights.sum(), values[:, n], side="right")
        return np.array(entry["ohms"])[may][np.minimum(chosen, len(may) - 1)]

    def samples(self, cause, values, condition: Circumstance) -> Samples:
        """Return what holds in every row: cause by number, unknowns from 0 to 1, all under one condition."""
        size, net, case = len(values), self.net, self.case
        y = np.tile(net.element_admittance, (size, 1))
        fixed, factor = np.tile(net.fixed, (size, 1)), np.ones(size)
        usual = np.mean([abs(v) for v in case.supply.phasors.values()])
        powers = {}
        there = self.coupled >= 0
        y[:, self.coupled[there]] = admittances(case, self.parts, self.columns, values)[:, there]
        for n, column in enumerate(self.columns):
            if column.key == "power":
                powers[column.unknown.load] = quantity(column.spread, values[:, n])
            elif column.key == "supply_voltage":
                factor = quantity(column.spread, values[:, n]) / usual
            elif column.key == "electrode":
                ohms = _electrode(column.unknown, values[:, n])
                for name in column.unknown.points:
                    y[:, self.at["electrode", name]] = 1 / ohms
            elif column.key == "phases":
                lines = column.unknown.phases
                chosen = np.minimum((values[:, n] * len(lines)).astype(int), len(lines) - 1)
                for k, line in enumerate(lines):
                    y[:, self.at["phase", column.unknown.point, line]] *= chosen == k
        off = [self.at[key] for key in self.at if key[0] in ("cross", "raised")]
        switched_in = y[:, off].copy()
        y[:, off] = 0.0
        for number in np.unique(cause):
            if not condition.before:
                self._in_force(int(number), np.flatnonzero(cause == number), values, y, dict(zip(off, switched_in.T)), fixed, factor)
        fixed *= factor[:, None]
        for key, ohms in condition.runs:
            self._set(y, np.arange(size), key, ohms)
        models = list(net.models)
        for k, number in enumerate(self.owner):
            load = case.loads[number]
            if load.name in powers:
                models[k] = load_model(replace(load, parameters={**load.parameters, "power": powers[load.name]}), case.supply)[0]
        count = net.count * self.on(values, condition)[:, self.owner]
        return Samples(size, tuple(models), count, y, fixed)

    def _in_force(self, number, rows, values, y, switched_in, fixed, factor):
        rival, own = self.causes[number], self.own(number, values[rows])
        for key, ohms in rival.conductors.items():
            self._set(y, rows, key, own if np.isnan(ohms) else ohms)
        y[np.ix_(rows, [self.at[key] for key in rival.fuses])] = 0.0
        for cross in rival.crosses:
            for a, b in (cross.conductors, cross.conductors[::-1]):
                y[rows, self.at["run", cross.point, a]] = 0.0
                k = self.at["cross", cross.point, a, b]
                y[rows, k] = switched_in[k][rows]
        if rival.kind == "supply overvoltage":
            factor[rows] = own / np.mean([abs(v) for v in self.case.supply.phasors.values()])
        if rival.kind == "raised earth":
            k = self.at["raised",]
            y[rows, k] = switched_in[k][rows]
            fixed[rows, self.net.node[RAISED] - self.net.free] = own
        if rival.phasors:
            for line, volts in rival.phasors:
                fixed[rows, self.net.node["source", line] - self.net.free] = volts
        if rival.kind == "supply neutral open":
            y[rows, self.at["source", "N"]] = 0.0

    def loose_metalwork(self, cause, values, condition: Circumstance):
        """Return for every row whether the metalwork of some point (joints aside) is held by nothing but what couples to it."""
        metal = [self.net.node[terminal] for terminal in metalwork(self.case)]
        if not metal:
            return np.zeros(len(values), bool)
        samples = self.samples(cause, values, condition)
        conducting = samples.element_admittance != 0
        conducting[:, self.coupled[self.coupled >= 0]] = False
        held = tied(self.net, conducting, samples.count > 0)
        return ~held[:, metal].all(axis=1)

    def _set(self, y, rows, key, ohms):
        """Put `ohms` (0 sound, inf open, array) into the conductor `key` in the rows `rows`."""
        k = self.at.get(("run", *key))
        if k is None:
            return
        sound = self.net.elements[k].impedance
        y[rows, k] = 0.0 if np.ndim(ohms) == 0 and isinf(ohms) else 1 / (sound + ohms)

    # Solving

    @property
    def rows_at_a_time(self):
        """How many rows are solved together at most."""
        return min(max(MOST_NUMBERS // self.wired.numbers, 1), CHUNK)

    def settle(self, cause, values, condition: Circumstance, every: bool = True, maps=None) -> States:
        """Return the settled states of every row; `every`: all that are found, where loads may settle in several ways."""
        size, parts = self.rows_at_a_time, []
        for at in range(0, len(values), size):
            rows = np.arange(at, min(at + size, len(values)))
            parts.append(self._chunk(cause[rows], values[rows], condition, every, rows, maps))
        sample, weight = (np.concatenate([getattr(p, name) for p in parts]) for name in ("sample", "weight"))
        return stacked_worlds(parts, sample, weight)

    def met_again(self, states, cause, values, condition) -> States:
        """Return `states` of this world with other meters, settled ones of the rows `values` of the causes `cause`, one each, with what is shown here."""
        reduced = Reduced(self.wired, self.samples(cause, values, condition))
        u, inner = self.wired.across(states.v[:, self.wired.seen]), np.empty((len(values), len(self.ends), 2, 2))
        for pattern, number in self.patterns.items():
            own = np.flatnonzero(states.modes == number)
            inner[own] = reduced.inner(own, u[own], pattern)
        return replace(states, world=self, inner=inner)

    def _chunk(self, cause, values, condition, every, rows, maps):
        on = self.on(values, condition)
        hard = (on & self.falling).any(axis=1)
        starts = None if maps is None or not every or not hard.any() else maps.of(self, cause, values, condition)
        reduced = Reduced(self.wired, self.samples(cause, values, condition))
        which, u, solved, modes, patterns = settled.settled_rows(reduced, hard, starts)
        v = np.empty((len(which), self.net.free + len(self.net.fixed)), complex)
        inner = np.empty((len(which), len(self.ends), 2, 2))
        for number, pattern in enumerate(patterns):
            own = np.flatnonzero(modes == number)
            v[own] = reduced.voltages(which[own], u[own], pattern)
            inner[own] = reduced.inner(which[own], u[own], pattern)
        alike = np.bincount(which, minlength=len(values))
        y, ends = reduced.samples.element_admittance[which], self.net.element_ends
        through = np.zeros((len(which), len(self.watched)), complex)
        for n, elements in enumerate(self.through):
            through[:, n] = (y[:, elements] * (v[:, ends[elements, 0]] - v[:, ends[elements, 1]])).sum(axis=1)
        numbers = np.array([self.patterns.setdefault(pattern, len(self.patterns)) for pattern in patterns])
        return States(self, rows[which], 1 / alike[which], v, on[which], solved, inner, through, numbers[modes])


def world_columns(case: Case) -> tuple[Column, ...]:
    """Return everything unknown of `case`, said or not, and last what is unknown of the cause itself."""
    own = columns(case, ("resistance",))
    electrodes = unmeasured(case)
    if electrodes is not None:
        own += (Column("earth electrodes that nobody measured", electrodes, "electrode", electrodes.electrode),)
    own = tuple(replace(c, unknown=Electrodes((c.unknown.point,), c.unknown.electrode)) if c.key == "electrode"
                and not isinstance(c.unknown, Electrodes) else c for c in own)
    if not any(c.key == "supply_voltage" for c in own) and supply_left_open(case):
        own += (Column("supply voltage", Unknown(supply_voltage=usual_supply(case)), "supply_voltage"),)
    return (*own, *coupling_columns(case), Column("instrument", None, INSTRUMENT), Column("the cause's own", None, "own"))


def drawn(column, share):
    """Return the values of `column` at the shares `share` (0 to 1); inf where there is no electrode."""
    return _electrode(column.unknown, share) if isinstance(column.unknown, Electrodes) else quantity(column.spread, share)


def electrodes_high(case: Case, columns_) -> Case:
    """Return `case` with each electrode that nobody measured near the highest it may have, none where there may be none: the worse for metalwork."""
    ohms = {name: float(drawn(c, _HIGH)) for c in columns_ if c.key == "electrode" for name in c.unknown.points}
    points = tuple(replace(p, electrode=ohms[p.name]) if ohms.get(p.name, inf) < inf else p for p in case.points)
    supply = replace(case.supply, electrode=ohms["supply"]) if ohms.get("supply", inf) < inf else case.supply
    return replace(case, points=points, supply=supply)


def _electrode(unknown, share):
    """Return the resistance (ohm) of the electrodes, inf where there are none, at the shares `share` (0 to 1)."""
    there = 1 - unknown.none
    ohms = quantity(unknown.electrode, np.minimum(share / there, 1.0))
    return np.where(share < there, ohms, inf)


def highest_supply(world) -> float:
    """Return by how much the supply's voltage may exceed its usual one, as far as the case leaves that open."""
    usual = np.mean([abs(v) for v in world.case.supply.phasors.values()])
    found = next((c.spread for c in world.columns if c.key == "supply_voltage"), None)
    if found is None:
        return 1.0
    return float((found.high if found.high is not None else found.mean + 3 * found.deviation) / usual)
