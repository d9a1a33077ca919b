"""Working back: how far what was seen supports each rival cause against the others."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from math import hypot, inf, log

import numpy as np

from lostneutral import data
from lostneutral.analysis import analyse
from lostneutral.case.model import Case
from lostneutral.errors import NoSolutionError, UsageError
from lostneutral.evidence import likelihood
from lostneutral.evidence.asked import asked, ceiling
from lostneutral.evidence.deduction import Deduction, Fit, KindOfCause, Known, LeftOut, Weighed
from lostneutral.evidence.likelihood import Judge
from lostneutral.evidence.next_reading import next_readings
from lostneutral.evidence.pooled import pooled, positions_told, voltages_told
from lostneutral.evidence.rivals import Rival, cause_words, own_words, rivals
from lostneutral.evidence.sampling import UNITS, needs_single, quantity
from lostneutral.evidence.scale import EVEN, NOT_EXPLAINED, PLAYS, support
from lostneutral.evidence.settled import Maps
from lostneutral.evidence.spans import percentile
from lostneutral.evidence.tempered import FEWEST, OF_RUN, RUNS, Sampled, runs, weighed_runs
from lostneutral.evidence.thinned import is_long, shared_out, thinned
from lostneutral.evidence.turning import turnings
from lostneutral.evidence.where import narrowed_down
from lostneutral.evidence.world import World, drawn, highest_supply, stacked_worlds
from lostneutral.result import Result
from lostneutral.studies.recorded import with_all_observed

TOGETHER, SEVERAL, MANY = 512, 256, 256  #: samples a step; where loads may settle in several ways; of many loads
MANY_LOADS = 20
LARGE = 2000  #: rivals times points, from which rivals are looked at first
LOOK, KEPT = 8, 16  #: samples of that first look, and how many rivals are kept for more; up to twice as many that come near the best
LEADING = 3  #: causes under which voltages are given
HOPELESS = 1e-3  #: posterior probability below which a rival gets no more than one run, if it plays no part with an observation left out either


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

    Every rival (see `rivals`) is sampled (see `tempered.runs`) with `samples` a step; the case's own breaks play no part. Of a long
    street those runs are weighed that `where` tries last, in the street seen as coarsely.
    `tick(number)` is called as parts of `work(case)` are done; the same seed gives the same answer. Laws, priors and the verbal scale:
    data file `evidence`. Raises UsageError without observations or without a rival left, NoSolutionError where too few samples agree with what was seen for anything to be said.
    """
    case = with_all_observed(case)
    found, tick, chosen = _weighable(case), tick or (lambda done: None), ()
    if is_long(case):
        every, chosen = found, narrowed_down(case, found)[0]
        case, found = thinned(case, chosen)[0], shared_out(case, found, chosen)
        told, tick = tick, lambda done: told(done * len(every) / len(found))
    judge = Judge(case)
    size = samples_for_causes(case, samples)
    world = World(case, found, judge.conditions, judge.readings[0])
    maps = Maps()
    parts, looked, complete = _sampled(world, judge, size, seed, maps, tick)
    evidence = np.array([part.evidence for part in parts])
    prior = np.array([rival.prior for rival in found])
    if not (evidence * prior).any():
        raise NoSolutionError("No sample of any cause has a settled state: nothing can be weighed.")
    posterior = evidence * prior / (evidence * prior).sum()
    if complete:
        _refuse(found, parts, posterior, size)
    order = np.argsort(-posterior.round(EVEN), kind="stable")
    causes = tuple(_one(judge, found[n], parts[n], posterior, n, evidence.max(), parts) for n in order)
    kinds = _kinds(case, found, posterior)
    level, turns = _priors(found, evidence, kinds)
    rows = pooled(parts, posterior)
    star_point = case.points[0].name
    return Deduction(
        causes, kinds, voltages_told(case, rows), _known(world, parts, posterior),
        tuple(likelihood.words(case, o) for o in case.observations), _unexplained(causes),
        _left_out(case, found, parts, posterior), level, turns,
        next_readings(case, [(found[n], parts[n], posterior[n]) for n in order if posterior[n] > PLAYS and parts[n].states]),
        size, seed, needs_single(case), max(part.unsolved for part in parts), rows.nodes[star_point, "N"], rows.weight,
        star_point, positions_told(case, rows), _asked(world, judge, parts, posterior, order), _ceilings(world, judge, parts, causes),
        tuple(fit.words for fit in causes[0].fits if fit.doubtful > NOT_EXPLAINED), turnings(world, judge, parts, maps), looked,
        len(chosen), complete)


