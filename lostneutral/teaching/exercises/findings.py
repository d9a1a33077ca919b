"""Exercises that work back: phase sequence from two lamps and a capacitor, and the fault behind some readings."""

from cmath import exp, pi
from math import inf, sqrt

from lostneutral.teaching.exercises.pairs import LEGS, POWERS, RESISTANCES
from lostneutral.teaching.exercises.stars import SUPPLIES
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
    solved_volts,
    star_case,
)

LINES = ("L1", "L2", "L3")


def sequence(random, pick=None):
    """Two equal lamps and a capacitor in star, no neutral: the brighter lamp is on the line that follows the capacitor's."""
    u, r, times, at, forward = pick or (
        int(random.choice(SUPPLIES)), int(random.choice([x for x in RESISTANCES if x >= 100])), int(random.integers(1, 3)),
        int(random.integers(3)), bool(random.integers(2)))
    first, bright, dim = (LINES[(at + n * (1 if forward else -1)) % 3] for n in range(3))
    case = star_case(u, dict.fromkeys((bright, dim), r) | {first: complex(0, -r / times)}, inf, backward=not forward)
    after = solved(case)[1]
    shift = complex(times**2 - 2, 3 * times) / (4 + times**2)
    way = {line: exp(side * 2j * pi / 3) - shift for line, side in ((bright, -1), (dim, 1))}
    shown = {line: complex(round(w.real, 3), round(w.imag, 3)) for line, w in way.items()}
    size = {line: rounded_off(u * abs(w), printed=u * abs(shown[line])) for line, w in way.items()}
    order, j = f"{first}-{bright}-{dim}", "j" if times == 1 else f"{times}j"
    answers = (Answer(("voltage of the brighter "
                       "lamp"), size[bright], "V"), Answer("voltage of the dimmer lamp", size[dim], "V"),
               Answer("sequence", order))
    parts = {line: f"{as_printed(w.real, 3)} {'+' if w.imag > 0 else '−'} {abs(w.imag):.3f}j" for line, w in shown.items()}
    return Exercise(
        "phase sequence from two lamps and a capacitor", 3,
        f"Two equal lamps and a capacitor are connected in star, star point not connected. The lamp on {bright} "
        f"is bright, that on {dim} dim. "
        "What is the voltage across each lamp, to the nearest volt, and in which sequence do the lines follow? "
        f"{FIXED}",
        (("supply", (f"{u} V to "
                     "neutral")), ("each lamp", f"{r} Ω"), (("capacitor, on "
                                                             f"{first}"), (f"{r / times:g} Ω at the supply's "
                                                                           "frequency"))),
        held(answers, (solved_volts(after, bright), solved_volts(after, dim), 0)),
        (f"Take the capacitor's line as 0° and a lamp's conductance as 1; the capacitor's admittance is then {j}.",
         f"Millman: displacement = {u} V × ({j} + 1∠−120° + 1∠120°) / (2 + {j}) = {u} V × (−1 + {j}) / (2 + {j}).",
         (f"Multiply above and below by (2 − {j}): displacement = {u} V × ({as_printed(times**2 - 2)} + "
          f"{3 * times}j) / {4 + times**2} = "
          f"{u} V × ({as_printed(shift.real, 2)} + {shift.imag:.2f}j)."),
         f"Lamp on the line at −120°: {u} V × |{parts[bright]}| = {as_printed(size[bright])} V.",
         f"Lamp on the line at 120°: {u} V × |{parts[dim]}| = {as_printed(size[dim])} V.",
         (f"So the bright lamp, {bright}, is on the line that comes 120° after the capacitor's, {first}. "
          f"Sequence: {order}."),
         "Check: read off capacitor, bright, dim: that is the order in which the lines come."),
        ("Common mistake: taking the bright lamp's line for the one ahead of the capacitor's, which gives "
         f"{first}-{dim}-{bright}."),
        case=case)


