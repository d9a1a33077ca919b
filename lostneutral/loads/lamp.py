"""Filament lamps, worked out from the nameplate with tungsten's tables."""

from dataclasses import replace
from functools import cached_property, lru_cache

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads import materials
from lostneutral.loads.thermal import ThermalLoad, wire_diameter
from lostneutral.loads.wear import ENTRIES, PACES, Law

_LAMPS = data.load("lamps")
_SHARE = _LAMPS["conducted_share"]


def default_colour_temperature(power, technology="incandescent"):
    """Return the usual colour temperature (K) of a mains lamp of `power` (W); see the table in ``lamps.toml``.

    >>> print(default_colour_temperature(60.0), default_colour_temperature(300.0, "halogen"))
    2760.0 3000.0
    """
    table = _LAMPS["colour_temperature"][technology]
    return np.interp(np.log(power), np.log(table["power"]), table["value"])


@dataclass(frozen=True, eq=False)
class Lamp(ThermalLoad):
    """A tungsten filament lamp, `power` (W) at `voltage` (V), of `colour_temperature` (K) at that voltage.

    State: the filament's true temperature (K), which is lower than its colour temperature. Heat leaves by radiation
    (Stefan-Boltzmann with tungsten's emissivity) and, `conducted_share` of the rated power, by conduction and
    convection, taken as linear in temperature. Nothing else is put in: the exponents of current, power and light
    come out of the tables.

    The sources pull apart. Handbook exponents (current ∝ V^0.541) want about 0.13 conducted; a measured table of a
    mains lamp from 20 to 220 V wants about 0.03; a vacuum lamp has none. The default, 0.06, lies between the two
    (their geometric mean), gives about V^0.565, keeps the measured table within 5 % from 60 V up, and is the same for
    every lamp. `spread` carries the choice through to a result.

    Range: from 0 V to the melting of tungsten. Beyond that the tables are carried on so that a circuit can still be
    solved, and `describe` says `over_melting`: no real filament is there, it has burnt out.

    >>> lamp = Lamp(power=60.0, voltage=230.0, colour_temperature=2760.0)
    >>> print(f"wire {lamp.length * 1e3:.0f} mm long, {lamp.diameter * 1e6:.1f} µm thick")
    wire 728 mm long, 29.3 µm thick
    >>> print(f"cold {lamp.resistance(293.15)[0]:.1f} ohm, hot {lamp.resistance(lamp.rated_temperature)[0]:.1f} ohm")
    cold 59.5 ohm, hot 881.7 ohm
    """

    power: float
    voltage: float
    colour_temperature: float
    conducted_share: float = _SHARE["central"]
    coil_exposure: float = _LAMPS["coil_exposure"]["value"]

    surroundings = materials.ROOM
    gives_light = True
    resistor_like = True

    @cached_property
    def rated_temperature(self):
        """The filament's true temperature at rated voltage, K."""
        return materials.tungsten_temperature(self.colour_temperature)

    @cached_property
    def _rated(self):
        """Resistivity, radiated and conducted power per unit, luminous exitance: all at rated temperature."""
        at, cold = self.rated_temperature, self.surroundings
        return (
            materials.tungsten_resistivity(at)[0],
            materials.tungsten_radiance(at)[0] - self._received,
            at - cold,
            materials.tungsten_luminous_exitance(at),
        )

    @cached_property
    def _received(self):
        """What the surroundings radiate back, per surface."""
        return materials.tungsten_radiance(self.surroundings)[0]

    @cached_property
    def surface(self):
        """Surface of the wire, m²: the part that the coil shows radiates the rated power less what is conducted."""
        return self._losing[0] / self.coil_exposure

    @cached_property
    def diameter(self):
        """Diameter of the wire, m."""
        return wire_diameter(np.asarray(self.voltage) ** 2 / self.power, self._rated[0], self.surface)

    @cached_property
    def length(self):
        """Length of the wire, uncoiled, m."""
        return self.surface / (np.pi * self.diameter)

    @cached_property
    def mass(self):
        """Mass of the wire, kg."""
        return data.load("tungsten")["density"]["value"] * self.diameter * self.surface / 4

    @cached_property
    def _per_resistivity(self):
        return np.asarray(self.voltage) ** 2 / self.power / self._rated[0]

    @cached_property
    def _losing(self):
        """Surface that radiates (m²), and power conducted per kelvin (W/K)."""
        _, net, span, _ = self._rated
        return (1 - self.conducted_share) * self.power / net, self.conducted_share * self.power / span

    def resistance(self, temperature):
        value, slope = materials.tungsten_resistivity(temperature)
        return self._per_resistivity * value, self._per_resistivity * slope

    def loss(self, temperature):
        radiated, conducted = self._losing
        value, slope = materials.tungsten_radiance(temperature)
        return radiated * (value - self._received) + conducted * (temperature - self.surroundings), radiated * slope + conducted

    def heat_capacity(self, temperature):
        return self.mass * materials.tungsten_heat_capacity(temperature)

    def light(self, temperature):
        """Return the light given at a filament temperature (K), relative to rated."""
        return materials.tungsten_luminous_exitance(temperature) / self._rated[3]

    def wear(self, given):
        entry = ENTRIES["lamp"]
        technology = given.get("technology", data.load("load_defaults")["lamp"]["technology"]["value"])
        life = entry["rated_life"][technology] * 3600.0
        melting = data.load("tungsten")["melting_point"]["value"]

        def rates(voltage, model, state):
            u = np.asarray(voltage, float) / model.voltage
            # Below rated voltage the larger exponent is the slower one.
            powers = [u ** entry[f"exponent_{pace}"] for pace in PACES]
            band = np.sort(np.array(powers), axis=0)[::-1] / life
            return np.where(np.asarray(state) >= melting, 1 / entry["burn_out"]["value"], band)

        return (Law("lamp", rates, 1 / life),)

    def describe(self, state, voltage):
        """Return light (relative to rated), filament_temperature (K) and over_melting (no real filament gets there)."""
        return {
            "light": self.light(state),
            "filament_temperature": state,
            "over_melting": np.asarray(state) > data.load("tungsten")["melting_point"]["value"],
        }

    def spread(self, voltage):
        """Return {current (A), light, filament_temperature (K)} -> (with the low, with the high conducted share).

        Settled at `voltage` (V); the sources leave that much open.
        """
        models = [replace(self, conducted_share=_SHARE[end]) for end in ("low", "high")]
        at = [model.settled(voltage) for model in models]
        return {
            "current": tuple(np.abs(m.admittance(t)) * voltage for m, t in zip(models, at, strict=True)),
            "light": tuple(m.light(t) for m, t in zip(models, at, strict=True)),
            "filament_temperature": tuple(at),
        }


