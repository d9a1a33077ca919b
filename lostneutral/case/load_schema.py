"""The kinds of load and their keys: one class a kind; a new kind is a class here and its name leaves `LATER`."""

from typing import Annotated, Literal

from pydantic import Field

from lostneutral.case.values import (
    OHM_MAX,
    Connect,
    Count,
    Entry,
    Exponent,
    Multiple,
    Name,
    Ohm,
    Truth,
    Var,
    Volt,
    Watt,
    number,
)

LATER = ("ptc_heater", "electronic", "motor", "varistor", "harmonic", "appliance")
"""Kinds whose names are taken but which cannot be used yet."""


class LoadEntry(Entry):
    """What every load has."""

    name: Name = Field(description="The load's name, its own among the loads")
    connect: Connect = Field(description="The two conductors it lies between, or L1-L2-L3: balanced, in delta")
    point: Name = Field(None, description="The point it is connected at; may be left out if there is only one")
    voltage: Volt = Field(None, description="Rated voltage, V; default the supply's nominal voltage")
    count: Count = Field(1, description="How many such units stand in parallel; power is of one")
    on: Truth = Field(True, description="Whether it is switched on")


class Resistive(LoadEntry):
    """A fixed resistance, by its power."""

    kind: Literal["resistive"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")


class Impedance(LoadEntry):
    """A fixed resistance and reactance in series."""

    kind: Literal["impedance"] = Field(description="Kind of load")
    resistance: Ohm = Field(0.0, description="Series resistance, ohm")
    reactance: number("ohm", -OHM_MAX, OHM_MAX) = Field(
        0.0, description="Series reactance, ohm: plus inductive, minus capacitive")


class Exponential(LoadEntry):
    """Power and reactive power as powers of the voltage."""

    kind: Literal["exponential"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")
    reactive_power: Var = Field(0.0, description="Reactive power at rated voltage, var: plus inductive")
    power_exponent: Exponent = Field(2.0, description="Exponent of power over voltage; 2 is a resistance")
    reactive_exponent: Exponent = Field(2.0, description="Exponent of reactive power over voltage")
    valid_from: Multiple = Field(None, description="Lowest voltage it was measured at, multiple of rated")
    valid_to: Multiple = Field(None, description="Highest voltage it was measured at, multiple of rated")


class Lamp(LoadEntry):
    """A filament lamp."""

    kind: Literal["lamp"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")
    technology: Literal["incandescent", "halogen"] = Field("incandescent", description="Kind of filament lamp")
    colour_temperature: number("K", 1800.0, 3400.0) = Field(
        None, description="Colour temperature at rated voltage, K; default by technology and power")


class Heater(LoadEntry):
    """A heating element of resistance wire."""

    kind: Literal["heater"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")
    alloy: Name = Field(None, description="Alloy of the wire by composition; default NiCr 80/20")
    element_temperature: number("°C", 20.0, 1400.0) = Field(
        None, description="Temperature of the element at rated voltage, °C; default by cooling")
    cooling: Literal["air", "radiant", "water"] = Field("air", description="How the element gives off its heat")


KINDS = {model.model_fields["kind"].annotation.__args__[0]: model
         for model in (Resistive, Impedance, Exponential, Lamp, Heater)}
"""Name of each kind -> its model."""

COMMON = (*LoadEntry.model_fields, "kind")
"""The keys that every kind has; the others are the kind's own."""

AnyLoad = Annotated[Resistive | Impedance | Exponential | Lamp | Heater, Field(discriminator="kind")]
