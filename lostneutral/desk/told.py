"""What is shown of an answer, as plain values: every sentence is one of the words of the claims, none is made here."""

from collections.abc import Mapping

from lostneutral.claims.model import Kind
from lostneutral.consequences.cautions import cautions
from lostneutral.page.star_alone import star_content
from lostneutral.report.base import rows
from lostneutral.report.documents.page_one import to_do
from lostneutral.report.evidence.rows import PURPOSE, rival_rows
from lostneutral.report.evidence.rows import next_words as deduce_next
from lostneutral.report.evidence.verdict import verdict_on_cause as deduced
from lostneutral.report.evidence.where_text import CAVEAT, UNRANKED, consequence, reading_to_take
from lostneutral.report.ranges.rows import probability_words
from lostneutral.result import Result
from lostneutral.words.amounts import volts
from lostneutral.words.conclusion import conclusion, dangers, hypothesis, not_known
from lostneutral.words.english import said
from lostneutral.words.observed import observation
from lostneutral.words.schedule import effect, in_brief, schedule

MOST_PLACES = 8
_HOW = (Kind.SETTLING, Kind.NOT_FOLLOWED, Kind.RECTIFIERS)
"""Claims on how far the calculation itself goes."""


def told(result: Result) -> dict:
    """Return what the desk shows of `result`: voltages, dangers, what to do, items, observations, assumptions."""
    case = result.case
    state = result.after.reached or next(iter(result.after.solutions), None)
    before = next(iter(result.before.solutions), None)
    lines = [{"point": r.place, "line": r.line, "before": _volts(r.before), "after": _volts(r.after), "word": r.told}
             for r in rows.point_rows(case, before, state)] if state else []
    why = {name: row.why for row in schedule(result.claims, result.verdicts) for name in row.items}
    how = [said(c, case).lead for c in result.claims if c.kind in _HOW]
    return {
        "how": list(dict.fromkeys(how)), "fault": hypothesis(case), "dangers": list(dangers(result)), "to_do": list(to_do(result)),
        "conclusion": list(conclusion(result)), "rests": list(not_known(result)), "lines": lines,
        "states": len([s for s in result.after.solutions if s.attracting]),
        "items": {v.item: {"volts": _volts(v.volts), "effect": in_brief(v), "full": effect(v), "why": why.get(v.item, ""), "rank": int(v.rank),
                           "outcome": v.outcome} for v in result.verdicts},
        "observed": [dict(zip(("observed", "calculated", "agreement"), observation(c)), agrees=c.facts["agrees"])
                     for c in result.claims if c.kind is Kind.OBSERVED],
        "assumed": [{"subject": a.subject, "what": a.what, "value": a.value, "why": a.why} for a in result.assumptions],
        "hinges": [{"of": c.about.name, "key": c.quantity} for c in result.claims
                   if c.kind is Kind.HANGS_ON and c.facts["changes"]],
        "warnings": list(case.warnings), "cautions": list(result.cautions), "short": list(cautions(case, "short")),
        "star": star_content(case, state) if state else None,
    }


def _volts(value):
    return None if value is None else volts(value)


def where_told(case, found) -> dict:
    """Return what the desk shows of the places that the observations support."""
    places = [{"words": o.place.words, "share": probability_words(o.support) if found.observed else "",
               "does": consequence(case, o), "feeding": o.place.feeding, "kind": o.place.kind,
               "breaks": [{"conductor": b.conductor, "feeding": b.feeding,
                           **({} if b.resistance == float("inf") else {"resistance": b.resistance})} for b in o.place.breaks],
               "rival": bool(o.place.crosses) or any(b.at_supply for b in o.place.breaks),
               "seen": [{"observed": what, "calculated": gives, "fits": part <= 9} for what, gives, part in o.misfits]}
              for o in found.outcomes[:MOST_PLACES]]
    return {"observed": found.observed, "caveat": CAVEAT.format(count=len(found.outcomes)) if found.observed else UNRANKED,
            "places": places, "left": len(found.outcomes) - len(places), "notes": list(found.notes),
            "next": reading_to_take(found) if found.next_reading else ""}


def deduction_told(found) -> Mapping:
    """Return what the desk shows of the comparison of causes."""
    return {"purpose": PURPOSE, "verdict": list(deduced(found)), "rows": [list(row) for row in rival_rows(found)],
            "next": list(deduce_next(found))}
