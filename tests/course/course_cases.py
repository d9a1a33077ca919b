"""Small cases for the tests of courses: loads at one intake, events, and the star point by the node-voltage formula."""

from cmath import rect
from math import inf, radians

import numpy as np

from lostneutral.case.model import Break, Case, Event, Load, Point, Supply
from lostneutral.circuit.network import network
from lostneutral.circuit.wiring import wiring

LINES = ("L1", "L2", "L3")
OPEN = Break("intake", "N", inf)


def supply(turn=-120.0, volts=230.0):
    """Return an ideal three-phase supply; `turn` of +120 is its mirror image."""
    return Supply({line: rect(volts, radians(k * turn)) for k, line in enumerate(LINES)}, nominal=volts)


def load(kind, line, power, name=None, on=True, **parameters):
    """Return a load of `power` (W) at 230 V from `line` to neutral, or between two lines ("L1-L2")."""
    ends = tuple(line.split("-")) if "-" in line else (line, "N")
    return Load(name or f"{kind} {line}", kind, ends, "intake", 230.0, 1, on, {"power": float(power)} | parameters)


def driver(line, power, **parameters):
    """Return an electronic load that takes constant power with a sinusoidal current."""
    return load("electronic", line, power, front_end="corrected", **parameters)


def star(loads, events=(), breaks=None, source=None, **changes):
    """Return the case of `loads` at one ideal intake; the neutral opens at time 0 unless events say otherwise."""
    broken = (OPEN,) if breaks is None and not events else breaks or ()
    return Case("test", source or supply(), (Point("intake"),), tuple(loads), breaks=tuple(broken), events=tuple(events),
                **changes)


def broken_network(case):
    """Return the network with every break in force."""
    return network(wiring(case, case.breaks_after()))


def by_hand(sources, admittances):
    """Return the voltages (V r.m.s.) across loads of `admittances` (S) from `sources` (V) to a free star point."""
    neutral = sum(y * v for y, v in zip(admittances, sources)) / sum(admittances)
    return np.abs(np.array(sources) - neutral)


def at(time, **change):
    """Return an event: `at(3.0, load="Lamp", on=True)` or `at(3.0, ohms=inf)` of the intake's neutral."""
    if "ohms" in change:
        return Event(time, Break("intake", "N", change["ohms"]))
    return Event(time, **change)
