"""Which reading would decide most between the rival causes that are left."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from lostneutral import data
from lostneutral.circuit.wiring import EARTH, terminal_names
from lostneutral.evidence.spans import percentile

MOST_POINTS = 12
BIN = 2.0  #: V, width of what two readings must differ by to be told apart at all
SHOWN = 3
WORTH = 0.01  #: bits below which a reading is not worth taking


@dataclass(frozen=True)
class NextReading:
    """A reading that could be taken, with the loads as they were."""

    point: str
    between: tuple[str, str]
    bits: float  #: expected information about the cause
    of: float  #: bits that are to be had at most: what is now uncertain
    expected: tuple[tuple[str, float | None, float | None, float | None], ...]  #: rival, 5, 50, 95 %, V; None = floats


def next_readings(case, rows) -> tuple[NextReading, ...]:
    """Return the readings that promise most about the cause, the best first.

    `rows` are (rival, `Sampled`, its share of the support). The information is that between rival and reading, with a
    meter's usual uncertainty, expected over what the samples give; in bits. Only readings at points where an installer
    can take them count: joints in the main are left out.
    """
    shares = np.array([share for *_, share in rows])
    shares = shares / shares.sum()
    most = float(-(shares * np.log2(shares)).sum())
    found = []
    for point in [p for p in case.points if p.kind != "joint"][:MOST_POINTS]:
        names = {n: (point.name, n) for n in terminal_names(case, point)} | ({"earth": EARTH} if case.supply.earthing else {})
        for a, b in combinations(names, 2):
            volts = [np.abs(part.states.between(names[a], names[b])) for _, part, _ in rows]
            bits = _information(volts, [part.weight for _, part, _ in rows], shares)
            if bits > WORTH:
                found.append((bits, point.name, (a, b), volts))
    found.sort(key=lambda row: -row[0])
    return tuple(NextReading(point, between, bits, most, tuple(
        (rival.words, *_span(v, part.weight)) for (rival, part, _), v in zip(rows, volts)))
        for bits, point, between, volts in found[:SHOWN])


def _information(volts, weights, shares):
    """Mutual information (bits) between the rival and the reading, binned and blurred by the meter's uncertainty."""
    from scipy.ndimage import gaussian_filter1d

    usual = data.load("where")["uncertainty"]
    top = max((np.nanmax(v, initial=0.0) for v in volts), default=0.0) + 50
    edges = np.arange(0.0, top + BIN, BIN)
    laws = []
    for v, w in zip(volts, weights):
        there = np.isfinite(v)
        law = np.histogram(v[there], edges, weights=w[there])[0]
        sigma = usual["volts"] + usual["share"] * (float(np.average(v[there], weights=w[there])) if w[there].any() else 0.0)
        law = gaussian_filter1d(law, sigma / BIN, mode="nearest")
        laws.append(np.append(law, w[~there].sum()))
    laws = np.array(laws)
    laws /= laws.sum(axis=1, keepdims=True)
    mean = shares @ laws
    with np.errstate(divide="ignore", invalid="ignore"):
        return float((shares[:, None] * np.where(laws > 0, laws * np.log2(laws / mean), 0.0)).sum())


def _span(volts, weight):
    there = np.isfinite(volts)
    if weight[there].sum() < 0.5:
        return None, None, None
    return tuple(map(float, percentile(volts[there], weight[there])))
