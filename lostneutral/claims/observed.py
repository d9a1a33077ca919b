"""Each observation of the case beside what was calculated for it, with agreement or not."""

from math import inf

from lostneutral import data
from lostneutral.case.checks_seen import uncertainty
from lostneutral.circuit.wiring import EARTH
from lostneutral.claims.incident import Incident
from lostneutral.claims.model import About, Claim, Condition, Kind, Rank
from lostneutral.studies.conditions import before as was_before
from lostneutral.studies.recorded import all_observations

WITHIN = 2.0  #: standard deviations of a reading up to which it agrees
_HIGH = 1e6  #: ohm, from which an instrument counts as one of high impedance


def observations(incident: Incident, verdicts, readings, before):
    """Yield a claim for each observation: a note where it agrees with the calculation, else a warning."""
    by_item = {v.item: v for v in verdicts}
    for number, seen in enumerate(all_observations(incident.case)):
        if seen.device is not None:
            continue  # of a device: `claims.installed`
        claim = _item(incident, seen, by_item[seen.load], before) if seen.load is not None else \
            _reading(incident, seen, readings, before)
        agrees, value, span, facts = claim
        rank = Rank.WARNING if agrees is False else Rank.NOTE
        about = About("item", seen.load) if seen.load is not None else About("reading", "-".join(seen.between))
        yield Claim(Kind.OBSERVED, about, rank, () if seen.load is not None else (seen.point,),
                    Condition("before" if was_before(incident.case, seen) else "after"), "voltage", "V", value, span,
                    because="the observation as the case gives it; the calculation as the case describes the rest",
                    facts={"number": number, "agrees": agrees, **facts})


def _solutions(incident, seen, before):
    """Return the states against which an observation is held: before, at its time, or in the end."""
    if was_before(incident.case, seen):
        return [before] if before is not None else []
    time = seen.details.get("time")
    if time is not None and incident.courses is not None:
        found = [m.solution for m in incident.moments if m.condition.start <= time < m.condition.end]
        if found:
            return found
    return [m.solution for m in incident.final]


def _reading(incident, seen, readings, before):
    ends = [EARTH if name == "earth" else (seen.point, name) for name in seen.between]
    sigma = uncertainty(seen)
    solutions = _solutions(incident, seen, before)
    found = [s.between(*ends) for s in solutions]
    volts = [abs(v) for v in found if v is not None]
    loaded = seen.details.get("impedance", inf) < _HIGH
    floating = [s for s, v in zip(solutions, found) if v is None and set(ends) <= set(s.nodes)]
    floats = bool(floating)
    if not loaded:
        volts += [most for s in floating if (most := _most(s, seen.point, ends)) is not None]
    elif floats and not was_before(incident.case, seen):
        volts += [r.low for r in readings if r.point == seen.point and set(r.between) == set(seen.between) and r.loads_on]
    bound = seen.bound
    facts = {"read": seen.voltage, "bound": bound, "logged": "times" in seen.details, "recorded": "recording" in seen.details, "sigma": sigma,
             "floats": floats, "loaded": loaded}
    if not volts:
        return None, None, None, facts
    low, high = min(volts), max(volts)
    if floats and not loaded:
        low = 0.0  # by how much it couples to which conductor is not known
    agrees = (bound == "up to" or seen.voltage <= high + WITHIN * sigma) and (bound == "more than" or seen.voltage >= low - WITHIN * sigma)
    return agrees, max(volts), (low, high), facts


def _most(solution, point, ends):
    """Return the highest voltage (V) between two terminals of which one or both are held by nothing but what couples to them; None if unknown.

    Capacitances put a conductor somewhere among the potentials of those around it, whichever it couples to.
    """
    around = [v for terminal, v in solution.nodes.items() if v is not None and (terminal[0] == point or terminal == EARTH)]
    held = [v for v in map(solution.nodes.get, ends) if v is not None] or around
    return max((abs(a - b) for a in around for b in held), default=None)


def _item(incident, seen, verdict, before):
    rules = data.load("where")["seen"]
    facts = {"seen": seen.seen, "verdict": verdict}
    if seen.seen == "failed":
        within = seen.within if seen.within is not None else seen.details.get("time")
        may = verdict.fails or verdict.worst.startswith("fails")
        late = may and within is not None and verdict.earliest is not None and within < verdict.earliest
        open_ = verdict.outcome in ("cannot be said", "not known", "shortened life", "stressed for a time") and not may
        return (None if open_ else may and not late), verdict.volts, None, facts
    if seen.seen == "survived":
        within = seen.within if seen.within is not None else seen.details.get("time")
        sure = verdict.fails and (within is None or (verdict.latest is not None and within > verdict.latest))
        open_ = verdict.fails and not sure or verdict.outcome in ("cannot be said", "not known")
        return (None if open_ else not sure), verdict.volts, None, facts
    was = next((x for x in before.loads if x.name == seen.load), None) if before else None
    found = [x for s in _solutions(incident, seen, before) for x in s.loads if x.name == seen.load and x.ratio is not None]
    if was is None or not was.ratio or not found:
        return None, None, None, facts
    agree = {_fits(seen.seen, x.ratio, x.together / was.together, rules, x.on) for x in found}
    return (agree.pop() if len(agree) == 1 else None), abs(found[0].voltage), None, facts


def _fits(word, ratio, change, rules, on):
    if word == "off":
        return not on or ratio < rules["off_below"]
    return on and {"brighter": change > rules["brighter_above"], "dimmer": change < rules["dimmer_below"],
                   "unchanged": abs(change - 1) <= rules["unchanged_within"]}[word]
