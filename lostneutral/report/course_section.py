"""The report's section on the course of the incident in time."""

from lostneutral.report import course_figures
from lostneutral.report.blocks import bullets, figure, heading, table
from lostneutral.report.course_rows import clock, failure_time, failures, happenings, notes, seen_words

MOST_MOMENTS = 40


def course(result):
    """Return the blocks of the course; nothing if it was not followed."""
    if result.courses is None:
        return []
    case, courses = result.case, result.courses
    return [heading("Course of the incident"), bullets(notes(case, courses)), _time_line(case, courses.central),
            figure(course_figures.track(result), "The star point's way over the voltage triangle, true to scale. The "
                   "numbers are those of the table."),
            figure(course_figures.voltages_in_time(result), "Line to neutral against time, from its first moments to its "
                   "end. The dotted band is the supply band, the broken line the voltage between lines."),
            figure(course_figures.strips(result), "What each load did. White: running or off; dotted: too low, dim; "
                   "hatched: too high, glaring; crossed: failed."), *_failures(case, courses)]


def _time_line(case, central):
    found = happenings(case, central)
    body = [(str(n + 1), clock(h.time), h.what, " · ".join(seen_words(case, h))) for n, h in
            enumerate(found[:MOST_MOMENTS])]
    if len(found) > MOST_MOMENTS:
        body.append(("", "", f"… and {len(found) - MOST_MOMENTS} more, in the result file", ""))
    return table("What happened, and what each phase then saw (V line to neutral)",
                 ("", "time", "what happened", "then"), body, "rrll", {2: 1, 3: 1.4})


def _failures(case, courses):
    body = [(f.load, f.part, *(failure_time(t) for t in (f.central, f.early, f.late)))
            for f in failures(case, courses)]
    return [table("What fails, and how long after the start", ("load", "part", "likeliest", "early course", "late course"),
                  body, "lllll")] if body else []
