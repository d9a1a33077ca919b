"""What filaments and heating elements have in common: a resistance that follows its own temperature."""

from abc import abstractmethod
from functools import cached_property

import numpy as np

from lostneutral.loads.base import LoadModel


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

    def settled(self, voltage):
        """Return the temperature at which heating and loss balance, to rounding error.

        Newton's method on loss(T) R(T) = v², near the answer with both sides as logarithms, since they are nearly powers of T
        above the surroundings; kept between a lower and an upper bound that close in.
        """
        voltage, cold = np.asarray(voltage, float), self.surroundings
        u, wanted, span = np.abs(voltage / self.voltage), voltage**2, self.rated_temperature - cold
        low, high = cold + 0 * u * span, cold + 1.2 * span * np.maximum(u, 1) ** 2
        at = cold + span * u**self._exponent
        with np.errstate(all="ignore"):  # without voltage nothing is above the surroundings
            for _ in range(100):
                (r, r_slope), (lost, lost_slope) = self.resistance(at), self.loss(at)
                product, above = lost * r, at - cold
                low, high = np.where(product <= wanted, at, low), np.where(product >= wanted, at, high)
                steep, ratio = lost_slope * r + lost * r_slope, wanted / product
                new = np.where((ratio > 1e-3) & (ratio < 1e3), cold + above * ratio ** (product / (above * steep)),
                               at + (wanted - product) / steep)
                new = np.where((new >= low) & (new <= high), new, (low + high) / 2)
                moved, at = np.abs(new - at), new
                if (moved <= 1e-7 * above + 1e-13 * np.abs(at)).all():  # the step after this one would be below rounding
                    break
        return at[()]

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
