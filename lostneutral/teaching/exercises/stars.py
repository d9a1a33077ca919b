"""Exercises on three lines: neutral current, the lost neutral, a line open, a load shorted, a high-resistance joint."""

from math import acos, atan2, cos, degrees, hypot, inf, sin, sqrt

from lostneutral.teaching.exercises.pairs import POWERS, RESISTANCES
from lostneutral.teaching.exercises.task import (
    FIXED,
    Answer,
    Exercise,
    Unclear,
    as_printed,
    held,
    rounded_off,
    solved,
    solved_amps,
    solved_volts,
    star_case,
)

SUPPLIES = (110, 115, 120, 127, 200, 220, 230, 240)  #: V line to neutral
FACTORS = (1.0, 0.9, 0.866, 0.8, 0.707, 0.6)
SIDES = {"lag": 1, "lead": -1}


def neutral_current_exercise(random, pick=None):
    """Three resistive currents whose phasor sum is a whole number."""
    a, b, c = pick or map(int, random.integers(2, 61, 3))
    square = a * a + b * b + c * c - a * b - b * c - c * a
    root = round(sqrt(square))
    if root * root != square or root == 0:
        raise Unclear
    case = star_case(230, {"L1": 230 / a, "L2": 230 / b, "L3": 230 / c})
    answers = (Answer("neutral current", rounded_off(root), "A"),)
    least = min(a, b, c)
    over = [x - least for x in (a, b, c)]
    if sorted(over)[1] == 0:
        steps = (f"Take away {least} A from each line: equal currents cancel in the neutral.",
                 f"Left is one line alone with {max(over)} A: I_N = {max(over)} A.")
    else:
        x, y = sorted(over)[1:]
        steps = (f"Take away {least} A from each line: equal currents cancel in the neutral.",
                 f"Left are {x} A and {y} A, 120° apart. Parallelogram: I_N² = {x}² + {y}² − {x} × {y} = {square}.",
                 f"I_N = √{square} = {root} A.")
    return Exercise(
        "neutral current of unbalanced loads", 1 if sorted(over)[1] == 0 else 2,
        "Three resistive loads draw the currents below from a four-wire supply. What current does the neutral carry?",
        (("L1", f"{a} A"), ("L2", f"{b} A"), ("L3", f"{c} A")), held(answers, (solved_amps(solved(case)[0], "N"),)),
        (*steps, (f"Check: from the currents as they are, {a}² + {b}² + {c}² − {a}×{b} − {b}×{c} − {c}×{a} = "
                  f"{square}, root {root}.")),
        f"Common mistake: adding the currents as numbers gives {a + b + c} A.", case=case)


def neutral_current_lagging(random, pick=None):
    """Three currents of different power factor."""
    if pick is None:
        pick = [(int(random.integers(5, 61)), float(random.choice(FACTORS)), str(random.choice(list(SIDES)))) for _ in range(3)]
    parts, rows, lines = [], [], ("L1", "L2", "L3")
    for n, (size, factor, side) in enumerate(pick):
        turn = -n * 120 - SIDES[side] * degrees(acos(factor))
        x, y = size * cos(turn * 3.141592653589793 / 180), size * sin(turn * 3.141592653589793 / 180)
        parts.append((x, y))
        rows.append((lines[n], f"{size} A, power factor {factor:g}{'' if factor == 1 else ' ' + side}"))
    x, y = (sum(p[k] for p in parts) for k in (0, 1))
    size = hypot(x, y)
    if size < 1:
        raise Unclear
    loads = {}
    for line, (amount, factor, side) in zip(lines, pick):
        z = 230 / amount
        loads[line] = complex(z * factor, SIDES[side] * z * sqrt(1 - factor**2))
    case = star_case(230, loads)
    answers = (Answer("neutral current", rounded_off(size, 1), "A", 1),)
    return Exercise(
        "neutral current of unbalanced loads", 3,
        "Three loads draw the currents below from a balanced four-wire supply with the sequence L1-L2-L3. Find "
        "the neutral "
        "current, to 0.1 A, by components.",
        tuple(rows), held(answers, (solved_amps(solved(case)[0], "N"),)),
        (("Voltages at 0°, −120°, 120°; a lagging current is behind its voltage by the angle whose cosine is the "
          "power factor."),
         *((f"{line}: in phase with L1 {as_printed(px, 2)} A, in quadrature {as_printed(py, 2)} "
            "A.") for line, (px, py) in zip(lines, parts)),
         f"Sum: {as_printed(x, 2)} A and {as_printed(y, 2)} A.",
         (f"I_N = √({as_printed(abs(x), 2)}² + {as_printed(abs(y), 2)}²) = {as_printed(size, 1)} A, at "
          f"{as_printed(degrees(atan2(y, x)))}°."),
         "Check by drawing the three head to tail, to scale: the closing side is the neutral current."),
        (f"Common mistake: adding the sizes gives {sum(p[0] for p in pick)} "
         "A."), case=case)


