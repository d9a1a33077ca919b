"""Where to start looking for settled states: star points at which the neutral's current sum changes sign."""

from functools import lru_cache

import numpy as np

from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import first_guess

CELLS = 128  #: cells of the square map, each way
ANGLES, RADII = 360, 160  #: of the maps of circles
ROWS = 8  #: of a map worked out at a time
MOST_CELLS = 60  #: of one map that are looked at closer
REACH = 2.1  #: half the width of the map, in nominal voltages: beyond what one resonant load could do is rare
RESONANT = 10  #: the same, where a capacitance and an inductance among the loads may resonate
APART = 0.004  #: nominal voltages between two starts
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


def positions(net: Network, nodes, base, nominal, tables):
    """Return star points (V) near which the current sum of `nodes`, all at one voltage, is zero in both its parts.

    All other nodes are held at `base` (V). Looked for on a square map, and on one of circles round every line: where a
    load cuts off, its current changes within a volt, and only circles set as close as the current asks for can tell.
    `tables` (`LawTables`) keeps the laws of loads from one call to the next.
    """
    law = _CurrentSum(net, nodes, base, nominal, tables)
    axis = np.linspace(-REACH * nominal, REACH * nominal, CELLS + 1)
    maps = [axis[None, :] + 1j * axis[:, None]]
    turn = np.exp(2j * np.pi * np.arange(ANGLES + 1) / ANGLES)
    if tables.reach > REACH:
        maps.append(np.geomspace(REACH, tables.reach, RADII + 1)[:, None] * nominal * turn[None, :])
    maps += [centre + radii[:, None] * turn[None, :] for centre, radii in law.circles()]
    found = {}
    for start in (start for corners in map(law.reached, maps) if min(corners.shape) > 1 for start in _refined(law, corners)):
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


def _volts(reach, step):
    return np.arange(0, round(1000 * max(reach, 4)) + 1) * step


@lru_cache(maxsize=256)
def _law(model, reach, step):
    return model.response(_volts(reach, step))[0]


class _CurrentSum:
    """The current sum of nodes held at one voltage while everything else keeps its own."""

    def __init__(self, net, nodes, base, nominal, tables):
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
        for k in net.pairs:
            model, (a, b) = net.models[k], net.branch_ends[k]
            if inside[a] != inside[b]:
                there = units.setdefault(complex(base[b if inside[a] else a]), {})
                there[model] = there.get(model, 0.0) + net.count[k]
        self.laws = {}  # centre -> its loads' admittance over `table`, real if it is, and how much it rises to the next voltage
        for centre, there in units.items():
            y = sum(count * tables[model] for model, count in there.items())
            y = y if y.imag.any() else y.real.copy()
            self.laws[centre] = y, np.append(np.diff(y), 0.0)

    def __call__(self, s):
        if len(s) > ROWS:  # few rows at a time stay near the processor
            return np.concatenate([self(s[k:k + ROWS]) for k in range(0, len(s), ROWS)])
        total = self.linear * s + self.at_rest
        last, per_volt = len(self.table) - 1, 1 / self.table[1]
        for centre, (y, rise) in self.laws.items():
            u = s - centre
            at = np.minimum(np.abs(u) * per_volt, last)
            below = at.astype(np.intp)
            total += (y.take(below) + (at - below) * rise.take(below)) * u
        return total

    def reached(self, corners):
        """Return the part of a map (a rectangle of its rows and columns) that the sum can be zero in.

        Where the wiring holds the nodes, the loads can drag them no farther than all their current does.
        """
        if not self.linear:
            return corners
        far = np.abs(corners).max()
        most = sum(max(np.abs(y * self.table).max(), abs(y[-1]) * (far + abs(centre)))
                   for centre, (y, _) in self.laws.items()) / abs(self.linear)
        cell = max(np.abs(np.diff(corners, axis=axis)).max() for axis in (0, 1))
        inside = np.abs(corners + self.at_rest / self.linear) <= most + 2 * cell
        rows, columns = (np.flatnonzero(inside.any(axis=axis)) for axis in (1, 0))
        return corners[rows[0]:rows[-1] + 1, columns[0]:columns[-1] + 1] if len(rows) else corners[:0]

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
    """Return the centres of the cells of a map in which both parts of `law` change sign, each cell divided twice."""
    values = law(corners)
    row, column = np.nonzero(_cells(values.real) & _cells(values.imag))
    if len(row) > MOST_CELLS:  # a whole region without current: nothing is gained by going closer
        keep = np.linspace(0, len(row) - 1, MOST_CELLS).astype(int)
        row, column = row[keep], column[keep]
    quads = np.stack([corners[row, column], corners[row, column + 1], corners[row + 1, column],
                      corners[row + 1, column + 1]])
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
