"""The whole incident: every stage between its events, and after them until the loads' own failures end it."""

from dataclasses import replace
from math import inf

from lostneutral.case.model import Case
from lostneutral.circuit.record import AFTER_LAST_EVENT
from lostneutral.circuit.solution import State
from lostneutral.claims.model import Condition, Moment
from lostneutral.consequences.course import Courses
from lostneutral.consequences.upstream import faulted
from lostneutral.consequences.weighing import weighed
from lostneutral.frozen import dataclass

MOST_FOLLOWED = 60  #: load branches up to which an incident is followed in time unasked


@dataclass(frozen=True)
class Incident:
    """What items and people met. Without a `course`: one stage, that after the break."""

    case: Case
    moments: tuple[Moment, ...]  #: of every stage since the first fault, in order; of a stage its worst and its end
    begins: float = 0.0  #: s, when the first conductor broke
    ends: float = 0.0  #: s, how far it was followed
    courses: Courses | None = None  #: None: nothing happens in the period but the break
    decided: bool = True  #: whether one settled state is arrived at in the end
    settles: bool = True  #: False: no settled state is known, or none holds
    restarting: tuple[str, ...] | None = None  #: of a circuit that ends in a cycle: the loads that go off and come back in it

    @property
    def final(self) -> tuple[Moment, ...]:
        """The possible settled states in which the incident ends."""
        return tuple(m for m in self.moments if m.condition.stage == "after")

    @property
    def lasts(self) -> bool:
        """Whether anything is still broken or transposed in the end."""
        return faulted(self.case.at_the_end())

    @property
    def ever(self) -> bool:
        """Whether anything was broken or transposed at any time."""
        return bool(self.case.crosses) or any(b.resistance for b in self.case.breaks_ever())


def period(case: Case) -> float:
    """Return how far (s) a course of `case` goes: as the case says, else an hour after the last event."""
    return case.course_end or max((e.time for e in case.events), default=0.0) + AFTER_LAST_EVENT


def to_follow(case: Case, after: State, harms) -> bool:
    """Return whether the settled states do not tell the incident: it has events, or something fails within the period.

    Where it is not decided in which state the circuit arrives no course is followed unasked: it would decide by rounding.
    """
    if case.events:
        return True
    soon = any(h.earliest is not None and h.earliest < period(case) for h in harms)
    return soon and after.reached is not None and faulted(case)


def too_large(case: Case) -> bool:
    """Return whether `case` has more loads that are on than are followed in time unasked."""
    switched = {e.load for e in case.events}
    return sum(len(load.connect) for load in case.loads if load.on or load.name in switched) > 2 * MOST_FOLLOWED


def incident(case: Case, before: State, after: State, courses: Courses | None = None) -> Incident:
    """Return the incident of `case` from its settled states and, where it was followed in time, its course.

    Of a course counts the likeliest; where the end is not decided, every settled state that can hold stands in for
    its last stage.
    """
    healthy = next(iter(weighed(before)), None)
    settled, final = weighed(after), case.at_the_end()
    possible = 1 if after.passing else len(settled)  # a cycle goes through all of its moments
    dwells = after.dwells or (inf,) * len(settled)
    last = tuple(Moment(final, s, healthy, Condition("after", possible=possible, lasts=t)) for s, t in zip(settled, dwells))
    # What follows may be as bad for longer: the worst is told without the time it lasts.
    way = tuple(Moment(final, s, healthy, Condition("stage", begins, lasts=t)) for s, begins, t in after.on_the_way)
    restarting = tuple(dict.fromkeys(again["load"] for again in after.cycle["restarts"])) if after.cycle else None
    decided = after.reached is not None
    settles = bool(settled) and after.ends != "cycle" and any(s.attracting for s in settled)
    if courses is None:
        return Incident(case, (*way, *last), decided=decided, settles=settles, restarting=restarting)
    moments = _of_course(courses.central, healthy)
    if not decided and last:
        moments = [m for m in moments if m.condition.stage != "after"]
        moments += [replace(m, condition=replace(m.condition, start=_last_change(case))) for m in last]
    begins = min((m.condition.start for m in moments if faulted(m.case)), default=0.0)
    return Incident(case, tuple(moments), begins, float(courses.central.times[-1]), courses, decided, settles, restarting)


def _last_change(case):
    return max((e.time for e in case.events), default=0.0)


def _of_course(course, healthy):
    parts = [part for part in course.parts if part.end > part.start or part is course.parts[-1]]
    made = []
    for part in parts:
        last = part is parts[-1]
        stage = "after" if last else "stage" if faulted(_as_it_stood(part.case)) or made else "before"
        where = Condition(stage, part.start, inf if last else part.end)
        if stage != "before":
            stood = [None, *part.stood, *[None] * len(part.moments)]
            made += [Moment(_as_it_stood(part.case), s, healthy, Condition("stage", so.start, so.end, lasts=so.end - so.start, ever=so.ever) if so else where)
                     for s, so in zip(part.moments, stood)]
    return made


def _as_it_stood(case):
    return replace(case, events=())


