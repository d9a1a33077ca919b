"""Exercises on two loads that a lost neutral leaves in series."""

from math import inf, sqrt

from lostneutral.teaching.exercises.task import (
    FIXED,
    Answer,
    Exercise,
    Unclear,
    as_printed,
    held,
    rated_ohms,
    rounded_off,
    solved,
    solved_amps,
    solved_volts,
    star_case,
)

POWERS = (25, 40, 50, 60, 75, 100, 120, 150, 160, 200, 240, 250, 300, 400, 500, 600, 750, 800, 900, 1000, 1200, 1500, 1800,
          2000, 2400, 3000)
RESISTANCES = (10, 12, 15, 16, 18, 20, 24, 25, 30, 36, 40, 45, 48, 50, 60, 64, 72, 75, 80, 90, 96, 100, 120, 144, 150, 160, 180,
               200, 240, 250, 300, 320, 360, 400, 450, 480, 600, 900)
LINE_TO_LINE = (200, 220, 240, 380, 400, 415, 440)
LEGS = (100, 110, 115, 120, 125, 127)


def _trap(high):
    return (f"Common mistake: giving the larger load the higher voltage ({high} V). In series, the higher "
            "voltage is across the "
            "higher resistance.")


def series(random, pick=None):
    """Two loads of given rated power left on two lines."""
    u, p1, p2 = pick or (int(random.choice(LINE_TO_LINE)), *map(int, random.choice(POWERS, 2, replace=False)))
    total, first = p1 + p2, u * p2 / (p1 + p2)
    if first % 1 or p1 == p2:
        raise Unclear
    case = star_case(u / sqrt(3), {"L1": rated_ohms(p1, u / sqrt(3)), "L2": rated_ohms(p2, u / sqrt(3))}, inf)
    after = solved(case)[1]
    answers = (Answer("voltage across load 1", rounded_off(first), "V"), Answer("voltage across load 2", rounded_off(u - first), "V"))
    return Exercise(
        "two loads in series across two lines", 1,
        "The neutral of a three-phase supply is lost. Two loads of the same rated voltage are on: load 1 on L1, "
        "load 2 on L2. "
        f"The voltage between the lines is {u} V. What is the voltage across each load? {FIXED}",
        (("load 1, L1 to N", f"{p1} W"), ("load 2, L2 to N", f"{p2} W"), ("L1 to L2", f"{u} V")),
        held(answers, (solved_volts(after, "L1"), solved_volts(after, "L2"))),
        (f"Without a neutral the two loads are in series across L1 and L2: {u} V.",
         ("At the same rated voltage the resistance is inversely proportional to the power, so the voltages "
          "divide in inverse proportion to the powers."),
         f"Load 1: {u} V × {p2} / ({p1} + {p2}) = {u} × {p2} / {total} = {as_printed(first)} V.",
         f"Load 2: {u} V × {p1} / {total} = {as_printed(u - first)} V.",
         f"Check: {as_printed(first)} V + {as_printed(u - first)} V = {u} V."),
        _trap(as_printed(max(first, u - first))), case=case)


def series_ohms(random, pick=None):
    """Two resistances left on two lines, with the current."""
    u, r1, r2 = pick or (int(random.choice(LINE_TO_LINE)), *map(int, random.choice(RESISTANCES, 2, replace=False)))
    i = u / (r1 + r2)
    if (i * 100) % 1 > 1e-9 or not 0.05 <= i <= 30 or (i * r1) % 1 > 1e-9:
        raise Unclear
    places = 0 if not i % 1 else 1 if not (10 * i) % 1 else 2
    case = star_case(u / sqrt(3), {"L1": r1, "L2": r2}, inf)
    after = solved(case)[1]
    answers = (Answer("current", rounded_off(i, places), "A", places), Answer("voltage across load 1", rounded_off(i * r1), "V"),
               Answer("voltage across load 2", rounded_off(i * r2), "V"))
    return Exercise(
        "two loads in series across two lines", 1,
        "A broken neutral leaves two resistances in series between L1 and L2. The voltage between the lines is "
        f"{u} V. Find the current and the voltage "
        f"across each. {FIXED}",
        (("load 1", f"{r1} Ω"), ("load 2", f"{r2} Ω"), ("L1 to L2", f"{u} V")),
        held(answers, (solved_amps(after, "L1"), solved_volts(after, "L1"), solved_volts(after, "L2"))),
        (f"In series: {r1} Ω + {r2} Ω = {r1 + r2} Ω.", f"Current: {u} V / {r1 + r2} Ω = {as_printed(i, places)} A.",
         f"Load 1: {as_printed(i, places)} A × {r1} Ω = {as_printed(i * r1)} V.",
         f"Load 2: {as_printed(i, places)} A × {r2} Ω = {as_printed(i * r2)} V.",
         f"Check: {as_printed(i * r1)} V + {as_printed(i * r2)} V = {u} V."),
        _trap(as_printed(i * max(r1, r2))), case=case)


