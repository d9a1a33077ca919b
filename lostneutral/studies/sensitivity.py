"""What would change the answer: the chief inputs of a case changed one at a time."""

from dataclasses import replace

from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.frozen import dataclass
from lostneutral.studies.near import near

STEP = 0.10  #: share by which each value is changed, up and down
MOST_LOADS = 6
SAME = 0.1  #: V; the state as given must come out again as near as this
EVEN = 6  #: decimals of a volt; what moves the highest voltage alike but for rounding stays in the order of the case

Extremes = tuple[float, float]  #: highest and lowest voltage line to neutral, V


@dataclass(frozen=True)
class Swing:
    """The extremes with one input changed by `STEP`; None where no state lies that near."""

    load: str  #: whose power is changed; "" for the supply's voltage
    lower: Extremes | None
    higher: Extremes | None


@dataclass(frozen=True)
class Sensitivity:
    given: Extremes
    swings: tuple[Swing, ...]  #: what moves the highest voltage most comes first


def sensitivity(case: Case, known: Solution) -> Sensitivity | None:
    """Return the highest and lowest line-to-neutral voltage after the break with each of the chief inputs changed.

    The inputs are the supply's voltage and the power of the largest loads, one at a time, by ±10 %; the settled
    state `known` is followed to where it moves. None where it does not come out again as it is: then it depends on loads
    that have shut down or stalled, and a small change may lead to another state altogether.
    """
    given = _followed(case, known)
    if given is None or max(abs(a - b) for a, b in zip(given, _extremes(case, known))) > SAME:
        return None
    swings = [Swing(load, *(_followed(change(1 + sign * STEP), known) for sign in (-1, 1))) for load, change in _inputs(case)]
    swings.sort(key=lambda s: -round(max((abs(e[0] - given[0]) for e in (s.lower, s.higher) if e), default=0.0), EVEN))
    return Sensitivity(given, tuple(swings))


def _inputs(case):
    supply = case.supply
    yield "", lambda by: replace(case, supply=replace(
        supply, phasors={line: z * by for line, z in supply.phasors.items()}))
    sized = [(i, load) for i, load in enumerate(case.loads)
             if load.on and isinstance(load.parameters.get("power"), (int, float))]
    sized.sort(key=lambda pair: -pair[1].parameters["power"] * pair[1].count)
    for i, load in sized[:MOST_LOADS]:
        yield load.name, lambda by, i=i, load=load: replace(case, loads=(
            *case.loads[:i], replace(load, parameters=dict(load.parameters) | {"power": load.parameters["power"] * by}),
            *case.loads[i + 1:]))


def _followed(case, solution):
    """Return the extremes of `case` in the settled state next to `solution`, or None if there is none that near."""
    found = near(case, solution)
    return None if found is None else _extremes(case, found)


def _extremes(case, solution):
    volts = [abs(v) for p in case.points for line in p.phases if (v := solution.voltage(p.name, line)) is not None]
    return (max(volts), min(volts)) if volts else (0.0, 0.0)
