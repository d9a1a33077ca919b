"""The case file, version 1, as pydantic models: every table and key, with its type, range and meaning.

What holds between keys and between tables is in `lostneutral.case.checks`.
"""

from typing import Literal

from pydantic import Field

from lostneutral.case.load_schema import AnyLoad
from lostneutral.case.values import (
    Date,
    Entry,
    Impedance,
    Name,
    Ohm,
    Text,
    Title,
    Volt,
    later,
    later_list,
    number_between,
    understood,
)


class SupplyEntry(Entry):
    """The source, its star point (split-phase: its supply neutral) and its earthing."""

    system: Literal["three-phase", "split-phase"] = Field("three-phase", description="Three-phase, or L1 and L2 at 180°")
    nominal: Volt = Field(None, description="Nominal voltage line to neutral, V; default 230, split-phase 120")
    voltage: Volt = Field(None, description="Actual voltage line to neutral, V; default the nominal")
    frequency: number_between("Hz", 10.0, 1000.0) = Field(None, description="Frequency, Hz; default 50, split-phase 60")
    rotation: Literal["L1-L2-L3", "L1-L3-L2"] = Field("L1-L2-L3", description="Phase sequence")
    phasors: later("sources_schema:PhasorsEntry") = Field(None, description="Actual voltage of each line; replaces voltage and rotation")
    line_impedance: Impedance = Field((0.0, 0.0), description="Source and transformer, each line, [R, X] in ohm")
    transformer: later("sources_schema:TransformerEntry") = Field(
        None, description="The transformer before the supply's terminals; line_impedance is then the impedance behind it")
    neutral_impedance: Impedance = Field(
        (0.0, 0.0), description="Neutral up to the terminals of the supply, [R, X] in ohm")
    earthing: understood(Literal["TN-S", "TN-C-S", "TN-C", "TT"], "earthing") = Field(
        None, description="Earthing system, also by other names such as PME or MEN; if omitted it is unknown, and no touch "
                          "voltage is calculated")
    electrode: Ohm = Field(0.0, description="Earth electrode at the source (star point), ohm")
    limits: Name = Field(None, description="Published voltage limits to compare with; default EN 50160; split-phase, and 120 V "
                                            "60 Hz, ANSI C84.1 Range A service")
    old_colours: Name = Field(None, description="Country whose former conductor colours are listed in the report")


class CaseFile(Entry):
    """A case of a lost neutral: the installation, the break and the observations."""

    title: Title = Field(description="Title of the case")
    description: Text = Field("", description="Free text")
    date: Date = Field(None, description="Date of the case, printed in the report")
    supply: SupplyEntry = Field(description="The source")
    point: later_list("wiring_schema:PointEntry") = Field([], description="Places in the wiring; default one, named intake")
    group: later_list("wiring_schema:GroupEntry") = Field([], description="Similar premises along a main")
    path: later_list("wiring_schema:PathEntry") = Field([], description="Metallic paths between earth terminals")
    breaks: later_list("wiring_schema:BreakEntry") = Field(
        [], alias="break", description="Breaks and high-resistance joints; default N open in the cable to the first "
                                       "point; [] = nothing broken")
    cross: later_list("wiring_schema:CrossEntry") = Field([], description="Conductors transposed at a point")
    load: list[AnyLoad] = Field(description="The loads; may be omitted where a [[group]] has some")
    generator: later_list("sources_schema:GeneratorEntry") = Field([], description="Second supplies: generators or inverters")
    changeover: later_list("sources_schema:ChangeoverEntry") = Field([], description="Changeover switches between supply and generator")
    device: later_list("sources_schema:DeviceEntry") = Field([], description="Protective devices that are installed")
    event: later_list("sources_schema:EventEntry") = Field([], description="Sequence of events")
    course: later("sources_schema:CourseEntry") = Field(None, description="Settings of the simulation over time")
    unknown: later_list("seen_schema:UnknownEntry") = Field([], description="Unknowns")
    observation: later_list("seen_schema:ObservationEntry") = Field([], description="Observations")
    record: later_list("seen_schema:RecordEntry") = Field([], description="Recorded voltages and events, CSV files or workbooks beside the case file")
    prior: later_list("seen_schema:PriorEntry") = Field([], description="Prior weights of the types of cause")
    document: later("exhibits_schema:DocumentEntry") = Field(None, description="Heading and form of the report")
    photo: later_list("exhibits_schema:PhotoEntry") = Field([], description="Photographs, as exhibits")
    test: later_list("exhibits_schema:TestEntry") = Field([], description="Test results as recorded")
