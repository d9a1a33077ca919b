"""Samples of what is not known: drawn from a scrambled Sobol sequence, and solved together as arrays."""

from dataclasses import replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from lostneutral.case.model import Break, Case, Unknown
from lostneutral.case.seen import Spread
from lostneutral.circuit.many import Samples, solve_many
from lostneutral.circuit.many_states import states_of_many
from lostneutral.circuit.network import network
from lostneutral.circuit.wiring import told_between, wiring
from lostneutral.errors import UsageError
from lostneutral.evidence.places import resistance_of
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model


@dataclass(frozen=True)
class Column:
    """One unknown value of a case: what it is called, and the entry and key that it comes from."""

    name: str
    unknown: Unknown | None  #: None where the case does not say it
    key: str  #: "on" | "power" | "resistance" | "supply_voltage" | "one_of" | "electrode" | "capacitance" | "phases"
    law: Spread | None = None  #: of what the case does not say

    @property
    def spread(self):
        """What is known of a value that has a range."""
        return self.law or getattr(self.unknown, self.key)


@dataclass(frozen=True, eq=False)
class Draw:
    """Samples of what is unknown of a case."""

    case: Case
    size: int
    values: np.ndarray  #: (size, unknowns), each uniform from 0 to 1

    @cached_property
    def columns(self):
        """The unknown values, in the order of `values`."""
        return columns(self.case)

    @cached_property
    def on(self):
        """(size, loads) bool: which loads are on in each sample."""
        state = np.tile([load.on for load in self.case.loads], (self.size, 1))
        at = {load.name: k for k, load in enumerate(self.case.loads)}
        for column, values in zip(self.columns, self.values.T):
            if column.key == "on":
                state[:, at[column.unknown.load]] = values < column.unknown.on
            elif column.key == "one_of":
                chosen = choice(column.unknown, values)
                for k, name in enumerate(column.unknown.one_of):
                    state[:, at[name]] = chosen == k
        return state

    def of(self, key):
        """Return [(Unknown, values)] of every unknown of that key, in its own unit (W, ohm, V)."""
        return [(c.unknown, quantity(getattr(c.unknown, key), values))
                for c, values in zip(self.columns, self.values.T) if c.key == key]

    @cached_property
    def supply_factor(self):
        """What the supply's phasors are multiplied by, an array over the samples."""
        usual = np.mean([abs(v) for v in self.case.supply.phasors.values()])
        return next((volts / usual for _, volts in self.of("supply_voltage")), np.ones(self.size))

    def part(self, rows):
        """Return the draw of the samples numbered `rows` alone."""
        return replace(self, size=len(rows), values=self.values[rows])


UNITS = {"power": "W", "resistance": "ohm", "supply_voltage": "V", "electrode": "ohm", "capacitance": "F"}
"""Key of an unknown that has a range -> its unit."""


ONLY_EVIDENCE = ("capacitance", "phases")
"""Keys of unknowns that play a part only where observations are weighed."""


def columns(case: Case, leave=ONLY_EVIDENCE) -> tuple[Column, ...]:
    """Return every unknown value of `case`, in the order of its entries, but those of the keys `leave`."""
    found = []
    for u in case.unknowns:
        words = {"on": f"state (on or off) of {u.load}", "power": f"power of {u.load}", "resistance": resistance_of(case, u),
                 "supply_voltage": "supply voltage", "one_of": f"which was on: {', '.join(u.one_of)}",
                 "electrode": f"earth electrode at {u.point}", "phases": f"line that {u.point} is on",
                 "capacitance": f"capacitance of the cores of the cable to {u.feeding}"}
        found += [Column(word, u, key) for key, word in words.items() if key not in leave and getattr(u, key) not in (None, ())]
    return tuple(found)


def unknown_values(case: Case) -> tuple[Column, ...]:
    """Return the columns of `case`; UsageError if nothing is unknown."""
    if not case.unknowns:
        raise UsageError("Nothing is unknown: the case has no [[unknown]] entry.")
    return columns(case)


def draw(case: Case, size: int, seed, first: int = 0) -> Draw:
    """Return `size` samples of the case's unknown values, from number `first` of a scrambled Sobol sequence on.

    The sequence goes by `seed` alone: however it is cut into draws, the samples are the same. `seed` is a whole number
    or a sequence of them. Source: Owen, Scrambling Sobol' and Niederreiter-Xing points, as scipy.stats.qmc has it.
    Raises UsageError if nothing is unknown.
    """
    from scipy.stats import qmc

    found = unknown_values(case)
    sequence = qmc.Sobol(len(found), rng=np.random.default_rng(seed))
    # The first point is taken by itself: a count that is no power of two is meant, and no cause for a warning.
    head = sequence.random(1)
    if first:
        sequence.fast_forward(first - 1)
        values = sequence.random(size)
    else:
        values = np.concatenate([head, sequence.random(size - 1)]) if size > 1 else head[:size]
    return Draw(case, size, values)


