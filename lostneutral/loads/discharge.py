"""Loads with an iron core in front: discharge lamps on magnetic ballasts, which go out and strike again, and transformers."""

from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads.base import Low
from lostneutral.loads.simple import Exponential
from lostneutral.loads.switching import Switching

_DATA = data.load("discharge")
KNEE = _DATA["knee"]["value"]
LAMPS = tuple(_DATA["lamp"])


@dataclass(frozen=True)
class Discharge(Switching):
    """A discharge lamp on a magnetic ballast: `power` (W, with its ballast) at `voltage` (V) by measured exponents while lit.

    State: the ratio of rated voltage it has adjusted to. Below `extinguishes_below` (ratio) for a cycle or two the arc goes
    out ("cut off"); it strikes again after the voltage has been above `restrikes_from` for `restart_delay` (s), the time in
    which the arc tube cools. Range: `valid_range`; above `knee` the ballast saturates, and takes more than this.

    >>> lamp = Discharge(power=45.0, voltage=230.0, extinguishes_below=0.8)
    >>> y = lamp.admittance(lamp.settled(207.0))
    >>> print(f"{207.0**2 * y.real:.1f} W, {-(207.0**2) * y.imag:.1f} var")
    40.7 W, 10.0 var
    """

    power: float
    voltage: float
    power_factor: float = _DATA["lamp"]["fluorescent"]["power_factor"]
    power_exponent: float = _DATA["lamp"]["fluorescent"]["power_exponent"]
    reactive_exponent: float = _DATA["lamp"]["fluorescent"]["reactive_exponent"]
    valid_range: tuple[float, float] = tuple(_DATA["lamp"]["fluorescent"]["valid"])
    extinguishes_below: float = _DATA["extinguishes_below"]["value"]
    restrikes_from: float = _DATA["restrikes_from"]["value"]

    on_or_off = True
    gives_light = True
    knee = KNEE

    @property
    def below(self):
        return ((self.extinguishes_below * np.asarray(self.voltage, float), _DATA["extinguishes_below"]["seconds"]),)

    @property
    def healthy(self):
        return self.restrikes_from * np.asarray(self.voltage, float), np.inf

    @property
    def measured_range(self):
        return self.valid_range

    @cached_property
    def _lit(self):
        reactive = self.power * np.tan(np.arccos(self.power_factor))
        return Exponential(self.power, self.voltage, reactive, self.power_exponent, self.reactive_exponent, self.valid_range)

    @cached_property
    def leakage(self):
        """What is left when the arc is out, S."""
        return _DATA["leakage"]["value"] * np.asarray(self.power) / np.asarray(self.voltage, float) ** 2

    def admittance(self, state):
        return self.leakage + 0j * np.asarray(state) if self.mode == "cut off" else self._lit.admittance(state)

    def rate(self, state, voltage):
        return self._lit.rate(state, voltage)

    def settled(self, voltage):
        return self._lit.settled(voltage)

    def response(self, voltage):
        if self.mode == "cut off":
            y = self.admittance(self.settled(voltage))
            return y, 0 * y
        return self._lit.response(voltage)

    def slopes(self, state, voltage):
        own, by_voltage, by_state = self._lit.slopes(state, voltage)
        return own, by_voltage, 0 * by_state if self.mode == "cut off" else by_state

    def light(self, state):
        """Return the light given in `state`, relative to rated: about as its power, none when the arc is out."""
        return 0 * np.asarray(state, float) if self.mode == "cut off" else np.abs(state) ** self.power_exponent

    def stopped(self, voltage, details):
        out = details.get("works") is False
        return Low("gives no light", "its arc goes out, and strikes again only after a time at nearly its rated voltage") if out else None

    def describe(self, state, voltage):
        """Return works (it is lit), light (of rated), saturates."""
        u = np.asarray(voltage, float) / self.voltage
        return {"works": self.mode != "cut off", "light": self.light(state), "saturates": u > self.knee}


@dataclass(frozen=True, eq=False)
class Transformer(Exponential):
    """What is fed through a small transformer: its load, and the reactive power of the core, which rises steeply.

    Range: up to the `knee`; above it current and heat rise faster than this, and the voltage is an estimate.
    """

    knee = KNEE

    def describe(self, state, voltage):
        """Return saturates."""
        return {"saturates": np.asarray(voltage, float) / self.voltage > self.knee}


def lamp_from_keys(given):
    """Return the model of a discharge lamp of the case, by the keys that `given` has (see `lostneutral.loads.build`)."""
    lamp = given.value("lamp", {"value": LAMPS[0], "unit": "", "source": "the commonest", "known": "A"})
    table = _DATA["lamp"][lamp]
    law = {key: given.value(key, {**table, "value": table[key], "unit": ""})
           for key in ("power_factor", "power_exponent", "reactive_exponent")}
    return Discharge(given.per_branch("power"), given.load.voltage, valid_range=tuple(table["valid"]), **law,
                     extinguishes_below=given.value("extinguishes_below", _DATA["extinguishes_below"]),
                     restrikes_from=given.value("restrikes_from", _DATA["restrikes_from"]),
                     restart_delay=given.value("restart_delay", _DATA["restrike_time"][lamp]))


def transformer_from_keys(given):
    """Return the model of a transformer-fed load of the case, by the keys that `given` has."""
    power, table = given.per_branch("power"), _DATA["transformer"]
    share = {**table["reactive_share"], "value": power * given.branches * table["reactive_share"]["value"], "unit": "var"}
    reactive = given.value("reactive_power", share) / given.branches
    return Transformer(power, given.load.voltage, reactive, given.value("power_exponent", table["power_exponent"]),
                       given.value("reactive_exponent", table["reactive_exponent"]))
