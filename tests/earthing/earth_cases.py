"""Small earthing networks, made in code."""

import cmath
from math import pi

from lostneutral.case.model import Break, Cable, Case, Load, Path, Point, Supply
from lostneutral.circuit.states import before_and_after

A = cmath.exp(-2j * pi / 3)
LINES = {"L1": 230 + 0j, "L2": 230 * A, "L3": 230 * A * A}
EARTH = ("earth", "")
OPEN_PEN = (Break("intake", "N"),)


def supply(earthing="TN-C-S", electrode=2.0, lines=None, **keys):
    return Supply(lines or LINES, earthing=earthing, electrode=electrode, **keys)


def resistor(name, ohms, point="intake", line="L1", **keys):
    return Load(name, "impedance", (line, "N"), point, 230.0, parameters={"resistance": ohms}, **keys)


def single(earthing="TN-C-S", own=20.0, source=2.0, ohms=23.0, breaks=OPEN_PEN, **keys):
    """One premises with one load on L1."""
    kinds = (Point("intake", electrode=own),)
    return Case("single", supply(earthing, source), kinds, (resistor("load", ohms),), breaks=breaks, **keys)


def sharing_a_pipe(pipe=0.5, own=20.0, load=23.0):
    """Two premises on one joint: the first has lost its PEN, a pipe joins the earth terminals of both."""
    points = (Point("joint", "joint", cable=Cable(0j, 0j)), Point("a", "intake", "joint", electrode=own),
              Point("b", "intake", "joint", Cable(0.1 + 0j, 0.1 + 0j)))
    return Case("pipe", supply(electrode=2.0), points, (resistor("load", load, "a"),), breaks=(Break("a", "N"),),
                paths=(Path("a", "b", pipe),))


def street(count=6, own=40.0, broken=3, on=None, service=0.03, loads=None):
    """Premises along a main, lines in turn, a linear load in each (`on`: which of them)."""
    points, made, before = [], [], "supply"
    for k in range(count):
        line = f"L{k % 3 + 1}"
        points += [Point(f"joint {k}", "joint", before, Cable(0.02 + 0.01j, 0.03 + 0.01j)),
                   Point(f"home {k}", "intake", f"joint {k}", Cable(service + 0j, service + 0j), own, (line,))]
        made.append(resistor(f"load {k}", (loads or [40.0, 25.0, 90.0, 33.0])[k % 4], f"home {k}", line,
                             on=on is None or k in on))
        before = f"joint {k}"
    return Case("street", supply(line_impedance=0.01 + 0.02j), tuple(points), tuple(made),
                breaks=(Break(f"joint {broken}", "N"),))


def after(case):
    return before_and_after(case)[1].reached


def touch(case, point="intake"):
    return abs(after(case).between((point, "PE"), EARTH))
