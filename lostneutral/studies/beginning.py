"""When what was recorded changed, over all recordings together: in one step or slowly, and between which times that lies."""

from bisect import bisect_right
from dataclasses import replace
from functools import lru_cache
from math import log

import numpy as np

from lostneutral.case.model import Case, Recording
from lostneutral.case.seen import Logged
from lostneutral.frozen import dataclass
from lostneutral.studies.levels import SHORTEST, inflation, noise

STEPS, RAMPS, BINS = 4000, 60, 240  #: times tried for a step, times tried for both ends of a slow change, values it is held against
QUARTERS = np.arange(4) / 4  #: of the time between two values, at which a step is tried
ENOUGH = 4  #: recordings from which on it shows what all of them do alike
STRETCHES = 8  #: into which values are cut at least, to see by how much their means vary
GAIN = 3.0  #: times the logarithm of the number of values: what a change, or the better of two shapes of it, has to gain at least


@dataclass(frozen=True)
class Beginning:
    """When voltages began to change and when they were done, s; equal where they may have changed in one step."""

    start: float
    end: float
    earliest: float | None  #: the start lies after this; None where what was recorded does not say
    latest: float  #: and before this
    longest: float | None  #: the change took no longer than this, s; None where what was recorded does not say
    slowly_since: float | None = None  #: s, at the latest, of a slow change that was still going on when a step came

    @property
    def slow(self) -> bool:
        """Whether one step does not explain what was recorded."""
        return self.end > self.start


def recorded_beginning(case: Case) -> Beginning | None:
    """Return when what was recorded of the incident changed; None where it never did.

    By the voltages. An event that a sound supply does not give shows that the change has begun, within what the voltages leave
    open; without voltages it is all that is known.
    """
    during = tuple(r for r in case.recordings if not r.fitted_after)
    found = common_change(during)
    logs = [(when, 2 * r.clock_deviation) for r in during if (when := _densest(case, r)) is not None]
    if found is None:
        return min((Beginning(when, when, None, when + spread, None) for when, spread in logs), key=lambda b: b.start, default=None)
    for when, spread in logs:
        if found.earliest <= when <= found.latest and not found.slow:
            start = min(found.start, when)
            found = replace(found, start=start, end=start, latest=min(found.latest, when + spread))
    if found.slow:
        return found
    before = tuple(_until(r, found.earliest) for r in during)
    earlier = common_change(before)
    goes_on = earlier is not None and earlier.slow and earlier.end >= max(r.times[-1] for r in before if r.times)
    return replace(found, slowly_since=earlier.latest) if goes_on else found


def _until(recording, time):
    kept = bisect_right(recording.times, time)
    return replace(recording, times=recording.times[:kept], volts=recording.volts[:kept], events=())


def unusual(case: Case, event: Logged) -> bool:
    """Return whether a supply with the nominal voltage and a sound neutral does not give an event."""
    lines = len(set(event.between) & set(case.supply.lines))
    usual = (0.0, case.supply.nominal, case.supply.nominal_line_to_line)[lines]
    return event.bound == "more than" and event.voltage > usual or event.bound == "up to" and event.voltage < usual


def _densest(case, recording):
    """From when on (s) events that a sound supply does not give come most densely, by the likeliest two rates; None without any."""
    times = np.array([e.time for e in recording.events if unusual(case, e)])
    if not len(times):
        return None
    begin, end = recording.span
    n, k = len(times), np.arange(len(times))
    least = max((end - begin) / n, 1e-9)
    before, after = k / np.maximum(times - begin, least), (n - k) / np.maximum(end - times, least)
    likely = k * np.log(np.maximum(before, 1e-30)) + (n - k) * np.log(after)
    return float(times[np.argmax(np.where(after > before, likely, -np.inf))])


@lru_cache(16)
def common_change(recordings: tuple[Recording, ...]) -> Beginning | None:
    """Return when the voltages of `recordings` changed, each by an amount of its own; None where they never did.

    Held against each other: a step at any time, and a steady change between any two times. What they leave of the squares counts
    in units of the noise about the best of them, raised by its correlation; shapes that come within `GAIN` of the best are not ruled out.
    """
    kept = [r for r in recordings if len(r.volts) >= 2 * SHORTEST]
    if not kept:
        return None
    parts = _without_what_all_have([(np.array(r.times), np.array(r.volts), r.averaging) for r in kept])
    apart = [float(np.median(np.diff(r.times))) for r in kept]
    times = np.unique(np.concatenate([t for t, *_ in parts]))
    least = [noise(v) for _, v, _ in parts]
    steps = _tried(parts, times, least)
    edges = _thinned(times, RAMPS)
    a, b = (edges[k] for k in np.triu_indices(len(edges), 1))
    of_steps, of_ramps = zip(*((_of_steps(*part, steps), _of_ramps(*part, a, b)) for part in parts))
    for _ in range(2):  # the noise is that about the best shape, which is first looked for by that of neighbouring values
        step, ramp = (sum(gain / s for gain, s in zip(each, least)) for each in (of_steps, of_ramps))
        m, n = step.argmax(), ramp.argmax()
        ends = (a[n], b[n]) if ramp[n] > step[m] else (steps[m], steps[m])
        rests = [_rest(*part, *ends) for part in parts]
        least = _noise_of([t for t, *_ in parts], rests)
    enough = GAIN * log(sum(len(r.volts) for r in kept))
    best = max(step[m], ramp[n])
    if best < enough:
        return None
    steps_left, ramps_left = step > best - enough, ramp > best - enough
    spread = 2 * max(r.clock_deviation for r in kept)
    one_step = 2 * max(max(r.averaging, d) for r, d in zip(kept, apart)) + 2 * spread  # no recording tells less than this from a step
    slow = not steps_left.any() and (b - a)[ramps_left].min() > one_step
    alike = steps[step >= step[m] * (1 - 1e-9)].mean()  # of a step between two values any time between them is as good
    start, end = (a[n], b[n]) if slow else (alike, alike)
    starts = np.concatenate([[start], a[ramps_left] if slow else steps[steps_left]])
    slack = spread + min(max(d / 4, r.averaging - d) for r, d in zip(kept, apart))
    longest = max((b - a)[ramps_left], default=0.0)
    return Beginning(float(start), float(end), float(starts.min() - slack), float(starts.max() + slack), float(max(longest, one_step)))


