"""The impedance by which metalwork is fed: what limits the current through somebody who touches it."""

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import EARTH
from lostneutral.consequences.touch import touch_voltages
from lostneutral.studies.near import shown_impedances, state_near

MOST = 150  #: earth terminals up to which it is worked out


def feeding_impedances(case: Case, solution: Solution) -> dict[str, complex]:
    """Return {point: ohm, between its earth terminal and remote earth}, loads held as they are, where a touch there matters.

    Empty where that is not known: of more terminals than `MOST`, and where no settled state lies next to `solution`.
    """
    above = data.load("touch")["limit_special"]["value"]
    points = [name for name, volts in touch_voltages(case, solution).items() if volts is not None and volts > above]
    state = state_near(case, solution) if 0 < len(points) <= MOST else None
    if state is None or EARTH not in state.net.node:
        return {}
    node = state.net.node
    there = [name for name in points if (name, "PE") in node]
    ends = np.array([(node[name, "PE"], node[EARTH]) for name in there], int).reshape(-1, 2)
    return dict(zip(there, shown_impedances(state.net, state.root, ends).tolist()))
