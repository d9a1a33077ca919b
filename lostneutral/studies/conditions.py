"""Under which condition of the installation an observation was made: what was switched, mended or isolated by then."""

from math import inf

from lostneutral import data
from lostneutral.case.model import Case, Event, Observation
from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Circumstance:
    """What differs from the case as given, whatever the cause."""

    before: bool = False  #: before the fault: no cause is in force
    switched: tuple[tuple[str, bool], ...] = ()  #: (load, on), by name
    runs: tuple[tuple[tuple[str, str], float], ...] = ()  #: ((feeding, conductor), ohm): 0 mended, inf isolated


def condition_of(case: Case, observation: Observation) -> Circumstance:
    """Return the condition under which `observation` was made.

    Without a time it is taken as made just after the fault began, before any later event.
    """
    begins, time = onset(case), observation.details.get("time")
    was_before = before(case, observation)
    if time is None:
        time = begins if begins is not None and not was_before else -inf if was_before and begins is not None else 0.0
    return circumstance_at(case, time, was_before, observation.details.get("with_on", ()),
                        observation.details.get("with_off", ()))


def circumstance_at(case: Case, time: float, was_before: bool = False, on=(), off=()) -> Circumstance:
    """Return the condition at `time` (s): every event up to then in force; `on` and `off` are loads known to be so.

    A changeover is taken as in its first position: causes are weighed on the supply.
    """
    switched, runs = {}, {}
    for event in sorted(case.events, key=lambda e: e.time):
        if event.time > time:
            break
        if event.load is not None:
            switched[event.load] = event.on
        elif event.change is not None and not is_the_fault(case, event):
            runs[event.change.feeding, event.change.conductor] = event.change.resistance
    switched |= dict.fromkeys(on, True) | dict.fromkeys(off, False)
    return Circumstance(was_before, tuple(sorted(switched.items())), tuple(sorted(runs.items())))


def before(case: Case, observation: Observation) -> bool:
    """Return whether it was made before the fault: as said, else by its time."""
    said, begins, time = observation.details.get("state"), onset(case), observation.details.get("time")
    return said == "before" if said or begins is None or time is None else time < begins


def onset(case: Case) -> float | None:
    """Return when the fault begins (s) by the case's events, None where they do not say."""
    return min((e.time for e in case.events if e.change is not None and is_the_fault(case, e)), default=None)


def is_the_fault(case: Case, event: Event) -> bool:
    """Return whether an event of a conductor tells the fault that is in question, so that it does not hold for every cause.

    A conductor that becomes worse does; one that is restored, and a run whose lines are opened with it, which is an
    isolation, happened whatever the cause.
    """
    change = event.change
    if change.resistance == 0 or change.conductor not in ("N", "PE"):
        return False
    together = {e.change.conductor for e in case.events if e.change is not None and e.time == event.time
                and e.change.feeding == change.feeding and e.change.resistance == inf}
    return not together & set(case.supply.lines)


def course_of(case: Case, observation: Observation) -> tuple[tuple[Circumstance, float], ...]:
    """Return the (condition, s) that a load has been through from the fault to when its fate was seen."""
    begins = onset(case) or 0.0
    length = exposure(case, observation)
    ends = begins + length
    marks = sorted({begins, *(e.time for e in case.events if begins < e.time < ends)})
    spans = zip(marks, (*marks[1:], ends))
    on, off = (observation.details.get(key, ()) for key in ("with_on", "with_off"))
    return tuple((circumstance_at(case, start, False, on, off), end - start) for start, end in spans)


def exposure(case: Case, observation: Observation) -> float:
    """Return how long (s) after the fault a load's fate was seen: as said, else by the time, else assumed."""
    if observation.within is not None:
        return observation.within
    time = observation.details.get("time")
    return data.load("evidence")["exposure"]["value"] if time is None else max(time - (onset(case) or 0.0), 0.0)
