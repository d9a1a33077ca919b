"""Kinds of load that give light by themselves: filaments and discharges."""

from typing import Literal

from pydantic import Field

from lostneutral.case.load_schema import LoadEntry, PowerFactor
from lostneutral.case.values import Exponent, Second, Watt, number_between


class Lamp(LoadEntry):
    """A filament lamp."""

    kind: Literal["lamp"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")
    technology: Literal["incandescent", "halogen"] = Field("incandescent", description="Type of filament lamp")
    colour_temperature: number_between("K", 1800.0, 3400.0) = Field(
        None, description="Colour temperature at rated voltage, K; default by technology and power")


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
