"""Where to start looking for settled states: star points at which the neutral's current sum changes sign."""

from functools import lru_cache

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from lostneutral.circuit.equations import tie
from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import first_guess

CELLS = 128  #: cells of the square map, each way
ANGLES, RADII = 360, 160  #: of the maps of circles
BLOCK = 8  #: cells of a map, each way, that are left out together
FEW = 3000  #: star points worked out at a time: they stay near the processor
MOST_CELLS = 60  #: of one map that are looked at closer
REACH = 2.1  #: half the width of the map, in nominal voltages: beyond what one resonant load could do is rare
RESONANT = 10  #: the same, where a capacitance and an inductance among the loads may resonate
APART = 0.004  #: nominal voltages between two starts
SLACK = 0.05  #: nominal voltages by which a load may be beyond its mode's end while its neutral is looked at alone
HOLDS_APART = 0.25  #: nominal voltages that the loads' current drops in a joint whose two sides may stand apart


def usual(net: Network, nominal):
    """Return the voltages of all nodes (V) with every load as the impedance that it is at nominal voltage."""
    try:
        return first_guess(net, nominal)
    except np.linalg.LinAlgError:
        return net.all_voltages(np.zeros(net.free, complex))


def coarse(nominal):
    """Return a coarse spread of star points (V), for what the maps miss."""
    return nominal * np.concatenate([[0j], *(r * np.exp(2j * np.pi * (np.arange(6) / 6 + 0.02)) for r in (0.5, 1.2))])


def floating_neutrals(net: Network, nominal=None):
    """Return the groups of free neutral (or earth) nodes that conductors join, each an array of node numbers.

    With `nominal` a joint of so high a resistance that its sides may stand apart (see `HOLDS_APART`) joins nothing: what
    passes through it is at most what the loads of the lesser side draw, and what holds that side otherwise.
    """
    neutral = sorted({n for (p, c), n in net.node.items() if (c in ("N", "PE", "") or p == "star") and n < net.free})
    if not neutral:
        return []
    member = np.full(net.free + len(net.fixed), -1)
    member[neutral] = np.arange(len(neutral))
    a, b = member[net.element_ends.T]
    inside = (a >= 0) & (b >= 0)
    if nominal is not None:
        inside[inside] = _held_together(net, nominal, member, inside)
    return [np.array(neutral)[group] for group in _joined(len(neutral), a[inside], b[inside])]


def _held_together(net, nominal, member, inside):
    """Whether each element that is `inside` (a flag an element) holds its two sides at one voltage, the best conductors first."""
    drawn = np.zeros(member.max() + 2)  # A by member; the last is for all nodes that are none
    usual = nominal * np.abs(net.admittance(net.at(nominal)))
    np.add.at(drawn, member[net.branch_ends[net.pairs]], usual[net.pairs][:, None])
    for k, weights in zip(net.ported, net.weights if len(net.ported) else ()):
        np.add.at(drawn, member[weights != 0], usual[k])
    ties = nominal * np.abs(net.element_admittance)
    np.add.at(drawn, member[net.element_ends[~inside]], ties[~inside][:, None])
    parent, drawn, ends = list(range(len(drawn))), drawn.tolist(), member[net.element_ends[inside]].tolist()
    bears = (HOLDS_APART * ties[inside]).tolist()
    holds = np.zeros(len(ends), bool)

    def group(k):
        while parent[k] != k:
            parent[k] = parent[parent[k]]
            k = parent[k]
        return k

    for number in np.argsort(bears)[::-1]:
        a, b = map(group, ends[number])
        if a != b and bears[number] > min(drawn[a], drawn[b]):
            holds[number], parent[a], drawn[b] = True, b, drawn[a] + drawn[b]
    return holds


