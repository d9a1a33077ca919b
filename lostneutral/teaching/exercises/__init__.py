"""Exercises with worked keys: drawn at random from kinds that trade examinations set, each held to the solver."""

import numpy as np

from lostneutral.errors import UsageError
from lostneutral.report.base.blocks import bullets, form, heading, paragraph, ruled, table, together
from lostneutral.teaching.blanks import BLANK, mark_words
from lostneutral.teaching.exercises import findings, pairs, published, stars
from lostneutral.teaching.exercises.task import GRADES, Answer, Exercise, Unclear
from lostneutral.teaching.labels import LABEL_SETS

__all__ = ["KINDS", "MOST", "TOPICS", "Answer", "Exercise", "exercises", "sheet", "solutions", "topic_of"]

MOST = 500
TRIES = 400  #: draws of a kind before it is taken to have no more
OTHERS = 60  #: exercises of an unwanted grade after which a kind is given up
EVERY = 5  #: one exercise in so many is a published one, as long as there are any
TAKES = f"Each exercise has a grade: {'; '.join(f'{grade} takes {what}' for grade, what in GRADES.items())}."
ROOM = {1: 3, 2: 4, 3: 7}  #: lines to work on, by grade
TOPICS = {
    "series": ("two loads in series across two lines", "split-phase with the neutral lost"),
    "neutral-current": ("neutral current of unbalanced loads",),
    "unequal": ("three unequal loads without neutral",),
    "open-line": ("one line open",),
    "short": ("one load shorted",),
    "joint": ("effect of a high-resistance joint",),
    "find-fault": ("find the fault from readings",),
    "sequence": ("phase sequence from two lamps and a capacitor",),
}
"""What `--topic` may be -> the kinds of exercise that belong to it."""
SAFETY = ("These are sums on paper. Never open a neutral or a joint to see what happens: switch off, lock off, "
          "prove dead, and let "
          "a competent person work on it.")

KINDS = (
    pairs.series, stars.neutral_current_exercise, pairs.split_phase, stars.line_open, pairs.series_ohms, stars.shorted,
    stars.bad_joint, findings.find_fault, pairs.growing, stars.three_unequal, stars.neutral_current_lagging,
    findings.legs, stars.bad_joint_star, findings.sequence, stars.three_unequal_ohms)
"""What makes an exercise of each kind from a random generator; a new kind is one more function here."""


def topic_of(exercise) -> str:
    """Return the topic (a key of `TOPICS`) of an exercise."""
    return next(topic for topic, kinds in TOPICS.items() if exercise.kind in kinds)


def exercises(number: int, seed: int, labels: str = "L1/L2/L3", *, grades=(), topics=(), system=None) -> tuple[Exercise, ...]:
    """Return `number` exercises, the easy ones first, no two alike; the same for the same number, `seed` and choice.

    `grades` (of `GRADES`), `topics` (of `TOPICS`) and `system` ("three-phase" | "split-phase") choose; empty: all. Every fifth is a
    published one, as far as these go. Every key was held to the solver. Raises UsageError for a number that is not from 1 to `MOST`,
    a `seed` below 0, for labels, grades or topics that there are not, and where too few exercises fit.

    >>> [e.kind for e in exercises(2, 1)]
    ['two loads in series across two lines', 'split-phase with the neutral lost']
    """
    if not 1 <= number <= MOST:
        raise UsageError(f"{number} exercises: from 1 to {MOST} can be made")
    if seed < 0:
        raise UsageError(f"seed {seed}: it must be 0 or more")
    if labels not in LABEL_SETS:
        raise UsageError(f"there are no labels '{labels}' — one of: {', '.join(LABEL_SETS)}")
    for what, asked, known in (("grade", grades, GRADES), ("topic", topics, TOPICS), ("supply", (system,) if system else (), SYSTEMS)):
        if wrong := [x for x in asked if x not in known]:
            raise UsageError(f"there is no {what} '{wrong[0]}' — one of: {', '.join(map(str, known))}")
    fits = lambda e: (not topics or topic_of(e) in topics) and system in (None, e.system)
    random = np.random.Generator(np.random.PCG64(seed))
    known = [published.published_item(int(n)) for n in random.permutation(len(published.ITEMS))]
    known = [e for e in known if fits(e) and (not grades or e.grade in grades)]
    kinds, seen, made = list(random.permutation(len(KINDS))), set(map(_asked, known)), []
    while len(made) < number:
        if known and len(made) % EVERY == 0:
            made.append(known.pop())
        elif kinds:
            kind = kinds.pop(0)
            new = _drawn(KINDS[kind], random, seen, fits, grades)
            if new:
                kinds.append(kind)
                seen.add(_asked(new))
                made.append(new)
        elif known:
            made.append(known.pop())
        else:
            raise UsageError(f"only {len(made)} such exercises differ — ask for fewer, or for more grades or topics")
    return tuple(e.named(labels) for e in sorted(made, key=lambda e: e.grade))


SYSTEMS = ("three-phase", "split-phase")


def _asked(exercise):
    """What makes an exercise another one: what is asked of which figures."""
    return exercise.kind, exercise.given


def _drawn(kind, random, seen, fits, grades):
    """Return an exercise of `kind` that is not among `seen` and is one of those wanted, None if none is found.

    All exercises of one maker have one topic and one supply; their grades may differ, and `OTHERS` of another grade are enough
    to give it up.
    """
    others = 0
    for _ in range(TRIES):
        try:
            made = kind(random)
        except Unclear:
            continue
        if not fits(made):
            return None
        if grades and made.grade not in grades:
            others += 1
            if others == OTHERS:
                return None
        elif _asked(made) not in seen:
            return made
    return None


def sheet(made, cells=True) -> list:
    """Return the blocks of the sheet: the questions, with room to work and, with `cells`, to answer."""
    return [paragraph(SAFETY), paragraph(f"{TAKES} Carry more figures than the answer asks for, and round at the "
                                          "end."), *(
        together([_heading(n, e), paragraph(e.text), table(f"Given in exercise {n}", ("what", "value"), e.given),
                  paragraph("Working:"), ruled(ROOM[e.grade]), *([answer_cells([(a, (a.name, BLANK, a.unit)) for a in e.answers],
                                                                                ("answer", "value", "unit"))] if cells else [])])
        for n, e in enumerate(made, 1))]


def answer_cells(rows, head):
    """Return the form of (answer, cells) `rows`; its column "value" is wide where an answer is in words."""
    at = head.index("value")
    return form("", head, [cells for _, cells in rows], {at: 1} if any(isinstance(a.value, str) for a, _ in rows) else None)


def solutions(made, intro=True) -> list:
    """Return the blocks of the key: all answers in one table, then each exercise worked step by step."""
    head = [paragraph(SAFETY), paragraph(f"{TAKES} Figures in the steps are rounded as printed.")] if intro else []
    return [*head,
            table("Answers to the exercises", ("exercise", "grade", "marks", "answer"),
                  [(f"{n}", f"{e.grade}", f"{e.marks}", e.answer) for n, e in enumerate(made, 1)], "rrrl", {3: 1}),
            *(together([_heading(n, e), *([paragraph(f"After {e.source}.")] if e.source else []),
                        paragraph(e.text), paragraph("Given: " + "; ".join(f"{what}: {value}" for what, value in e.given) + "."),
                        bullets(e.steps), paragraph(f"Answer: {e.answer}."), paragraph(e.trap)])
              for n, e in enumerate(made, 1))]


def _heading(n, e):
    return heading(f"Exercise {n}: {e.kind} (grade {e.grade}) {mark_words(e.marks)}", 2)
