"""The wiring as numbered nodes: joined conductors merged, floating parts set aside, sources fixed."""

from dataclasses import replace
from functools import cached_property, lru_cache
from itertools import combinations

import numpy as np

from lostneutral.circuit.wiring import Element, Wiring
from lostneutral.errors import NoSolutionError
from lostneutral.frozen import dataclass
from lostneutral.loads.stack import alike, stacked

MANY_MET = 10  #: times the root of the number of nodes: a node that meets more is solved for last
_PIVOT = 0.01  #: share of the largest of its column from which a diagonal is divided by
DENSE_UP_TO = 120  #: free nodes; above this the equations are solved sparse


@dataclass(frozen=True, eq=False)
class Network:
    """Nodes 0 … free−1 are unknown, the rest have `fixed` voltages (V); a terminal maps to its node.

    `island` numbers the terminals that nothing ties to the supply: within one island every voltage is equal.
    """

    wiring: Wiring
    node: dict  #: terminal -> node, for every terminal that is tied down
    island: dict  #: terminal -> number of its floating part
    free: int
    fixed: np.ndarray  #: complex, V
    element_ends: np.ndarray  #: (elements, 2) nodes of those with an impedance
    element_admittance: np.ndarray  #: complex, S
    joined: tuple[Element, ...]  #: elements without impedance, and loads without any
    elements: tuple[Element, ...]  #: those of `element_ends`, in its order
    branch_ends: np.ndarray  #: (branches, 2) nodes of the load branches
    branch_number: np.ndarray  #: index into `wiring.branches` of each
    models: tuple  #: the load model of each branch
    count: np.ndarray  #: units in parallel of each branch
    units: tuple = ()  #: of each load with several ports the branches that these are; all others are units of their own
    weights: np.ndarray | None = None  #: (branches of such loads in their order, nodes), complex: see `LoadModel.ports`

    @cached_property
    def keys(self):
        """What identifies each load branch from one wiring of a case to the next: its load and two terminals, which way it may turn."""
        branches = (self.wiring.branches[n] for n in self.branch_number)
        port = {int(k): (number,) for unit in self.units for number, k in enumerate(unit) if number}
        return tuple((b.load, *(b.ends if len(b.ends) == 2 else sorted(b.ends)[:2]), *port.get(i, ())) for i, b in enumerate(branches))

    @cached_property
    def ported(self):
        """The branches that are ports of loads with several, in their order."""
        return np.array([int(k) for unit in self.units for k in unit], int)

    @cached_property
    def pairs(self):
        """The branches that lie between two nodes."""
        return np.delete(np.arange(len(self.models)), self.ported)

    @cached_property
    def _unit(self):
        return {int(k): np.array(unit) for unit in self.units for k in unit}

    def part(self, branch):
        """Return which branches belong to the load of `branch`: itself, or all ports of its load as an array."""
        return self._unit.get(int(branch), branch)

    def varied(self, **changes):
        """Return this network with other values of the fields named, keeping what it has worked out of the others."""
        new = replace(self, **changes)
        keeps = {"groups": {"models"}, "incidence": {"branch_ends", "free", "weights"},
                 "element_incidence": {"element_ends", "free"},
                 "linear": {"element_ends", "element_admittance", "free"}}
        new.__dict__.update({name: self.__dict__[name] for name, rests_on in keeps.items()
                             if name in self.__dict__ and not rests_on & changes.keys()})
        return new

    @property
    def modes(self):
        """The mode each load branch is in."""
        return tuple(model.mode for model in self.models)

    @property
    def conditions(self):
        """The mode of each load branch and the delays that run in it."""
        return tuple((model.mode, model.counting) for model in self.models)

    @cached_property
    def groups(self):
        """Loads of a kind together: (one model for all, indices into `branch_ends`), so that each kind answers once."""
        return shared_groups(self.models, self.units)

    @cached_property
    def linear(self):
        """Nodal matrix of the elements alone, all nodes, complex; sparse when there are many."""
        return self._stamped(self.element_ends, self.element_admittance)

    @property
    def sparse(self):
        """Whether the equations of this network are kept as sparse matrices."""
        return self.free > DENSE_UP_TO

    def all_voltages(self, unknown):
        """Return the voltages of all nodes (V), given those of the free ones."""
        return np.concatenate([unknown, np.broadcast_to(self.fixed, (*unknown.shape[:-1], len(self.fixed)))], axis=-1)

    def across(self, voltages):
        """Return the complex voltage (V) across each load branch, of a port its weighted sum."""
        across = voltages[..., self.branch_ends[:, 0]] - voltages[..., self.branch_ends[:, 1]]
        if len(self.ported):
            across[..., self.ported] = voltages @ self.weights.T
        return across

    def volts(self, voltages, branch):
        """Return the voltage (V) that the load of a branch is told by: across it, of several ports the highest of two lines, or of them."""
        if branch not in self._unit:
            a, b = self.branch_ends[branch]
            return np.abs(voltages[..., a] - voltages[..., b])
        if self.models[branch].told_by_ports:
            return np.abs(self.across(voltages)[..., self._unit[branch]]).max(axis=-1)
        lines = [self.node[end] for end in self.wiring.branches[self.branch_number[branch]].ends[:3]]
        return np.max([np.abs(voltages[..., a] - voltages[..., b]) for a, b in combinations(lines, 2)], axis=0)

    def drop(self, v):
        """Return the same from a pair of arrays: the voltages, and what rounding dropped of them."""
        voltage, rest = v
        a, b = self.branch_ends.T
        across = (voltage[..., a] - voltage[..., b]) + (rest[..., a] - rest[..., b])
        if len(self.ported):
            across[..., self.ported] = voltage @ self.weights.T + rest @ self.weights.T
        return across

    def at(self, voltage):
        """Return the usual size (V) across each load branch: `voltage`, of a port what it has at the load's rated voltage."""
        return usual_sizes(self.models, self.units, voltage)

    def admittance(self, magnitude):
        """Return the admittance (S; times its count) of each load branch settled at `magnitude` (V)."""
        return self.each(lambda model, v: model.response(v)[0], magnitude, dtype=complex) * self.count

    def settled(self, magnitude):
        """Return the state of each load branch settled at `magnitude` (V)."""
        return self.each(lambda model, v: model.settled(v), magnitude)

    def each(self, law, *arguments, dtype=float):
        """Return `law(model, *arguments)` of every load branch; the last axis of the arguments is the branches.

        A law may return several values, which come back as as many arrays; they may be plain where they are the same
        for all.
        """
        return each(self.groups, law, *arguments, dtype=dtype)

    def admittances(self, state):
        """Return the admittance (S) of each load branch in `state`, times its count."""
        return self.each(lambda model, x: model.admittance(x), state, dtype=complex) * self.count

    def voltages(self, state):
        """Return the voltages of all nodes (V) with the loads in `state`; of several rows several."""
        return self.solve_linear(self.admittances(state))

    def nodal(self, admittance):
        """Return the nodal matrix of all nodes (S), every load branch at the given admittance (S); of several rows several."""
        if self.sparse:
            plain = self._stamped(self.branch_ends[self.pairs], admittance[..., self.pairs])
            if not len(self.ported):
                return self.linear + plain
            from scipy.sparse import csr_matrix

            weights = csr_matrix(self.weights)
            return self.linear + plain + weights.conj().T @ weights.multiply(admittance[self.ported][:, None])
        return self.linear + (self.incidence.conj().T * admittance[..., None, :]) @ self.incidence

    @cached_property
    def incidence(self):
        """Which nodes each load branch joins: an array (branches, nodes) of 1 and -1, of a port its weights."""
        joins = self._joins(self.branch_ends)
        if len(self.ported):
            joins = joins + 0j
            joins[self.ported] = self.weights
        return joins

    @cached_property
    def element_incidence(self):
        """The same of the elements: (elements, nodes)."""
        return self._joins(self.element_ends)

    def _joins(self, ends):
        joins, rows = np.zeros((len(ends), self.free + len(self.fixed))), np.arange(len(ends))
        joins[rows, ends[:, 0]] += 1.0
        joins[rows, ends[:, 1]] -= 1.0
        return joins

    def _stamped(self, ends, y):
        a, b = ends.T
        rows, columns = np.concatenate([a, b, a, b]), np.concatenate([a, b, b, a])
        return matrix(rows, columns, np.concatenate([y, y, -y, -y]), self.free + len(self.fixed), self.sparse)

    def solve_linear(self, admittance):
        """Return the voltages of all nodes (V) when every load branch has the given admittance (S); of several rows several."""
        if self.sparse and admittance.ndim > 1:
            return np.array([self.solve_linear(row) for row in admittance])
        total, n = self.nodal(admittance), self.free
        if self.sparse:
            return self.all_voltages(solve_nodal(total[:n, :n], -(total[:n, n:] @ self.fixed)))
        right = -(total[..., :n, n:] @ self.fixed)
        return self.all_voltages(np.linalg.solve(total[..., :n, :n], right[..., None])[..., 0])


