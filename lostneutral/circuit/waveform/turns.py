"""One turn of waveforms that do not settle, supplies going off and coming back: extremes, r.m.s., what restarts bring."""

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.waveform.steady import Repeating
from lostneutral.circuit.wiring import pairs


def turn_figures(case: Case, turn: Repeating, traces) -> dict | None:
    """Return what `circuit.cycle.Cycle.figures` has, of a turn of waveforms with `traces`; None where it settles.

    "lowest" and "highest" of loads and lines are r.m.s. over one cycle of the supply, of "links" instantaneous (V d.c.).
    """
    if turn.ends != "cycle":
        return None
    number = np.minimum((turn.times / turn.net.period).astype(int), round(turn.duration / turn.net.period) - 1)
    lines = {f"{point} {line}": volts for (what, point, line), volts in _of(traces, "volts", 3)}
    loads = {}
    for load in case.loads:
        ends = [[_at(traces, load.point, conductor) for conductor in pair] for pair in pairs(load.connect)]
        across = [a - b for a, b in ends if a is not None and b is not None]
        if across:
            loads[load.name] = max(across, key=lambda u: turn.mean(u**2))
    swings = {"loads": {n: _swing(turn, number, u) for n, u in loads.items()},
              "lines": {n: _swing(turn, number, u) for n, u in lines.items()}, "neutrals": {}, "metalwork": {}}
    swings["links"] = {name: {"lowest": float(v.min()), "highest": float(v.max()), "rms": float(np.sqrt(turn.mean(v**2)))}
                       for (_, name), v in _of(traces, "link", 2)}
    begins = [t for t, _ in turn.restarts]
    restarts = []
    for (time, bridge), until in zip(turn.restarts, [*begins[1:], turn.duration]):
        first, last = int(time / turn.net.period), max(int(until / turn.net.period), int(time / turn.net.period) + 1)
        met = {name: float(_each(turn, number, u)[first:last].max()) for name, u in loads.items()}
        restarts.append({"time": float(time), "load": case.loads[turn.net.ports[turn.net.bridge_port[bridge]].load].name, "met": met})
    return {"period": turn.duration, **swings, "restarts": restarts}


def _of(traces, what, length):
    return [(key, values) for key, values in traces.items() if key[0] == what and len(key) == length]


def _at(traces, point, conductor):
    """The voltage of a conductor to the neutral there; None where it is not known."""
    if conductor == "N":
        return 0.0
    return traces.get(("volts", point, conductor))


def _each(turn, number, volts):
    """The r.m.s. value of each cycle of the supply (V)."""
    return np.sqrt(np.bincount(number, turn.weights * volts**2) / np.bincount(number, turn.weights))


def _swing(turn, number, volts):
    """Lowest and highest r.m.s. over a cycle of the supply, and r.m.s. of the whole turn (V)."""
    each = _each(turn, number, volts)
    return {"lowest": float(each.min()), "highest": float(each.max()), "rms": float(np.sqrt(turn.mean(volts**2)))}
