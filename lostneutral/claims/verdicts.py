"""One verdict an item: its outcome over the whole incident, from which every table, sentence and figure takes it."""

from dataclasses import replace
from math import inf

from lostneutral.claims.incident import Incident
from lostneutral.claims.model import Condition, Rank, seconds
from lostneutral.consequences.harm import HARMLESS, IN_A_CYCLE, LOW_OUTCOMES, Harm, felt, harm_of, outcome_in
from lostneutral.consequences.limits import band, verdict
from lostneutral.consequences.upstream import without_supply
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model

CANNOT = "cannot be said"  #: several states, arrival undecided, or a cycle without a law
OFF = "it was switched off; what stands by in it is not judged"
STRESSED = "stressed for a time"  #: would not have borne it for long, and it ended before

ORDER = ("fails in seconds", "fails in minutes", "stalls and overheats", "fails in hours", "fails in days", CANNOT,
         STRESSED, "not known", "shortened life", "runs hot", "stalls", "runs in reverse", "goes on and off", "does not run",
         "gives no light", "works weakly", "dim", "unharmed", "was off")
"""Every outcome, the worst first."""
GOOD = ("unharmed", "was off")
"""Outcomes that a condition which is not known to hold may not have."""
MOMENT = 1.0  #: s, of too little voltage, of which nothing is made
LITTLE = 0.01  #: of a life, of which nothing is made
SHORT = LITTLE * 7 * 86400.0  #: s, of what would not make an item fail within a week: it takes less than a hundredth of its life
LATER = 0.1  #: of a time to failure, from the first fault, after which the voltage that decides began later than that
_RANK = {CANNOT: Rank.WARNING, STRESSED: Rank.WARNING, "not known": Rank.WARNING, "shortened life": Rank.WARNING,
         "runs hot": Rank.WARNING, "stalls": Rank.WARNING, "goes on and off": Rank.WARNING, "runs in reverse": Rank.WARNING}


@dataclass(frozen=True)
class Verdict:
    """What becomes of one item over the whole incident, new and with no protection acting.

    Times (s) count from the first fault; None where none is this side of an ordinary life.
    """

    item: str
    outcome: str  #: one of `ORDER`
    volts: float | None = None  #: V, the voltage that decides, and its
    ratio: float | None = None  #: multiple of rated
    lowest: float | None = None  #: V, over the incident while it was on
    highest: float | None = None
    earliest: float | None = None
    central: float | None = None
    latest: float | None = None
    confidence: str = "none"
    part: str = ""
    mode: str = ""
    basis: str = ""
    burns: str = ""
    protected: str = ""  #: would an overvoltage device have acted before it: "yes" | "perhaps" | "no" | ""
    worst: str = ""  #: of CANNOT and STRESSED: the outcome in the worst possible state, or if it had lasted
    used: float | None = None  #: share of life used up by the end of the period, where it was followed
    condition: Condition = Condition()
    later: bool = False  #: whether what decides began well after the first fault, so that its times are not those at `volts`
    above: bool = False  #: above its tolerance at any time
    below: bool = False

    @property
    def fails(self):
        return self.outcome.startswith("fails") or self.outcome == "stalls and overheats"

    @property
    def may_fail(self):
        """Whether it may fail within days though that is not expected: at the early limit of its law it does."""
        return self.outcome == "shortened life" and self.earliest is not None and outcome_in(self.earliest) is not None

    @property
    def rank(self):
        """DAMAGE if it is expected to fail or may, WARNING where it suffers or nothing can be said, else NOTE."""
        if self.outcome == "shortened life" and not self.above:
            return Rank.NOTE  # within limits, as any voltage a little above rated does to a lamp
        bad = self.worst.startswith("fails") or self.worst == "stalls and overheats"
        return Rank.DAMAGE if self.fails or (self.outcome == CANNOT and bad) else _RANK.get(self.outcome, Rank.NOTE)


def verdicts(incident: Incident, harms: tuple[Harm, ...] = ()) -> tuple[Verdict, ...]:
    """Return the verdict of every load of the case, in its order.

    `harms` are those of the settled states after the break, with what overvoltage devices would have done; in a
    circuit that does not settle, those of its cycle.
    """
    return tuple(_verdict(incident, load, [h for h in harms if h.load == load.name]) for load in incident.case.loads)


