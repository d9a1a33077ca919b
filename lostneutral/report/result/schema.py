"""The result file as typed models: every key with its unit and meaning, from which its JSON schema is made."""

from typing import Literal

from pydantic import ConfigDict, Field

from lostneutral.report.result.parts import Number, Part
from lostneutral.report.result.studies_schema import Studies
from lostneutral.report.result.waveform_schema import WaveState

Rank = Literal["danger", "fire", "damage", "warning", "note"]
Angle = float | None


class CaseRef(Part):
    title: str
    sha256: str = Field(description="Of the case file's bytes; empty if it was not read from a file")
    date: str | None = Field(description="ISO date of the case")


class Limit(Part):
    value: float
    unit: str
    source: str
    known: str = Field(description="How the figure is known, in words")


class Yardstick(Limit):
    edge: str = Field(description="high, low: the edge that is crossed; reference: it decides nothing")


class Finding(Part):
    severity: Literal["danger", "damage", "warning", "note"]
    rank: Rank = Field(description="As severity, with fire told from danger to people")
    subject: str
    message: str
    computed: str | None
    sure: str
    limit: Limit | None


class Verdict(Part):
    """The one verdict of an item over the whole incident; times in s from the first fault."""

    item: str
    outcome: str
    rank: Rank
    voltage: Number = Field(description="V r.m.s., the voltage that decides")
    ratio: Number = Field(description="Of the rated voltage")
    lowest: Number = Field(description="V r.m.s. over the incident, while it was on")
    highest: Number
    earliest: Number
    central: Number
    latest: Number
    confidence: str
    part: str
    mode: str | None
    basis: str
    worst: str | None = Field(description="Where nothing can be said, or it ended in time: the outcome at worst")
    life_used: Number = Field(description="Share of life used by the end of the period, where it was followed")
    overvoltage_device: str | None


class About(Part):
    what: str
    name: str


class Condition(Part):
    stage: str = Field(description="before, stage (from start to end, s), after, always")
    start: float
    end: Number
    held: int = Field(description="Possible settled states in which it holds …")
    possible: int = Field(description="… of so many")


class UnverifiedFigure(Part):
    """A figure that decides a claim and was not checked against its source."""

    figure: str
    value: float
    unit: str
    low: float = Field(description="Lower end of its plausible spread")
    high: float
    answers: list[str] = Field(description="With it as it is, at the lower end, at the upper end")
    decides: bool = Field(description="Whether the answer changes within the spread")


class Claim(Part):
    """One claim as data; `findings` has it in words."""

    kind: str
    rank: Rank
    about: About
    where: list[str] = Field(description="Points, the worst first")
    condition: Condition
    quantity: str
    unit: str
    value: Number
    range: list[float] | None
    yardstick: Yardstick | None = Field(description="Of the same quantity and unit as value")
    confidence: str
    because: str
    unverified: list[UnverifiedFigure]


class Reading(Part):
    point: str
    between: str
    loads_on: bool
    high_impedance: Number = Field(description="V, what a high-impedance meter would read")
    low_impedance: Number = Field(description="V, what a low-impedance tester would read")
    warning: str


class Assumption(Part):
    subject: str
    what: str
    value: str
    why: str


class Voltage(Part):
    voltage: Number = Field(description="V r.m.s.; null where nothing determines it")
    angle: Angle = Field(description="Degrees in (-180, 180]; see the state's `figures` for what it is the angle of")


class Current(Part):
    current: Number = Field(description="A r.m.s.")
    angle: Angle


class Phase(Voltage):
    name: str
    ratio: Number = Field(description="Of the supply's nominal voltage")
    verdict: Literal["over", "within", "under", "dead", "floating"] = Field(
        description="Against the supply band; its last but one value: below 5 % of nominal to the neutral, which may be live to earth")


class Point(Part):
    name: str
    neutral: Voltage = Field(description="To the supply's neutral")
    earth_terminal: Voltage | None = Field(description="To remote earth")
    phases: list[Phase]


class Run(Part):
    feeding: str
    currents: dict[str, Current | None] = Field(description="By conductor, positive from the supply's side")


class Harm(Part):
    """What becomes of a load if this settled state lasts; the verdict counts the whole incident."""

    outcome: str
    earliest: Number
    central: Number
    latest: Number
    confidence: str
    part: str
    mode: str | None
    basis: str
    overvoltage_device: str | None


class NamedHarm(Harm):
    name: str


