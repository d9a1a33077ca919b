"""Filament lamps beside the fixed resistors that they are often taken for."""

from dataclasses import replace

from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model
from lostneutral.loads.catalogue import resolve
from lostneutral.studies.near import near

WORTH_SAYING = 0.01  #: of rated voltage; a smaller difference is not told


@dataclass(frozen=True)
class LampDivision:
    """A lamp after the break, as it is and as a fixed resistor of its rated power (V)."""

    load: str
    as_lamp: float
    as_resistor: float


def lamp_division(case: Case, known: Solution) -> tuple[LampDivision, ...]:
    """Return the voltages in `known` of all lamps of `case` that are on, and what they would be if each kept its rated resistance.

    A filament that gets less is cooler and its resistance lower, so that it gives way to its partner in series more than
    a resistor would. Empty if no lamp differs by 1 % of its rated voltage, or no such state lies next to `known`.
    """
    lamps = {load.name for load in case.loads if load.on and load_model(load, case.supply)[0].gives_light}
    if not lamps:
        return ()
    fixed = replace(case, loads=tuple(as_resistor(load) if load.name in lamps else load for load in case.loads))
    found = near(fixed, known)
    if found is None:
        return ()
    pairs = [(load, now, then) for load, now, then in zip(case.loads, known.loads, found.loads)
             if load.name in lamps and now.voltage is not None and then.voltage is not None]
    if all(abs(abs(now.voltage) - abs(then.voltage)) < WORTH_SAYING * load.voltage for load, now, then in pairs):
        return ()
    return tuple(LampDivision(load.name, abs(now.voltage), abs(then.voltage)) for load, now, then in pairs)


def as_resistor(load):
    """Return `load` as the fixed resistor that its nameplate makes of it."""
    return replace(load, kind="resistive", parameters={"power": resolve(load).parameters["power"]})
