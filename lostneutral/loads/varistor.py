"""Metal-oxide varistors: how little they take at their rating, how much above it, and how soon they run away."""

from functools import cached_property, lru_cache
from math import lgamma

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads.base import LoadModel
from lostneutral.loads.wear import ENTRIES, Law

_DATA = data.load("varistor")
_LAW = _DATA["law"]
_ln_gamma = np.vectorize(lgamma, otypes=[float])


def reference_voltage(rating):
    """Return the voltage (V, at 1 mA d.c.) of a varistor by its continuous `rating` (V r.m.s.).

    Interpolated in the table of ``varistor.toml`` (130 to 680 V), in proportion beyond its ends; ±10 % by make.

    >>> print(reference_voltage([130.0, 275.0, 385.0]))
    [200. 430. 620.]
    """
    table = _DATA["reference_voltage"]
    ratio = np.divide(table["value"], table["rating"])
    rating = np.asarray(rating, float)
    at = np.interp(rating, table["rating"], table["value"])
    inside = np.clip(rating, table["rating"][0], table["rating"][-1])
    return np.where(inside == rating, at, rating * np.where(rating > inside, ratio[-1], ratio[0]))[()]


def mean_of_sine_power(exponent):
    """Return the mean over a cycle of |sin|^`exponent`: Γ((p+1)/2) / (√π Γ(p/2+1)).

    >>> print(mean_of_sine_power(2.0).round(12), mean_of_sine_power(4.0).round(12))
    0.5 0.375
    """
    p = np.asarray(exponent, float)
    return np.exp(_ln_gamma((p + 1) / 2) - _ln_gamma(p / 2 + 1)) / np.sqrt(np.pi)


@dataclass(frozen=True)
class Varistor(LoadModel):
    """A varistor of continuous `rating` (V r.m.s.) and `diameter` (mm); i = 1 mA (v / V_1mA)^`exponent` at each instant.

    `offset` is by what share the reference voltage of this piece differs from the mean of its make (−0.1 to 0.1).
    State: the conductance (S) of the fundamental, mean power over v², which follows the voltage within a cycle. The
    network sees a cold disc, with its leakage in parallel, without which a disc at no voltage would tie its ends to nothing. Its heating is slower by orders, and is worked out by the functions of temperature:
    `temperature_rate`, `settled_temperature`, `time_to_failure`.

    Range: up to about 10 A peak (`law_exceeded` in `describe`); above, a real varistor takes less current, and is near
    its end anyway. Exponents of 20 to 50 are published: near and above the reference voltage that is a factor of two
    or more, below it far more, so take `spread` seriously.
    """

    rating: float = _DATA["reference_rating"]["value"]
    diameter: float = _DATA["diameter"]["value"]
    exponent: float = _LAW["exponent"]
    offset: float = 0.0

    rising = True
    series = _DATA["leakage"]["value"]

    @property
    def clamp(self):
        return float(reference_voltage(self.rating)), self.exponent, _LAW["reference_current"]

    def wear(self, given):
        return (disc_law(lambda model: model),)

    def low(self, ratio, details):
        return None

    @cached_property
    def reference_voltage(self):
        """Voltage of this piece at 1 mA and 25 °C, V."""
        return reference_voltage(self.rating) * (1 + np.asarray(self.offset, float))

    def peak_current(self, voltage):
        """Return the current (A) at the crest of a sine of `voltage` (V r.m.s.)."""
        crest = np.sqrt(2) * np.asarray(voltage, float)
        return _LAW["reference_current"] * (crest / self.reference_voltage) ** self.exponent

    def power(self, voltage, temperature=_DATA["air"]["value"]):
        """Return the mean power (W) at `voltage` (V r.m.s.) with the disc at `temperature` (°C).

        >>> print(f"{Varistor(275.0).power(400.0):.0f} W")
        301 W
        """
        warm = 1 + _DATA["temperature_coefficient"]["value"] * (np.asarray(temperature, float) - _DATA["air"]["value"])
        crest = np.sqrt(2) * np.asarray(voltage, float)
        mean = mean_of_sine_power(np.asarray(self.exponent) + 1)
        return crest * self.peak_current(voltage) * warm ** -np.asarray(self.exponent, float) * mean

    def admittance(self, state):
        return np.asarray(state) + (1 / _DATA["leakage"]["value"] + 0j)

    @cached_property
    def _rated(self):
        """The conductance at the rating, S."""
        return self.power(self.rating) / np.asarray(self.rating, float) ** 2

    def rate(self, state, voltage):
        return (self.settled(voltage) - state) / _DATA["lag"]["value"]

    def settled(self, voltage):
        voltage = np.asarray(voltage, float)
        return self._rated * (voltage / self.rating) ** (np.asarray(self.exponent) - 1)

    def response(self, voltage):
        """Return (y, dy/dv) in closed form."""
        voltage = np.asarray(voltage, float)
        g = self.settled(voltage)
        steep = g * (np.asarray(self.exponent) - 1) / np.where(voltage > 0, voltage, 1)
        return self.admittance(g), steep + 0j

    def slopes(self, state, voltage):
        """Return the slopes in closed form."""
        lag = _DATA["lag"]["value"]
        return -1 / lag, self.response(voltage)[1].real / lag, 1.0

    @cached_property
    def shed(self):
        """Power that the disc sheds for good, W."""
        return np.interp(np.log(self.diameter), np.log(_DATA["shed"]["diameter"]), _DATA["shed"]["value"])

    @cached_property
    def heat_capacity(self):
        """Of the ceramic, J/K."""
        ceramic, field = _DATA["ceramic"], _DATA["field"]["value"] * 1e3
        volume = np.pi / 4 * (np.asarray(self.diameter) * 1e-3) ** 2 * self.reference_voltage / field
        return ceramic["density"] * ceramic["heat_capacity"] * volume

    def temperature_rate(self, temperature, voltage):
        """Return how fast the disc heats (K/s) at `temperature` (°C) and `voltage` (V)."""
        shed = self.shed / _DATA["shed_rise"]["value"] * (np.asarray(temperature) - _DATA["air"]["value"])
        return (self.power(voltage, temperature) - shed) / self.heat_capacity

    def settled_temperature(self, voltage):
        """Return the temperature (°C) at which the disc stays at `voltage` (V), infinite where it runs away.

        The hotter it is the more it takes. Heating less shedding is convex in the temperature and least at `easiest`:
        if it is positive even there, nothing stops the disc; else the balance lies between there and the cold side.
        """
        voltage = np.asarray(voltage, float)
        air, fall = _DATA["air"]["value"], -_DATA["temperature_coefficient"]["value"]
        steep = np.asarray(self.exponent) * fall * self.power(voltage) / (self.shed / _DATA["shed_rise"]["value"])
        easiest = air + (1 - steep ** (1 / (np.asarray(self.exponent) + 1))) / fall
        high = np.clip(easiest, air, _DATA["fails_at"]["value"])
        runs_away = self.temperature_rate(high, voltage) > 0
        low = np.full_like(high, air)
        for _ in range(60):
            middle = (low + high) / 2
            heats = self.temperature_rate(middle, voltage) > 0
            low, high = np.where(heats, middle, low), np.where(heats, high, middle)
        return np.where(runs_away, np.inf, high)[()]

    def time_to_failure(self, voltage):
        """Return how long (s) the disc takes at `voltage` (V) from cold to the temperature at which it fails.

        Infinite where its temperature settles below. The integral of dT over the rate of heating, by Gauss' rule.
        """
        voltage = np.asarray(voltage, float)
        nodes, weights = np.polynomial.legendre.leggauss(48)
        low, high = _DATA["air"]["value"], _DATA["fails_at"]["value"]
        at = low + (high - low) * (nodes + 1) / 2
        rate = self.temperature_rate(at, voltage[..., None])
        with np.errstate(divide="ignore"):
            time = ((high - low) / 2 * weights / rate).sum(axis=-1)
        return np.where((rate > 0).all(axis=-1), time, np.inf)[()]

    def spread(self, voltage):
        """Return the mean power (W) at `voltage` (V) as (low, high) over the tolerance of the reference voltage.

        >>> low, high = Varistor(275.0).spread(340.0)
        >>> print(f"{low:.2f} to {high:.0f} W")
        0.11 to 46 W
        """
        share = _DATA["reference_voltage"]["tolerance"]
        return tuple(type(self)(self.rating, self.diameter, self.exponent, end).power(voltage) for end in (share, -share))

    def describe(self, state, voltage):
        """Return varistor_power (W), varistor_overload (power over what it sheds) and law_exceeded."""
        power = np.asarray(state) * np.asarray(voltage, float) ** 2
        return {
            "varistor_power": power,
            "varistor_overload": power / self.shed,
            "law_exceeded": self.peak_current(voltage) > _LAW["largest_current"],
        }


