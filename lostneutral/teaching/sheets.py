"""Exercises on sheets of their own: a numbered one for each pupil, one key for all, and a table for marking."""

import csv
import io

from lostneutral.frozen import dataclass
from lostneutral.report.base.blocks import heading, new_page, paragraph, table
from lostneutral.report.base.pdf import set_pdf
from lostneutral.teaching.blanks import BLANK
from lostneutral.teaching.exercises import SAFETY, TAKES, answer_cells, exercises, sheet, solutions, topic_of
from lostneutral.teaching.exercises.task import Exercise

COLUMNS = ("sheet", "exercise", "topic", "grade", "supply", "answer", "value", "unit", "tolerance", "marks")


@dataclass(frozen=True)
class Sheets:
    """The exercises of each sheet, the first of number 1; all of one choice, each sheet from a seed of its own."""

    sheets: tuple[tuple[Exercise, ...], ...]
    title: str = "Exercises on the loss of the neutral"


def sheets(count: int, number: int, seed: int, labels: str = "L1/L2/L3", **choice) -> Sheets:
    """Return `count` sheets of `number` exercises; `choice` as of `exercises`. Sheet 1 is the one of `seed`, the next of `seed` + 1 …

    UsageError as of `exercises`.
    """
    return Sheets(tuple(exercises(number, seed + at, labels, **choice) for at in range(count)))


def sheets_pdf(made: Sheets) -> bytes:
    """Return all sheets as one PDF, each from a new page on, with its number, a line for the name and a grid of answers."""
    blocks, many = [], len(made.sheets) > 1
    for number, tasks in enumerate(made.sheets, 1):
        blocks += [new_page()] * (number > 1)
        blocks.append(heading(f"Sheet {number}" if many else "Exercises"))
        blocks += [
            paragraph("Name: ______________________________     Class: ______________     Date: ______________"),
            *sheet(tasks, cells=False),
            heading(f"Answers of sheet {number}" if many else "Answers", 2),
            answer_cells(
                [
                    (a, (str(n), a.name, BLANK, a.unit, f"of {e.marks}" if a is e.answers[0] else ""))
                    for n, e in enumerate(tasks, 1)
                    for a in e.answers
                ],
                ("exercise", "answer", "value", "unit", "marks"),
            ),
        ]
    return _pdf(made.title, blocks)


def key_of_sheets_pdf(made: Sheets) -> bytes:
    """Return the key to all sheets as one PDF: every answer in one grid, then each sheet worked step by step."""
    many = len(made.sheets) > 1
    rows = [
        (str(k), str(n), e.answer, str(e.marks))
        for k, tasks in enumerate(made.sheets, 1)
        for n, e in enumerate(tasks, 1)
    ]
    blocks = [paragraph(SAFETY), paragraph(TAKES)]
    if many:
        blocks.append(table("Answers to all sheets", ("sheet", "exercise", "answer", "marks"), rows, "rrlr", {2: 1}))
    for number, tasks in enumerate(made.sheets, 1):
        blocks += [new_page()] * many
        blocks.append(heading(f"Sheet {number}" if many else "Exercises"))
        blocks += solutions(tasks, intro=False)
    return _pdf(f"Tutor's key: {made.title}", blocks)


def _pdf(title, blocks):
    return set_pdf(title, blocks, under_title="", footer=title, description=title)


def answers_csv(made: Sheets) -> bytes:
    """Return a row for each answer, for marking by a spreadsheet; `tolerance` is half a unit of the last place asked for."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for number, tasks in enumerate(made.sheets, 1):
        for n, e in enumerate(tasks, 1):
            for a in e.answers:
                words = isinstance(a.value, str)
                value = a.value if words else f"{a.value:.{a.decimals}f}"
                writer.writerow(
                    (
                        number,
                        n,
                        topic_of(e),
                        e.grade,
                        e.system,
                        a.name,
                        value,
                        a.unit,
                        "" if words else f"{0.5 * 10**-a.decimals:g}",
                        e.marks if a is e.answers[0] else "",
                    )
                )
    return out.getvalue().encode("utf-8")
