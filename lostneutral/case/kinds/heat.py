"""Kinds of load that are warmed by their current, filaments aside."""

from typing import Literal

from pydantic import Field

from lostneutral.case.load_schema import LoadEntry
from lostneutral.case.values import Name, Watt, number_between


class Resistive(LoadEntry):
    """A fixed resistance, given by its rated power."""

    kind: Literal["resistive"] = Field(description="Kind of load")
    power: Watt = Field(description="Power at rated voltage, W")


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
