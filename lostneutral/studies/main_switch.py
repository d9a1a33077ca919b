"""What opening the main switch of an installation leaves on its metalwork: its own loads are gone, its neighbours' are not."""

from dataclasses import replace

from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import EARTH, terminal_names
from lostneutral.consequences.upstream import beyond, crosses_towards, pen_breaks
from lostneutral.studies.near import near

MOST = 4  #: installations that are looked at, those with the highest voltage


def main_switch(case: Case, solution: Solution) -> tuple[tuple[str, float | None, float | None, tuple[str, ...]], ...]:
    """Return (intake, V on its earth terminal, V left with its main switch open, neighbours behind the fault) of each.

    Of the intakes whose protective conductor depends on a broken or transposed one, those with the highest voltage to
    remote earth. The switch takes off every load at the intake and beyond it, not the protective conductor. None where
    no state was found, or nothing ties the terminal down.
    """
    found = []
    for point in case.points:
        faults = (*pen_breaks(case, point), *crosses_towards(case, point))
        if point.kind == "intake" and faults and "PE" in terminal_names(case, point):
            volts = solution.between((point.name, "PE"), EARTH)
            found.append((None if volts is None else abs(volts), point, faults))
    found.sort(key=lambda f: -(f[0] if f[0] is not None else case.supply.nominal))
    return tuple(_opened(case, solution, *f) for f in found[:MOST])


def _opened(case, solution, volts, point, faults):
    own = beyond(case, point)
    behind = frozenset().union(*(beyond(case, case.point(getattr(f, "feeding", None) or f.point)) for f in faults)) - own
    others = tuple(dict.fromkeys(load.point for load in case.loads if load.on and load.point in behind))
    off = replace(case, loads=tuple(replace(x, on=x.on and x.point not in own) for x in case.loads))
    state = near(off, solution)
    left = state and state.between((point.name, "PE"), EARTH)
    return point.name, volts, None if left is None else abs(left), others