def three_unequal(random, pick=None):
    """Three loads of unequal rated power on a star without neutral."""
    u, *p = pick or (int(random.choice(SUPPLIES)), *map(int, random.choice(POWERS, 3, replace=False)))
    a, b, c = p
    return _unequal(
        u, [w / u**2 for w in p], [f"{w} W at {u} V" for w in p],
        (("proportional to the "
          "power"), f"({a} − ({b} + {c}) / 2) / {sum(p)}", f"({c} − {b}) / {sum(p)}", f"these × power / ({u} V)²"))


def three_unequal_ohms(random, pick=None):
    """Three unequal resistances on a star without neutral."""
    u, *r = pick or (int(random.choice(SUPPLIES)), *map(int, random.choice(RESISTANCES, 3, replace=False)))
    a, b, c = r
    total = f"(1/{a} + 1/{b} + 1/{c})"
    return _unequal(
        u, [1 / x for x in r], [f"{x} Ω" for x in r],
        ("1 / resistance", (f"(1/{a} − (1/{b} + 1/{c}) / 2) / "
                            f"{total}"), f"(1/{c} − 1/{b}) / {total}", "these / resistance"))


def _unequal(u, g, named, said):
    """Three conductances `g` (S) on a star without neutral, by Millman with components; `said`: its terms in words."""
    if max(g) > 10 * min(g):
        raise Unclear
    total, lines = sum(g), ("L1", "L2", "L3")
    shift = complex(g[0] - (g[1] + g[2]) / 2, sqrt(0.75) * (g[2] - g[1])) * u / total
    across = [u * corner - shift for corner in (1, complex(-0.5, -sqrt(0.75)), complex(-0.5, sqrt(0.75)))]
    rounded_off(shift.imag, 1, printed=shift.imag * 0.866 / sqrt(0.75))
    shown = [complex(round(v.real, 1), round(v.imag, 1)) for v in (shift, *across)]
    amount = [v * y for v, y in zip(across, g)]
    case = star_case(u, dict(zip(lines, (1 / y for y in g))), inf)
    after = solved(case)[1]
    size, *sizes = (rounded_off(abs(v), printed=abs(w)) for v, w in zip((shift, *across), shown))
    answers = (Answer(("displacement of the star "
                       "point"), size, "V"), *(Answer(f"voltage on {n}", v, "V") for n, v in zip(lines, sizes)))
    weight, along, side, currents = said
    parts = lambda v, places: f"({as_printed(v.real, places)}, {as_printed(v.imag, places)})"
    root = lambda v: f"√({as_printed(abs(v.real), 1)}² + {as_printed(abs(v.imag), 1)}²)"
    listed = lambda values, places, unit: "; ".join(f"{n} {parts(v, places)} {unit}" for n, v in zip(lines, values))
    bright = lines[sizes.index(max(sizes))]
    return Exercise(
        "three unequal loads without neutral", 3,
        "Three loads are connected in star, sequence L1-L2-L3, when the neutral is lost. Find the displacement "
        "of the star point and the voltage "
        f"across each load, to the nearest volt. {FIXED}",
        (("supply", f"{u} V to neutral"), *zip(lines, named)),
        held(answers, (abs(after.nodes["board", "N"]), *(solved_volts(after, line) for line in lines))),
        (f"Millman: the star point is the mean of the three line voltages, weighted by conductance ({weight}).",
         f"In phase with L1: {u} V × {along} = {as_printed(shift.real, 1)} V.",
         f"In quadrature: {u} V × 0.866 × {side} = {as_printed(shift.imag, 1)} V.",
         f"Displacement: {root(shown[0])} = {as_printed(size)} V.",
         f"From the star point to the lines, (in phase, in quadrature): {listed(across, 1, 'V')}.",
         f"Currents, {currents}: {listed(amount, 2, 'A')}.",
         *(f"Voltage on {n}: {root(w)} = {as_printed(v)} V." for n, w, v in zip(lines, shown[1:], sizes)),
         ("Check: the currents sum to zero, in phase and in quadrature, but for rounding; the highest voltage "
          f"is on {bright}, on the "
         f"smallest load.")),
        (f"Common mistake: expecting every load to be at the {as_printed(u * sqrt(3))} V between "
         "lines."), case=case)


