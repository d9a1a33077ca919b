"""Where it broke: every place in turn, what each would do, and which fits what was seen."""

from dataclasses import dataclass, field, replace
from itertools import combinations
from math import exp, log, pi, sqrt

import numpy as np

from lostneutral import data
from lostneutral.case.checks_seen import uncertainty
from lostneutral.case.model import Case, Observation
from lostneutral.circuit import large
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import first_guess
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import EARTH, terminal_names, wiring
from lostneutral.consequences.limits import band, verdict
from lostneutral.errors import NoSolutionError
from lostneutral.evidence.likelihood import words as observed_words
from lostneutral.evidence.places import KINDS, MOST_RUNS, Place, places, tried

WORDS = ("high", "low", "dead", "floating", "live", "whole")
_OF_VERDICT = {"over": "high", "under": "low", "dead": "dead", "floating": "floating"}
WORTH = 0.01  #: support below which a place plays no part in what to measure next


@dataclass(frozen=True, eq=False)
class Outcome:
    """What one place of the fault would do, and how it fits what was seen."""

    place: Place
    points: dict  #: point -> its words, of `WORDS`; "live" is metalwork above the touch voltage limit
    solution: Solution | None  #: None: no settled state was found
    misfit: float = 0.0  #: −2 ln of the likelihood of the observations, to that of a perfect fit
    support: float = 0.0  #: share of the likelihood of all places, each as likely beforehand
    misfits: tuple = ()  #: (what was observed, what this place gives, its part of the misfit)

    @property
    def joint_heat(self) -> float:
        """W given off by the high-resistance joints of this place: resistance times current squared; 0 without one."""
        joints = (b for b in self.place.breaks if np.isfinite(b.resistance)) if self.solution else ()
        return sum(b.resistance * abs(self.solution.currents.get((b.feeding, b.conductor)) or 0.0) ** 2 for b in joints)


@dataclass(frozen=True)
class NextReading:
    """The one reading that would best tell the places that are left apart."""

    point: str
    between: tuple[str, str]
    expected: tuple[tuple[str, float | None], ...]  #: (place, V), the best first
    strength: float  #: of the telling apart, 0 (none) to 1 (every pair is told apart)


@dataclass(frozen=True, eq=False)
class Where:
    outcomes: tuple[Outcome, ...]  #: in the order of support where something was observed, else of kind and wiring
    observed: bool
    next_reading: NextReading | None
    notes: tuple[str, ...] = field(default=())


def where(case: Case) -> Where:
    """Return every place at which the fault of `case` could be, ranked by its observations made after the break.

    The case's own breaks and exchanges are left out: each place has its own. Readings count with a Gaussian law of
    their uncertainty, what was seen of loads as consistent or not (data file `where`). Of several settled states
    the one followed while the break opens slowly is taken. Places are taken as equally likely beforehand.
    `Where.outcomes` are in the order of `support` (0 to 1, in all 1), `next_reading` is the measurement that would tell the leading
    ones apart. Range: steady state, one fault at a time. Source of the weights: data file `where`.

    Raises NoSolutionError if the sound installation has no settled state.

    >>> from lostneutral import read_case, where
    >>> first = where(read_case("casebook/village-hall.toml")).outcomes[0]
    >>> print(first.place.words, f"{first.support:.2f}")
    open neutral in the cable to hall board 1.00
    """
    sound = replace(case, breaks=(), crosses=(), events=())
    healthy = _settled(sound)
    seen = [o for o in case.observations if o.details.get("state", "after") == "after"]
    found = [_outcome(sound, healthy, place, seen) for place in places(case)]
    found = _one_joint_a_run(found, bool(seen))
    weights = [exp(-(o.misfit - min(x.misfit for x in found)) / 2) if o.solution else 0.0 for o in found]
    total = sum(weights) or 1.0
    found = [replace(o, support=w / total) for o, w in zip(found, weights)]
    found.sort(key=lambda o: -o.support if seen else KINDS.index(o.place.kind))
    return Where(tuple(found), bool(seen), _next(sound, found, bool(seen)), _notes(case, found))


def _settled(case):
    try:
        net = network(wiring(case, case.breaks, case.crosses))
        start = first_guess(net, case.supply.nominal)
    except (NoSolutionError, np.linalg.LinAlgError):
        return None
    state = large.followed(net, [start])
    return state and solution(case, state.net, state.root, attracting=False, reached=False)


def _outcome(sound, healthy, place, seen):
    broken = replace(sound, breaks=place.breaks, crosses=place.crosses)
    state = _settled(broken)
    if state is None:
        return Outcome(place, {}, None, np.inf)
    parts = tuple(_misfit(sound, healthy, state, o) for o in seen)
    return Outcome(place, {p.name: point_words(broken, p, state) for p in sound.points}, state, sum(p[2] for p in parts),
                   misfits=parts)


def line_words(case: Case, point, state: Solution) -> dict[str, str]:
    """Return for each line at `point` what `state` makes of its voltage to neutral: one of `WORDS` but "live"."""
    limits, made = band(case.supply.limits), {}
    for line in point.phases:
        volts = state.voltage(point.name, line)
        ratio = None if volts is None else abs(volts) / case.supply.nominal
        made[line] = _OF_VERDICT.get(verdict(ratio, limits), "whole")
    return made