def solve_nodal(left, right):
    """Solve `left` x = `right`, dense or sparse; numpy.linalg.LinAlgError if the matrix is singular."""
    if isinstance(left, np.ndarray):
        return np.linalg.solve(left, right)
    left = left.tocsc()
    meets = np.diff(left.indptr)
    hubs = meets > MANY_MET * np.sqrt(len(meets))
    return _solve_around(left, right, hubs) if hubs.any() else _factors(left).solve(right)


def _factors(left):
    from scipy.sparse.linalg import splu

    try:
        # Wiring branches out like a tree: an order by least degree keeps the factors as sparse as the matrix.
        # It stays so only if a diagonal that is not the largest, as where loads draw less at a higher voltage, is taken all the same.
        return splu(left, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=_PIVOT)
    except RuntimeError as error:
        raise np.linalg.LinAlgError(str(error)) from None


def _solve_around(left, right, hubs):
    """Solve with the few nodes that meet very many (remote earth in a street) put last: they alone make ordering slow."""
    rest, wide = ~hubs, right.reshape(len(right), -1)
    rows = left.tocsr()
    beside = left[:, hubs]
    answers = _factors(left[:, rest][rest]).solve(np.hstack([beside[rest].toarray(), wide[rest]]))
    by_hub, alone = answers[:, :hubs.sum()], answers[:, hubs.sum():]
    across = rows[hubs][:, rest]
    solved = np.empty(wide.shape, np.result_type(left, right))
    solved[hubs] = np.linalg.solve(beside[hubs].toarray() - across @ by_hub, wide[hubs] - across @ alone)
    solved[rest] = alone - by_hub @ solved[hubs]
    return solved.reshape(right.shape)


