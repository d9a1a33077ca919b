"""Loads whose admittance is fixed or follows a power of the voltage."""

from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads.base import LoadModel

_DEFAULTS = data.load("load_defaults")["exponential"]


class _Fixed(LoadModel):
    """A constant admittance. It has no state to speak of: a number that decays to zero and changes nothing."""

    rising = True

    def admittance(self, state):
        return np.broadcast_to(self.fixed, np.broadcast(self.fixed, state).shape)[()]

    def rate(self, state, voltage):
        return -np.broadcast_to(state, np.broadcast(state, voltage).shape)[()]

    def settled(self, voltage):
        return np.zeros(np.broadcast(self.fixed, voltage).shape)[()]

    def response(self, voltage):
        y = self.admittance(self.settled(voltage))
        return y, np.zeros_like(y)[()]

    def slopes(self, state, voltage):
        return -1.0, 0.0, 0.0


@dataclass(frozen=True, eq=False)
class Resistive(_Fixed):
    """A fixed resistance: `power` (W) at `voltage` (V).

    >>> Resistive(power=2300.0, voltage=230.0).admittance(0.0)
    np.complex128(0.043478260869565216+0j)
    """

    power: float
    voltage: float

    resistor_like = True
    told_by_power = True

    @cached_property
    def fixed(self):
        """The admittance, S."""
        return np.asarray(self.power) / np.asarray(self.voltage, float) ** 2 + 0j

    @property
    def series(self):
        """The resistance, ohm."""
        return 1 / self.fixed


@dataclass(frozen=True, eq=False)
class Harmonic(Resistive):
    """A fixed resistance for the fundamental, and harmonic currents of fixed size beside it, which phasors leave out.

    They are a Norton source: `shares` of the rated fundamental current, at `angles` (degrees) with the h-th harmonic of
    the source voltage across the load's terminals as the zero.
    """

    orders: tuple = ()
    shares: tuple = ()
    angles: tuple = ()

    resistor_like = False
    told_by_power = False

    @property
    def harmonics(self):
        return self.orders, self.shares, self.angles


@dataclass(frozen=True, eq=False)
class Impedance(_Fixed):
    """A fixed impedance, `resistance` + j `reactance` (Ω at the supply's frequency; capacitive reactance is negative).

    With both zero the load is a short: `short` is true, its admittance infinite, and its two ends are one node.
    """

    resistance: float
    reactance: float = 0.0

    @property
    def series(self):
        """The impedance, ohm."""
        return self.resistance + 1j * self.reactance

    @property
    def short(self):
        """True where the impedance is zero."""
        return np.equal(self.resistance, 0) & np.equal(self.reactance, 0)

    @cached_property
    def fixed(self):
        """The admittance, S; infinite where short."""
        impedance = np.asarray(self.resistance) + 1j * np.asarray(self.reactance)
        return np.where(self.short, complex(np.inf), 1 / np.where(self.short, 1, impedance))[()]


