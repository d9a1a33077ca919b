"""The case file, version 1, as pydantic models: every table and key, with its type, range and meaning.

What holds between keys and between tables is in `lostneutral.case.checks`.
"""

from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from lostneutral.case.load_schema import AnyLoad
from lostneutral.case.values import (
    Allowed,
    Conductor,
    Date,
    Entry,
    Impedance,
    JointResistance,
    Line,
    Name,
    Ohm,
    Phasor,
    Second,
    Share,
    Text,
    Title,
    Truth,
    Volt,
    Watt,
    number,
)


class PhasorsEntry(Entry):
    """Source voltage of each line, [magnitude in V, angle in degrees]."""

    L1: Phasor = Field(description="Line L1, [V, degrees]")
    L2: Phasor = Field(description="Line L2, [V, degrees]")
    L3: Phasor = Field(None, description="Line L3, [V, degrees]; not in a split-phase system")


class SupplyEntry(Entry):
    """The source, its star point and its earthing."""

    system: Literal["three-phase", "split-phase"] = Field("three-phase", description="Three-phase, or L1 and L2 at 180°")
    nominal: Volt = Field(None, description="Nominal voltage line to neutral, V; default 230, split-phase 120")
    voltage: Volt = Field(None, description="Actual voltage line to neutral, V; default the nominal")
    frequency: number("Hz", 10.0, 1000.0) = Field(None, description="Frequency, Hz; default 50, split-phase 60")
    rotation: Literal["L1-L2-L3", "L1-L3-L2"] = Field("L1-L2-L3", description="Order in which the lines follow")
    phasors: PhasorsEntry = Field(None, description="Actual voltage of each line; replaces voltage and rotation")
    line_impedance: Impedance = Field((0.0, 0.0), description="Source and transformer, each line, [R, X] in ohm")
    neutral_impedance: Impedance = Field((0.0, 0.0), description="Neutral up to the supply's terminals, [R, X] in ohm")
    earthing: Literal["TN-S", "TN-C-S", "TN-C", "TT"] = Field(
        None, description="Earthing system; left out = not known, no touch voltage is computed")
    electrode: Ohm = Field(0.0, description="Earth electrode at the supply's star point, ohm")
    limits: Name = Field(None, description="Published voltage band to judge by; default EN 50160")
    old_colours: Name = Field(None, description="Country whose old conductor colours the report lists")


class CableEntry(Entry):
    """The run that feeds a point: by length and size, or in ohms."""

    length: number("m", 0.0, 1e5) = Field(None, description="Length, m")
    area: number("mm²", 0.0, 1e4) = Field(None, description="Area of the line conductors, mm², a size of IEC 60228")
    material: Literal["copper", "aluminium"] = Field("copper", description="Conductor material")
    neutral_area: number("mm²", 0.0, 1e4) = Field(None, description="Area of the neutral, mm²; default `area`")
    pe_area: number("mm²", 0.0, 1e4) = Field(None, description="Area of the protective conductor, mm²; default `area`")
    temperature: number("°C", -40.0, 250.0) = Field(20.0, description="Conductor temperature, °C")
    line: Impedance = Field(None, description="Each line, [R, X] in ohm, instead of length and area")
    neutral: Impedance = Field(None, description="Neutral, [R, X] in ohm; default as the line")
    pe: Impedance = Field(None, description="Protective conductor, [R, X] in ohm; default as the neutral")


class PointEntry(Entry):
    """A place in the wiring, with the run that feeds it."""

    name: Name = Field(description="The point's name, its own among the points")
    kind: Literal["joint", "intake", "board"] = Field(
        None, description="Default: intake if fed from the supply or a joint, else board")
    fed_from: Name = Field("supply", description='"supply" or the name of another point')
    cable: CableEntry = Field(None, description="The run that feeds it; left out = no impedance")
    electrode: Ohm = Field(None, description="Local earth electrode, ohm; left out = none")
    phases: Annotated[list[Line], Field(min_length=1, max_length=3), Allowed('a list such as ["L1"] or ["L1", "L2"]')] \
        = Field(None, description="Lines that arrive here; default all of the point it is fed from")


class GroupLoadEntry(Entry):
    """A load of every premises of a group: the keys of a [[load]] without point, and its share."""

    model_config = ConfigDict(extra="allow")

    share: Share = Field(1.0, description="Share of the premises in which it is on, 0 to 1; dealt evenly")


