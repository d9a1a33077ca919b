"""The plain star inside a case, where there is one: corners, star point, and what weighs on each line."""

from dataclasses import dataclass, replace
from math import isinf

from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.states import before_and_after
from lostneutral.errors import NoSolutionError
from lostneutral.loads import load_model
from lostneutral.studies.lamps import as_resistor
from lostneutral.words.language import tell

REAL_ENOUGH = 1e-3  #: of its size; an admittance with less beside the resistance is drawn as a resistance
BACK_REAL_ENOUGH = 3e-3  #: the same for the way back, where a cable's reactance lies beside a bad joint
ADDS_UP = 3e-3  #: of the largest; line currents that add up to the neutral's within this have no other way back
NEGLIGIBLE = 1e-6  #: of the largest; what is smaller came from rounding


@dataclass(frozen=True)
class Star:
    """One state of a star of resistances: V to the supply's star point, conductances in S."""

    corners: dict[str, complex]  #: line -> V at the point where the loads are connected
    neutral: complex  #: V, the star point as the solver found it
    weights: dict[
        str, float
    ]  #: line -> S between it and the star point, in the settled state; lines without load left out
    way_back: float  #: S from the star point to the supply's star point: 0 = open


class NotAStar(Exception):
    """The constructions would not be exact; the message says why, as the end of "… because"."""


def broken_neutral(case: Case):
    """Return the Break of the neutral that the lesson is about, or None."""
    return next((b for b in case.breaks_after() if b.conductor == "N"), None)


def broken_run(case: Case):
    """Return the name of the point whose feeding run has the broken or bad neutral, or None."""
    found = broken_neutral(case)
    return found and found.feeding


def afterwards(case: Case) -> str:
    """Return what a class calls the state after the break: "neutral out", or "neutral bad" if it is not open."""
    return "neutral out" if isinf(broken_neutral(case).resistance) else "neutral bad"


def _behind(case: Case, run: str) -> tuple[str, ...]:
    """Return the names of the points that are fed through `run`, its own first."""
    found = [run]
    for name in found:
        found += [p.name for p in case.points if p.fed_from == name]
    return tuple(found)


def star_loads(case: Case):
    """Return the loads that are on behind the broken neutral and stand between a line and the neutral."""
    fed = _behind(case, broken_run(case))
    return tuple(
        load
        for load in case.loads
        if load.on and load.point in fed and "N" in load.connect and set(load.connect) & set(case.supply.lines)
    )


def main_point(case: Case) -> str:
    """Return the name of the point that the lesson is about: where the loads stand, else where the break leads."""
    places = dict.fromkeys(load.point for load in star_loads(case))
    return next(iter(places)) if len(places) == 1 else broken_run(case)


def star_behind(case: Case, solution: Solution) -> Star:
    """Return the star behind the broken neutral of `case` in the settled state `solution`.

    Raises NotAStar where it is not one of resistances at one point.
    """
    fed, loads = _behind(case, broken_run(case)), star_loads(case)
    places = {load.point for load in loads}
    if not loads:
        raise NotAStar(tell("no load stands between a line and the neutral behind the break"))
    if len(places) > 1:
        raise NotAStar(tell("the loads are at several points, and the wiring between them has voltages of its own"))
    others = [load.name for load in case.loads if load.on and load.point in fed and "PE" in load.connect]
    if others:
        raise NotAStar(tell("“{item}” is connected to the protective conductor", item=others[0]))
    (point,) = places
    neutral = solution.nodes.get((point, "N"))
    if neutral is None:
        raise NotAStar(tell("the neutral has no defined potential"))
    pulses = [load.name for load in loads if load_model(load, case.supply)[0].stands_in]
    if pulses:
        raise NotAStar(tell("“{item}” draws its current in pulses, which arrows cannot show", item=pulses[0]))
    names, total, weights = {load.name for load in loads}, 0j, {}
    for found in (x for x in solution.loads if x.name in names):
        line, admittance = found.connect[0], found.current / found.voltage if found.voltage else 0j
        if abs(admittance.imag) > REAL_ENOUGH * abs(admittance):
            raise NotAStar(tell("“{item}” is more than a resistance: its current does not keep step with its voltage", item=found.name))
        weights[line] = weights.get(line, 0.0) + admittance.real
        total += found.current
    corners = {line: solution.nodes[point, line] for line in case.point(point).phases}
    return Star(corners, neutral, weights, _way_back(total, neutral, weights))


def _way_back(total, neutral, weights):
    if abs(total) < NEGLIGIBLE * 230 * max(weights.values()) or abs(neutral) < NEGLIGIBLE:
        return 0.0
    admittance = total / neutral
    if abs(admittance.imag) > BACK_REAL_ENOUGH * abs(admittance) or admittance.real < 0:
        raise NotAStar(tell("the way back from the star point is more than a resistance, or others share it"))
    return admittance.real


def by_nameplate(case: Case) -> Case:
    """Return `case` with every filament lamp and heater as the fixed resistor that its nameplate makes of it."""
    return replace(
        case,
        loads=tuple(as_resistor(load) if load_model(load, case.supply)[0].resistor_like else load for load in case.loads),
    )


def nameplate_star(case: Case) -> Star:
    """Return the star of `by_nameplate`, after the break. Raises NotAStar where there is none, or no solution."""
    try:
        after = before_and_after(by_nameplate(case))[1]
    except NoSolutionError:
        raise NotAStar(tell("it does not settle with fixed resistors")) from None
    if after.reached is None:
        raise NotAStar(tell("the loads leave it open which line goes high"))
    return star_behind(case, after.reached)