def line_open(random, pick=None):
    """A star of equal resistances without neutral loses one line."""
    u, r = pick or (int(random.choice((190, 200, 208, 220, 230, 240, 380, 400, 415, 440))), int(random.choice(RESISTANCES)))
    phase, i = u / sqrt(3), u / (2 * r)
    places = next((n for n in range(3) if i * 10**n % 1 < 1e-9), None)
    if places is None:
        raise Unclear
    case = star_case(phase, dict.fromkeys(("L1", "L2", "L3"), r), inf, breaks=("L3",))
    sound = solved(star_case(phase, dict.fromkeys(("L1", "L2", "L3"), r), inf))[1]
    after = solved(case)[1]
    answers = (Answer(("voltage across each load "
                       "before"), rounded_off(phase), "V"), Answer(("voltage of L1's and L2's load "
                                                                "after"), rounded_off(u / 2), "V"),
               Answer("their current after", rounded_off(i, places), "A", places))
    return Exercise(
        "one line open", 2,
        f"Three equal resistances of {r} Ω are connected in star without a neutral, on a supply with {u} V "
        "between lines. Then line L3 "
        "opens. What is the voltage across each of the three before (to the nearest volt), what is it across the "
        "two that are left after "
        f"(to the nearest volt), and what current do they draw (to {10**-places:g} A)? {FIXED}",
        (("each", f"{r} Ω"), ("between lines", f"{u} V")),
        held(answers, (solved_volts(sound, "L1"), solved_volts(after, "L1"), solved_amps(after, "L1"))),
        (f"Before: balanced, so the star point is in the middle: {u} V / √3 = {as_printed(phase)} V.",
         f"After: L1's and L2's in series across {u} V: half each, {as_printed(u / 2)} V.",
         f"Current: {as_printed(u / 2, 1)} V / {r} Ω = {as_printed(i, places)} A; the third carries none.",
         (f"Check: two times {as_printed(u / 2, 1)} V is {u} V. Across the gap in L3 there are "
          f"{as_printed(u * sqrt(0.75))} V, 0.866 × {u} V: "
         "what is switched on there next is exposed to them.")),
        (f"Common mistake: leaving them at {as_printed(phase)} V, as if there were a sound "
         "neutral."), case=case)


def shorted(random, pick=None):
    """A star of equal resistances without neutral has one of them shorted."""
    u, r = pick or (int(random.choice((200, 208, 220, 240, 380, 400, 415, 440))), int(random.choice(RESISTANCES)))
    i = u / r
    if (10 * i) % 1:
        raise Unclear
    places = 0 if not i % 1 else 1
    # Not 0 Ω: a dead short on a sound neutral has no state before the break.
    case = star_case(u / sqrt(3), {"L1": 1e-9, "L2": r, "L3": r}, inf)
    after = solved(case)[1]
    answers = (Answer(("voltage across the other "
                       "two"), rounded_off(u), "V"), Answer("current in each of them", rounded_off(i, places), "A", places),
               Answer("current in the shorted line", rounded_off(sqrt(3) * i, 1), "A", 1))
    return Exercise(
        "one load shorted", 2,
        f"Three equal resistances of {r} Ω are connected in star on a supply with {u} V between lines; the "
        "neutral is broken. The one on "
        "L1 is short-circuited, and no fuse operates. What is the voltage across the other two, what current do "
        "they draw, and what current flows "
        f"in L1 (to 0.1 A)? {FIXED}",
        (("each", f"{r} Ω"), ("between lines", f"{u} V")),
        held(answers, (solved_volts(after, "L2"), solved_amps(after, "L2"), solved_amps(after, "L1"))),
        (f"The short ties the star point to L1, so the other two are between lines: {u} V.",
         f"Each: {u} V / {r} Ω = {as_printed(i, places)} A.",
         f"L1 carries both, 60° apart as phasors: √3 × {as_printed(i, places)} A = {as_printed(sqrt(3) * i, 1)} A.",
         "Check: the three line currents sum to zero as phasors."),
        (f"Common mistake: adding the two currents as numbers gives {as_printed(2 * i, places)} "
         "A."), case=case)


