"""Stages of an incident that are shorter than two cycles of the supply, as instantaneous values."""

from dataclasses import replace
from typing import TYPE_CHECKING

from lostneutral.case.model import Case
from lostneutral.circuit.waveform.parts import too_many_pulses
from lostneutral.consequences.course import Courses
from lostneutral.consequences.upstream import faulted
from lostneutral.errors import NoSolutionError
from lostneutral.frozen import dataclass

if TYPE_CHECKING:
    from lostneutral.circuit.waveform.brief import Crests

CYCLES = 2.0  #: of the supply: a stage that is shorter has no r.m.s. value to speak of
MOST_STAGES, MOST_LOADS = 4, 40


@dataclass(frozen=True)
class Brief:
    """One stage that is too short for r.m.s. values."""

    start: float  #: s
    end: float
    case: Case  #: as it stands in it
    crests: "Crests"


def brief_stages(case: Case, courses: Courses | None) -> tuple[Brief, ...]:
    """Return the faulted stages of a course that last less than two cycles; none where they cannot be marched, or are too many."""
    if courses is None or too_many_pulses(case) or len(case.loads) > MOST_LOADS:
        return ()
    sound, found = replace(case.sound(), events=()), []
    for part in courses.central.parts:
        if 0 < part.end - part.start < CYCLES / case.supply.frequency and faulted(replace(part.case, events=())):
            from lostneutral.circuit.waveform.brief import crests

            try:
                stage = replace(part.case, events=())
                found.append(Brief(part.start, part.end, stage, crests(sound, stage, part.end - part.start)))
            except NoSolutionError:
                continue
        if len(found) == MOST_STAGES:
            break
    return tuple(found)
