"""The one object that terminal text, result file and report are three renderings of."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from lostneutral import __version__
from lostneutral.case.model import Assumption, Case
from lostneutral.circuit.solution import State

if TYPE_CHECKING:
    from lostneutral.circuit.waveform import Waveforms
    from lostneutral.consequences.course import Courses
    from lostneutral.consequences.harm import Harm
    from lostneutral.consequences.readings import Reading
    from lostneutral.evidence.deduce import Deduction
    from lostneutral.evidence.ranges import Ranges


@dataclass(frozen=True)
class Limit:
    """A published figure: value and unit, where it stands, how it is known (words of `data.KNOWN`)."""

    value: float
    unit: str
    source: str
    known: str


@dataclass(frozen=True)
class Finding:
    """Something that the figures mean, held against a limit where there is one."""

    severity: str  #: "danger" | "damage" | "warning" | "note"
    subject: str  #: "L1 at intake", "load 'Hall lamp'", "the installation"
    message: str  #: plain words
    computed: str | None = None  #: the figure, with unit
    limit: Limit | None = None
    sure: str = ""  #: how sure, and what that rests on


@dataclass(frozen=True)
class Result:
    case: Case
    before: State
    after: State
    findings: tuple[Finding, ...]  #: danger first
    cautions: tuple[str, ...]
    assumptions: tuple[Assumption, ...]  #: the reader's and the models'
    software: Mapping[str, str] = field(default_factory=dict)  #: version, python, numpy, scipy
    harms: "tuple[Harm, ...]" = ()  #: of every load in every settled state after the break
    readings: "tuple[Reading, ...]" = ()  #: what a meter would show at each point after the break
    courses: "Courses | None" = None  #: the course in time, where it was followed
    waveforms: "Waveforms | None" = None  #: the pulses of rectifiers, where phasors are not trusted
    ranges: "Ranges | None" = None  #: what unknown loads leave open, where they were sampled
    deduction: "Deduction | None" = None  #: what was seen says about the rival causes, where it was weighed
    not_weighed: str = ""  #: why what was seen could not be weighed, where that was tried


def analyse(case: Case, waveforms: bool | None = None) -> Result:
    """Return what `case` works out to, before and after its breaks.

    `waveforms`: follow the loads that draw pulses in time, and rest the result on that. None: where their share of the
    connected power is such that sine waves are not to be trusted, and they are not too many.

    Raises NoSolutionError if the circuit after the break has no settled state that could be found.
    """
    from lostneutral.circuit.states import before_and_after
    from lostneutral.consequences import cautions, findings, harms
    from lostneutral.consequences.readings import readings
    from lostneutral.loads import load_model

    before, after = before_and_after(case)
    models = (assumption for load in case.loads for assumption in load_model(load, case.supply)[1])
    result = Result(case, before, after, findings(case, before, after), cautions(case),
                    tuple(dict.fromkeys((*case.assumptions, *models))), _software(), harms(case, before, after),
                    readings(case))
    return _with_waveforms(result, waveforms)


def _with_waveforms(result, asked):
    """Return `result` with its waveforms where they are `asked` for, or matter; else, or if they fail, say why not."""
    from lostneutral.circuit import waveform
    from lostneutral.consequences.findings import ranked
    from lostneutral.consequences.waves import not_followed, wave_findings
    from lostneutral.errors import NoSolutionError

    case = result.case
    if not (waveform.matters(case) if asked is None else asked):
        return result
    if asked is None and waveform.too_large(case):
        return replace(result, findings=ranked((*result.findings, not_followed(
            "there are too many of them to be followed unasked; --waveforms asks for it"))))
    try:
        waves = waveform.waveforms(case, asked=bool(asked))
    except NoSolutionError as error:
        return replace(result, findings=ranked((*result.findings, not_followed(str(error)))))
    return replace(result, waveforms=waves, findings=ranked((*result.findings, *wave_findings(case, waves))),
                   assumptions=tuple(dict.fromkeys((*result.assumptions, *waves.assumptions))))


def follow(case: Case, end: float | None = None, waveforms: bool | None = None) -> Result:
    """Return what `case` works out to, with its course in time until `end` (s; default: see `courses`).

    `waveforms` as in `analyse`; the course itself is one of sine waves. Raises NoSolutionError as `analyse` does.
    """
    from lostneutral.consequences.course import courses

    return replace(analyse(case, waveforms), courses=courses(case, end))


def _software():
    import platform
    from importlib.metadata import version

    return {"version": __version__, "python": platform.python_version(), "numpy": version("numpy"),
            "scipy": version("scipy")}