def is_live(state: Solution, point: str, terminal: str, limit: str = "live") -> bool:
    """Return whether a terminal of a point is above a limit of the data file `where` ("live": the touch voltage limit;
    "raised") to remote earth, without an earth in the case to the supply's star point, or nobody can say."""
    volts = state.between((point, terminal), EARTH) if EARTH in state.nodes else state.nodes.get((point, terminal))
    return volts is None or bool(abs(volts) > data.load("where")[limit]["value"])


def point_words(case: Case, point, state: Solution):
    """Return the `WORDS` for what `state` does at `point`: its lines against the supply band, its metalwork to earth."""
    words = set(line_words(case, point, state).values()) - {"whole"}
    if "PE" in terminal_names(case, point) and is_live(state, point.name, "PE"):
        words.add("live")
    return tuple(w for w in WORDS if w in words) or ("whole",)


def _one_joint_a_run(found, observed):
    """Keep of the bad joints of a run the one that fits best, without observations the middle one."""
    kept, joints = [], {}
    for outcome in found:
        if outcome.place.kind == "bad joint":
            joints.setdefault(outcome.place.feeding, []).append(outcome)
    for outcome in found:
        tried = joints.get(outcome.place.feeding, ())
        best = min(tried, key=lambda o: o.misfit) if observed and tried else tried[len(tried) // 2] if tried else None
        if outcome.place.kind != "bad joint" or outcome is best:
            kept.append(outcome)
    return kept


def _misfit(case, healthy, state, observation: Observation):
    if observation.load is not None:
        return _seen(case, healthy, state, observation)
    a, b = (EARTH if name == "earth" else (observation.point, name) for name in observation.between)
    volts = state.between(a, b)
    sigma = uncertainty(observation)
    what = observed_words(case, observation)
    if volts is None:  # anything up to a line's voltage may be read
        return what, "floating", 2 * log(max(2 * case.supply.nominal_line_to_line / (sigma * sqrt(2 * pi)), 1.0))
    return what, f"{abs(volts):.0f} V", ((abs(volts) - observation.voltage) / sigma) ** 2


def _seen(case, healthy, state, observation):
    rules = data.load("where")["seen"]
    now = next(x for x in state.loads if x.name == observation.load)
    was = next((x for x in healthy.loads if x.name == observation.load), None) if healthy else None
    what = observed_words(case, observation)
    if now.ratio is None or was is None or not was.ratio:
        return what, "floating", -2 * log(0.5)
    change = now.ratio / was.ratio
    fits = {"brighter": change > rules["brighter_above"], "dimmer": change < rules["dimmer_below"],
            "unchanged": abs(change - 1) <= rules["unchanged_within"], "off": now.ratio < rules["off_below"],
            "failed": now.ratio > rules["failed_above"] or now.ratio < rules["failed_below"],
            "survived": now.ratio < rules["survived_below"]}[observation.seen]
    return what, f"{now.ratio:.2f} × rated voltage", -2 * log(rules["trust"] if fits else 1 - rules["trust"])


def _next(case, found, observed):
    left = [o for o in found if o.solution and (o.support > WORTH or not observed)]
    if len(left) < 2:
        return None
    best = None
    for point in case.points[:: max(len(case.points) // MOST_RUNS, 1)]:
        names = [(point.name, n) for n in terminal_names(case, point)] + ([EARTH] if case.supply.earthing else [])
        for a, b in combinations(names, 2):
            volts = [None if (u := o.solution.between(a, b)) is None else abs(u) for o in left]
            strength = _told_apart(volts, [o.support for o in left])
            if best is None or strength > best[0] + 1e-9:
                best = strength, point.name, (a[1], b[1] or "earth"), volts
    strength, point, between, volts = best
    expected = tuple((o.place.words, v) for o, v in sorted(zip(left, volts), key=lambda pair: -pair[0].support))
    return NextReading(point, between, expected, strength) if strength > 0.01 else None


def _told_apart(volts, weights):
    """Return the weighed share of the pairs of places that a reading tells apart (3 standard deviations: fully)."""
    usual = data.load("where")["uncertainty"]
    v = np.array([np.nan if u is None else u for u in volts])
    w = np.outer(weights, weights)
    np.fill_diagonal(w, 0.0)
    sigma = np.sqrt(usual["volts"] ** 2 + (usual["share"] * np.nan_to_num(v)) ** 2)
    apart = np.minimum(np.abs(v[:, None] - v[None, :]) / np.hypot(sigma[:, None], sigma[None, :]) / 3, 1.0)
    return float((w * np.nan_to_num(apart)).sum() / max(w.sum(), 1e-300))


def _notes(case, found):
    notes = []
    if len(case.points) > MOST_RUNS:
        notes.append(f"Of {len(case.points)} cables {len(tried(case))} were tried, each with an open neutral only.")
    none = [o.place.words for o in found if o.solution is None]
    if none:
        notes.append(f"No settled state was found for: {'; '.join(none[:5])}.")
    if case.observations and all(o.misfit > 25 for o in found):
        notes.append("No single place explains the observations: together they are more than five standard "
                     "deviations off at "
                     "the best of them. Check the loads and the readings, and consider more than one fault.")
    return tuple(notes)
