"""Exercises that work back: phase sequence from two lamps and a capacitor, and the fault behind some readings."""

from cmath import exp, pi
from math import inf, sqrt

from lostneutral.teaching.exercises.pairs import RESISTANCES
from lostneutral.teaching.exercises.stars import SUPPLIES
from lostneutral.teaching.exercises.task import (
    FIXED,
    Answer,
    Exercise,
    Unclear,
    figure,
    held,
    rounded,
    solved,
    star,
    volts,
)

LINES = ("L1", "L2", "L3")


def sequence(random, pick=None):
    """Two equal lamps and a capacitor of the same ohms in star, no neutral: the brighter lamp follows the capacitor."""
    u, r, at, forward = pick or (int(random.choice(SUPPLIES)), int(random.choice([x for x in RESISTANCES if x >= 100])),
                                 int(random.integers(3)), bool(random.integers(2)))
    lamps = [n for n in range(3) if n != at]
    turn = {n: exp(-2j * pi * n / 3 * (1 if forward else -1)) * u for n in range(3)}
    y = {n: 1 / r for n in lamps} | {at: 1j / r}
    star_point = sum(turn[n] * y[n] for n in range(3)) / sum(y.values())
    size = {n: abs(turn[n] - star_point) for n in lamps}
    bright, dim = sorted(lamps, key=lambda n: -size[n])
    order = "-".join((LINES[at], LINES[bright], LINES[dim]))
    # The solver's supply goes L1-L2-L3; a supply the other way round is the same with its lines renamed.
    places = {n: (n if forward else (-n) % 3) for n in range(3)}
    case = star(u, {LINES[places[n]]: (r if n in lamps else complex(0, -r)) for n in range(3)}, inf)
    after = solved(case)[1]
    answers = (Answer("voltage of the brighter lamp", rounded(size[bright]), "V"),
               Answer("voltage of the dimmer lamp", rounded(size[dim]), "V"), Answer("sequence", order))
    return Exercise(
        "phase sequence from two lamps and a capacitor", 3,
        f"Two equal lamps of {r} Ω and a capacitor of {r} Ω at the supply's frequency stand in star, star point not connected, on a "
        f"supply of {u} V to neutral. The capacitor is on {LINES[at]}; the lamp on {LINES[bright]} is bright, that on {LINES[dim]} dim. "
        f"What voltages do they get, to the nearest volt, and in which sequence do the lines follow? {FIXED}",
        (("capacitor", f"{r} Ω, on {LINES[at]}"), ("lamps", f"{r} Ω each"), ("supply", f"{u} V to neutral")),
        held(answers, (volts(after, LINES[places[bright]]), volts(after, LINES[places[dim]]), 0)),
        (f"Take the capacitor's line as 0°. Millman: shift = {u} V × (j + 1∠−120° + 1∠120°) / (2 + j) = {u} V × (−1 + j) / (2 + j).",
         f"That is {u} V × (−0.2 + 0.6j).",
         (f"To the line at −120°: {u} V × |−0.3 − 1.466j| = {figure(1.4964 * u)} V. To the line at 120°: {u} V × |−0.3 + 0.266j| = "
         f"{figure(0.4010 * u)} V."),
         "So the lamp on the line that follows the capacitor's (120° behind it) is the bright one.",
         f"Sequence: {order}.", "Check: capacitor, bright, dim, in the order in which they come."),
        "Common mistake: taking the bright lamp for the first line.", case=case,
        data={"u": u, "r": r, "capacitor": LINES[at], "bright": LINES[bright]})


FAULTS = ("neutral open", "one line open, neutral sound", "line and neutral exchanged", "nothing broken")


def find_fault(random, pick=None):
    """Readings at a board with three resistances: what is broken?"""
    if pick is None:
        ohm = [int(x) for x in random.choice([x for x in RESISTANCES if x >= 20], 3, replace=False)]
        pick = (int(random.choice(SUPPLIES)), *ohm, int(random.integers(4)), int(random.integers(3)))
    u, *ohm, fault, which = pick
    loads, line = dict(zip(LINES, ohm)), LINES[which]
    case = star(u, loads, inf if fault == 0 else None, breaks=(line,) if fault == 1 else (),
                crosses=((line, "N"),) if fault == 2 else ())
    after = solved(case)[1]
    pairs = [(a, "N") for a in LINES] + [("L1", "L2"), ("L2", "L3"), ("L3", "L1")]
    read = [round(volts(after, *pair)) for pair in pairs]
    if fault == 0 and max(read[:3]) - min(read[:3]) < 0.2 * u:
        raise Unclear
    words = ("the neutral is open", f"{line} is open, the neutral sound", f"{line} and neutral are exchanged", "nothing is broken")[fault]
    flat = round(u * sqrt(3))
    why = {
        0: (f"Between lines all is as usual ({flat} V), so no line is open.",
            "Line to neutral one is high and another low: the star point has moved.",
            f"The highest stands where the resistance is highest, {max(ohm)} Ω: loads in star without neutral."),
        1: (f"{line} to N reads 0 V and two of the readings between lines fall to {u} V: {line} only hangs on its own load.",
            "The two other lines have their usual voltage to neutral: the neutral holds."),
        2: (f"Two lines read {flat} V to what is called N and {line} still {u} V: the conductor called N is a line, and {line} the neutral.",
            f"Between lines, {line} to the others reads only {u} V."),
        3: (f"All lines read {u} V to neutral and {flat} V between them, loads on.", "Unequal loads would have moved a star point that hung free."),
    }[fault]
    return Exercise(
        "find the fault from readings", 2,
        f"At a board with three resistances between the lines and N a meter reads as below, with the loads on. The supply is {u} V to "
        "neutral. What is broken: the neutral, a line (which?), are a line and the neutral exchanged (which?), or nothing?",
        (*((f"load {a}-N", f"{z} Ω") for a, z in loads.items()),
         *((f"{a}-{b} reads", f"{v} V") for (a, b), v in zip(pairs, read))),
        (Answer("fault", words),), (*why, f"So: {words}.", "Check: the readings worked out for that fault are those above."),
        "Common mistake: calling a board sound because one line reads as usual.", case=case,
        data={"u": u, "ohms": tuple(ohm), "read": tuple(read), "fault": fault, "line": line})
