"""Figures of loads that draw pulses: the neutral they fill, the power behind bridges on each line, the rule of their star."""

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.consequences.limits import Yardstick
from lostneutral.consequences.upstream import beyond

CUT, OVER, RUNS = "at its cut-off", "above its rating", "runs"
NOTICED = 0.025  #: of what it reads: how far a meter may be off without being called deceiving
DERIVED = "derived by arithmetic"


def opened(case: Case) -> bool:
    """Return whether a neutral is open or bad."""
    return any(b.conductor == "N" for b in case.breaks_after())


def neutrals(state):
    """Yield (point fed, `Wave` of the neutral, A of the largest line) of every run of a `WaveState` that has both.

    A run whose lines carry nothing is left out: what is in its neutral comes from elsewhere, on its way to an electrode.
    """
    for (feeding, conductor), wave in state.currents.items():
        lines = [w.rms for (run, c), w in state.currents.items() if run == feeding and c.startswith("L") and w]
        if conductor == "N" and wave is not None and any(lines):
            yield feeding, wave, max(lines)


def concerned(case: Case) -> frozenset:
    """Return the names of the points beyond a neutral that is open or bad, of all points where there is none."""
    broken = [b.feeding for b in case.breaks_after() if b.conductor == "N"] or [p.name for p in case.points]
    return frozenset().union(*(beyond(case, case.point(name)) for name in broken))


def line_powers(case: Case) -> dict:
    """Return {line: W behind bridges between it and neutral} of the loads that are on at the points `concerned`."""
    powers = dict.fromkeys(case.supply.lines, 0.0)
    for load, bridge in in_the_star(case):
        powers[next(c for c in load.connect if c != "N")] += bridge.power
    return powers


def link_verdict(load, rating: float, link: tuple) -> str:
    """Return CUT, OVER or RUNS for a rectifier load by its `link` (mean, lowest, highest) and its capacitor's `rating`, V d.c."""
    return CUT if link[1] <= bridge_of(load).cut_off else OVER if link[2] > rating else RUNS


def in_the_star(case):
    """Return (load, bridge) of every rectifier that is on between a line and N at the points `concerned`."""
    places = concerned(case)
    found = ((load, bridge_of(load)) for load in case.loads
             if load.on and load.point in places and len(load.connect) == 2 and "N" in load.connect)
    return [(load, bridge) for load, bridge in found if bridge and set(load.connect) & set(case.supply.lines)]


def pair_currents(powers):
    """Return the mean currents of the pairs 1-2, 2-3, 3-1 times U/2 (W) that a held star of `powers` (W) needs.

    Half the sum of two powers less the third; negative where the star cannot hold.

    >>> print(pair_currents([100.0, 50.0, 55.0]), pair_currents([50.0, 60.0, 200.0]))
    [47.5  2.5 52.5] [-45. 105.  95.]
    """
    a, b, c = np.asarray(powers, float)
    return np.array([a + b - c, b + c - a, c + a - b]) / 2


def star_rule(case):
    """Return (line, W behind bridges on it, `Yardstick`) of the rule of a star without neutral; three None without one.

    Voltages stay near normal only while no line has more rectifier power than the other two together.
    """
    powers = line_powers(case)
    line = max(powers, key=powers.get)
    rest = sum(powers.values()) - powers[line]
    if len(powers) != 3 or not rest:
        return None, None, None  # no star of three lines
    return line, powers[line], Yardstick(
        rest, "W", "charge balance of a star of rectifiers without neutral: beyond it voltages collapse; within it they "
        "may still", DERIVED, "high" if powers[line] > rest else "reference")
