"""Samples of each rival's unknowns led from what was likely before to what is likely given the observations."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.evidence.world import States, stacked_worlds

RUNS = 4  #: independent runs; how their answers differ is the sampling error
MOVES, MOVES_SINGLY = 3, 1  #: times that every sample is moved at each step; where loads may settle in several ways
MOST_STEPS = 40


@dataclass(frozen=True, eq=False)
class Sampled:
    """What the samples of one rival come to; arrays over rows (a sample with several settled states has several)."""

    evidence: float  #: probability (density) of the observations under the rival
    error: float  #: its standard error
    weight: np.ndarray  #: of each row given the observations; sums to 1
    effective: float  #: number of independent samples these are worth
    states: States  #: after the break
    values: np.ndarray  #: (rows, unknowns), 0 to 1
    volts: np.ndarray  #: (rows, observations, leads): what the meter of each reading would show, V
    genuine: np.ndarray  #: (rows, observations), as `Judge.likelihoods`
    other: np.ndarray
    share: np.ndarray  #: of each row before anything was seen; sums to 1
    unsolved: float  #: share of what was likely before for which no settled state was found
    left_out: tuple = ()  #: evidence without each observation, where there are no samples to tell it

    def without(self, observation: int):
        """Return (evidence, effective samples) with one observation left out."""
        if self.states is None:
            return self.left_out[observation], np.inf
        kept = np.delete(self.genuine + self.other, observation, axis=1).prod(axis=1)
        part = self.share * kept
        return float(part.sum()), _effective(part, self.states.sample)


def runs(world, judge, size: int, seed: int, wanted, maps, tick=None, prior_only=False) -> dict:
    """Return {(cause, number): steps} of every (cause, number of its run) in `wanted`, all run side by side; for `weighed_runs`.

    `tick(number)` is called as runs, or parts of them, are done.

    First a scrambled Sobol sequence of what was likely before; where that leaves too few effective samples, steps of
    rising weight of the observations, each reached by resampling and Metropolis moves in the unit cube, once by the
    likelihood itself and once by `Judge.guide`. Source: Del Moral, Doucet and Jasra, Sequential Monte Carlo samplers
    (2006). Where loads may settle in several ways a sample's likelihood is the mean over its settled states.
    """
    courses = {key: _run(key[0], len(world.columns), size, (seed, *key[1:]), () if prior_only else PATHS) for key in wanted}
    asked = {key: next(course) for key, course in courses.items()}
    done, told = {}, 0.0
    while asked:
        keys, made = list(asked), {}
        for group in _batches(asked, keys):
            made.update(zip(group, evaluated(world, judge, [asked[key][:3] for key in group], maps)))
        asked = {}
        for key in keys:
            try:
                asked[key] = courses[key].send(made[key])
            except StopIteration as end:
                done[key] = end.value
        if tick:
            now = len(done) + sum(ask[3] for ask in asked.values())
            tick(max(now - told, 0.0))
            told = max(now, told)
    return done


BATCH = 16_384  #: samples evaluated together at most


def _batches(asked, keys):
    group, count = [], 0
    for key in keys:
        if group and count + len(asked[key][1]) > BATCH:
            yield group
            group, count = [], 0
        group.append(key)
        count += len(asked[key][1])
    yield group


AS_BEFORE = (0.0, 0.0)
PATHS = ((1.0, 0.0), (0.0, 1.0))  #: by the likelihood itself, and by the guide to what fits


@dataclass(frozen=True, eq=False)
class _Step:
    values: np.ndarray  #: (samples, unknowns), 0 to 1
    states: States
    volts: np.ndarray  #: (rows, observations, leads)
    genuine: np.ndarray
    other: np.ndarray
    guide: np.ndarray  #: of each row
    powers: tuple[float, float]  #: of likelihood and guide, by which the samples were drawn

    @property
    def size(self):
        """Number of samples."""
        return len(self.values)

    @cached_property
    def likelihood(self):
        """Of each sample: the mean over its settled states."""
        return self._mean((self.genuine + self.other).prod(axis=1))

    @cached_property
    def settled(self):
        """Of each sample: whether a settled state was found."""
        return self._mean(self.states.solved)

    @cached_property
    def logs(self):
        """(2, samples): logarithms of likelihood and guide."""
        with np.errstate(divide="ignore"):
            return np.maximum(np.log([self.likelihood, self._mean(np.exp(np.maximum(self.guide, -600.0)))]), -700.0)

    def _mean(self, of_rows):
        return np.bincount(self.states.sample, self.states.weight * of_rows, self.size)


def evaluated(world, judge, asked, maps):
    """Return a step for each (cause, values, powers) of `asked`, solved together."""
    sizes = [len(values) for _, values, _ in asked]
    cause = np.repeat([number for number, _, _ in asked], sizes)
    values = np.concatenate([v for _, v, _ in asked])
    main, *others = judge.conditions
    found = world.settle(cause, values, main, True, maps)
    states = {main: found}
    for condition in others:
        one = world.settle(cause, values, condition, False)
        states[condition] = one.at(np.searchsorted(one.sample, found.sample))
    volts = judge.volts(states, lambda classes: world.impedance(values, classes)[found.sample])
    genuine, other = judge.likelihoods(volts, states)
    guide = judge.guide(volts, genuine, other, found.solved)
    starts = np.cumsum([0, *sizes])
    edges = np.searchsorted(found.sample, starts)
    made = []
    for k, (_, own, powers) in enumerate(asked):
        rows = np.arange(edges[k], edges[k + 1])
        part = found.at(rows, found.sample[rows] - starts[k])
        made.append(_Step(own, part, volts[rows], genuine[rows], other[rows], guide[rows], powers))
    return made


def _sobol(size, unknowns, seed):
    from scipy.stats import qmc

    sequence = qmc.Sobol(unknowns, rng=np.random.default_rng(seed))
    # The first point is taken by itself: a count that is no power of two is meant, and no cause for a warning.
    head = sequence.random(1)
    return np.concatenate([head, sequence.random(size - 1)]) if size > 1 else head


def _run(cause, unknowns, size, seed, paths=PATHS):
    """Ask for (cause, values, powers, how far the run is), be sent the step, and so on; return the steps of one run: what
    was likely before, and from there one path by each of `paths`."""
    steps = [(yield cause, _sobol(size, unknowns, seed), AS_BEFORE, 0.0)]
    for number, path in enumerate(paths):
        steps += yield from _path(cause, steps[0], path, np.random.default_rng((*seed, 7, number)), number / len(paths))
    return steps


def _path(cause, start, path, random, begun):
    leaves = data.load("evidence")["enough"]["step_leaves"]
    size, power, scale, steps, now = max(start.size // 2, 4), 0.0, 1.0, [], start
    while power < 1 and len(steps) < MOST_STEPS and (likely := np.array(path) @ now.logs).max() > -700:
        was, power = power, _next_power(likely, power, leaves)
        if power == 1 and not steps:
            break  # what was likely before serves as it is
        now = _picked(now, _resampled(_raised(likely, power - was), size, random))
        for _ in range(MOVES_SINGLY if start.states.world.falling.any() else MOVES):
            trial = yield cause, _moved(now.values, scale, random), path, begun + power / len(PATHS)
            taken = np.log(random.random(size)) < power * (np.array(path) @ (trial.logs - now.logs))
            now = _picked(_joined([now, trial]), np.arange(size) + size * taken)
            scale = float(np.clip(scale * (1.4 if taken.mean() > 0.3 else 0.7), 0.02, 2.0))
        steps.append(replace(now, powers=tuple(power * np.array(path))))
    return steps


OF_ROWS = ("volts", "genuine", "other", "guide")


def _joined(steps):
    """Return the samples of `steps` as those of one."""
    starts = np.cumsum([0, *(s.size for s in steps)])
    states = [s.states for s in steps]
    whole = stacked_worlds(states, np.concatenate([s.sample + start for s, start in zip(states, starts)]),
                    np.concatenate([s.weight for s in states]))
    return replace(steps[0], values=np.concatenate([s.values for s in steps]), states=whole,
                   **{name: np.concatenate([getattr(s, name) for s in steps]) for name in OF_ROWS})


def _picked(step, chosen):
    """Return the samples of `step` numbered `chosen`, each as often as it is named, with all their settled states."""
    states = step.states
    count = np.bincount(states.sample, minlength=step.size)[chosen]
    ends = np.cumsum(count)
    rows = np.repeat(np.searchsorted(states.sample, chosen), count) + np.arange(ends[-1]) - np.repeat(ends - count, count)
    taken = states.at(rows, np.repeat(np.arange(len(chosen)), count))
    return replace(step, values=step.values[chosen], states=taken, **{name: getattr(step, name)[rows] for name in OF_ROWS})


def _next_power(likely, power, leaves):
    """Return the largest power up to 1 that leaves that share of the samples effective."""
    low, high = power, 1.0
    if _spread(likely, high - power) >= leaves:
        return 1.0
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if _spread(likely, middle - power) >= leaves else (low, middle)
    return max(low, power + 1e-6)


def _spread(likely, by):
    weight = _raised(likely, by)
    return weight.sum() ** 2 / (weight**2).sum() / len(weight)


def _raised(likely, by):
    return np.exp(by * (likely - likely.max()))


def _resampled(weight, size, random):
    """Systematic resampling of `size`."""
    ends = np.cumsum(weight) / weight.sum()
    return np.minimum(np.searchsorted(ends, (np.arange(size) + random.random()) / size), len(weight) - 1)


MOVED = 4  #: unknowns moved at a time, on average: most have no say in any one case


def _moved(now, scale, random):
    """Return values moved by a step of the samples' own spread, reflected at the ends, in some of the unknowns."""
    unknowns = now.shape[1]
    share = min(1.0, MOVED / unknowns)
    chosen = random.random(now.shape) < share
    step = scale * 2.4 / np.sqrt(share * unknowns) * np.maximum(now.std(axis=0), 1e-3)
    moved = now + np.where(chosen, step * random.standard_normal(now.shape), 0.0)
    moved = np.abs(np.mod(moved + 1, 2) - 1)  # a reflection is its own inverse, so the step stays symmetric
    fresh = random.random(now.shape) < 0.2 / unknowns  # whatever was on or off may change at once
    return np.clip(np.where(fresh, random.random(now.shape), moved), 1e-12, 1 - 1e-12)


