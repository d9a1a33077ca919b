"""Where to start looking for settled states: star points at which the neutral's current sum changes sign."""

from itertools import islice, product

import numpy as np

from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import first_guess

CELLS = 128  #: cells of the square map, each way
ANGLES, RADII = 360, 160  #: of the maps of circles
MOST_CELLS = 60  #: of one map that are looked at closer
REACH = 2.1  #: half the width of the map, in nominal voltages: beyond what one resonant load could do is rare
APART = 0.004  #: nominal voltages between two starts
MOST_STARTS = 200


def starts(net: Network, nominal):
    """Yield node voltages (V) from which to start Newton's method, the likeliest first.

    The usual guess; then, for every floating neutral, where maps of star-point positions show both parts of the
    current sum (lines held where the usual guess puts them) changing sign; then a coarse spread.
    """
    try:
        base = first_guess(net, nominal)
    except np.linalg.LinAlgError:
        base = net.all_voltages(np.zeros(net.free, complex))
    yield base
    neutrals = floating_neutrals(net)
    if not neutrals:
        return
    found = [_sign_changes(net, nodes, base, nominal) for nodes in neutrals]
    coarse = nominal * np.concatenate([[0j], *(r * np.exp(2j * np.pi * (np.arange(6) / 6 + 0.02)) for r in (0.5, 1.2))])
    combinations = islice(product(*found), MOST_STARTS)
    for positions in (*combinations, *((p,) * len(neutrals) for p in coarse)):
        start = base.copy()
        for nodes, position in zip(neutrals, positions):
            start[nodes] = position
        yield start


def floating_neutrals(net: Network):
    """Return the groups of free neutral (or earth) nodes that conductors join, each an array of node numbers."""
    neutral = sorted({n for (_, c), n in net.node.items() if c in ("N", "PE", "") and n < net.free})
    if not neutral:
        return []
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    member = np.full(net.free + len(net.fixed), -1)
    member[neutral] = np.arange(len(neutral))
    a, b = member[net.element_ends.T]
    inside = (a >= 0) & (b >= 0)
    graph = coo_matrix((np.ones(inside.sum()), (a[inside], b[inside])), shape=(len(neutral),) * 2)
    count, group = connected_components(graph, directed=False)
    return [np.array(neutral)[group == k] for k in range(count)]


def _sign_changes(net, nodes, base, nominal):
    """Star points near which the current sum of `nodes`, all at one voltage, is zero in both its parts.

    Looked for on a square map, and on one of circles round every line: where a load cuts off, its current changes
    within a volt, and only circles set as close as the current asks for can tell.
    """
    law = _CurrentSum(net, nodes, base, nominal)
    axis = np.linspace(-REACH * nominal, REACH * nominal, CELLS + 1)
    maps = [axis[None, :] + 1j * axis[:, None]]
    turn = np.exp(2j * np.pi * np.arange(ANGLES + 1) / ANGLES)
    maps += [centre + radii[:, None] * turn[None, :] for centre, radii in law.circles()]
    found = {}
    for start in (start for corners in maps for start in _refined(law, corners)):
        found.setdefault((round(start.real / nominal / APART), round(start.imag / nominal / APART)), start)
    return list(found.values())


class _CurrentSum:
    """The current sum of nodes held at one voltage while everything else keeps its own."""

    def __init__(self, net, nodes, base, nominal):
        inside = np.zeros(len(base), bool)
        inside[nodes] = True
        self.table = np.linspace(0, 4 * nominal, 4001)
        self.linear, self.at_rest = 0j, 0j
        for (a, b), y in zip(net.element_ends, net.element_admittance):
            if inside[a] != inside[b]:
                self.linear += y
                self.at_rest -= y * base[b if inside[a] else a]
        laws = {}  # (centre, model) -> units
        for k, model in enumerate(net.models):
            a, b = net.branch_ends[k]
            if inside[a] != inside[b]:
                key = complex(base[b if inside[a] else a]), model
                laws[key] = laws.get(key, 0.0) + net.count[k]
        self.laws = [(centre, count * model.response(self.table)[0]) for (centre, model), count in laws.items()]

    def __call__(self, s):
        total = self.linear * s + self.at_rest
        for centre, y in self.laws:
            u = s - centre
            total = total + np.interp(np.abs(u), self.table, y) * u
        return total

    def circles(self):
        """Yield (centre, radii) for every voltage that loads hang on: radii close where their current bends."""
        for centre in {c for c, _ in self.laws}:
            current = np.abs(sum(y for c, y in self.laws if c == centre)) * self.table
            length = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(current)))])
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
    corners = np.stack([values[:-1, :-1], values[1:, :-1], values[:-1, 1:], values[1:, 1:]])
    return (corners.min(axis=0) <= 0) & (corners.max(axis=0) >= 0)
