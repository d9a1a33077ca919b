"""Kinds of load that are driven by electronics, and the varistor that protects them."""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from lostneutral.case.load_schema import LoadEntry, PowerFactor
from lostneutral.case.values import Allowed, Second, Volt, Watt, number_between

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
