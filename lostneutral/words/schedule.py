"""The schedule of items, equal ones joined, each with its voltage, the expected effect and why."""

from lostneutral.claims.model import Kind, Rank
from lostneutral.claims.verdicts import CANNOT, STRESSED
from lostneutral.frozen import dataclass
from lostneutral.words.amounts import exactly, failing, named
from lostneutral.words.items import OUTCOMES, part_words
from lostneutral.words.language import tell
from lostneutral.words.times import duration

MOST_NAMES = 6  #: of items that share a row of a short list; the others are counted


@dataclass(frozen=True)
class Row:
    """Items with one outcome for one reason."""

    items: tuple[str, ...]
    outcome: str  #: as in `claims.verdicts.ORDER`
    rank: Rank
    voltage: str  #: "" where there is none
    effect: str
    why: str

    def names(self, most: int = 10**6) -> str:
        """Return the items in a row, so many at most and the others counted."""
        return named(self.items, most)


def schedule(claims, verdicts) -> tuple[Row, ...]:
    """Return a Row for each set of items with one outcome and reason, the worst first, those off last."""
    found = {}
    for claim in (c for c in claims if c.kind is Kind.ITEM):
        found.setdefault(_same(claim), []).append(claim)
    rows = [_row(same) for same in found.values()]
    off = tuple(v.item for v in verdicts if v.outcome == "was off")
    return (
        *sorted(rows, key=lambda r: r.rank),
        *([Row(off, "was off", Rank.NOTE, "", tell("not judged"), tell("switched off"))] if off else []),
    )


def effect(found) -> str:
    """Return what is expected of an item by its verdict, in a few words."""
    outcome = tell(OUTCOMES[found.outcome])
    if found.outcome == "stalls and overheats":
        return f"{outcome}; {failing(found.earliest, found.central, found.latest, found.later)}"
    if found.fails:
        return failing(found.earliest, found.central, found.latest, found.later)
    if found.may_fail:
        return tell("reduced life; failure within {time} is possible", time=duration(found.earliest))
    if found.outcome == "shortened life":
        return tell("reduced life; failure within a week is unlikely")
    if found.outcome == CANNOT and found.worst:
        return tell("{outcome}; in the worst possible state: {worst}", outcome=outcome, worst=tell(OUTCOMES[found.worst]))
    if found.outcome == STRESSED and found.worst:
        return tell("{outcome}; had it persisted: {worst}", outcome=outcome, worst=tell(OUTCOMES[found.worst]))
    return outcome


def _same(claim):
    found = claim.facts["verdict"]
    return found.outcome, effect(found), found.part if found.fails else "", *(claim.facts[key] for key in ("above", "below", "unequal"))


def _row(same):
    first = same[0].facts["verdict"]
    known = [c.value for c in same if c.value is not None]
    span = exactly(min(known), max(known), "V") if known else ""
    return Row(tuple(c.about.name for c in same), first.outcome, same[0].rank, span, effect(first), _why(same))


def _why(same):
    facts, found = same[0].facts, same[0].facts["verdict"]
    if found.volts is None:
        return tell("no voltage can be stated")
    ratios = [c.facts["verdict"].ratio for c in same if c.facts["verdict"].ratio is not None]
    if not (facts["above"] or facts["below"]) or not ratios:
        if facts["unequal"] and found.outcome != "unharmed":
            why = tell("the voltages of the three lines are unequal")
            return tell("{why}; component to inspect: {part}", why=why, part=part_words(found)) if found.fails and found.part else why
        weak = found.outcome in ("works weakly", "dim")  # its highest branch is told
        return tell("not all of the three branches have their voltage") if weak else tell("voltage within limits")
    off = sorted(round(abs(ratio - 1) * 100) for ratio in ratios)
    percent = f"{off[0]}" if off[0] == off[-1] else tell("{low} to {high}", low=off[0], high=off[-1])
    if facts["above"]:
        said = tell("{percent} % above rated voltage", percent=percent)
    else:
        said = tell("{percent} % below rated voltage", percent=percent)
    if found.fails and found.part:
        return tell("{why}; component to inspect: {part}", why=said, part=part_words(found))
    if found.outcome == "unharmed":
        return tell("{why}, which by calculation does no damage", why=said)
    return said


def soonest(found) -> str:
    """Return how soon an item may fail, as the end of a short line: ", after about 14 hours"."""
    if not found.fails or found.earliest is None and found.central is None:
        return ""
    if found.central is None or found.earliest and (found.latest is None or found.latest > 100 * found.earliest):
        return tell(", possibly {time} into the incident" if found.later else ", possibly after {time}", time=duration(found.earliest))
    return tell(", about {time} into the incident" if found.later else ", after about {time}", time=duration(found.central))


def in_brief(found) -> str:
    """Return what is expected of an item by its verdict, for the end of a row: "failure expected, after about 14 hours"."""
    if found.may_fail:
        return effect(found)
    return ("failure expected" if found.outcome.startswith("fails") else OUTCOMES[found.outcome]) + soonest(found)