@dataclass(frozen=True, eq=False)
class Exponential(LoadModel):
    """P = `power` u^`power_exponent`, Q = `reactive_power` u^`reactive_exponent`, with u = v / `voltage`.

    The state is the voltage ratio that the load has adjusted to; it follows u with the time constant `lag` (s).
    Below `held_below` (a ratio) the load is held as the impedance it has there, so that its current goes to zero
    with the voltage. The law is carried on everywhere else; outside `valid_range` (ratios) it deserves a warning.
    """

    power: float
    voltage: float
    reactive_power: float = 0.0
    power_exponent: float = 2.0
    reactive_exponent: float = 2.0
    valid_range: tuple[float, float] = (_DEFAULTS["valid_from"]["value"], _DEFAULTS["valid_to"]["value"])
    lag: float = _DEFAULTS["lag"]["value"]
    held_below: float = _DEFAULTS["held_below"]["value"]

    @property
    def measured_range(self):
        return self.valid_range

    @cached_property
    def rising(self):
        """Whether the law is monotone at every voltage (each element of array parameters).

        With P > 0: (P u^np)² (np − 1) ≥ (Q u^nq (nq − 2) / 2)², from the condition of `LoadModel.rising`. It does not
        hold at high u where nq > np; where nq < np it is hardest at the lowest u at which the law is used.
        """
        p, q, n, m = (
            np.asarray(x, float) for x in (self.power, self.reactive_power, self.power_exponent, self.reactive_exponent)
        )
        turning = (q * (m - 2) / 2) ** 2
        hardest = np.where(m > n, np.inf, np.power(self.held_below, 2 * np.minimum(m - n, 0)))
        needed = np.where(turning == 0, 0, turning * np.where(turning == 0, 1, hardest))
        return bool(np.all((p >= 0) & (n >= 1) & (p**2 * (n - 1) >= needed)))

    def admittance(self, state):
        u = np.maximum(np.abs(state), self.held_below)
        taken = self.power * u ** (np.asarray(self.power_exponent) - 2) - 1j * (
            self.reactive_power * u ** (np.asarray(self.reactive_exponent) - 2)
        )
        return taken / np.asarray(self.voltage, float) ** 2

    def rate(self, state, voltage):
        return (self.settled(voltage) - state) / self.lag

    def settled(self, voltage):
        return np.asarray(voltage, float) / self.voltage

    def response(self, voltage):
        """Return (y, dy/dv) in closed form; the slope is zero where the load is held as an impedance."""
        u = self.settled(voltage)
        y = self.admittance(u)
        safe = np.maximum(u, self.held_below)
        slope = (
            (np.asarray(self.power_exponent) - 2) * y.real + 1j * (np.asarray(self.reactive_exponent) - 2) * y.imag
        ) / (safe * self.voltage)
        return y, np.where(u > self.held_below, slope, 0)[()]

    def slopes(self, state, voltage):
        """Return the slopes in closed form; the admittance has none where the load is held as an impedance."""
        u = np.maximum(np.abs(state), self.held_below)
        n, m = np.asarray(self.power_exponent), np.asarray(self.reactive_exponent)
        steep = self.power * (n - 2) * u ** (n - 3) - 1j * (self.reactive_power * (m - 2) * u ** (m - 3))
        steep = np.sign(state) * steep / np.asarray(self.voltage, float) ** 2
        by_state = np.where(np.abs(state) > self.held_below, steep, 0)
        return -1 / self.lag, 1 / (self.lag * self.voltage), by_state


def resistive_from_keys(given):
    """Return the model of a fixed resistance of the case, by the keys that `given` has (see `lostneutral.loads.build`)."""
    return Resistive(given.per_branch("power"), given.load.voltage)


def harmonic_from_keys(given):
    """Return the model of a resistance with harmonic currents, by the keys that `given` has."""
    table, own = data.load("waveform")["harmonic"], given.load.parameters
    orders, shares, angles = (own.get(key, table[key]) for key in ("orders", "shares", "angles"))
    if "orders" in own and "angles" not in own:
        angles = [0.0] * len(orders)
    if "orders" not in own:
        spectrum = ", ".join(f"{order}. {share:g} at {angle:g}°" for order, share, angle
                             in zip(table["orders"], table["shares"], table["angles"]))
        given.assume("spectrum", f"{spectrum}, of the fundamental", table["source"], table["known"])
    given.assume("harmonics in the sine-wave picture", "left out; the fundamental is a resistance",
                 "phasors have one frequency", "A")
    return Harmonic(given.per_branch("power"), given.load.voltage, tuple(orders), tuple(shares), tuple(angles))


def impedance_from_keys(given):
    """Return the model of a fixed impedance, by the keys that `given` has."""
    return Impedance(given.value("resistance"), given.value("reactance"))


def exponential_from_keys(given):
    """Return the model of a power law of the voltage, by the keys that `given` has."""
    power, reactive = given.per_branch("power"), given.per_branch("reactive_power")
    exponents = given.value("power_exponent"), given.value("reactive_exponent") if np.any(reactive) else 2.0
    model = Exponential(power, given.load.voltage, reactive, *exponents, (given.value("valid_from"), given.value("valid_to")))
    for key, what in (("lag", "time to adjust"), ("held_below", "held as an impedance below")):
        given.note(what, _DEFAULTS[key])
    return model
