"""The list of items as CSV: one row an item, with voltage, expected effect and what was observed, for a spreadsheet."""

import csv
import io

from lostneutral.claims.model import Kind
from lostneutral.consequences.cautions import one_caution
from lostneutral.report.base.words import connection, visible
from lostneutral.words.items import OUTCOMES, part_words
from lostneutral.words.observed import observation

HEAD = (
    "item",
    "point",
    "connected",
    "count",
    "rated_V",
    "calculated_V",
    "times_rated",
    "lowest_V",
    "highest_V",
    "expected_effect",
    "worst_possible",
    "earliest_s",
    "central_s",
    "latest_s",
    "confidence",
    "component_to_inspect",
    "observed",
    "agreement",
    "premises",
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def items_csv(result) -> str:
    """Return the list as CSV (RFC 4180), a head line first, a caution last; figures with a point as decimal sign.

    Times count from the first fault, in s; empty where there is none. A text that a spreadsheet would take for a
    formula begins with an apostrophe. `premises`: the intake behind which an item is, so that a list of a whole street can
    be sorted by it.
    """
    seen, premises = {}, premises_of(result.case)
    for claim in (c for c in result.claims if c.kind is Kind.OBSERVED and c.about.what == "item"):
        observed, _, agreement = observation(claim)
        seen.setdefault(claim.about.name, []).append((observed, agreement))
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(HEAD)
    for load, v in zip(result.case.loads, result.verdicts):
        observed = seen.get(v.item, [])
        writer.writerow(
            map(
                _cell,
                (
                    v.item,
                    load.point,
                    connection(load),
                    load.count,
                    load.voltage,
                    v.volts,
                    v.ratio,
                    v.lowest,
                    v.highest,
                    OUTCOMES[v.outcome],
                    OUTCOMES[v.worst] if v.worst else "",
                    v.earliest,
                    v.central,
                    v.latest,
                    v.confidence,
                    part_words(v),
                    "; ".join(text for text, _ in observed),
                    "; ".join(text for _, text in observed),
                    premises.get(load.point, ""),
                ),
            )
        )
    writer.writerow([f"Calculated for the case as described, not measured. {one_caution()}"])
    return out.getvalue()


def premises_of(case) -> dict[str, str]:
    """Return point -> the intake that it is fed from, or is: the premises that it belongs to."""
    return {there: point.name for point in case.points if point.kind == "intake" for there in case.beyond(point.name)}


def _cell(value):
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.4g}"
    if not isinstance(value, str):
        return value
    return f"'{visible(value)}" if value.startswith(_FORMULA) else visible(value)
