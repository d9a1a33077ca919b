"""Recorded voltages over what is calculated for them: sentences, figure and section."""

from dataclasses import dataclass

import numpy as np

from lostneutral.case.model import Case
from lostneutral.claims.model import Kind
from lostneutral.report.base.blocks import figure, heading, paragraph
from lostneutral.report.base.drawing import DASHES, INK, SOFT, bare, colour, label, svg
from lostneutral.report.base.words import number
from lostneutral.report.course.rows import clock
from lostneutral.studies.recorded import all_observations, begins, change_of, gaps
from lostneutral.words.amounts import counted, listed
from lostneutral.words.times import duration

MOST = 10  #: recordings drawn
MOST_GAPS = 3  #: gaps of one recording named
UNITS = ((86400.0 * 4, 86400.0, "days"), (7200.0, 3600.0, "hours"), (300.0, 60.0, "minutes"), (0.0, 1.0, "seconds"))
AFTERWARDS = "fitted after the incident: it says nothing about the incident, and nothing is concluded from it"


@dataclass(frozen=True)
class Calculated:
    """What is calculated over one stretch of a recording: V, 5 %, 50 % and 95 % or lowest, middle and highest."""

    start: float  #: s
    end: float
    low: float
    middle: float
    high: float


def recording_words(case: Case) -> tuple[str, ...]:
    """Return what each recording holds: how long, where it changed most, its gaps, and whether it was fitted afterwards."""
    return tuple(_told(case, recording) for recording in case.recordings)


def _told(case, recording):
    said = [f"{recorded_at(recording)} ({recording.file}): {counted(len(recording.volts), 'value')} from {_time(recording.times[0])} to "
            f"{_time(recording.times[-1])} after time 0" + (f" ({recording.zero})" if recording.zero else "")]
    if recording.averaging:
        said.append(f"each a mean over {duration(recording.averaging)}")
    if recording.clock_error or recording.clock_deviation:
        fast = f"clock {duration(abs(recording.clock_error))} {'fast' if recording.clock_error > 0 else 'slow'}, taken out" if \
            recording.clock_error else "clock"
        said.append(fast + (f" ± {duration(recording.clock_deviation)}" if recording.clock_deviation else ""))
    missing = gaps(recording)
    if missing:
        shown = listed([f"{_time(a)} to {_time(b)}" for a, b in missing[:MOST_GAPS]])
        said.append(f"{counted(len(missing), 'gap')}: {shown}" + (" and others" if missing[MOST_GAPS:] else ""))
    if recording.fitted_after:
        return "; ".join([*said, AFTERWARDS]) + "."
    change = change_of(recording)
    said.append(f"largest change that lasts at {_time(change)}" if change is not None else "no change that lasts")
    return "; ".join(said) + "."


def afterwards_words(case: Case) -> tuple[str, ...]:
    """Return of each recording that was fitted after the incident that nothing is concluded from it."""
    return tuple(f"{recorded_at(r)} ({r.file}) was {AFTERWARDS}." for r in case.recordings if r.fitted_after)


def recorded_at(recording) -> str:
    """Return between which terminals, and where, it was made."""
    return f"{'-'.join(recording.between)} at {recording.point}"


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
            made.setdefault(seen.details["recording"], []).extend(Calculated(*span, *ranges[n]) for span in seen.details["spans"])
    return made


