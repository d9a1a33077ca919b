"""Items of published examinations and books, as exercises of their kinds, with what was printed there."""

from dataclasses import replace

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.teaching.exercises import findings, pairs, stars

_MAKERS = {"series": pairs.series, "series_ohms": pairs.series_ohms, "split_phase": pairs.split_phase, "growing": pairs.growing,
           "neutral_current": stars.neutral_current_exercise, "neutral_current_lagging": stars.neutral_current_lagging,
           "line_open": stars.line_open, "shorted": stars.shorted, "three_unequal_ohms": stars.three_unequal_ohms,
           "legs": findings.legs}


@dataclass(frozen=True)
class _Item:
    """One published item: which kind, its figures, where it stands, and what was printed (in the order of the answers)."""

    kind: str
    pick: tuple
    source: str
    printed: tuple[str, ...]  #: "" where that answer was not asked for there
    within: float | None  #: how far from exact the figures printed there are; None: by less than half their last place


def _tuple(value):
    return tuple(map(_tuple, value)) if isinstance(value, list) else value


ITEMS = tuple(
    _Item(row["kind"], _tuple(row["pick"]), f"{row['source']}; {data.KNOWN[row['known']]}",
         tuple(row["printed"]), row.get("within")) for row in data.load("exam_items")["item"])


def published_item(number: int):
    """Return the exercise of item `number` of `ITEMS`."""
    row = ITEMS[number]
    return replace(_MAKERS[row.kind](None, row.pick), source=row.source)
