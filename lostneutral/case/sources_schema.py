"""Entries of the case file for what is beside the first supply: second supplies, changeovers, devices, and what happens when."""

from typing import Annotated, Literal

from pydantic import Field

from lostneutral.case.values import (
    Allowed,
    Conductor,
    Entry,
    Impedance,
    JointResistance,
    Line,
    Name,
    Ohm,
    Phasor,
    Second,
    Truth,
    Volt,
    number_between,
)
from lostneutral.case.wiring_schema import CableEntry


class PhasorsEntry(Entry):
    """Source voltage of each line, [magnitude in V, angle in degrees]."""

    L1: Phasor = Field(description="Line L1, [V, degrees]")
    L2: Phasor = Field(description="Line L2, [V, degrees]")
    L3: Phasor = Field(None, description="Line L3, [V, degrees]; not in a split-phase system")


class TransformerEntry(Entry):
    """The transformer that gives the supply, with its high-voltage side."""

    group: Literal["Dyn1", "Dyn5", "Dyn7", "Dyn11", "Yyn0", "Yyn6", "YNyn0", "YNyn6", "Yzn1", "Yzn5", "Yzn7", "Yzn11"] \
        = Field("Dyn11", description="Vector group")
    rated_power: number_between("VA", 100.0, 1e8) = Field(description="Rated power, VA")
    short_circuit_voltage: number_between("%", 0.5, 25.0) = Field(None, description="Short-circuit voltage, %")
    load_loss: number_between("%", 0.0, 20.0) = Field(None, description="Load loss, % of the rated power")
    zero_sequence: number_between("multiples of the short-circuit impedance", 0.01, 10.0) = Field(
        None, description="Zero-sequence impedance of the windings as a multiple of the short-circuit impedance")
    no_load_current: number_between("%", 0.01, 20.0) = Field(None, description="No-load current, % of the rated current")
    zero_magnetising: number_between("%", 1.0, 1e6) = Field(
        None, description="Zero-sequence magnetising impedance of a star-star transformer, % of the rated impedance")
    limbs: Literal["three-limb", "bank"] = Field(
        "three-limb", description="Core: three limbs, or bank = single-phase transformers, shell or five limbs")


class GeneratorEntry(Entry):
    """A second supply with a star point of its own, behind a changeover."""

    name: Name = Field(description="Name of the generator; must be unique, among the points as well")
    kind: Literal["generator", "inverter"] = Field("generator", description="Rotating, or an inverter")
    rated_power: number_between("VA", 10.0, 1e8) = Field(None, description="Rated power, VA; gives its impedance if that is not given")
    voltage: Volt = Field(None, description="Voltage line to neutral, V; default the nominal voltage of the supply")
    line_impedance: Impedance = Field(None, description="Each line, [R, X] in ohm; default by power")
    zero_impedance: Impedance = Field(None, description="Each line in zero sequence, [R, X] in ohm; default by power, else line_impedance")
    neutral_impedance: Impedance = Field((0.0, 0.0), description="Neutral up to its terminals, [R, X] in ohm")
    earthing: Literal["bonded", "floating"] = Field(
        None, description="Star point bonded to the protective conductor of the installation, or floating (default)")
    electrode: Ohm = Field(None, description="Earth electrode of its star point, ohm; if omitted, none")
    cable: CableEntry = Field(None, description="The cable from it to the changeover; if omitted, no impedance")


class ContactTimes(Entry):
    """Times of contacts, s."""

    L1: Second = Field(None, description="Pole L1, s")
    L2: Second = Field(None, description="Pole L2, s")
    L3: Second = Field(None, description="Pole L3, s")
    N: Second = Field(None, description="Pole N, s")


Pole = Literal["L1", "L2", "L3", "N"]


Poles = Annotated[list[Pole], Field(min_length=1, max_length=4), Allowed('a list such as ["L1", "L2", "L3", "N"]')]