def _without_what_all_have(parts):
    """Recordings without what most of them do alike, as the network's voltage rises and falls; where there are enough to tell."""
    if len(parts) < ENOUGH:
        return parts
    alike = lambda at: np.nanmedian([np.interp(at, t, v - np.median(v), np.nan, np.nan) for t, v, _ in parts], axis=0)
    return [(t, v - alike(t), averaging) for t, v, averaging in parts]


def _tried(parts, times, least):
    """Times (s) at which a step is tried: over all of the recordings, and every one about the best of these."""
    every = (times[:-1, None] + np.diff(times)[:, None] * QUARTERS).ravel()
    coarse = _thinned(every, STEPS)
    m = int(sum(_of_steps(*part, coarse) / s for part, s in zip(parts, least)).argmax())
    near = every[(every >= coarse[max(m - 1, 0)]) & (every <= coarse[min(m + 1, len(coarse) - 1)])]
    return np.union1d(coarse, _thinned(near, STEPS))


def _thinned(times, most):
    return times[np.unique(np.linspace(0, len(times) - 1, min(most, len(times))).round().astype(int))]


def _of_steps(t, v, averaging, at):
    """By how much steps at the times `at` lower the sum of squares, V²; the mean in which one falls has part of it."""
    n, k, v = len(v), np.searchsorted(t, at).clip(max=len(v) - 1), v - v.mean()
    part = np.clip((t[k] - at) / max(averaging, 1e-9), 0.0, 1.0)
    full = n - k - 1
    right = (v.sum() - np.cumsum(v))[k] + part * v[k]
    inside = (k >= SHORTEST) & (n - k >= SHORTEST)
    return np.where(inside, right**2 / np.maximum(full + part**2 - (full + part) ** 2 / n, 1e-9), 0.0)


def _of_ramps(t, v, averaging, a, b):
    """By how much steady changes from `a` to `b` lower the sum of squares, V²."""
    cut = np.linspace(0, len(v), min(BINS, len(v)) + 1).round().astype(int)
    many = np.diff(cut)
    t, v = (np.add.reduceat(x, cut[:-1]) / many for x in (t - averaging / 2, v - v.mean()))
    done = _done(t, a[:, None], b[:, None])
    inside = (many * (done > 0)).sum(axis=1).clip(max=(many * (done < 1)).sum(axis=1)) >= SHORTEST
    done = done - (done @ many)[:, None] / many.sum()
    return np.where(inside, (done @ (many * v)) ** 2 / np.maximum(done**2 @ many, 1e-9), 0.0)


def _done(t, a, b):
    """How much of a change from `a` to `b` is done at `t`, 0 to 1."""
    return np.clip((t - a) / np.maximum(b - a, 1e-9), 0.0, 1.0)


def _rest(t, v, averaging, a, b):
    """Values (V) about a change from `a` to `b`."""
    done = _done(t - averaging / 2, a, b) if b > a else np.clip((t - a) / max(averaging, 1e-9), 0.0, 1.0)
    off, rest = done - done.mean(), v - v.mean()
    return rest - off * (off @ rest) / max(off @ off, 1e-9)


def _noise_of(times, rests):
    """Variance (V²) of what is left of each recording, raised by its correlation in time and by what the recordings have in common.

    Correlation in time as it shows in the variance of means over stretches of any length (a day's rise and fall of the network above
    all), in common as in that of the sum of all.
    """
    raised = [max([inflation(rest), *(_of_means(rest, 2**k) for k in range(1, int(np.log2(len(rest) / STRETCHES)) + 1))]) for rest in rests]
    grid = np.linspace(max(t[0] for t in times), min(t[-1] for t in times), BINS)
    together = sum(np.interp(grid, t, rest / (rest.std() + 1e-6)) for t, rest in zip(times, rests))
    common = max(float((together**2).mean()) / len(rests), 1.0)
    return [(rest.var() + 1e-6) * factor * common for rest, factor in zip(rests, raised)]


def _of_means(rest, size):
    """By how much the variance of means over `size` values is raised against that of independent ones."""
    means = rest[: len(rest) // size * size].reshape(-1, size).mean(axis=1)
    return size * float(means.var()) / (float(rest.var()) + 1e-12)
