"""Entries of the case file for what nobody knows, and for what was seen, read and recorded."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from lostneutral import data
from lostneutral.case.values import (
    Allowed,
    Conductor,
    Entry,
    Line,
    Name,
    Ohm,
    Second,
    Share,
    Text,
    Truth,
    Volt,
    Watt,
    number_between,
    understood,
)


class SpreadEntry(Entry):
    """A range (low, high, scale), or a normal distribution (mean, deviation)."""

    scale: Literal["linear", "log"] = Field("linear", description="Uniform, or uniform on a logarithmic scale")


class PowerSpread(SpreadEntry):
    """Distribution of a power, W: a range (low, high, scale), or a normal distribution (mean, deviation)."""

    low: Watt = Field(None, description="Lowest, W")
    high: Watt = Field(None, description="Highest, W")
    mean: Watt = Field(None, description="Mean, W")
    deviation: Watt = Field(None, description="One standard deviation, W")


class ResistanceSpread(SpreadEntry):
    """Distribution of a resistance, ohm: a range (low, high, scale), or a normal distribution (mean, deviation)."""

    low: Ohm = Field(None, description="Lowest, ohm")
    high: Ohm = Field(None, description="Highest, ohm")
    mean: Ohm = Field(None, description="Mean, ohm")
    deviation: Ohm = Field(None, description="One standard deviation, ohm")


class VoltageSpread(SpreadEntry):
    """Distribution of a voltage, V: a range (low, high, scale), or a normal distribution (mean, deviation)."""

    low: Volt = Field(None, description="Lowest, V")
    high: Volt = Field(None, description="Highest, V")
    mean: Volt = Field(None, description="Mean, V")
    deviation: number_between("V", 0.0, 100.0) = Field(None, description="One standard deviation, V")


class CapacitanceSpread(SpreadEntry):
    """Distribution of a capacitance, F: a range (low, high, scale), or a normal distribution (mean, deviation)."""

    low: number_between("F", 1e-12, 1e-3) = Field(None, description="Lowest, F")
    high: number_between("F", 1e-12, 1e-3) = Field(None, description="Highest, F")
    mean: number_between("F", 1e-12, 1e-3) = Field(None, description="Mean, F")
    deviation: number_between("F", 1e-12, 1e-3) = Field(None, description="One standard deviation, F")


class UnknownEntry(Entry):
    """An unknown: of a load, a break, an electrode, the supply, of which load was on, or of a whole household."""

    load: Name = Field(None, description="The load")
    on: Share = Field(None, description="Probability that it was on, 0 to 1")
    power: PowerSpread = Field(None, description="Distribution of its power, W")
    run: Name = Field(None, alias="break", description="The cable, named by the point it feeds")
    conductor: Conductor = Field("N", description="The conductor of that cable")
    resistance: ResistanceSpread = Field(None, description="Distribution of its resistance, ohm")
    supply_voltage: VoltageSpread = Field(
        None, description="Voltage of the supply line to neutral, the same on all phases, V")
    one_of: Annotated[list[Name], Field(min_length=2), Allowed("a list of two or more loads")] = Field(
        None, description="Loads only one of which was on")
    weights: Annotated[list[number_between("", 1e-9, 1e9)], Allowed("a list of numbers above 0, one for each of one_of")] = Field(
        None, description="Relative likelihood of each of them; default all equal")
    none: Share = Field(None, description="Probability that none of them was on; default 0")
    electrode: ResistanceSpread = Field(None, description="Distribution of the resistance of an earth electrode, ohm")
    phases: Annotated[list[Line], Field(min_length=2, max_length=3), Allowed('a list such as ["L1", "L2"]')] = Field(
        None, description="Lines on any of which the single-phase point may be")
    capacitance: CapacitanceSpread = Field(
        None, description="Distribution of the capacitance between neighbouring cores of the whole cable, F")
    household: Literal["evening"] = Field(
        None, description="Typical evening of a household: probability that each appliance at the point was on")
    point: Name = Field(None, description='Point of the household, electrode or phases; may be omitted if there is only one; '
                                          '"supply" for the electrode at the source')


INSTRUMENT_CLASSES = tuple(data.load("couplings")["instrument"]["classes"])
InstrumentClasses = Annotated[
    list[Literal[*INSTRUMENT_CLASSES]], Field(min_length=1), BeforeValidator(lambda given: [given] if isinstance(given, str) else given),
    Allowed(f"one of {', '.join(INSTRUMENT_CLASSES)}, or a list of them"),
    WithJsonSchema({"anyOf": [{"enum": list(INSTRUMENT_CLASSES)}, {"type": "array", "minItems": 1, "items": {"enum": list(INSTRUMENT_CLASSES)}}]})]


class ObservationEntry(Entry):
    """An observation: a meter reading at a point, or the observed effect on a load."""

    point: Name = Field(None, description="Where it was read; may be omitted if there is only one point")
    between: Annotated[str, Allowed('two of L1, L2, L3, N, PE, PEN and earth, such as "L1-N" or "N-earth"')] = Field(
        None, description='The two terminals, such as L1-N or N-earth; "L1-?" if nobody knows the second')
    voltage: number_between("V", 0.0, 1e4) = Field(None, description="The reading, V")
    uncertainty: number_between("V", 1e-3, 1e4) = Field(None, description="One standard deviation of the reading, V")
    impedance: number_between("ohm", 1.0, 1e12) = Field(None, description="Input impedance of the instrument, ohm")
    instrument_class: InstrumentClasses = Field(
        None, description="Class of the instrument: its input impedance, if not given, and its least uncertainty; a list where it may have "
                          "been any of these")
    reference: Annotated[list[Conductor | Literal["earth"]], Field(min_length=1), Allowed('a list such as ["N", "PE"]')] = Field(
        None, description='With between = "L1-?": the terminals that the second lead may have been on; default any other')
    bound: Literal["up to", "more than", "about"] = Field(
        None, description="What the reading says if it is no exact value; about: 10 % unless uncertainty is given")
    device: Name = Field(None, description="The protective device that was observed")
    operated: Truth = Field(None, description="Whether it operated")
    load: Name = Field(None, description="The load that was observed")
    seen: understood(Literal["failed", "survived", "brighter", "dimmer", "unchanged", "off"], "seen") = Field(
        None, description="Observed effect")
    within: Second = Field(None, description="How soon after the break, s")
    sooner_than: Name = Field(None, description="Another load, to which something happened later: what another observation says of it, else it failed")
    reliability: Share = Field(None, description="Probability that the statement about the load or device is right; default 0.9")
    with_on: list[Name] = Field(None, description="Loads known to have been on when it was observed")
    with_off: list[Name] = Field(None, description="Loads known to have been off when it was observed")
    time: Second = Field(None, description="Time, s after the start")
    state: Literal["before", "after"] = Field(None, description="Observed before or after the break; default after")
    observer: Text = Field(None, description="Observer, by name or role")
    instrument: Text = Field(None, description="Instrument used")
    kept: Text = Field(None, description="Where the record or the evidence is kept")
    note: Text = Field(None, description="Further words on the observation, printed with it")


class EventWordEntry(Entry):
    """What an event that an instrument logged says of a voltage; with a word alone, that it says nothing of it."""

    word: Name = Field(description="What the event begins with in the file, in capitals or not; of several words that fit, the longest counts")
    bound: Literal["up to", "more than"] = Field(None, description="On which side of `voltage` it was")
    voltage: number_between("V", 0.0, 1e4) = Field(None, description="The voltage at which the instrument logs it, V")
    between: Annotated[str, Allowed('two of L1, L2, L3, N, PE, PEN and earth, such as "L1-N"')] = Field(
        None, description="The two terminals; default those of the record")


class RecordEntry(Entry):
    """Voltages or events that an instrument recorded: a CSV file or .xlsx workbook beside the case file, its columns named in the first row."""

    file: Name = Field(description="Name of the CSV file or .xlsx workbook, in the folder of the case file or below it")
    sheet: Name = Field(None, description="Sheet of the workbook; default the first")
    point: Name = Field(None, description="Where it was recorded; may be omitted if there is only one point")
    between: Annotated[str, Allowed('two of L1, L2, L3, N, PE, PEN and earth, such as "L1-N"')] = Field(
        description="The two terminals, such as L1-N")
    time_column: Name = Field("time", description="Column of the times: s after time 0, or dates with times; a value is that up to then")
    voltage_column: Name = Field("voltage", description="Column of the voltages, V; empty where there is none")
    event_column: Name = Field(None, description="Column of events in words; empty where there is none. The file then needs no voltages")
    events: list[EventWordEntry] = Field(
        [], description="What each word of that column says; a word that says two things (above one voltage, up to another) stands twice")
    zone: Name = Field(None, description='Time zone of dates that name none, as an offset such as "+01:00"; default UTC')
    zero: Name = Field(None, description='Clock time of time 0 of the case, such as "2025-11-08T14:00:00+01:00"')
    averaging: number_between("s", 0.0, 1e6) = Field(0.0, description="Time over which each value is a mean, s")
    clock_error: number_between("s", -1e7, 1e7) = Field(0.0, description="By how much the recorder's clock was fast, s")
    clock_deviation: number_between("s", 0.0, 1e6) = Field(0.0, description="One standard deviation of that, s")
    fitted: Literal["before", "after"] = Field(
        "before", description="Whether the recorder was fitted before or after the incident; after: it says nothing about it")


Cause = Literal["sound", "open neutral", "bad joint", "line lost", "line lost as well", "line crossed with neutral",
                "protective conductor open", "two faults", "neutral crossed with PE", "supply neutral open",
                "high-voltage phase lost", "raised earth", "supply overvoltage", "not listed"]


class PriorEntry(Entry):
    """Prior weight of a type of cause, against the others."""

    cause: understood(Cause, "cause") = Field(description="Type of cause")
    weight: number_between("", 0.0, 1e6) = Field(description="Weight against the other types; 0 excludes it")
