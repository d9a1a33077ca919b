"""Power converters that set their current: vehicle chargers take it, solar and battery inverters give it."""

from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads.base import Low
from lostneutral.loads.switching import Switching

_DATA = data.load("converter")
WIRES = {2: "two", 3: "delta", 4: "star"}
"""How many ends a load has -> how it is connected."""


def limited(power, voltage, low, span):
    """Return (current A, its slope A/V): `power` over the voltage (V) above `low` + `span`, constant below `low`.

    In between the two are joined by a parabola in the divisor, so that the law is smooth.

    >>> print(np.round(limited(1000.0, np.array([150.0, 200.0, 250.0]), 195.0, 10.0)[0], 3))
    [5.    4.969 4.   ]
    """
    v, low = np.asarray(voltage, float), np.asarray(low, float)
    into = np.minimum(np.maximum((v - low) / span, 0), 1)
    divisor = np.maximum(v, low + span / 2 * (1 + into**2))
    return power / divisor, -power / divisor**2 * into


@dataclass(frozen=True)
class Converter(Switching):
    """A converter that takes (or, with `gives`, feeds in) `power` (W) at `voltage` (V), but never more than `current` (A).

    Where `power` asks for more than `current` the current is constant, above that voltage the power is. In phase with the
    voltage but for `tangent` (reactive over active power, inductive positive) and a filter of `susceptance` (S) across its
    terminals. State: the conductance (S; negative where it gives), which the control moves with the time constant `lag`.
    It goes off outside the edges `below` and `above`, each with its delay, and comes back within `healthy` after
    `restart_delay` (see `Switching`); off it leaves a leakage only.

    On three lines ("star", each to neutral; "delta") all share one control: one voltage beyond its edge switches all off, and all have
    to be healthy before it comes back. `power` and `current` are those of one of the three.

    Range: steady control; within a cycle of the supply it holds its current. Frequency is that of the supply, so that its
    limits of frequency do not act.

    >>> car = Converter(power=7360.0, voltage=230.0, current=32.0)
    >>> for v in (260.0, 230.0, 180.0):
    ...     print(f"{v:.0f} V: {v * car.settled(v):.2f} A")
    260 V: 28.31 A
    230 V: 32.00 A
    180 V: 32.32 A
    """

    power: float
    voltage: float
    current: float
    gives: bool = False
    tangent: float = 0.0
    susceptance: float = 0.0
    wires: str = "two"  #: or "star", three lines and neutral, or "delta", three lines: one control, power and current a line
    lag: float = _DATA["lag"]["value"]
    below: tuple[tuple[float, float], ...] = ()
    above: tuple[tuple[float, float], ...] = ()
    healthy: tuple[float, float] = (0.0, np.inf)

    gives_light = False
    sets_current = True
    told_by_ports = True
    _PORTS = {"two": ((1.0, -1.0),), "star": ((1.0, 0.0, 0.0, -1.0), (0.0, 1.0, 0.0, -1.0), (0.0, 0.0, 1.0, -1.0)),
              "delta": ((1.0, -1.0, 0.0), (0.0, 1.0, -1.0), (-1.0, 0.0, 1.0))}

    @property
    def ports(self):
        return self._PORTS[self.wires]

    def sizes(self, voltage):
        voltage = np.asarray(voltage, float)
        return voltage if self.wires == "two" else np.stack([voltage] * 3, axis=-1)

    @property
    def charges_vehicle(self):
        return not self.gives

    @property
    def on_or_off(self):
        return bool(self.below or self.above)

    @cached_property
    def leakage(self):
        """What is left when it has gone off, S."""
        return _DATA["leakage"]["value"] * np.asarray(self.power) / np.asarray(self.voltage, float) ** 2

    def _settled(self, voltage):
        """Settled conductance and its slope while it is on."""
        v = np.asarray(voltage, float)
        knee, least = np.asarray(self.power) / self.current, _DATA["held_below"]["value"] * np.asarray(self.voltage, float)
        span = _DATA["knee"]["value"] * knee
        current, slope = limited(self.power, np.maximum(v, least), knee - span, span)
        safe, sign = np.maximum(v, least), -1.0 if self.gives else 1.0
        g = current / safe
        return sign * g, sign * np.where(v > least, (slope - g) / safe, 0.0)

    def admittance(self, state):
        if self.mode == "cut off":
            return self.leakage + 0j * np.asarray(state)
        return np.asarray(state) * (1 - 1j * self.tangent) + 1j * self.susceptance

    def settled(self, voltage):
        return self.leakage + 0 * np.asarray(voltage, float) if self.mode == "cut off" else self._settled(voltage)[0]

    def rate(self, state, voltage):
        return (self.settled(voltage) - state) / self.lag

    def response(self, voltage):
        """Return (y, dy/dv) in closed form."""
        y, slope = self._response(voltage)
        return y, self._each(slope)

    def branch_admittance(self, voltage):
        return self._response(voltage)[0]

    def _response(self, voltage):
        if self.mode == "cut off":
            return self.admittance(self.settled(voltage)), 0j * np.asarray(voltage, float)
        g, slope = self._settled(voltage)
        return self.admittance(g), slope * (1 - 1j * self.tangent)

    def slopes(self, state, voltage):
        """Return the slopes in closed form."""
        on = 0.0 if self.mode == "cut off" else 1.0
        by_voltage = on * self._settled(voltage)[1] / self.lag
        if self.wires == "two":
            return -1 / self.lag, by_voltage, on * (1 - 1j * self.tangent)
        flat = np.ones_like(by_voltage)
        return self._each(-flat / self.lag), self._each(by_voltage), self._each(on * (1 - 1j * self.tangent) * flat)

    def _each(self, slope):
        """Of several ports the slope of each by its own voltage, as a matrix."""
        return slope if self.wires == "two" else slope[..., :, None] * np.eye(3)

    def entered(self, state):
        """Return the leakage: off it does nothing, and it starts from nothing."""
        return self.leakage + 0 * state

    def stopped(self, voltage, details):
        return Low("does not run", "it goes off by its own limits of voltage") if details.get("works") is False else None

    def low(self, ratio, details):
        return Low("unharmed", "it works on within its own limits of voltage")

    def describe(self, state, voltage):
        """Return works (it is on), at_current_limit."""
        least, knee = self._range(voltage)[0], np.asarray(self.power) / self.current
        limited_ = (least < knee) & (self.mode != "cut off")
        return {"works": self.mode != "cut off", "at_current_limit": limited_ if self.wires == "two" else limited_[..., 0]}