def quantity(spread: Spread, share):
    """Return the values at the shares `share` (0 to 1, array) of what `spread` leaves open; a normal law above 0 only."""
    from scipy.special import ndtr, ndtri

    if spread.mean is not None:
        below = ndtr(-spread.mean / spread.deviation)
        return spread.mean + spread.deviation * ndtri(np.clip(below + share * (1 - below), 1e-16, 1 - 1e-16))
    if spread.scale == "log":
        return spread.low * (spread.high / spread.low) ** share
    return spread.low + (spread.high - spread.low) * share


def choice(unknown: Unknown, share):
    """Return which load of `unknown.one_of` is on at the shares `share`, by number; −1 = none."""
    last = len(unknown.one_of) - 1
    number = np.searchsorted(np.cumsum(unknown.chances), share, side="right")
    return np.where(number <= last, number, -1) if unknown.none else np.minimum(number, last)


@dataclass(frozen=True, eq=False)
class Solved:
    """Settled states after the break, one row each; voltages (complex, V) are nan where nothing ties them down."""

    sample: np.ndarray  #: index into the draw
    weight: np.ndarray  #: sums to 1; a sample with k attracting states gives k rows of equal weight
    loads: np.ndarray  #: (rows, loads), across each load (of a balanced delta the highest)
    on: np.ndarray  #: (rows, loads) bool
    nodes: dict  #: (point, conductor) -> V to the supply's star point
    solved: np.ndarray  #: bool; where not, no settled state was found and the row's voltages are nan

    def between(self, a, b):
        """Return V(a) − V(b) of two terminals (V, complex; nan where not tied down, or not there)."""
        if a not in self.nodes or b not in self.nodes:
            return np.full(len(self.sample), np.nan + 0j)
        return self.nodes[a] - self.nodes[b]


def solve(draw: Draw, tick=None) -> Solved:
    """Return the settled states of every sample of `draw`, in the order of the samples; each weighs 1 / their number.

    Where a load that is on may draw less current at a higher voltage every settled state is looked for, which takes long;
    `tick(number)` is called as such samples are done.
    """
    setup = _Setup(draw, {(u.feeding, u.conductor): values for u, values in draw.of("resistance")})
    falling = np.array([not _one_state(load, draw.case) for load in draw.case.loads], bool)
    hard = (draw.on & falling).any(axis=1)
    parts = [setup.one_state(np.flatnonzero(~hard), ~falling)] if not hard.all() else []
    if hard.any():
        parts.append(setup.every_state(np.flatnonzero(hard), tick))
    order = np.argsort(np.concatenate([p.sample for p in parts]), kind="stable")
    rows = lambda name: np.concatenate([getattr(p, name) for p in parts])[order]
    nodes = {t: np.concatenate([p.nodes[t] for p in parts])[order] for t in parts[0].nodes}
    sample = rows("sample")
    return Solved(sample, 1 / np.bincount(sample, minlength=draw.size)[sample] / draw.size, rows("loads"), rows("on"), nodes, rows("solved"))


def _with_electrodes(case, values):
    """Return `case` with an electrode in the place of each whose resistance samples give."""
    points = tuple(replace(p, electrode=1.0) if p.name in values else p for p in case.points)
    return replace(case, points=points, supply=replace(case.supply, electrode=1.0) if "supply" in values else case.supply)


def _one_state(load, case):
    return load_model(load, case.supply)[0].single_state


def may_be_on(case: Case):
    """Return for each load of `case` (array of bool) whether it is on in any sample."""
    asked = {u.load: u.on > 0 for u in case.unknowns if u.on is not None}
    asked |= {name: True for u in case.unknowns for name in u.one_of}
    return np.array([asked.get(load.name, load.on) for load in case.loads], bool)


def needs_single(case: Case) -> tuple[str, ...]:
    """Return the names of the loads because of which samples may have several settled states."""
    return tuple(load.name for load, may in zip(case.loads, may_be_on(case)) if may and not _one_state(load, case))


