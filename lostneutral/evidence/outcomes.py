"""What every voltage does to a load, as steps over the voltage, so that samples need only be looked up."""

from dataclasses import replace

import numpy as np

from lostneutral.consequences.harm import harm_at
from lostneutral.consequences.limits import band
from lostneutral.loads import load_model

GRID = 48  #: voltages at which the laws are asked before the steps between them are closed in upon
CLOSE = 0.01  #: V


def outcomes_at(case, load, volts):
    """Return the outcome (words of `consequences.harm`) of `load`, if it is on, at each of `volts` (V, array)."""
    told = _asker(case, load)
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
    model = load_model(load, case.supply)[0]
    return lambda volts: harm_at(load, model, volts, limits)[0].outcome
