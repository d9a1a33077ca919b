"""What wears out a three-phase motor: overvoltage, standing still, a winding that is too hot; and the relay that saves it."""

import numpy as np

from lostneutral import data
from lostneutral.loads.wear import ENTRIES, PACES, Law, by_points

_DATA = data.load("machine")


def temperature(heat):
    """Return the temperature (°C) of a winding of that heat (see `Machine.heating`)."""
    return _DATA["winding"]["air"] + _DATA["winding"]["rise"] * np.asarray(heat, float)


def laws(motor):
    """Return the laws of wear of a `Machine`."""
    over, locked, winding = (ENTRIES[name] for name in ("motor_overvoltage", "motor_stalled", "motor_winding"))

    def high(voltage, model, state):
        return by_points((voltage[..., 0:1] / model.voltage)[..., 0] * (model.mode == "running"), over, "ratio")

    def stalled(voltage, model, state):
        heat = model.heating(np.asarray(state, float)[..., 0:1], voltage)[..., 0]
        lasting = (model.mode == "stalled") & (heat > _DATA["winding"]["shed_at_rest"])
        return np.array([np.where(lasting, heat / full / locked[pace], 0.0) for pace in PACES])

    def hot(voltage, model, state):
        above = temperature(np.asarray(state, float)[..., 1]) - _DATA["winding"]["limit"]
        most = np.log2(winding["life_at_limit"] / winding["least"])  # halvings of its life: beyond, it lasts no shorter
        band = [2.0 ** np.minimum(above / winding[f"halving_{pace}"], most) / winding["life_at_limit"] for pace in PACES]
        return np.sort(np.array(band), axis=0)[::-1] * (model.mode == "running")  # of a rotor at rest the law of the stalled motor tells

    def getting_hot(voltage, model, state):
        # Of a winding that warms from its rated heat by its time constant, ageing by the power of two: the time lost on the way.
        rise = float(np.max(np.asarray(state)[..., 1])) - 1
        steps = np.log(2) / winding["halving_central"] * _DATA["winding"]["rise"] * rise
        return _DATA["winding_time"]["value"] * max(np.euler_gamma + np.log(steps), 0.0) if steps > 0 else 0.0

    ports = motor.sizes(motor.voltage)
    full = motor.heating(1.0, ports)[..., 0]
    usual = max(float(np.max(hot(ports, motor, motor.settled(ports))[1])), 1 / winding["usual_life"])
    return (Law("motor_overvoltage", high, 1 / over["usual_life"]), Law("motor_stalled", stalled, 1 / over["usual_life"]),
            Law("motor_winding", hot, usual, getting_hot))


def relay_acts(times):
    """Return within how long (s) an overload relay operates at `times` the current that it is set to; infinite if not."""
    entry = _DATA["overload_relay"]
    if times < entry["always"]:
        return np.inf
    return float(np.exp(np.interp(np.log(times), np.log(entry["multiple"]), np.log(entry["within"]))))
