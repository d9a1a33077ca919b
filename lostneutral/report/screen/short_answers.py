"""Answers on one screen for `where`, `bound`, `deduce` and `follow`: what was asked first, what is left out counted."""

from dataclasses import replace

from lostneutral.case.model import Case
from lostneutral.consequences import cautions
from lostneutral.consequences.cautions import open_cautions
from lostneutral.report.base.cautions import SAFE_WAY
from lostneutral.report.base.words import visible, what_is_taken
from lostneutral.report.course.rows import failure_words, failures_told, happenings, seen_words
from lostneutral.report.evidence import rows as compared
from lostneutral.report.evidence.recorded import recorded_in_short
from lostneutral.report.evidence.verdict import verdict_on_cause
from lostneutral.report.evidence.where_text import CAVEAT, UNRANKED, consequence, reading_to_take, standing
from lostneutral.report.ranges import rows as ranged
from lostneutral.report.screen.lines import table_text, width_of, wrapped

MORE = "Everything, with what was assumed and the cautions in full: --full."
MOST_LOCATIONS, MOST_CAUSES, MOST_LINES, MOST_LOADS, MOST_MOMENTS, MOST_FAILURES = 3, 5, 6, 8, 9, 6
LEAST = 0.001  #: posterior probability from which on a cause is shown


def where_in_short(case: Case, found, width: int = 80) -> str:
    """Return the leading locations of the fault, and the reading that would best tell them apart."""
    shown = [o for o in found.outcomes if not found.observed or o.support >= LEAST][:MOST_LOCATIONS]
    body = [line for rank, o in enumerate(shown, 1) for line in wrapped(
        f"{rank}. {standing(found, o)}{visible(o.place.words)}: {visible(consequence(case, o))}.", width, "   ")]
    left = len(found.outcomes) - len(shown)
    why = [] if found.observed else [UNRANKED]
    why += found.notes[:3]
    why += recorded_in_short(case)
    why += [f"No place is named as leading. {visible(found.declined)}"] if found.declined else []
    parts = [
        _said([*_title(f"Possible location of the fault: {case.title}", width), *why], width),
        "\n".join([*body, *_left(left, "more place", ", less probable" if found.observed else "", width)]),
        _said([reading_to_take(found, 2), SAFE_WAY] if found.next_reading else [], width),
        _said(_sentences(CAVEAT)[1:] if found.observed else [], width),
    ]
    return _screen(parts, open_cautions(case, "short"), width)


def ranges_in_short(result, width: int = 80) -> str:
    """Return the range of the highest voltage, what is certain, and each line and load with its range."""
    case, found = result.case, result.ranges
    lines, loads = ranged.range_phase_rows(found), ranged.range_load_rows(found)
    parts = [
        _said([*_title(case.title, width), f"Fault considered: {' '.join(ranged.fault_words(case))}"], width),
        _said([ranged.likely_words(found), ranged.guarantee_words(found), *ranged.not_used_words(case)], width),
        _rows(("line, V", "at", "least", "5 %", "50 %", "95 %", "most"), lines, "llrrrrr", width, MOST_LINES, "more line"),
        _rows(("load, V across it", "on", "5 %", "50 %", "95 %", "above limits", "below limits"), loads, "lrrrrrr", width, MOST_LOADS,
              "more load"),
    ]
    return _screen(parts, open_cautions(case, "short"), width)


def deduction_on_screen(result, width: int = 80) -> str:
    """Return what the observations support, the leading causes, what no cause explains and the most useful further reading."""
    case, found = result.case, result.deduction
    likely = max(sum(w.posterior >= LEAST for w in found.rivals), 2)
    parts = [
        _said(_title(case.title, width), width),
        _said([*verdict_on_cause(found), *recorded_in_short(case)], width),
        _rows(("cause", "prior", "posterior", "LR", "support"), compared.rival_rows(found), "lrrrl", width, min(likely, MOST_CAUSES), "more cause"),
        _said([text for text in (compared.asked_words(case, found),) if text], width),
        "\n".join([_said([*([compared.IN_ORDER] if found.next_readings else []), *(f"- {text}" for text in compared.next_words(found, 1, 2))], width),
                   *_left(len(found.next_readings) - 1, "more reading", "", width)]),
        _said([_sentences(compared.PURPOSE)[-1]], width),
    ]
    return _screen(parts, open_cautions(case, "short"), width)


def course_in_short(result, width: int = 80) -> str:
    """Return the sequence of events with the phase voltages after each, and the failures to be expected."""
    case, courses = result.case, result.courses
    found, failing = _at_one_time(happenings(case, courses.central)), failures_told(case, courses)
    said, kept = [], [h for h in found[MOST_MOMENTS:] if h.again or not h.calculated][-MOST_MOMENTS:]  # what repeats, and events, are told whatever lies before
    for happening in (*found[:MOST_MOMENTS], *kept):
        worst = " ".join(seen_words(case, happening, 1))
        said.append(wrapped(f"{happening.when}: {visible(happening.what)}. {visible(worst)}", width, "  "))
    said.insert(MOST_MOMENTS, _left(len(found) - MOST_MOMENTS - len(kept), "more moment", "", width))
    told = [f"- {f.load}{f': {f.part}' if f.part else ''}: {failure_words(f)}" for f in failing[:MOST_FAILURES]]
    parts = [
        _said([*_title(case.title, width), f"Fault considered: {' '.join(what_is_taken(case))}"], width),
        "\n".join(line for lines in said for line in lines),
        "\n".join([*wrapped("Expected failures, time after the start, by calculation", width),
                   *(line for text in told for line in wrapped(visible(text), width, "  ")),
                   *_left(len(failing) - MOST_FAILURES, "more failure", "", width)]) if told else "",
    ]
    return _screen(parts, cautions(case, "short"), width)


def _at_one_time(found):
    """Return the moments with those of one time told together: what follows is that of the last."""
    told = []
    for happening in found:
        if told and told[-1].time == happening.time and told[-1].time > 0 and not (happening.again or told[-1].again):
            happening = replace(happening, what=f"{told.pop().what}; {happening.what}")
        told.append(happening)
    return tuple(told)


def _title(title, width):
    return [title, "=" * min(width, width_of(visible(title)))]


def _said(texts, width):
    return "\n".join(line for text in texts for line in wrapped(visible(text), width, "  " if text.startswith("- ") else ""))


def _rows(head, body, align, width, most, one):
    """Return the first rows of a table, the others counted; nothing without rows."""
    if not body:
        return ""
    return "\n".join([table_text(head, list(body)[:most], align, width, lambda text, _: text, (0, -1)), *_left(len(body) - most, one, "", width)])


def _left(count, one, how, width):
    return wrapped(f"{count} {one}{'s' * (count > 1)}{how}.", width) if count > 0 else []


def _sentences(text):
    return [f"{part.rstrip('.')}." for part in text.split(". ")]


def _screen(parts, short, width):
    foot = "\n".join([*wrapped("Cautions: " + " ".join(short), width), *wrapped(MORE, width)])
    return "\n\n".join([*(part for part in parts if part), foot]) + "\n"
