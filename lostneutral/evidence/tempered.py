"""Samples of one rival's unknowns led from what was likely before to what is likely given the observations."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.evidence.sampling import Draw, Solved, columns, draw, needs_single, solve, stacked

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
    states: Solved  #: after the break
    values: np.ndarray  #: (rows, unknowns), 0 to 1
    volts: np.ndarray  #: (rows, observations): what stands where each reading was taken, V
    genuine: np.ndarray  #: (rows, observations), as `Judge.likelihoods`
    other: np.ndarray
    share: np.ndarray  #: of each row before anything was seen; sums to 1
    unsolved: float  #: share of what was likely before for which no settled state was found

    def without(self, observation: int):
        """Return (evidence, effective samples) with one observation left out."""
        kept = np.delete(self.genuine + self.other, observation, axis=1).prod(axis=1)
        part = self.share * kept
        return float(part.sum()), _effective(part, self.states.sample)


def run(rival, judge, size: int, seed: int, number: int = 0) -> list:
    """Return the steps of run `number` of `RUNS`, with `size` samples a step in all runs together; for `weighed`.

    First a scrambled Sobol sequence of what was likely before; where that leaves too few effective samples, steps of
    rising weight of the observations, each reached by resampling and Metropolis moves in the unit cube, once by the
    likelihood itself and once by `Judge.guide`. Source: Del Moral, Doucet and Jasra, Sequential Monte Carlo samplers
    (2006). Where loads may settle in several ways a sample's likelihood is the mean over its settled states.
    """
    if not columns(rival.case):
        return [_step(rival, judge, Draw(rival.case, 1, seed, (), np.zeros((1, 0))), AS_BEFORE)]
    return _run(rival, judge, max(size // RUNS, 8), (seed, number))


def look(rival, judge, size: int, seed: int) -> list:
    """Return one run of `size` samples of what was likely before, and no more; for `weighed`."""
    return _run(rival, judge, size, (seed, 0), ()) if columns(rival.case) else run(rival, judge, size, seed)


AS_BEFORE = (0.0, 0.0)
PATHS = ((1.0, 0.0), (0.0, 1.0))  #: by the likelihood itself, and by the guide to what fits


@dataclass(frozen=True, eq=False)
class _Step:
    draw: Draw
    states: Solved
    volts: np.ndarray
    genuine: np.ndarray
    other: np.ndarray
    guide: np.ndarray  #: of each row
    powers: tuple[float, float]  #: of likelihood and guide, by which the samples were drawn

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
        return np.bincount(self.states.sample, self.states.weight * self.draw.size * of_rows, self.draw.size)


def _step(rival, judge, drawn, powers):
    states = solve(drawn)
    healthy = None
    if judge.looks_back:
        healthy = _at_rows(solve(_before(rival, drawn)), states)
    volts = judge.volts(states, healthy, _with_instruments(judge, drawn))
    genuine, other = judge.likelihoods(volts, states, healthy)
    return _Step(drawn, states, volts, genuine, other, judge.guide(volts, states, healthy), powers)


def _with_instruments(judge, drawn):
    """Return for each reading of `Judge.drawing` the states with its instrument connected.

    None where loads may settle in several ways: which state the instrument would leave standing is then not known.
    """
    if needs_single(drawn.case):
        return None
    return {n: solve(replace(drawn, case=replace(drawn.case, loads=(*drawn.case.loads, meter))))
            for n, meter in judge.drawing.items()}


def _before(rival, drawn):
    """Return the draw of the same loads in the sound installation."""
    case = replace(rival.before, breaks=(), crosses=())
    return replace(drawn, case=case, values=drawn.values[:, : len(columns(case))])


def _at_rows(healthy, states):
    """Return the first row of each sample of `healthy` for every row of `states`."""
    first = np.searchsorted(healthy.sample, states.sample)
    return healthy.at(first, states.sample, states.weight)


def _run(rival, judge, size, seed, paths=PATHS):
    """Return the steps of one run: what was likely before, and from there one path by each of `paths`."""
    steps = [_step(rival, judge, draw(rival.case, size, seed), AS_BEFORE)]
    for number, path in enumerate(paths):
        steps += _path(rival, judge, steps[0], path, np.random.default_rng((*seed, 7, number)))
    return steps


def _path(rival, judge, start, path, random):
    leaves = data.load("evidence")["enough"]["step_leaves"]
    size, power, scale, steps, now = max(start.draw.size // 2, 4), 0.0, 1.0, [], start
    while power < 1 and len(steps) < MOST_STEPS and (likely := np.array(path) @ now.logs).max() > -700:
        was, power = power, _next_power(likely, power, leaves)
        if power == 1 and not steps:
            break  # what was likely before serves as it is
        now = _picked(now, _resampled(_raised(likely, power - was), size, random))
        for _ in range(MOVES_SINGLY if needs_single(rival.case) else MOVES):
            trial = _step(rival, judge, replace(now.draw, values=_moved(now.draw.values, scale, random)), path)
            taken = np.log(random.random(size)) < power * (np.array(path) @ (trial.logs - now.logs))
            now = _picked(_joined([now, trial]), np.arange(size) + size * taken)
            scale = float(np.clip(scale * (1.4 if taken.mean() > 0.3 else 0.7), 0.02, 2.0))
        steps.append(replace(now, powers=tuple(power * np.array(path))))
    return steps


OF_ROWS = ("volts", "genuine", "other", "guide")


def _joined(steps):
    """Return the samples of `steps` as those of one."""
    starts = np.cumsum([0, *(s.draw.size for s in steps)])
    states = [s.states for s in steps]
    whole = stacked(states, np.concatenate([s.sample + start for s, start in zip(states, starts)]),
                    np.concatenate([s.weight * step.draw.size for s, step in zip(states, steps)]) / starts[-1])
    drawn = replace(steps[0].draw, size=int(starts[-1]), values=np.concatenate([s.draw.values for s in steps]))
    return replace(steps[0], draw=drawn, states=whole,
                   **{name: np.concatenate([getattr(s, name) for s in steps]) for name in OF_ROWS})


def _picked(step, chosen):
    """Return the samples of `step` numbered `chosen`, each as often as it is named, with all their settled states."""
    states = step.states
    count = np.bincount(states.sample, minlength=step.draw.size)[chosen]
    ends = np.cumsum(count)
    rows = np.repeat(np.searchsorted(states.sample, chosen), count) + np.arange(ends[-1]) - np.repeat(ends - count, count)
    taken = states.at(rows, np.repeat(np.arange(len(chosen)), count), 1 / np.repeat(count, count) / len(chosen))
    return replace(step, draw=step.draw.part(chosen), states=taken, **{name: getattr(step, name)[rows] for name in OF_ROWS})


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


def _moved(now, scale, random):
    """Return values moved by a step of the samples' own spread, reflected at the ends, in some of the unknowns."""
    unknowns = now.shape[1]
    step = scale * 2.4 / np.sqrt(unknowns) * np.maximum(now.std(axis=0), 1e-3)
    moved = now + step * random.standard_normal(now.shape)
    moved = np.abs(np.mod(moved + 1, 2) - 1)  # a reflection is its own inverse, so the step stays symmetric
    fresh = random.random(now.shape) < 0.2 / unknowns  # whatever was on or off may change at once
    return np.clip(np.where(fresh, random.random(now.shape), moved), 1e-12, 1 - 1e-12)


