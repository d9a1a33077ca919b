"""Recorded voltages and events over what is calculated for them: sentences, figure and section."""

from datetime import datetime, timedelta

import numpy as np

from lostneutral.case.model import Case
from lostneutral.claims.model import Kind
from lostneutral.frozen import dataclass
from lostneutral.report.base.blocks import figure, heading, paragraph
from lostneutral.report.base.drawing import DASHES, INK, SOFT, bare, colour, label, svg
from lostneutral.report.base.words import number
from lostneutral.report.course.rows import clock
from lostneutral.studies.beginning import recorded_beginning
from lostneutral.studies.levels import gaps, largest_change
from lostneutral.studies.recorded import all_observations, begins
from lostneutral.words.amounts import counted, listed
from lostneutral.words.times import duration

MOST = 10  #: recordings drawn
HIGHEST = 7.6  #: inches of all of them, so that a page holds them
MOST_GAPS = 3  #: gaps of one recording named
UNITS = ((86400.0 * 4, 86400.0, "days"), (7200.0, 3600.0, "hours"), (300.0, 60.0, "minutes"), (0.0, 1.0, "seconds"))
CLOCK = {"days": ("%m-%d", "month and day"), "hours": ("%H:%M", "time of day"), "minutes": ("%H:%M", "time of day"),
         "seconds": ("%H:%M:%S", "time of day")}
AFTERWARDS = "fitted after the incident: it says nothing about the incident, and nothing is concluded from it"


@dataclass(frozen=True)
class Calculated:
    """What is calculated over one stretch of a recording: V, 5 %, 50 % and 95 % or lowest, middle and highest."""

    start: float  #: s
    end: float
    low: float
    middle: float
    high: float
    between: tuple[str, str]


def recording_words(case: Case) -> tuple[str, ...]:
    """Return what each recording holds: how long, its events, its gaps, where it changed most, and whether it was fitted afterwards."""
    return tuple(_told(recording) for recording in case.recordings)


def _told(recording):
    first, last = recording.span
    said = [f"{recorded_at(recording)} ({recording.file}): {held_words(recording)} from {_when(first + recording.averaging, recording.zero)} to "
            f"{_at(last, recording.zero)}", *_events_told(recording)]
    if recording.averaging:
        said.append(f"each a mean over {duration(recording.averaging)}")
    if recording.clock_error or recording.clock_deviation:
        fast = f"clock {duration(abs(recording.clock_error))} {'fast' if recording.clock_error > 0 else 'slow'}, taken out" if \
            recording.clock_error else "clock"
        said.append(fast + (f" ± {duration(recording.clock_deviation)}" if recording.clock_deviation else ""))
    missing = gaps(recording)
    if missing:
        shown = listed([f"{_when(a, recording.zero)} to {_when(b, recording.zero)}" for a, b in missing[:MOST_GAPS]])
        said.append(f"{counted(len(missing), 'gap')}: {shown}" + (" and others" if missing[MOST_GAPS:] else ""))
    if recording.fitted_after:
        return "; ".join([*said, AFTERWARDS]) + "."
    return "; ".join([*said, *_change_told(recording)]) + "."


def _change_told(recording):
    change, zero = largest_change(recording), recording.zero
    if change is None:
        return ["no change that lasts"] if recording.volts else []
    earliest, latest = change[0].end - recording.averaging, change[1].start + recording.averaging
    return [f"largest change that lasts: from {number(change[0].mean, 0)} to {number(change[1].mean, 0)} V, between {_when(earliest, zero)} and "
            f"{_when(latest, zero)}"]


def _events_told(recording):
    """Each kind of event that says something of a voltage, how often and when; the others by their words."""
    kinds, mute = {}, list(dict.fromkeys(f"“{e.word}”" for e in recording.events if not e.bound))
    for e in recording.events:
        if e.bound:
            kinds.setdefault((e.word, e.between, e.bound, e.voltage), []).append(e.time)
    told = [f"“{word}” ({'-'.join(between)} {bound} {voltage:g} V) {times_words(times, recording.zero)}"
            for (word, between, bound, voltage), times in kinds.items()]
    return told + ([f"{listed(mute)} {'say' if mute[1:] else 'says'} nothing of a voltage"] if mute else [])


def times_words(times, zero) -> str:
    """Return how often something was logged, and when, from its `times` (s) and the clock time of time 0, if known."""
    return f"{len(times)} times, from {_when(times[0], zero)} to {_when(times[-1], zero)}" if times[1:] else f"once, at {_when(times[0], zero)}"


def held_words(recording) -> str:
    """Return how many values and events a recording has."""
    held = (recording.volts, "value"), ({(e.time, e.word) for e in recording.events}, "event")
    return " and ".join(counted(len(x), word) for x, word in held if x)


def recorded_in_short(case: Case) -> tuple[str, ...]:
    """Return when what was recorded changed, slowly or not, and of each recording fitted afterwards that nothing is concluded from it."""
    return (*beginning_words(case), *(f"{recorded_at(r)} ({r.file}) was {AFTERWARDS}." for r in case.recordings if r.fitted_after))