@dataclass(frozen=True, eq=False)
class _Setup:
    """What holds in each sample of a draw, all in the case's own terms."""

    draw: Draw
    ohms: dict  #: (feeding, conductor) -> resistance of each sample, ohm

    def one_state(self, rows, allowed) -> Solved:
        """Solve the samples `rows`, which have one settled state; loads not `allowed` are off in all of them."""
        net, samples = self._network(rows, allowed)
        many = solve_many(net, samples, self.draw.case.supply.nominal)
        return self._rows(net, samples, np.arange(len(rows)), rows, many.voltages, many.solved)

    def every_state(self, rows, tick) -> Solved:
        """Solve the samples `rows`, which may have several settled states; samples that are alike are solved once."""
        values = np.column_stack([self.draw.on[rows], self.draw.supply_factor[rows], *(v[rows] for v in self.ohms.values()),
                                  *(v[rows] for key in ("power", "electrode") for _, v in self.draw.of(key))])
        _, first, alike = np.unique(values, axis=0, return_index=True, return_inverse=True)
        net, samples = self._network(rows[first], True)
        share = len(rows) / len(first)
        found = states_of_many(net, samples, self.draw.case.supply.nominal, tick and (lambda n: tick(n * share)))
        pairs_ = [(row, state) for row, kind in enumerate(np.ravel(alike))
                  for state in (np.flatnonzero(found.sample == kind) if (found.sample == kind).any() else (-1,))]
        which, state = np.array(pairs_, int).T
        blank = np.full((1, net.free + len(net.fixed)), np.nan + 0j)
        voltages = np.concatenate([found.voltages, blank])[state]
        return self._rows(net, samples, np.ravel(alike)[which], rows[which], voltages, state >= 0)

    def _network(self, rows, allowed):
        """The network of the samples `rows`, and what differs between them."""
        part = self.draw.part(rows)
        case = part.case
        loads = tuple(replace(load, on=bool(on)) for load, on in zip(case.loads, may_be_on(case) & allowed))
        electrodes = {u.point: values for u, values in part.of("electrode")}
        net = network(wiring(_with_electrodes(replace(case, loads=loads), electrodes), self._stand_in_breaks(), case.crosses))
        models, powers = list(net.models), {u.load: v for u, v in part.of("power")}
        owner = [net.wiring.branches[n].load for n in net.branch_number]
        for k, number in enumerate(owner):
            load = case.loads[number]
            if load.name in powers:
                varied = replace(load, parameters={**load.parameters, "power": powers[load.name]})
                models[k] = load_model(varied, case.supply)[0]
        admittance = np.tile(net.element_admittance, (part.size, 1))
        for k, element in enumerate(net.elements):
            if element.key[0] == "electrode" and element.key[1] in electrodes:
                admittance[:, k] = 1 / electrodes[element.key[1]]
            elif element.key[0] == "run" and element.key[1:] in self.ohms:
                own = element.impedance - self._stand_in(element.key[1:])
                admittance[:, k] = 1 / (own + self.ohms[element.key[1:]][rows])
        return net, Samples(part.size, tuple(models), net.count * part.on[:, owner], admittance,
                            net.fixed * self.draw.supply_factor[rows, None])

    def _rows(self, net, samples, at, rows, voltages, solved) -> Solved:
        """Put `voltages` (V, of all nodes) of the samples `rows`, number `at` of `samples`, in the terms of the case."""
        on, case = self.draw.on[rows], self.draw.case
        held = tied(net, samples.element_admittance[at] != 0, samples.count[at] > 0)
        v = np.where(held & solved[:, None], voltages, np.nan)
        nodes = {t: v[:, net.node[t]] if t in net.node else np.full(len(rows), np.nan + 0j)
                 for t in net.wiring.terminals if t[0] != "source"}
        across = [_across(case, load, nodes, was_on & solved) for load, was_on in zip(case.loads, on.T)]
        return Solved(rows, np.ones(len(rows)), np.stack(across, axis=1), on, nodes, solved)

    def _stand_in(self, key):
        """Return a resistance (ohm) that gives the break `key` an element of its own wherever samples give it theirs."""
        return float(np.median(self.ohms[key])) or 1.0

    def _stand_in_breaks(self):
        unknown = [Break(*key, self._stand_in(key)) for key in self.ohms]
        return tuple({b.place: b for b in (*self.draw.case.breaks_after(), *unknown)}.values())


def _across(case, load, nodes, on):
    """The voltage across one load in every sample (V): 0 where it is on in a part that nothing ties down."""
    each = np.stack([nodes[a] - nodes[b] for a, b in told_between(load, case.supply)], axis=1)
    size = np.where(np.isnan(each), -1.0, np.abs(each))
    across = np.take_along_axis(each, size.argmax(axis=1)[:, None], axis=1)[:, 0]
    return np.where(np.isnan(across) & on, 0, across)


def tied(net, conducting, on):
    """Return (samples, nodes) bool: whether a node is joined to a source through what conducts in that sample."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    units = [(pair, on[:, unit[0]]) for unit in net.units
             for pair in pairwise(np.flatnonzero(net.weights[np.searchsorted(net.ported, unit)].any(axis=0)))]
    ends = np.array([*net.element_ends, *net.branch_ends, *(pair for pair, _ in units)], int).reshape(-1, 2)
    links = np.column_stack([conducting, on, *(there for _, there in units)])
    alike, kind = np.unique(np.packbits(links, axis=1), axis=0, return_inverse=True)
    row, link = np.nonzero(np.unpackbits(alike, axis=1, count=links.shape[1]))
    size = net.free + len(net.fixed)
    whole = len(alike) * size
    joined = coo_array((np.ones(len(row), bool), (row * size + ends[link, 0], row * size + ends[link, 1])), (whole, whole))
    number, part = connected_components(joined, directed=False)
    part, held = part.reshape(-1, size), np.zeros(number, bool)
    held[part[:, net.free:]] = True
    return held[part][kind.ravel()]
