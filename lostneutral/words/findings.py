"""Claims in words, one finding each, in the order of their rank; items of one good outcome share one."""

from lostneutral.claims.model import Claim, Kind, Rank
from lostneutral.consequences.limits import Yardstick
from lostneutral.frozen import dataclass
from lostneutral.words import english
from lostneutral.words.items import verdict_on_several

SEVERITIES = {Rank.DANGER: "danger", Rank.FIRE: "danger", Rank.DAMAGE: "damage", Rank.WARNING: "warning", Rank.NOTE: "note"}
"""The result file's word for each rank; `rank` beside it tells fire from shock."""


@dataclass(frozen=True)
class Finding:
    """One claim, or several alike, in words."""

    severity: str  #: "danger" | "damage" | "warning" | "note"
    rank: Rank
    subject: str
    lead: str  #: the sentence that can stand alone
    message: str  #: all of it
    computed: str | None
    limit: Yardstick | None
    sure: str
    claims: tuple[Claim, ...]


def findings(claims, case) -> tuple[Finding, ...]:
    """Return `claims` in words, in their order; items that come to no harm are gathered by outcome."""
    made, gathered = [], {}
    for claim in claims:
        if claim.kind is Kind.ITEM and claim.rank is Rank.NOTE:
            outcome = claim.facts["verdict"].outcome, claim.facts["above"]
            gathered.setdefault(outcome, []).append(claim)
        else:
            made.append(_finding((claim,), english.said(claim, case)))
    for same in gathered.values():
        words = english.said(same[0], case) if len(same) == 1 else verdict_on_several(same, case)
        made.append(_finding(tuple(same), words))
    return tuple(sorted(made, key=lambda f: f.rank))


def _finding(claims, words):
    first = claims[0]
    limit = first.yardstick if len(claims) == 1 else None
    return Finding(SEVERITIES[first.rank], first.rank, words.subject, words.lead, words.message, words.computed, limit,
                   _sure(first), claims)


def _sure(claim):
    if claim.kind is Kind.ITEM:
        from lostneutral.consequences.harm import CONFIDENCE

        grade = claim.confidence
        if grade == "none":  # the basis says why
            return f"none: {claim.because}"
        return f"{grade}: {CONFIDENCE[grade]}; {claim.because}" if grade in CONFIDENCE else claim.because
    return claim.because
