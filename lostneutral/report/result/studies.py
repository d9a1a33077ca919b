"""The block of the result file on studies: questions put to the solved case."""

from math import isinf

from lostneutral.report.waveform.file import wave_state_dict


def studies_dict(result):
    """Return every study of `result`; null or an empty list where there is nothing to ask. Voltages in r.m.s. V, of sine waves."""
    return {"joint": result.joint and _joint(result.joint),
            "lamps": [{"load": d.load, "as_lamp": d.as_lamp, "as_resistor": d.as_resistor} for d in result.lamps],
            "sensitivity": result.sensitivity and _sensitivity(result.sensitivity),
            "electrode": result.electrode and _electrode(result.electrode),
            "main_switch": [{"point": o.point, "closed": o.volts, "open": o.left, "others": list(o.others)} for o in result.opened],
            "hinges": result.hinges and _hinges(result.hinges),
            "inlets": [_inlets(other) for other in result.inlets]}


def _joint(sweep):
    return {"feeding": sweep.joint.feeding, "conductor": sweep.joint.conductor, "resistance": sweep.joint.resistance,
            "resistances": ["open" if isinf(r) else r for r in sweep.resistances.tolist()], "currents": sweep.currents.tolist(),
            "heats": sweep.heats.tolist(), "shifts": sweep.shifts.tolist(),
            "phases": [{"name": line, "voltages": volts.tolist()} for line, volts in sweep.phases.items()]}


def _sensitivity(found):
    return {"given": _extremes(found.given),
            "changed": [{"what": "power" if s.load else "supply voltage", "load": s.load or None, "lower": _extremes(s.lower),
                         "higher": _extremes(s.higher)} for s in found.swings]}


def _extremes(pair):
    return pair and {"highest": pair[0], "lowest": pair[1]}


def _electrode(found):
    return {"point": found.point, "resistances": found.ohms.tolist(), "voltages": found.volts.tolist(), "without": found.without,
            "as_if": found.as_if}


def _hinges(found):
    return {"varied": found.varied, "left_out": found.left, "found": [
        {"quantity": h.key, "of": h.of, "unit": h.unit, "given": h.given, "ends": list(h.ends), "changes": [
            {"what": c.what, "name": c.name, "point": c.point, "given": c.given, "low": c.low, "high": c.high} for c in h.changes]}
        for h in found.found]}


def _inlets(other):
    return {"inlet": other.inlet, "capacitor": other.capacitor, "reason": other.reason or None,
            "state": other.state and wave_state_dict(other.state)}
