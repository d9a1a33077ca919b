"""The constructions on a learner's sheet: what to draw, where, and by which steps. What comes out stands in the key."""

from math import isinf

from lostneutral.report.base.blocks import bullets, figure, form, heading, new_page, paragraph, together
from lostneutral.teaching import questions
from lostneutral.teaching.bench import ohm_words
from lostneutral.teaching.blanks import BLANK, ask, mark_words
from lostneutral.teaching.constructions import best_construction
from lostneutral.words.amounts import plain
from lostneutral.words.language import tell

DRAWING_MARKS = 4


def _numbered(texts):
    """Return steps with their numbers."""
    return bullets(tell("Step {n}: {text}", n=n, text=text) for n, text in enumerate(texts, 1))


def draw_neutral_current(lesson):
    """Return the neutral current by parallelograms, to be drawn."""
    if "blank-currents" not in lesson.drawn:
        return []
    return [
        new_page(),
        heading(tell("The neutral current, with the link in {mark_words}", mark_words=mark_words(DRAWING_MARKS))),
        _numbered(neutral_steps(lesson)),
        figure(
            lesson.drawn["blank-currents"], tell("Draw the line currents on the broken lines, by the scale.")
        ),
        form("", (tell("by construction, A"), tell("by ammeter, A")), [(BLANK, BLANK)]),
    ]


def neutral_steps(lesson):
    """Return the steps of the neutral current, for so many lines as have a load."""
    made = [
        tell("Mark off the current that you read in each line on its broken line, by the scale."),
        tell("Complete the parallelogram of the first two. Its diagonal is their sum."),
    ]
    if len(lesson.bench.lines) > 2:
        made.append(tell("Do the same with that sum and the third. The last diagonal is the neutral current."))
    return [*made, tell("Measure the last diagonal, and compare it with the ammeter in the neutral.")]


def draw_star_point(lesson):
    """Return N from the rated powers, by ruler and compasses, to be drawn."""
    if "star-point" not in lesson.drawn:
        return []
    return [
        new_page(),
        heading(tell("N from the rated powers, {out} {mark_words}", out=tell(lesson.bench.out), mark_words=mark_words(DRAWING_MARKS))),
        paragraph(weights_words(lesson)),
        _numbered(star_steps(lesson)),
        figure(lesson.drawn["blank"], tell("Draw here. The cross is the supply's N.")),
        *map(ask, questions.drawing(lesson)),
    ]


def weights_words(lesson):
    """Return the weights in words: the rated powers as they are marked, not what comes out of the answer."""
    bench, terms = lesson.bench, lesson.terms
    words = ", ".join(f"{line} {bench.rated[line]:.3g}" for line in bench.lines)
    back = ""
    if not isinf(bench.joint):
        back = (
            tell(" The resistor in the link's place counts as a weight of {weight} at the middle: ({volts} V)² / {ohm_words}.", weight=plain(bench.volts**2 / bench.joint, ".3g"), volts=plain(bench.volts), ohm_words=ohm_words(bench.joint))
        )
    return (
        tell("Take each load as a fixed resistor, with its rated power as its weight, in W: {weights}. N lies where the triangle would "
             "balance on a point with these weights at its corners.{back}", weights=words, back=back)
        if terms.shape == "triangle" else
        tell("Take each load as a fixed resistor, with its rated power as its weight, in W: {weights}. N lies where the line would "
             "balance on a point with these weights at its ends.{back}", weights=words, back=back)
    )


def star_steps(lesson):
    """Return the steps of the construction that `plan` finds clearest."""
    found, terms = best_construction(lesson.nameplate), lesson.terms
    one, two = found.lines[:2]
    letter = "P" if found.two else tell("N open") if found.back else "N"
    made = [
        (
            tell("Divide the side {one}–{two}: draw an auxiliary line from {one}. Mark off on it first the weight of {two}, then that of "
                 "{one}. Join the end with {two}; the parallel through the first mark meets the side in {letter}.", one=one, two=two,
                 letter=letter)
            if terms.shape == "triangle" else
            tell("Divide the line {one}–{two}: draw an auxiliary line from {one}. Mark off on it first the weight of {two}, then that of "
                 "{one}. Join the end with {two}; the parallel through the first mark meets the line in {letter}.", one=one, two=two,
                 letter=letter)
        )
    ]
    if found.two:
        three = found.lines[2]
        made += [
            tell("Divide the side {two}–{three} in the same way: Q.", two=two, three=three),
            tell("Join P with {three} and Q with {one}. They cross in {point}.", three=three, one=one, point=tell("N open") if found.back else "N"),
        ]
    if found.back:
        made.append(
            tell("Divide the line from N open to the cross in the same way, with the sum of all loads' weights at N open and the weight of the resistor at the cross: that is N.")
        )
    return made


def from_readings(lesson):
    """Return N from three readings, to be drawn."""
    if "star-point-readings" not in lesson.drawn:
        return []
    return [
        new_page(),
        heading(tell("N from three readings, {out} {mark_words}", out=tell(lesson.bench.out), mark_words=mark_words(DRAWING_MARKS))),
        paragraph(tell(ARCS)),
        figure(lesson.drawn["blank"], tell("Draw here, with your own readings.")),
    ]


ARCS = (
    "With compasses, draw an arc about each corner, with the voltage that you read between that line and N as "
    "its radius. Two arcs cross "
    "in two points; the third arc shows which is N. If the three miss one another by more than a few volts, one "
    "reading is wrong. This "
    "holds for loads of every kind."
)


def not_constructed(lesson):
    """Return which constructions this star does not allow, and why."""
    together_ = {}
    for part, why in lesson.left_out.items():
        together_.setdefault(why, []).append(part)
    return [paragraph(tell("Not drawn here: {parts}, because {why}.", parts="; ".join(map(tell, parts)), why=why)) for why, parts in together_.items()]


def surprising_lamps(lesson):
    """Return what sets real lamps apart from fixed resistors; nothing without lamps."""
    asked = questions.surprise(lesson)
    if not asked:
        return []
    bench = lesson.bench
    first = [
        heading(tell("Why a lamp is not a fixed resistor")),
        paragraph(

                tell("A cold filament has a small resistance, a hot one a large one. The figure shows one lamp, measured, beside a fixed resistor.")

        ),
        figure(
            lesson.drawn["lamp-curve"],
            tell("Current of a lamp for 220 V: measured, modelled, and a fixed resistor of the same rated power."),
        ),
    ]
    return [
        together(first),
        form(
            tell("Line to N with the {out}, V", out=tell(bench.out)),
            (tell("line"), tell("fixed resistors, from your construction"), tell("your reading")),
            [(line, BLANK, BLANK) for line in bench.lines],
        ),
        *map(ask, asked),
    ]