def beginning_words(case: Case) -> tuple[str, ...]:
    """Return when what was recorded changed, between which times that lies, and whether slowly; nothing where it never did."""
    found = recorded_beginning(case)
    if found is None:
        return ()
    zero = next((r.zero for r in case.recordings if r.zero), None)
    start, end, latest = (_at(t, zero) for t in (found.start, found.end, found.latest))
    if found.earliest is None:
        return (f"The first of the logged events that a sound supply does not give was at {start}. How long the fault had been there by then, "
                "they do not say.",)
    if found.slow:
        return (f"The recorded voltages changed slowly, over about {_long(found.end - found.start)}: from about {start} (no later than {latest}; before "
                f"that a change may have been too slight to show) to about {end}. A change in one step does not explain them.",)
    since = "" if found.slowly_since is None else f" Before that they had been changing slowly, since {_at(found.slowly_since, zero)} at the latest."
    return (f"The recorded voltages changed at about {start} (between {_at(found.earliest, zero)} and {latest}), in one step or within "
            f"{_long(found.longest)} at most.{since}",)


def _long(seconds):
    return f"{seconds / 86400:.2g} days" if seconds >= 2 * 86400 else duration(seconds)


def _at(seconds, zero):
    """A time on the clock where the case says when time 0 was, else as it counts from there."""
    return f"{_when(seconds, zero)}{'' if zero else ' after time 0'}"


def _when(seconds, zero):
    return f"{_clock(seconds, zero):%Y-%m-%d %H:%M}" if zero else _time(seconds)


def _clock(seconds, zero):
    return datetime.fromisoformat(zero) + timedelta(seconds=round(seconds))


def recorded_at(recording) -> str:
    """Return between which terminals, and where, it was made."""
    return f"{listed(_pairs(recording))} at {recording.point}"


def _pairs(recording):
    """Between which terminals it says something."""
    held = [*([recording.between] if recording.volts else []), *(e.between for e in recording.events if e.bound)] or [recording.between]
    return ["-".join(pair) for pair in dict.fromkeys(held)]


def _time(seconds):
    return f"−{clock(-seconds)}" if seconds < 0 else clock(seconds)


def calculated_of_case(result) -> dict:
    """Return {number of the recording: its `Calculated` stretches} of the fault that the case names."""
    claims = {c.facts["number"]: c.span for c in result.claims if c.kind is Kind.OBSERVED and c.span is not None}
    return _stretches(result.case, {n: (low, (low + high) / 2, high) for n, (low, high) in claims.items()})


def calculated_of_cause(case: Case, cause) -> dict:
    """Return {number of the recording: its `Calculated` stretches} under one weighed cause (`evidence.deduce.Weighed`)."""
    return _stretches(case, {n: (f.low, f.middle, f.high) for n, f in enumerate(cause.fits) if f.middle is not None})


def _stretches(case, ranges):
    made = {}
    for n, seen in enumerate(all_observations(case)):
        if "recording" in seen.details and n in ranges:
            made.setdefault(seen.details["recording"], []).extend(
                Calculated(*span, *ranges[n], seen.between) for span in seen.details["spans"])
    return made


def recorded_over_calculated(case: Case, calculated: dict, whose: str):
    """Draw each recording against time, in its own panel, over what is calculated for it under `whose` (words)."""
    shown = list(enumerate(case.recordings))[:MOST]
    first, last = _drawn([r for _, r in shown])
    zero = next((r.zero for _, r in shown if r.zero), None)
    size, unit = next((size, unit) for most, size, unit in UNITS if last - first >= most)
    fault, found = begins(case), recorded_beginning(case)
    marks = [] if fault is None else [found.start, found.end] if found and found.slow and found.start == fault else [fault]

    def draw(figure_):
        panels = np.atleast_1d(figure_.subplots(len(shown), 1, sharex=True))
        for axes, (n, recording) in zip(panels, shown):
            _panel(axes, recording, calculated.get(n, ()), size)
            for mark in (m for m in marks if first <= m <= last):
                axes.axvline(mark / size, color=INK, lw=0.9, ls=(0, (1, 2)))
            axes.set_xlim(first / size, last / size)
            bare(axes, "bottom", "left")
        key = "full line: recorded; " * any(r.volts for _, r in shown) + "hatched with a broken line: calculated under " + label(whose, 70)
        logged = "\n▲ above, ▼ below the voltage at which it stands: an event that was logged" if any(r.events for _, r in shown) else ""
        if zero:
            panels[-1].xaxis.set_major_formatter(lambda x, _: f"{_clock(x * size, zero):{CLOCK[unit][0]}}")
        panels[-1].set_xlabel(f"{f'{CLOCK[unit][1]}, from {_when(first, zero)} on' if zero else f'{unit} after time 0'}\n{key}{logged}",
                              fontsize=7.5)

    said = [_said_of(recording, calculated.get(n, ())) for n, recording in shown]
    started = f" The dotted line is the beginning of the fault, at {_at(marks[0], zero)}." if len(marks) == 1 else \
        f" The dotted lines are at {listed([_at(m, zero) for m in marks])}, where the slow change began and was done." if marks else ""
    left = len(case.recordings) - len(shown)
    more = f" {counted(left, 'more recording')} not drawn." if left else ""
    return svg(draw, 0.75 + min(max(1.05 * len(shown), 2.4), HIGHEST),
               f"What was recorded over the voltages that are calculated under {whose}. {' '.join(said)}{started}{more}")


