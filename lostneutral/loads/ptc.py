"""Heaters of ceramic with a positive temperature coefficient, which hold their own temperature."""

from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads.base import Low
from lostneutral.loads.thermal import ThermalLoad

_DATA = data.load("ptc")


@dataclass(frozen=True)
class PtcHeater(ThermalLoad):
    """A ceramic heater, `power` (W) at `voltage` (V) once warm, that switches at `switch_temperature` (°C).

    State: the ceramic's temperature (°C). Its resistance is at its least when cold and twice that at the switch
    temperature; above, it rises exponentially, ln R by `rise` per kelvin, over five decades. Heat leaves in proportion to the temperature
    above the air. So it draws its largest current cold, for some seconds, and warm it takes nearly the same power at
    any voltage from about half of rated up: its current falls as the voltage rises.

    Range: 0 V to 1.15 × rated, taken as its largest working voltage (`above_range` in `describe`); beyond, the field
    lowers the resistance, which the law does not show, and where the ceramic breaks down is not known: twice its voltage
    is asked of it. The small fall of resistance from cold to the bend is left out.

    >>> heater = PtcHeater(power=1000.0, voltage=230.0)
    >>> for v in (57.5, 115.0, 230.0, 264.5):
    ...     print(f"{v:.1f} V: {v**2 * abs(heater.admittance(heater.settled(v))):.0f} W")
    57.5 V: 391 W
    115.0 V: 927 W
    230.0 V: 1000 W
    264.5 V: 1011 W
    """

    power: float
    voltage: float
    switch_temperature: float = _DATA["switch_temperature"]["value"]
    rise: float = _DATA["rise"]["value"]

    rising = False
    gives_light = False
    told_by_power = True

    def low(self, ratio, details):
        if ratio >= _DATA["rated_factor"]["value"] ** -0.5:
            return Low("unharmed", "it takes nearly its rated power")
        return super().low(ratio, details)

    surroundings = _DATA["surroundings"]["value"]

    def _rise(self, temperature):
        """ln(R over its least), and its slope per K: a straight line that bends in smoothly from zero."""
        soft = _DATA["softness"]["value"]
        at = (np.asarray(temperature, float) - self.switch_temperature) / soft + self._bend
        return self.rise * soft * np.logaddexp(0, at), self.rise / (1 + np.exp(-at))

    def _where(self, factor):
        """Distance from the bend, in `softness`, at which the resistance is `factor` times its least."""
        below_largest = 1 / (1 / factor - 1 / _DATA["largest_factor"]["value"])
        return np.log(np.expm1(np.log(below_largest) / (self.rise * _DATA["softness"]["value"])))

    @cached_property
    def _bend(self):
        return self._where(2.0)

    @cached_property
    def rated_temperature(self):
        """Temperature of the ceramic at rated voltage, °C."""
        above = self._where(_DATA["rated_factor"]["value"]) - self._bend
        return self.switch_temperature + _DATA["softness"]["value"] * above

    def resistance(self, temperature):
        least = np.asarray(self.voltage, float) ** 2 / self.power / _DATA["rated_factor"]["value"]
        log, slope = self._rise(temperature)
        falling = np.exp(-log)
        value = least / (falling + 1 / _DATA["largest_factor"]["value"])
        return value, value**2 / least * falling * slope

    def loss(self, temperature):
        per_kelvin = self.power / (self.rated_temperature - self.surroundings)
        return per_kelvin * (np.asarray(temperature) - self.surroundings), per_kelvin + 0 * np.asarray(temperature)

    def heat_capacity(self, temperature):
        return self.loss(temperature)[1] * _DATA["thermal_time"]["value"]

    def describe(self, state, voltage):
        """Return element_temperature (°C) and above_range (the ceramic's largest working voltage is exceeded)."""
        return {
            "element_temperature": state,
            "above_range": np.asarray(voltage) > _DATA["largest_voltage"]["value"] * np.asarray(self.voltage),
        }


def from_keys(given):
    """Return the model of a load of the case, by the keys that `given` has (see `lostneutral.loads.build`)."""
    at = given.value("switch_temperature", _DATA["switch_temperature"])
    if not np.all(np.asarray(at) > PtcHeater.surroundings):
        given.refuse("switch_temperature", np.min(at), "°C", f"above {PtcHeater.surroundings:g} °C")
    for what in ("rated_factor", "rise", "thermal_time", "largest_voltage"):
        given.note(what, _DATA[what])
    return PtcHeater(given.per_branch("power"), given.load.voltage, at)
