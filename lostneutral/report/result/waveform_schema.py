"""The states of waveforms in the result file as typed models."""

from pydantic import Field

from lostneutral.report.result.parts import Number, Part


class Wave(Part):
    rms: float
    crest: float
    average_reading: float
    thd: Number
    harmonics: list[float] = Field(description="Orders 1 to 40, r.m.s.")
    angles: list[float] = Field(description="Degrees, of each order as a cosine; 0 for one below 1e-8 of the largest")


class WavePhase(Part):
    name: str
    voltage: Wave | None


class WavePoint(Part):
    name: str
    neutral: Wave | None
    phases: list[WavePhase]


class WaveRun(Part):
    feeding: str
    currents: dict[str, Wave | None]


class Link(Part):
    mean: float
    lowest: float
    highest: float


class WaveLoad(Part):
    name: str
    connect: str
    on: bool
    voltage: Wave | None
    current: Wave | None
    power: Number
    link: Link | None


class WaveState(Part):
    name: str
    ends: str
    attracting: bool | None
    duration: float
    points: list[WavePoint]
    runs: list[WaveRun]
    loads: list[WaveLoad]
