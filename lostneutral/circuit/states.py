"""The settled states of a case before and after its breaks."""

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.network import Network, network
from lostneutral.circuit.newton import Root, first_guess, newton
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.solution import State
from lostneutral.circuit.wiring import wiring
from lostneutral.errors import NoSolutionError

ONE_STATE = ("only one settled state is possible: no load draws less current at a higher voltage, and the rest of "
             "the circuit is linear and passive")


def before_and_after(case: Case) -> tuple[State, State]:
    """Return the settled states with every conductor sound, and with every break, crossing and break event in force.

    Raises NoSolutionError if the faulty circuit has none; a healthy circuit without one gives an empty `before`
    with its reason.
    """
    try:
        before = settled_states(case, "before", network(wiring(case)))
    except NoSolutionError as error:
        before = State("before", (), "undecided", str(error))
    return before, settled_states(case, "after", network(wiring(case, case.breaks_after(), case.crosses)))


def settled_states(case: Case, name: str, net: Network) -> State:
    """Return the settled states of `net`."""
    rising = all(model.rising for model, _ in net.groups)
    try:
        root = newton(net, first_guess(net, case.supply.nominal))
    except np.linalg.LinAlgError:
        root = Root(np.zeros(0), np.inf, 0.0)
    if not root.solved:
        raise NoSolutionError(f"no settled state found for the circuit {name} the break")
    found = solution(case, net, root, attracting=True, reached=True)
    return State(name, (found,), reason=ONE_STATE if rising else "", unique=rising)
