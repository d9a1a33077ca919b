"""From a load of the case to the model of one unit (one branch, if it is a balanced delta)."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from lostneutral import data
from lostneutral.case.keys import unit_of
from lostneutral.case.model import Assumption, Load, Supply
from lostneutral.errors import CaseError
from lostneutral.loads import catalogue, charger, discharge, machine, motor, ptc, rectifier, source, varistor
from lostneutral.loads.heater import ALLOYS, Heater, factor_columns
from lostneutral.loads.lamp import Lamp, choices, default_colour_temperature
from lostneutral.loads.simple import Exponential, Harmonic, Impedance, Resistive

_DEFAULTS = data.load("load_defaults")


class _Given:
    """The keys of one load, with defaults taken where a key is not given and written down as assumptions."""

    def __init__(self, load, supply):
        self.load, self.supply = load, supply
        self.branches = load.branches
        self.assumed = []

    def assume(self, what, value, why, known):
        """Write one assumption down; `known` is a code of `data.KNOWN`."""
        self.assumed.append(Assumption(f"load '{self.load.name}'", what, value, f"{why} ({data.KNOWN[known]})"))

    def note(self, what, entry):
        """Write an entry of a data file down as an assumption."""
        self.assume(what.replace("_", " "), _shown(entry["value"], entry["unit"]), entry["source"], entry["known"])

    def refuse(self, key, value, allowed):
        """Raise CaseError: `key` of the load holds `value`, which its model cannot take."""
        raise CaseError([f"load '{self.load.name}': {key}: {value} cannot be used — allowed: {allowed}"])

    def per_branch(self, key):
        """Return the power under `key`, of one branch."""
        return self.value(key) / self.branches

    def value(self, key, entry=None):
        """Return what the case gives under `key`, else the value of the data entry, noted as assumed."""
        if key in self.load.parameters:
            return self.load.parameters[key]
        entry = entry or _DEFAULTS[self.load.kind][key]
        self.note(key, entry)
        return entry["value"]


def _shown(value, unit):
    if isinstance(value, str):
        return value
    if np.ndim(value):
        return f"{np.min(value):g} to {np.max(value):g} {unit}".rstrip()
    return f"{value:g} {unit}".rstrip()


def _resistive(given):
    return Resistive(given.per_branch("power"), given.load.voltage)


def _harmonic(given):
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


def _impedance(given):
    return Impedance(given.value("resistance"), given.value("reactance"))


def _exponential(given):
    power, reactive = given.per_branch("power"), given.per_branch("reactive_power")
    model = Exponential(
        power,
        given.load.voltage,
        reactive,
        given.value("power_exponent"),
        given.value("reactive_exponent") if np.any(reactive) else 2.0,
        (given.value("valid_from"), given.value("valid_to")),
    )
    for key, what in (("lag", "time to adjust"), ("held_below", "held as an impedance below")):
        given.note(what, _DEFAULTS["exponential"][key])
    return model


def _lamp(given):
    technology, power = given.value("technology"), given.per_branch("power")
    table = data.load("lamps")["colour_temperature"][technology]
    usual = default_colour_temperature(power, technology)
    colour = given.value("colour_temperature", {**table, "value": usual})
    bounds = data.load("lamps")["colour_temperature_range"]
    if not np.all((bounds["low"] <= colour) & (colour <= bounds["high"])):
        given.refuse("colour_temperature", _shown(colour, "K"), f"{bounds['low']:g} to {bounds['high']:g} K")
    model = Lamp(power, given.load.voltage, colour)
    for choice in choices(model):
        given.assume(*choice)
    return model


def _heater(given):
    alloy, cooling = given.value("alloy"), given.value("cooling")
    if alloy not in ALLOYS:
        given.refuse("alloy", f'"{alloy}"', "one of " + ", ".join(f'"{name}"' for name in ALLOYS))
    temperature = given.value("element_temperature", _DEFAULTS["heater"]["element_temperature"][cooling])
    model = Heater(given.per_branch("power"), given.load.voltage, alloy, temperature, cooling)
    if not np.all((model.surroundings < temperature) & (temperature < model.melting_point)):
        allowed = f"above the {model.surroundings:g} °C around it, below its melting at {model.melting_point:g} °C"
        given.refuse("element_temperature", _shown(temperature, "°C"), allowed)
    source = data.load("alloys")["sources"][factor_columns(alloy)[0]]
    given.assume("resistance over temperature", f"table for {alloy}", source["source"], source["known"])
    for what, entry in model.choices():
        given.note(what, entry)
    return model


def _motor(given):
    return (machine if len(given.load.connect) > 2 else motor).from_keys(given)


def _appliance(given):
    item = catalogue.appliance(given.value("model"))
    usual = {"source": "usual for such an appliance", "known": "P"}
    for key in sorted(item.parameters.keys() - given.load.parameters.keys()):
        own = {"source": item.source, "known": item.known}
        why = own if key in catalogue.MEASURED else item.sources.get(key, usual)
        given.note(key, {"value": item.parameters[key], "unit": unit_of(key), **why})
    given.load = catalogue.resolve(given.load)
    return BUILDERS[item.kind](given)


BUILDERS = {
    "resistive": _resistive,
    "harmonic": _harmonic,
    "impedance": _impedance,
    "exponential": _exponential,
    "lamp": _lamp,
    "heater": _heater,
    "ptc_heater": ptc.from_keys,
    "electronic": rectifier.from_keys,
    "motor": _motor,
    "varistor": varistor.from_keys,
    "charger": charger.from_keys,
    "source": source.from_keys,
    "discharge": discharge.lamp_from_keys,
    "transformer": discharge.transformer_from_keys,
    "appliance": _appliance,
}
"""Load kind of the case format -> what makes its model; a new kind is one entry here."""


def load_model(load, supply):
    """Return (model, assumptions) of a load of the case.

    The model is of one unit: `count` is left to the circuit. Of a balanced three-phase load (power total) it is one of
    three equal branches, of a motor on three lines the whole machine. Every default and model choice that the case did
    not give becomes an `Assumption`. The power may be an array: the model then answers for as many loads.

    Raises CaseError where the keys contradict the model.

    >>> from lostneutral.case.model import Load, Supply
    >>> hall = Load("Hall lamp", "lamp", ("L1", "N"), "intake", 230.0, parameters={"power": 60.0})
    >>> model, assumed = load_model(hall, Supply({"L1": 230 + 0j}))
    >>> print(f"{abs(model.admittance(model.settled(115.0))) * 115:.3f} A")
    0.176 A
    >>> for a in assumed:
    ...     print(a.what, "=", a.value)
    technology = incandescent
    colour temperature = 2760 K
    share of heat lost by conduction = 0.06 of rated power
    filament's resistance = tungsten's table
    filament's radiation = tungsten's table
    surface that the coil shows = 0.87 of its surface
    """
    try:
        given = tuple(sorted(load.parameters.items()))
        model, assumed = _made(load.kind, load.voltage, load.connect, given, supply.frequency)
    except (TypeError, CaseError):  # arrays, by which nothing can be looked up; or a fault, told with its load
        return _build(load, supply)
    return model, tuple(replace(one, subject=f"load '{load.name}'") for one in assumed)


@lru_cache(maxsize=1024)
def _made(kind, voltage, connect, parameters, frequency):
    """The model and its assumptions, built once: they are asked for from many places."""
    return _build(Load("", kind, connect, "", voltage, parameters=dict(parameters)), Supply({}, frequency=frequency))


def _build(load, supply):
    given = _Given(load, supply)
    model = BUILDERS[load.kind](given)
    return model, tuple(given.assumed)
