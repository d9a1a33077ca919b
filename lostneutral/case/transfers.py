"""A move of a changeover as steps in time: which contacts are made, from when on."""

from lostneutral import data
from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Move:
    """Where a changeover moves to, and what its contacts do on the way; times in s."""

    to: str
    dead_time: float
    first: dict  #: pole -> how long before the others it opens
    late: dict  #: pole -> how long after the others it closes
    never: tuple[str, ...]


def moves_to(entry, event) -> Move:
    """Return the move of an `event` of the changeover `entry` (both of the case file); the event's keys go first."""
    def given(key):
        return getattr(event, key) if getattr(event, key) is not None else getattr(entry, key)

    dead = given("dead_time")
    return Move(event.to, data.load("supplies")["changeover"]["dead_time"]["value"] if dead is None else dead,
                _times(given("opens_first")), _times(given("closes_late")), tuple(given("never_makes") or ()))


def _times(times):
    return times.model_dump(exclude_none=True) if times else {}


def contact_steps(move: Move, time: float, poles, position: str):
    """Return [(time in s, position, poles that are not made)] of a `move` that begins at `time` from `position`."""
    ahead = max(move.first.values(), default=0.0)
    opening = sorted({ahead - move.first.get(pole, 0.0) for pole in poles} - {ahead})
    steps = [(time + t, position, tuple(p for p in poles if ahead - move.first.get(p, 0.0) <= t)) for t in opening]
    closed = time + ahead + move.dead_time
    if move.dead_time > 0:
        steps.append((time + ahead, "off", ()))
    closing = sorted({move.late.get(pole, 0.0) for pole in poles if pole not in move.never})
    base = closing[0] if closing else 0.0
    return steps + [(closed + t - base, move.to, tuple(p for p in poles if p in move.never or move.late.get(p, 0.0) > t))
                    for t in closing]