def find_fault(random, pick=None):
    """Readings at a board with three loads: what is broken?"""
    if pick is None:
        ohm = [int(x) for x in random.choice([x for x in RESISTANCES if x >= 20], 3, replace=False)]
        pick = (int(random.choice(SUPPLIES)), *ohm, int(random.integers(4)), int(random.integers(3)))
    u, *ohm, fault, which = pick
    return _board(u, dict(zip(LINES, ohm)), {a: f"{z} Ω" for a, z in zip(LINES, ohm)}, fault, which, "three-phase")


def legs(random, pick=None):
    """Readings on a three-wire single-phase supply with two loads: what is broken?"""
    u, p1, p2, fault, which = pick or (int(random.choice(LEGS)), *map(int, random.choice(POWERS, 2, replace=False)),
                                       int(random.integers(4)), int(random.integers(2)))
    if max(p1, p2) > 10 * min(p1, p2):
        raise Unclear
    return _board(u, {"L1": rated_ohms(p1, u), "L2": rated_ohms(p2, u)}, {"L1": f"{p1} W at {u} V", "L2": (f"{p2} W at "
                                                                                               f"{u} V")}, fault, which,
                  "split-phase")


def _board(u, loads, named, fault, which, system):
    """A board with `loads` {line: Ω} and one of four faults: neutral open, a line open, line and neutral transposed, none."""
    line, three = LINES[which], system == "three-phase"
    case = star_case(u, loads, inf if fault == 0 else None, system, breaks=(line,) if fault == 1 else (),
                crosses=((line, "N"),) if fault == 2 else ())
    after = solved(case)[1]
    pairs = [(a, "N") for a in loads] + ([("L1", "L2"), ("L2", "L3"), ("L3", "L1")] if three else [("L1", "L2")])
    read = [round(solved_volts(after, *pair)) for pair in pairs]
    to_neutral = read[: len(loads)]
    if fault == 0 and max(to_neutral) - min(to_neutral) < 0.2 * u:
        raise Unclear
    flat = round(u * (sqrt(3) if three else 2))
    words = (("the neutral is "
              "open"), (f"{line} is open, the neutral "
                        "sound"), f"{line} and neutral are transposed", "nothing is broken")[fault]
    high = max(loads, key=loads.get)
    why = (
        (f"Between lines all is within limits ({flat} V), so no line is open.",
         "To neutral one line is high and another low, with the loads on: the star point has moved.",
         (f"The highest, {max(to_neutral)} V, is on {high}, on the load of the highest resistance "
          f"({named[high]}), as with loads "
         "beyond a lost neutral.")),
        ((f"{line} to N reads 0 V, and between {line} and {'the others' if three else 'the other'} there are "
          f"only {u} V: {line} is fed through its "
         f"own load."), (f"The {'others have' if three else 'other has'} {u} V to neutral as before: the neutral "
                         "is sound.")),
        ((f"{'The others read' if three else 'The other line reads'} {flat} V to what is called N, and {line} "
          f"still {u} V: the conductor "
         f"called N is a line, and {line} the neutral."),
         f"Between lines, {line} to {'the others' if three else 'the other'} reads only {u} V, as a neutral would."),
        (f"All lines read {u} V to neutral and {flat} V between them, loads on.",
         "Loads as unequal as these would have displaced a star point without a neutral."))[fault]
    trap = ("reading between lines only, and calling the supply sound.",
            "suspecting the neutral. A lost neutral leaves the readings between lines as they are.",
            f"blaming a lost neutral for the high readings. That leaves {flat} V between lines; here some read {u} V.",
            "expecting unequal loads to upset the voltages. They do so only where the neutral is bad.")[fault]
    return Exercise(
        "find the fault from readings", 2,
        f"At a board {'with three loads' if three else 'on a three-wire single-phase supply, with two loads'} "
        "between lines and N, a "
        f"meter reads as below, all loads on. The supply is {u} V to neutral. What is broken: the neutral, a "
        "line (which?), are a line "
        f"and the neutral transposed (which?), or nothing? {FIXED}",
        (*((f"load {a}-N", z) for a, z in named.items()), *((f"{a}-{b} reads", f"{v} V") for (a, b), v in zip(pairs, read))),
        (Answer("fault", words),), (*why, f"So: {words}.", ("Check: the readings calculated for that fault are "
                                                            "those above.")),
        f"Common mistake: {trap}", case=case)