def _verdict(incident, load, harms):
    met = list(_met(incident, load))
    if incident.restarting is None and not incident.settles:
        return _unsettled(load, incident)
    if not met:
        # a cycle without figures of its moments is judged by its ends
        on = load.on and incident.restarting is not None
        return _in_the_cycle(incident, load, harms) if on else Verdict(load.name, "was off", basis=OFF)
    limits = band(incident.case.supply.limits)
    model = load_model(load, incident.case.supply)[0]
    judged = [(m, seen, harm_of(replace(load, on=True), model, felt(load, seen), limits))
              for m, seen in met]
    if incident.restarting is not None:
        made = _before_the_end(_in_the_cycle(incident, load, harms), judged)
    elif not incident.decided:
        made = _undecided(judged)
    elif incident.courses is None:
        made = _before_the_end(_of(judged[-1]), judged)
    else:
        made = _over_time(incident, load, judged)
    made = _with_extremes(made, [seen for _, seen, _ in judged], limits)
    same = [h for h in harms if h.outcome == made.outcome and h.protected]
    return replace(made, protected=same[0].protected) if same and made.fails else made


def _met(incident, load):
    """Yield (moment, the load in it) wherever the load was on, was not being switched over and had not failed."""
    for moment in incident.moments:
        number = next(n for n, x in enumerate(moment.case.loads) if x.name == load.name)
        here = moment.case.loads[number]
        if here.on and here.kind == load.kind and not without_supply(moment.case, moment.case.point(here.point)):
            yield moment, moment.solution.loads[number]


def _of(judged, **change):
    moment, seen, harm = judged
    volts = None if seen.voltage is None else abs(seen.voltage)
    return replace(Verdict(
        harm.load, harm.outcome, volts, seen.ratio, earliest=harm.earliest, central=harm.central, latest=harm.latest,
        confidence=harm.confidence, part=harm.part, mode=harm.mode, basis=harm.basis, burns=harm.burns,
        protected=harm.protected, condition=moment.condition), **change)


def _worst(judged):
    """The moment that decides: the one of the highest voltage of those of the gravest outcome.

    What comes of too little voltage is told by one that is too little, and not by what lasted less than a second, such as a start, if other lasted longer.
    """
    short = [j[2].outcome in LOW_OUTCOMES and seconds([j[0].condition]) < MOMENT for j in judged]
    longer = any(j[2].outcome in LOW_OUTCOMES and not brief for j, brief in zip(judged, short))
    kept = [j for j, brief in zip(judged, short) if not (brief and longer)]
    gravest = min((j[2].outcome for j in kept), key=ORDER.index)
    same = [j for j in kept if j[2].outcome == gravest]
    low = [j for j in same if (j[1].ratio or 0.0) < band(j[0].case.supply.limits).low] if gravest in LOW_OUTCOMES else []
    return max(low or same, key=lambda j: j[1].ratio or 0.0)


def _undecided(judged):
    worst = _worst(judged)
    outcomes = {harm.outcome for _, _, harm in judged}
    if len(outcomes) == 1 and not outcomes & {"unharmed", "was off"}:
        return _of(worst)
    return _of(worst, outcome=CANNOT, worst=worst[2].outcome,
               basis=f"which settled state the circuit takes is not decided; in the worst of them: {worst[2].basis}")


def _unsettled(load, incident):
    if not load.on and not any(e.load == load.name for e in incident.case.events):
        return Verdict(load.name, "was off", basis=OFF)
    return Verdict(load.name, CANNOT, basis="no settled state is known to hold, so that nothing can be said of it")


def _in_the_cycle(incident, load, harms):
    """Judge by the worse end of what the load meets in the cycle, as if it lasted."""
    found = next((h for h in harms if h.solution == IN_A_CYCLE), None)
    if found is None:
        return _unsettled(load, incident)
    outcome = found.outcome
    if load.name in incident.restarting and outcome in (*HARMLESS, "not known"):
        outcome = "goes on and off"
    return Verdict(load.name, outcome, found.volts, found.volts / load.voltage, earliest=found.earliest, central=found.central,
                   latest=found.latest, confidence=found.confidence, part=found.part, mode=found.mode, basis=found.basis,
                   burns=found.burns)


