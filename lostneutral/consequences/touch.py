"""Touch voltages at earth terminals: to remote earth and between neighbours."""

from itertools import combinations

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import EARTH, terminal_names
from lostneutral.consequences.upstream import electrode_left_out

MOST_PAIRED = 150  #: earth terminals of which every pair is looked at; of more, only the neighbours along the wiring


def is_live(state: Solution, point: str, terminal: str, limit: str = "live") -> bool:
    """Return whether a terminal of a point is above a limit of the data file `where` ("live": the touch voltage limit;
    "raised") to remote earth, without an earth in the case to the supply's star point, or nobody can say."""
    volts = state.between((point, terminal), EARTH) if EARTH in state.nodes else state.nodes.get((point, terminal))
    return volts is None or bool(abs(volts) > data.load("where")[limit]["value"])


def touch_voltages(case: Case, solution: Solution):
    """Return {point: V to remote earth at its earth terminal, None where it floats}; prospective, nobody touching.

    What nothing but an electrode ties to earth is at 0 V, whatever that has: so in TT where none is given.
    """
    held = electrode_left_out(case)
    found = {p.name: _size(solution.between((p.name, "PE"), EARTH)) for p in case.points if "PE" in terminal_names(case, p)}
    return {name: 0.0 if volts is None and name in held else volts for name, volts in found.items()}


def between_neighbours(case: Case, solution: Solution):
    """Return {(point, point): V between their earth terminals} of points that a person might reach together.

    Whether they can be reached at once only the place tells: all pairs are taken, in a large case those
    fed from the same point or from points next to each other.
    """
    earthed = [p for p in case.points if "PE" in terminal_names(case, p)]
    pairs = combinations(earthed, 2) if len(earthed) <= MOST_PAIRED else _near(case, earthed)
    return {(a.name, b.name): volts for a, b in pairs
            if (volts := _size(solution.between((a.name, "PE"), (b.name, "PE")))) is not None}


def _near(case, earthed):
    fed, feeder = {}, {p.name: p.fed_from for p in case.points}
    for point in earthed:
        fed.setdefault(point.fed_from, []).append(point)
    for place, points in fed.items():
        yield from combinations(points, 2)
        yield from ((a, b) for a in points for b in fed.get(feeder.get(place), ()))


def _size(volts):
    return None if volts is None else abs(volts)
