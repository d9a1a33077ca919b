"""Page two of the client's report: every item, observations, what to test and keep, what it all rests on."""

from lostneutral.claims.model import Kind
from lostneutral.consequences.pulses import trusted
from lostneutral.report.base import rows
from lostneutral.report.base.blocks import figure, heading, paragraph, side_by_side, table
from lostneutral.report.course import figures as course_figures
from lostneutral.report.documents.advice import advice
from lostneutral.report.documents.page_one import picture
from lostneutral.words.amounts import counted
from lostneutral.words.conclusion import not_explained
from lostneutral.words.english import observation
from lostneutral.words.items import OUTCOMES
from lostneutral.words.schedule import schedule

MOST_ROWS = 20  #: of the full list; beyond that, outcomes are counted
MOST_OBSERVED = 10
MOST_BARS = 8


def page_two(result, drawn=True, bars=True, by_outcome=False):
    """Return the blocks of page two.

    `drawn`: with the figure of the items' voltages; `bars`: with the time bars of the course; `by_outcome`: items
    counted, not listed.
    """
    return [
        *_items(result, by_outcome),
        *([picture(result)] if drawn else []),
        *(time_bars(result) if bars else []),
        *_observed(result),
        *_not_explained(result),
        side_by_side(
            [
                ("Inspect and test before switching on", advice(result, "before")),
                ("Keep as evidence", advice(result, "keep")),
                ("What would prevent it: options and their limits", advice(result, "prevent")),
                ("Basis and limits of the calculation", basis(result)),
            ]
        ),
    ]


def _items(result, by_outcome):
    found = schedule(result.claims, result.verdicts)
    if not found:
        return []
    made = [heading("Every item of equipment")]
    if len(found) > MOST_ROWS or by_outcome:
        counts = {}
        for row in found:
            counts[row.outcome] = counts.get(row.outcome, 0) + len(row.items)
        return [
            *made,
            table("", ("expected effect", "items"), [(OUTCOMES[o], str(n)) for o, n in counts.items()], "lr"),
            paragraph("The annex lists each of them."),
        ]
    return [
        *made,
        table(
            "",
            ("item", "V", "expected effect", "why"),
            [(row.names(), row.voltage.removesuffix(" V"), row.effect, row.why) for row in found],
            "lrll",
            {0: 1.9, 2: 1.2, 3: 1.5},
        ),
    ]


def time_bars(result):
    """Return the bars of the items whose condition changes in the course; nothing where none does."""
    names = course_figures.changing(result) if result.courses is not None else []
    if not names:
        return []
    kept, left = names[:MOST_BARS], len(result.case.loads) - min(len(names), MOST_BARS)
    more = f" {counted(left, 'other item')}: see the list above." if left else ""
    return [
        figure(
            course_figures.strips(result, kept),
            f"Items whose condition would change over the period, by calculation.{more}",
        )
    ]


def _observed(result):
    found = [c for c in result.claims if c.kind is Kind.OBSERVED]
    if not found:
        return []
    body = [observation(c) for c in sorted(found, key=lambda c: c.facts["agrees"] is not False)]
    made = [
        heading("Observed, and calculated for it", 2),
        table("", ("observed", "calculated", "agreement"), body[:MOST_OBSERVED], "lll", {0: 1.2, 1: 1.2}),
    ]
    if len(body) > MOST_OBSERVED:
        made.append(paragraph(f"{counted(len(body) - MOST_OBSERVED, 'more observation')} in the annex."))
    return made


def _not_explained(result):
    texts = not_explained(result)
    return [heading("Not explained by this fault alone", 2), paragraph(" ".join(texts))] if texts else []


def basis(result):
    """Return what the calculation rests on and where its limits are, in five sentences."""
    case = result.case
    s, (low, high) = case.supply, rows.band(case)
    given = (
        f"Given: a {s.system} supply, {s.nominal:g} V line to neutral, {s.frequency:g} Hz,"
        f" {'earthing ' + s.earthing if s.earthing else 'earthing not known'}; {counted(len(case.points), 'point')} of"
        f" the wiring, {counted(len(case.loads), 'item')} of equipment, as described to the author."
    )
    count = len(result.assumptions)
    assumed = (
        f"Assumed: {counted(count, 'value')} that {'was' if count == 1 else 'were'} not given; the annex lists them."
        if count
        else "Nothing had to be assumed beyond what was given."
    )
    how = "of the waveforms, because rectifier loads decide" if trusted(result) else "with sine waves"
    return (
        given,
        assumed,
        (
            f"Calculated: steady states {how}; effects by published laws of wear, for new items, no protection"
            " operating, the last condition lasting. A time to failure is an order of magnitude; aged parts fail"
            " sooner."
        ),
        (
            f"Compared with the limits of {case.supply.limits} for normal operation ({low:.4g} to {high:.4g} V), as a"
            " yardstick only."
        ),
        (
            "The result depends most on which items were on, on which line each is, where the fault is, and whether the"
            " conductor is open. Surges, flicker and the first two cycles are not included."
        ),
    )
