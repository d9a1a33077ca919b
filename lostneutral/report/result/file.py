"""The result file, version 1: everything computed, for programs to read."""

import json
from math import isfinite, isnan

from lostneutral.consequences.limits import verdict_by_band
from lostneutral.consequences.pulses import trusted
from lostneutral.report.base.words import angle, size
from lostneutral.report.result.studies import studies_dict
from lostneutral.result import Result

FORMAT = "lostneutral-result/1"


def result_json(result: Result) -> str:
    """Return the result file's text: the same bytes from the same result, no NaN or infinity, a newline at the end.

    Units and shapes are in its schema (`lostneutral schema --result`): r.m.s. V, A, W, var, degrees, s; null where nothing
    is determined. Raises nothing of its own.

    >>> import json
    >>> from lostneutral import analyse, read_case, result_json
    >>> made = json.loads(result_json(analyse(read_case("casebook/three-unequal-lamps.toml"))))
    >>> [round(phase["voltage"]) for phase in made["states"][1]["solutions"][0]["points"][0]["phases"]]
    [342, 317, 85]
    """
    return json.dumps(result_dict(result), ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def result_dict(result: Result) -> dict[str, object]:
    """Return `result` as plain dicts, lists, strings, floats and None, as the result file lays them down.

    Voltages are r.m.s. V, currents A, powers W and var, angles degrees in (−180, 180]. What floats, or
    what nothing determines, is None; so is the angle of a phasor of no size. Where loads draw pulses and the waveforms are
    to be trusted, states, findings and readings are theirs (`picture`), and `sine_wave_states` has those of phasors.
    """
    made = {
        "format": FORMAT,
        "case": {"title": result.case.title, "sha256": result.case.sha256, "date": result.case.date},
        "software": dict(result.software),
        "states": [_state(result, state) for state in (result.before, result.after)],
        "findings": [_finding(f) for f in result.findings],
        "verdicts": [_verdict(v) for v in result.verdicts],
        "claims": [_claim(c) for c in result.claims],
        "picture": "waveforms" if trusted(result) else "sine waves",
        "readings": [_reading(r) for r in result.readings],
        "studies": studies_dict(result),
        "cautions": list(result.cautions),
        "assumptions": [vars(a) for a in result.assumptions],
    }
    if trusted(result):
        made["sine_wave_states"] = [_state(result.sines, state) for state in (result.sines.before, result.sines.after)]
    if result.waveforms is not None:
        from lostneutral.report.waveform.file import waveform_dict

        made["waveforms"] = waveform_dict(result.waveforms)
    if result.courses is not None:
        from lostneutral.report.course.file import course_dict

        made["course"] = course_dict(result.case, result.courses)
    if result.ranges is not None:
        from lostneutral.report.ranges.file import ranges_dict

        made["ranges"] = ranges_dict(result.ranges)
    if result.deduction is not None:
        from lostneutral.report.evidence.file import deduction_dict

        made["deduction"] = deduction_dict(result.deduction)
    return _plain(made)


def _state(result, state):
    from lostneutral.consequences.harm import IN_A_CYCLE, of_solution

    pulses = any(isnan(s.residual) for s in state.solutions)
    return {"name": state.name, "figures": "true r.m.s. of waveforms" if pulses else "phasors", "ends": state.ends,
            "arrival": {"cycle": "cycling"}.get(state.ends, state.ends), "reason": state.reason, "unique": state.unique,
            "sensitive": list(state.sensitive), "cycle": state.cycle,
            "solutions": [_solution(result.case, s, of_solution(result.harms, state, s) if state is result.after else {})
                          for s in state.solutions],
            "harms": [{"name": h.load, **_harm(h)} for h in result.harms
                      if state is result.after and h.solution == IN_A_CYCLE]}


def _solution(case, solution, harms):
    return {"attracting": solution.attracting, "reached": solution.reached, "residual": solution.residual,
            "points": [_point(case, solution, p) for p in case.points],
            "runs": [_run(solution, p) for p in case.points],
            "loads": [_load(load, harms.get(load.name)) for load in solution.loads], "earth": _earth(case, solution),
            "protection": _protection(case, solution)}


def _point(case, solution, point):
    earthed = (point.name, "PE") in solution.nodes and case.supply.earthing is not None
    return {"name": point.name,
            "neutral": _voltage(solution.nodes.get((point.name, "N"))),
            "earth_terminal": _voltage(solution.between((point.name, "PE"), ("earth", ""))) if earthed else None,
            "phases": [_phase(case, solution, point, line) for line in point.phases]}


def _phase(case, solution, point, line):
    volts = solution.voltage(point.name, line)
    ratio = None if volts is None else abs(volts) / case.supply.nominal
    return {"name": line, **_voltage(volts), "ratio": ratio, "verdict": verdict_by_band(case, ratio)}


def _run(solution, point):
    names = (*point.phases, "N", "PE")
    return {"feeding": point.name,
            "currents": {c: _current(solution.currents[point.name, c]) if (point.name, c) in solution.currents else None
                         for c in names}}


def _reading(reading):
    return {"point": reading.point, "between": "-".join(reading.between), "loads_on": reading.loads_on,
            "high_impedance": reading.high, "low_impedance": reading.low, "warning": reading.warning}


def _earth(case, solution):
    """Currents through electrodes (into remote earth) and paths (from `from` to `to`)."""
    currents = solution.earth_currents
    return {"electrodes": [{"point": key[1], **_current(i)} for key, i in currents.items() if key[0] == "electrode"],
            "paths": [{"from": path.start, "to": path.end, **_current(currents["path", n])}
                      for n, path in enumerate(case.paths) if ("path", n) in currents]}


def _protection(case, solution):
    """What each line to neutral means to devices: an overvoltage device and its times (s), the ITI curve, surge devices."""
    from lostneutral.consequences.protection import covered, protections

    return [{"point": p.point, "line": p.line, "voltage": p.voltage,
             "overvoltage_device": None if not covered(case) else {
                 "acts": p.device is not None, "earliest": p.device and p.device.earliest,
                 "latest": p.device and p.device.latest, "known": p.device and p.device.known},
             "iti": p.iti, "surge_device": p.surge and {"verdict": p.surge.verdict, "tested_for": p.surge.seconds,
                                                        "outcome": p.surge.outcome, "known": p.surge.known}}
            for p in protections(case, solution)]


def _harm(harm):
    """What becomes of a load: times in s, None where none is this side of an ordinary life."""
    return {"outcome": harm.outcome, "earliest": harm.earliest, "central": harm.central, "latest": harm.latest,
            "confidence": harm.confidence, "part": harm.part, "mode": harm.mode or None, "basis": harm.basis,
            "overvoltage_device": harm.protected or None}


def _load(load, harm=None):
    row = {"name": load.name, "connect": "-".join(load.connect), "on": load.on, **_voltage(load.voltage),
           "current": size(load.current), "current_angle": angle(load.current), "power": load.power,
           "reactive_power": load.reactive_power, "ratio": load.ratio, **load.details}
    row |= {"harm": _harm(harm)} if harm else {}
    row |= {"branches": [_voltage(v) for v in load.branches]} if load.branches else {}
    return row | {"currents": {end: _current(i) for end, i in load.currents.items()}} if load.currents else row


def _voltage(phasor):
    return {"voltage": size(phasor), "angle": angle(phasor)}


def _current(phasor):
    return {"current": size(phasor), "angle": angle(phasor)}


def _finding(finding):
    limit = finding.limit
    return {"severity": finding.severity, "rank": finding.rank.name.lower(), "subject": finding.subject, "message": finding.message,
            "computed": finding.computed, "sure": finding.sure,
            "limit": None if limit is None else {"value": limit.value, "unit": limit.unit, "source": limit.source,
                                                 "known": limit.known}}


def _verdict(v):
    """The one verdict of an item over the whole incident: times in s from the first fault."""
    return {"item": v.item, "outcome": v.outcome, "rank": v.rank.name.lower(), "voltage": v.volts, "ratio": v.ratio,
            "lowest": v.lowest, "highest": v.highest, "earliest": v.earliest, "central": v.central, "latest": v.latest,
            "confidence": v.confidence, "part": v.part, "mode": v.mode or None, "basis": v.basis, "worst": v.worst or None,
            "life_used": v.used, "overvoltage_device": v.protected or None}


def _claim(c):
    at, limit = c.condition, c.yardstick
    return {"kind": c.kind.value, "rank": c.rank.name.lower(), "about": {"what": c.about.what, "name": c.about.name},
            "where": list(c.where), "condition": {"stage": at.stage, "start": at.start, "end": at.end if isfinite(at.end) else None,
                                                  "held": at.held, "possible": at.possible},
            "quantity": c.quantity, "unit": c.unit, "value": c.value, "range": c.span and list(c.span),
            "yardstick": limit and {"value": limit.value, "unit": limit.unit, "edge": limit.edge, "source": limit.source,
                                    "known": limit.known}, "confidence": c.confidence, "because": c.because,
            "unverified": [{"figure": u.key, "value": u.value, "unit": u.unit, "low": u.ends[0], "high": u.ends[1],
                            "answers": list(u.answers), "decides": u.decides} for u in c.unverified]}


def _plain(value):
    """Return `value` with mappings as dicts, sequences as lists, numpy scalars as floats, non-finite numbers as None."""
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(v) for v in value]
    if value is None or isinstance(value, (str, bool)):
        return value
    value = value.item() if hasattr(value, "item") else value
    return value if isinstance(value, bool) or isfinite(value) else None
