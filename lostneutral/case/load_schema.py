"""The kinds of load and their keys: one class a kind."""

from typing import Annotated, Any, Literal, Union

from pydantic import BeforeValidator, Field, WithJsonSchema, create_model
from pydantic_core import PydanticCustomError

from lostneutral.case.values import (
    OHM_MAX,
    Allowed,
    Connect,
    Count,
    Entry,
    Exponent,
    Later,
    Multiple,
    Name,
    Ohm,
    Second,
    Truth,
    Var,
    Volt,
    Watt,
    number_between,
)

PowerFactor = number_between("", 0.05, 1.0)
VARISTOR_MIN, VARISTOR_MAX = 10.0, 1000.0
VaristorVolt = number_between("V", VARISTOR_MIN, VARISTOR_MAX)


def _protection(value):
    if value == "none":
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool) and VARISTOR_MIN <= value <= VARISTOR_MAX:
        return float(value)
    raise PydanticCustomError("protection", "cannot be a protection")


Protection = Annotated[
    Any, BeforeValidator(_protection),
    Allowed(f'"none", or the varistor\'s continuous rating, from {VARISTOR_MIN:g} to {VARISTOR_MAX:g}, in V', "V"),
    WithJsonSchema({"anyOf": [{"const": "none"}, {"type": "number", "minimum": VARISTOR_MIN, "maximum": VARISTOR_MAX}]})]


class LoadEntry(Entry):
    """What every load has."""

    name: Name = Field(description="Name of the load; must be unique")
    connect: Connect = Field(description="The two conductors it is connected between, or three-phase and balanced: L1-L2-L3 in delta (see star), "
                                     "L1-L2-L3-N in star with its star point on the neutral")
    star: Truth = Field(False, description="Whether a load on L1-L2-L3 is in star, its star point connected to nothing")
    point: Name = Field(None, description="The point it is connected at; may be omitted if there is only one")
    voltage: Volt = Field(None, description="Rated voltage, V; default the nominal voltage of the supply")
    count: Count = Field(1, description="Number of units in parallel; power per unit")
    on: Truth = Field(True, description="Whether it is switched on")


class Switching(LoadEntry):
    """What a load that goes off and comes back by itself has."""

    restarts_from: Volt = Field(None, description="Lowest voltage at which it restarts, V")
    cuts_out_above: Volt = Field(None, description="Voltage above which it shuts down, V")
    restarts_below: Volt = Field(None, description="Highest voltage at which it restarts, V; default cuts_out_above")
    drop_out_delay: Second = Field(None, description="Time outside its voltages after which it shuts down, s")
    restart_delay: Second = Field(None, description="Time within its voltages after which it restarts, s")
    start_current: number_between("times what it draws running", 0.1, 20.0) = Field(
        None, description="Current while it starts, times that of running; with start_time")
    start_time: Second = Field(None, description="How long a start takes, s; with start_current")


