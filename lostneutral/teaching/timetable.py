"""The lesson plan: minutes and marks of the parts that a lesson has."""

from lostneutral import data
from lostneutral.report.base.blocks import heading, paragraph, strong, table
from lostneutral.teaching import constructed, handout, questions
from lostneutral.teaching.quiz import statements
from lostneutral.teaching.star import star_loads


def marks_of_parts(lesson) -> dict[str, int]:
    """Return {part of the plan: marks of the questions on the sheet}."""
    found = {"readings": handout.READING_MARKS, "quiz": 2 * len(statements(lesson.bench))}
    asked = [*questions.predicting(lesson), *questions.surprise(lesson)]
    asked += questions.drawing(lesson) if "star-point" in lesson.drawn else []
    for question in asked:
        found[question.part] = found.get(question.part, 0) + question.marks
    drawn = sum(name in lesson.drawn for name in ("neutral-current", "star-point", "star-point-readings"))
    found["draw"] = found.get("draw", 0) + constructed.DRAWING_MARKS * drawn
    loads = len(star_loads(lesson.result.case)[: handout.MOST])
    found["case"] = constructed.DRAWING_MARKS if "case-readings" in lesson.drawn else loads
    return {part: n for part, n in found.items() if n}


def plan(lesson):
    """Return the lesson plan: minutes and marks of the parts that this lesson has."""
    points = marks_of_parts(lesson)
    gone = {part for part in ("draw", "surprise") if part not in points}
    rows = [e for e in data.load("lesson")["plan"]["item"] if e["part"] not in gone]
    clock, made = 0, []
    for e in rows:
        made.append((f"{clock} to {clock + e['minutes']} min", e["what"], str(points.get(e["part"], "–"))))
        clock += e["minutes"]
    return [
        heading("Lesson plan"),
        table(
            f"{clock} minutes, {sum(points.values())} marks",
            ("when", "what", "marks"),
            [*made, ("", strong("all"), strong(str(sum(points.values()))))],
            "llr",
            {1: 1},
        ),
        paragraph("Words of the lesson: " + ", ".join(e["term"] for e in handout.fitting(lesson, "vocabulary")) + "."),
    ]
