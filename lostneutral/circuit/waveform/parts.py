"""What the loads of a case are in time: bridges with their links, varistors, harmonic sources."""

from dataclasses import dataclass
from math import sqrt

import numpy as np

from lostneutral import data
from lostneutral.case.model import Load

_ELECTRONIC = data.load("electronic")
_WAVEFORM = data.load("waveform")


@dataclass(frozen=True)
class Bridge:
    """All units of one load together: full bridge, bulk capacitor, constant power behind it."""

    power: float  #: W behind the link
    capacitance: float  #: F
    resistance: float  #: Ω in series with the bridge
    drop: float  #: V, both diodes that conduct
    cut_off: float  #: V d.c. below which the load stops
    restart: float  #: V d.c. at which it starts again; equal to `cut_off`: no hysteresis
    fade: float  #: V below `cut_off` over which the current falls to zero, where there is no hysteresis
    leakage: float  #: Ω across the inlet
    suppressor: float  #: F across the inlet

    @property
    def hysteresis(self):
        """Whether it cuts off and restarts at different voltages."""
        return self.restart > self.cut_off


def bridge_of(load: Load) -> Bridge | None:
    """Return the bridge that an `electronic` load with front end "rectifier" is, else None.

    Keys read: power, front_end, works_from, capacitance, inlet_resistance, bridge_drop, restarts_from, leakage,
    suppressor. Defaults: ``electronic.toml`` and ``waveform.toml``.
    """
    if load.kind != "electronic":
        return None
    p, n = load.parameters, load.count
    power = p["power"]
    end = p.get("front_end") or ("rectifier" if power < _ELECTRONIC["front_end"]["corrected_from"] else "corrected")
    if end != "rectifier":
        return None
    cut = sqrt(2) * p.get("works_from", _ELECTRONIC["works_from"]["value"])
    fade = p.get("fade", _ELECTRONIC["fade"]["value"])
    power = power / (3 if len(load.connect) == 3 else 1)
    return Bridge(
        n * power, n * p.get("capacitance", _ELECTRONIC["capacitance"]["rectifier"]["value"] * power),
        p.get("inlet_resistance", _WAVEFORM["inlet_resistance"]["value"]) / n,
        p.get("bridge_drop", _WAVEFORM["bridge_drop"]["value"]), cut,
        cut * p.get("restarts_from", _ELECTRONIC["restarts_from"]["value"]), cut * fade,
        p.get("leakage", _ELECTRONIC["leakage"]["value"]) / n, n * p.get("suppressor", 0.0))


def varistor_of(load: Load):
    """Return (reference voltage V, exponent, A at that voltage) of a load's varistor, None where it has none.

    A load of kind `varistor` (key `rating`, V r.m.s.) or one whose `protection` is a rating.
    """
    from lostneutral.loads.varistor import reference_voltage

    p = load.parameters
    rating = p.get("rating", data.load("varistor")["reference_rating"]["value"]) if load.kind == "varistor" else (
        p.get("protection", "none"))
    if rating in ("none", None):
        return None
    law = data.load("varistor")["law"]
    return (float(reference_voltage(rating)), p.get("exponent", law["exponent"]), law["reference_current"] * load.count)


def spectrum_of(load: Load, source_angle: float, branches: int):
    """Return (orders, complex peak currents A) of a `harmonic` load, beside its fundamental.

    The fundamental is a resistance, `power` at rated voltage; the harmonics are currents of fixed size in parallel with
    it (a Norton source), `shares` of the rated fundamental current, at `angles` (degrees) with the h-th harmonic of the
    source voltage across the load's terminals as the zero: the h-th current is √2 I1 share cos(h (ωt + φ) + angle).
    """
    table, p = _WAVEFORM["harmonic"], load.parameters
    orders, shares, angles = (p.get(key, table[key]) for key in ("orders", "shares", "angles"))
    rated = load.count * p["power"] / load.voltage / branches
    turn = np.array(orders, float) * source_angle + np.radians(angles)
    return tuple(orders), sqrt(2) * rated * np.array(shares) * np.exp(1j * turn)