def _joined(count, a, b):
    """Groups of the numbers 0 … count − 1 that the pairs (a, b) join."""
    group = np.arange(count)
    while True:
        least = np.minimum(group[a], group[b])
        new = group.copy()
        np.minimum.at(new, a, least)
        np.minimum.at(new, b, least)
        new = new[new]
        if (new == group).all():
            return [np.flatnonzero(group == k) for k in sorted(set(group.tolist()))]
        group = new


def positions(net: Network, nodes, base, nominal, tables, lasting=()):
    """Return star points (V) near which the current sum of `nodes`, all at one voltage, is zero in both its parts.

    All other nodes are held at `base` (V). Looked for on a square map, and on one of circles round every line: where a
    load cuts off, its current changes within a volt, and only circles set as close as the current asks for can tell.
    `tables` (`LawTables`) keeps the laws of loads from one call to the next. `lasting` are the branches whose loads have to stay in
    their modes: star points at which one of them cannot, whatever the wiring drops, are left out.
    """
    return zeros(CurrentSum(net, nodes, base, nominal, tables, lasting), nominal, tables)


def zeros(law: "CurrentSum", nominal, tables):
    """Return the star points (V) of `positions` near which `law` is zero."""
    axis = np.linspace(-REACH * nominal, REACH * nominal, CELLS + 1)
    maps = [axis[None, :] + 1j * axis[:, None]]
    turn = np.exp(2j * np.pi * np.arange(ANGLES + 1) / ANGLES)
    if tables.reach > REACH:
        maps.append(np.geomspace(REACH, tables.reach, RADII + 1)[:, None] * nominal * turn[None, :])
    maps += [centre + radii[:, None] * turn[None, :] for centre, radii in law.circles()]
    found = {}
    for start in (start for corners in maps for start in _refined(law, corners)):
        found.setdefault((round(start.real / nominal / APART), round(start.imag / nominal / APART)), start)
    return list(found.values())


class LawTables:
    """The settled admittances (S) of loads at evenly spaced voltages, each worked out when it is first asked for.

    `reach` (nominal voltages) says how far off star points are looked for: far where a capacitance and an inductance
    among the loads of `net` may resonate.
    """

    def __init__(self, net: Network, nominal):
        bent = [net.models[k].response(float(nominal))[0].imag for k in net.pairs]
        self.reach = RESONANT if min(bent, default=0.0) < 0 < max(bent, default=0.0) else REACH
        self._step = float(nominal) / 1000
        self.volts = _volts(self.reach, self._step)

    def __getitem__(self, model):
        return _law(model, self.reach, self._step)

    def together(self, counts):
        """Return what `CurrentSum` keeps of loads side by side, `counts` of each model: the same arrays for the same loads."""
        return _together(tuple(counts.items()), self.reach, self._step)

    def away(self, model):
        """Return how far (V) each of the voltages is from one at which the load can stay in its mode."""
        return _away(model, self.reach, self._step)


def _volts(reach, step):
    return np.arange(0, round(1000 * max(reach, 4)) + 1) * step


@lru_cache(maxsize=256)
def _law(model, reach, step):
    return model.response(_volts(reach, step))[0]


@lru_cache(maxsize=64)
def _together(counts, reach, step):
    """(admittance, real if it is; its rise to the next voltage; how far the current has gone; the largest admittance of one) over the tables."""
    each = [count * _law(model, reach, step) for model, count in counts]
    y = sum(each)
    y = y if y.imag.any() else y.real.copy()
    way = np.append(0.0, np.cumsum(np.abs(np.diff(y * _volts(reach, step)))))
    return y, np.append(np.diff(y), 0.0), way, np.abs(each).max(axis=0)


@lru_cache(maxsize=256)
def _away(model, reach, step):
    """How far (V) each voltage of the tables is from one at which the load can stay in its mode."""
    volts = _volts(reach, step)
    lasting = np.concatenate([[-np.inf], volts[model.margin(model.settled(volts), volts) > 0], [np.inf]])
    above = np.searchsorted(lasting, volts)
    return np.minimum(volts - lasting[above - 1], lasting[above] - volts)


