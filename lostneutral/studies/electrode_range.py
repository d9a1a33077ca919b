"""Touch voltage against the resistance of a point's own electrode, for what a case does not give."""

from dataclasses import replace

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import EARTH
from lostneutral.consequences.upstream import pen_breaks
from lostneutral.frozen import dataclass
from lostneutral.studies.near import state_near


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


def with_electrodes(case: Case) -> Case:
    """Return `case` with an electrode of the highest resistance of the range at each intake of TT of which none is given: there is one."""
    if case.supply.earthing != "TT":
        return case
    ohms = electrode_range()[1]
    return replace(case, points=tuple(replace(p, electrode=ohms) if p.kind == "intake" and p.electrode is None else p for p in case.points))


def touch_range(case: Case, known: Solution | None = None, point=None, ohms=None) -> TouchRange | None:
    """Return the touch voltage after the break at an intake behind a broken PEN, or in TT, against its own electrode.

    `point` defaults to the first such intake of which no electrode is given, nearest the supply's end of the file;
    None if there is none, or if the state is lost on the way. Without `supply.earthing` TN-C-S is taken. The settled
    state `known` of the case as it stands is followed from resistance to resistance.
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
    volts, state = [], known
    none = () if whole.supply.earthing == "TT" else (None,)
    for resistance in (*ohms, *none):
        own = None if resistance is None else float(resistance)
        points = tuple(replace(p, electrode=own) if p.name == point else p for p in whole.points)
        state = state_near(replace(whole, points=points), state)
        if state is None:
            return None
        here, earth = (state.net.node.get(terminal) for terminal in ((point, "PE"), EARTH))
        volts.append(None if None in (here, earth) else abs(state.root.voltages[here] - state.root.voltages[earth]))
    return TouchRange(point, ohms, np.array(volts[:len(ohms)], float), not given, volts[-1] if none else None)