def split_phase(random, pick=None):
    """Three-wire single-phase supply with its neutral lost."""
    leg, p1, p2 = pick or (int(random.choice(LEGS)), *map(int, random.choice(POWERS, 2, replace=False)))
    u, first = 2 * leg, 2 * leg * p2 / (p1 + p2)
    before = abs(p1 - p2) / leg
    if p1 == p2:
        raise Unclear
    case = star_case(leg, {"L1": rated_ohms(p1, leg), "L2": rated_ohms(p2, leg)}, inf, "split-phase")
    sound, after = solved(case)
    answers = (Answer(("neutral current "
                       "before"), rounded_off(before, 1), "A", 1), Answer("voltage of load 1 after", rounded_off(first), "V"),
               Answer("voltage of load 2 after", rounded_off(u - first), "V"))
    return Exercise(
        "split-phase with the neutral lost", 2,
        f"A three-wire single-phase supply of {leg}/{u} V has load 1 between L1 and N, load 2 between L2 and N. "
        "What current "
        "does the neutral carry while it is sound (to 0.1 A)? It then breaks: what is the voltage across each "
        "load, to the nearest "
        f"volt? {FIXED}",
        (("load 1", f"{p1} W at {leg} V"), ("load 2", f"{p2} W at {leg} V"), ("L1 to L2", f"{u} V")),
        held(answers, (solved_amps(sound, "N"), solved_volts(after, "L1"), solved_volts(after, "L2"))),
        ((f"Sound: {p1} W / {leg} V = {as_printed(p1 / leg, 2)} A and {p2} W / {leg} V = {as_printed(p2 / leg, 2)} A, "
          "opposed in the "
         f"neutral: {as_printed(before, 1)} A."),
         f"Broken: both are in series across {u} V; the voltages divide in inverse proportion to the powers.",
         f"Load 1: {u} V × {p2} / {p1 + p2} = {as_printed(first)} V.",
         f"Load 2: {u} V × {p1} / {p1 + p2} = {as_printed(u - first)} V.",
         f"Check: the two add up to {u} V; a load between L1 and L2 would not be affected."),
        _trap(as_printed(max(first, u - first))), case=case)


def growing(random, pick=None):
    """Equal loads in parallel on two lines, more and more of them on one."""
    u, r, n1, n2 = pick or (int(random.choice(LINE_TO_LINE)), int(random.choice((100, 120, 150, 200, 220, 240, 300, 400))),
                            *map(int, random.choice(range(1, 9), 2, replace=False)))
    first = u * n2 / (n1 + n2)
    case = star_case(u / sqrt(3), {"L1": r / n1, "L2": r / n2}, inf)
    after = solved(case)[1]
    answers = (Answer("voltage across each on L1", rounded_off(first), "V"),
               Answer("voltage across each on L2", rounded_off(u - first), "V"))
    if n1 == n2:
        raise Unclear
    return Exercise(
        "two loads in series across two lines", 2,
        f"{n1} lamps of {r} Ω are in parallel on L1 and {n2} such lamps on L2 when the neutral is lost. The "
        "voltage between the lines "
        f"is {u} V. What is the voltage across each lamp, to the nearest volt? {FIXED}",
        (("each lamp", f"{r} Ω"), ("on L1", f"{n1}"), ("on L2", f"{n2}"), ("L1 to L2", f"{u} V")),
        held(answers, (solved_volts(after, "L1"), solved_volts(after, "L2"))),
        ((f"In parallel on L1: {r} Ω / {n1} = {as_printed(r / n1, 1)} Ω; on L2: {r} Ω / {n2} = {as_printed(r / n2, 1)} Ω; "
          f"both in series across {u} V."),
         "The value of one lamp cancels: the voltages divide in inverse proportion to the numbers.",
         (f"On L1: {u} V × {n2} / {n1 + n2} = {as_printed(first)} "
          "V."), f"On L2: {u} V × {n1} / {n1 + n2} = {as_printed(u - first)} V.",
         f"Check: {as_printed(first)} V + {as_printed(u - first)} V = {u} V."),
        "Common mistake: giving the side with more lamps more voltage. More lamps in parallel have less resistance.",
        case=case)
