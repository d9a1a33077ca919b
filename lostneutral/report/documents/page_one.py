"""Page one: the hypothesis, what to do and why, the conclusion and the items that would suffer, for someone who is no electrician."""

from lostneutral.claims.model import Rank
from lostneutral.report.base import rows
from lostneutral.report.base.blocks import box, figure, labelled, lead, paragraph, side_by_side, table
from lostneutral.report.base.drawing import empty_drawing
from lostneutral.report.documents.advice import advice, both, cautions_apart, emergency_call, precautions
from lostneutral.report.evidence.rows import beside_the_case
from lostneutral.report.star import figures
from lostneutral.words.conclusion import conclusion, dangers, hypothesis, not_known
from lostneutral.words.language import tell
from lostneutral.words.schedule import MOST_NAMES, schedule

MOST_ITEMS = 8
TO_DO = "Danger: what to do until the supply has been made safe, and why"


def page_one(result, short=False):
    """Return the blocks of page one; what it says is repeated with every figure further on. `short`: precautions in a line each."""
    made = [lead(hypothesis(result.case))]
    made += [paragraph(beside_the_case(result))] if result.deduction else []
    made += [box(tell(TO_DO), dangers(result, rest="annex"), heavy=True, first=to_do(result)),
             labelled(tell("Conclusion."), " ".join(conclusion(result)))]
    rest = not_known(result)
    made += [labelled(tell("What this rests on."), " ".join(rest))] if rest else []
    return [*made, *_items(result), side_by_side([(tell("Further precautions"), precautions(result, short))])]


def to_do(result):
    """Return what is to be done and who is to be called, the cautions of the first page first."""
    first, _ = cautions_apart(result)
    return [*emergency_call(result.case), *both(first), *both(advice(result, "do"))]


def suffering(result):
    """Return the rows of the items that would suffer."""
    return [row for row in schedule(result.claims, result.verdicts) if row.rank < Rank.NOTE or row.outcome not in (
        "unharmed", "was off", "shortened life")]


def _items(result):
    """Return the items that would suffer; the rest is on page two."""
    found = suffering(result)
    if not found:
        return []
    made = [table(tell("Equipment that would suffer, by calculation"),
                  (tell("item"), "V", tell("expected effect"), tell("why")),
                  [(row.names(MOST_NAMES), row.voltage.removesuffix(" V"), row.effect, row.why) for row in found[:MOST_ITEMS]],
                  "lrll", {0: 1.5, 2: 1.3, 3: 1.6})]
    left = sum(len(row.items) for row in found[MOST_ITEMS:])
    if left == 1:
        made.append(paragraph(tell("1 more item would be affected: page two has all of them.")))
    elif left:
        made.append(paragraph(tell("{number} more items would be affected: page two has all of them.", number=left)))
    return made


def picture(result, drawn=True):
    """Return the figure of the voltage at each item before and after; unless `drawn` a blank of its size."""
    left = figures.left_out(result)
    caption = tell("Voltage at each item of equipment before (circle) and after the fault (arrow), as a percentage of its rated voltage. "
                   "Shaded: {band}.", band=rows.band_words(result.case))
    if left:
        caption += " " + tell("Not drawn, as nearer to normal: {items}.", items=", ".join(left))
    return figure(figures.picture(result) if drawn else empty_drawing(figures.picture_height(result)), caption)