def disc_law(of):
    """Return the law of the runaway of the varistor `of(model)`, with the tolerance of its make as the band."""

    def rates(voltage, model, state):
        at, found = _disc_table(of(model).rating, of(model).diameter)
        return np.exp([np.interp(np.asarray(voltage, float), at, row) for row in found])

    return Law("varistor", rates, 1 / ENTRIES["varistor"]["usual_life"])


@lru_cache(maxsize=64)
def _disc_table(rating, diameter):
    """Voltages (V) and ln of the three rates there: working them out anew at every instant would take too long."""
    entry = ENTRIES["varistor"]
    tolerance, air = _DATA["reference_voltage"]["tolerance"], _DATA["air"]["value"]
    at, rows = rating * np.linspace(0.5, 2.5, 801), []
    for offset in (-tolerance, 0.0, tolerance):
        disc = Varistor(rating, diameter, offset=offset)
        time = np.maximum(disc.time_to_failure(at), entry["least"])
        warm = np.minimum(disc.settled_temperature(at), _DATA["fails_at"]["value"])
        heated = 2.0 ** ((warm - air) / entry["doubling"]) / entry["usual_life"]
        rows.append(np.log(np.maximum(1 / time, heated)))
    return at, np.array(rows)


def from_keys(given):
    """Return the model of a load of the case, by the keys that `given` has (see `lostneutral.loads.build`)."""
    model = Varistor(given.value("rating"), given.value("diameter", _DATA["diameter"]))
    note_law(given, model)
    return model


def note_law(given, varistor):
    """Write down in `given` what is assumed of `varistor` besides its size."""
    table, low, high = _DATA["reference_voltage"], _LAW["exponent_low"], _LAW["exponent_high"]
    volts = f"{np.mean(varistor.reference_voltage):.0f} V ± {table['tolerance']:.0%} at 1 mA"
    given.assume("varistor's voltage", volts, table["source"], table["known"])
    given.assume("varistor's exponent", f"{varistor.exponent:g} ({low:g} to {high:g})", _LAW["source"], _LAW["exponent_known"])
    given.note("varistor's leakage", _DATA["leakage"])
    given.note("largest current of the varistor's law", {**_LAW, "value": _LAW["largest_current"], "known": "A"})