def weighed_runs(runs) -> Sampled:
    """Return the samples of all runs (see `runs`), each weighed as if drawn from the mixture of all steps of its run.

    Samples without a settled state (of a circuit that cycles) are left out, as if they fitted as the others do.
    Source: Shirts and Chodera, Statistically optimal analysis of samples from multiple equilibrium states (2008).
    """
    evidences, shares = [], []
    for steps in runs:
        likely = np.concatenate([s.likelihood for s in steps])
        sizes = np.array([s.size for s in steps], float)
        raised = np.concatenate([s.logs for s in steps], axis=1).T @ np.array([s.powers for s in steps]).T
        share = np.exp(-_log_sum(raised - _constants(raised, sizes) + np.log(sizes), 1))
        shares.append(share / share.sum())
        settled = shares[-1] @ np.concatenate([s.settled for s in steps])
        evidences.append(shares[-1] @ likely / settled if settled else 0.0)
    every = _joined([s for steps in runs for s in steps])
    states = every.states
    share = np.concatenate(shares)[states.sample] / len(runs) * states.weight
    unsolved = float(share[~states.solved].sum())
    share = share * states.solved / max(1 - unsolved, 1e-300)
    part = share * (every.genuine + every.other).prod(axis=1)
    total = part.sum()
    effective = _effective(part, states.sample)
    return Sampled(
        float(np.mean(evidences)), _error(evidences, effective, every.size), part / total if total else part, effective,
        states, every.values[states.sample], every.volts, every.genuine, every.other, share, unsolved)


