"""Working back: how far what was seen supports each rival cause against the others."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import hypot, inf, log

import numpy as np

from lostneutral import data
from lostneutral.analysis import analyse
from lostneutral.case.model import Case
from lostneutral.errors import NoSolutionError, UsageError
from lostneutral.evidence import likelihood
from lostneutral.evidence.likelihood import Judge
from lostneutral.evidence.next_reading import NextReading, next_readings
from lostneutral.evidence.rivals import Rival, cause_words, rivals
from lostneutral.evidence.sampling import UNITS, columns, needs_single, quantity
from lostneutral.evidence.spans import percentile
from lostneutral.evidence.tempered import RUNS, Sampled, look, run, weighed
from lostneutral.result import Result

TOGETHER, SEVERAL, MANY = 1024, 256, 256  #: samples a step; where loads may settle in several ways; of many loads
MANY_LOADS = 20
LARGE = 2000  #: rivals times points, from which rivals are looked at first
LOOK, KEPT = 8, 16  #: samples of that first look, and how many rivals are kept for more
NOT_EXPLAINED = 0.5  #: probability, under every rival, that an observation does not mean what it says
PLAYS = 0.01  #: share of the support below which a rival plays no part in what is asked next
HOPELESS = 1e-3  #: share of the support below which, in any light, a rival gets no more than one run


@dataclass(frozen=True)
class Fit:
    """How one observation stands under one rival, given all observations."""

    words: str  #: what was observed
    low: float | None  #: V, 5 % of what the rival gives lie below; None of a load, or where it floats
    middle: float | None
    high: float | None
    likely: float | None  #: of what was seen of a load: its probability under the rival
    doubtful: float  #: probability that the observation does not mean what it says, if the rival is the cause


@dataclass(frozen=True)
class Weighed:
    """One rival cause with what the observations say of it."""

    kind: str
    words: str
    at: str  #: the point that the run feeds, "" for the whole supply
    prior: float
    evidence: float  #: probability (density) of all observations under it
    error: float  #: its standard error
    effective: float  #: samples that it rests on; inf where nothing was unknown
    posterior: float
    posterior_error: float
    against: float  #: likelihood ratio of the first rival to this one
    fits: tuple[Fit, ...] = ()


@dataclass(frozen=True)
class Kind:
    """A kind of cause, whatever its place, against all other kinds together."""

    kind: str
    words: str  #: what it is called in this case
    prior: float
    posterior: float
    ratio: float  #: likelihood ratio of this kind to all others, by their priors
    support: str  #: words of the verbal scale, for this kind where ratio > 1, against it where below


@dataclass(frozen=True)
class LeftOut:
    """The answer without one observation."""

    words: str
    first: str  #: kind that then comes first
    posterior: float  #: of that kind
    was: float  #: of the same kind with all observations
    effective: float  #: samples that this rests on; where below what is enough, nothing is said


@dataclass(frozen=True)
class Known:
    """What the observations say of something that was unknown."""

    name: str
    before: tuple[float, ...]  #: 5, 50, 95 % as said by the case; of a switch: (probability of being on,)
    after: tuple[float, ...]
    unit: str  #: "W", "ohm", "V"; "" for a switch


@dataclass(frozen=True, eq=False)
class Deduction:
    """What was seen, weighed: support for rival causes under stated assumptions, and no more than that."""

    rivals: tuple[Weighed, ...]  #: the best supported first
    kinds: tuple[Kind, ...]
    voltages: tuple[tuple[str, str, float | None, float | None, float | None], ...]  #: point, line, 5, 50, 95 %, V
    unknowns: tuple[Known, ...]
    observations: tuple[str, ...]
    unexplained: tuple[str, ...]  #: observations that no rival explains
    left_out: tuple[LeftOut, ...]
    level_priors: tuple[str, float]  #: first kind, and its share, were every kind as likely beforehand
    turns_at: float  #: factor on the odds beforehand of the first kind at which the second draws level
    next_readings: tuple[NextReading, ...]
    samples: int
    seed: int
    singly: tuple[str, ...]  #: loads that may settle in several ways
    unsolved: float  #: largest share of a rival's samples without a settled state
    star: np.ndarray  #: complex, V: the neutral of the first point given the evidence
    star_weight: np.ndarray
    point: str
    together: tuple[tuple[tuple[str, bool], ...], float] = ((), 1.0)  #: likeliest positions of the unknown switches, and how likely
    looked: int = 0  #: rivals, of very many, that were set aside at a first look


def deduced(case: Case, samples: int | None = None, seed: int = 1,
            tick: Callable[[int], object] | None = None) -> Result:
    """Return what `case` works out to as given, and in `Result.deduction` what its observations say of the rival causes.

    `samples`, `seed` and `tick` as in `bound`. `posterior` is a probability under the priors listed, `against` the
    likelihood ratio of the first cause to this one. Range: steady state, the causes listed and no other; it supports one
    against another and proves none. Sources of laws, priors and words: data file `evidence`.

    Raises UsageError without observations or without a rival left, NoSolutionError where too few samples agree with what was seen.

    >>> from lostneutral import deduce, parse_case
    >>> case = parse_case('''
    ... title = "A reading"
    ... supply = {}
    ... load = [
    ...     { name = "small", kind = "resistive", connect = "L1-N", power = 100 },
    ...     { name = "large", kind = "resistive", connect = "L2-N", power = 300 },
    ... ]
    ... observation = [{ between = "L1-N", voltage = 299, uncertainty = 2 }]
    ... ''')
    >>> found = deduce(case, samples=128).deduction
    >>> print(found.rivals[0].words, f"{found.rivals[0].posterior:.1f}")
    open neutral in the cable to intake 0.9
    """
    found = deduce(case, samples, seed, tick)
    return replace(analyse(case), deduction=found)


def deduce(case: Case, samples: int | None = None, seed: int = 1, tick=None) -> Deduction:
    """Return how far the observations of `case` support each rival cause.

    Every rival (see `rivals`) is sampled (see `tempered.run`) with `samples` a step; the case's own breaks play no part.
    `tick(number)` is called as parts of `work(case)` are done; the same seed gives the same answer. Laws, priors and the verbal scale:
    data file `evidence`. Raises UsageError without observations or without a rival left, NoSolutionError where too few samples agree with what was seen for anything to be said.
    """
    judge, found = Judge(case), _weighable(case)
    size = sample_count(case, samples)
    parts, looked = _sampled(found, judge, size, seed, tick or (lambda done: None))
    evidence = np.array([part.evidence for part in parts])
    prior = np.array([rival.prior for rival in found])
    if not (evidence * prior).any():
        raise NoSolutionError("No sample of any cause has a settled state: nothing can be weighed.")
    posterior = evidence * prior / (evidence * prior).sum()
    _refuse(found, parts, posterior, size)
    order = np.argsort(-posterior, kind="stable")
    first = order[np.argmax(evidence[order] * (posterior[order] > 0))] if len(order) else 0
    causes = tuple(_one(judge, found[n], parts[n], posterior, n, evidence[first], parts) for n in order)
    kinds = _kinds(case, found, posterior)
    level, turns = _priors(found, evidence, kinds)
    rows = _pooled(parts, posterior)
    star_point = case.points[0].name
    return Deduction(
        causes, kinds, _voltages(case, rows), _known(case, found, parts, posterior),
        tuple(likelihood.words(case, o) for o in case.observations), _unexplained(causes),
        _left_out(case, found, parts, posterior), level, turns, next_readings(case, [(found[n], parts[n], posterior[n]) for n in order if posterior[n] > PLAYS]),
        size, seed, needs_single(case), max(part.unsolved for part in parts), rows.nodes[star_point, "N"], rows.weight,
        star_point, _together(case, rows), looked)


def work(case: Case) -> int:
    """Return the number of runs of samples that `deduce` counts in `tick`; UsageError where there is nothing to weigh."""
    return RUNS * len(_weighable(case))


def _weighable(case):
    """Return the rival causes of `case`; UsageError without an observation or without a cause."""
    if not case.observations:
        raise UsageError("Nothing was observed: there is nothing to compare. `lostneutral bound` gives the range of "
                         "voltages "
                         "that the unknown loads allow.")
    found = rivals(case)
    if not found:
        raise UsageError("Every cause that is possible in this wiring has weight 0 in [[prior]] — give one of them more.")
    return found


def sample_count(case: Case, samples: int | None = None) -> int:
    """Return how many samples a step are taken where `samples` are asked for (None: the default for such loads)."""
    return samples or (SEVERAL if needs_single(case) else MANY if len(case.loads) > MANY_LOADS else TOGETHER)


def support(ratio: float) -> str:
    """Return the words of the verbal scale for a likelihood ratio of 1 or more."""
    scale = data.load("evidence")["scale"]
    return scale["words"][int(np.searchsorted(scale["upto"], ratio, side="right"))]


def _sampled(found, judge, size, seed, tick):
    """Return the samples of every rival, and of how many there are no more than few: one run each, and all runs of those
    that have some support in any light.

    In a large case, or where loads may settle in several ways, which takes long, a first look at samples of what was
    likely before says which are run at all; the others stay as they were then seen.
    """
    looks, kept = {}, range(len(found))
    large, singly = len(found) * len(judge.case.points) > LARGE, bool(needs_single(judge.case))
    if large or singly:
        for n, rival in enumerate(found):
            looks[n] = [look(rival, judge, LOOK if large else max(size // RUNS, LOOK), seed)]
            tick(1)
        kept = ()
    if large:
        kept = np.argsort([looks[n][0][0].guide.max() + log(rival.prior) for n, rival in enumerate(found)])[-KEPT:]
    runs = {}
    for n in kept:
        runs[n] = [run(found[n], judge, size, seed)]
        tick(0 if looks else 1)
    parts = [weighed(runs.get(n) or looks[n]) for n in range(len(found))]
    answers = np.array([[part.evidence, *(part.without(k)[0] for k in range(len(judge.case.observations)))] for part in parts])
    shares = answers * np.array([[rival.prior] for rival in found])
    counts = (shares > HOPELESS * np.maximum(shares.sum(axis=0), 1e-300)).any(axis=1)
    for n, rival in enumerate(found):
        if counts[n] and columns(rival.case):
            done = runs.get(n, [])
            runs[n] = [*done, *(run(rival, judge, size, seed, number) for number in range(len(done), RUNS))]
            parts[n] = weighed(runs[n])
        tick(RUNS - 1)
    return parts, len(found) - len(runs)


def _refuse(found, parts, posterior, size):
    """Raise NoSolutionError where a rival that matters rests on too few samples."""
    enough = data.load("evidence")["enough"]["value"]
    poor = [n for n, part in enumerate(parts) if posterior[n] > PLAYS and part.effective < min(enough, size / 2)]
    if poor:
        n = min(poor, key=lambda k: parts[k].effective)
        raise NoSolutionError(
            f"Too few samples agree with the observations for anything to be said: “{found[n].words}” rests on "
            f"{parts[n].effective:.0f} effective samples, and {min(enough, size / 2):.0f} are needed. More samples "
            "(--samples) may do; otherwise the case leaves more open than the observations can narrow.")


def _one(judge, rival: Rival, part: Sampled, posterior, n, best, parts):
    share = posterior[n]
    relative = [p.error / p.evidence if p.evidence else 0.0 for p in parts]
    others = sum((posterior[k] * relative[k]) ** 2 for k in range(len(parts)) if k != n)
    error = share * hypot((1 - share) * relative[n], others**0.5)
    fits = tuple(_fit(judge, part, k, o) for k, o in enumerate(judge.case.observations))
    return Weighed(rival.kind, rival.words, rival.at, rival.prior, part.evidence, part.error, part.effective, float(share),
                   float(error), float(best / part.evidence) if part.evidence else inf, fits)


def _fit(judge, part, k, observation):
    total = part.genuine[:, k] + part.other[:, k]
    doubtful = float(part.weight @ (part.other[:, k] / np.maximum(total, 1e-300)))
    words = likelihood.words(judge.case, observation)
    # What the rival gives by the other observations alone, so that the observation is not measured by itself.
    alone = part.share * np.delete(part.genuine + part.other, k, axis=1).prod(axis=1)
    alone = alone / alone.sum() if alone.any() else part.share
    if observation.load is not None:
        trust = data.load("where")["seen"]["trust"]
        return Fit(words, None, None, None, float(alone @ (part.genuine[:, k] / trust)), doubtful)
    volts = part.volts[:, k]
    there = np.isfinite(volts)
    if not there.any() or alone[there].sum() < 0.5:
        return Fit(words, None, None, None, None, doubtful)
    return Fit(words, *map(float, percentile(volts[there], alone[there])), None, doubtful)


def _kinds(case, found, posterior):
    called = cause_words(case)
    prior, after = defaultdict(float), defaultdict(float)
    for rival, share in zip(found, posterior):
        prior[rival.kind] += rival.prior
        after[rival.kind] += float(share)
    made = []
    for kind in prior:
        odds = after[kind] / max(1 - after[kind], 1e-15)
        ratio = odds * (1 - prior[kind]) / prior[kind] if prior[kind] < 1 else 1.0
        made.append(Kind(kind, called[kind], prior[kind], after[kind], ratio,
                         support(max(ratio, 1 / max(ratio, 1e-300)))))
    return tuple(sorted(made, key=lambda k: -k.posterior))


def _priors(found, evidence, kinds):
    mean = defaultdict(list)
    for rival, z in zip(found, evidence):
        mean[rival.kind].append(z)
    level = {kind: float(np.mean(z)) for kind, z in mean.items()}
    first = max(level, key=level.get)
    turns = kinds[0].posterior / kinds[1].posterior if len(kinds) > 1 and kinds[1].posterior else inf
    return (first, level[first] / sum(level.values())), turns


def _left_out(case, found, parts, posterior):
    """Return the answer without each observation; as support of kinds."""
    made, every = [], defaultdict(float)
    for rival, share in zip(found, posterior):
        every[rival.kind] += float(share)
    for k, observation in enumerate(case.observations):
        kinds, lowest = defaultdict(float), inf
        answers = [part.without(k) for part in parts]
        total = sum(rival.prior * z for rival, (z, _) in zip(found, answers)) or 1.0
        for rival, (z, effective) in zip(found, answers):
            kinds[rival.kind] += rival.prior * z / total
            if rival.prior * z / total > PLAYS and columns(rival.case):
                lowest = min(lowest, effective)
        first = max(kinds, key=kinds.get)
        made.append(LeftOut(likelihood.words(case, observation), first, kinds[first], every[first], lowest))
    return tuple(made)


def _unexplained(weighed):
    """Observations that are doubtful under every rival that could be meant."""
    return tuple(fits[0].words for fits in zip(*(w.fits for w in weighed if w.evidence), strict=True)
                 if all(fit.doubtful > NOT_EXPLAINED for fit in fits))


@dataclass(frozen=True, eq=False)
class _Rows:
    nodes: dict
    on: np.ndarray
    weight: np.ndarray


def _pooled(parts, posterior):
    """Return the rows of all rivals that matter, with their weights given the evidence."""
    used = [(part, share) for part, share in zip(parts, posterior) if share > 1e-4]
    terminals = used[0][0].states.nodes.keys()
    nodes = {t: np.concatenate([part.states.nodes.get(t, np.full(len(part.weight), np.nan)) for part, _ in used])
             for t in terminals}
    weight = np.concatenate([part.weight * share for part, share in used])
    return _Rows(nodes, np.concatenate([part.states.on for part, _ in used]), weight / weight.sum())


def _voltages(case, rows):
    made = []
    for point in case.points:
        for line in point.phases:
            volts = np.abs(rows.nodes[point.name, line] - rows.nodes[point.name, "N"])
            there = np.isfinite(volts)
            ends = percentile(volts[there], rows.weight[there]) if rows.weight[there].sum() > 0.5 else (None,) * 3
            made.append((point.name, line, *(None if v is None or np.isnan(v) else float(v) for v in ends)))
    return tuple(made)


def _together(case, rows):
    """Return the likeliest positions of all unknown switches together, and their share."""
    open_ = {u.load for u in case.unknowns if u.on is not None} | {name for u in case.unknowns for name in u.one_of}
    names = [(k, load.name) for k, load in enumerate(case.loads) if load.name in open_]
    if not names:
        return (), 1.0
    kinds, at = np.unique(rows.on[:, [k for k, _ in names]], axis=0, return_inverse=True)
    shares = np.bincount(np.ravel(at), rows.weight)
    return tuple((name, bool(on)) for (_, name), on in zip(names, kinds[shares.argmax()])), float(shares.max())


def _known(case, found, parts, posterior):
    """What the evidence says of switches and powers, over all rivals; and of the joint, if a bad joint matters."""
    made, usual = [], np.array([0.05, 0.5, 0.95])
    switches = {u.load: u.on for u in case.unknowns if u.on is not None}
    switches |= {name: chance for u in case.unknowns for name, chance in zip(u.one_of, u.chances)}
    at = {load.name: k for k, load in enumerate(case.loads)}
    for name, before in switches.items():
        after = sum(share * float(part.weight @ part.states.on[:, at[name]]) for part, share in zip(parts, posterior))
        made.append(Known(name, (before,), (after,), ""))
    ranged = {(c.unknown, c.key): c.name + (
                  ", if that is the cause" if rival.own and c.unknown is rival.case.unknowns[-1] else "")
              for rival, share in zip(found, posterior) if share > PLAYS
              for c in columns(rival.case) if c.key in UNITS}
    for (unknown, key), name in ranged.items():
        values, weights = [], []
        for rival, part, share in zip(found, parts, posterior):
            at_ = next((k for k, c in enumerate(columns(rival.case)) if c.unknown == unknown and c.key == key), None)
            if at_ is not None and share > 1e-4:
                values.append(quantity(getattr(unknown, key), part.values[:, at_]))
                weights.append(part.weight * share)
        made.append(Known(name, tuple(map(float, quantity(getattr(unknown, key), usual))),
                          tuple(map(float, percentile(np.concatenate(values), np.concatenate(weights)))), UNITS[key]))
    return tuple(made)
