"""What the waveform model works out, as data: measures of waves, states, the picture of a case."""

from collections.abc import Mapping
from dataclasses import field

import numpy as np

from lostneutral.case.model import Assumption
from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Wave:
    """One voltage or current over a cycle, V or A."""

    rms: float  #: true r.m.s.
    crest: float  #: largest instantaneous value, without its sign
    average_reading: float  #: what a meter shows that rectifies and is scaled for a sine
    harmonics: tuple[float, ...]  #: r.m.s. of orders 1 to 40
    angles: tuple[float, ...]  #: degrees of each as a cosine, at the start of the cycle
    thd: float | None  #: all but the fundamental over the fundamental, orders 2 to 40; None without a fundamental


@dataclass(frozen=True)
class LoadWave:
    """One load of the case (totals over `count`); of a three-phase load its highest branch. None = floating or off."""

    name: str
    connect: tuple[str, ...]
    on: bool
    voltage: Wave | None
    current: Wave | None  #: into the first terminal
    power: float | None  #: W
    link: tuple[float, float, float] | None = None  #: V d.c.: mean, lowest, highest; None without a rectifier


@dataclass(frozen=True)
class WaveState:
    """The state before or after the break, as waveforms see it."""

    name: str
    ends: str  #: "settled" | "cycle" | "undecided"
    attracting: bool | None  #: None where it does not settle
    duration: float  #: s that one turn takes: a cycle of the supply, more where supplies cut off and restart
    stars: Mapping[str, Wave | None]  #: point -> its N to the supply's star point
    phases: Mapping[tuple[str, str], Wave | None]  #: (point, line) -> line to N there
    currents: Mapping[tuple[str, str], Wave | None]  #: (point fed, conductor); None in a loop without impedance
    loads: tuple[LoadWave, ...]
    times: np.ndarray = field(repr=False, default=None)  #: s
    traces: Mapping = field(repr=False, default_factory=dict)  #: what `traces` gives
    cycle: Mapping | None = field(repr=False, default=None)  #: `turn_figures` of a state that does not settle


@dataclass(frozen=True)
class Waveforms:
    """What the waveform model works out for a case; `why` says in words why it was used."""

    why: str
    share: float  #: of the connected power, rectifier and harmonic loads
    trusted: bool  #: whether they, and not the phasors, say what the circuit did: by the share, or because asked for
    before: WaveState | None  #: None where the healthy circuit has no solution
    after: WaveState
    times: np.ndarray = field(repr=False)  #: s, 0 at the break; covers `picture.SHOWN` cycles before and after
    course: Mapping = field(repr=False)  #: as `measures.traces`, at `times`; NaN where a terminal floats
    assumptions: tuple[Assumption, ...] = ()