class ChangeoverEntry(Entry):
    """A changeover switch where the cable arrives at a point: supply or generator."""

    name: Name = Field(None, description='Name; default "changeover at" and the point')
    point: Name = Field(None, description="The point; may be omitted if there is only one")
    generator: Name = Field(None, description="The generator; may be omitted if there is only one")
    poles: Poles = Field(None, description="Poles that it switches; default the lines of the point and N (four-pole)")
    position: Literal["supply", "generator"] = Field("supply", description="Position at first")
    dead_time: number_between("s", 0.0, 3600.0) = Field(None, description="Time between opening and closing, s")
    opens_first: ContactTimes = Field(None, description="Contacts that open before the others, s before: { N = 0.01 }")
    closes_late: ContactTimes = Field(None, description="Contacts that close after the others, s after: { N = 0.02 }")
    never_makes: Poles = Field(None, description="Contacts that do not make where it moves to or, without an event, stands")


class DeviceEntry(Entry):
    """A protective device that is installed; what it watches is judged, what it would switch off is not carried out."""

    name: Name = Field(description="Name of the device; must be unique")
    kind: Literal["residual-current device", "circuit-breaker", "fuse", "voltage relay", "open-PEN device", "isolation monitor"] \
        = Field(description="Kind of device")
    point: Name = Field(None, description="It stands in the cable that feeds this point; may be omitted if there is only one")
    type: Literal["AC", "A", "F", "B", "S", "C", "D"] = Field(
        None, description="Of a residual-current device AC, A, F, B, or S (selective); of a circuit-breaker B, C or D")
    rated_residual: number_between("A", 1e-3, 30.0) = Field(None, description="Rated residual current, A; default 0.03")
    rated_current: number_between("A", 0.1, 10_000.0) = Field(None, description="Rated current, A, of a circuit-breaker or fuse")
    supply: Literal["none", "line to neutral", "functional earth"] = Field(
        "none", description="Supply of an electronic residual-current device; none: works by the residual current alone")
    low: Volt = Field(None, description="Operates below this voltage line to neutral, V; default only of an open-PEN device at 230 V: 207")
    high: Volt = Field(None, description="Operates above this voltage line to neutral, V; default only of an open-PEN device at 230 V: 253")
    touch: Volt = Field(None, description="Operates above this voltage between the protective conductor and remote earth, V")
    within: Second = Field(None, description="Operating time, s")
    poles: Annotated[list[Literal["L1", "L2", "L3", "N", "PE"]], Field(min_length=1, max_length=5),
                     Allowed('a list such as ["L1", "N"]')] = Field(None, description="Poles that it opens; default all lines and N")


class EventEntry(Entry):
    """A change at a time: of a conductor (break), the switch of a load (load, on), a fuse, or a changeover (to)."""

    time: Second = Field(description="Time, s after the start")
    run: Name = Field(
        None, alias="break", description="The cable that breaks or is repaired, named by the point it feeds")
    conductor: Conductor = Field("N", description="The conductor of that cable")
    resistance: JointResistance = Field(
        "open", validate_default=True, description='"open", or the resistance in ohm; 0 = restored')
    load: Name = Field(None, description="The load that is switched")
    on: Truth = Field(None, description="Switched on or off")
    fuse: Line = Field(None, description="The high-voltage fuse of this line that opens or, with resistance 0, is replaced")
    changeover: Name = Field(None, description="The changeover that moves")
    to: Literal["supply", "generator"] = Field(None, description="Where it moves to")
    dead_time: number_between("s", 0.0, 3600.0) = Field(None, description="As in [[changeover]], for this move")
    opens_first: ContactTimes = Field(None, description="As in [[changeover]], for this move")
    closes_late: ContactTimes = Field(None, description="As in [[changeover]], for this move")
    never_makes: Poles = Field(None, description="As in [[changeover]], for this move")


class CourseEntry(Entry):
    """Settings of the simulation over time."""

    end: number_between("s", 1e-3, 1e9) = Field(None, description="Duration, s; default an hour after the last event")
