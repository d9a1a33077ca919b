"""The course in the result file: arrays over time, and what happened."""

from dataclasses import asdict

import numpy as np

from lostneutral.report.base.words import angle, size
from lostneutral.report.course.rows import conditions, phase_voltages


def course_dict(case, courses):
    """Return the course as plain dicts and lists: the central one in full, what happens in the early and late ones.

    Every list beside `times` (s) has one value a time; voltages r.m.s. V, angles degrees, powers W. None stands where
    a terminal floats or a load is out of the circuit. `star_point` is the first point's neutral, to the supply's.
    """
    central = courses.central
    return _story(central) | {
        "times": central.times.tolist(),
        "star_point": _phasors(central, (case.points[0].name, "N")),
        "points": _points(case, central),
        "loads": _loads(case, central),
        "early": None if courses.early is None else _story(courses.early),
        "late": None if courses.late is None else _story(courses.late),
    }


def _story(course):
    again = course.repetition
    return ({} if again is None else {"repeats": asdict(again)}) | {
            "ends": course.ends,
            "events": [{"time": m.time, "kind": m.kind, "subject": m.subject, "what": m.what,
                        "phases": [{"point": p, "name": line, "voltage": v} for (p, line), v in m.phases.items()]}
                       for m in course.moments],
            "failures": [{"load": name, "time": time, "part": part} for name, (time, part) in course.failures.items()]}


def _points(case, course):
    volts = phase_voltages(case, course)
    return [{"name": p.name, "neutral": _phasors(course, (p.name, "N")),
             "phases": [{"name": line, "voltage": _numbers(volts[p.name, line])} for line in p.phases
                        if (p.name, line) in volts]} for p in case.points]


def _loads(case, course):
    words = conditions(case, course)
    return [{"name": load.name, "connect": "-".join(load.connect), "voltage": _numbers(course.voltages[load.name]),
             "power": _numbers(course.powers[load.name]), "condition": words[load.name],
             "state": _numbers(course.states[load.name]),
             "life_used": _numbers(course.used[load.name]) if load.name in course.used else None,
             **{key: _numbers(values) for key, values in course.details[load.name].items()}} for load in case.loads]


def _phasors(course, terminal):
    values = course.nodes.get(terminal, np.full(len(course.times), np.nan + 0j))
    found = [None if np.isnan(z) else complex(z) for z in values]
    return {"voltage": [size(z) for z in found], "angle": [angle(z) for z in found]}


def _numbers(values):
    return [None if np.isnan(v) else float(v) for v in values]
