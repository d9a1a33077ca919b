"""English: the schedule of items, equal ones joined, each with its voltage, the expected effect and why."""

from dataclasses import dataclass

from lostneutral.claims.model import Kind, Rank
from lostneutral.claims.verdicts import CANNOT, STRESSED
from lostneutral.consequences.times import duration
from lostneutral.words.amounts import between, failing, named, volts
from lostneutral.words.items import OUTCOMES, part_words

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
        *([Row(off, "was off", Rank.NOTE, "", "not judged", "switched off")] if off else []),
    )


def effect(found) -> str:
    """Return what is expected of an item by its verdict, in a few words."""
    if found.outcome == "stalls and overheats":
        return f"stalls and overheats; {failing(found.earliest, found.central, found.latest)}"
    if found.fails:
        return failing(found.earliest, found.central, found.latest)
    if found.outcome == "shortened life":
        return "reduced life; failure within a week is unlikely"
    worst = {CANNOT: "; in the worst possible state: ", STRESSED: "; had it persisted: "}.get(found.outcome)
    return OUTCOMES[found.outcome] + (f"{worst}{OUTCOMES[found.worst]}" if worst and found.worst else "")


def _same(claim):
    found = claim.facts["verdict"]
    return found.outcome, effect(found), found.part if found.fails else "", claim.facts["above"], claim.facts["below"]


def _row(same):
    first = same[0].facts["verdict"]
    known = [c.value for c in same if c.value is not None]
    span = (
        ""
        if not known
        else volts(known[0]) if len(known) == 1 else between(min(known), max(known), "V").removeprefix("about ")
    )
    return Row(tuple(c.about.name for c in same), first.outcome, same[0].rank, span, effect(first), _why(same))


def _why(same):
    facts, found = same[0].facts, same[0].facts["verdict"]
    if found.volts is None:
        return "no voltage can be stated for it"
    ratios = [c.facts["verdict"].ratio for c in same if c.facts["verdict"].ratio is not None]
    if not (facts["above"] or facts["below"]) or not ratios:
        return "voltage within limits"
    off = sorted(round(abs(ratio - 1) * 100) for ratio in ratios)
    figure = f"{off[0]} %" if off[0] == off[-1] else f"{off[0]} to {off[-1]} %"
    said = f"{figure} {'above' if facts['above'] else 'below'} its rated voltage"
    if found.fails and found.part:
        said += f"; component to inspect: {part_words(found)}"
    elif found.outcome == "unharmed":
        said += ", which by calculation it withstands"
    return said


def soonest(found) -> str:
    """Return how soon an item may fail, as the end of a short line: ", after about 14 hours"."""
    if not found.fails or found.earliest is None and found.central is None:
        return ""
    if found.central is None or found.earliest and (found.latest is None or found.latest > 100 * found.earliest):
        return f", possibly after {duration(found.earliest)}"
    return f", after about {duration(found.central)}"