def _asked(world, judge, parts, posterior, order):
    """Return the voltages over all causes and under each of the leading ones."""
    used = [n for n in order if parts[n].states is not None and posterior[n] > 1e-4]
    if not used:
        return ()
    loose = {n: world.loose_metalwork(np.full(len(parts[n].values), n), parts[n].values, judge.conditions[0]) for n in used}
    own = [parts[n].states for n in used]
    states = stacked_worlds(own, *(np.concatenate([getattr(s, name) for s in own]) for name in ("sample", "weight")))
    weight = np.concatenate([parts[n].weight * posterior[n] for n in used])
    leading = [n for n in used if posterior[n] > PLAYS][:LEADING]
    return (asked("", states, weight, np.concatenate([*loose.values()])),
            *(asked(world.causes[n].words, parts[n].states, parts[n].weight, loose[n]) for n in leading))


def _ceilings(world, judge, parts, causes):
    """Return how high each reading can be that no cause explains."""
    open_ = _unexplained(causes)
    listed = [(r.words, part) for r, part in zip(world.causes, parts) if part.states is not None]
    return tuple(ceiling(judge.case, words, [(name, part.volts[:, n]) for name, part in listed], highest_supply(world))
                 for n, o in enumerate(judge.observations)
                 if o.is_reading and (words := likelihood.words(judge.case, o)) in open_)


def work(case: Case) -> int:
    """Return the number of runs of samples that `deduce` counts in `tick`; UsageError where there is nothing to weigh."""
    return RUNS * len(_weighable(case))


def _weighable(case):
    """Return the rival causes of `case`; UsageError without an observation or without a cause."""
    if not with_all_observed(case).observations:
        raise UsageError("Nothing was observed: there is nothing to compare. `lostneutral bound` gives the range of "
                         "voltages "
                         "that the unknown loads allow.")
    found = rivals(case)
    if not found:
        raise UsageError("Every cause that is possible in this wiring has weight 0 in [[prior]] — give one of them more.")
    return found


def samples_for_causes(case: Case, samples: int | None = None) -> int:
    """Return how many samples a step are taken where `samples` are asked for (None: the default for such loads)."""
    return samples or (SEVERAL if needs_single(case) else MANY if len(case.loads) > MANY_LOADS else TOGETHER)


