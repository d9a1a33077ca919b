"""What a deduction is: rival causes, each with what the observations say of it."""

import numpy as np

from lostneutral.evidence.asked import Asked, Ceiling
from lostneutral.evidence.next_reading import NextReading
from lostneutral.evidence.turning import Turning
from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Fit:
    """How one observation stands under one rival, given all observations."""

    words: str  #: what was observed
    low: float | None  #: V, 5 % of what the rival gives lie below; None of a load, or where it floats
    middle: float | None
    high: float | None
    likely: float | None  #: of what was seen of a load: its probability under the rival
    doubtful: float  #: probability that the observation does not mean what it says, if the rival is the cause
    second: str = ""  #: where nobody knows the second terminal: on which it fits best, and of which `low` to `high` are


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
class KindOfCause:
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
    kinds: tuple[KindOfCause, ...]
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
    asked: tuple[Asked, ...] = ()  #: voltages given the observations: over all causes, then under each leading one
    ceilings: tuple[Ceiling, ...] = ()  #: how high those readings can be at all that no cause explains
    against: tuple[str, ...] = ()  #: observations that contradict the leading cause
    turning: tuple[Turning, ...] = ()  #: assumptions that would turn the conclusion
    looked: int = 0  #: rivals, of very many, that were set aside at a first look
    runs_tried: int = 0  #: of a long street the runs whose neutral was tried, like premises between them taken together; 0 of another
    complete: bool = True  #: False: interrupted, this is what was known by then