def recorded_over_calculated(case: Case, calculated: dict, whose: str):
    """Draw each recording against time, in its own panel, over what is calculated for it under `whose` (words)."""
    shown = list(enumerate(case.recordings))[:MOST]
    first = min(r.times[0] - r.averaging for _, r in shown)
    last = max(r.times[-1] for _, r in shown)
    size, unit = next((size, unit) for most, size, unit in UNITS if last - first >= most)
    fault = begins(case)

    def draw(figure_):
        panels = np.atleast_1d(figure_.subplots(len(shown), 1, sharex=True))
        for axes, (n, recording) in zip(panels, shown):
            _panel(axes, recording, calculated.get(n, ()), size)
            if fault is not None and first <= fault <= last:
                axes.axvline(fault / size, color=INK, lw=0.9, ls=(0, (1, 2)))
            axes.set_xlim(first / size, last / size)
            bare(axes, "bottom", "left")
        zero = next((r.zero for _, r in shown if r.zero), None)
        panels[-1].set_xlabel(f"{unit} after time 0{f' ({zero})' if zero else ''}\nfull line: recorded; hatched with a broken line: calculated under "
                              f"{label(whose, 70)}", fontsize=7.5)

    said = [_said_of(recording, calculated.get(n, ())) for n, recording in shown]
    started = f" The dotted line is the beginning of the fault, at {_time(fault)}." if fault is not None else ""
    left = len(case.recordings) - len(shown)
    more = f" {counted(left, 'more recording')} not drawn." if left else ""
    return svg(draw, 0.55 + max(1.05, 2.4 / len(shown)) * len(shown),
               f"Recorded voltages over those calculated under {whose}. {' '.join(said)}{started}{more}")


def _panel(axes, recording, calculated, size):
    t, v = np.array(recording.times) / size, np.array(recording.volts)
    missing = gaps(recording)
    for stretch in calculated:
        x = [stretch.start / size, stretch.end / size]
        axes.fill_between(x, max(stretch.low, 0.0) - 1.0, stretch.high + 1.0, facecolor="white", edgecolor=SOFT, hatch="////", lw=0)
        axes.plot(x, [stretch.middle] * 2, color=INK, lw=1.0, ls=(0, (4, 2)))
    marks = np.searchsorted(np.array(recording.times), [a for a, _ in missing], "right")
    for part_t, part_v in zip(np.split(t, marks), np.split(v, marks)):
        axes.plot(part_t, part_v, color=colour(_line_of(recording)), lw=1.3, ls=DASHES["L1"],
                  marker="" if len(part_t) > 1 else ".", gid="recorded")
    for a, b in missing:
        axes.axvspan(a / size, b / size, facecolor="white", edgecolor=SOFT, hatch="..", lw=0)
        axes.text((a + b) / 2 / size, float(v.mean()), "gap", ha="center", va="center", fontsize=7,
                  bbox={"fc": "white", "ec": "none", "pad": 0.6})
    ends = [*v, *(x for s in calculated for x in (s.low, s.high))]
    axes.set_ylim(min(ends) - 12, max(ends) + 12)
    axes.set_ylabel("V", fontsize=8)
    afterwards = ", fitted after the incident" if recording.fitted_after else ""
    axes.set_title(f"{label(recorded_at(recording), 60)}{afterwards}", fontsize=8, loc="left", pad=2)


def _line_of(recording):
    return next((c for c in recording.between if c in DASHES and c != "N"), "N")


def _said_of(recording, calculated):
    if recording.fitted_after:
        return f"{recorded_at(recording)}: {AFTERWARDS}."
    said = [f"{number(recording.volts[0], 0)} V at first, {number(recording.volts[-1], 0)} V at last, between {number(min(recording.volts), 0)} "
            f"and {number(max(recording.volts), 0)} V"]
    said += [f"calculated from {_time(s.start)} to {_time(s.end)}: {number(s.low, 0)} to {number(s.high, 0)} V" for s in calculated[:4]]
    said += [f"{counted(len(gaps(recording)), 'gap')}"] if gaps(recording) else []
    return f"{recorded_at(recording)}: {'; '.join(said)}."


def recordings(result):
    """Return the section on recorded voltages, over what is calculated for the fault that the case names; nothing without any."""
    case = result.case
    if not case.recordings:
        return []
    drawn = recorded_over_calculated(case, calculated_of_case(result), "the fault that the case names")
    return [heading("Recorded voltages"), *map(paragraph, recording_words(case)),
            figure(drawn, "Recorded voltages, with their gaps, over those calculated for the fault that the case names; the loads are those of the "
                          "case, so that their switching in between is not followed.")]