def _error(evidences, effective, size):
    """Return the standard error of the mean of the runs' evidences: from how they differ, of one run by its weights."""
    if len(evidences) > 1:
        return float(np.std(evidences, ddof=1) / np.sqrt(len(evidences)))
    return float(evidences[0] * np.sqrt(max(1 / effective - 1 / size, 0.0))) if 0 < effective < np.inf else 0.0


def _constants(raised, sizes):
    """Return the logarithm of the mean of every step's density over what was likely before; by fixed-point iteration."""
    constants = np.zeros(len(sizes))
    for _ in range(300 if len(sizes) > 1 else 0):
        share = -_log_sum(raised - constants + np.log(sizes), 1)
        share -= _log_sum(share, 0)
        found = _log_sum(raised + share[:, None], 0)
        done = np.abs(found - constants).max() < 1e-9
        constants = found
        if done:
            break
    return constants


def _log_sum(logs, axis):
    """Return the logarithm of the sum of exponentials along `axis`; scipy's, which takes infinities, is four times slower."""
    most = logs.max(axis=axis, keepdims=True)
    return np.squeeze(most, axis) + np.log(np.exp(logs - most).sum(axis=axis))


def _effective(part, sample):
    """Return how many independent samples the weights `part` of rows are worth, rows of one sample taken together."""
    weight = np.bincount(sample, part)
    return float(weight.sum() ** 2 / (weight**2).sum()) if weight.any() else 0.0
