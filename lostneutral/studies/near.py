"""The settled state of a changed case that lies next to a known one: the one way in which studies solve."""

from dataclasses import replace

from lostneutral.case.model import Case
from lostneutral.circuit.continued import settle_near
from lostneutral.circuit.network import network
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.search import Settled
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import Element, wiring
from lostneutral.errors import LostNeutralError


def near(case: Case, known: Settled | Solution | None = None) -> Solution | None:
    """Return the settled state of `case`, its breaks in force, that is reached from `known` by continuation.

    Loads keep the mode they have there where they can stay in it. None if no state is reached so, or one that does not attract.
    """
    found = state_near(case, known)
    return None if found is None else as_solution(case, found)


def state_near(case: Case, known: Settled | Solution | None = None, more: tuple[Element, ...] = ()) -> Settled | None:
    """Return the same with its network; `more` are elements to be added to the wiring."""
    try:
        made = wiring(case, case.breaks_after(), case.crosses)
        net = network(replace(made, elements=(*made.elements, *more)) if more else made)
        return settle_near(net, case.supply.nominal, known)
    except LostNeutralError:
        return None


def as_solution(case: Case, state: Settled) -> Solution:
    """Return `state` in the terms of `case`, as one that the circuit is in."""
    return solution(case, state.net, state.root, attracting=state.attracting, reached=True, states=state.states)