def _before_the_end(made, judged):
    """Return the verdict with what the load met for a short time before the end: it fails in that time, or is stressed by it."""
    short = [j for j in judged if j[0].condition.stage == "stage" and j[0].condition.lasts < inf]
    failing = [j for j in short if j[2].central is not None and j[2].central <= j[0].condition.lasts]
    if failing:
        return min((made, _of(_worst(failing))), key=lambda v: ORDER.index(v.outcome))
    worst = _worst(short) if short else None
    if worst is None or ORDER.index(worst[2].outcome) >= ORDER.index(made.outcome):
        return made
    if worst[2].outcome == "not known" and made.outcome in GOOD:
        return _of(worst)
    may = [j for j in short if j[2].outcome == "shortened life" and j[2].earliest is not None and j[2].earliest <= j[0].condition.lasts]
    if may and ORDER.index("shortened life") < ORDER.index(made.outcome):
        return _of(_worst(may), central=None, latest=None)
    if worst[2].fails and ORDER.index(STRESSED) < ORDER.index(made.outcome):
        early = worst[2].earliest
        may = early is not None and early <= worst[0].condition.lasts
        return _of(worst, outcome=STRESSED, worst=worst[2].outcome, earliest=early if may else None, central=None, latest=None)
    return made


def _over_time(incident, load, judged):
    begins, end = incident.begins, incident.ends
    worst = _worst(judged)
    failed = {pace: course.failures[load.name] for pace, course in incident.courses.named.items()
              if load.name in course.failures}
    at_end = next((j for j in reversed(judged) if j[0].condition.stage == "after"), None)
    used = {pace: float(course.used[load.name][-1]) for pace, course in incident.courses.named.items()
            if load.name in course.used}
    left = _left(at_end, used, end - begins) if at_end and incident.lasts else {}
    times = {pace: failed[pace][0] - begins if pace in failed else left.get(pace) for pace in ("early", "central", "late")}
    times = dict(zip(times, _in_order(*times.values())))
    spent = used.get("central")
    if "central" in failed:
        outcome = outcome_in(times["central"]) or "fails in days"
        if worst[2].outcome == "stalls and overheats":
            outcome = worst[2].outcome
        return _of(worst, outcome=outcome, earliest=times["early"], central=times["central"], latest=times["late"],
                   part=failed["central"][1] or worst[2].part, used=spent, later=_later(worst, times, begins))
    met = seconds([moment.condition for moment, _, harm in judged if harm.outcome == "shortened life"])  # endless where the end brings it
    early = failed["early"][0] - begins if "early" in failed else None
    if worst[2].outcome == "shortened life" and met < SHORT and early is None and used.get("early", 0.0) < LITTLE:
        return _of(worst, outcome="unharmed", earliest=None, central=None, latest=None, used=spent)
    bad = ORDER.index(worst[2].outcome) < ORDER.index("shortened life")
    if at_end and incident.lasts:
        made = _of(at_end, earliest=times["early"], central=times["central"], latest=times["late"], used=spent, later=_later(at_end, times, begins))
        if made.outcome.startswith("fails"):
            made = replace(made, outcome=outcome_in(made.central) or "shortened life")
        if made.outcome == worst[2].outcome == "not known":
            return _of(worst, used=spent)
        if ORDER.index(made.outcome) <= max(ORDER.index(worst[2].outcome), ORDER.index(STRESSED)):  # what the end brings is no less grave
            return made
    # what it met is over: only at the early limit of everything it may have failed by then
    over = {"earliest": early, "central": None, "latest": None, "used": spent}
    return _of(worst, outcome=STRESSED, worst=worst[2].outcome, **over) if bad else _of(worst, **over)


def _later(judged, times, begins):
    """Whether the stage that decides began after more than a tenth of the first time (s) that is told."""
    first = next((t for t in (times["early"], times["central"]) if t is not None), inf)
    return judged[0].condition.start - begins > LATER * first


def _left(at_end, used, followed):
    """Return {pace: s from the first fault} at which the rest of its life is used up if the last stage goes on."""
    harm = at_end[2]
    times = {"early": harm.earliest, "central": harm.central, "late": harm.latest}
    return {pace: followed + max(1 - used.get(pace, 0.0), 0.0) * t for pace, t in times.items() if t is not None}


def _in_order(early, central, late):
    """Return the three times with none later than the next; None stays."""
    known = [t for t in (early, central, late) if t is not None]
    return (early if early is None else min(known), central, late if late is None else max(known))


def _with_extremes(made, seen, limits):
    volts = [abs(x.voltage) for x in seen if x.voltage is not None]
    words = {verdict(x.ratio, limits) for x in seen}
    return replace(made, lowest=min(volts, default=None), highest=max(volts, default=None), above="over" in words,
                   below=bool(words & {"under", "dead"}))
