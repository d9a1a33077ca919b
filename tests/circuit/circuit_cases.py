"""Small cases for the circuit's tests: a star of loads at one intake, and how to read it."""

from cmath import phase, rect
from math import inf, pi, radians

from lostneutral.case.model import Break, Case, Load, Point, Supply
from lostneutral.circuit.states import before_and_after

LINES = ("L1", "L2", "L3")
OPEN_NEUTRAL = (Break("intake", "N", inf),)


def polar(size, degrees):
    """Return the phasor of `size` at an angle in degrees."""
    return rect(size, radians(degrees))


def supply(volts=230.0, rotation="abc", at=0.0, **changes):
    """Return a three-phase supply of `volts` line to neutral, L1 at `at` degrees."""
    turn = {"abc": -120.0, "acb": 120.0}[rotation]
    phasors = {line: polar(volts, at + k * turn) for k, line in enumerate(LINES)}
    return Supply(**{"phasors": phasors, "nominal": volts} | changes)


def split_phase(volts=120.0, **changes):
    """Return a single-phase three-wire supply of `volts` each side of its middle."""
    phasors = {"L1": complex(volts), "L2": complex(-volts)}
    return Supply(**{"phasors": phasors, "system": "split-phase", "nominal": volts, "frequency": 60.0} | changes)


def watts(power, rated, line, **more):
    """Return a resistive load from its nameplate, line to neutral."""
    return load("resistive", line, rated, power=power, **more)


def ohms(z, line, **more):
    """Return a load of fixed impedance `z` (ohm), line to neutral."""
    return load("impedance", line, 230.0, resistance=z.real, reactance=z.imag, **more)


def load(kind, connect, rated=230.0, name=None, point="intake", count=1, on=True, **parameters):
    """Return a load; `connect` is "L1" (to neutral) or "L1-L2" and the like."""
    ends = tuple(connect.split("-")) if "-" in connect else (connect, "N")
    return Load(name or "-".join(ends), kind, ends, point, rated, count, on, {k: float(v) for k, v in parameters.items()})


def one_point(source, loads, breaks=OPEN_NEUTRAL, **point):
    """Return the case of `loads` at one intake, by default with an open neutral."""
    intake = Point("intake", **{"phases": source.lines} | point)
    return Case("test", source, (intake,), tuple(loads), breaks=tuple(breaks))


def star(source, impedances, neutral=inf):
    """Return the case of one impedance (ohm) a line; None is a load switched off; `neutral` (ohm) is the bad joint."""
    loads = [ohms(z, line) if z is not None else ohms(1.0, line, on=False)
             for line, z in zip(source.lines, impedances)]
    return one_point(source, loads, [Break("intake", "N", neutral)])


def after(case):
    """Return the settled state that the circuit arrives at after the break."""
    return before_and_after(case)[1].reached


def before(case):
    """Return the settled state with everything sound."""
    return before_and_after(case)[0].reached


def load_voltages(solution):
    """Return the complex voltages of all loads."""
    return [x.voltage for x in solution.loads]


def sizes(solution):
    """Return the r.m.s. voltages of all loads."""
    return [abs(x.voltage) for x in solution.loads]


def angle(z):
    """Return the angle of `z` in degrees."""
    return 180 / pi * (0.0 if z == 0 else phase(z))
