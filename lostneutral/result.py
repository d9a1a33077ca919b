"""The one object that terminal text, result file and report are renderings of, and how it is made."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from lostneutral import __version__
from lostneutral.case.model import Assumption, Case
from lostneutral.circuit.solution import State

if TYPE_CHECKING:
    from lostneutral.circuit.waveform import Waveforms
    from lostneutral.claims.incident import Incident
    from lostneutral.claims.model import Claim
    from lostneutral.claims.verdicts import Verdict
    from lostneutral.consequences.course import Courses
    from lostneutral.consequences.electrode_range import TouchRange
    from lostneutral.consequences.harm import Harm
    from lostneutral.consequences.readings import Reading
    from lostneutral.evidence.deduce import Deduction
    from lostneutral.evidence.ranges import Ranges
    from lostneutral.studies.hinges import Hinges
    from lostneutral.studies.main_switch import Opened
    from lostneutral.words.findings import Finding


@dataclass(frozen=True)
class Result:
    """What a case works out to. Where loads draw pulses and waveforms are trusted, states, harms and claims are theirs."""

    case: Case
    before: State  #: every conductor sound, loads as first set
    after: State  #: the end of the incident, before anything fails by wear
    claims: "tuple[Claim, ...]" = ()  #: the gravest first
    cautions: tuple[str, ...] = ()
    assumptions: tuple[Assumption, ...] = ()  #: the reader's and the models'
    software: Mapping[str, str] = field(default_factory=dict)  #: version, python, numpy, scipy
    verdicts: "tuple[Verdict, ...]" = ()  #: one an item, in the case's order, over the whole incident
    harms: "tuple[Harm, ...]" = ()  #: of every load in every settled state after the break, if that lasts
    readings: "tuple[Reading, ...]" = ()  #: what a meter would show at each point after the break
    courses: "Courses | None" = None  #: the course in time, where it was followed
    waveforms: "Waveforms | None" = None  #: the pulses of rectifiers, where they were calculated
    sines: "Result | None" = None  #: what sine waves give, where waveforms took their place
    electrode: "TouchRange | None" = None  #: touch voltage over an electrode that the case does not give
    opened: "tuple[Opened, ...]" = ()  #: what an open main switch leaves on metalwork: see `studies.main_switch`
    hinges: "Hinges | None" = None  #: what the answer hangs on
    ranges: "Ranges | None" = None  #: what unknown loads leave open, where they were sampled
    deduction: "Deduction | None" = None  #: what was seen says about the rival causes, where it was weighed
    not_weighed: str = ""  #: why what was seen could not be weighed, where that was tried
    not_followed: str = ""  #: code of why the incident was not followed in time, where it should have been
    waves_failed: str = ""  #: why waveforms that matter were not calculated

    @cached_property
    def findings(self) -> "tuple[Finding, ...]":
        """The claims in words, the gravest first."""
        from lostneutral.words.findings import findings

        return findings(self.claims, self.case)

    @cached_property
    def incident(self) -> "Incident":
        """Every stage of the incident, as far as it is known."""
        from lostneutral.claims.incident import incident

        return incident(self.case, self.before, self.after, None if self.sines else self.courses)


def analyse(case: Case, waveforms: bool | None = None) -> Result:
    """Return what `case` works out to, before and after its breaks, and over the whole incident.

    Where the case has events, or something fails within its period, it is followed in time (`Result.courses`).
    `waveforms`: calculate the loads that draw pulses in time, and rest the result on that. None: where their share of
    the connected power is such that sine waves are not to be trusted, and they are not too many.

    Raises NoSolutionError if the circuit after the break has no settled state that could be found.
    """
    return _concluded(_with_course(_solved(case, waveforms)))


def follow(case: Case, end: float | None = None, waveforms: bool | None = None) -> Result:
    """Return what `case` works out to, with its course in time until `end` (s; default: see `courses`).

    `waveforms` as in `analyse`; the course itself is one of sine waves. Raises NoSolutionError as `analyse` does.
    """
    from lostneutral.consequences.course import courses

    return _concluded(replace(_solved(case, waveforms), courses=courses(case, end)))


def analyse_near(case: Case, known: Result | None = None) -> Result | None:
    """Return what `case` works out to in the settled state next to that of `known`, at once; None where none is reached.

    For a first answer while a case is being written: no other settled state is looked for, pulses of rectifiers are
    taken as sine waves, and nothing is followed in time, so that `analyse` may say more, and something else.
    """
    from lostneutral.circuit.solution import State
    from lostneutral.claims.model import Kind
    from lostneutral.consequences import cautions, harms
    from lostneutral.consequences.readings import readings
    from lostneutral.studies.near import near

    final = case.at_the_end()
    found = near(final, known and known.after.reached)
    sound = near(replace(case, breaks=(), crosses=(), events=()), known and known.before.reached)
    if found is None:
        return None
    before = State("before", (sound,) if sound else ())
    after = State("after", (found,))
    result = Result(case, before, after, cautions=cautions(case), assumptions=case.assumptions, software=_software(),
                    harms=harms(final, before, after), readings=readings(final))
    made = _concluded(result, studied=False)
    return replace(made, claims=tuple(c for c in made.claims if c.kind is not Kind.SETTLING))


def _solved(case, asked):
    """Return settled states, harms and readings, of waveforms where these are to be trusted."""
    from lostneutral.circuit.states import before_and_after
    from lostneutral.consequences import cautions, harms
    from lostneutral.consequences.readings import readings
    from lostneutral.loads import load_model

    before, after = before_and_after(case)
    final = case.at_the_end()
    models = (assumption for load in case.loads for assumption in load_model(load, case.supply)[1])
    result = Result(case, before, after, cautions=cautions(case),
                    assumptions=tuple(dict.fromkeys((*case.assumptions, *models))), software=_software(),
                    harms=harms(final, before, after), readings=readings(final))
    return _with_waveforms(result, asked)


def _with_waveforms(result, asked):
    """Return `result` with its waveforms where they are `asked` for, or matter; else, or if they fail, say why not."""
    from lostneutral.circuit import waveform
    from lostneutral.consequences.pulses import of_waveforms
    from lostneutral.errors import NoSolutionError

    case = result.case
    if not (waveform.matters(case) if asked is None else asked):
        return result
    if asked is None and waveform.too_large(case):
        return replace(result, waves_failed="there are too many of them to be calculated unasked; --waveforms asks for it")
    try:
        waves = waveform.waveforms(case, asked=bool(asked))
    except NoSolutionError as error:
        return replace(result, waves_failed=str(error))
    assumptions = tuple(dict.fromkeys((*result.assumptions, *waves.assumptions)))
    result = replace(result, waveforms=waves, assumptions=assumptions)
    return of_waveforms(result) if waves.trusted else result


def _with_course(result):
    """Return `result` with its courses where the settled states do not tell the incident."""
    from lostneutral.claims.incident import to_follow, too_large
    from lostneutral.consequences.course import courses
    from lostneutral.errors import NoSolutionError

    case = result.case
    if not to_follow(case, result.after, result.harms):
        return result
    if result.sines:
        result = replace(result, not_followed="pulses")
        if not case.events:
            return result
    elif too_large(case):
        return replace(result, not_followed="too large")
    try:
        return replace(result, courses=courses(case))
    except NoSolutionError:
        return replace(result, not_followed="failed")


def _concluded(result, studied=True):
    """Return `result` with its verdicts and claims, and with its studies unless not `studied`."""
    from lostneutral.claims.gather import gathered, ranked
    from lostneutral.claims.verdicts import verdicts
    from lostneutral.claims.waves import waves, waves_not_followed
    from lostneutral.consequences.electrode_range import touch_range
    from lostneutral.consequences.weighing import weighed
    from lostneutral.studies.hinges import hinges
    from lostneutral.studies.main_switch import main_switch

    case, reached = result.case.at_the_end(), result.after.reached
    settled = reached or next(iter(weighed(result.after)), None)
    result = replace(
        result, electrode=touch_range(case), opened=main_switch(case, settled) if settled else (),
        hinges=hinges(case, reached) if studied and reached and not result.sines and result.incident.ever else None)
    found = verdicts(result.incident, result.harms)
    claims = gathered(result.incident, result.before, result.after, found, readings=result.readings,
                      electrode=result.electrode, opened=result.opened, hinges=result.hinges,
                      not_followed=result.not_followed, pulses=result.sines is not None)
    more = waves(case, result.waveforms) if result.waveforms else ()
    lost = [waves_not_followed(result.waves_failed)] if result.waves_failed else []
    return replace(result, verdicts=found, claims=ranked((*claims, *more, *lost)))


def _software():
    import platform
    from importlib.metadata import version

    return {"version": __version__, "python": platform.python_version(), "numpy": version("numpy"),
            "scipy": version("scipy")}