def matrix(rows, columns, values, size, sparse):
    """Return the square matrix with `values` added up at (rows, columns): a csr matrix or an array."""
    if sparse:
        from scipy.sparse import csr_matrix

        return csr_matrix((values, (rows, columns)), shape=(size, size))
    dense = np.zeros((size, size), values.dtype)
    np.add.at(dense, (rows, columns), values)
    return dense


def grouped(models, units):
    """Return (one model for all, branches) of loads that are alike; of loads with several ports a row of branches each."""
    within = {int(k) for unit in units for k in unit}
    words = {id(model): model for model in models}  # like loads share one model
    words = {key: alike(model) for key, model in words.items()}
    found = {}
    for unit in (*((k,) for k in range(len(models)) if k not in within), *units):
        found.setdefault((words[id(models[unit[0]])], len(unit)), []).append(unit)
    return tuple((stacked([models[unit[0]] for unit in where]), np.array(where) if size > 1 else np.array(where)[:, 0])
                 for (_, size), where in found.items())


def each(groups, law, *arguments, dtype=float):
    """As `Network.each`, of `groups` as `grouped` gives them."""
    values = None
    for model, where in groups:
        told = law(model, *(argument[..., where] for argument in arguments))
        told = told if isinstance(told, tuple) else (told,)
        if values is None:
            values = [np.empty(arguments[0].shape, dtype) for _ in told]
        for value, part in zip(values, told):
            value[..., where] = part
    if values is None:
        return np.empty(arguments[0].shape, dtype)
    return values[0] if len(values) == 1 else tuple(values)


def usual_sizes(models, units, voltage):
    """As `Network.at`, of load branches apart from their network."""
    sizes = np.full(len(models), float(voltage))
    for unit in units:
        model = models[unit[0]]
        sizes[list(unit)] = model.sizes(model.voltage)
    return sizes


