"""Samples of each rival's unknowns led from what was likely before to what is likely given the observations."""

from dataclasses import replace
from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.evidence.world import States, stacked_worlds
from lostneutral.frozen import dataclass

RUNS, FEWEST = 8, 4  #: independent runs, and of few samples; how their answers differ is the sampling error
OF_RUN = 32  #: samples of a run and step, below which there are fewer runs
MOVES, MOVES_SINGLY = 3, 1  #: times that every sample is moved at each step; where loads may settle in several ways
MOST_STEPS = 40
HALVINGS = 24  #: of the range in which the next power is looked for
MOST_SKEWED = 50.0  #: standard error of a logarithm from which it is as good as without end
BATCH = 16_384  #: samples evaluated together at most
AS_BEFORE = (0.0, 0.0)


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

    @property
    def at_most(self):
        """Evidence if as many samples as may well have been missed fit as well as the best: three, of as many as there were."""
        if self.states is None:
            return self.evidence
        return self.evidence + 3 / (self.states.sample.max() + 1) * float((self.genuine + self.other).prod(axis=1).max())

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

    First a Latin hypercube of what was likely before; where that leaves too few effective samples, steps of
    rising weight of the observations, each reached by resampling and Metropolis moves in the unit cube, once by the
    likelihood itself and once by `Judge.guide`. Source: Del Moral, Doucet and Jasra, Sequential Monte Carlo samplers
    (2006). Where loads may settle in several ways a sample's likelihood is the mean over its settled states.
    """
    wanted = list(wanted)
    if not wanted:
        return {}
    cause, number = np.array(wanted).T
    chance = _Chance(seed, number)
    values = chance.spread_out(size, len(world.columns))
    start = evaluated(world, judge, np.repeat(cause, size), values.reshape(-1, values.shape[-1]), maps)
    steps = [[start.part(k * size, (k + 1) * size)] for k in range(len(wanted))]
    if not prior_only:
        of = np.repeat(np.arange(len(wanted)), len(PATHS))
        for lane, step in _led(world, judge, start, size, cause, of, chance, maps, tick or (lambda done: None)):
            steps[of[lane]].append(step)
    return dict(zip(wanted, steps))


PATHS = ((1.0, 0.0), (0.0, 1.0))  #: by the likelihood itself, and by the guide to what fits
OF_ROWS = ("volts", "genuine", "other", "guide")


@dataclass(frozen=True, eq=False)
class _Step:
    values: np.ndarray  #: (samples, unknowns), 0 to 1
    states: States
    volts: np.ndarray  #: (rows, observations, leads)
    genuine: np.ndarray
    other: np.ndarray
    guide: np.ndarray  #: of each row
    powers: tuple[float, float] = AS_BEFORE  #: of likelihood and guide, by which the samples were drawn

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

    def part(self, first, end, powers=AS_BEFORE):
        """Return the samples numbered from `first` up to `end`, as drawn by `powers`."""
        rows = slice(*np.searchsorted(self.states.sample, (first, end)))
        return _Step(self.values[first:end], self.states.at(rows, self.states.sample[rows] - first),
                     *(getattr(self, name)[rows] for name in OF_ROWS), powers)

    def _mean(self, of_rows):
        return np.bincount(self.states.sample, self.states.weight * of_rows, self.size)


def evaluated(world, judge, cause, values, maps):
    """Return the samples `values` (samples, unknowns; 0 to 1) of the causes numbered `cause` (samples,), solved together."""
    pieces = [slice(at, at + BATCH) for at in range(0, len(values), BATCH)]
    return joined([_evaluated(world, judge, cause[piece], values[piece], maps) for piece in pieces])


def _evaluated(world, judge, cause, values, maps):
    found, states, volts = met_by(world, judge, cause, values, maps)
    genuine, other = judge.likelihoods(volts, states)
    return _Step(values, found, volts, genuine, other, judge.guide(volts, genuine, other, found.solved))


def met_by(world, judge, cause, values, maps):
    """Return (states after the fault, {condition: states}, V that each reading shows) of samples `values` of the causes `cause`."""
    main, *others = judge.conditions
    found = world.settle(cause, values, main, True, maps)
    states = {main: found}
    for condition in others:
        one = world.settle(cause, values, condition, False)
        states[condition] = one.at(np.searchsorted(one.sample, found.sample))
    return found, states, judge.volts(states, lambda classes: world.impedance(values, classes)[found.sample])


class _Chance:
    """Random numbers by the number of a run and the path that leads it, whatever the cause: causes that do the same share alike."""

    def __init__(self, seed, number):
        self.numbers, self.at = np.unique(number, return_inverse=True)
        self.first = [np.random.default_rng((seed, n)) for n in self.numbers.tolist()]
        self.led = [np.random.default_rng((seed, n, 7, k)) for n in self.numbers.tolist() for k in range(len(PATHS))]
        self.of_lane = (self.at[:, None] * len(PATHS) + np.arange(len(PATHS))).ravel()

    def spread_out(self, size, unknowns):
        """Return (runs, size, unknowns), 0 to 1: a Latin hypercube each, in each unknown one sample in each of `size` parts.

        Source: McKay, Beckman and Conover, A comparison of three methods for selecting values of input variables (1979).
        """
        cells = np.broadcast_to(np.arange(size)[:, None], (size, unknowns))
        made = [(random.permuted(cells, axis=0) + random.random(cells.shape)) / size for random in self.first]
        return np.clip(made, 1e-12, 1 - 1e-12)[self.at]

    def of(self, lanes, *shape, law="random"):
        """Return (lanes, *shape) numbers between 0 and 1 for each of `lanes`, or of the `law` named."""
        used, at = np.unique(self.of_lane[lanes], return_inverse=True)
        return np.stack([getattr(self.led[k], law)(shape) for k in used])[at]


def _led(world, judge, start, size, cause, of, chance, maps, tick):
    """Yield (lane, step) of steps of rising power; a lane is one run led by one path.

    `cause` (runs,) numbers the cause, `of` (lanes,) the run, whose samples before anything was seen are those of `start`,
    `size` a run. All lanes go side by side, so that what is solved is solved for all of them at once.
    """
    cause, path = cause[of], np.tile(PATHS, (len(of) // len(PATHS), 1))
    leaves = data.load("evidence")["enough"]["step_leaves"]
    moves = MOVES_SINGLY if world.falling.any() else MOVES
    half, lanes = max(size // 2, 4), np.arange(len(cause))
    power, scale = np.zeros(len(lanes)), np.ones(len(lanes))
    likely = np.einsum("lp,pls->ls", path, start.logs.reshape(2, -1, size)[:, of])
    now, first, told = start, of * size, 0.0
    for number in range(MOST_STEPS):
        following = _next_power(likely, power, leaves)
        # of the first step: what was likely before serves as it is
        on = (likely.max(axis=1) > -700) & ((following < 1) | (number > 0)) & (power < 1)
        now_done = float(len(cause) - on.sum() + power[on].sum()) / len(PATHS)
        tick(max(now_done - told, 0.0))
        told = now_done
        lanes, power, following, scale, likely, first = (a[on] for a in (lanes, power, following, scale, likely, first))
        if not len(lanes):
            return
        chosen = resampled(_raised(likely, (following - power)[:, None]), half, chance.of(lanes, 1))
        now, power = _picked(now, (first[:, None] + chosen).ravel()), following
        own, by, first = np.repeat(cause[lanes], half), path[lanes], np.arange(len(lanes)) * half
        for _ in range(moves):
            values = _moved(now.values.reshape(len(lanes), half, -1), scale, chance, lanes)
            trial = evaluated(world, judge, own, values.reshape(len(own), -1), maps)
            gained = np.einsum("lp,pls->ls", by, (trial.logs - now.logs).reshape(2, len(lanes), half))
            taken = np.log(chance.of(lanes, half)) < power[:, None] * gained
            now = _picked(joined([now, trial]), np.arange(len(own)) + len(own) * taken.ravel())
            scale = np.clip(scale * np.where(taken.mean(axis=1) > 0.3, 1.4, 0.7), 0.02, 2.0)
        likely = np.einsum("lp,pls->ls", by, now.logs.reshape(2, len(lanes), half))
        for k, lane in enumerate(lanes):
            yield lane, now.part(k * half, (k + 1) * half, tuple(power[k] * path[lane]))


def joined(steps):
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
    """Return the largest power up to 1 of each lane (rows of `likely`) that leaves that share of its samples effective."""
    low, high = power.copy(), np.ones(len(power))
    whole = _spread(likely, high - power) >= leaves
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        enough = _spread(likely, middle - power) >= leaves
        low, high = np.where(enough, middle, low), np.where(enough, high, middle)
    return np.where(whole, 1.0, np.maximum(low, power + 1e-6))


def _spread(likely, by):
    weight = _raised(likely, by[:, None])
    return weight.sum(axis=1) ** 2 / (weight**2).sum(axis=1) / likely.shape[1]


def _raised(likely, by):
    return np.exp(by * (likely - likely.max(axis=1, keepdims=True)))


def resampled(weight, size, offset):
    """Systematic resampling of `size` in every row of `weight`, begun at `offset` (rows, 1), 0 to 1."""
    ends = np.cumsum(weight, axis=1)
    places = (np.arange(size) + offset) / size * ends[:, -1:]
    return np.minimum([np.searchsorted(*pair) for pair in zip(ends, places)], weight.shape[1] - 1)


MOVED = 10  #: unknowns moved at a time, on average: most have no say in any one case


def _moved(now, scale, chance, lanes):
    """Return values (lanes, samples, unknowns) moved by a step of their lane's own spread, reflected at the ends, in some of
    the unknowns."""
    shape = now.shape[1:]
    share = min(1.0, MOVED / shape[1])
    step = scale[:, None, None] * 2.4 / np.sqrt(share * shape[1]) * np.maximum(now.std(axis=1, keepdims=True), 1e-3)
    moved = now + np.where(chance.of(lanes, *shape) < share, step * chance.of(lanes, *shape, law="standard_normal"), 0.0)
    moved = np.abs(np.mod(moved + 1, 2) - 1)  # a reflection is its own inverse, so the step stays symmetric
    fresh = chance.of(lanes, *shape) < 0.2 / shape[1]  # whatever was on or off may change at once
    return np.clip(np.where(fresh, chance.of(lanes, *shape), moved), 1e-12, 1 - 1e-12)


def weighed_runs(runs) -> Sampled:
    """Return the samples of all runs (see `runs`), each weighed as if drawn from the mixture of all steps of its path.

    The paths of a run are weighed apart and count by what each found: one that came to rest away from a narrow peak would deny what the
    other found there.
    Samples without a settled state (of a circuit that cycles) are left out, as if they fitted as the others do.
    Source: Shirts and Chodera, Statistically optimal analysis of samples from multiple equilibrium states (2008).
    """
    evidences, shares = [], []
    for steps in runs:
        likely = np.concatenate([s.likelihood for s in steps])
        of_paths = np.array([_path_shares(steps, path) for path in range(len(PATHS))])
        found = of_paths @ likely
        shares.append(np.average(of_paths, axis=0, weights=found if found.any() else None))
        settled = shares[-1] @ np.concatenate([s.settled for s in steps])
        evidences.append(shares[-1] @ likely / settled if settled else 0.0)
    every = joined([s for steps in runs for s in steps])
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
    """Return the standard error of the mean of the runs' evidences: from how they differ, of one run by its weights.

    Where a peak is narrow most runs miss most of it: they differ by factors, and the mean of a few lies far too low with a spread
    that is as much too small. So no less than that of the mean of a log-normal law. Source: Zhou and Gao, Confidence intervals for
    the log-normal mean (1997), Cox's method.
    """
    count, mean = len(evidences), float(np.mean(evidences))
    if count > 1:
        square = float(np.var(np.log(np.maximum(evidences, 1e-300)), ddof=1))
        skewed = np.sqrt(square / count + square**2 / 2 / (count - 1))
        return max(float(np.std(evidences, ddof=1) / np.sqrt(count)), mean * float(np.expm1(min(skewed, MOST_SKEWED))))
    return float(evidences[0] * np.sqrt(max(1 / effective - 1 / size, 0.0))) if 0 < effective < np.inf else 0.0


def _path_shares(steps, path):
    """Return the shares of all samples of `steps` by the steps of one path and what was likely before; 0 of the other path's."""
    own = [s.powers == AS_BEFORE or s.powers[path] > 0 for s in steps]
    used = [s for s, is_own in zip(steps, own) if is_own]
    raised = np.concatenate([s.logs for s in used], axis=1).T @ np.array([s.powers for s in used]).T
    made = np.zeros(sum(s.size for s in steps))
    made[np.repeat(own, [s.size for s in steps])] = _shares(raised, np.array([s.size for s in used], float))
    return made


