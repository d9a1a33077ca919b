"""What follows from a case file before any check: which lines and conductors there are, and where."""

from lostneutral.case.model import LINES
from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class PointInPlace:
    """A point with its defaults filled in; `fed_from` is known and has no loop."""

    kind: str
    phases: tuple[str, ...]


def lines_of(supply):
    """Return the names of the supply's lines."""
    return LINES[:2] if supply.system == "split-phase" else LINES


def places_of_points(points, lines):
    """Return {name: Place} of the points (name, kind, fed_from, phases) whose feed leads back to the supply.

    Points in a loop, or fed from what is not there, are left out.
    """
    waiting = {}
    for point in points:
        waiting.setdefault(point.fed_from, []).append(point)
    found = {}
    ready = [(point, "supply", tuple(lines)) for point in waiting.get("supply", ())]
    while ready:
        point, feeder_kind, arriving = ready.pop()
        if point.name in found:
            continue
        kind = point.kind or ("intake" if feeder_kind in ("supply", "joint") else "board")
        phases = tuple(line for line in LINES if line in point.phases) if point.phases else arriving
        found[point.name] = PointInPlace(kind, phases)
        ready += [(fed, kind, phases) for fed in waiting.get(point.name, ())]
    return found


def conductor_named(name):
    """Return the conductor that a case names, by the name it has everywhere else: a PEN is the N of its run."""
    return "N" if name == "PEN" else name


def feeds_by_pen(earthing, kind):
    """Return whether the run that feeds a point of `kind` has neutral and protective conductor in one (a PEN)."""
    return earthing == "TN-C" or (earthing == "TN-C-S" and kind != "board")


def run_conductors(earthing, place):
    """Return the conductors of the run that feeds `place`; N is the PEN where the two are one."""
    with_pe = earthing == "TN-S" or (earthing in ("TN-C-S", "TT") and place.kind == "board")
    return (*place.phases, "N", "PE") if with_pe else (*place.phases, "N")
