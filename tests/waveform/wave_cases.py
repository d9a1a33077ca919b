"""Small cases for the waveform tests: three loads in a star at one intake."""

from cmath import rect
from dataclasses import replace
from math import inf, radians

from lostneutral.case.model import Break, Cable, Case, Load, Point, Supply

LINES = ("L1", "L2", "L3")
OPEN = (Break("intake", "N", inf),)
IDEAL = Cable()
CABLE = Cable(0.1 + 0.02j, 0.1 + 0.02j)


def supply(volts=230.0, **changes):
    phasors = {line: rect(volts, radians(-120 * k)) for k, line in enumerate(LINES)}
    return Supply(**{"phasors": phasors, "nominal": volts} | changes)


def case(loads, breaks=OPEN, cable=IDEAL, source=None):
    return Case("test", source or supply(), (Point("intake", cable=cable),), tuple(loads), breaks=tuple(breaks))


def load(kind, connect, name=None, voltage=230.0, count=1, on=True, **parameters):
    ends = tuple(connect.split("-")) if "-" in connect else (connect, "N")
    return Load(name or f"{kind} {connect}", kind, ends, "intake", voltage, count, on, parameters)


def rectifier(line, power, per_watt=3e-6, inlet=1.0, drop=0.0, **more):
    """A bridge with `per_watt` (F/W) and `inlet` (ohm); works_from 90 V, so its cut-off is 127 V d.c."""
    keys = {"front_end": "rectifier", "works_from": 90.0, "capacitance": per_watt * power, "inlet_resistance": inlet,
            "bridge_drop": drop}
    return load("electronic", line, power=power, **keys | more)


def rectifier_star(powers, breaks=OPEN, cable=IDEAL, extra=(), **keys):
    return case([*(rectifier(line, p, **keys) for line, p in zip(LINES, powers)), *extra], breaks, cable)


def with_breaks(made, *breaks):
    return replace(made, breaks=breaks)
