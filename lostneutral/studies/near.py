"""The settled state of a changed case that lies next to a known one."""

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import first_guess, newton
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import wiring
from lostneutral.errors import LostNeutralError


def near(case: Case, known: Solution | None = None) -> Solution | None:
    """Return the settled state of `case`, its breaks in force, that Newton's method reaches from `known`.

    Without `known` it starts from the loads at their nominal admittance. None if there is none to be reached so. The
    state's stability is not tested: it is that of `known` as long as nothing switches on the way.
    """
    try:
        net = network(wiring(case, case.breaks_after(), case.crosses))
        start = first_guess(net, case.supply.nominal)
        for terminal, number in net.node.items() if known is not None else ():
            if number < net.free and known.nodes.get(terminal) is not None:
                start[number] = known.nodes[terminal]
        root = newton(net, start)
    except (LostNeutralError, np.linalg.LinAlgError):
        return None
    return solution(case, net, root, attracting=True, reached=True) if root.solved else None
