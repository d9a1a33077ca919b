"""Which unknown matters most, from the samples themselves."""

from itertools import pairwise

import numpy as np

from lostneutral.evidence.sampling import UNITS, Column, choice, quantity
from lostneutral.evidence.spans import percentile
from lostneutral.frozen import dataclass

BINS = 16  #: equal parts into which an unknown that is no yes or no is cut


@dataclass(frozen=True)
class PartOfUnknown:
    """The range left if an unknown were known to be so."""

    words: str  #: "on", "off", a load's name, or a range with its unit
    share: float  #: probability that it is so
    low: float  #: V, 5 %
    high: float  #: V, 95 %


@dataclass(frozen=True)
class Influence:
    """How much one unknown has to do with a voltage.

    `share` is the correlation ratio: the share of the voltage's variance that its mean given the unknown explains,
    corrected for the number of parts. It is the first-order index of variance-based sensitivity (Saltelli et al.,
    Global Sensitivity Analysis: The Primer, 2008), takes on-off unknowns as they are, and leaves out what unknowns do
    only together.
    """

    name: str
    share: float
    width: float  #: V, 5 to 95 %, as things are
    width_known: float  #: V, the same if it were known, in the mean over what it might turn out to be
    parts: tuple[PartOfUnknown, ...]


def influences(columns: tuple[Column, ...], shares, values, weight) -> tuple[Influence, ...]:
    """Return the influence of every unknown on `values` (V, nan where not tied down), the strongest first.

    `shares` is (rows, unknowns), each value's place in its law from 0 to 1.
    """
    kept = np.isfinite(values)
    y, w = values[kept], weight[kept]
    if len(y) < 2:
        return ()
    low, high = percentile(y, w, (0.05, 0.95))
    found = [_influence(c, s, y, w, high - low) for c, s in zip(columns, shares[kept].T)]
    return tuple(sorted(found, key=lambda i: -i.share))


def _influence(column, shares, y, w, width):
    groups, words = parts_of(column, shares)
    total = w.sum()
    mean = np.average(y, weights=w)
    variance = np.average((y - mean) ** 2, weights=w)
    between, within, parts, known = 0.0, 0.0, [], 0.0
    for number, name in enumerate(words):
        here = groups == number
        if not here.any():
            continue
        part, own = w[here].sum() / total, np.average(y[here], weights=w[here])
        between += part * (own - mean) ** 2
        within += part * np.average((y[here] - own) ** 2, weights=w[here])
        low, high = percentile(y[here], w[here], (0.05, 0.95))
        known += part * (high - low)
        parts.append(PartOfUnknown(name, float(part), float(low), float(high)))
    extra = (len(parts) - 1) / max(len(y) - len(parts), 1) * within  # what chance alone puts between the parts
    share = max(between - extra, 0.0) / variance if variance > 1e-12 else 0.0
    return Influence(column.name, float(share), float(width), float(known), tuple(parts))


def parts_of(column: Column, shares):
    """Return (number of the part that each sample is in, words of each part) of one unknown."""
    unknown, key = column.unknown, column.key
    if key == "on":
        return np.where(shares < unknown.on, 1, 0), ("off", "on")
    if key == "one_of":
        return choice(unknown, shares) + 1, ("none of them", *unknown.one_of)
    ends = quantity(getattr(unknown, key), np.linspace(0, 1, BINS + 1))
    words = [f"{_figure(a)} to {_figure(b)} {UNITS[key]}" for a, b in pairwise(ends)]
    return np.minimum((shares * BINS).astype(int), BINS - 1), tuple(words)


def _figure(value):
    """Three figures, never as a power of ten."""
    return f"{float(f'{value:.3g}'):,.10g}".replace(",", "")
