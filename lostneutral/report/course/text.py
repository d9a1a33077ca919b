"""A course as text for a terminal: cautions, a time line in words, expected failures, and the cautions in full."""

import textwrap

from lostneutral.consequences import cautions
from lostneutral.report.base.cautions import in_short
from lostneutral.report.base.words import visible, what_is_taken
from lostneutral.report.course.rows import failure_words, failures_told, happenings, moments_untold, notes, seen_words

MOST_MOMENTS = 60


def course_text(result, width: int = 80) -> str:
    """Return the course of `result` as lines of at most `width` columns where the words allow."""
    case, courses = result.case, result.courses
    title = visible(case.title)
    parts = [[title, "=" * min(width, len(title)), visible(f"Fault considered: {' '.join(what_is_taken(case))}")],
             [in_short(cautions(case, "short"))], _time_line(case, courses.central), _failures(case, courses), ["Notes", *(f"- {text}" for text in notes(case, courses))],
             ["Cautions", *(f"- {visible(text)}" for text in result.cautions)]]
    return "\n\n".join("\n".join(line for text in part for line in _wrapped(text, width)) for part in parts if part) + "\n"


def _time_line(case, course):
    found = happenings(case, course)
    lines = ["Sequence of events and resulting phase voltages (V to neutral), by calculation"]
    for number, happening in enumerate(found[:MOST_MOMENTS]):
        lines.append(f"{happening.when:>12}  {visible(happening.what)}")
        nothing_between = number + 1 < len(found) and found[number + 1].time == happening.time and number > 0
        if not nothing_between:
            lines += [f"{'':14}{visible(text)}" for text in seen_words(case, happening)]
    more = moments_untold(len(found), MOST_MOMENTS)
    return lines + ([f"{'':14}{more}"] if more else [])


def _failures(case, courses):
    found = failures_told(case, courses)
    if courses.early is None:
        return []
    if not found:
        return ["Expected failures: none within the period, in any of the courses."]
    lines = ["Expected failures, time after the start: likeliest course (other courses)"]
    for f in found:
        part = f": {f.part}" if f.part else ""
        lines.append(f"- {visible(f.load)}{part}: {failure_words(f)}")
    return lines


def _wrapped(text, width):
    inner = text.lstrip()
    lead = text[: len(text) - len(inner)]
    hang = " " * 14 if lead else "  "
    return textwrap.wrap(inner, max(width, 30), initial_indent=lead, subsequent_indent=hang) or [""]
