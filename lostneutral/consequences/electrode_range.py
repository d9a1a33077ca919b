"""Touch voltage against the resistance of a point's own electrode, for what a case does not give."""

from dataclasses import dataclass, replace

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import first_guess, newton
from lostneutral.circuit.wiring import EARTH, wiring
from lostneutral.consequences.upstream import pen_breaks
from lostneutral.errors import NoSolutionError


@dataclass(frozen=True, eq=False)
class TouchRange:
    point: str
    ohms: np.ndarray  #: resistance of the point's own electrode
    volts: np.ndarray  #: earth terminal to remote earth
    as_if: bool  #: the earthing is not given, TN-C-S was taken
    without: float | None = None  #: V with no electrode at all (a combined conductor only); None: not determined


def electrode_range():
    """Return the lowest and highest resistance (ohm) of the range."""
    entry = data.load("touch")["electrode_range"]
    return entry["low"], entry["high"]


def touch_range(case: Case, point=None, ohms=None) -> TouchRange | None:
    """Return the touch voltage after the break at an intake behind a broken PEN, or in TT, against its own electrode.

    `point` defaults to the first such intake of which no electrode is given, nearest the supply's end of the file;
    None if there is none, or if no solution was found. Without `supply.earthing` TN-C-S is taken. Where several
    settled states are possible this follows one of them from resistance to resistance.
    """
    whole = case if case.supply.earthing else replace(case, supply=replace(case.supply, earthing="TN-C-S"))
    given = case.supply.earthing is not None
    if point is None:
        faulted = whole.breaks_after() or whole.crosses
        point = next((p.name for p in whole.points if p.kind == "intake" and not (given and p.electrode is not None)
                      and (pen_breaks(whole, p) or (whole.supply.earthing == "TT" and faulted))), None)
        if point is None:
            return None
    ohms = np.geomspace(*electrode_range(), 25) if ohms is None else np.asarray(ohms, float)
    volts, start = [], None
    none = () if whole.supply.earthing == "TT" else (None,)
    for resistance in (*ohms, *none):
        own = None if resistance is None else float(resistance)
        points = tuple(replace(p, electrode=own) if p.name == point else p for p in whole.points)
        try:
            net = network(wiring(replace(whole, points=points), whole.breaks_after(), whole.crosses))
            root = newton(net, first_guess(net, case.supply.nominal) if start is None else start)
        except (NoSolutionError, np.linalg.LinAlgError):
            return None
        if not root.solved:
            return None
        start = root.voltages
        here = net.node.get((point, "PE"))
        volts.append(None if here is None or EARTH not in net.node else abs(start[here] - start[net.node[EARTH]]))
    return TouchRange(point, ohms, np.array(volts[:len(ohms)], float), not given, volts[-1] if none else None)
