"""Exercises with worked keys: drawn at random from kinds that trade examinations set, each held to the solver."""

import numpy as np

from lostneutral.errors import UsageError
from lostneutral.report.blocks import heading, paragraph, table
from lostneutral.teaching.blanks import BLANK, LINE
from lostneutral.teaching.exercises import findings, pairs, published, stars
from lostneutral.teaching.exercises.task import GRADES, Answer, Exercise, Unclear
from lostneutral.teaching.labels import LABEL_SETS

__all__ = ["KINDS", "MOST", "Answer", "Exercise", "exercises", "sheet", "solutions"]

MOST = 500
TRIES = 400  #: draws of a kind before it is taken to have no more
EVERY = 5  #: one exercise in so many is a published one, as long as there are any
SAFETY = ("These are sums on paper. Never open a neutral or a joint to see what happens: switch off, lock off, prove dead, and let "
          "a competent person work on it.")

KINDS = (
    pairs.series, stars.neutral_current, pairs.split_phase, stars.line_open, pairs.series_ohms, stars.shorted,
    stars.bad_joint, findings.find_fault, pairs.growing, stars.three_unequal, stars.neutral_current_lagging,
    stars.bad_joint_star, findings.sequence)
"""What makes an exercise of each kind from a random generator; a new kind is one more function here."""


def exercises(number: int, seed: int, labels: str = "L1/L2/L3") -> tuple[Exercise, ...]:
    """Return `number` exercises, the easy ones first, no two alike; the same for the same number and `seed`.

    Every fifth is a published one, as far as these go. Every key was held to the solver. Raises UsageError for a number
    that is not from 1 to `MOST`, or for labels that there are not.

    >>> [e.kind for e in exercises(2, 1)]
    ['two loads in series across two lines', 'two loads in series across two lines']
    """
    if not 1 <= number <= MOST:
        raise UsageError(f"{number} exercises: from 1 to {MOST} can be made")
    if labels not in LABEL_SETS:
        raise UsageError(f"there are no labels '{labels}' — one of: {', '.join(LABEL_SETS)}")
    random = np.random.Generator(np.random.PCG64(seed))
    known = list(random.permutation(len(published.ITEMS)))
    kinds, seen, made = list(random.permutation(len(KINDS))), set(), []
    while len(made) < number:
        if known and len(made) % EVERY == 0:
            new = published.item(int(known.pop()))
        elif kinds:
            kind = kinds.pop(0)
            new = _drawn(KINDS[kind], random, seen)
            kinds += [kind] if new else []
        else:
            raise UsageError(f"only {len(made)} exercises differ — ask for fewer")
        if new is not None and new.given not in seen:
            seen.add(new.given)
            made.append(new)
    return tuple(e.named(labels) for e in sorted(made, key=lambda e: e.grade))


def _drawn(kind, random, seen):
    """Return an exercise of `kind` that is not among `seen` (what was given), None if none is found."""
    for _ in range(TRIES):
        try:
            made = kind(random)
        except Unclear:
            continue
        if made.given not in seen:
            return made
    return None


def sheet(made) -> list:
    """Return the blocks of the sheet: the questions, with blanks to fill in."""
    blocks = [paragraph(SAFETY)]
    for n, e in enumerate(made, 1):
        blocks += [heading(f"Exercise {n}: {e.kind}", 2), paragraph(f"{e.text} (Grade {e.grade}: {GRADES[e.grade]}.)"),
                   table(f"Given in exercise {n}", ("what", "value"), e.given),
                   paragraph(f"Working: {LINE[:-14]}"), paragraph(LINE),
                   table(f"To find in exercise {n}", ("what", "answer"), [(a.name, f"{BLANK} {a.unit}".rstrip()) for a in e.answers])]
    return blocks


def solutions(made) -> list:
    """Return the blocks of the worked solutions."""
    blocks = [paragraph(SAFETY)]
    for n, e in enumerate(made, 1):
        blocks += [heading(f"Exercise {n}: {e.kind}", 2),
                   *([paragraph(f"After {e.source}.")] if e.source else []),
                   table(f"Given in exercise {n}", ("what", "value"), e.given), *map(paragraph, e.steps),
                   table(f"Answers to exercise {n}", ("what", "answer"), [(a.name, a.words) for a in e.answers]),
                   *([paragraph(e.trap)] if e.trap else [])]
    return blocks
