"""What filaments and heating elements have in common: a resistance that follows its own temperature."""

from abc import abstractmethod
from functools import cached_property

import numpy as np

from lostneutral.loads.base import LoadModel
from lostneutral.loads.materials import Curve

_FAINT = 1e-8  #: of rated voltage, which warms by less than rounding
_STEPS = 6  #: of Newton's method without bounds, after which it is taken to lead nowhere


def wire_diameter(resistance, resistivity, surface):
    """Return the diameter (m) of a round wire of `resistance` (Ω), `resistivity` (Ω m) and outer `surface` (m²).

    From R = 4 ρ l / (π d²) and S = π d l.

    >>> print(f"{wire_diameter(1.0, 1e-6, 3.1416e-3) * 1e3:.3f} mm")  # 1 mm thick and 1 m long has 1.27 Ω
    1.084 mm
    """
    return np.cbrt(4 * resistivity * surface / (np.pi**2 * resistance))


class ThermalLoad(LoadModel):
    """A resistance R(T) that heats itself, loses heat by a law loss(T) and has a heat capacity.

    The state is the temperature T, in the unit of the kind (lamps K, heaters °C). Heat balance:
    C(T) dT/dt = v² / R(T) − loss(T). Loss and loss × R must rise with T, which gives one settled T for each voltage.
    """

    rising = True

    surroundings: float  #: the temperature at which nothing is lost
    power: float  #: W at rated voltage
    voltage: float  #: rated, V

    @property
    @abstractmethod
    def rated_temperature(self):
        """Temperature at rated voltage."""

    @abstractmethod
    def resistance(self, temperature):
        """Return (R, dR/dT), Ω and Ω/K."""

    @abstractmethod
    def loss(self, temperature):
        """Return (power lost, its slope), W and W/K."""

    @abstractmethod
    def heat_capacity(self, temperature):
        """Return the heat capacity, J/K."""

    def admittance(self, state):
        return (1 / self.resistance(state)[0] + 0j)[()]

    def rate(self, state, voltage):
        heating = np.asarray(voltage, float) ** 2 / self.resistance(state)[0]
        return (heating - self.loss(state)[0]) / self.heat_capacity(state)

    @cached_property
    def _exponent(self):
        """Power of the voltage with which the temperature rises above the surroundings, at rated voltage."""
        rated = self.rated_temperature
        (r, r_slope), (lost, lost_slope) = self.resistance(rated), self.loss(rated)
        return np.clip(2 * lost * r / ((rated - self.surroundings) * (lost_slope * r + lost * r_slope)), 0.2, 2.0)

    @cached_property
    def _beginnings(self):
        """How far above the surroundings a voltage, of rated, leads, by their logarithms, to begin from; none where parts differ."""
        if np.ndim(self._exponent):
            return None
        above = (self.rated_temperature - self.surroundings) * np.geomspace(1e-6, 8.0, 300)
        product, steep = self._balance(self.surroundings + above)
        return Curve(np.log(product) / 2 - np.log(self.voltage), np.log(above), slopes=2 * product / (above * steep))

    def _balance(self, at):
        """Return (loss × R, its slope) at the temperature `at`: what the squared voltage has to be."""
        (r, r_slope), (lost, lost_slope) = self.resistance(at), self.loss(at)
        return lost * r, lost_slope * r + lost * r_slope

    def settled(self, voltage):
        """Return the temperature at which heating and loss balance, to rounding error.

        Newton's method on loss(T) R(T) = v² with both sides as logarithms, since they are nearly powers of T above the
        surroundings; what that does not find in some steps is kept between a lower and an upper bound that close in.
        """
        voltage = np.asarray(voltage, float)
        squared, u = voltage**2, np.abs(voltage / self.voltage)
        span, begin = self.rated_temperature - self.surroundings, self._beginnings
        with np.errstate(all="ignore"):  # without voltage nothing is above the surroundings
            at = self.surroundings + (span * u**self._exponent if begin is None else np.exp(begin(np.log(np.maximum(u, _FAINT)))[0]))
            for _ in range(_STEPS):
                product, steep = self._balance(at)
                above = at - self.surroundings
                new = np.where(u > _FAINT, self.surroundings + above * (squared / product) ** (product / (above * steep)), self.surroundings)
                moved, at = np.abs(new - at), new
                if (moved <= 1e-7 * above + 1e-13 * np.abs(at)).all():  # the step after this one would be below rounding
                    return at[()]
            return self._enclosed(squared, u, span)[()]

    def _enclosed(self, squared, u, span):
        """Return the same for the squared voltage, `u` of rated, however far from the answer the beginning is."""
        low = self.surroundings + 0 * u * span
        high = self.surroundings + 1.2 * span * np.maximum(u, 1) ** 2
        at = self.surroundings + span * u**self._exponent
        for _ in range(100):
            product, steep = self._balance(at)
            above, excess = at - self.surroundings, product - squared
            low, high = np.where(excess <= 0, at, low), np.where(excess >= 0, at, high)
            ratio = squared / product
            new = np.where((ratio > 1e-3) & (ratio < 1e3), self.surroundings + above * ratio ** (product / (above * steep)),
                           at - excess / steep)
            new = np.where((new >= low) & (new <= high), new, (low + high) / 2)
            moved, at = np.abs(new - at), new
            if (moved <= 1e-7 * above + 1e-13 * np.abs(at)).all():
                break
        return at

    def response(self, voltage):
        """Return (y, dy/dv), the slope from the heat balance: dT/dv = 2 v / d(loss R)/dT."""
        voltage = np.asarray(voltage, float)
        at = self.settled(voltage)
        (r, r_slope), (lost, lost_slope) = self.resistance(at), self.loss(at)
        warming = 2 * voltage / (lost_slope * r + lost * r_slope)
        return (1 / r + 0j)[()], (-r_slope / r**2 * warming + 0j)[()]

    def slopes(self, state, voltage):
        """Return the slopes in closed form, but for that of the heat capacity, which is a difference."""
        (r, r_slope), (lost, lost_slope) = self.resistance(state), self.loss(state)
        capacity, step = self.heat_capacity(state), 0.01
        steeper = (self.heat_capacity(state + step) - self.heat_capacity(state - step)) / (2 * step)
        conductance = 1 / r
        by_state = -r_slope * conductance**2
        heating = voltage**2 * conductance
        own = (voltage**2 * by_state - lost_slope - (heating - lost) / capacity * steeper) / capacity
        return own, 2 * voltage * conductance / capacity, by_state
