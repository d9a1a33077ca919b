"""What the loads of a case are in time: bridges with their links, varistors, harmonic sources; and whether that matters."""

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case, Load, Supply
from lostneutral.loads import load_model

if TYPE_CHECKING:
    from lostneutral.loads.bridge import Bridge

_ANY = Supply({})  #: no part of a load in time depends on its supply


def model_of(load: Load):
    """Return the model of one unit of `load` (one branch of a balanced three-phase load)."""
    return load_model(load, _ANY)[0]


def bridge_of(load: Load) -> "Bridge | None":
    """Return the bridge that all units of a load (of one branch of a three-phase load) are together, or None."""
    bridge = model_of(load).bridge
    return None if bridge is None else bridge.units(load.count)


def clamp_of(load: Load):
    """Return (reference voltage V, exponent, A at that voltage) of a load's varistor, None where it has none."""
    clamp = model_of(load).clamp
    return None if clamp is None else (*clamp[:2], clamp[2] * load.count)


def spectrum_of(load: Load, source_angle: float):
    """Return (orders, complex peak currents A) of the harmonic currents of a load of which that is the model, else None.

    The h-th current is √2 I1 share cos(h (ωt + φ) + angle), with the h-th harmonic of the source voltage across the
    load's terminals, at `source_angle` (rad), as the zero.
    """
    model = model_of(load)
    if model.harmonics is None:
        return None
    orders, shares, angles = model.harmonics
    rated = load.count * model.power / load.voltage
    turn = np.array(orders, float) * source_angle + np.radians(angles)
    return tuple(orders), sqrt(2) * rated * np.array(shares) * np.exp(1j * turn)


def rectifier_share(case: Case) -> float:
    """Return the share of the connected power (0 … 1), at rated voltage, that rectifier and harmonic loads have."""
    total = pulsed = 0.0
    for load in (load for load in case.loads if load.on):
        model = model_of(load)
        if model.short:
            continue
        power = model.branch_admittance(load.voltage).real * load.voltage**2 * load.branches * load.count
        total += float(power)
        if model.harmonics is not None or model.bridge is not None:
            pulsed += float(power)
    return pulsed / total if total else 0.0


def matters(case: Case) -> bool:
    """Return whether rectifier and harmonic loads carry more than the share from which phasors are not trusted.

    Not where a line is lost to a three-phase machine: in time it is three impedances, and its back electromotive force is not there.
    """
    lost = any(b.conductor[0] == "L" for b in case.breaks_after())
    if lost and any(load.on and len(model_of(load).ports) > 1 for load in case.loads):
        return False
    return rectifier_share(case) > data.load("waveform")["share"]["value"]


def too_many_pulses(case: Case) -> bool:
    """Return whether `case` has more loads that draw pulses than are followed unless it is asked for."""
    pulsing = [load for load in case.loads if load.on and bridge_of(load) is not None]
    return len(pulsing) > data.load("waveform")["most"]["value"]
