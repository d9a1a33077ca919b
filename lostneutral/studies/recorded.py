"""Everything that was observed, in one list; of recordings what each level of voltage and each kind of event is worth.

A thousand rows of one level do not count a thousand times: a level counts once, by its mean, with the uncertainty that its
own correlation and the wander of its parts leave.
"""

from dataclasses import replace
from math import hypot, sqrt

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case, Observation
from lostneutral.studies.beginning import recorded_beginning, unusual
from lostneutral.studies.conditions import circumstance_at, onset
from lostneutral.studies.levels import levels

IMPEDANCE = 1e6  #: ohm, of a recorder's input
REACHED = 0.75  #: of a slow change, from which on a value counts as after it


def begins(case: Case) -> float | None:
    """Return when the fault begins (s): by the case's events, else by what was recorded; None where nothing says."""
    edge = _edge(case)
    return edge and edge[0]


def _edge(case):
    """Between which times (s) the fault was neither absent nor what it became; None where nothing says."""
    told = onset(case)
    if told is not None:
        return told, told
    found = recorded_beginning(case)
    if found is None:
        return None
    first = found.start if found.slowly_since is None else found.slowly_since
    return first, found.start + REACHED * (found.end - found.start)


def all_observations(case: Case) -> tuple[Observation, ...]:
    """Return everything that was observed: what the case says, the levels of its recordings, and what its devices did.

    Levels under one circumstance (before the fault, after it, after each event) are one reading: their mean, with the
    wander between them as its uncertainty, for the loads behind that wander are not known. Events that say the same under one
    circumstance are one, too. What is nearer to a change of circumstance than three deviations of the recorder's clock and its
    averaging time is left out, and so is what a slow change went through. What was fitted after the incident says nothing about it
    and makes no observation.
    """
    edge = _edge(case)
    made = [o for n, r in enumerate(case.recordings) if not r.fitted_after for o in (*_of_voltages(case, n, r, edge), *_of_events(case, n, r, edge))]
    points = {device.name: device.point for device in case.devices}
    done = [Observation(points[seen.device], details=seen.details, device=seen.device, operated=seen.operated) for seen in case.operated]
    return (*case.observations, *made, *done)


def with_all_observed(case: Case) -> Case:
    """Return `case` with everything that was observed among its observations, and nowhere else."""
    return replace(case, observations=all_observations(case), recordings=(), operated=())


def _of_voltages(case, number, recording, edge):
    times, groups = np.array(recording.times), {}
    for low, high, circumstance in _stretches(case, recording, edge):
        inside = (times - recording.averaging >= low) & (times <= high)
        part = replace(recording, times=tuple(times[inside]), volts=tuple(np.array(recording.volts)[inside]), events=())
        groups.setdefault(circumstance, []).extend(levels(part))
    for circumstance, parts in groups.items():
        if not parts:
            continue
        weight = np.array([level.values for level in parts])
        means = np.array([level.mean for level in parts])
        mean = float(weight @ means / weight.sum())
        wander = sqrt(float(weight @ (means - mean) ** 2 / weight.sum()))
        error = hypot(wander, max(level.error for level in parts), data.load("where")["uncertainty"]["volts"])
        spans = tuple((level.start, level.end) for level in parts)
        details = _details(number, recording, circumstance, sum(spans[0]) / 2, spans)
        yield Observation(recording.point, recording.between, round(mean, 1), error, details=details)


def _of_events(case, number, recording, edge):
    """What events say. One that a sound supply does not give shows the fault, also where its beginning is not known so closely."""
    groups = {}
    for event in (e for e in recording.events if e.bound):
        was_before = edge is not None and event.time < edge[0]
        shows = edge is not None and not was_before and unusual(case, event)
        if not any(low < event.time < high for low, high in _unclear(case, recording, None if shows else edge)):
            key = circumstance_at(case, event.time, was_before), event.between, event.bound, event.voltage
            groups.setdefault(key, []).append(event.time)
    for (circumstance, between, bound, voltage), times in groups.items():
        details = _details(number, recording, circumstance, times[0], ((times[0], times[-1]),))
        yield Observation(recording.point, between, voltage, details=details | {"bound": bound, "times": tuple(times)})


def _details(number, recording, circumstance, time, spans):
    return {"state": "before" if circumstance.before else "after", "time": time, "impedance": IMPEDANCE, "instrument": "recorder",
            "kept": recording.file, "recording": number, "spans": spans}


def _unclear(case, recording, edge):
    """The stretches (start, end; s) about changes of circumstance, of which a recording does not tell what held."""
    apart = 3 * recording.clock_deviation + recording.averaging
    return [(low - apart, high + apart) for low, high in sorted({(e.time, e.time) for e in case.events} | ({edge} if edge else set()))]


def _stretches(case, recording, edge):
    """(start, end, circumstance) of every stretch (s) between them."""
    marks = [-np.inf, *(t for ends in _unclear(case, recording, edge) for t in ends), np.inf]
    for low, high in zip(marks[::2], marks[1::2]):
        start, end = max(low, recording.span[0]), min(high, recording.span[1])
        if end > start:
            yield start, end, circumstance_at(case, (start + end) / 2, edge is not None and high <= edge[0])
