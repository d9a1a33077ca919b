"""Which reading would best separate the leading causes, taken on the circuit as it stands."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from lostneutral import data
from lostneutral.circuit.wiring import EARTH, terminal_names
from lostneutral.evidence.spans import percentile

MOST_POINTS = 12
BIN = 2.0  #: V, width of what two readings must differ by to be told apart at all
SHOWN = 3
WORTH = 0.05  #: bits, of the one between two causes alike likely, below which a reading does not separate them


@dataclass(frozen=True)
class NextReading:
    """A reading that could be taken, with the loads as they were, by a two-pole instrument of high impedance."""

    point: str
    between: tuple[str, str]
    bits: float  #: expected information on which of the two leading causes it was, were they alike likely
    of: float  #: bits that are to be had at most
    expected: tuple[tuple[str, float | None, float | None, float | None], ...]  #: cause, 5, 50, 95 %, V; None = no such voltage
    instrument: str = "two-pole instrument of high input impedance with shrouded probes"

    @property
    def strength(self):
        """How far it tells the two leading causes apart, from 0 (not) to 1."""
        return self.bits / self.of


def next_readings(case, rows) -> tuple[NextReading, ...]:
    """Return the readings that best separate the two leading causes, the best first; none where none does.

    `rows` are (cause, its samples, its probability), the leading first. The information is that between cause and
    reading, with a meter's usual uncertainty, expected over what the samples give; in bits. Only readings at points
    where they can be taken count: joints in the main are left out.
    """
    if len(rows) < 2:
        return ()
    shares, found = np.array([0.5, 0.5]), []
    for point in [p for p in case.points if p.kind != "joint"][:MOST_POINTS]:
        names = {n: (point.name, n) for n in terminal_names(case, point)} | ({"earth": EARTH} if case.supply.earthing else {})
        for a, b in combinations(names, 2):
            volts = [np.abs(part.states.between(names[a], names[b])) for _, part, _ in rows]
            bits = _information(volts[:2], [part.weight for _, part, _ in rows[:2]], shares)
            if bits > WORTH:
                found.append((bits, point.name, (a, b), volts))
    found.sort(key=lambda row: -row[0])
    return tuple(NextReading(point, between, bits, 1.0, tuple(
        (rival.words, *_span(v, part.weight)) for (rival, part, _), v in zip(rows, volts)))
        for bits, point, between, volts in found[:SHOWN])


def _information(volts, weights, shares):
    """Mutual information (bits) between the cause and the reading, binned and blurred by the meter's uncertainty."""
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
