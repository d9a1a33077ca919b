"""The settled state of a changed case that lies next to a known one: the one way in which studies solve."""

from dataclasses import replace

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.continued import settle_near
from lostneutral.circuit.network import network, solve_nodal
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


def shown_impedances(net, root, ends):
    """Return the impedance (ohm) that the network shows between the two nodes of each row of `ends`, loads held as they are."""
    n, columns = net.free, np.arange(len(ends))
    y = net.admittance(np.abs(root.across(net)))
    injected = np.zeros((n + len(net.fixed), len(ends)), complex)
    injected[ends[:, 0], columns] += 1.0
    injected[ends[:, 1], columns] -= 1.0
    answer = np.zeros_like(injected)
    if n:
        answer[:n] = solve_nodal(net.nodal(y)[:n, :n], injected[:n])
    return answer[ends[:, 0], columns] - answer[ends[:, 1], columns]
