"""Which of the assumptions behind a comparison would turn its conclusion, worked out from the samples that there are."""

import numpy as np

from lostneutral.evidence.likelihood import FATE, LIGHT, Judge
from lostneutral.evidence.tempered import met_by, resampled
from lostneutral.frozen import dataclass

FACTORS = (0.25, 4.0)  #: of the odds of a slip, and of an unreliable statement, that are tried
MATTERS, AGAIN = 1e-4, 96  #: posterior from which a cause is looked at again, and its samples then
VARIED = (
    ("spread of words for a change of light or heat about their thresholds", (("blur", "change"), ("blur", "off")), "light", FACTORS),
    ("minimum standard uncertainty of a reading", (("least_uncertainty", "value"),), "reading", (4.0, 8.0)),
    ("spread of the lives of devices of one kind", (("life", "least_spread"), ("life", "without_law_blur")), "fate", (0.5, 2.0)),
    ("voltage at which a device without a law of wear fails", (("life", "without_law_fails_at"),), "fate", (0.85, 1.2)))
"""(assumption, (entry, key) of the data file `evidence`, what kind of observation it bears on, factors that are tried)."""
LEAST = 20  #: effective samples below which half of an assumption's range says nothing


@dataclass(frozen=True)
class Turning:
    """An assumption within whose range another cause leads."""

    assumption: str
    setting: str  #: how it is taken then
    leads: str  #: the words of the cause that then leads


def turnings(world, judge: Judge, parts, maps) -> tuple[Turning, ...]:
    """Return the assumptions that would turn the conclusion: slips, reliability, how far words spread about their thresholds
    (blur), least uncertainty, spread of lives, and each half of what was drawn.

    `parts` are the samples of every cause of `world`, in its order, `maps` where their settled states are. A half of a range is what lies below or above its
    median; the priors are told apart from these by the factor at which they turn it.
    """
    prior = np.array([rival.prior for rival in world.causes])
    usual = int(np.argmax([part.evidence * p for part, p in zip(parts, prior)]))
    made = []

    def tried(assumption, setting, evidence):
        evidence = np.array(evidence)
        first = int(np.argmax(evidence * prior))
        if np.isfinite(evidence).all() and first != usual and evidence[first] * prior[first] > 1.05 * evidence[usual] * prior[usual]:
            made.append(Turning(assumption, setting, world.causes[first].words))

    readings = np.array([o.is_reading for o in judge.observations])
    for name, which in (("erroneous reading", readings), ("unreliable statement about a load or a device", ~readings)):
        for factor in FACTORS if which.any() else ():
            tried(name, f"{factor:g} times as likely", [_with_odds(judge, part, which, factor) for part in parts])
    for name, setting, evidence in _of_words_and_laws(world, judge, parts, prior, maps):
        tried(name, setting, evidence)
    for k, column in enumerate(world.columns[:-1]):
        for below in (True, False):
            halves = [_half(part, k, below) for part in parts]
            if all(effective >= LEAST for _, effective in (halves[usual],)):
                tried(column.name, f"in the {'lower' if below else 'upper'} half of its range",
                      [evidence if effective >= LEAST else part.evidence for (evidence, effective), part in zip(halves, parts)])
    return tuple(made)


def _with_odds(judge, part, which, factor):
    """The evidence with the odds of a slip of the observations `which` multiplied by `factor`."""
    if part.states is None:
        return part.evidence
    genuine, other = part.genuine.copy(), part.other.copy()
    for n in np.flatnonzero(which):
        o = judge.observations[n]
        wrong = judge.table["slip"]["value"] if o.is_reading else 1 - judge.trust(o)
        odds = factor * wrong / max(1 - wrong, 1e-12)
        now = odds / (1 + odds)
        genuine[:, n] *= (1 - now) / max(1 - wrong, 1e-12)
        other[:, n] *= now / max(wrong, 1e-12)
    return float(part.share @ (genuine + other).prod(axis=1))


def _of_words_and_laws(world, judge, parts, prior, maps):
    """Yield (assumption, setting, evidence of every cause) with each value of `VARIED` multiplied by its factors.

    Of a few weighed samples of every cause that matters the likelihood is worked out anew; by how much it changes, in the
    mean, its evidence does.
    """
    shares = np.array([part.evidence for part in parts]) * prior
    kept = [n for n, part in enumerate(parts) if part.states is not None and shares[n] > MATTERS * shares.sum()]
    seen = {o.seen for o in judge.observations if o.load}
    about = {"light": bool(seen & set(LIGHT)), "fate": bool(seen & set(FATE)), "reading": any(o.is_reading for o in judge.observations)}
    wanted = [row for row in VARIED if about[row[2]]]
    if not kept or not wanted:
        return
    values, cause = np.concatenate([_drawn_again(parts[n]) for n in kept]), np.repeat(kept, AGAIN)
    found, states, volts = met_by(world, judge, cause, values, maps)
    usual = _likelihood(judge, volts, states, found, len(cause))
    for name, keys, _, factors in wanted:
        for factor in factors:
            other = judge.taken(*((entry, key, factor * judge.table[entry][key]) for entry, key in keys))
            changed = _likelihood(other, volts, states, found, len(cause)) / np.maximum(usual, 1e-300)
            evidence = [other.not_listed()[0] if part.states is None else part.evidence for part in parts]
            for n, ratio in zip(kept, changed.reshape(len(kept), AGAIN).mean(axis=1)):
                evidence[n] *= float(ratio)
            yield name, f"{factor:g} times as large", evidence


def _drawn_again(part):
    return part.values[resampled(part.weight[None], AGAIN, 0.5)[0]]


def _likelihood(judge, volts, states, found, size):
    genuine, other = judge.likelihoods(volts, states)
    return np.bincount(found.sample, found.weight * (genuine + other).prod(axis=1), size)


def _half(part, k, below):
    """(evidence, effective samples) with one unknown in one half of its range."""
    if part.states is None:
        return part.evidence, np.inf
    inside = (part.values[:, k] < 0.5) == below
    share = part.share[inside].sum()
    if not share:
        return 0.0, 0.0
    weight = part.share[inside] * (part.genuine + part.other)[inside].prod(axis=1)
    return float(weight.sum() / share), float(weight.sum() ** 2 / (weight**2).sum()) if weight.any() else 0.0
