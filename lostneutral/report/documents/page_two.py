"""Page two of the client's report: every item, observations, what to test and keep, what it all rests on."""

from lostneutral.claims.model import Kind
from lostneutral.consequences.pulses import trusted
from lostneutral.report.base import rows
from lostneutral.report.base.blocks import figure, heading, paragraph, side_by_side, table
from lostneutral.report.course import figures as course_figures
from lostneutral.report.documents.advice import advice, what_to_tell
from lostneutral.report.documents.page_one import MOST_ITEMS, suffering
from lostneutral.words.amounts import items_of, plain
from lostneutral.words.conclusion import not_explained
from lostneutral.words.items import OUTCOMES
from lostneutral.words.language import tell, to_tell
from lostneutral.words.observed import observation
from lostneutral.words.schedule import schedule

MOST_ROWS = 20  #: of the full list; beyond that, outcomes are counted
MOST_OBSERVED = 10
MOST_BARS = 8
SYSTEMS = to_tell({"three-phase": "three-phase", "split-phase": "split-phase"})


def page_two(result, pictures, others_only=False):
    """Return the blocks of page two.

    `pictures`: the figure of the items' voltages and the blocks of `time_bars`, as far as there is room; `others_only`: of the items
    those that page one has not listed.
    """
    return [
        *_items(result, others_only),
        *pictures,
        *_observed(result),
        *_not_explained(result),
        side_by_side(
            [
                (tell("Inspect and test before switching on"), what_to_tell(advice(result, "before"))),
                (tell("Keep as evidence"), what_to_tell(advice(result, "keep"))),
                (tell("What would prevent it: options and their limits"), what_to_tell(advice(result, "prevent"))),
                (tell("Basis and limits of the calculation"), basis(result)),
            ]
        ),
    ]


def _items(result, others_only):
    found = schedule(result.claims, result.verdicts)
    made = [heading(tell("Every item of equipment"))]
    if others_only:
        before = suffering(result)[:MOST_ITEMS]
        found, made = [row for row in found if row not in before], [heading(tell("Every other item of equipment"))]
    if not found:
        return []
    if len(found) > MOST_ROWS:
        counts = {}
        for row in found:
            counts[row.outcome] = counts.get(row.outcome, 0) + len(row.items)
        return [
            *made,
            table("", (tell("expected effect"), tell("items")), [(tell(OUTCOMES[o]), str(n)) for o, n in counts.items()], "lr"),
            paragraph(tell("The annex lists each of them.")),
        ]
    return [
        *made,
        table(
            "",
            (tell("item"), "V", tell("expected effect"), tell("why")),
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
    kept, left = names[:MOST_BARS], len(result.verdicts) - min(len(names), MOST_BARS)
    caption = tell("Items whose condition would change over the period, by calculation.")
    if left:
        caption += " " + (tell("1 other item: see the list above.") if left == 1 else
                          tell("{number} other items: see the list above.", number=left))
    return [figure(course_figures.strips(result, kept), caption)]


def _observed(result):
    found = [c for c in result.claims if c.kind is Kind.OBSERVED]
    if not found:
        return []
    body = [observation(c) for c in sorted(found, key=lambda c: c.facts["agrees"] is not False)]
    made = [
        heading(tell("Observed, and calculated for it"), 2),
        table("", (tell("observed"), tell("calculated"), tell("agreement")), body[:MOST_OBSERVED], "lll", {0: 1.2, 1: 1.2}),
    ]
    if len(body) > MOST_OBSERVED:
        left = len(body) - MOST_OBSERVED
        made.append(paragraph(tell("1 more observation in the annex.") if left == 1 else
                              tell("{number} more observations in the annex.", number=left)))
    return made


def _not_explained(result):
    texts = not_explained(result)
    return [heading(tell("Not explained by this fault alone"), 2), paragraph(" ".join(texts))] if texts else []


def basis(result):
    """Return what the calculation rests on and where its limits are, in five sentences."""
    case, count = result.case, len(result.assumptions)
    s, (low, high) = case.supply, rows.outer_limits(case)
    points = tell("1 point") if len(case.points) == 1 else tell("{number} points", number=len(case.points))
    given = tell(
        "Given: a {system} supply, {volts} V line to neutral, {hertz} Hz, {earthing}; {points} of the wiring, {items} of equipment, as "
        "described to the author.",
        system=tell(SYSTEMS[s.system]), volts=plain(s.nominal), hertz=plain(s.frequency),
        earthing=tell("earthing {system}", system=s.earthing) if s.earthing else tell("earthing not known"),
        points=points, items=items_of(len(case.loads)),
    )
    assumed = tell("Nothing had to be assumed beyond what was given.")
    if count == 1:
        assumed = tell("Assumed: 1 value that was not given; the annex lists them.")
    elif count:
        assumed = tell("Assumed: {number} values that were not given; the annex lists them.", number=count)
    how = tell("of the waveforms, because rectifier loads decide") if trusted(result) else tell("with sine waves")
    return (
        given,
        assumed,
        tell(
            "Calculated: steady states {how}; effects by published laws of wear, for new items, no protection operating, the last "
            "condition lasting. A time to failure is an order of magnitude; aged parts fail sooner.",
            how=how,
        ),
        tell("Compared with the limits of {limits} for normal operation ({low} to {high} V), as a yardstick only.",
             limits=s.limits, low=plain(low, ".4g"), high=plain(high, ".4g")) if rows.band_checked(case) else
        tell("Compared with the limits of {limits} for normal operation, as a yardstick only.", limits=s.limits),
        tell(
            "The result depends most on which items were on, on which line each is, where the fault is, and whether the conductor is open. "
            "Surges, flicker and the first two cycles are not included."
        ),
    )
