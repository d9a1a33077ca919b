"""Kinds of load that are given by their power or impedance at rated voltage."""

from typing import Annotated, Literal

from pydantic import Field

from lostneutral.case.load_schema import LoadEntry, PowerFactor
from lostneutral.case.values import OHM_MAX, Allowed, Exponent, Multiple, Ohm, Var, Watt, number_between


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
