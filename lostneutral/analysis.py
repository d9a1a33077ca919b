"""The one place that puts the steps of an analysis in order."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property

from lostneutral import __version__
from lostneutral.case.model import Case
from lostneutral.result import Result


def analyse(case: Case, waveforms: bool | None = None) -> Result:
    """Return what `case` works out to, before and after its breaks, and over the whole incident.

    Where the case has events, or something fails within its period, it is followed in time (`Result.courses`).
    `waveforms`: calculate the loads that draw pulses in time, and rest the result on that. None: where their share of
    the connected power is such that sine waves are not to be trusted, and they are not too many.

    Complex figures are r.m.s. phasors in V and A to the supply's star point, powers in W and var. Range: steady state of
    sine waves, of waveforms where rectifiers decide; a course from about two cycles on. Sources: every limit and law carries
    its own (`Claim.yardstick`, `Claim.because`); `lostneutral verify` holds the figures against published ones.

    Raises NoSolutionError if the circuit after the break has no settled state that could be found.

    >>> from lostneutral import analyse, read_case
    >>> result = analyse(read_case("casebook/three-unequal-lamps.toml"))
    >>> for verdict in result.verdicts:
    ...     print(verdict.item, f"{verdict.volts:.0f} V", verdict.outcome)
    Clock lamp 342 V fails in hours
    Bench lamp 317 V fails in hours
    Counter lamp 85 V dim
    """
    return _concluded(_with_course(*_solved(case, waveforms)))


def follow(case: Case, end: float | None = None, waveforms: bool | None = None) -> Result:
    """Return what `case` works out to, with its course in time until `end` (s; default: see `courses`).

    `waveforms` as in `analyse`; the course itself is one of sine waves. Times are in s after the start of the case;
    `courses.central`, `.early` and `.late` take all laws of wear at their middle and at either end of their band. Range: orders of
    magnitude, for new items, no protection acting. Sources of the laws: data file `harm`. Raises NoSolutionError as `analyse` does.

    >>> from lostneutral import follow, read_case
    >>> result = follow(read_case("casebook/three-unequal-lamps.toml"), end=24 * 3600.0)
    >>> for name, (seconds, part) in result.courses.central.failures.items():
    ...     print(f"{name}: {part}, after about {seconds / 3600:.0f} h")
    Clock lamp: filament, after about 4 h
    Bench lamp: filament, after about 7 h
    """
    from lostneutral.studies.course import courses

    result, sound = _solved(case, waveforms)
    return _concluded(replace(result, courses=courses(case, end, sound)))


def analyse_near(case: Case, known: Result | None = None) -> Result | None:
    """Return what `case` works out to in the settled state next to that of `known`, at once; None where none is reached.

    For a first answer while a case is being written: no other settled state is looked for, pulses of rectifiers are
    taken as sine waves, and nothing is followed in time, so that `analyse` may say more, and something else.
    """
    from lostneutral.circuit.solution import State
    from lostneutral.claims.model import Kind
    from lostneutral.consequences import cautions, harms
    from lostneutral.studies.near import near

    final = case.at_the_end()
    found = near(final, known and known.after.reached)
    sound = near(replace(case, breaks=(), crosses=(), events=()), known and known.before.reached)
    if found is None:
        return None
    before = State("before", (sound,) if sound else ())
    after = State("after", (found,))
    result = Result(case, before, after, cautions=cautions(case), assumptions=case.assumptions, software=_Software(),
                    harms=harms(final, before, after), metered=True)
    made = _concluded(result, studied=False)
    return replace(made, claims=tuple(c for c in made.claims if c.kind is not Kind.SETTLING))


def _solved(case, asked):
    """Return settled states, harms and readings, of waveforms where these are to be trusted; and what a course begins with."""
    from lostneutral.circuit.states import arrived_before_and_after
    from lostneutral.consequences import cautions, harms
    from lostneutral.loads import load_model

    before, after, sound = arrived_before_and_after(case)
    final = case.at_the_end()
    models = (assumption for load in case.loads for assumption in load_model(load, case.supply)[1])
    result = Result(case, before, after, cautions=cautions(case),
                    assumptions=tuple(dict.fromkeys((*case.assumptions, *models))), software=_Software(),
                    harms=harms(final, before, after), metered=True)
    return _with_waveforms(result, asked), sound


def _with_waveforms(result, asked):
    """Return `result` with its waveforms where they are `asked` for, or matter; else, or if they fail, say why not."""
    from lostneutral.circuit.waveform import parts

    case = result.case
    if not (parts.matters(case) if asked is None else asked):
        return result
    if asked is None and parts.too_many_pulses(case):
        return replace(result, waves_failed="there are too many of them to be calculated unasked; --waveforms asks for it")
    from lostneutral.circuit.waveform import picture
    from lostneutral.consequences.pulses import of_waveforms
    from lostneutral.errors import NoSolutionError

    try:
        waves = picture.waveforms(case, asked=bool(asked))
    except NoSolutionError as error:
        return replace(result, waves_failed=str(error))
    assumptions = tuple(dict.fromkeys((*result.assumptions, *waves.assumptions)))
    result = replace(result, waveforms=waves, assumptions=assumptions)
    return of_waveforms(result) if waves.trusted else result


def _with_course(result, sound):
    """Return `result` with its courses where the settled states do not tell the incident."""
    from lostneutral.claims.incident import to_follow, too_large

    case = result.case
    if not to_follow(case, result.after, result.harms):
        return result
    from lostneutral.errors import NoSolutionError
    from lostneutral.studies.course import courses

    if result.sines:
        result = replace(result, not_followed="pulses")
        if not case.events:
            return result
    elif too_large(case):
        return replace(result, not_followed="too large")
    try:
        return replace(result, courses=courses(case, sound=sound))
    except NoSolutionError:
        return replace(result, not_followed="failed")


def _concluded(result, studied=True):
    """Return `result` with its verdicts and claims, and with the studies that these rest on, what it hangs on unless not `studied`."""
    from lostneutral.claims.gather import gathered, ranked
    from lostneutral.claims.verdicts import verdicts
    from lostneutral.consequences.weighing import studied_from
    from lostneutral.studies.brief import brief_stages
    from lostneutral.studies.electrode_range import touch_range
    from lostneutral.studies.fed import feeding_impedances
    from lostneutral.studies.hinges import hinges
    from lostneutral.studies.main_switch import main_switch

    case, reached = result.at_the_end, result.after.reached
    settled = studied_from(result.after)
    result = replace(
        result, brief=brief_stages(result.case, result.courses) if studied else (), electrode=touch_range(case, studied_from((result.sines or result).after)), opened=main_switch(case, settled) if settled else (),
        hinges=hinges(case, reached) if studied and reached and not result.sines and result.incident.ever else None)
    found = verdicts(result.incident, result.harms)
    fed = [feeding_impedances(moment.case, moment.solution) for moment in result.incident.moments]
    claims = gathered(result.incident, result.before, result.after, found,
                      readings=result.readings if case.observations or case.recordings else (),
                      electrode=result.electrode, opened=result.opened, fed=fed, hinges=result.hinges, brief=result.brief,
                      not_followed=result.not_followed, pulses=result.sines is not None)
    made = replace(result, verdicts=found, claims=ranked((*claims, *_of_waves(case, result))))
    vars(made).update({name: vars(result)[name] for name in ("incident", "readings") if name in vars(result)})  # neither rests on claims
    return made


def _of_waves(case, result):
    """Return the claims of the waveforms, where these were calculated, and that they were not."""
    if not (result.waveforms or result.waves_failed):
        return ()
    from lostneutral.claims.waves import waves, waves_not_followed

    more = waves(case, result.waveforms) if result.waveforms else ()
    lost = [waves_not_followed(result.waves_failed)] if result.waves_failed else []
    return (*more, *lost)


class _Software(Mapping):
    """Version of the program, and of what it calculates with, looked up when somebody asks: that takes longer than all claims."""

    @cached_property
    def _versions(self):
        import platform
        from importlib.metadata import version

        return {"version": __version__, "python": platform.python_version(), "numpy": version("numpy"), "scipy": version("scipy")}

    def __getitem__(self, name):
        return self._versions[name]

    def __iter__(self):
        return iter(self._versions)

    def __len__(self):
        return len(self._versions)
