"""A course in words and rows, for terminal, result file, figures and document alike."""

from bisect import bisect_left

import numpy as np

from lostneutral import data
from lostneutral.consequences.limits import verdict_by_band
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model
from lostneutral.report.base.words import number, significant
from lostneutral.words.amounts import listed
from lostneutral.words.language import to_tell
from lostneutral.words.terms import NO_VOLTAGE, VERDICTS
from lostneutral.words.times import duration

#: verdict on the voltage across a load -> its condition as the result file has it, of a lamp and of anything else
_CONDITIONS = {"over": ("glaring", "too high"), "within": ("running", "running"), "under": ("dim", "too low"),
               "dead": ("dark", "dead"), "floating": ("off", "off")}
CONDITION_WORDS = to_tell({"glaring": "too bright", "too high": VERDICTS["over"], "too low": VERDICTS["under"],
                           "dark": "no light", "dead": "no voltage", "running": "running", "dim": "dim", "failed": "failed", "changing": "changing again and again",
                           "floating": "floating", "off": "off"})
"""What is printed for a condition of the result file."""
LIVE_ABOVE = data.load("where")["live"]["value"]  #: V to the supply's star point
MOST_MOMENTS = 40  #: in a document and its figures
MOST_PLACES = 4  #: points named at one moment; the result file has them all
WIDE = 100.0  #: late to early from which only the early end of a time is told
CYCLES = 2  #: of the supply, below which phasors say nothing (see `shortest`)


@dataclass(frozen=True)
class Seen:
    """A line at a point just after something happened, and just before the next thing did (V line to neutral)."""

    place: str
    line: str
    at_once: float | None
    later: float | None
    verdict: str  #: of the later one, in words; without voltage to the neutral also whether it is still live to earth


@dataclass(frozen=True)
class Happening:
    time: float
    what: str
    seen: tuple[Seen, ...]
    calculated: bool = False  #: whether it is a failure or a change of mode, so that its time is rough
    again: bool = False  #: it stands for what repeats: the voltages seen are the lowest and the highest, a verdict is of both

    @property
    def when(self):
        """The time in words, to two figures and with "about" where it is calculated, else as the case has it."""
        return rough_time(self.time) if self.calculated else as_given(self.time)


def clock(seconds):
    """Return a time of the course in words: "12 ms", "3.4 s", "12 min 5 s", "3 h 20 min".

    >>> print([clock(s) for s in (0.0, 0.0123, 3.42, 725.0, 12000.0)])
    ['0 s', '12 ms', '3.4 s', '12 min 5 s', '3 h 20 min']
    """
    if seconds < 1.0:
        return significant(1000 * seconds, "ms", 2) if seconds else "0 s"
    if seconds < 120.0:
        return f"{seconds:.3g} s" if seconds >= 10.0 else f"{seconds:.2g} s"
    whole = round(seconds)
    if seconds < 7200.0:
        return f"{whole // 60} min" + (f" {whole % 60} s" if whole % 60 else "")
    minutes = round(seconds / 60)
    return f"{minutes // 60} h" + (f" {minutes % 60} min" if minutes % 60 else "")


def as_given(seconds):
    """Return a time that the case gives in words, to hundredths of a second: one event is not told at the time of another.

    >>> print([as_given(s) for s in (0.0, 0.5, 100.5, 725.5, 7200.0, 7210.5)])
    ['0 s', '500 ms', '100.5 s', '12 min 5.5 s', '2 h', '2 h 0 min 10.5 s']
    """
    if seconds < 1.0:
        return clock(seconds)
    if seconds < 120.0:
        return f"{round(seconds, 2):g} s"
    minutes, rest = divmod(round(seconds, 2), 60)
    if not rest:
        return clock(seconds)
    hours, minutes = divmod(int(minutes), 60) if seconds >= 7200.0 else (0, int(minutes))
    return f"{f'{hours} h ' if hours else ''}{minutes} min {rest:.4g} s"