def bad_joint(random, pick=None):
    """One load behind a high-resistance joint in the neutral."""
    u, r, joint = pick or (int(random.choice(SUPPLIES)), int(random.choice(RESISTANCES)), float(random.choice((0.5, 1, 2, 2.5, 4, 5, 8, 10))))
    i = u / (r + joint)
    if not 0.2 <= i <= 40 or not 5 <= i * i * joint < 10_000:
        raise Unclear
    case = star_case(u, {"L1": r}, joint)
    after = solved(case)[1]
    shown = round(i, 2)
    answers = (Answer("current", rounded_off(i, 2), "A", 2), Answer(("voltage across the "
                                                                 "load"), rounded_off(i * r, printed=shown * r), "V"),
               Answer("voltage across the joint", rounded_off(i * joint, 1, printed=shown * joint), "V", 1),
               Answer("heat in the joint", rounded_off(i * i * joint, printed=shown**2 * joint), "W"))
    return Exercise(
        "effect of a high-resistance joint", 2,
        f"Only one load of {r} Ω is on, between L1 and N, {u} V. The joint in the neutral has a high resistance, "
        f"{joint:g} Ω. Find the current "
        "(to 0.01 A), the voltage across the load (nearest volt), the voltage across the joint (to 0.1 V) and "
        f"its heat (nearest watt). {FIXED}",
        (("load", f"{r} Ω"), ("joint", f"{joint:g} Ω"), ("supply", f"{u} V")),
        held(answers, (solved_amps(after, "L1"), solved_volts(after, "L1"), abs(after.nodes["board", "N"]),
                       abs(after.nodes["board", "N"]) ** 2 / joint)),
        (f"In series: {r} Ω + {joint:g} Ω = {r + joint:g} Ω; current {u} V / {r + joint:g} Ω = {as_printed(i, 2)} A.",
         f"Load: {as_printed(i, 2)} A × {r} Ω = {as_printed(i * r)} V.",
         f"Joint, and with it the load's neutral: {as_printed(i, 2)} A × {joint:g} Ω = {as_printed(i * joint, 1)} V.",
         f"Heat: ({as_printed(i, 2)} A)² × {joint:g} Ω = {as_printed(i * i * joint)} W, in a clamp.",
         f"Check: {as_printed(i * r, 1)} V + {as_printed(i * joint, 1)} V = {u} V."),
        ("Common mistake: expecting a fuse to operate. The current is lower than with a sound joint "
         f"({as_printed(u / r, 2)} A)."), case=case)


def bad_joint_star(random, pick=None):
    """A star with one load that differs, behind a joint of some ohms: the displacement is in phase with one line."""
    u, g1, g, joint = pick or (int(random.choice(SUPPLIES)), *map(int, random.choice((10, 12, 15, 20, 24, 30, 40, 48, 60), 2, replace=False)),
                               int(random.choice((2, 4, 5, 8, 10, 20))))
    r1, r = g1, g
    shift = u * (1 / r1 - 1 / r) / (1 / r1 + 2 / r + 1 / joint)
    v1, v2 = u - shift, hypot(u / 2 + shift, u * sqrt(0.75))
    if abs(shift) < 2:
        raise Unclear
    shown = round(shift, 1)
    plus, minus = ("+", "−") if shift > 0 else ("−", "+")
    case = star_case(u, {"L1": r1, "L2": r, "L3": r}, joint)
    after = solved(case)[1]
    answers = (Answer("displacement of the star point", rounded_off(abs(shift), printed=abs(shown)), "V"),
               Answer("voltage on L1", rounded_off(v1, printed=u - shown), "V"),
               Answer("voltage on L2 and on L3", rounded_off(v2, printed=hypot(u / 2 + shown, u * 0.866)), "V"))
    return Exercise(
        "effect of a high-resistance joint", 3,
        f"A star of three resistances is connected to a supply of {u} V to neutral; the joint in the neutral has "
        f"{joint} Ω. Find the displacement of "
        f"the star point and the three voltages, to the nearest volt. {FIXED}",
        (("L1", f"{r1} Ω"), ("L2 and L3", f"{r} Ω each"), ("joint", f"{joint} Ω"), ("supply", f"{u} V to neutral")),
        held(answers, (abs(after.nodes["board", "N"]), solved_volts(after, "L1"), solved_volts(after, "L2"))),
        (("L2 and L3 are alike, so the displacement is in phase with L1. Millman, with the joint as a fourth "
          "branch at 0 V:"),
         (f"displacement = {u} V × (1/{r1} − 1/{r}) / (1/{r1} + 2/{r} + 1/{joint}) = {as_printed(shift, 1)} V in "
          "phase with L1: "
         f"{as_printed(abs(shift))} V {'towards L1' if shift > 0 else 'away from L1'}."),
         (f"Currents: {as_printed(v1 / r1, 2)} A in L1, {as_printed(v2 / r, 2)} A in L2 and L3, "
          f"{as_printed(abs(shift) / joint, 2)} A in the joint."),
         f"Voltage on L1: {u} V {minus} {abs(shown)} V = {as_printed(v1)} V.",
         f"Voltage on L2 and L3: √(({u / 2:g} {plus} {abs(shown)})² + (0.866 × {u})²) = {as_printed(v2)} V.",
         (f"Check: with a sound joint each has {u} V; the voltage on L1, the {'larger' if r1 > r else 'smaller'} "
          "resistance, "
          f"{'rises' if r1 > r else 'falls'}.")),
        "Common mistake: taking a joint that still conducts for a sound one.", case=case)
