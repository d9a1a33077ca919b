"""What happens again and again in a course: loads that change their mode in the same order, turn after turn."""

from lostneutral.frozen import dataclass

LEAST_TURNS = 3  #: after which what happens again and again is said to repeat


@dataclass(frozen=True)
class Repetition:
    """What happens again and again until something else does: loads that change their mode in the same order, turn after turn."""

    first: int  #: the moment (of `Course.moments`) with which the first turn begins
    size: int  #: moments of a turn
    period: float  #: s, mean of the whole turns
    turns: int  #: whole turns


def repetitions(moments) -> tuple[tuple[Repetition, int], ...]:
    """Return what repeats in the `moments` of a course, each with the number of the moment that ends it: an event, a failure, or the end.

    Of each stretch between these it is what repeats from some moment to its end: the earliest there is, and of these the shortest turn.
    """
    found = ((_repeating(moments, first, last), last) for first, last in _runs(moments))
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
