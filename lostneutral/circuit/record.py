"""The course of an incident as data: what happened, what everything saw, how life is used up."""

from collections.abc import Mapping
from dataclasses import field
from functools import cached_property

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.repeating import Repetition, repetitions
from lostneutral.circuit.solution import Solution
from lostneutral.frozen import dataclass

ABOUT = 0.05
"""What is told as the same: figures that differ by less than this share of the larger, or of what both are held against (a supply's
nominal voltage, a yardstick). A choice of this program: sentences give two significant figures, so less than that is not seen in them.
"""
AFTER_LAST_EVENT = 3600.0  #: s followed after the last event where the case gives no end


@dataclass(frozen=True)
class Wear:
    """How one load's life is used up, and how it ends.

    `rate(voltage, model, state)` is the share of life used per second (array in, array out).
    """

    rate: object
    ends: str = "open"  #: or "short"
    part: str = ""  #: the part that fails
    short_resistance: float = 0.5  #: ohm, of a load that failed short
    opens_above: float = 16.0  #: A, the current at which what feeds a shorted load opens


@dataclass(frozen=True)
class Occurrence:
    """Something that happened; `phases` are the line-to-neutral voltages (V) just after, by (point, line)."""

    time: float
    kind: str  #: "start" | "break" | "switch" | "mode" | "failure" | "end"
    subject: str
    what: str
    phases: Mapping[tuple[str, str], float | None]


@dataclass(frozen=True)
class Stood:
    """When (s) a voltage was about what it was in one moment."""

    start: float  #: from when, around that moment …
    end: float  #: … to when
    ever: tuple[tuple[float, float], ...] = ()  #: the same for every time; drawn out to the end of what was not followed to it


@dataclass(frozen=True, eq=False)
class Held:
    """A part of a course in which wiring and switches stay as they are, as settled states would show it."""

    start: float  #: s
    end: float
    case: Case  #: as it stands in this part
    moments: tuple[Solution, ...]  #: the end of it, that of its highest voltage line to neutral and, where loads switch, of each line's ends
    stood: tuple["Stood | None", ...] = ()  #: of each but the first; None where it stays about so until the end


@dataclass(frozen=True, eq=False)
class Course:
    """A course in time. Arrays run over `times` (s); a load that is out of the circuit has nan."""

    times: np.ndarray
    nodes: Mapping[tuple[str, str], np.ndarray]  #: complex, V to the supply's star point; nan = floating
    voltages: Mapping[str, np.ndarray]  #: load -> V r.m.s. across it (highest branch)
    powers: Mapping[str, np.ndarray]  #: load -> W
    states: Mapping[str, np.ndarray]
    details: Mapping[str, Mapping[str, np.ndarray]]  #: load -> what its model tells of its state
    used: Mapping[str, np.ndarray]  #: load -> share of life used
    moments: tuple[Occurrence, ...]
    ends: str  #: "settled" | "time" | "cycling"
    failures: Mapping[str, tuple[float, str]] = field(default_factory=dict)  #: load -> (time, part)
    parts: tuple[Held, ...] = ()  #: in order; of the end of the course the last

    @cached_property
    def repetitions(self) -> tuple[tuple[Repetition, int], ...]:
        """What repeats, each with the number of the moment that ends it (`repeating.repetitions`); looked for once, however many ask."""
        return repetitions(self.moments)

    @property
    def repetition(self) -> Repetition | None:
        """What repeats from some moment to the end of the course, or None."""
        return next((again for again, last in self.repetitions if last == len(self.moments) - 1), None)
