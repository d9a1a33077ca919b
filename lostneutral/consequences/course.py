"""The course of an incident with wear: the likeliest one, and those with early and with late failures."""

from collections.abc import Mapping

from lostneutral.circuit.record import Course
from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Courses:
    """The central course; with wear also the `early` and the `late` one, by the ends of each law's band."""

    central: Course
    early: Course | None = None
    late: Course | None = None

    @property
    def named(self) -> Mapping[str, Course]:
        """The courses by name, central first."""
        found = {"central": self.central, "early": self.early, "late": self.late}
        return {name: course for name, course in found.items() if course is not None}


LEAST_TURNS = 3  #: after which what happens again and again is said to repeat


@dataclass(frozen=True)
class Repetition:
    """What happens again and again until a course ends: loads that change their mode in the same order, turn after turn."""

    first: int  #: the moment (of `Course.moments`) with which the first turn begins
    size: int  #: moments of a turn
    period: float  #: s, mean of the whole turns
    turns: int  #: whole turns


def repetition(course: Course) -> Repetition | None:
    """Return what repeats in `course` from some moment to its end, or None: the earliest there is, and of these the shortest turn."""
    moments = course.moments[:-1]  # the last one is the end of what was followed
    whats = [m.what if m.kind == "mode" else None for m in moments]
    since = max((k + 1 for k, what in enumerate(whats) if what is None), default=0)
    found = []
    for size in range(2, (len(whats) - since) // LEAST_TURNS + 1):
        first = len(whats) - size
        while first > since and whats[first - 1] == whats[first - 1 + size]:
            first -= 1
        turns = (len(whats) - first) // size
        if turns >= LEAST_TURNS:
            found.append((first, size, turns))
    if not found:
        return None
    first, size, turns = min(found)
    last = (len(whats) - 1 - first) // size
    return Repetition(first, size, (moments[first + last * size].time - moments[first].time) / last, turns)