def rough_time(seconds):
    """Return a calculated time in words, to two figures.

    >>> print([rough_time(s) for s in (0.0123, 725.0, 2292.0, 9000.0)])
    ['about 12 ms', 'about 12 min', 'about 38 min', 'about 2.5 h']
    """
    if seconds < 1.0:
        return f"about {clock(seconds)}"
    said = duration(seconds)
    for unit, short in (("second", "s"), ("minute", "min"), ("hour", "h")):
        said = said.removesuffix(f"{unit}s").removesuffix(unit) + short if unit in said else said
    return said if said.startswith("more") else f"about {said}"


def phase_voltages(case, course):
    """Return {(point, line): V line to neutral over the course's times}; nan where it floats."""
    at = course.nodes
    return {(p.name, line): np.abs(at[p.name, line] - at[p.name, "N"]) for p in case.points for line in p.phases
            if (p.name, line) in at and (p.name, "N") in at}


def happenings(case, course):
    """Return a Happening for every moment of the course; moments of one time share what follows.

    Where the course repeats, one Happening stands for all turns but the first.
    """
    made, told, done = _every(case, course), [], 0
    for again, until in course.repetitions:
        once = again.first + again.size
        told += [*made[done:once], _again(case, course, again, once, until)]
        done = until
    return (*told, *made[done:])


def _again(case, course, again, once, until):
    """What repeats, with the lowest and the highest voltage of each line from the moment `once` to the moment `until`."""
    since, end = course.moments[once].time, course.moments[until].time
    rows, seen = (course.times >= since) & (course.times < end), []
    for (place, line), values in phase_voltages(case, course).items():
        kept = values[rows][~np.isnan(values[rows])]
        ends = (float(kept.min()), float(kept.max())) if len(kept) else (None, None)
        verdicts = dict.fromkeys(VERDICTS[verdict_by_band(case, None if v is None else v / case.supply.nominal)] for v in ends)
        seen.append(Seen(place, line, *ends, " and ".join(verdicts)))
    names = listed(dict.fromkeys(m.subject for m in course.moments[again.first:again.first + again.size]))
    what = f"as before, again and again: {names} off and on, about every {duration(again.period)}, "
    followed = until < len(course.moments) - 1 or course.ends != "cycling"
    followed = followed and end - course.moments[until - 1].time < 2 * again.period
    what += f"{again.turns} times in all" if followed else f"followed for {again.turns} turns and taken to go on so"
    return Happening(since, what, tuple(seen), calculated=True, again=True)


def _every(case, course):
    volts = phase_voltages(case, course)
    times = [m.time for m in course.moments]
    made = []
    for moment in course.moments:
        following = next((t for t in times if t > moment.time), None)
        at = len(course.times) - 1 if following is None else bisect_left(course.times, following)
        made.append(Happening(moment.time, moment.what, tuple(
            _seen(case, key, moment, float(values[at]), course.nodes[key][at]) for key, values in volts.items()),
            moment.kind in ("mode", "failure")))
    return tuple(made)


def _seen(case, key, moment, later, potential):
    if moment.kind == "start":
        later = moment.phases.get(key) or np.nan
    ratio = None if np.isnan(later) else later / case.supply.nominal
    found = verdict_by_band(case, ratio)
    words = VERDICTS[found]
    if found == "dead":
        words = ("almost " if later >= 0.5 else "") + NO_VOLTAGE[not abs(potential) <= LIVE_ABOVE]
    return Seen(*key, moment.phases.get(key), None if ratio is None else later, words)


def moments_untold(count, most):
    """Return the words for what is left out of `count` moments where `most` are told; "" if nothing is."""
    return f"… and {count - most} more, in the result file" if count > most else ""