def _slack(net, nominal):
    """How far (V) the voltage across each load may be from that on a map: there each floating neutral is at one voltage, each line at its usual one.

    Twice what the loads' usual currents drop in the wiring, all in one direction: once in the usual state, once in the one looked for.
    """
    if net.sparse:
        return np.full(len(net.models), np.inf)
    free = np.delete(np.arange(net.free), [nodes[0] for nodes in floating_neutrals(net, nominal)])
    inner, joins = net.linear[np.ix_(free, free)].copy(), net.incidence[:, free]
    tie(inner)
    y = np.abs(net.admittance(net.at(nominal)))
    return SLACK * nominal + 2 * np.abs(joins @ np.linalg.solve(inner, joins.conj().T)) @ (y * net.at(nominal))


class CurrentSum:
    """The current sum of nodes held at one voltage while everything else keeps its own."""

    def __init__(self, net, nodes, base, nominal, tables, lasting=()):
        self.nominal = nominal
        inside = np.zeros(len(base), bool)
        inside[nodes] = True
        self.table = tables.volts
        self.linear, self.at_rest = 0j, 0j
        for (a, b), y in zip(net.element_ends, net.element_admittance):
            if inside[a] != inside[b]:
                self.linear += y
                self.at_rest -= y * base[b if inside[a] else a]
        if len(net.ported):  # loads with several ports as they are at the usual voltages
            y, within = net.admittance(net.at(nominal))[net.ported], net.weights[:, nodes].sum(axis=1)
            self.linear += (np.abs(within) ** 2 * y).sum()
            self.at_rest += (within.conj() * y * (net.weights[:, ~inside] @ base[~inside])).sum()
        units = {}  # centre -> model -> units in parallel
        self.lasting = []  # of each load that has to stay in its mode: the centre, how far each voltage of `table` is from that, how far it may be
        lasting = [k for k in lasting if len(net.models[k].modes) > 1]
        slack = _slack(net, nominal) if lasting else ()
        for k in net.pairs:
            model, (a, b) = net.models[k], net.branch_ends[k]
            if inside[a] != inside[b]:
                centre = complex(base[b if inside[a] else a])
                there = units.setdefault(centre, {})
                there[model] = there.get(model, 0.0) + net.count[k]
                if k in lasting:
                    self.lasting.append((centre, tables.away(model), slack[k]))
        self.laws = {}  # centre -> its loads' admittance over `table`, real if it is, and how much it rises to the next voltage
        self.ways = {}  # centre -> how far (A) their current has gone, to and fro, from none to what it is at each voltage of `table`
        self.largest = {}  # centre -> the largest admittance of one of its kinds of load over `table`
        for centre, there in units.items():
            y, rise, self.ways[centre], self.largest[centre] = tables.together(there)
            self.laws[centre] = y, rise

    def __call__(self, s):
        if s.size > FEW:
            return np.concatenate([self(part) for part in np.array_split(s.ravel(), -(-s.size // FEW))]).reshape(s.shape)
        total = self.linear * s + self.at_rest
        last, per_volt = len(self.table) - 1, 1 / self.table[1]
        for centre, (y, rise) in self.laws.items():
            u = s - centre
            at = np.minimum(np.abs(u) * per_volt, last)
            below = at.astype(np.intp)
            total += (y.take(below) + (at - below) * rise.take(below)) * u
        return total

    def may_be_zero(self, middle, far):
        """Return whether the sum can be zero within `far` (V) of the star points `middle`, every load in its mode but for the slack of the map.

        Where the sum is more than it can change by on the way it is not: the current of loads changes with the size of their
        voltage (`ways`), and turns with its angle.
        """
        there = np.ones(middle.shape, bool)
        for centre, away, slack in self.lasting:
            there &= away[self._row(np.abs(middle - centre))] <= far + slack + self.table[1]
        middle, far = middle[there], far[there]
        most = np.abs(self.linear) * far
        for centre, (y, _) in self.laws.items():
            size = np.abs(middle - centre)
            low, here, high = (self._way(centre, at) for at in (size - far, size, size + far))
            turned = np.abs(y)[self._row(size)] * size * np.minimum(2.0, np.sqrt(2) * far / np.maximum(size, 1e-9))
            most = most + np.maximum(here - low, high - here) + turned
        there[there] = np.abs(self(middle)) <= 1.01 * most
        return there

    def _row(self, size):
        return np.minimum(size / self.table[1], len(self.table) - 1).astype(np.intp)

    def _way(self, centre, size):
        return np.interp(size, self.table, self.ways[centre]) + abs(self.laws[centre][0][-1]) * np.maximum(size - self.table[-1], 0.0)

    def circles(self):
        """Yield (centre, radii) for every voltage that loads hang on: radii close where their current bends.

        Voltages that a cable's drop tells apart, less than two starts are, have circles in common.
        """
        bends = {}
        for centre, (y, _) in self.laws.items():
            near = next((other for other in bends if abs(other - centre) <= APART * self.nominal), centre)
            bends[near] = bends.get(near, 0.0) + np.abs(np.diff(np.abs(y) * self.table))
        for centre, bend in bends.items():
            length = np.concatenate([[0.0], np.cumsum(bend)])
            length = length / max(length[-1], 1e-300) + self.table / self.table[-1]
            yield centre, np.interp(np.linspace(0, length[-1], RADII + 1), length, self.table)


def _refined(law, corners):
    """Return the centres of the cells of a map in which both parts of `law` change sign, each cell divided twice.

    Blocks of cells that `law` cannot vanish in, or a load not stay in its mode, are left out.
    """
    edge = corners[::BLOCK, ::BLOCK]
    ends = np.stack([edge[:-1, :-1], edge[:-1, 1:], edge[1:, :-1], edge[1:, 1:]])
    middle = ends.mean(axis=0)
    there = law.may_be_zero(middle, np.abs(ends - middle).max(axis=0))
    blocks = np.moveaxis(sliding_window_view(corners, (BLOCK + 1, BLOCK + 1))[::BLOCK, ::BLOCK][there], 0, -1)
    values = law(blocks)
    block, row, column = np.nonzero(np.moveaxis(_cells(values.real) & _cells(values.imag), -1, 0))
    if len(row) > MOST_CELLS:  # a whole region without current: nothing is gained by going closer
        keep = np.linspace(0, len(row) - 1, MOST_CELLS).astype(int)
        block, row, column = block[keep], row[keep], column[keep]
    quads = np.stack([blocks[row, column, block], blocks[row, column + 1, block], blocks[row + 1, column, block],
                      blocks[row + 1, column + 1, block]])
    for _ in range(2):
        quads = _divided(law, quads)
    return list(quads.mean(axis=0))


def _divided(law, quads, parts=4):
    """Return the quarter-sized cells of `quads` (4, cells) in which both parts change sign; a cell without any stays."""
    t = np.linspace(0, 1, parts + 1)
    across, down = t[None, :, None], t[:, None, None]
    inner = ((1 - down) * ((1 - across) * quads[0] + across * quads[1])
             + down * ((1 - across) * quads[2] + across * quads[3]))
    values = law(inner)
    hit = _cells(values.real) & _cells(values.imag)
    hit[0, 0] |= ~hit.any(axis=(0, 1))
    row, column, cell = np.nonzero(hit)
    return np.stack([inner[row, column, cell], inner[row, column + 1, cell], inner[row + 1, column, cell],
                     inner[row + 1, column + 1, cell]])


def _cells(values):
    above, below = (_all_corners(side) for side in (values > 0, values < 0))
    return ~(above | below)


def _all_corners(side):
    down = side[:-1] & side[1:]
    return down[:, :-1] & down[:, 1:]
