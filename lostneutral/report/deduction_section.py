"""A deduction as a document of its own, and as a section of a report: given, assumed, computed, concluded."""

from lostneutral.report import concluded, evidence_figures
from lostneutral.report import deduction_rows as rows
from lostneutral.report.blocks import box, bullets, figure, heading, new_page, paragraph, table
from lostneutral.report.pdf import date_words, set_pdf

MOST_LINES = 24  #: lines whose ranges are drawn


def deduction_pdf(result) -> bytes:
    """Return the deduction of `result` as a PDF by itself, tagged and dated as a report, the same bytes each time."""
    case, dated = result.case, date_words(result.case.date)
    made = [heading("In short"), box("What was seen, weighed", rows.verdict(result.deduction)), paragraph(rows.PURPOSE), *concluded.cautions(result),
            new_page(), *deduction(result), *concluded.repeat(result, "investigator", "deduce CASE.toml -o FILE"),
            *concluded.case_text(result)]
    return set_pdf(case.title, made, date=case.date, under_title=f"Rival causes of a fault weighed · {dated}",
                   footer=f"Computed by lostneutral {result.software.get('version', '')} · {dated} · "
                          f"case {case.sha256[:12] or 'without a file'}",
                   description=case.description or case.title)


def deduction(result):
    """Return the section on rival causes in full; without a deduction why there is none, or nothing."""
    case, found = result.case, result.deduction
    if found is None:
        return _not_weighed(result)
    return [
        heading("Rival causes weighed"), paragraph(rows.PURPOSE),
        heading("Given", 2), _log(case),
        heading("Assumed", 2),
        table("Taken for granted beside the case", ("what", "how much", "from"), rows.assumed_rows(case, found),
              wide={0: 1.2, 1: 1.6, 2: 1.6}),
        heading("Computed", 2), *map(paragraph, rows.method_words(found)), *_causes(found),
        table("Kinds of cause, each against all others together", ("kind", "before", "after", "ratio", "in words"),
              rows.kind_rows(found), "lrrrl", {0: 1, 4: 1.4}),
        *_items(found), *_lines(case, found), *_unknowns(found),
        table("The answer without one observation", ("left out", "then comes first", "with", "with all"),
              rows.left_out_rows(found), "llrr", {0: 1.5, 1: 1}),
        heading("Concluded from what was seen", 2), *map(paragraph, rows.verdict(found)), bullets(rows.prior_words(found)),
        *_open(case, found),
    ]


def deduction_in_short(result):
    """Return what a client needs of it: what was seen, what that supports, and what is still open."""
    case, found = result.case, result.deduction
    if found is None:
        return _not_weighed(result)
    return [heading("Rival causes weighed"), box("What was seen, weighed", rows.verdict(found)), paragraph(rows.PURPOSE),
            _log(case), *_causes(found), *_items(found), *_lines(case, found), bullets(rows.prior_words(found)),
            *_open(case, found),
            paragraph("What was taken for granted, and how it was computed, stands in the report for an investigator.")]


def _not_weighed(result):
    if not result.not_weighed:
        return []
    return [heading("Rival causes weighed"), paragraph(f"What was seen could not be weighed. {result.not_weighed}")]


def _log(case):
    return table("Evidence log", ("observation", "when", "who", "with what", "kept"), rows.log_rows(case),
                 wide={0: 2, 1: 1, 2: 1, 3: 1.4, 4: 1.2})


def _causes(found):
    return [figure(evidence_figures.rival_causes(found), "How likely what was seen is under each cause, to the one that fits "
                   "best. Bands: the words for a likelihood ratio."),
            table("Rival causes: share of the support beforehand and given what was seen, and likelihood ratio of the best "
                  "fitting cause to each, with its support against it", ("cause", "before", "after", "ratio", "support"), rows.rival_rows(found), "lrrrl",
                  {0: 2, 4: 1})]


def _items(found):
    names, beside = rows.item_rows(found)
    return [paragraph("Item by item. " + " ".join(f"[{n}] {name}." for n, name in enumerate(names, 1))),
            table("What each cause gives by the other observations (5 to 95 %), and whether the item fits",
                  ("observation", *(f"[{n}]" for n in range(1, len(names) + 1))), beside,
                  wide={0: 1.3} | {n: 1 for n in range(1, len(names) + 1)})]


def _lines(case, found):
    drawn = [row for row in found.voltages if row[2] is not None]
    picture = [figure(evidence_figures.voltages(case, found), "Line to neutral given what was seen, over all causes.")]
    return [*(picture if 0 < len(drawn) <= MOST_LINES else []),
            table("Line to neutral given what was seen, V", ("line", "at", "5 %", "50 %", "95 %"), rows.voltage_rows(found),
                  "llrrr", {1: 1})]


def _unknowns(found):
    if not found.unknowns:
        return []
    together = rows.together_words(found)
    return [table("What was unknown, beforehand and given what was seen (5 to 95 %)", ("unknown", "beforehand", "then"),
                  rows.known_rows(found), wide={0: 1.4, 1: 1, 2: 1}), *([paragraph(together)] if together else [])]


def _open(case, found):
    missing = rows.missing(case, found)
    return [paragraph("What to read next, and how:"), bullets(rows.next_words(found)),
            *([paragraph("Missing:"), bullets(missing)] if missing else []),
            paragraph(rows.not_weighed_words()),
            table("Causes that are not weighed here", ("cause", "speaks for it", "speaks against it"), rows.not_weighed_rows(),
                  wide={0: 1, 1: 1.4, 2: 1.2})]
