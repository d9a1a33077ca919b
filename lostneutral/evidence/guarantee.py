"""What holds whatever the loads, as distinct from what is merely likely."""

from dataclasses import dataclass

import numpy as np

from lostneutral.case.model import Case
from lostneutral.evidence.sampling import may_be_on
from lostneutral.loads import load_model

UP_TO = 3.0  #: times rated voltage up to which a load is looked at for reactance


@dataclass(frozen=True)
class Guarantee:
    """The bound that holds with any of the loads on or off, or why there is none."""

    highest: float | None  #: V, no line stands farther from the neutral
    reason: str


def guarantee(case: Case) -> Guarantee:
    """Return the highest voltage line to neutral that the loads of `case` can bring about, if that is certain.

    In a network of positive resistances every node lies within the hull of the sources (each is a weighted mean of its
    neighbours), so no neutral is farther from a line than the farthest source is. It holds at any voltage, whatever
    their powers and however many are on, and for breaks and joints of any resistance; not with reactance anywhere.
    """
    against = _reactive(case)
    if against:
        return Guarantee(None, f"No bound is certain: there is reactance in {', '.join(against)}, and inductive "
                               "loads with "
                         "capacitive ones can drive a line-to-neutral voltage beyond the line-to-line voltage.")
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
    inside = "lie beyond either line" if supply.system == "split-phase" else "leave the triangle of the lines"
    return Guarantee(float(widest), "Every load and every conductor is a resistance, so the neutral cannot "
                                    f"{inside}, whichever "
                     f"loads are on and however large they are{said}.")


def _reactive(case):
    found = [f"load {load.name}" for load, may in zip(case.loads, may_be_on(case)) if may and not _resistive(load, case)]
    cables = [p.name for p in case.points if any(z.imag for z in (p.cable.line, p.cable.neutral, p.cable.pe))]
    found += [f"the cable to {name}" for name in cables]
    if case.supply.line_impedance.imag or case.supply.neutral_impedance.imag:
        found.append("the supply")
    return found if len(found) <= 4 else [*found[:3], f"{len(found) - 3} more"]


def _resistive(load, case):
    model = load_model(load, case.supply)[0]
    if model.short:
        return True
    volts = np.linspace(0.0, UP_TO * load.voltage, 61)
    each = np.array([m.admittance(m.settled(volts)) for m in map(model.in_mode, model.modes)])
    return bool((each.real >= 0).all() and (np.abs(each.imag) <= 1e-12 * np.abs(each)).all())
