"""The star that a lesson is about: where a case has it, which loads are on it, and what its constructions are given."""

from lostneutral.case.model import Case
from lostneutral.frozen import dataclass

ADDS_UP = 3e-3  #: of the largest; line currents that add up to the neutral's within this have no other way back


@dataclass(frozen=True)
class Star:
    """One state of a star of resistances: V to the supply's star point, conductances in S."""

    corners: dict[str, complex]  #: line -> V at the point where the loads are connected
    neutral: complex  #: V, the star point as the solver found it
    weights: dict[
        str, float
    ]  #: line -> S between it and the star point, in the settled state; lines without load left out
    way_back: float  #: S from the star point to the supply's star point: 0 = open


class NotAStar(Exception):
    """The constructions would not be exact; the message says why, as the end of "… because"."""


def broken_neutral(case: Case):
    """Return the Break of the neutral that the lesson is about, or None."""
    return next((b for b in case.breaks_after() if b.conductor == "N"), None)


def broken_run(case: Case):
    """Return the name of the point whose feeding run has the broken or bad neutral, or None."""
    found = broken_neutral(case)
    return found and found.feeding


def _behind(case: Case, run: str) -> tuple[str, ...]:
    """Return the names of the points that are fed through `run`, its own first."""
    found = [run]
    for name in found:
        found += [p.name for p in case.points if p.fed_from == name]
    return tuple(found)


def star_loads(case: Case):
    """Return the loads that are on behind the broken neutral and stand between a line and the neutral."""
    fed = _behind(case, broken_run(case))
    return tuple(
        load
        for load in case.loads
        if load.on and load.point in fed and "N" in load.connect and set(load.connect) & set(case.supply.lines)
    )


def main_point(case: Case) -> str:
    """Return the name of the point that the lesson is about: where the loads stand, else where the break leads."""
    places = dict.fromkeys(load.point for load in star_loads(case))
    return next(iter(places)) if len(places) == 1 else broken_run(case)
