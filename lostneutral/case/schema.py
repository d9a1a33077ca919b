"""The case file, version 1, as pydantic models: every table and key, with its type, range and meaning.

What holds between keys and between tables is in `lostneutral.case.checks`.
"""

from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from lostneutral import data
from lostneutral.case.load_schema import AnyLoad
from lostneutral.case.seen_schema import ObservationEntry, PriorEntry, RecordEntry, UnknownEntry
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


class CableEntry(Entry):
    """The cable that feeds a point: by length and size, or in ohms."""

    length: number_between("m", 0.0, 1e5) = Field(None, description="Length, m")
    area: number_between("mm²", 0.0, 1e4) = Field(None, description="Area of the line conductors, mm², a size of IEC 60228")
    material: Literal["copper", "aluminium"] = Field("copper", description="Conductor material")
    neutral_area: number_between("mm²", 0.0, 1e4) = Field(None, description="Area of the neutral, mm²; default `area`")
    pe_area: number_between("mm²", 0.0, 1e4) = Field(None, description="Area of the protective conductor, mm²; default `area`")
    temperature: number_between("°C", -40.0, 250.0) = Field(20.0, description="Conductor temperature, °C")
    line: Impedance = Field(None, description="Each line, [R, X] in ohm, instead of length and area")
    neutral: Impedance = Field(None, description="Neutral, [R, X] in ohm; default as the line")
    pe: Impedance = Field(None, description="Protective conductor, [R, X] in ohm; default as the neutral")


class PointEntry(Entry):
    """A place in the wiring, with the cable that feeds it."""

    name: Name = Field(description="Name of the point; must be unique")
    kind: Literal["joint", "intake", "board"] = Field(
        None, description="Default: intake if fed from the supply or a joint, else board")
    fed_from: Name = Field("supply", description='"supply" or the name of another point')
    cable: CableEntry = Field(None, description="The cable that feeds it; if omitted, no impedance")
    electrode: Ohm = Field(None, description="Local earth electrode, ohm; if omitted, none")
    phases: Annotated[list[Line], Field(min_length=1, max_length=3), Allowed('a list such as ["L1"] or ["L1", "L2"]')] \
        = Field(None, description="Lines connected here; default all lines of the point it is fed from")


class GroupLoadEntry(Entry):
    """A load of every premises of a group: the keys of a [[load]] without point, and its share."""

    model_config = ConfigDict(extra="allow")

    share: Share = Field(1.0, description="Proportion of the premises in which it is on, 0 to 1; spread evenly")


class GroupEntry(Entry):
    """Similar premises along a main, each fed from its own joint."""

    name: Name = Field(description='Names the premises "name 1", "name 2" … and the joints "name joint 1" …')
    count: Annotated[int, Field(ge=1, le=20_000), Allowed("a whole number from 1 to 20000")] = Field(
        description="Number of premises")
    fed_from: Name = Field("supply", description='Start of the main: "supply" or a joint')
    spacing: CableEntry = Field(None, description="The main from joint to joint; if omitted, no impedance")
    service: CableEntry = Field(
        None, description="The service cable from its joint to each premises; if omitted, no impedance")
    phases: Literal["single", "all"] = Field(
        "single", description='"single": one line to each premises, in rotation; "all": all lines to each')
    electrode: Ohm = Field(None, description="Earth electrode of each premises, ohm; if omitted, none")
    main_electrode: Ohm = Field(None, description="Earth electrode at joints of the main, ohm; if omitted, none")
    main_electrode_every: Annotated[int, Field(ge=1), Allowed("a whole number of 1 or more")] = Field(
        1, description="Spacing of electrodes along the main, in joints")
    load: list[GroupLoadEntry] = Field([], description="Loads of every premises; L in connect is the line of the "
                                                       "premises, with all lines the next in rotation; default L-N")


class PathEntry(Entry):
    """A metallic path between earth terminals, such as a pipe or a cable screen."""

    start: Name = Field(alias="from", description="Point whose earth terminal it is connected to")
    end: Name = Field(alias="to", description='Another point, or "earth"')
    resistance: Ohm = Field(description="Resistance, ohm")


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
    low: Volt = Field(None, description="Operates below this voltage line to neutral, V")
    high: Volt = Field(None, description="Operates above this voltage line to neutral, V")
    touch: Volt = Field(None, description="Operates above this voltage between the protective conductor and remote earth, V")
    within: Second = Field(None, description="Operating time, s")
    poles: Annotated[list[Literal["L1", "L2", "L3", "N", "PE"]], Field(min_length=1, max_length=5),
                     Allowed('a list such as ["L1", "N"]')] = Field(None, description="Poles that it opens; default all lines and N")


