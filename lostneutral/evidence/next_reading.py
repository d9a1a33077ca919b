"""Which reading would best separate the leading causes, taken on the circuit as it stands."""

from itertools import combinations
from math import inf

import numpy as np

from lostneutral import data
from lostneutral.circuit.wiring import EARTH, terminal_names
from lostneutral.evidence.likelihood import loaded, of_class
from lostneutral.evidence.scale import EVEN
from lostneutral.evidence.settled import Maps
from lostneutral.evidence.spans import percentile
from lostneutral.evidence.world import World
from lostneutral.frozen import dataclass
from lostneutral.studies.conditions import circumstance_at

MOST_POINTS = 12
BIN = 2.0  #: V, width of what two readings must differ by to be told apart at all
SHOWN = 3
BESIDE = 4  #: causes under which a reading is named
WORTH = 0.05  #: bits, of the one between two causes alike likely, below which a reading does not separate them
SAMPLES = 48  #: of each cause, drawn anew from its weighed samples
CLEARER = 0.05  #: bits by which an instrument of low impedance must tell more to be preferred
CLASS = {"high": (), "low": ("low-impedance tester",)}  #: of an instrument, by which its uncertainty goes beside the usual one
INSTRUMENTS = {"high": "two-pole instrument of high input impedance with shrouded probes",
               "low": "two-pole tester of low input impedance with shrouded probes"}
"""Entry of the data file `meters` -> what it is called."""


@dataclass(frozen=True)
class NextReading:
    """A reading that could be taken, with the loads as they are."""

    point: str
    between: tuple[str, str]
    bits: float  #: expected information on which of the two leading causes it was, were they alike likely
    of: float  #: bits that are to be had at most
    expected: tuple[tuple[str, float | None, float | None, float | None], ...]  #: cause, 5, 50, 95 %, V; None = no such voltage
    instrument: str = INSTRUMENTS["high"]

    @property
    def strength(self):
        """How far it tells the two leading causes apart, from 0 (not) to 1."""
        return self.bits / self.of


def next_readings(case, rows) -> tuple[NextReading, ...]:
    """Return the readings that best separate the two leading causes, the best first; none where none does.

    `rows` are (cause, its samples, its probability), the leading first. The information is that between cause and
    reading, with a meter's usual uncertainty, expected over what the samples give with the instrument held there; in bits.
    Only readings at points where they can be taken count: joints in the main are left out. The circuit is that after
    the last event of the case: nothing is switched, energised or opened for a reading.
    """
    if len(rows) < 2:
        return ()
    rows = rows[:BESIDE]
    points = [p for p in case.points if p.kind != "joint"][:MOST_POINTS]
    pairs = [(p.name, ends) for p in points for ends in combinations(_terminals(case, p), 2)]
    shown, found = _shown(case, rows, pairs), []
    for n, (point, ends) in enumerate(pairs):
        told = {name: _information([(volts[name][:, n], weight) for volts, weight in shown[:2]], CLASS[name]) for name in INSTRUMENTS}
        name = "low" if told["low"] > told["high"] + CLEARER else "high"
        if told[name] > WORTH:
            found.append((told[name], point, ends, name, n))
    found.sort(key=lambda row: -round(row[0], EVEN))
    return tuple(NextReading(point, ends, bits, 1.0, tuple(
        (rival.words, *_span(volts[name][:, n], weight)) for (rival, *_), (volts, weight) in zip(rows, shown)), INSTRUMENTS[name])
        for bits, point, ends, name, n in found[:SHOWN])


def _terminals(case, point):
    return (*terminal_names(case, point), *(("earth",) if case.supply.earthing else ()))


def _shown(case, rows, pairs):
    """[({instrument: V that it shows, (rows, pairs)}, weight of each row)] of every cause of `rows`."""
    base = rows[0][1].states.world
    now = circumstance_at(case, inf) if case.events else base.conditions[0]
    as_weighed = now == base.conditions[0]
    world = base.holding(pairs) if as_weighed else World(base.case, base.causes, (*base.conditions, now), pairs)
    maps, made = Maps(), []
    for rival, part, _ in rows:
        ends = np.cumsum(part.weight)
        drawn = np.minimum(np.searchsorted(ends, (np.arange(SAMPLES) + 0.5) / SAMPLES * ends[-1]), len(ends) - 1)
        drawn, times = np.unique(drawn, return_counts=True)
        cause, values = np.full(len(drawn), base.causes.index(rival)), part.values[drawn]
        if as_weighed:  # of several states of a sample the very one that it was weighed in
            states = world.met_again(part.states.at(drawn, np.arange(len(drawn)), np.ones(len(drawn))), cause, values, now)
        else:
            states = world.settle(cause, values, now, True, maps)
        weight = states.solved * times[states.sample] * states.weight
        volts = {name: np.stack([_read(states, point, own, n, data.load("meters")[name]["impedance"]) for n, (point, own) in enumerate(pairs)],
                                axis=1) for name in INSTRUMENTS}
        made.append((volts, weight / weight.sum() if weight.any() else np.full(len(weight), 1 / len(weight))))
    return made


def _read(states, point, ends, n, ohms):
    return loaded(states.between(*(EARTH if c == "earth" else (point, c) for c in ends)), states.inner[:, n], ohms)


def _information(readings, classes=()):
    """Mutual information (bits) between two causes alike likely and the reading, binned and blurred by the meter's uncertainty.

    `readings` are (V, weights) under each, by an instrument of one of `classes`, if these are known.
    """
    usual = data.load("where")["uncertainty"]
    top = max((np.nanmax(v, initial=0.0) for v, _ in readings), default=0.0) + 50
    edges = np.arange(0.0, top + BIN, BIN)
    laws = []
    for v, w in readings:
        there = np.isfinite(v)
        law = np.histogram(v[there], edges, weights=w[there])[0]
        middle = float(np.average(v[there], weights=w[there])) if w[there].any() else 0.0
        sigma = max(usual["volts"] + usual["share"] * middle, of_class(classes, middle))
        laws.append(np.append(_blurred(law, sigma / BIN), w[~there].sum()))
    laws = np.array(laws)
    laws /= laws.sum(axis=1, keepdims=True)
    mean = laws.mean(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        return float(np.where(laws > 0, laws * np.log2(laws / mean), 0.0).sum() / len(laws))


def _blurred(law, sigma):
    """Return `law` (bins) blurred by a normal law of `sigma` bins, up to four of them; beyond its ends it is as there."""
    reach = int(4 * sigma + 0.5)
    kernel = np.exp(-((np.arange(-reach, reach + 1) / sigma) ** 2) / 2)
    return np.convolve(np.pad(law, reach, mode="edge"), kernel / kernel.sum(), mode="valid")


def _span(volts, weight):
    there = np.isfinite(volts)
    if weight[there].sum() < 0.5:
        return None, None, None
    return tuple(map(float, percentile(volts[there], weight[there])))
