"""From weighted samples to what is printed of them: percentiles, chances, and the sampling error of each."""

import numpy as np

from lostneutral.consequences.limits import Yardstick
from lostneutral.frozen import dataclass

SHARES = (0.05, 0.5, 0.95)
NONE_SEEN = 3.0  #: none among n samples: at 95 % confidence the chance is below 3 / n (−ln 0.05, rounded up)


@dataclass(frozen=True)
class Chance:
    """How likely something is, with the standard error of sampling."""

    words: str  #: "above the supply band", "fails in hours" …
    share: float
    error: float
    limit: Yardstick | None = None


@dataclass(frozen=True)
class Span:
    """What one voltage may be, in V: of a line to the neutral at a point, or across a load while that is on."""

    name: str  #: of the point, or of the load
    line: str  #: "L1" …; "" for a load
    low: float | None  #: V, 5 % of the samples lie below; None if nothing ties it down in any sample
    middle: float | None
    high: float | None  #: V, 95 % lie below
    errors: tuple[float, ...]  #: V, standard errors of the three
    least: float | None  #: V, in any sample
    most: float | None
    there: float  #: share of samples in which it is tied down, of a load: in which that is on
    chances: tuple[Chance, ...] = ()
    outcomes: tuple[Chance, ...] = ()  #: what a load that is on comes to


def percentile(values, weight, shares=SHARES):
    """Return the least values (V) below which, or at which, lie at least `shares` of the weight; nan if there is none."""
    order = np.argsort(values)
    ahead = np.cumsum(weight[order])
    if not len(ahead) or ahead[-1] == 0:
        return np.full(len(shares), np.nan)
    at = np.searchsorted(ahead, np.array(shares) * ahead[-1] * (1 - 1e-12))
    return values[order][np.minimum(at, len(values) - 1)]


def made_span(name, line, values, weight, scrambling, counts, tests=(), outcomes=None) -> Span:
    """Return the `Span` of `values` (V, array over rows) where `counts` (bool) holds and they are tied down.

    `scrambling` numbers the independent sequences that the rows come from: the spread of their answers is the sampling
    error. `tests` are (words, limit, bool array) of what is to be weighed; `outcomes` an array of words.
    """
    rows = counts & np.isfinite(values)
    if not rows.any():
        return Span(name, line, None, None, None, (), None, None, 0.0)
    total, there = weight.sum(), float(weight[rows].sum() / weight.sum())
    kept, w, group = values[rows], weight[rows], scrambling[rows]
    each = np.array([percentile(kept[group == g], w[group == g]) for g in np.unique(group)])
    chances = tuple(_chance(words, test[rows], w, group, limit) for words, limit, test in tests)
    found = () if outcomes is None else tuple(sorted(
        (_chance(str(word), outcomes[rows] == word, w, group) for word in np.unique(outcomes[rows])),
        key=lambda c: (-c.share, c.words)))
    low, middle, high = percentile(kept, w)
    return Span(name, line, float(low), float(middle), float(high), tuple(map(float, standard_error(each))),
                float(kept.min()), float(kept.max()), there if total else 0.0, chances, found)


def _chance(words, holds, weight, group, limit=None):
    """The share of the weight for which `holds`; none or all of the samples leave what the rule of three leaves."""
    share = float(weight[holds].sum() / weight.sum())
    each = np.array([weight[holds & (group == g)].sum() / weight[group == g].sum() for g in np.unique(group)])
    error = float(standard_error(each)) if 0 < holds.sum() < len(holds) else NONE_SEEN / len(holds)
    return Chance(words, share, error, limit)


def standard_error(each):
    """Return the standard error of the mean of independent answers `each` (first axis)."""
    return each.std(axis=0, ddof=1) / np.sqrt(len(each)) if len(each) > 1 else np.full(each.shape[1:], np.nan)