class BreakEntry(Entry):
    """A break or a high-resistance joint, present before time 0."""

    fuse: Line = Field(None, description="Instead of a cable: the high-voltage fuse of this line, before the transformer")
    feeding: Name = Field(None, description="The cable, named by the point it feeds; default the first point")
    conductor: Conductor = Field("N", description="Broken conductor; N, or PEN where neutral and earth are combined")
    resistance: JointResistance = Field(
        "open", validate_default=True, description='"open", or the resistance in ohm; 0 = sound')


class CrossEntry(Entry):
    """Two conductors transposed (crossed) where the cable arrives at a point."""

    point: Name = Field(None, description="The point; may be omitted if there is only one")
    conductors: Annotated[list[Conductor], Field(min_length=2, max_length=2),
                          Allowed('two different conductors, such as ["L1", "N"]')] \
        = Field(description="The two conductors that are transposed")


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


class PhotoEntry(Entry):
    """A photograph as an exhibit: JPEG or PNG, beside the case file; a scaled copy is printed."""

    file: Name = Field(description="Name of the file, in the folder of the case file or below it")
    caption: Title = Field(description="What it shows")
    point: Name = Field(None, description="Point that it shows")
    load: Name = Field(None, description="Load that it shows")
    taken_by: Name = Field(None, description="Who took it")
    taken: When = Field(None, description="When it was taken, as its author states")
    keep_position: Truth = Field(False, description="Keep the geographical position that the file may hold")


class TestEntry(Entry):
    """A test result as the inspector recorded it."""

    circuit: Name = Field(description="Circuit or point that was tested")
    test: Name = Field(description="What was tested, such as continuity, insulation resistance or earth fault loop")
    value: Annotated[float | str, Allowed('a number, or text such as ">999"')] = Field(description="Value read")
    unit: Name = Field(None, description="Unit of the value")
    instrument: Name = Field(None, description="Instrument used")
    calibration: Name = Field(None, description="Its calibration: certificate and date")
    by: Name = Field(None, description="Who carried out the test, with qualification")
    date: When = Field(None, description="When the test was carried out")


class CaseFile(Entry):
    """A case of a lost neutral: the installation, the break and the observations."""

    title: Title = Field(description="Title of the case")
    description: Text = Field("", description="Free text")
    date: Date = Field(None, description="Date of the case, printed in the report")
    supply: SupplyEntry = Field(description="The source")
    point: later_list(PointEntry) = Field([], description="Places in the wiring; default one, named intake")
    group: later_list(GroupEntry) = Field([], description="Similar premises along a main")
    path: later_list(PathEntry) = Field([], description="Metallic paths between earth terminals")
    breaks: later_list(BreakEntry) = Field(
        [], alias="break", description="Breaks and high-resistance joints; default N open in the cable to the first "
                                       "point; [] = nothing broken")
    cross: later_list(CrossEntry) = Field([], description="Conductors transposed at a point")
    load: list[AnyLoad] = Field(description="The loads; may be omitted where a [[group]] has some")
    generator: later_list(GeneratorEntry) = Field([], description="Second supplies: generators or inverters")
    changeover: later_list(ChangeoverEntry) = Field([], description="Changeover switches between supply and generator")
    device: later_list(DeviceEntry) = Field([], description="Protective devices that are installed")
    event: later_list(EventEntry) = Field([], description="Sequence of events")
    course: later(CourseEntry) = Field(CourseEntry.model_construct(), description="Settings of the simulation over time")
    unknown: later_list(UnknownEntry) = Field([], description="Unknowns")
    observation: later_list(ObservationEntry) = Field([], description="Observations")
    record: later_list(RecordEntry) = Field([], description="Recorded voltages and events, CSV files or workbooks beside the case file")
    prior: later_list(PriorEntry) = Field([], description="Prior weights of the types of cause")
    document: later(DocumentEntry) = Field(DocumentEntry.model_construct(), description="Heading and form of the report")
    photo: later_list(PhotoEntry) = Field([], description="Photographs, as exhibits")
    test: later_list(TestEntry) = Field([], description="Test results as recorded")