def seen_words(case, happening, most=MOST_PLACES):
    """Return the voltage of each phase, a text for each point; points with the same are named together.

    Of more than `most` texts those are kept that are furthest off the limits, and the points of the others counted.
    """
    texts = {}
    for point in case.points:
        said = "; ".join(_line_words(s, happening.again) for s in happening.seen if s.place == point.name)
        texts.setdefault(said, []).append(point.name)
    if len(texts) == 1:
        return tuple(texts)
    kept = sorted(texts, key=_least_off)[:most]
    more = sum(len(names) for said, names in texts.items() if said not in kept)
    return tuple(f"{', '.join(names)}: {said}" for said, names in texts.items() if said in kept) + \
        ((f"… and {more} more point{'s' * (more > 1)}, in the result file",) if more else ())


def _least_off(said):
    """A sort key: first what has a line above limits or none at all, last what has every line within."""
    return next((n for n, word in enumerate((VERDICTS["over"], "no voltage", VERDICTS["under"], "floating")) if word in said), 4)


def _line_words(seen, again):
    if seen.at_once is None:
        return f"{seen.line} floating"
    first, then = number(seen.at_once, 0), number(seen.later, 0)
    if again:
        return f"{seen.line} {first} to {then} V, {seen.verdict}"
    volts = f"{first} V" if seen.later is None or abs(seen.later - seen.at_once) < 1.0 else \
        f"{first} V {'rising' if seen.later > seen.at_once else 'falling'} to {then} V"
    return f"{seen.line} {volts}, {seen.verdict}"


def conditions(case, course):
    """Return {load: a word of the result file at every time}: running, dim, glaring, dark, too high …, off, failed."""
    from lostneutral.consequences import limits

    band, made = limits.band(case.supply.limits), {}
    for load in case.loads:
        lamp, failed = load_model(load, case.supply)[0].gives_light, course.failures.get(load.name, (np.inf, ""))[0]
        words = []
        for time, ratio in zip(course.times, course.voltages[load.name] / load.voltage):
            word = _CONDITIONS[limits.verdict(None if np.isnan(ratio) else ratio, band)][0 if lamp else 1]
            words.append("failed" if time >= failed and np.isnan(ratio) or time > failed else word)
        made[load.name] = words
    return made


@dataclass(frozen=True)
class Failure:
    load: str
    part: str
    central: float | None  #: s after the start; None: not within the period
    early: float | None
    late: float | None


def failures_told(case, courses):
    """Return a Failure for every load that fails in any of the courses, the soonest first."""
    made = []
    for load in case.loads:
        found = {name: course.failures[load.name] for name, course in courses.named.items()
                 if load.name in course.failures}
        if found:
            part = next(iter(found.values()))[1]
            made.append(Failure(load.name, part, *(found[name][0] if name in found else None
                                                   for name in ("central", "early", "late"))))
    return tuple(sorted(made, key=lambda f: min(t for t in (f.central, f.early, f.late) if t is not None)))


def failure_time(seconds):
    """Return when a load is expected to fail, in words."""
    return "not within the period" if seconds is None else rough_time(seconds)


def failure_words(failure):
    """Return when a load is expected to fail in each course; of a range beyond `WIDE` its early end alone."""
    early, late = failure.early, failure.late
    if early and late and late > WIDE * early:
        return f"possibly within {rough_time(early)}; an upper end cannot be stated"
    others = [f"{name} course: {failure_time(t)}" for name, t in (("early", early), ("late", late))
              if not t == failure.central is None]
    return f"{failure_time(failure.central)} ({'; '.join(others)})"


def notes(case, courses):
    """Return what a reader must know of the courses, sentences."""
    said = [(f"Calculated, not measured, for {clock(float(courses.central.times[-1]))} from the start: "
            f"{courses.central.moments[-1].what}."),
            (f"Voltages are r.m.s. values of sine waves, valid from about {CYCLES} cycles "
            f"({1000 * CYCLES / case.supply.frequency:.0f} ms) after a change; before that they show only the trend.")]
    if courses.early is not None:
        said.append("Times to failure are far less certain than voltages: the early course takes every load at the "
                    "early limit "
                    "of its failure estimate, the late course at the late limit. Protection is assumed not to operate.")
    return tuple(said)
