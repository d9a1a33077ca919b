"""Resistance heaters whose element changes its resistance with temperature, by the alloy's table."""

from functools import cache, cached_property

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads.materials import KELVIN, ROOM, Curve, sigma
from lostneutral.loads.thermal import ThermalLoad, wire_diameter
from lostneutral.loads.wear import ENTRIES, PACES, Law, by_points

_DEFAULTS = data.load("load_defaults")["heater"]
ALLOYS = tuple(data.load("alloys")["alloy"])
COOLING = ("air", "radiant", "water")


def factor_columns(alloy):
    """Return the names of the published temperature-factor columns of `alloy`, the default first."""
    return tuple(name for name in ("standard", "handbook") if name in data.load("alloys")["alloy"][alloy])


@cache
def _factor_curve(alloy, column):
    values = data.load("alloys")["alloy"][alloy][column]
    return Curve(data.load("alloys")["temperature"][: len(values)], values)


def temperature_factor(alloy, temperature, column=None):
    """Return (Ct, dCt/dθ): R(θ)/R(20 °C) of an alloy at `temperature` (°C), and its slope per K.

    `column` picks the published table (see `factor_columns`); they differ by up to 4 %. Range: 20 °C to the end of
    the alloy's table (1000 to 1200 °C), straight beyond. Source: see ``alloys.toml``.

    >>> print(round(float(temperature_factor("NiCr 80/20", 800.0)[0]), 3))
    1.008
    """
    return _factor_curve(alloy, column or factor_columns(alloy)[0])(temperature)