def weighed(runs) -> Sampled:
    """Return the samples of all runs (see `run`), each weighed as if drawn from the mixture of all steps of its run.

    Samples without a settled state (of a circuit that cycles) are left out, as if they fitted as the others do.
    Source: Shirts and Chodera, Statistically optimal analysis of samples from multiple equilibrium states (2008).
    """
    evidences, shares = [], []
    for steps in runs:
        likely = np.concatenate([s.likelihood for s in steps])
        sizes = np.array([s.draw.size for s in steps], float)
        raised = np.concatenate([s.logs for s in steps], axis=1).T @ np.array([s.powers for s in steps]).T
        share = np.exp(-_log_sum(raised - _constants(raised, sizes) + np.log(sizes), 1))
        shares.append(share / share.sum())
        settled = shares[-1] @ np.concatenate([s.settled for s in steps])
        evidences.append(shares[-1] @ likely / settled if settled else 0.0)
    every = _joined([s for steps in runs for s in steps])
    states = every.states
    share = np.concatenate(shares)[states.sample] / len(runs) * states.weight * every.draw.size
    unsolved = float(share[~states.solved].sum())
    share = share * states.solved / max(1 - unsolved, 1e-300)
    part = share * (every.genuine + every.other).prod(axis=1)
    total = part.sum()
    effective = _effective(part, states.sample) if every.draw.values.shape[1] else np.inf
    return Sampled(
        float(np.mean(evidences)), _error(evidences, effective, every.draw.size), part / total if total else part, effective,
        states, every.draw.values[states.sample], every.volts, every.genuine, every.other, share, unsolved)


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
