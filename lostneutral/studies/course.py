"""The course of an incident with wear: the likeliest one, and those with early and with late failures."""

from lostneutral.case.model import Case
from lostneutral.circuit.incident import beginning, follow_course
from lostneutral.circuit.states import Sound
from lostneutral.consequences.course import Courses
from lostneutral.consequences.wear import wears


def courses(case: Case, end: float | None = None, sound: Sound | None = None) -> Courses:
    """Return the courses of `case` until `end` (s; default: the case's own, else an hour after the last event).

    A load fails when the law of wear for it has used up its life; early and late courses take all loads at the early,
    or all at the late end of their bands. `sound` as in `circuit.incident.beginning`. Raises NoSolutionError as `circuit.incident.follow` does.
    """
    begin, paths = beginning(case, sound), {}
    paces = ("central", "early", "late") if wears(case) else ("central",)
    return Courses(*(follow_course(case, wears(case, pace), end=end, begin=begin, paths=paths) for pace in paces))
