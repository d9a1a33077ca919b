"""What the loads of a case are in time: bridges with their links, varistors, harmonic sources."""

from math import sqrt

import numpy as np

from lostneutral.case.model import Load, Supply
from lostneutral.loads import load_model
from lostneutral.loads.bridge import Bridge

_ANY = Supply({})  #: no part of a load in time depends on its supply


def model_of(load: Load):
    """Return the model of one unit of `load` (one branch of a balanced three-phase load)."""
    return load_model(load, _ANY)[0]


def bridge_of(load: Load) -> Bridge | None:
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
