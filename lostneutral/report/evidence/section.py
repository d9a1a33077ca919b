"""A deduction as a document of its own, and as a section of a report: given, assumed, computed, concluded."""

from lostneutral.report.base.blocks import box, bullets, figure, heading, new_page, paragraph, table
from lostneutral.report.base.pdf import date_words, set_pdf
from lostneutral.report.documents import concluded
from lostneutral.report.evidence import figures as evidence_figures
from lostneutral.report.evidence import rows
from lostneutral.report.evidence.recorded import (
    calculated_of_cause,
    recorded_in_short,
    recorded_over_calculated,
    recording_words,
    shown_words,
)
from lostneutral.report.evidence.verdict import verdict_on_cause

MOST_LINES = 24  #: lines whose ranges are drawn


def deduction_pdf(result) -> bytes:
    """Return the deduction of `result` as a PDF by itself, tagged and dated as a report, the same bytes each time."""
    case, dated = result.case, date_words(result.case.date)
    made = [heading("Summary"), box("What the observations support", (*verdict_on_cause(result.deduction), *recorded_in_short(case))),
            paragraph(rows.PURPOSE), *concluded.cautions(result), new_page(), *deduction(result), *concluded.repeat(result, "investigator", "deduce CASE.toml -o FILE"),
            *concluded.case_text(result)]
    return set_pdf(case.title, made, date=case.date, paper=case.document.paper, under_title=f"{rows.TITLE} · {dated}",
                   footer=f"Computed by lostneutral {result.software.get('version', '')} · {dated} · "
                          f"case {case.sha256[:12] or 'without a file'}",
                   description=case.description or case.title)


def deduction(result):
    """Return the section on possible causes in full; without a deduction why there is none, or nothing."""
    case, found = result.case, result.deduction
    if found is None:
        return _not_weighed(result)
    return [
        heading(rows.TITLE), paragraph(rows.PURPOSE),
        heading("Given", 2), _log(case), *map(paragraph, recording_words(case)),
        heading("Assumed", 2),
        table("Assumptions beyond the case", ("assumption", "value", "source"), rows.assumed_rows(case, found),
              wide={0: 1.2, 1: 1.6, 2: 1.6}),
        heading("Computed", 2), *map(paragraph, rows.method_words(found)), *_causes(found),
        table("Kinds of cause, each against all others together",
              ("kind", "prior", "posterior", "likelihood ratio", "in words"), rows.kind_rows(found), "lrrrl", {0: 1.4, 4: 1.4}),
        *_items(found), *_recorded(case, found), *_asked(found), *_lines(case, found), *_unknowns(found),
        table("Effect of omitting each observation", ("omitted", "leading cause", "probability", "with all"),
              rows.left_out_rows(found), "llrr", {0: 1.5, 1: 1}),
        heading("Concluded from the observations", 2), *map(paragraph, (*verdict_on_cause(found), *recorded_in_short(case))),
        bullets((*rows.prior_words(found), *rows.turning_words(found))),
        *_open(case, found),
    ]


def deduction_in_short(result):
    """Return what a client needs of it: the observations, what they support, what is open; no prior or posterior."""
    case, found = result.case, result.deduction
    if found is None:
        return _not_weighed(result)
    return [heading(rows.TITLE), box("What the observations support", (*verdict_on_cause(found, probability=False), *recorded_in_short(case))),
            paragraph(rows.PURPOSE), _log(case), *_causes(found, probability=False), *_items(found), *_recorded(case, found),
            *_asked(found)[:1], *_lines(case, found), *_open(case, found),
            paragraph("The assumptions and the method are given in the report for an investigator.")]


def _not_weighed(result):
    if not result.not_weighed:
        return []
    return [heading(rows.TITLE), paragraph("The observations could not be compared with possible causes. "
                                           f"{result.not_weighed}")]


def _log(case):
    return table("Evidence log", ("observation", "when", "who", "with what", "kept"), rows.log_rows(case),
                 wide={0: 2, 1: 1, 2: 1, 3: 1.4, 4: 1.2})


def _causes(found, probability=True):
    drawn = figure(evidence_figures.rival_causes(found), "Likelihood of the observations under each cause, relative "
                                                         "to the cause "
                   "that fits best. Bands: the words for a likelihood ratio.")
    body = rows.rival_rows(found)
    if not probability:
        return [drawn, table("Possible causes, with the likelihood ratio of the best fitting cause to each",
                             ("cause", "likelihood ratio", "support for the best"),
                             [(row[0], *row[3:]) for row in body], "lrl", {0: 2, 2: 1})]
    return [drawn, table("Possible causes: prior and posterior probability (which rest on the priors listed), and "
                         "likelihood ratio "
                         "of the best fitting cause to each", ("cause", "prior", "posterior", "likelihood ratio",
                                                               "support for the best"), body, "lrrrl", {0: 2, 4: 1})]


def _items(found):
    names, beside = rows.item_rows(found)
    return [paragraph("Observation by observation. " + " ".join(f"[{n}] {name}." for n, name in enumerate(names, 1))),
            table("Predicted value from the other observations (5 to 95 %), and whether the item fits",
                  ("observation", *(f"[{n}]" for n in range(1, len(names) + 1))), beside,
                  wide={0: 1.3} | dict.fromkeys(range(1, len(names) + 1), 1))]


def _recorded(case, found):
    if not case.recordings:
        return []
    first = next((w for w in found.rivals if any(f.middle is not None for f in w.fits)), found.rivals[0])
    drawn = recorded_over_calculated(case, calculated_of_cause(case, first), f"“{first.words}”")
    return [figure(drawn, f"{shown_words(case)} under the leading cause from the other observations (5 to 95 %).")]


def _asked(found):
    if not found.asked:
        return []
    return [table("Given everything observed: lowest and highest line-to-neutral voltage of any phase, and metalwork to earth, "
                  "V: middle (5 to 95 %)", ("under", "lowest", "highest", "metalwork"), rows.asked_rows(found), "lrrr", {0: 2}),
            table("Lowest and highest voltage to neutral of each phase at any point, V: middle (5 to 95 %)",
                  ("under", "phase", "lowest", "highest"), rows.phases_asked_rows(found), "llrr", {0: 2})]


def _lines(case, found):
    drawn = [row for row in found.voltages if row[2] is not None]
    picture = [figure(evidence_figures.voltages_given_evidence(case, found), "Line-to-neutral voltages given the observations, over "
                                                              "all causes.")]
    return [*(picture if 0 < len(drawn) <= MOST_LINES else []),
            table("Line-to-neutral voltages given the observations, V", ("line", "at", "5 %", "50 %", "95 %"),
                  rows.voltage_rows(found), "llrrr", {1: 1})]


def _unknowns(found):
    if not found.unknowns:
        return []
    together = rows.together_words(found)
    return [table("Unknown quantities, as assumed and given the observations (5 to 95 %)",
                  ("unknown", "prior", "posterior"), rows.known_rows(found), wide={0: 1.4, 1: 1, 2: 1}), *([paragraph(together)] if together else [])]


def _open(case, found):
    missing = rows.missing(case, found)
    return [paragraph("Next steps, in this order:"), bullets(rows.next_steps(found)),
            paragraph("Most useful further reading, and how to take it:"), bullets(rows.next_words(found)),
            *([paragraph("Missing:"), bullets(missing)] if missing else []),
            paragraph(rows.not_weighed_words()),
            table("Causes not considered in the comparison", ("cause", "indications for", "indications against"),
                  rows.not_weighed_rows(), wide={0: 1, 1: 1.4, 2: 1.2})]