class Load(Part):
    """A load of the case, of all its units; further keys tell the state of its kind (light, temperatures, links)."""

    model_config = ConfigDict(extra="allow")
    name: str
    connect: str
    on: bool
    voltage: Number
    angle: Angle
    current: Number
    current_angle: Angle
    power: Number = Field(description="W")
    reactive_power: Number = Field(description="var, positive when inductive")
    ratio: Number = Field(description="Of the rated voltage")
    harm: Harm | None = None
    branches: list[Voltage] | None = Field(None, description="Of a three-phase load of three branches, in the order of `connect`")
    currents: dict[str, Current] | None = Field(None, description="Of a three-phase load: into each of its ends")
    slip: Number = Field(None, description="Of a three-phase motor: 0 at synchronous speed, 1 at rest")
    positive_sequence: Number = Field(None, description="Of a three-phase motor: voltage of the positive sequence, V line to star point")
    negative_sequence: Number = Field(None, description="Of a three-phase motor: voltage of the negative sequence, V line to star point")
    backward: bool | None = Field(None, description="Of a three-phase motor: true where transposed lines reverse it")
    current_ratio: Number = Field(None, description="Of a three-phase motor: its highest line current over rated (no less than)")
    winding_heat: Number = Field(None, description="Of a three-phase motor: rise of its hottest winding over that at rated load")


class Electrode(Current):
    point: str


class PathCurrent(Current):
    start: str = Field(alias="from")
    end: str = Field(alias="to")


class Earth(Part):
    electrodes: list[Electrode]
    paths: list[PathCurrent]


class Device(Part):
    acts: bool
    earliest: Number
    latest: Number
    known: str | None


class Surge(Part):
    verdict: str
    tested_for: Number
    outcome: str
    known: str


class Protection(Part):
    point: str
    line: str
    voltage: float
    overvoltage_device: Device | None
    iti: str
    surge_device: Surge | None


class Solution(Part):
    attracting: bool
    reached: bool
    residual: Number = Field(description="A, largest current imbalance left; null where the figures are of waveforms")
    points: list[Point]
    runs: list[Run]
    loads: list[Load]
    earth: Earth
    protection: list[Protection]


class State(Part):
    name: Literal["before", "after"] = Field(description="after: the end of the incident, before anything fails by wear")
    figures: Literal["phasors", "true r.m.s. of waveforms"] = Field(
        description="phasors: r.m.s. values and angles that may be added; true r.m.s. of waveforms: the value at the angle of its "
                    "fundamental, of which sums and differences mean nothing")
    ends: str
    arrival: str
    reason: str
    unique: bool
    sensitive: list[str]
    cycle: dict[str, object] | None
    solutions: list[Solution]
    harms: list[NamedHarm]


class Waveforms(Part):
    why: str
    share: float
    trusted: bool
    states: list[WaveState]


class SeenPhase(Part):
    point: str
    name: str
    voltage: Number


class Event(Part):
    time: float
    kind: str
    subject: str
    what: str
    phases: list[SeenPhase]


class Failure(Part):
    load: str
    time: float
    part: str


class Repeats(Part):
    """What happens again and again until the course ends, turn after turn."""

    first: int = Field(description="The event, counted from 0, with which the first turn begins")
    size: int = Field(description="Events of a turn")
    period: float = Field(description="s, mean of the whole turns")
    turns: int = Field(description="Whole turns")


class Story(Part):
    ends: str
    repeats: Repeats | None = Field(None, description="Left out where nothing repeats")
    events: list[Event]
    failures: list[Failure]


class Along(Part):
    voltage: list[Number]
    angle: list[Angle]


class PhaseAlong(Part):
    name: str
    voltage: list[Number]


class PointAlong(Part):
    name: str
    neutral: Along
    phases: list[PhaseAlong]


class LoadAlong(Part):
    model_config = ConfigDict(extra="allow")
    name: str
    connect: str
    voltage: list[Number]
    power: list[Number]
    condition: list[str]
    state: list[Number]
    life_used: list[Number] | None


class Course(Story):
    """The course in time; every list beside `times` (s) has one value a time."""

    times: list[float]
    star_point: Along = Field(description="The first point's neutral to the supply's")
    points: list[PointAlong]
    loads: list[LoadAlong]
    early: Story | None
    late: Story | None


class Software(Part):
    version: str
    python: str
    numpy: str
    scipy: str


class ResultFile(Part):
    """What a case works out to. Voltages are r.m.s. V, currents A, powers W and var, times s, angles degrees."""

    format: Literal["lostneutral-result/1"]
    case: CaseRef
    software: Software
    states: list[State]
    findings: list[Finding] = Field(description="The claims in words, the gravest first")
    verdicts: list[Verdict] = Field(description="One an item, in the case's order")
    claims: list[Claim]
    picture: Literal["waveforms", "sine waves"] = Field(description="What states, findings and readings are of")
    readings: list[Reading]
    studies: Studies
    cautions: list[str]
    assumptions: list[Assumption]
    sine_wave_states: list[State] | None = None
    waveforms: Waveforms | None = None
    course: Course | None = None
    ranges: dict[str, object] | None = Field(None, description="What unknown loads leave open: V, shares from 0 to 1")
    deduction: dict[str, object] | None = Field(None, description="What the observations say of the causes: V, shares from 0 to 1")


def result_schema() -> dict[str, object]:
    """Return the JSON schema (draft 2020-12) of the result file."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **ResultFile.model_json_schema(by_alias=True)}
