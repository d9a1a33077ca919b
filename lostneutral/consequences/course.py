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
    """What happens again and again until something else does: loads that change their mode in the same order, turn after turn."""

    first: int  #: the moment (of `Course.moments`) with which the first turn begins
    size: int  #: moments of a turn
    period: float  #: s, mean of the whole turns
    turns: int  #: whole turns


def repetition(course: Course) -> Repetition | None:
    """Return what repeats in `course` from some moment to its end, or None: the earliest there is, and of these the shortest turn."""
    return _repeating(course.moments, *_runs(course.moments)[-1])


def repetitions(course: Course) -> tuple[tuple[Repetition, int], ...]:
    """Return what repeats in `course`, each with the number of the moment that ends it: an event, a failure, or the end."""
    found = ((_repeating(course.moments, first, last), last) for first, last in _runs(course.moments))
    return tuple((again, last) for again, last in found if again is not None)


def _runs(moments):
    """Return (first, after the last) of each run of changes of mode, between what else happens in `moments`; the last before their end."""
    edges = [-1, *(k for k, m in enumerate(moments[:-1]) if m.kind != "mode"), len(moments) - 1]
    return [(a + 1, b) for a, b in zip(edges, edges[1:])]


def _repeating(moments, since, until):
    """Return what repeats from some moment after `since` to the one before `until`."""
    whats = [m.what for m in moments[since:until]]
    found = []
    for size in range(2, len(whats) // LEAST_TURNS + 1):
        first = len(whats) - size
        while first > 0 and whats[first - 1] == whats[first - 1 + size]:
            first -= 1
        turns = (len(whats) - first) // size
        if turns >= LEAST_TURNS:
            found.append((first, size, turns))
    if not found:
        return None
    first, size, turns = min(found)
    last = (len(whats) - 1 - first) // size
    return Repetition(since + first, size, (moments[since + first + last * size].time - moments[since + first].time) / last, turns)
