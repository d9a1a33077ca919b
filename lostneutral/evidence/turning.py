"""Which of the assumptions behind a comparison would turn its conclusion, worked out from the samples that there are."""

from dataclasses import dataclass

import numpy as np

from lostneutral.evidence.likelihood import Judge

FACTORS = (0.25, 4.0)  #: of the odds of a slip, and of an unreliable statement, that are tried
LEAST = 20  #: effective samples below which half of an assumption's range says nothing


@dataclass(frozen=True)
class Turning:
    """An assumption within whose range another cause leads."""

    assumption: str
    setting: str  #: how it is taken then
    leads: str  #: the words of the cause that then leads


def turnings(world, judge: Judge, parts) -> tuple[Turning, ...]:
    """Return the assumptions that would turn the conclusion: slips, reliability, and each half of what was drawn.

    `parts` are the samples of every cause of `world`, in its order. A half of a range is what lies below or above its
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
    for name, which in (("erroneous reading", readings), ("unreliable statement about a load", ~readings)):
        for factor in FACTORS if which.any() else ():
            tried(name, f"{factor:g} times as likely", [_with_odds(judge, part, which, factor) for part in parts])
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
