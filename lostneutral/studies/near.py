"""The settled state of a changed case that lies next to a known one."""

from lostneutral.case.model import Case
from lostneutral.circuit.continued import settle_near
from lostneutral.circuit.network import network
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import wiring
from lostneutral.errors import LostNeutralError


def near(case: Case, known: Solution | None = None) -> Solution | None:
    """Return the settled state of `case`, its breaks in force, that is reached from `known` by continuation.

    Loads keep the mode they have there where they can stay in it. None if no state is reached so, or one that does not attract.
    """
    try:
        net = network(wiring(case, case.breaks_after(), case.crosses))
        found = settle_near(net, case.supply.nominal, known)
    except LostNeutralError:
        return None
    if found is None:
        return None
    return solution(case, found.net, found.root, attracting=found.attracting, reached=True)
