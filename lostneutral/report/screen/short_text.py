"""The answer on one screen: the fault, dangers, voltages where they differ, one line an item, cautions in short."""

from lostneutral import data
from lostneutral.claims.model import Kind
from lostneutral.claims.verdicts import GOOD, ORDER
from lostneutral.report.base import rows
from lostneutral.report.base.words import NOTHING, after_names, number, shown, visible
from lostneutral.report.screen.lines import painted, table_text, width_of, wrapped
from lostneutral.words.amounts import counted, named
from lostneutral.words.conclusion import dangers, faults, not_known, observations
from lostneutral.words.english import said
from lostneutral.words.observed import observation
from lostneutral.words.schedule import in_brief, schedule
from lostneutral.words.terms import NO_VOLTAGE, VERDICTS

MOST_DANGERS = 4
MOST_PLACES = 3  #: sets of points with alike voltages; the others are counted
MOST_ITEMS, MOST_NAMED = 20, 12
MORE = "Everything, with limits, sources and findings: --full. A document to sign: lostneutral report."


def short_text(result, colour: bool = False, width: int = 80) -> str:
    """Return the answer as lines of at most `width` columns where the words allow; no escape code unless `colour`.

    In the order of a report's first page. What is left out is counted.
    """
    paint = painted if colour else lambda text, _: text
    case = result.case
    title = visible(case.title)
    found = faults(case)
    fault = (
        f"Fault considered: {'; '.join(found)}. Calculated, not measured."
        if found
        else "No open-circuit or high-resistance conductor is assumed. Calculated, not measured."
    )
    head = [title, "=" * min(width, width_of(title)), *wrapped(visible(fault), width)]
    grave = [line for text in dangers(result, MOST_DANGERS) for line in _marked(text, width, paint)]
    settling = [
        text
        for c in result.findings
        for text in [c.lead]
        if c.claims[0].kind in (Kind.SETTLING, Kind.SUPPLIES, Kind.NOT_FOLLOWED)
    ]
    parts = [
        head,
        grave,
        [line for text in settling for line in wrapped(visible(text), width, "  ")],
        *(_cycle if result.after.cycle else _voltages)(result, width, paint),
        _items(result, width, paint),
        _rest(result, width),
        _cautions(result, width),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n" + "\n".join(wrapped(MORE, width)) + "\n"


def _marked(text, width, paint):
    first, *more = wrapped(f"! {visible(text)}", width, "  ")
    return [paint(first, "danger"), *more]


def _voltages(result, width, paint):
    """Return a part for each settled state that can hold: points with alike voltages are one line a line conductor."""
    before = next(iter(shown(result.before)), None)
    states, shows_none = shown(result.after), False
    for name, after in zip(after_names(states), states):
        sets = {}
        for row in rows.point_rows(result.case, before, after):
            sets.setdefault(row.place, []).append(row)
        alike = {}
        for place, found in sets.items():
            alike.setdefault(tuple((r.line, r.told) for r in found), []).append(place)
        body = []
        # Sorted is stable: points where something is off the limits come first, else the case's order stays.
        groups = sorted(alike.items(), key=lambda group: all(word == VERDICTS["within"] for _, word in group[0]))
        for _, places in groups[:MOST_PLACES]:
            for at, first in enumerate(sets[places[0]]):
                same = [sets[place][at] for place in places]
                where = "" if at else "every point" if len(places) == len(sets) > 1 else named(places, 2)
                body.append(
                    (
                        where,
                        first.line,
                        _range([r.before for r in same]),
                        _range([r.after for r in same]),
                        first.told,
                    )
                )
        shows_none |= any(row[-1] in NO_VOLTAGE.values() for row in body)
        left = sum(len(places) for _, places in groups[MOST_PLACES:])
        more = [f"{counted(left, 'more point')}: --full."] if left else []
        yield [
            table_text(("V to neutral at", "line", "before", name, "verdict"), body, "llrrl", width, paint),
            *more,
        ]
    if not shows_none and (told := _without_voltage(result, width)):
        yield told


def _cycle(result, width, paint):
    """Yield the range of every line over a cycle, with its r.m.s. value."""
    cycle, lines = result.after.cycle["lines"], [(p.name, line) for p in result.case.points for line in p.phases]
    known = [(point, line, cycle[f"{point} {line}"]) for point, line in lines if f"{point} {line}" in cycle]
    body = [("" if n and known[n - 1][0] == point else point, line, number(v["lowest"], 0), number(v["highest"], 0),
             number(v["rms"], 0)) for n, (point, line, v) in enumerate(known[:3 * MOST_PLACES])]
    left = len({point for point, _, _ in known[3 * MOST_PLACES:]})
    yield [table_text(("V to neutral at", "line", "lowest", "highest", "r.m.s."), body, "llrrr", width, paint), *_without_voltage(result, width),
           *([f"{counted(left, 'more point')}: --full."] if left else [])]


def _without_voltage(result, width):
    """Return what is said of lines without voltage to neutral, as of a stage that no table shows."""
    return [line for c in result.claims if c.kind is Kind.LINE_NONE for line in wrapped(visible(said(c, result.case).lead), width)]


def _range(volts):
    known = [v for v in volts if v is not None]
    if len(known) < len(volts):
        return NOTHING
    low, high = number(min(known), 0), number(max(known), 0)
    return high if low == high else f"{low} to {high}"


def _items(result, width, paint):
    """Return a line for each item that would suffer; those that would not, or were off, are named together."""
    order = sorted(result.verdicts, key=lambda v: (v.rank, ORDER.index(v.outcome)))
    suffer = [v for v in order if v.outcome not in GOOD]
    body = [
        (
            v.item,
            NOTHING if v.volts is None else number(v.volts, 0),
            in_brief(v),
        )
        for v in suffer[:MOST_ITEMS]
    ]
    head = ("item", "V", "expected effect (new, unprotected, if it lasts)")
    made = [table_text(head, body, "lrl", width, paint, (-1, 0))] if body else []
    if len(suffer) > MOST_ITEMS:
        made.append(f"{counted(len(suffer) - MOST_ITEMS, 'more item')}, no worse: --full.")
    for row in schedule(result.claims, result.verdicts):
        if row.outcome in GOOD:
            words = (
                "Switched off, not judged" if row.outcome == "was off" else "Not expected to be damaged by this alone"
            )
            made += wrapped(
                visible(f"{words}{f' ({row.voltage})' if row.voltage else ''}: {row.names(MOST_NAMED)}."), width, "  "
            )
    return made


def _rest(result, width):
    against = [
        f"{observed}: calculated {calculated}, {agreement}."
        for c in result.claims
        if c.kind is Kind.OBSERVED
        for observed, calculated, agreement in [observation(c)]
        if c.facts["agrees"] is not True
    ]
    said = [
        *([observations(result)] if any(c.kind is Kind.OBSERVED for c in result.claims) else []),
        *against,
        *not_known(result),
        *result.case.warnings,
    ]
    count = len(result.assumptions)
    said.append(
        f"{counted(count, 'value')} not given {'was' if count == 1 else 'were'} assumed."
        if count
        else "Nothing had to be assumed."
    )
    return [line for text in said for line in wrapped(visible(text), width, "  ")]


def _cautions(result, width):
    short = {entry["text"]: entry["short"] for entry in data.load("cautions")["caution"]}
    return wrapped("Cautions: " + " ".join(short.get(text, text) for text in result.cautions), width)