@dataclass(frozen=True, eq=False)
class Heater(ThermalLoad):
    """A resistance heater, `power` (W) at `voltage` (V), its element at `element_temperature` (°C) at that voltage.

    State: the element's temperature (°C). `cooling` is how heat leaves it: "air" and "radiant" by radiation from an
    oxidised surface and natural convection to a room at 20 °C, "water" linearly to water at the boil. In air the size
    of the wire, and with it the heat capacity, follows from power, alloy and temperature; an element in water has a
    stated time constant. A thermostat or cut-out is not modelled. No fan: a fan heater's coil in still air.

    The exponent of power comes out as 2 − d ln Ct / d ln v: 1.95 to 1.99 where Ct rises, but 2.00 to 2.02 for
    NiCr 80/20 between 500 and 800 °C, where the published table falls.

    Range: element temperatures within the alloy's table; beyond its end the table is carried on straight, and
    `describe` says `over_melting` where no element would be left.

    >>> bar = Heater(power=1000.0, voltage=230.0, alloy="NiCr 80/20", element_temperature=900.0, cooling="radiant")
    >>> print(f"{bar.surface_load / 1e4:.1f} W/cm², wire {bar.length:.1f} m long, {bar.diameter * 1e3:.2f} mm thick")
    6.2 W/cm², wire 10.0 m long, 0.51 mm thick
    """

    power: float
    voltage: float
    alloy: str = _DEFAULTS["alloy"]["value"]
    element_temperature: float = _DEFAULTS["element_temperature"]["air"]["value"]
    cooling: str = _DEFAULTS["cooling"]["value"]
    column: str | None = None

    gives_light = False
    resistor_like = True
    told_by_power = True

    def wear(self, given):
        entry, over = ENTRIES["element"], ENTRIES["heater_overload"]
        most = entry["largest_temperature"][self.alloy]

        def at(temperature, melting):
            halved = [2.0 ** ((np.asarray(temperature) - most) / entry[f"halving_{pace}"]) for pace in PACES]
            # Below the largest temperature of use the steeper law is the slower one.
            band = np.sort(np.array(halved), axis=0)[::-1] / entry["life_at_most"]
            return np.where(np.asarray(temperature) >= melting, 1 / entry["burn_out"], band)

        def overload(voltage, model, state):
            power = np.asarray(voltage, float) ** 2 / model.resistance(state)[0] / model.power
            return by_points(power, over, "load")

        loaded = Law("heater_overload", overload, 1 / over["usual_life"])
        if self.cooling == "water":
            return (loaded,)
        usual = max(float(at(self.rated_temperature, np.inf)[1]), 1 / entry["usual_life"])
        return Law("element", lambda voltage, model, state: at(state, model.melting_point), usual), loaded

    @cached_property
    def surroundings(self):
        """Temperature at which nothing is lost, °C."""
        return _DEFAULTS["water_temperature"]["value"] if self.cooling == "water" else ROOM - KELVIN

    @cached_property
    def rated_temperature(self):
        return np.asarray(self.element_temperature, float)

    @cached_property
    def _properties(self):
        return data.load("alloys")["alloy"][self.alloy]

    @property
    def melting_point(self):
        """°C."""
        return self._properties["melting_point"]

    @cached_property
    def _cold_resistance(self):
        hot = np.asarray(self.voltage) ** 2 / self.power
        return hot / self._factor(self.element_temperature)[0]

    def resistance(self, temperature):
        value, slope = self._factor(temperature)
        return self._cold_resistance * value, self._cold_resistance * slope

    @cached_property
    def _factor(self):
        return _factor_curve(self.alloy, self.column or factor_columns(self.alloy)[0])

    def _flux(self, temperature):
        """Heat lost per surface (W/m²) and its slope, by radiation and natural convection."""
        temperature = np.asarray(temperature, float)
        n = _DEFAULTS["convection_exponent"]["value"]
        above = np.maximum(temperature - self.surroundings, 0)
        convecting = _DEFAULTS["convection"][self.cooling]["value"] * (above / (self.rated_temperature - self.surroundings)) ** (n - 1)
        radiating = self._properties["emissivity"] * sigma
        hot, cold = temperature + KELVIN, self.surroundings + KELVIN
        cubed = hot * hot * hot
        return radiating * (cubed * hot - cold**4) + convecting * above, 4 * radiating * cubed + n * convecting

    @cached_property
    def surface_load(self):
        """Rated power over the whole surface of the wire, W/m² (air and radiant cooling); a coil shows part of it."""
        return self._flux(self.rated_temperature)[0] * _DEFAULTS["coil_exposure"]["value"]

    def loss(self, temperature):
        if self.cooling == "water":
            per_kelvin = self.power / (self.rated_temperature - self.surroundings)
            return per_kelvin * (np.asarray(temperature) - self.surroundings), per_kelvin + 0 * np.asarray(temperature)
        value, slope = self._flux(temperature)
        return self._shedding * value, self._shedding * slope

    @cached_property
    def _shedding(self):
        """Surface that sheds the rated power at rated temperature, m²."""
        return self.power / self._flux(self.rated_temperature)[0]

    @cached_property
    def diameter(self):
        """Diameter of the wire, m (air and radiant cooling): its surface sheds the power, its resistance is V²/P."""
        hot = self.resistance(self.rated_temperature)[0]
        return wire_diameter(hot, self._hot_resistivity, self.power / self.surface_load)

    @cached_property
    def length(self):
        """Length of the wire, uncoiled, m (air and radiant cooling)."""
        return self.power / self.surface_load / (np.pi * self.diameter)

    @property
    def _hot_resistivity(self):
        return self._properties["resistivity"] * 1e-6 * self._factor(self.element_temperature)[0]

    def heat_capacity(self, temperature):
        if self.cooling == "water":
            return self.loss(temperature)[1] * _DEFAULTS["sheathed_time"]["value"]
        volume = np.pi / 4 * self.diameter**2 * self.length
        return self._properties["density"] * self._properties["heat_capacity"] * volume + 0 * np.asarray(temperature)

    def choices(self):
        """Return the model choices behind this heater as (what, entry of the data file)."""
        if self.cooling == "water":
            names = {"water_temperature": "temperature of the water", "sheathed_time": "thermal time constant"}
            return tuple((what, _DEFAULTS[name]) for name, what in names.items())
        return (
            ("convection", _DEFAULTS["convection"][self.cooling]),
            ("surface that a coil shows", _DEFAULTS["coil_exposure"]),
        )

    def describe(self, state, voltage):
        """Return element_temperature (°C) and over_melting (no real element gets there)."""
        return {
            "element_temperature": state,
            "over_melting": np.asarray(state) > self.melting_point,
        }


def from_keys(given):
    """Return the model of a heater of the case, by the keys that `given` has (see `lostneutral.loads.build`)."""
    alloy, cooling = given.value("alloy"), given.value("cooling")
    if alloy not in ALLOYS:
        given.refuse("alloy", f'"{alloy}"', "", "one of " + ", ".join(f'"{name}"' for name in ALLOYS))
    temperature = given.value("element_temperature", _DEFAULTS["element_temperature"][cooling])
    model = Heater(given.per_branch("power"), given.load.voltage, alloy, temperature, cooling)
    if not np.all((model.surroundings < temperature) & (temperature < model.melting_point)):
        allowed = f"above the {model.surroundings:g} °C around it, below its melting at {model.melting_point:g} °C"
        given.refuse("element_temperature", temperature, "°C", allowed)
    source = data.load("alloys")["sources"][factor_columns(alloy)[0]]
    given.assume("resistance over temperature", f"table for {alloy}", source["source"], source["known"])
    for what, entry in model.choices():
        given.note(what, entry)
    return model