shared_groups = lru_cache(maxsize=32)(grouped)
"""The same, kept: the networks of one case differ in their wires, seldom in their loads."""


def network(wiring: Wiring) -> Network:
    """Number the nodes of `wiring`.

    Raises NoSolutionError when conductors without impedance join two sources of different voltage.
    """
    shorts = tuple(Element(("load", b.load, b.a, b.b), b.a, b.b, 0j) for b in wiring.branches if b.model.short)
    joined = tuple(e for e in wiring.elements if e.impedance == 0) + shorts
    elements = tuple(e for e in wiring.elements if e.impedance != 0)
    loads = [(i, b) for i, b in enumerate(wiring.branches) if not b.model.short]

    same_node = _union((e.a, e.b) for e in joined)
    volts = {}
    for terminal, value in wiring.sources.items():
        root = same_node(terminal)
        if root in volts and volts[root] != value:
            raise NoSolutionError(f"a dead short without any impedance joins {_name(terminal)} to another source "
                                  "conductor: give the supply or a cable its impedance")
        volts[root] = value

    # What conducts at all decides what is tied down; a load that has cut off still ties its node through its leakage.
    tied = _union([(same_node(e.a), same_node(e.b)) for e in elements]
                  + [(same_node(b.a), same_node(end)) for _, b in loads for end in b.ends[1:]])
    held = {tied(root) for root in volts}
    numbers, islands, node, island = {}, {}, {}, {}
    for terminal in wiring.terminals:
        root = same_node(terminal)
        if tied(root) not in held:
            island[terminal] = islands.setdefault(tied(root), len(islands))
        elif root not in volts:
            node[terminal] = numbers.setdefault(root, len(numbers))
    fixed = {root: len(numbers) + i for i, root in enumerate(volts)}
    node |= {t: fixed[same_node(t)] for t in wiring.terminals if same_node(t) in fixed}

    live = [e for e in elements if e.a in node]
    live_loads = [(i, b) for i, b in loads if b.a in node for _ in b.model.ports]
    units, weights = _ported([b for _, b in live_loads], node, len(numbers) + len(volts))
    return Network(
        wiring=wiring, node=node, island=island, free=len(numbers), fixed=np.array(list(volts.values()), complex),
        element_ends=_ends(live, node), element_admittance=np.array([1 / e.impedance for e in live], complex),
        joined=joined, elements=tuple(live), branch_ends=_ends([b for _, b in live_loads], node),
        branch_number=np.array([i for i, _ in live_loads], int),
        models=tuple(b.model for _, b in live_loads), count=np.array([b.count for _, b in live_loads], float),
        units=units, weights=weights)


def _ported(branches, node, nodes):
    """The ports of loads that have several: which of `branches` they are, and their weights by node."""
    units, rows, at = [], [], 0
    while at < len(branches):
        branch, many = branches[at], len(branches[at].model.ports)
        if many > 1:
            units.append(tuple(range(at, at + many)))
            for port in branch.model.ports:
                row = np.zeros(nodes, complex)
                for end, weight in zip(branch.ends, port):
                    row[node[end]] += weight
                rows.append(row)
        at += many
    return tuple(units), np.array(rows, complex).reshape(-1, nodes)


def _ends(things, node):
    return np.array([(node[t.a], node[t.b]) for t in things], int).reshape(-1, 2)


def _name(terminal):
    return " ".join(terminal).strip()


def _union(pairs):
    """Return a function that gives every member of a joined set the same representative."""
    parent = {}

    def find(x):
        root = x
        while (up := parent.get(root, root)) != root:
            root = up
        while (up := parent.get(x, x)) != root:
            parent[x], x = root, up
        return root

    for a, b in pairs:
        parent[find(a)] = find(b)
    return find


def resumed(net: Network, conditions):
    """Return `net` with each branch in the mode, and with the delays, of `conditions`: {branch: (mode, delays running)}."""
    def again(key, model):
        mode, counting = conditions.get(key, ("", ()))
        if mode not in model.modes:
            return model
        model = model.in_mode(mode)
        return replace(model, counting=counting) if counting else model

    return replace(net, models=tuple(map(again, net.keys, net.models)))
