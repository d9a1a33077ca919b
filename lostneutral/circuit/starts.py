"""Where to start looking for settled states: star points at which the neutral's current sum changes sign."""

from itertools import islice, product

import numpy as np

from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import first_guess

CELLS = 192  #: cells of the map, each way
REACH = 2.1  #: half the width of the map, in nominal voltages: beyond what one resonant load could do is rare
MOST_STARTS = 200


def starts(net: Network, nominal):
    """Yield node voltages (V) from which to start Newton's method, the likeliest first.

    The usual guess; then, for every floating neutral, the cells of a fine map of star-point positions in which both
    parts of the current sum (lines held where the usual guess puts them) change sign; then a coarse spread.
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
    """Centres of the map's cells in which the current sum of `nodes`, all at one voltage, may be zero."""
    axis = np.linspace(-REACH * nominal, REACH * nominal, CELLS + 1)
    s = axis[None, :] + 1j * axis[:, None]
    total = np.zeros_like(s)
    inside = np.zeros(len(base), bool)
    inside[nodes] = True
    a, b = net.element_ends.T
    for here, there in ((a, b), (b, a)):
        for k in np.flatnonzero(inside[here] & ~inside[there]):
            total += net.element_admittance[k] * (s - base[there[k]])
    table = np.linspace(0, 4 * nominal, 4001)
    for model, where in net.groups:
        y = None
        for here, there in (net.branch_ends[where].T, net.branch_ends[where].T[::-1]):
            for k in np.flatnonzero(inside[here] & ~inside[there]):
                if y is None:
                    y = model.response(table)[0]
                u = s - base[there[k]]
                total += net.count[where[k]] * np.interp(np.abs(u), table, y) * u
    row, column = np.nonzero(_cells(total.real) & _cells(total.imag))
    centre = (axis[:-1] + axis[1:]) / 2
    return list(centre[column] + 1j * centre[row])


def _cells(values):
    corners = np.stack([values[:-1, :-1], values[1:, :-1], values[:-1, 1:], values[1:, 1:]])
    return (corners.min(axis=0) <= 0) & (corners.max(axis=0) >= 0)
