"""Exercises with worked keys: drawn at random from kinds that trade examinations set, each held to the solver."""

import numpy as np

from lostneutral.errors import UsageError
from lostneutral.report.blocks import bullets, heading, paragraph, table, together
from lostneutral.teaching.blanks import BLANK, LINE
from lostneutral.teaching.exercises import findings, pairs, published, stars
from lostneutral.teaching.exercises.task import GRADES, Answer, Exercise, Unclear
from lostneutral.teaching.labels import LABEL_SETS

__all__ = ["KINDS", "MOST", "Answer", "Exercise", "exercises", "sheet", "solutions"]

MOST = 500
TRIES = 400  #: draws of a kind before it is taken to have no more
EVERY = 5  #: one exercise in so many is a published one, as long as there are any
TAKES = f"Each exercise has a grade: {'; '.join(f'{grade} takes {what}' for grade, what in GRADES.items())}."
ROOM = {1: 3, 2: 4, 3: 7}  #: lines to work on, by grade
SAFETY = ("These are sums on paper. Never open a neutral or a joint to see what happens: switch off, lock off, prove dead, and let "
          "a competent person work on it.")

KINDS = (
    pairs.series, stars.neutral_current, pairs.split_phase, stars.line_open, pairs.series_ohms, stars.shorted,
    stars.bad_joint, findings.find_fault, pairs.growing, stars.three_unequal, stars.neutral_current_lagging,
    findings.legs, stars.bad_joint_star, findings.sequence, stars.three_unequal_ohms)
"""What makes an exercise of each kind from a random generator; a new kind is one more function here."""


def exercises(number: int, seed: int, labels: str = "L1/L2/L3") -> tuple[Exercise, ...]:
    """Return `number` exercises, the easy ones first, no two alike; the same for the same number and `seed`.

    Every fifth is a published one, as far as these go. Every key was held to the solver. Raises UsageError for a number
    that is not from 1 to `MOST`, a `seed` below 0, or for labels that there are not.

    >>> [e.kind for e in exercises(2, 1)]
    ['two loads in series across two lines', 'split-phase with the neutral lost']
    """
    if not 1 <= number <= MOST:
        raise UsageError(f"{number} exercises: from 1 to {MOST} can be made")
    if seed < 0:
        raise UsageError(f"seed {seed}: it must be 0 or more")
    if labels not in LABEL_SETS:
        raise UsageError(f"there are no labels '{labels}' — one of: {', '.join(LABEL_SETS)}")
    random = np.random.Generator(np.random.PCG64(seed))
    known = [published.item(int(n)) for n in random.permutation(len(published.ITEMS))]
    kinds, seen, made = list(random.permutation(len(KINDS))), set(map(_asked, known)), []
    while len(made) < number:
        if known and len(made) % EVERY == 0:
            made.append(known.pop())
        elif kinds:
            kind = kinds.pop(0)
            new = _drawn(KINDS[kind], random, seen)
            if new:
                kinds.append(kind)
                seen.add(_asked(new))
                made.append(new)
        else:
            raise UsageError(f"only {len(made)} exercises differ — ask for fewer")
    return tuple(e.named(labels) for e in sorted(made, key=lambda e: e.grade))


def _asked(exercise):
    """What makes an exercise another one: what is asked of which figures."""
    return exercise.kind, exercise.given


def _drawn(kind, random, seen):
    """Return an exercise of `kind` that is not among `seen`, None if none is found."""
    for _ in range(TRIES):
        try:
            made = kind(random)
        except Unclear:
            continue
        if _asked(made) not in seen:
            return made
    return None


def sheet(made) -> list:
    """Return the blocks of the sheet: the questions, with room to work and to answer."""
    return [paragraph(SAFETY), paragraph(f"{TAKES} Carry more figures than the answer asks for, and round at the end."), *(
        together([_heading(n, e), paragraph(e.text), table(f"Given in exercise {n}", ("what", "value"), e.given),
                  paragraph("Working:"), *[paragraph(LINE)] * ROOM[e.grade],
                  paragraph("Answer: " + "; ".join(map(_blank, e.answers)))])
        for n, e in enumerate(made, 1))]


def solutions(made) -> list:
    """Return the blocks of the key: all answers in one table, then each exercise worked step by step."""
    return [paragraph(SAFETY), paragraph(f"{TAKES} Figures in the steps are rounded as printed."),
            table("Answers to the exercises", ("exercise", "grade", "answer"),
                  [(f"{n}", f"{e.grade}", e.answer) for n, e in enumerate(made, 1)], "rrl", {2: 1}),
            *(together([_heading(n, e), *([paragraph(f"After {e.source}.")] if e.source else []),
                        paragraph(e.text), paragraph("Given: " + "; ".join(f"{what}: {value}" for what, value in e.given) + "."),
                        bullets(e.steps), paragraph(f"Answer: {e.answer}."), paragraph(e.trap)])
              for n, e in enumerate(made, 1))]


def _heading(n, e):
    return heading(f"Exercise {n}: {e.kind} (grade {e.grade})", 2)


def _blank(answer):
    """An answer to fill in, kept on one line; words have more room than a figure."""
    line = BLANK * 4 if isinstance(answer.value, str) else f"{BLANK} {answer.unit}"
    return f"{answer.name} {line}".replace(" ", "\u00a0")