class GroupEntry(Entry):
    """Like premises along a main, each fed from a joint of its own."""

    name: Name = Field(description='Names the premises "name 1", "name 2" … and the joints "name joint 1" …')
    count: Annotated[int, Field(ge=1, le=20_000), Allowed("a whole number from 1 to 20000")] = Field(
        description="How many premises")
    fed_from: Name = Field("supply", description='Where the main begins: "supply" or a joint')
    spacing: CableEntry = Field(None, description="The main from joint to joint; left out = no impedance")
    service: CableEntry = Field(None, description="The run from its joint to each premises; left out = no impedance")
    phases: Literal["single", "all"] = Field(
        "single", description='"single": one line to each premises, dealt in turn; "all": every line to each')
    electrode: Ohm = Field(None, description="Earth electrode of each premises, ohm; left out = none")
    main_electrode: Ohm = Field(None, description="Earth electrode at joints of the main, ohm; left out = none")
    main_electrode_every: Annotated[int, Field(ge=1), Allowed("a whole number of 1 or more")] = Field(
        1, description="At every which joint the main has its electrode")
    load: list[GroupLoadEntry] = Field([], description="Loads of every premises; L in connect is the premises' own "
                                                       "line, with all lines the next in turn; default L-N")


class PathEntry(Entry):
    """A metallic path between earth terminals, such as a pipe or a cable screen."""

    start: Name = Field(alias="from", description="Point whose earth terminal it joins")
    end: Name = Field(alias="to", description='Another point, or "earth"')
    resistance: Ohm = Field(description="Resistance, ohm")


class BreakEntry(Entry):
    """A break or a bad joint, from before time 0."""

    feeding: Name = Field(None, description="The run, named by the point it feeds; default the first point")
    conductor: Conductor = Field("N", description="What broke; N is the PEN where N and PE are one")
    resistance: JointResistance = Field(
        "open", validate_default=True, description='"open", or the resistance in ohm; 0 = sound')


class CrossEntry(Entry):
    """Two conductors exchanged where the run arrives at a point."""

    point: Name = Field(None, description="The point; may be left out if there is only one")
    conductors: Annotated[list[Conductor], Field(min_length=2, max_length=2),
                          Allowed('two different conductors, such as ["L1", "N"]')] \
        = Field(description="The two that are exchanged")


class EventEntry(Entry):
    """A change at a time: of a run's conductor (break) or of a load's switch (load, on)."""

    time: Second = Field(description="When, s after the start")
    run: Name = Field(None, alias="break", description="What breaks or is mended: the run, by the point it feeds")
    conductor: Conductor = Field("N", description="The conductor of that run")
    resistance: JointResistance = Field(
        "open", validate_default=True, description='"open", or the resistance in ohm; 0 = mended')
    load: Name = Field(None, description="The load that is switched")
    on: Truth = Field(None, description="Switched on or off")


class CourseEntry(Entry):
    """How a course in time is followed."""

    end: number("s", 1e-3, 1e9) = Field(None, description="How far it is followed, s; default an hour after the last event")


class Spread(Entry):
    """A range (low, high, scale), or a normal law (mean, deviation)."""

    scale: Literal["linear", "log"] = Field("linear", description="Uniform, or uniform in the logarithm")


class PowerSpread(Spread):
    """What is known of a power, W: a range (low, high, scale), or a normal law (mean, deviation)."""

    low: Watt = Field(None, description="Lowest, W")
    high: Watt = Field(None, description="Highest, W")
    mean: Watt = Field(None, description="Mean, W")
    deviation: Watt = Field(None, description="One standard deviation, W")


class ResistanceSpread(Spread):
    """What is known of a resistance, ohm: a range (low, high, scale), or a normal law (mean, deviation)."""

    low: Ohm = Field(None, description="Lowest, ohm")
    high: Ohm = Field(None, description="Highest, ohm")
    mean: Ohm = Field(None, description="Mean, ohm")
    deviation: Ohm = Field(None, description="One standard deviation, ohm")


class VoltageSpread(Spread):
    """What is known of a voltage, V: a range (low, high, scale), or a normal law (mean, deviation)."""

    low: Volt = Field(None, description="Lowest, V")
    high: Volt = Field(None, description="Highest, V")
    mean: Volt = Field(None, description="Mean, V")
    deviation: number("V", 0.0, 100.0) = Field(None, description="One standard deviation, V")


