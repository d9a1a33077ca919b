"""Solar and battery inverters that feed in: constant power up to a current, off outside the limits of their connection."""

import numpy as np

from lostneutral import data
from lostneutral.loads.converter import WIRES, Converter

_DATA = data.load("converter")
STANDARDS = {entry["name"]: entry for entry in _DATA["standard"]}


def from_keys(given):
    """Return the model of a source of the case, by the keys that `given` has (see `lostneutral.loads.build`)."""
    keys, voltage, power = given.load.parameters, given.load.voltage, given.per_branch("power")
    usual = _DATA["inverter"]["standard" if given.supply.frequency < 55 else "standard_60_hz"]
    limits = STANDARDS[given.value("standard", usual)]
    given.note("limits of connection", {**limits, "value": _words(limits), "unit": ""})
    scale = np.asarray(voltage, float) / 230.0
    rated = power / np.asarray(voltage, float)
    factor = keys.get("power_factor", 1.0)
    edges = {side: tuple((volts * scale, seconds) for volts, seconds in limits[side]) for side in ("below", "above")}
    low, high = (volts * scale for volts in limits["reconnects"])
    return Converter(
        power, voltage, keys["current"] if "current" in keys else rated * given.value("current_limit", _DATA["inverter"]["current_limit"]),
        gives=True, wires=WIRES[len(given.load.connect)], tangent=np.tan(np.arccos(factor)), healthy=(low, high), **edges,
        restart_delay=given.value("restart_delay", {**limits, "value": limits["after"], "unit": "s"}))


def _words(limits):
    stages = [f"{'below' if side == 'below' else 'above'} {volts:g} V for {seconds:g} s"
              for side in ("below", "above") for volts, seconds in limits[side]]
    low, high = limits["reconnects"]
    return f"off {', '.join(stages)}; on again within {low:g} to {high:g} V for {limits['after']:g} s (at 230 V)"
