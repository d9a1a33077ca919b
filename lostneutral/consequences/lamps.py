"""Filament lamps beside the fixed resistors that they are often taken for."""

from dataclasses import dataclass, replace

from lostneutral.case.model import Case
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.solution import State
from lostneutral.circuit.states import settle
from lostneutral.errors import NoSolutionError
from lostneutral.loads import load_model
from lostneutral.loads.catalogue import resolve

WORTH_SAYING = 0.01  #: of rated voltage; a smaller difference is not told


@dataclass(frozen=True)
class LampDivision:
    """A lamp after the break, as it is and as a fixed resistor of its rated power (V)."""

    load: str
    as_lamp: float
    as_resistor: float


def lamp_division(case: Case, after: State) -> tuple[LampDivision, ...]:
    """Return the voltages of all lamps that are on, and what they would be if each kept its rated resistance.

    A filament that gets less is cooler and its resistance lower, so that it gives way to its partner in series more than
    a resistor would. Empty if no lamp differs by 1 % of its rated voltage, or either circuit arrives nowhere.
    """
    lamps = {load.name for load in case.loads if load.on and load_model(load, case.supply)[0].gives_light}
    if not lamps or after.reached is None:
        return ()
    fixed = replace(case, loads=tuple(as_resistor(load) if load.name in lamps else load for load in case.loads))
    try:
        state = settle(fixed, start=after.reached)
    except NoSolutionError:
        return ()
    if state is None:
        return ()
    found = solution(fixed, state.net, state.root, attracting=state.attracting, reached=True)
    pairs = [(load, now, then) for load, now, then in zip(case.loads, after.reached.loads, found.loads)
             if load.name in lamps and now.voltage is not None and then.voltage is not None]
    if all(abs(abs(now.voltage) - abs(then.voltage)) < WORTH_SAYING * load.voltage for load, now, then in pairs):
        return ()
    return tuple(LampDivision(load.name, abs(now.voltage), abs(then.voltage)) for load, now, then in pairs)


def as_resistor(load):
    """Return `load` as the fixed resistor that its nameplate makes of it."""
    return replace(load, kind="resistive", parameters={"power": resolve(load).parameters["power"]})
