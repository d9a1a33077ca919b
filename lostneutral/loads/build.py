"""From a load of the case to the model of one unit (one branch, if it is a balanced delta)."""

from dataclasses import replace
from functools import lru_cache
from importlib import import_module

import numpy as np

from lostneutral import data
from lostneutral.case.model import Assumption, Load, Supply
from lostneutral.errors import CaseError
from lostneutral.loads import catalogue


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

    def refuse(self, key, value, unit, allowed):
        """Raise CaseError: `key` of the load holds `value` in `unit`, which its model cannot take."""
        raise CaseError([f"load '{self.load.name}': {key}: {_shown(value, unit)} cannot be used — allowed: {allowed}"])

    def per_branch(self, key):
        """Return the power under `key`, of one branch."""
        return self.value(key) / self.branches

    def value(self, key, entry=None):
        """Return what the case gives under `key`, else the value of the data entry, noted as assumed."""
        if key in self.load.parameters:
            return self.load.parameters[key]
        entry = entry or data.load("load_defaults")[self.load.kind][key]
        self.note(key, entry)
        return entry["value"]


def _shown(value, unit):
    if isinstance(value, str):
        return value
    if np.ndim(value):
        return f"{np.min(value):g} to {np.max(value):g} {unit}".rstrip()
    return f"{1e6 * value:g} µ{unit}" if unit.startswith("F") else f"{value:g} {unit}".rstrip()


def motor_from_keys(given):
    """Return the model of a motor of the case: on three lines it is a three-phase machine."""
    return import_module(f"lostneutral.loads.{'machine' if len(given.load.connect) > 2 else 'motor'}").from_keys(given)


def appliance_from_keys(given):
    """Return the model of an appliance of the case: that of the kind under it, with the catalogue's keys where `given` has none."""
    from lostneutral.case.keys import unit_of

    item = catalogue.appliance(given.value("model"))
    usual = {"source": "usual for such an appliance", "known": "P"}
    for key in sorted(item.parameters.keys() - given.load.parameters.keys()):
        own = {"source": item.source, "known": item.known}
        why = own if key in catalogue.MEASURED else item.sources.get(key, usual)
        given.note(key, {"value": item.parameters[key], "unit": unit_of(key), **why})
    given.load = catalogue.resolve(given.load)
    return _from_keys(given)


BUILDERS = {
    "resistive": "simple.resistive_from_keys",
    "harmonic": "simple.harmonic_from_keys",
    "impedance": "simple.impedance_from_keys",
    "exponential": "simple.exponential_from_keys",
    "lamp": "lamp.from_keys",
    "heater": "heater.from_keys",
    "ptc_heater": "ptc.from_keys",
    "electronic": "rectifier.from_keys",
    "motor": "build.motor_from_keys",
    "varistor": "varistor.from_keys",
    "charger": "charger.from_keys",
    "source": "source.from_keys",
    "discharge": "discharge.lamp_from_keys",
    "transformer": "discharge.transformer_from_keys",
    "appliance": "build.appliance_from_keys",
}
"""Load kind of the case format -> what makes its model, imported when a load is of that kind; a new kind is one entry here."""


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
        return _named(load.name, load.kind, load.voltage, load.connect, given, supply.frequency)
    except (TypeError, CaseError):  # arrays, by which nothing can be looked up; or a fault, told with its load
        return _build(load, supply)


@lru_cache(maxsize=1024)
def _named(name, *given):
    model, assumed = _made(*given)
    return model, tuple(replace(one, subject=f"load '{name}'") for one in assumed)


@lru_cache(maxsize=1024)
def _made(kind, voltage, connect, parameters, frequency):
    """The model and its assumptions, built once: they are asked for from many places."""
    return _build(Load("", kind, connect, "", voltage, parameters=dict(parameters)), Supply({}, frequency=frequency))


def _from_keys(given):
    module, name = BUILDERS[given.load.kind].split(".")
    return getattr(import_module(f"lostneutral.loads.{module}"), name)(given)


def _build(load, supply):
    given = _Given(load, supply)
    model = _from_keys(given)
    return model, tuple(given.assumed)
