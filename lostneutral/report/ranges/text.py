"""Ranges as text for a terminal."""

from lostneutral.consequences.cautions import open_cautions
from lostneutral.report.base.cautions import in_short
from lostneutral.report.base.words import visible
from lostneutral.report.ranges import rows
from lostneutral.report.screen.lines import table_text, width_of, wrapped


def ranges_text(result, width: int = 80) -> str:
    """Return the ranges of `result` as lines of at most `width` columns where the words allow."""
    case, found = result.case, result.ranges
    heads, chances = rows.phase_chances(found)
    parts = [
        _lines([case.title, "=" * min(width, width_of(visible(case.title))), f"Fault considered: {' '.join(rows.fault_words(case))}"], width),
        _lines([in_short(open_cautions(case, "short"))], width),
        _lines(["Range, with the unknown quantities sampled", rows.likely_words(found)], width),
        _lines(["Certain, whatever the loads", rows.guarantee_words(found)], width),
        _tabled("Unknown quantities and assumed distributions", ("unknown", "assumed"), rows.unknown_rows(case), "ll",
                width),
        _tabled("Line-to-neutral voltage, V: percentiles of the samples",
                ("line", "at", "least", "5 %", "50 %", "95 %", "most"), rows.range_phase_rows(found), "llrrrrr", width, (1,)),
        _tabled("Probability of exceeding a limit", heads, chances, "llrrrr", width, (1, 3)),
        _items(rows.range_limit_words(found), width),
        _tabled("Loads, V across each while it is on",
                ("load", "on", "5 %", "50 %", "95 %", "above limits", "below limits"), rows.range_load_rows(found), "lrrrrrr", width, (0,)),
        _tabled("Outcome for each load while on", ("load", "fails", "outcomes"), rows.outcome_rows(found),
                "lrl", width),
        _tabled("Facts that would narrow the range of the highest voltage (share: of its variance that this unknown "
                "alone explains)",
                ("unknown", "share", "range if known", "5 to 95 % then"), rows.influence_rows(found), "lrrl", width),
        "Notes\n" + _items(rows.range_notes(result), width), "Cautions\n" + _items(result.cautions, width)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _lines(texts, width):
    return "\n".join(line for text in texts for line in wrapped(visible(text), width))


def _items(texts, width):
    return "\n".join(line for text in texts for line in wrapped(f"- {visible(text)}", width, "  "))


def _tabled(title, head, body, align, width, wraps=(0, -1)):
    if not body:
        return ""
    return "\n".join([*wrapped(title, width), table_text(head, body, align, width, lambda text, _: text, wraps)])
