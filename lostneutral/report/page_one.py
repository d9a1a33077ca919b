"""Page one: what happened, what each circuit saw and what is dangerous now, for someone who is no electrician."""

import re

from lostneutral.consequences.pulses import trusted
from lostneutral.report import figures, rows
from lostneutral.report.blocks import box, figure, heading, paragraph
from lostneutral.report.deduction_rows import beside_the_case
from lostneutral.report.waveform_words import outcome as waveform_outcome
from lostneutral.report.words import VERDICTS, faults, number, shown, size

MOST = 5  #: items of one list on page one; what is left out is counted and stands in full further on
MOST_NAMES = 8
#: for reckoning what fits: characters in a line, lines on the page, lines a block costs beside its text
LINE, LINES, GAP, INCHES_A_LINE = 88, 58, 1.2, 0.165

_WHY = ("The neutral is the shared way back of all circuits. Past a break in it, circuits on different lines stand in "
        "series between the lines: what draws little gets too much voltage, what draws much gets too little.")
_SPLIT = " The two halves of the supply divide its full voltage between them in the same way."


def page_one(result):
    """Return the blocks of page one; what it says is repeated with every figure further on."""
    drawn = figures.picture(result)
    made = [heading("In short"), *_happened(result), figure(drawn, _caption(result), floats=False),
            box("What is dangerous now", _danger(result), heavy=True), *_damage(result)]
    return [*made, box("Before anyone touches anything", _cautions(result.cautions, _room(made, result)))]


def _room(made, result):
    """Return how many lines are left on the page for the cautions, reckoned on the safe side."""
    texts = [text for block in made for text in (block.get("text", ""), block.get("title", ""), block.get("caption", ""),
                                                 *block.get("items", ())) if text]
    used = sum(-(-len(text) // LINE) for text in (*texts, result.case.title))
    return LINES - used - GAP * len(made) - figures.picture_height(result) / INCHES_A_LINE


def _happened(result):
    case = result.case
    broken = [b for b in case.breaks_after() if b.conductor == "N"]
    why = _WHY + (_SPLIT if case.supply.system == "split-phase" else "") if broken else ""
    return [heading("What happened", 2), paragraph(" ".join([*faults(case), why]).strip()),
            paragraph(" ".join(outcome(result))), *([paragraph(beside_the_case(result))] if result.deduction else [])]


def outcome(result):
    """Return what the voltages did, in sentences."""
    case, afters = result.case, shown(result.after)
    if not afters:
        return [f"No settled state after the break was found. {result.after.reason}".strip()]
    said = []
    if result.after.reached is None:
        said.append(rows.undecided(result.after))
    elif len(result.after.solutions) > 1:
        said.append(rows.several(result.after))
    before = next(iter(shown(result.before)), None)
    for name, after in zip(_each(afters), afters):
        table = _one_a_line(rows.point_rows(case, before, after))
        off = [r for r in table if r.verdict != VERDICTS["within"]]
        words = "; ".join(_line_words(r, len(case.points) > 1) for r in off)
        if off:
            said.append(f"{name}{words}.")
        elif case.breaks_after() or case.crosses:
            said.append(f"{name}every line stayed within the usual band: in this state the circuits balance one another, "
                        "and that ends as soon as one of them is switched.")
        else:
            said.append("Every line is within the usual band.")
    moved = [size(after.nodes.get((p.name, "N"))) for after in afters for p in case.points]
    furthest = max((m for m in moved if m is not None), default=0.0)
    if furthest >= 1.0:
        said.append(f"The neutral conductor itself stood at up to {number(furthest, 0)} V.")
    if trusted(result):
        said.append(waveform_outcome(case, result.waveforms))
    if None in moved:
        said.append("A neutral that nothing ties down is floating: a meter on it may show anything.")
    return [text[0].upper() + text[1:] for text in said]


def _each(afters):
    return ("",) if len(afters) == 1 else tuple(f"in state {chr(ord('A') + i)}, " for i in range(len(afters)))


def _one_a_line(table):
    """Return for every line the row that is furthest off, floating ones first."""
    kept = {}
    for row in table:
        if row.line not in kept or _off(row) > _off(kept[row.line]) + 0.005:
            kept[row.line] = row
    return list(kept.values())


def _off(row):
    return 9.0 if row.ratio is None else abs(row.ratio - 1.0)


def _line_words(row, with_place):
    place = f"line {row.line} (at “{row.place}”)" if with_place else f"line {row.line}"
    if row.after is None:
        return f"{place} was left floating"
    if row.verdict == VERDICTS["dead"]:
        return f"{place} went dead ({number(row.after, 0)} V)"
    if row.before is None or abs(row.after - row.before) < 0.5:
        return f"{place} stood at {number(row.after, 0)} V, {row.verdict}"
    return (f"{place} {'rose' if row.after > row.before else 'fell'} from {number(row.before, 0)} to "
            f"{number(row.after, 0)} V, {row.verdict}")


def _caption(result):
    return ("What each circuit got. The circle is before the break, the arrow leads to after it; the dotted band is "
            f"what a supply may normally do ({rows.band_words(result.case)}). 100 % is what the circuit is made for.")


def _danger(result):
    return _some(_first_of_each(result, "danger")) or [
        "No single danger was found. That does not make the installation fit for use: have it tested first."]


def _first_of_each(result, severity):
    """Return the first sentence of each finding of a rank; the same thing at several points is said once."""
    kinds = {}
    for f in result.findings:
        if f.severity == severity:
            kinds.setdefault(f.subject.split(" at ")[0], []).append(f.message)
    said = []
    for messages in kinds.values():
        first = re.split(r"(?<=[.!?])\s+(?=[A-Z“'])", messages[0], maxsplit=1)[0]
        more = len(messages) - 1
        said.append(first + (f" (And at {more} more point{'s' * (more > 1)}.)" if more else ""))
    return said


def _cautions(cautions, room):
    kept = []
    for text in cautions:
        room -= -(-len(text) // LINE)
        if len(kept) >= 2 and room < 1:
            break
        kept.append(text)
    left = len(cautions) - len(kept)
    return [*kept, f"… and {left} more under “Cautions”."] if left else kept


def _some(texts):
    return texts if len(texts) <= MOST else [*texts[:MOST], f"… and {len(texts) - MOST} more under “Concluded”."]


def _damage(result):
    found = [f for f in result.findings if f.severity == "damage"]
    loads = [f for f in found if f.subject.startswith("load ")] or found
    if not found:
        return []
    figures_of = {}
    for f in loads:
        figures_of.setdefault(f.subject.removeprefix("load "), []).extend([f.computed] if f.computed else [])
    named = [name + (f" ({'; '.join(dict.fromkeys(said))})" if said else "") for name, said in figures_of.items()]
    more = f", and {len(named) - MOST_NAMES} more" if len(named) > MOST_NAMES else ""
    return [heading("What may be damaged", 2), paragraph(", ".join(named[:MOST_NAMES]) + more + ".")]
