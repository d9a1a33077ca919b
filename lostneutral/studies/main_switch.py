"""What opening the main switch of an installation leaves on its metalwork: its own loads are gone, its neighbours' are not."""

from dataclasses import replace

from lostneutral.case.model import Break, Case, Cross, Point
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import EARTH, terminal_names
from lostneutral.consequences.upstream import beyond, crosses_towards, pen_breaks
from lostneutral.frozen import dataclass
from lostneutral.studies.near import near

MOST = 4  #: installations that are looked at, those with the highest voltage


@dataclass(frozen=True)
class Opened:
    """An intake with its main switch open; V on its earth terminal to remote earth, None where nothing determines it."""

    point: str
    volts: float | None  #: with the switch closed
    left: float | None  #: with it open
    others: tuple[str, ...]  #: points with loads on behind the same fault
    solved: bool = True  #: False: no settled state was found with the switch open, and nothing is known of `left`


def main_switch(case: Case, solution: Solution) -> tuple[Opened, ...]:
    """Return what the open main switch of an intake leaves on its metalwork.

    Of the intakes whose protective conductor depends on a broken or transposed one, those with the highest voltage to
    remote earth. The switch takes off every load at the intake and beyond it, not the protective conductor.
    """
    found = []
    for point in case.points:
        faults = (*pen_breaks(case, point), *crosses_towards(case, point))
        if point.kind == "intake" and faults and "PE" in terminal_names(case, point):
            volts = solution.between((point.name, "PE"), EARTH)
            found.append((None if volts is None else abs(volts), point, faults))
    found.sort(key=lambda f: -(f[0] if f[0] is not None else case.supply.nominal))
    return tuple(_opened(case, solution, *f) for f in found[:MOST])


def _opened(case: Case, solution: Solution, volts: float | None, point: Point, faults: tuple[Break | Cross, ...]) -> Opened:
    own = beyond(case, point)
    places = (f.feeding if isinstance(f, Break) else f.point for f in faults)
    behind = frozenset[str]().union(*(beyond(case, case.point(name)) for name in places)) - own
    others = tuple(dict.fromkeys(load.point for load in case.loads if load.on and load.point in behind))
    off = replace(case, loads=tuple(replace(x, on=x.on and x.point not in own) for x in case.loads))
    state = near(off, solution)
    left = state and state.between((point.name, "PE"), EARTH)
    return Opened(point.name, volts, None if left is None else abs(left), others, state is not None)