def _drawn(recordings):
    """From when to when (s) there is something to draw."""
    times = [t for r in recordings for t in ([r.times[0] - r.averaging, r.times[-1]] if r.volts else [e.time for e in r.events if e.bound] or r.span)]
    margin = 0.0 if any(r.volts for r in recordings) else max(0.1 * (max(times) - min(times)), 60.0)
    return min(times) - margin, max(times) + margin


def _panel(axes, recording, calculated, size):
    t, v = np.array(recording.times) / size, np.array(recording.volts)
    missing = gaps(recording)
    several = len(_pairs(recording)) > 1
    for stretch in calculated:
        x = [stretch.start / size, stretch.end / size]
        axes.fill_between(x, max(stretch.low, 0.0) - 1.0, stretch.high + 1.0, facecolor="white", edgecolor=SOFT, hatch="////", lw=0)
        axes.plot(x, [stretch.middle] * 2, color=INK, lw=1.0, ls=(0, (4, 2)))
        if several:
            _named(axes, x[1], stretch.middle, stretch.between)
    marks = np.searchsorted(np.array(recording.times), [a for a, _ in missing], "right")
    for part_t, part_v in zip(np.split(t, marks), np.split(v, marks)):
        axes.plot(part_t, part_v, color=colour(_line_of(recording)), lw=1.3, ls=DASHES["L1"],
                  marker="" if len(part_t) > 1 else ".", gid="recorded")
    last = {(e.between, e.bound, e.voltage): e for e in recording.events if e.bound}
    for e in (e for e in recording.events if e.bound):
        axes.plot(e.time / size, e.voltage, {"more than": "^", "up to": "v"}[e.bound], color=colour(_line_of(e)), ms=5, mec=INK, mew=0.4, gid="logged")
        if several and e is last[e.between, e.bound, e.voltage]:
            _named(axes, e.time / size, e.voltage, e.between)
    for a, b in missing:
        axes.axvspan(a / size, b / size, facecolor="white", edgecolor=SOFT, hatch="..", lw=0)
        axes.text((a + b) / 2 / size, float(v.mean()), "gap", ha="center", va="center", fontsize=7,
                  bbox={"fc": "white", "ec": "none", "pad": 0.6})
    ends = [*v, *(e.voltage for e in recording.events if e.bound), *(x for s in calculated for x in (s.low, s.high))] or [0.0]
    axes.set_ylim(min(ends) - 12, max(ends) + 12)
    axes.set_ylabel("V", fontsize=8)
    afterwards = ", fitted after the incident" if recording.fitted_after else ""
    axes.set_title(f"{label(recorded_at(recording), 60)}{afterwards}", fontsize=8, loc="left", pad=2)


def _named(axes, x, y, between):
    axes.annotate("-".join(between), (x, y), xytext=(6, 0), textcoords="offset points", fontsize=7, va="center")


def _line_of(part):
    return next((c for c in part.between if c in DASHES and c != "N"), "N")


def _said_of(recording, calculated):
    if recording.fitted_after:
        return f"{recorded_at(recording)}: {AFTERWARDS}."
    said = [f"{number(recording.volts[0], 0)} V at first, {number(recording.volts[-1], 0)} V at last, between {number(min(recording.volts), 0)} "
            f"and {number(max(recording.volts), 0)} V"] if recording.volts else []
    said += _events_told(recording)
    said += [f"{'-'.join(s.between)} calculated from {_time(s.start)} to {_time(s.end)}: {number(s.low, 0)} to {number(s.high, 0)} V"
             for s in calculated[:4]]
    said += [f"{counted(len(gaps(recording)), 'gap')}"] if gaps(recording) else []
    return f"{recorded_at(recording)}: {'; '.join(said)}."


def shown_words(case: Case) -> str:
    """Return what is drawn of the recordings of `case`, for under a figure."""
    drawn = (any(r.volts for r in case.recordings), "voltages, with their gaps"), (any(r.events for r in case.recordings), "logged events")
    return f"What was recorded ({' and '.join(words for there, words in drawn if there)}) over the voltages that are calculated"


def recordings(result):
    """Return the section on what was recorded, over what is calculated for the fault that the case names; nothing without any."""
    case = result.case
    if not case.recordings:
        return []
    drawn = recorded_over_calculated(case, calculated_of_case(result), "the fault that the case names")
    return [heading("Recordings"), *map(paragraph, (*beginning_words(case), *recording_words(case))),
            figure(drawn, f"{shown_words(case)} for the fault that the case names; the loads are those of the case, so that their switching in "
                          "between is not followed.")]
