"""What the loads of a case are in time: bridges with their links, varistors, harmonic sources."""

from dataclasses import dataclass
from math import sqrt

import numpy as np

from lostneutral import data
from lostneutral.case.model import Load
from lostneutral.loads.catalogue import resolve
from lostneutral.loads.electronic import default_front_end, default_window
from lostneutral.loads.varistor import reference_voltage

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

    def taken(self, link):
        """Return the power (W) behind a link of `link` (V): constant down to the cut-off, then fading to nothing."""
        low = np.clip((np.asarray(link, float) - self.cut_off + self.fade) / self.fade, 0, 1)
        return self.power * low * low * (3 - 2 * low)


def bridge_of(load: Load) -> Bridge | None:
    """Return the bridge that an `electronic` load with front end "rectifier" is, else None.

    Keys read: power, front_end, works_from and restarts_from (V r.m.s. whose crest is the link's), capacitance (F), and,
    of the inlet, inlet_resistance (Ω), bridge_drop (V), leakage (Ω), suppressor (F across it, default none). Power and
    capacitance of a three-phase load are those of its three branches together. Defaults: ``electronic.toml`` and
    ``waveform.toml``.
    """
    load = resolve(load)
    p, n, branches = load.parameters, load.count, 3 if len(load.connect) == 3 else 1
    if load.kind != "electronic":
        return None
    power = p["power"] / branches
    if (p.get("front_end") or default_front_end(power)) != "rectifier":
        return None
    works_from = p.get("works_from") or default_window(load.voltage)[0]
    cut = sqrt(2) * works_from
    restart = sqrt(2) * (p.get("restarts_from") or works_from * _ELECTRONIC["restarts_from"]["value"])
    capacitance = p["capacitance"] / branches if "capacitance" in p else \
        _ELECTRONIC["capacitance"]["rectifier"]["value"] * power
    return Bridge(
        n * power, n * capacitance, p.get("inlet_resistance", _WAVEFORM["inlet_resistance"]["value"]) / n,
        p.get("bridge_drop", _WAVEFORM["bridge_drop"]["value"]), cut, restart, cut * _ELECTRONIC["fade"]["value"],
        p.get("leakage", _WAVEFORM["leakage"]["value"]) / n, n * p.get("suppressor", 0.0))


def varistor_of(load: Load):
    """Return (reference voltage V, exponent, A at that voltage) of a load's varistor, None where it has none.

    A load of kind `varistor` (key `rating`, V r.m.s.), or a rectifier whose `protection` is a rating; in other loads the
    varistor is part of what they draw at their r.m.s. voltage.
    """
    load = resolve(load)
    p, entry = load.parameters, data.load("varistor")
    if load.kind == "varistor":
        rating = p.get("rating", entry["reference_rating"]["value"])
    else:
        rating = p.get("protection") if bridge_of(load) is not None else None
    if rating in ("none", None):
        return None
    return (float(reference_voltage(rating)), entry["law"]["exponent"], entry["law"]["reference_current"] * load.count)


def spectrum_of(load: Load, source_angle: float, branches: int):
    """Return (orders, complex peak currents A) of a `harmonic` load, beside its fundamental.

    The fundamental is a resistance, `power` at rated voltage; the harmonics are currents of fixed size in parallel with
    it (a Norton source), `shares` of the rated fundamental current, at `angles` (degrees) with the h-th harmonic of the
    source voltage across the load's terminals as the zero: the h-th current is √2 I1 share cos(h (ωt + φ) + angle).
    """
    table, p = _WAVEFORM["harmonic"], load.parameters
    orders, shares, angles = (p.get(key, table[key]) for key in ("orders", "shares", "angles"))
    rated = load.count * p["power"] / load.voltage / branches
    if "orders" in p and "angles" not in p:
        angles = [0.0] * len(orders)
    turn = np.array(orders, float) * source_angle + np.radians(angles)
    return tuple(orders), sqrt(2) * rated * np.array(shares) * np.exp(1j * turn)