def _sampled(world, judge, size, seed, maps, tick):
    """Return the samples of every rival, how many were set aside at a first look, and whether all was done.

    Work goes to what is still open: one small run of every cause, all runs of those that have some support in any
    light. In a large case a first look at a few samples of what was likely before says which are run at all.
    """
    found = world.causes
    large = len(found) * len(judge.case.points) > LARGE
    listed = [n for n, rival in enumerate(found) if rival.kind != "not listed"]
    looks = runs(world, judge, LOOK, seed, [(n, 0) for n in listed], maps, None, True)
    parts = [_not_listed(judge) if rival.kind == "not listed" else weighed_runs([looks[n, 0]]) for n, rival in enumerate(found)]
    kept = _promising(found, looks, listed) if large else listed
    count = max(FEWEST, min(RUNS, size // OF_RUN))
    try:
        first = max(size // count // FIRST, OF_RUN)
        each = RUNS / count * len(found) / max(len(kept), 1)
        one = runs(world, judge, first, seed, [(n, 0) for n in kept], maps, lambda done: tick(done * each))
        for n in kept:
            parts[n] = weighed_runs([one[n, 0]])
        open_ = _open(judge, found, parts, listed)
        each = RUNS * len(found) * (count - 1) / count / max(len(open_) * count, 1)
        wanted = [(n, number) for n in open_ for number in range(1, count + 1)]
        more = runs(world, judge, max(size // count, 8), seed, wanted, maps, lambda done: tick(done * each))
        for n in open_:
            parts[n] = weighed_runs([more[n, number] for number in range(1, count + 1)])
        _more_of_the_poor(world, judge, size, seed, maps, parts)
    except KeyboardInterrupt:
        return parts, len(listed) - len(kept), False
    return parts, len(listed) - len(kept), True


def _promising(found, looks, listed):
    """Return the causes that a first look leaves: the best few, and others that come near the best."""
    light = {n: looks[n, 0][0].guide.max() + log(found[n].prior) for n in listed}
    best = sorted(listed, key=light.get, reverse=True)
    near = sum(light[n] > light[best[0]] + log(HOPELESS) for n in listed)
    return sorted(best[: min(max(near, KEPT), 2 * KEPT)])


def _open(judge, found, parts, listed, least=(HOPELESS, PLAYS)):
    """Return the causes that have some support in any light: `least` by all observations, at most, or with any one of them left out.

    Against each other: that something not listed would fit better is no reason to look less closely at what is listed, for
    a first run can miss by far what a cause gives.
    """
    answers = np.array([[part.evidence, *(part.without(k)[0] for k in range(len(judge.observations)))] for part in parts])
    shares = answers * np.array([[rival.prior] for rival in found])
    of_listed = shares[[part.states is not None for part in parts]].sum(axis=0)
    shares[:, 0] = [part.at_most * rival.prior for part, rival in zip(parts, found)]
    shares /= np.maximum(of_listed, 1e-300)
    counts = (shares[:, 0] > least[0]) | (shares[:, 1:] > least[1]).any(axis=1)
    return [n for n in listed if counts[n]]


def _more_of_the_poor(world, judge, size, seed, maps, parts):
    """Run again, with more samples, the causes that are open and rest on too few, or on runs that differ widely.

    A cause whose runs differ may have been found by one of them only: what it comes to may be wrong by far more than they say.
    """
    found = world.causes
    for round_ in range(1, ROUNDS + 1):
        # the last round takes longest by far: it is for what plays a part by all observations
        least = (HOPELESS, PLAYS) if round_ < ROUNDS else (PLAYS, inf)
        poor = [n for n in _open(judge, found, parts, range(len(found)), least) if parts[n].states is not None
                and (parts[n].effective < SURE * data.load("evidence")["enough"]["value"] or parts[n].error > DIFFERING * parts[n].evidence)]
        if not poor:
            return
        numbers = range(RUNS * round_ + 1, RUNS * round_ + RUNS + 1)
        more = runs(world, judge, max(size // RUNS, OF_RUN // 2) * 4**round_, seed, [(n, k) for n in poor for k in numbers], maps)
        for n in poor:
            parts[n] = weighed_runs([more[n, k] for k in numbers])


def _needed(size):
    """Return the effective samples below which nothing is said of a cause."""
    return min(data.load("evidence")["enough"]["value"], size / 2)


ROUNDS = 2  #: of more samples for causes that rest on too few
SURE = 2  #: times the effective samples below which nothing is said, up to which a cause may have been missed by all its runs
DIFFERING = 0.5  #: relative standard error of a cause's evidence above which its runs differ widely
FIRST = 2  #: the first run of every cause has this many times fewer samples


def _not_listed(judge):
    """Return what stands for the cause that is not listed: how likely the observations are, and no states."""
    whole, without = judge.not_listed()
    blank = np.zeros((0, len(judge.observations)))
    return Sampled(whole, 0.0, np.zeros(0), inf, None, np.zeros((0, 0)), np.zeros((0, len(judge.observations), 1)),
                   blank, blank, np.zeros(0), 0.0, without)


def _refuse(found, parts, posterior, size):
    """Raise NoSolutionError where a rival that matters rests on too few samples."""
    poor = [n for n, part in enumerate(parts) if posterior[n] > PLAYS and part.effective < _needed(size)]
    if poor:
        n = min(poor, key=lambda k: parts[k].effective)
        raise NoSolutionError(
            f"Too few samples agree with the observations for anything to be said: “{found[n].words}” rests on "
            f"{parts[n].effective:.0f} effective samples, and {_needed(size):.0f} are needed. More samples "
            "(--samples) may do; otherwise the case leaves more open than the observations can narrow.")


def _one(judge, rival: Rival, part: Sampled, posterior, n, best, parts):
    share = posterior[n]
    relative = [p.error / p.evidence if p.evidence else 0.0 for p in parts]
    others = sum((posterior[k] * relative[k]) ** 2 for k in range(len(parts)) if k != n)
    error = min(share * hypot((1 - share) * relative[n], others**0.5), max(share, 1 - share))
    fits = tuple(_fit(judge, part, k, o) for k, o in enumerate(judge.case.observations))
    return Weighed(rival.kind, rival.words, rival.at, rival.prior, part.evidence, part.error, part.effective, float(share),
                   float(error), float(best / part.evidence) if part.evidence else inf, fits)


def _fit(judge, part, k, observation):
    words = likelihood.words(judge.case, observation)
    if part.states is None:
        return Fit(words, None, None, None, None, 0.0)
    total = part.genuine[:, k] + part.other[:, k]
    doubtful = float(part.weight @ (part.other[:, k] / np.maximum(total, 1e-300)))
    # What the rival gives by the other observations alone, so that the observation is not measured by itself.
    alone = part.share * np.delete(part.genuine + part.other, k, axis=1).prod(axis=1)
    alone = alone / alone.sum() if alone.any() else part.share
    if not observation.is_reading:
        return Fit(words, None, None, None, float(alone @ (part.genuine[:, k] / judge.trust(observation))), doubtful)
    lead, second = judge.lead(observation, part.volts[:, k], part.weight)
    volts = part.volts[:, k, lead]
    there = np.isfinite(volts)
    if not there.any() or alone[there].sum() < 0.5:
        return Fit(words, None, None, None, None, doubtful)
    return Fit(words, *map(float, percentile(volts[there], alone[there])), None, doubtful, second)


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
        made.append(KindOfCause(kind, called[kind], prior[kind], after[kind], ratio,
                         support(max(ratio, 1 / max(ratio, 1e-300)))))
    return tuple(sorted(made, key=lambda k: -round(k.posterior, EVEN)))


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
            if rival.prior * z / total > PLAYS:
                lowest = min(lowest, effective)
        first = max(kinds, key=kinds.get)
        made.append(LeftOut(likelihood.words(case, observation), first, kinds[first], every[first], lowest))
    return tuple(made)


def _unexplained(weighed):
    """Observations that are doubtful under every rival that could be meant."""
    return tuple(fits[0].words for fits in zip(*(w.fits for w in weighed if w.evidence and w.kind != "not listed"), strict=True)
                 if all(fit.doubtful > NOT_EXPLAINED for fit in fits))


def _known(world, parts, posterior):
    """What the evidence says of switches and of what has a range, over all rivals; and of the joint, if a bad joint matters."""
    made, usual, case = [], np.array([0.05, 0.5, 0.95]), world.case
    used = [(n, part, share) for n, (part, share) in enumerate(zip(parts, posterior)) if part.states is not None and share > 1e-4]
    if not used:
        return ()
    switches = {u.load: u.on for u in case.unknowns if u.on is not None}
    switches |= {name: chance for u in case.unknowns for name, chance in zip(u.one_of, u.chances)}
    at = {load.name: k for k, load in enumerate(case.loads)}
    total = sum(share for *_, share in used)
    for name, before in switches.items():
        after = sum(share * float(part.weight @ part.states.on[:, at[name]]) for _, part, share in used) / total
        made.append(Known(name, (before,), (after,), ""))
    for k, column in enumerate(world.columns):
        if column.key in UNITS:
            values = np.concatenate([drawn(column, part.values[:, k]) for _, part, _ in used])
            weights = np.concatenate([part.weight * share for _, part, share in used])
            values, weights = values[np.isfinite(values)], weights[np.isfinite(values)]
            if not weights.any():
                continue
            made.append(Known(column.name, tuple(map(float, quantity(column.spread, usual))),
                              tuple(map(float, percentile(values, weights / weights.sum()))), UNITS[column.key]))
    for n, part, share in used:
        rival = world.causes[n]
        if rival.own is not None and share > PLAYS:
            name, unit = own_words(rival)
            made.append(Known(f"{name}, if that is the cause", tuple(map(float, quantity(rival.own, usual))),
                              tuple(map(float, percentile(quantity(rival.own, part.values[:, -1]), part.weight))), unit))
    return tuple(made)