@lru_cache(maxsize=256)
def _effect_of_spread(colour_temperature):
    """Words for what the open conducted share does to a lamp's light and to a voltage shared by two lamps."""
    lamp = Lamp(1.0, 1.0, colour_temperature, np.array([[_SHARE["low"]], [_SHARE["high"]]]))
    at = np.linspace(lamp.surroundings, 1.4 * lamp.rated_temperature, 400)  # to each the voltage is known at once, the other way round it is not
    resistance, lights, left = lamp.resistance(at)[0], [], []
    sizes, shared = (0.7, 1.3), np.linspace(0.0, 3**0.5, 201)
    for voltage in np.sqrt(lamp.loss(at)[0] * resistance):
        lights.append(lamp.light(np.interp(sizes, voltage, at)))
        current = np.interp(shared, voltage, voltage / resistance)
        # Of two lamps in series that of twice the power takes, at what the other leaves it, twice what this one would.
        left.append(np.interp(0.0, current - 2 * current[::-1], shared))
    light = [f"{low:.2f} to {high:.2f} times rated at {u:g} times rated voltage" for u, low, high in zip(sizes, *lights)]
    return (
        f"light {light[0]}, {light[1]}; in series with a lamp of twice the power on √3 times rated voltage, "
        f"{left[0]:.3f} to {left[1]:.3f} times rated voltage across the smaller"
    )


def choices(lamp):
    """Return the model choices behind `lamp` as (what, value, why, how known).

    The first carries what its open value does to results.
    """
    effect = _effect_of_spread(round(float(np.mean(lamp.colour_temperature)), -1))
    tungsten, exposure = data.load("tungsten"), _LAMPS["coil_exposure"]
    return (
        (
            "share of heat lost by conduction",
            f"{lamp.conducted_share:g} of rated power",
            f"{_SHARE['source']}; the sources leave {_SHARE['low']:g} to {_SHARE['high']:g} open, which means {effect}",
            _SHARE["known"],
        ),
        *(
            (f"filament's {name}", "tungsten's table", tungsten[table]["source"], tungsten[table]["known"])
            for name, table in (("resistance", "resistivity"), ("radiation", "total_emissivity"))
        ),
        (
            "surface that the coil shows",
            f"{lamp.coil_exposure:g} {exposure['unit']}",
            exposure["source"],
            exposure["known"],
        ),
    )


def from_keys(given):
    """Return the model of a filament lamp of the case, by the keys that `given` has (see `lostneutral.loads.build`)."""
    technology, power = given.value("technology"), given.per_branch("power")
    table, bounds = _LAMPS["colour_temperature"][technology], _LAMPS["colour_temperature_range"]
    colour = given.value("colour_temperature", {**table, "value": default_colour_temperature(power, technology)})
    if not np.all((bounds["low"] <= colour) & (colour <= bounds["high"])):
        given.refuse("colour_temperature", colour, "K", f"{bounds['low']:g} to {bounds['high']:g} K")
    model = Lamp(power, given.load.voltage, colour)
    for choice in choices(model):
        given.assume(*choice)
    return model