class UnknownEntry(Entry):
    """What is not known: of a load, of a break, of the supply, of which load was on, or of a whole household."""

    load: Name = Field(None, description="The load")
    on: Share = Field(None, description="Probability that it was on, 0 to 1")
    power: PowerSpread = Field(None, description="What is known of its power, W")
    run: Name = Field(None, alias="break", description="The run, by the point it feeds")
    conductor: Conductor = Field("N", description="The conductor of that run")
    resistance: ResistanceSpread = Field(None, description="What is known of its resistance, ohm")
    supply_voltage: VoltageSpread = Field(None, description="Voltage of the supply line to neutral, all lines alike, V")
    one_of: Annotated[list[Name], Field(min_length=2), Allowed("a list of two or more loads")] = Field(
        None, description="Loads of which one was on, and only one")
    weights: Annotated[list[number("", 1e-9, 1e9)], Allowed("a list of numbers above 0, one for each of one_of")] = Field(
        None, description="How likely each of them is beside the others; default all alike")
    none: Share = Field(None, description="Probability that none of them was on; default 0")
    household: Literal["evening"] = Field(
        None, description="A household's typical evening: how likely each appliance at the point was to be on")
    point: Name = Field(None, description="The household's point; may be left out if there is only one")


class ObservationEntry(Entry):
    """What was seen: a meter reading at a point, or what became of a load."""

    point: Name = Field(None, description="Where it was read; may be left out if there is only one point")
    between: Annotated[str, Allowed('two of L1, L2, L3, N, PE and earth, such as "L1-N" or "N-earth"')] = Field(
        None, description="The two terminals, such as L1-N or N-earth")
    voltage: number("V", 0.0, 1e4) = Field(None, description="The reading, V")
    uncertainty: number("V", 1e-3, 1e4) = Field(None, description="One standard deviation of the reading, V")
    impedance: number("ohm", 1.0, 1e12) = Field(None, description="Input impedance of the instrument, ohm")
    load: Name = Field(None, description="The load that was looked at")
    seen: Literal["failed", "survived", "brighter", "dimmer", "unchanged", "off"] = Field(
        None, description="What became of it")
    within: Second = Field(None, description="How soon after the break, s")
    time: Second = Field(None, description="When, s after the start")
    state: Literal["before", "after"] = Field(None, description="Seen before or after the break; default after")
    observer: Text = Field(None, description="Who saw it")
    instrument: Text = Field(None, description="What it was read with")
    kept: Text = Field(None, description="Where the record or the part is kept")


Cause = Literal["sound", "open neutral", "bad joint", "line lost", "line lost as well", "line crossed with neutral",
                "protective conductor open", "supply overvoltage"]


class PriorEntry(Entry):
    """How likely a kind of cause was before anything was seen, against the others."""

    cause: Cause = Field(description="Kind of cause")
    weight: number("", 0.0, 1e6) = Field(description="Weight against the other kinds; 0 leaves it out")


class CaseFile(Entry):
    """A case of a lost neutral: what was installed, what broke and what was seen."""

    title: Title = Field(description="Title of the case")
    description: Text = Field("", description="Free text")
    date: Date = Field(None, description="Date of the case, for the report")
    supply: SupplyEntry = Field(description="The source")
    point: list[PointEntry] = Field([], description="Places in the wiring; default one, named intake")
    group: list[GroupEntry] = Field([], description="Like premises along a main")
    path: list[PathEntry] = Field([], description="Metallic paths between earth terminals")
    breaks: list[BreakEntry] = Field(
        [], alias="break", description="Breaks and bad joints; default N open in the run that feeds the first point; "
                                       "[] = nothing broken")
    cross: list[CrossEntry] = Field([], description="Conductors exchanged at a point")
    load: list[AnyLoad] = Field(description="The loads; may be left out where a [[group]] has some")
    event: list[EventEntry] = Field([], description="A course of events")
    course: CourseEntry = Field(CourseEntry(), description="How the course of events is followed in time")
    unknown: list[UnknownEntry] = Field([], description="What is not known")
    observation: list[ObservationEntry] = Field([], description="What was seen")
    prior: list[PriorEntry] = Field([], description="How likely each kind of cause was before anything was seen")
