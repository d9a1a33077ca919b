"""What holds whatever the loads, as distinct from what is merely likely."""

from dataclasses import replace

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.wiring import pairs
from lostneutral.evidence.sampling import may_be_on
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model

UP_TO = 3.0  #: times rated voltage up to which a load is looked at for reactance
SMALL = 0.05  #: share of the widest voltage that the drops across reactances of cables may add to a bound


@dataclass(frozen=True)
class Guarantee:
    """The bound that holds with any of the loads on or off, or why there is none."""

    highest: float | None  #: V, no line stands farther from the neutral
    reason: str


def guarantee(case: Case) -> Guarantee:
    """Return the highest voltage line to neutral that the loads of `case` can bring about, if that is certain.

    In a network of positive resistances every node lies within the hull of the sources (each is a weighted mean of its
    neighbours), so no neutral is farther from a line than the farthest source is. It holds at any voltage, whatever
    their powers and however many are on, and for breaks and joints of any resistance; not with reactive loads. The
    reactance of cables acts as a source in series of at most reactance times current, of which no node feels more than
    the whole: the bound is that much higher, by the largest currents that the loads can draw.
    """
    against, reactances = _reactive_loads(case), _reactances(case)
    if against:
        return _none(against)
    supply = case.supply
    points = [*supply.phasors.values(), 0j]
    widest = max(abs(a - b) for a in supply.phasors.values() for b in points)
    spreads = [u.supply_voltage for u in case.unknowns if u.supply_voltage]
    said = ""
    if spreads:
        if spreads[0].high is None:
            return Guarantee(None, "No bound is certain: the supply's voltage follows a normal law, which has no "
                                   "upper limit.")
        widest *= spreads[0].high / np.mean([abs(v) for v in supply.phasors.values()])
        said = f", at the highest supply voltage given, {spreads[0].high:g} V"
    added = sum(reactances.values()) * _most_current(case, widest) if reactances else 0.0
    if added > SMALL * widest:
        return _none([f"the cable to {name}" if name else "the supply" for name in reactances])
    if added:
        said += f"; the reactance of the cables can add {max(added, 0.1):.1f} V, which is in it"
    widest += added
    inside = "lie beyond either line" if supply.system == "split-phase" else "leave the triangle of the lines"
    return Guarantee(float(widest), "Every load and every conductor is a resistance, so the neutral cannot "
                                    f"{inside}, whichever "
                     f"loads are on and however large they are{said}.")


def _none(against):
    named = against if len(against) <= 4 else [*against[:3], f"{len(against) - 3} more"]
    return Guarantee(None, f"No bound is certain: there is reactance in {', '.join(named)}, and inductive loads with "
                           "capacitive ones can drive a line-to-neutral voltage beyond the line-to-line voltage.")


def _reactive_loads(case):
    return [f"load {load.name}" for load, may in zip(case.loads, may_be_on(case)) if may and not _resistive(load, case)]


def _reactances(case):
    """{point (or "" for the supply): reactance (ohm) of all conductors of its cable together}, of those that have any."""
    found = {p.name: len(p.phases) * abs(p.cable.line.imag) + abs(p.cable.neutral.imag) + abs(p.cable.pe.imag) for p in case.points}
    found[""] = len(case.supply.lines) * abs(case.supply.line_impedance.imag) + abs(case.supply.neutral_impedance.imag)
    return {name: ohms for name, ohms in found.items() if ohms}


def _most_current(case, widest):
    """The largest current (A) that all loads which may be on can draw together at up to `widest` (V)."""
    high = {u.load: u.power.high if u.power.high is not None else np.inf for u in case.unknowns if u.power}
    total, volts = 0.0, np.linspace(0.0, widest * (1 + SMALL), 200)
    for load, may in zip(case.loads, may_be_on(case)):
        if may:
            if load.name in high:
                load = replace(load, parameters={**load.parameters, "power": high[load.name]}) if np.isfinite(high[load.name]) else None
            if load is None:
                return np.inf
            model = load_model(load, case.supply)[0]
            if model.short:
                return np.inf
            total += load.count * len(pairs(load.connect)) * float(np.max(np.abs(model.response(volts)[0]) * volts))
    return total


def _resistive(load, case):
    model = load_model(load, case.supply)[0]
    if model.short:
        return True
    volts = np.linspace(0.0, UP_TO * load.voltage, 61)
    each = np.array([m.admittance(m.settled(volts)) for m in map(model.in_mode, model.modes)])
    return bool((each.real >= 0).all() and (np.abs(each.imag) <= 1e-12 * np.abs(each)).all())