def _shares(raised, sizes):
    """Return each sample's share of what was likely before, as if drawn from the mixture of all steps of its run.

    By fixed-point iteration for the mean density of every step, and by Newton's method on the same equations once that is nearer;
    the first step is what was likely before. Densities are taken to the largest of their step, so that none overflows.
    """
    largest = raised.max(axis=0)
    density, constants = np.exp(raised - largest), -largest
    for _ in range(300 if len(sizes) > 1 else 1):
        weight = sizes * np.exp(-constants)
        share = 1 / (density @ weight)
        if len(sizes) == 1:
            break
        belongs = density * (share[:, None] * weight)
        number = belongs.sum(axis=0)
        found = np.log(np.maximum(number, 1e-300) / weight / share.sum())
        slope = np.diag(number) - belongs.T @ belongs
        step = np.linalg.lstsq(slope[1:, 1:], (number - sizes)[1:], rcond=None)[0]
        change = np.abs(found - constants).max()
        constants = np.append(constants[0], constants[1:] + step) if np.abs(step).max() < 1.0 else found
        if change < 1e-9:
            break
    return share / share.sum()


def _effective(part, sample):
    """Return how many independent samples the weights `part` of rows are worth, rows of one sample taken together."""
    weight = np.bincount(sample, part)
    return float(weight.sum() ** 2 / (weight**2).sum()) if weight.any() else 0.0
