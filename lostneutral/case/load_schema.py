"""What every load of the case file has, and the kinds there are: each has a class with its own keys in `kinds/`."""

from typing import Annotated, Any

from pydantic import Field

from lostneutral.case.values import (
    Connect,
    Count,
    Entry,
    Name,
    OneOf,
    TablesByName,
    Truth,
    Volt,
    number_between,
)

PowerFactor = number_between("", 0.05, 1.0)


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


COMMON = (*LoadEntry.model_fields, "kind")
"""The keys that every kind has; the others are the kind's own."""

KINDS = TablesByName({
    "resistive": "kinds.heat:Resistive",
    "impedance": "kinds.power:Impedance",
    "exponential": "kinds.power:Exponential",
    "lamp": "kinds.light:Lamp",
    "heater": "kinds.heat:Heater",
    "ptc_heater": "kinds.heat:PtcHeater",
    "electronic": "kinds.electronic:Electronic",
    "motor": "kinds.power:Motor",
    "varistor": "kinds.electronic:Varistor",
    "harmonic": "kinds.power:Harmonic",
    "charger": "kinds.electronic:Charger",
    "source": "kinds.electronic:Source",
    "discharge": "kinds.light:Discharge",
    "transformer": "kinds.power:Transformer",
    "appliance": "kinds.appliance:Appliance",
})
"""Name of each kind -> its model."""

AnyLoad = Annotated[Any, OneOf(KINDS)]
