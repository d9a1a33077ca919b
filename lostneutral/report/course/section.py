"""The report's section on the course of the incident in time."""

from lostneutral.report.base.blocks import bullets, figure, heading, table
from lostneutral.report.course import figures as course_figures
from lostneutral.report.course.rows import (
    MOST_MOMENTS,
    failure_time,
    failures_told,
    happenings,
    moments_untold,
    notes,
    seen_words,
)


def course(result):
    """Return the blocks of the course; nothing if it was not followed."""
    if result.courses is None:
        return []
    case, courses = result.case, result.courses
    repeats = " Between two shaded lines: what repeats, from its lowest to its highest." if courses.central.repetitions else ""
    return [heading("Calculated course of the incident"), bullets(notes(case, courses)),
            _time_line(case, courses.central),
            figure(course_figures.track(result), f"Movement of the {course_figures.neutral_words(case)} over "
                   f"{course_figures.triangle_words(case)}, true to scale. The numbers are those of the table."),
            figure(course_figures.voltages_in_time(result), "Line-to-neutral voltage against time, over the whole "
                                                            "period. "
                   f"The dotted band is the supply band, the broken line the line-to-line voltage.{repeats}"),
            figure(course_figures.strips(result), "Condition of each load. White: running or off; dotted: voltage below limits; hatched: above "
                   f"limits; crossed: failed{'; upright lines: changing again and again' if repeats else ''}."), *_failures(case, courses)]


def _time_line(case, central):
    found = happenings(case, central)
    body = [(str(n + 1), h.when, h.what, " · ".join(seen_words(case, h))) for n, h in
            enumerate(found[:MOST_MOMENTS])]
    if more := moments_untold(len(found), MOST_MOMENTS):
        body.append(("", "", more, ""))
    return table("Sequence of events and resulting phase voltages (V to neutral), by calculation",
                 ("", "time", "event", "voltages"), body, "rrll", {2: 1, 3: 1.4})


def _failures(case, courses):
    body = [(f.load, f.part, *(failure_time(t) for t in (f.central, f.early, f.late)))
            for f in failures_told(case, courses)]
    return [table("Expected failures, time after the start",
                  ("load", "part", "likeliest course", "early course", "late course"), body, "lllll")] if body else []
