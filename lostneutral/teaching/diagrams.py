"""The drawn parts of a lesson: phasors, neutral current, star point, light, and lamps beside fixed resistors."""

from lostneutral import data
from lostneutral.report.blocks import bullets, figure, heading, paragraph, table
from lostneutral.report.words import number, significant, size
from lostneutral.teaching.blanks import BLANK, ask
from lostneutral.teaching.figures import lamp_rows
from lostneutral.teaching.star import afterwards


def with_neutral(lesson, filled=False):
    """Return the phasor diagrams and the neutral current by parallelograms."""
    if "phasors" not in lesson.drawn:
        return []
    made = [
        heading("Draw it"),
        figure(
            lesson.drawn["phasors-values" if filled else "phasors"],
            "The phasor diagram twice, true to scale: arrows from N to the lines. Measure them with "
            "the bar. The cross is the supply's star point.",
            floats=False,
        ),
    ]
    if "neutral-current" in lesson.drawn and not filled:
        steps = [
            "Draw the line currents from one point, each along its voltage (behind if inductive, ahead if capacitive).",
            "Complete the parallelogram of the first two. Its diagonal is their sum.",
            "Go on with that sum and the third, if there is one. The last diagonal is what the neutral carries back.",
        ]
        made += [
            heading("The neutral current, with the neutral in", 2),
            _numbered(steps),
            figure(
                lesson.drawn["neutral-current"], "The neutral current by parallelograms, true to scale.", floats=False
            ),
        ]
    return made


def without_neutral(lesson):
    """Return the star point by ruler and compass: from the nameplates, and from readings."""
    made, drawn = [], lesson.drawn
    if "star-point" in drawn:
        made += [
            heading(f"The star point from the nameplates, {afterwards(lesson.result.case)}", 2),
            paragraph(weights_words(lesson.result.case, lesson.nameplate)),
            _numbered(_steps(lesson.nameplate)),
            figure(
                drawn["star-point"],
                "The star point as the centre of gravity of the corners, true to scale.",
                floats=False,
            ),
            paragraph("Measure from N to each corner: those are the voltages. Write them beside your readings."),
        ]
    if "star-point-readings" in drawn:
        made += [
            heading("The star point from three readings", 2),
            paragraph(
                "Take the compass. About each corner draw an arc with the voltage that you read between that line and "
                "N as radius. Two arcs cross in two points; the third says which of them is N. If the three miss one "
                "another by more than a few volts, one reading is wrong. This holds for loads of every kind."
            ),
            figure(drawn["star-point-readings"], "The star point from three readings, true to scale.", floats=False),
        ]
    if "blank" in drawn:
        made.append(figure(drawn["blank"], "For your own readings.", floats=False))
    return made


def weights_words(case, star):
    """Return the weights of the corners in words: W at the nominal voltage of the supply."""
    volts = case.supply.nominal
    words = ", ".join(f"{line} {_weight(g * volts**2)}" for line, g in star.weights.items())
    back = (
        (
            f" The way back of the bad neutral counts like a load of {significant(star.way_back * volts**2)} W that "
            "pulls towards the middle."
        )
        if star.way_back
        else ""
    )
    shape, ends = ("triangle", "corners") if len(star.corners) > 2 else ("line", "ends")
    return (
        f"Take each load as a fixed resistor. What it would take at {volts:g} V is its weight, in W: {words}. N lies "
        f"where the {shape} would balance on a needle with these weights at its {ends}.{back}"
    )


def _weight(watts):
    return f"{float(significant(watts)):g}"


def _numbered(steps):
    return bullets(f"Step {n}: {text}" for n, text in enumerate(steps, 1))


def _steps(star):
    lines = [line for line, weight in star.weights.items() if weight > 0]
    shape = "triangle" if len(star.corners) > 2 else "line"
    steps = [
        f"Draw the {shape}: open the compass to the voltage between lines"
        + (
            ", and draw an arc about each of two corners; they cross in the third."
            if len(star.corners) > 2
            else ", and mark the middle."
        )
    ]
    one, two = lines[:2]
    steps.append(
        f"Divide the side {one}–{two}: draw any helping line from {one}. Step off on it first the weight of {two}, "
        f"then that of {one}. Join the end with {two}; the parallel through the first mark meets the side in P."
    )
    if len(lines) > 2:
        steps.append(f"Divide the side {two}–{lines[2]} in the same way: Q.")
        steps.append(f"Join P with {lines[2]} and Q with {one}. They cross in N.")
    else:
        steps.append("P is the star point N: two loads left are in series.")
    if star.way_back:
        steps.append(
            "Join N with the middle, and divide that line too: all loads weigh at N, the way back in the middle."
        )
    return steps


def light(lesson):
    """Return the picture of the lamps' light."""
    if "light" not in lesson.drawn:
        return []
    return [
        heading("The light of the lamps"),
        figure(
            lesson.drawn["light"],
            "The area of the disc is the light afterwards, the broken circle the light before.",
            floats=False,
        ),
    ]


def surprise(lesson, filled=False):
    """Return what sets real lamps apart from fixed resistors."""
    named = [heading("The surprise: a lamp is no fixed resistor")]
    made, after = [] if filled else [*named, *_lamp(lesson)], lesson.result.after.reached
    if not lesson.nameplate or after is None:
        return made
    made = made or named
    fixed = {line: abs(z - lesson.nameplate.neutral) for line, z in lesson.nameplate.corners.items()}
    rows = [
        (
            line,
            f"{number(volts)} V",
            *((f"{number(size(after.voltage(lesson.point, line)))} V",) if filled else (BLANK, BLANK)),
        )
        for line, volts in fixed.items()
    ]
    head = ("line", "as fixed resistors", "as the loads are", *(() if filled else ("your reading",)))
    made.append(table(f"Line to neutral, {afterwards(lesson.result.case)}", head, rows, "lrrr"[: len(head)]))
    if not filled:
        made += ask("Which lines are further from the nominal voltage than the fixed resistors say? Why?")
    return made


def _lamp(lesson):
    measured = data.load("lamps")["measured_220_volt"]
    return [
        paragraph(
            "A cold filament has a small resistance, a hot one a large one. A lamp that gets less than its voltage "
            "cools and draws more than a resistor would; one that gets more heats up and draws less. So unequal lamps "
            "part further than the nameplates say."
        ),
        figure(
            lesson.drawn["lamp-curve"],
            f"A lamp for 220 V: {measured['source']}; {data.KNOWN[measured['known']]}. "
            "The model is given the reading at 220 V only.",
            floats=False,
        ),
        table(
            "Current of that lamp, A",
            ("voltage", "measured", "model", "fixed resistor"),
            [(f"{v:g} V", *(number(i, 2) for i in currents)) for v, *currents in lamp_rows()],
            "rrrr",
        ),
    ]
