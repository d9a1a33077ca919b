"""What every voltage does to a load, as steps over the voltage, so that samples need only be looked up."""

from dataclasses import replace

import numpy as np

from lostneutral.circuit.wiring import wiring
from lostneutral.consequences.harm import harm_at
from lostneutral.consequences.limits import band
from lostneutral.loads import load_model

GRID = 48  #: voltages at which the laws are asked before the steps between them are closed in upon
CLOSE = 0.01  #: V
STEP = 0.01  #: of the rated voltage, to which the ports of a machine are rounded, so that its laws are asked once for what is alike


def by_ports(model) -> bool:
    """Whether what becomes of a load goes by the voltages of its several ports: of a machine on three lines by both sequences."""
    return len(model.ports) > 1 and not model.told_by_ports


def ports(model, terminals):
    """Return (rows, ports), V, from the voltages (terminals, rows; complex, V) of a machine's terminals.

    Behind two transposed lines it turns backward and bears the same: the larger sequence is the one that it turns with.
    """
    found = np.abs(model.across(np.asarray(terminals))).T
    return np.hstack([np.sort(found[:, :2], axis=1)[:, ::-1], found[:, 2:]])


def distinct_ports(load, sizes):
    """Return (the distinct voltages of the ports, V, in rows; the number of those that each row of `sizes` has)."""
    step = STEP * load.voltage
    distinct, which = np.unique(np.round(np.nan_to_num(sizes) / step).astype(int), axis=0, return_inverse=True)
    return distinct * step, np.ravel(which)


def outcomes_at(case, load, volts):
    """Return the outcome (words of `consequences.harm`) of `load`, if it is on, at each of `volts` (V, array; of its ports in rows)."""
    told = _asker(case, load)
    if np.ndim(volts) > 1:
        distinct, which = distinct_ports(load, volts)
        return np.array([told(v) for v in distinct])[which]
    grid = np.linspace(0.0, max(float(np.nanmax(volts, initial=1.0)), 1.0) * 1.001, GRID)
    words = [told(v) for v in grid]
    edges, between = [], [words[0]]
    for low, high, before, after in zip(grid[:-1], grid[1:], words[:-1], words[1:]):
        if before != after:
            edges.append(_edge(told, low, high, before))
            between.append(after)
    return np.array(between)[np.searchsorted(edges, volts)] if edges else np.full(np.shape(volts), words[0])


def _edge(told, low, high, before):
    while high - low > CLOSE:
        middle = (low + high) / 2
        low, high = (middle, high) if told(middle) == before else (low, middle)
    return (low + high) / 2


def _asker(case, load):
    load, limits = replace(load, on=True), band(case.supply.limits)
    model, backward = load_model(load, case.supply)[0], bool(case.crosses) and _runs_backward(case, load)
    return lambda volts: harm_at(load, model, volts, limits, backward)[0].outcome


def _runs_backward(case, load):
    """Whether lines that are transposed before it turn `load`, which is on, the other way."""
    alone = replace(case, loads=(load,))
    return any(branch.backward for branch in wiring(alone, alone.breaks_after(), alone.crosses).branches)
