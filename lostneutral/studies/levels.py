"""Recorded voltages as levels between changes, each with what its own correlation leaves of its worth; and their gaps."""

from functools import lru_cache
from math import log, sqrt

import numpy as np

from lostneutral.case.model import Recording
from lostneutral.frozen import dataclass

MOST_LEVELS = 40
SHORTEST = 3  #: values of a level
GAP = 1.6  #: usual distances of two values from which there is a gap between them
MOST_ALIKE = 0.98  #: correlation of neighbouring values that is counted at most
OF_NINE_TENTHS = 0.623  #: of the variance of normal values, what the nine tenths nearest to their mean have


@dataclass(frozen=True)
class Level:
    """A stretch of a recording without a change."""

    start: float  #: s
    end: float
    mean: float  #: V
    error: float  #: V, standard error of the mean, by the values' own correlation
    values: int


@lru_cache(64)
def levels(recording: Recording) -> tuple[Level, ...]:
    """Return the levels of `recording`, in the order of time.

    Split in two where that lowers the squared misfit most, again and again, as long as it gains more than the noise of
    correlated values would. Source: binary segmentation with a penalty of Schwarz's kind, the noise by what a cut leaves or, if
    that is less because further changes are left, by differences of neighbouring values.
    """
    t, v = np.array(recording.times), np.array(recording.volts)
    parts, waiting, everywhere = [], [(0, len(v))] if len(v) else [], noise(v)
    while waiting:
        start, end = waiting.pop()
        cut, gain = _best_cut(v[start:end])
        left = _left(v[start:start + cut], v[start + cut:end]) if cut else 0.0
        if cut and gain > 3 * log(len(v)) * min(left, everywhere) and len(parts) + len(waiting) < MOST_LEVELS:
            waiting += [(start, start + cut), (start + cut, end)]
        else:
            parts.append((start, end))
    return tuple(_level(recording, t[a:b], v[a:b]) for a, b in sorted(parts))


def _best_cut(v):
    """(number of values before the cut that lowers the squared misfit most, by how much); (0, 0) of too few values."""
    n = len(v)
    if n < 2 * SHORTEST:
        return 0, 0.0
    k = np.arange(SHORTEST, n - SHORTEST + 1)
    left = np.cumsum(v)[k - 1]
    gain = left**2 / k + (v.sum() - left) ** 2 / (n - k) - v.sum() ** 2 / n
    return int(k[gain.argmax()]), float(gain.max())


def _left(*parts):
    """Variance of values (V²) around the means of `parts`, raised by what their correlation does to the variance of a mean."""
    rest = np.concatenate([part - part.mean() for part in parts])
    return (rest.var() + 1e-6) * inflation(rest)


def noise(v):
    """The same of values around their levels, however many: from differences of neighbouring values, to which changes add little.

    Of values that forget by a factor r from one to the next these have the variance 2 s² (1 − r), over two values 2 s² (1 − r²).
    """
    if len(v) < 2 * SHORTEST:
        return np.inf
    one, two = (_variance(v[k:] - v[:-k]) for k in (1, 2))
    r = min(max(two / one - 1, 0.0), MOST_ALIKE)
    return one / (2 * (1 - r)) * _raised_by(r)


def _variance(differences):
    """Variance of normal `differences` (V²) without the tenth that is largest, where the level changes."""
    square = np.sort(differences**2)[: max(int(0.9 * len(differences)), 1)]
    return float(square.mean()) / OF_NINE_TENTHS + 1e-6


def inflation(rest):
    """By how much correlation from value to value raises the variance of a mean, no less than 1."""
    spread = float((rest**2).sum())
    return _raised_by(float((rest[1:] * rest[:-1]).sum()) / spread if spread > 0 and len(rest) > 3 else 0.0)


def _raised_by(r):
    r = min(max(r, 0.0), MOST_ALIKE)
    return (1 + r) / (1 - r)


def _level(recording, t, v):
    error = float(v.std(ddof=1) * sqrt(inflation(v - v.mean()) / len(v))) if len(v) > 1 else 0.0
    return Level(float(t[0] - recording.averaging), float(t[-1]), float(v.mean()), error, len(v))


def largest_change(recording: Recording) -> tuple[Level, Level] | None:
    """Return the two levels that last between which its voltages changed most; None where they never did."""
    found = levels(recording)
    return max(zip(found, found[1:]), key=lambda two: abs(two[1].mean - two[0].mean) * sqrt(min(x.values for x in two)), default=None)


def gaps(recording: Recording) -> tuple[tuple[float, float], ...]:
    """Return the stretches (start, end; s) between two values that are farther apart than values of it usually are."""
    t = np.array(recording.times)
    apart = np.diff(t)
    if not len(apart):
        return ()
    return tuple((float(t[k]), float(t[k + 1])) for k in np.flatnonzero(apart > GAP * np.median(apart)))
