"""The case file, version 1, as pydantic models: every table and key, with its type, range and meaning.

What holds between keys and between tables is in `lostneutral.case.checks`.
"""

from typing import Literal

from pydantic import Field

from lostneutral import data
from lostneutral.case.load_schema import AnyLoad
from lostneutral.case.values import (
    Date,
    Entry,
    Impedance,
    Name,
    Ohm,
    Phasor,
    Text,
    Title,
    Volt,
    When,
    later,
    later_list,
    number_between,
    understood,
)


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


class SupplyEntry(Entry):
    """The source, its star point (split-phase: its supply neutral) and its earthing."""

    system: Literal["three-phase", "split-phase"] = Field("three-phase", description="Three-phase, or L1 and L2 at 180°")
    nominal: Volt = Field(None, description="Nominal voltage line to neutral, V; default 230, split-phase 120")
    voltage: Volt = Field(None, description="Actual voltage line to neutral, V; default the nominal")
    frequency: number_between("Hz", 10.0, 1000.0) = Field(None, description="Frequency, Hz; default 50, split-phase 60")
    rotation: Literal["L1-L2-L3", "L1-L3-L2"] = Field("L1-L2-L3", description="Phase sequence")
    phasors: later(PhasorsEntry) = Field(None, description="Actual voltage of each line; replaces voltage and rotation")
    line_impedance: Impedance = Field((0.0, 0.0), description="Source and transformer, each line, [R, X] in ohm")
    transformer: later(TransformerEntry) = Field(
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


class CourseEntry(Entry):
    """Settings of the simulation over time."""

    end: number_between("s", 1e-3, 1e9) = Field(None, description="Duration, s; default an hour after the last event")


COUNTRIES = tuple(data.load("emergency"))


class DocumentEntry(Entry):
    """Who asked for the report, who made it, of what; what is left out is a blank line to fill in by hand."""

    reference: Name = Field(None, description="Number or reference of the report")
    prepared_for: Name = Field(None, description="Client: whom the report is for")
    prepared_by: Name = Field(None, description="Author of the report")
    qualification: Name = Field(None, description="The author's qualification")
    organisation: Name = Field(None, description="The author's organisation")
    address: Name = Field(None, description="Address of the site")
    instruction: Text = Field(None, description="Instruction received: what was asked, by whom, when")
    incident: When = Field(None, description="Date of the incident, with the time in words if known")
    inspection: When = Field(None, description="Date of the inspection")
    report: Date = Field(None, description="Date of the report; default the date of the case")
    language: Literal["en", "de", "fr", "es"] = Field("en", description="Language of a client's report, its annex aside, and of a handout: English, "
                                                      "German, French or Spanish")
    country: Literal[*COUNTRIES] | None = Field(None, description="Country of the site, by its two-letter code (ISO 3166): whose "
                                                "emergency number is printed")
    premises: Name = Field(None, description="Point where the client's premises begin: a client's report lists what is there and beyond, "
                                             "and counts what is at other premises")
    paper: Literal["A4", "letter"] = Field("A4", description="Paper size")
    logo: Name = Field(None, description="JPEG or PNG file with the author's own mark, beside the case file")


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
    course: later(CourseEntry) = Field(CourseEntry.model_construct(), description="Settings of the simulation over time")
    unknown: later_list("seen_schema:UnknownEntry") = Field([], description="Unknowns")
    observation: later_list("seen_schema:ObservationEntry") = Field([], description="Observations")
    record: later_list("seen_schema:RecordEntry") = Field([], description="Recorded voltages and events, CSV files or workbooks beside the case file")
    prior: later_list("seen_schema:PriorEntry") = Field([], description="Prior weights of the types of cause")
    document: later(DocumentEntry) = Field(DocumentEntry.model_construct(), description="Heading and form of the report")
    photo: later_list("exhibits_schema:PhotoEntry") = Field([], description="Photographs, as exhibits")
    test: later_list("exhibits_schema:TestEntry") = Field([], description="Test results as recorded")