class Resistive(LoadEntry):
    """A fixed resistance, given by its rated power."""

    kind: Literal["resistive"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")


class Impedance(LoadEntry):
    """A fixed resistance and reactance in series."""

    kind: Literal["impedance"] = Field(description="Kind of load")
    resistance: Ohm = Field(0.0, description="Series resistance, ohm")
    reactance: number_between("ohm", -OHM_MAX, OHM_MAX) = Field(
        0.0, description="Series reactance, ohm: plus inductive, minus capacitive")


class Exponential(LoadEntry):
    """Active and reactive power as a power law of voltage."""

    kind: Literal["exponential"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")
    reactive_power: Var = Field(0.0, description="Reactive power at rated voltage, var: plus inductive")
    power_exponent: Exponent = Field(2.0, description="Exponent of power over voltage; 2 is a resistance")
    reactive_exponent: Exponent = Field(2.0, description="Exponent of reactive power over voltage")
    valid_from: Multiple = Field(
        None, description="Lowest voltage at which it was measured, as a multiple of rated voltage")
    valid_to: Multiple = Field(
        None, description="Highest voltage at which it was measured, as a multiple of rated voltage")


class Lamp(LoadEntry):
    """A filament lamp."""

    kind: Literal["lamp"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")
    technology: Literal["incandescent", "halogen"] = Field("incandescent", description="Type of filament lamp")
    colour_temperature: number_between("K", 1800.0, 3400.0) = Field(
        None, description="Colour temperature at rated voltage, K; default by technology and power")


class Heater(LoadEntry):
    """A heating element of resistance wire."""

    kind: Literal["heater"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")
    alloy: Name = Field(None, description="Alloy of the wire by composition; default NiCr 80/20")
    element_temperature: number_between("°C", 20.0, 1400.0) = Field(
        None, description="Temperature of the element at rated voltage, °C; default by cooling")
    cooling: Literal["air", "radiant", "water"] = Field("air", description="Cooling of the element")


class PtcHeater(LoadEntry):
    """A PTC ceramic heater, which keeps its own temperature."""

    kind: Literal["ptc_heater"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage once warm, W")
    switch_temperature: number_between("°C", 30.0, 400.0) = Field(
        None, description="Temperature at which its resistance is twice the minimum, °C")


class Electronic(Switching):
    """A power supply, LED driver, television, computer: constant power within its working voltage range."""

    kind: Literal["electronic"] = Field(description="Kind of load")
    power: Watt = Field(description="Power, W")
    front_end: Literal["rectifier", "corrected"] = Field(
        None, description="Bridge and bulk capacitor (default below 75 W), or with power-factor correction (PFC; default "
                          "from 75 W)")
    power_factor: PowerFactor = Field(None, description="Power factor; the shortfall is assumed to be harmonic current")
    works_from: Volt = Field(None, description="Lowest voltage at which it works, V")
    works_to: Volt = Field(None, description="Highest voltage at which it is rated to work, V")
    capacitance: number_between("F", 1e-9, 1.0) = Field(None, description="Bulk capacitor, F; default by power")
    capacitor_rating: number_between("V", 1.0, 5000.0) = Field(None, description="Rating of the bulk capacitor, V d.c.")
    protection: Protection = Field(None, description='"none", or the continuous rating of a varistor at its input, V')
    inlet_resistance: number_between("ohm", 1e-3, 1e4) = Field(
        None, description="Resistance in series with the bridge of a rectifier: hot inrush limiter, filter, diodes, ohm")
    bridge_drop: number_between("V", 0.0, 10.0) = Field(None, description="Voltage drop of the two conducting diodes, V")
    leakage: number_between("ohm", 1e3, 1e9) = Field(None, description="Discharge resistor across the inlet of a rectifier, ohm")
    suppressor: number_between("F", 0.0, 1e-4) = Field(
        None, description="Suppressor capacitor across the inlet of a rectifier, F")


class Motor(LoadEntry):
    """An induction motor that can stall: single-phase by measured exponents, or on L1-L2-L3 by its two sequence circuits."""

    kind: Literal["motor"] = Field(description="Kind of load")
    power: Watt = Field(description="Input power at rated voltage, W")
    power_factor: PowerFactor = Field(None, description="Power factor at rated voltage")
    power_exponent: Exponent = Field(None, description="Exponent of power over voltage")
    reactive_exponent: Exponent = Field(None, description="Exponent of reactive power over voltage")
    valid_from: Multiple = Field(None, description="Lowest voltage it was measured at, multiple of rated")
    valid_to: Multiple = Field(None, description="Highest voltage it was measured at, multiple of rated")
    machine: Literal["refrigerator", "air conditioner"] = Field(
        None, description="Whose figures it stalls and starts by; default refrigerator")
    stalls_below: number_between("multiples of the rated voltage", 0.1, 0.95) = Field(
        None, description="Voltage below which it stalls, as a multiple of rated voltage")
    torque: number_between("multiples of the rated torque", 0.0, 2.0) = Field(
        None, description="Of a motor on L1-L2-L3: torque of what it drives, multiple of rated; default 1")
    torque_exponent: number_between("", 0.0, 3.0) = Field(
        None, description="Of a motor on L1-L2-L3: exponent of that torque over speed: 0 constant (default), 2 fans and pumps")


class Varistor(LoadEntry):
    """A surge-protective varistor."""

    kind: Literal["varistor"] = Field(description="Kind of load")
    rating: VaristorVolt = Field(description="Rated continuous voltage, V r.m.s.")
    diameter: number_between("mm", 3.0, 100.0) = Field(None, description="Diameter of the disc, mm; default 20")


class Charger(Switching):
    """A vehicle charger: constant current up to its power, off outside its voltages."""

    kind: Literal["charger"] = Field(description="Kind of load")
    power: Watt = Field(description="Power taken at rated voltage, W")
    current: number_between("A", 0.1, 1000.0) = Field(None, description="Current that the pilot allows, each line, A; default by power")
    capacitance: number_between("F", 0.0, 1e-3) = Field(None, description="Filter capacitor, each line to neutral, F")
    works_from: Volt = Field(None, description="Voltage below which it shuts down, V")


class Source(LoadEntry):
    """A solar or battery inverter that feeds in: constant power up to a current, off outside the limits of its connection."""

    kind: Literal["source"] = Field(description="Kind of load")
    power: Watt = Field(description="Power fed in at rated voltage, W")
    current: number_between("A", 0.1, 10000.0) = Field(None, description="Largest current, each line, A; default 1.1 times rated")
    power_factor: PowerFactor = Field(None, description="Set power factor, taking reactive power; default 1")
    standard: Literal["EN 50549-1", "VDE-AR-N 4105", "G98/G99", "RD 1699", "NB/T 32004", "CEI 0-21", "AS/NZS 4777.2",
                      "IEC 61727", "IEEE 1547"] = Field(None, description="Connection standard whose limits it has")
    restart_delay: Second = Field(None, description="Time within limits after which it reconnects, s; default by standard")


class Discharge(LoadEntry):
    """A discharge lamp on a magnetic ballast, which goes out at low voltage and strikes again after a time."""

    kind: Literal["discharge"] = Field(description="Kind of load")
    power: Watt = Field(description="Power with its ballast at rated voltage, W")
    lamp: Literal["fluorescent", "metal halide", "high-pressure sodium"] = Field(
        None, description="Type of discharge lamp; default fluorescent")
    power_factor: PowerFactor = Field(None, description="Power factor at rated voltage; default by type of lamp")
    power_exponent: Exponent = Field(None, description="Exponent of power over voltage; default by type of lamp")
    reactive_exponent: Exponent = Field(None, description="Exponent of reactive power over voltage; default by type of lamp")
    extinguishes_below: number_between("multiples of the rated voltage", 0.1, 0.95) = Field(
        None, description="Voltage at which its arc goes out, as a multiple of rated voltage")
    restrikes_from: number_between("multiples of the rated voltage", 0.1, 1.0) = Field(
        None, description="Voltage from which it strikes again, as a multiple of rated voltage")
    restart_delay: Second = Field(None, description="Time at that voltage after which it strikes again, s; default by type of lamp")


class Transformer(LoadEntry):
    """A load fed through a small transformer, with the reactive power of its iron core."""

    kind: Literal["transformer"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")
    reactive_power: Var = Field(None, description="Reactive power at rated voltage, var; default 0.4 var per W")
    power_exponent: Exponent = Field(None, description="Exponent of power over voltage; default 2, a resistance behind it")
    reactive_exponent: Exponent = Field(None, description="Exponent of reactive power over voltage; default 3")


def _values(kind, words):
    return Annotated[list[kind], Field(min_length=1, max_length=39), Allowed(words)]


class Harmonic(LoadEntry):
    """A resistance plus fixed harmonic currents."""

    kind: Literal["harmonic"] = Field(description="Kind of load")
    power: Watt = Field(description="Power of the fundamental at rated voltage, W")
    orders: _values(Annotated[int, Field(ge=2, le=40)], "whole numbers from 2 to 40, such as [3, 5, 7]") = Field(
        None, description="Orders of the harmonic currents")
    shares: _values(Annotated[float, Field(ge=0.0, le=5.0)], "of the rated fundamental current, 0 to 5, such as [0.8, 0.6]") \
        = Field(None, description="Magnitude of each, as a fraction of the rated fundamental current")
    angles: _values(Annotated[float, Field(ge=-360.0, le=360.0)], "in degrees, −360 to 360, such as [180, 0]") = Field(
        None, description="Phase angle of each, degrees, relative to that harmonic of the source voltage; default all 0 "
                          "with orders given")


PLAIN = (Resistive, Impedance, Exponential, Lamp, Heater, PtcHeater, Electronic, Motor, Varistor, Harmonic, Charger, Source, Discharge, Transformer)
COMMON = (*LoadEntry.model_fields, "kind")
"""The keys that every kind has; the others are the kind's own."""


def _appliance():
    """The model of an appliance: its name in the catalogue, and any key of the underlying kind."""
    keys = {key: (field.rebuild_annotation(), Field(None, description=field.description + " (overrides)"))
            for model in PLAIN for key, field in model.model_fields.items() if key not in COMMON}
    return create_model(
        "Appliance", __base__=LoadEntry,
        __doc__="An appliance by its everyday name; any key of the underlying kind may be overridden.",
        kind=(Literal["appliance"], Field(description="Kind of load")),
        model=(Name, Field(description="Name in the catalogue, which `lostneutral loads` lists")), **keys)


KINDS = {model.model_fields["kind"].annotation.__args__[0]: model for model in (*PLAIN, _appliance())}
"""Name of each kind -> its model."""

AnyLoad = Annotated[Union[tuple(KINDS.values())], Later()]  # noqa: UP007 - the kinds are in a dict
