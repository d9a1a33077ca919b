"""The studies of the result file as typed models."""

from typing import Literal

from pydantic import Field

from lostneutral.report.result.parts import Number, Part
from lostneutral.report.result.waveform_schema import WaveState


class SweptPhase(Part):
    name: str
    voltages: list[Number] = Field(description="V, line to neutral at the point fed")


class SweptJoint(Part):
    """A joint at each of `resistances`; every list has one value a resistance, null where the circuit arrives at no settled state."""

    feeding: str
    conductor: str
    resistance: float = Field(description="ohm, as the case has it")
    resistances: list[float | Literal["open"]] = Field(description="ohm; 0: sound")
    currents: list[Number] = Field(description="A through the joint")
    heats: list[Number] = Field(description="W given off by the joint")
    shifts: list[Number] = Field(description="V, neutral of the point fed to the supply's star point")
    phases: list[SweptPhase]


class LampOrResistor(Part):
    load: str
    as_lamp: float = Field(description="V")
    as_resistor: float = Field(description="V, if it kept its rated resistance")


class HighestLowest(Part):
    highest: float = Field(description="V, line to neutral after the break")
    lowest: float


class ChangedInput(Part):
    what: Literal["supply voltage", "power"]
    load: str | None
    lower: HighestLowest | None = Field(description="With the value 10 % lower; null: no settled state that near")
    higher: HighestLowest | None


class ChiefInputs(Part):
    given: HighestLowest
    changed: list[ChangedInput]


class ElectrodeSwept(Part):
    point: str
    resistances: list[float] = Field(description="ohm, of an electrode of its own")
    voltages: list[Number] = Field(description="V, earth terminal to remote earth")
    without: Number = Field(description="V with no electrode; null: not determined, or not asked")
    as_if: bool = Field(description="The earthing is not given, TN-C-S was taken")


class OpenedSwitch(Part):
    point: str
    closed: Number = Field(description="V, earth terminal to remote earth, with the main switch closed")
    open: Number = Field(description="V with it open; null: nothing determines it")
    others: list[str] = Field(description="Points with loads on behind the same fault")


class HingeChange(Part):
    what: Literal["metalwork", "item", "line"]
    name: str
    point: str
    given: float | str | None = Field(description="V of metalwork, outcome of an item, verdict of a line")
    low: float | str | None
    high: float | str | None


class AssumedQuantity(Part):
    quantity: str
    of: str
    unit: str
    given: float
    ends: list[float]
    changes: list[HingeChange]


class WhatItHangsOn(Part):
    varied: int
    left_out: int
    found: list[AssumedQuantity]


class ChangedInlets(Part):
    inlet: float = Field(description="Factor of the resistance of every supply's inlet")
    capacitor: float = Field(description="Factor of every supply's bulk capacitor")
    reason: str | None = Field(description="Why there is no state")
    state: WaveState | None


class Studies(Part):
    """Questions put to the solved case, each changing it a little and following the settled state. Of sine waves, but `inlets`."""

    joint: SweptJoint | None
    lamps: list[LampOrResistor]
    sensitivity: ChiefInputs | None
    electrode: ElectrodeSwept | None
    main_switch: list[OpenedSwitch]
    hinges: WhatItHangsOn | None
    inlets: list[ChangedInlets]
