"""The result as text for a terminal: tables, findings and cautions, with words for whatever colour says."""

import textwrap
import unicodedata

from lostneutral.consequences.harm import of_solution
from lostneutral.consequences.pulses import as_waves, trusted
from lostneutral.report import damage, rows
from lostneutral.report.concluded import source_words, sources, usual_sureness
from lostneutral.report.earth import deceiving
from lostneutral.report.waveform_rows import link_rows, neutral_rows, phase_rows
from lostneutral.report.waveform_words import deceived, outcome
from lostneutral.report.words import NOTHING, SEVERITIES, after_names, faults, number, shown, significant, visible

_COLOURS = {"too high": "31", "dead": "31", "too low": "33", "floating": "35", "as usual": "32", "danger": "1;31",
            "damage": "31", "warning": "33", "note": "36"}
_GAP = "  "
_NARROWEST = 12  # columns a wrapped column keeps


def terminal_text(result, colour: bool = False, width: int = 80) -> str:
    """Return the whole answer as lines of at most `width` columns where the words allow; no escape code unless `colour`.

    Every finding and every caution is in it whatever the width; tables wrap their first column.
    """
    paint = _paint if colour else lambda text, _: text
    result = as_waves(result)
    parts = [_head(result, width)]
    solutions = shown(result.after)
    before = next(iter(shown(result.before)), None)
    parts += [_arrival(result, solutions, width), _states(result, width, paint)]
    for name, after in zip(after_names(solutions), solutions):
        parts.append(_points(result, before, after, name, width, paint))
        parts.append(_loads(result, before, after, name, width, paint))
        found = of_solution(result.harms, result.after, after)
        parts.append(_damage(damage.harm_rows(after.loads, found), width, paint))
    parts.insert(2, _waves(result, width, paint))
    if not solutions:
        parts.append(_damage(damage.cycle_rows(result), width, paint))
    parts += [_readings(result, width), _findings(result, width, paint), _assumed(result, width), _cautions(result, width)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _head(result, width):
    case = result.case
    lines = [visible(case.title), "=" * min(width, columns(visible(case.title))), *map(visible, faults(case))]
    return "\n".join(line for text in lines for line in _wrapped(text, width))


def _arrival(result, solutions, width):
    said = []
    if not result.before.solutions:
        said.append(f"Before the break: no settled state. {result.before.reason}".strip())
    if not solutions:
        said.append(f"After the break: no settled state. {result.after.reason}".strip())
    elif result.after.reached is None:
        said.append(rows.undecided(result.after))
    elif len(result.after.solutions) > 1:
        said.append(rows.several(result.after))
    return "\n".join(line for text in said for line in _wrapped(visible(text), width))


def _waves(result, width, paint):
    waves, case = result.waveforms, result.case
    if waves is None:
        return ""
    used = "rest on" if trusted(result) else "do not rest on"
    said = [f"Waveforms: {waves.why}. The figures below {used} them.", outcome(case, waves), deceived(case, waves)]
    phases = [(row.place, row.line, when, *map(number, (wave.rms, wave.average_reading, wave.crest)),
               NOTHING if wave.thd is None else f"{100 * wave.thd:.0f} %")
              for row in phase_rows(case, waves) for when, wave in (("before", row.before), ("after", row.after)) if wave]
    links = [(row.name, row.connect, number(row.before, 0), f"{number(row.lowest, 0)} to {number(row.highest, 0)}",
              number(row.rating, 0), number(row.cut_off, 0), row.verdict) for row in link_rows(case, waves)]
    neutrals = [(row.feeding, row.state, *(significant(amps) for amps in (row.current, row.third, row.line)))
                for row in neutral_rows(case, waves)]
    tables = [
        ("Line to neutral as meters show it, V", ("point", "line", "when", "true r.m.s.", "averaging meter", "crest", "THD"),
         phases, "lllrrrr"),
        ("D.c. links of the power supplies, V", ("load", "connect", "before", "after", "rated", "cuts off at", "verdict"),
         links, "llrrrrl"),
        ("Neutral current, A", ("run to", "when", "in all", "third harmonic", "largest line"), neutrals, "llrrr")]
    return "\n".join([*(line for text in said for line in _wrapped(visible(text), width)),
                      *(part for heading, head, body, align in tables if body
                        for part in ("", heading, _table(head, body, align, width, paint)))])


def _states(result, width, paint):
    state = result.after
    if len(state.solutions) < 2 and not state.cycle:
        return ""
    body = rows.settled_states(result.case, state)
    return "\n".join(["Settled states after the break, line to neutral",
                      *([_table(("number", "holds", "arrived at", "voltages"), body, "rlll", width, paint)] if body else []),
                      *(line for text in rows.cycle_words(state) for line in _wrapped(visible(text), width))])


def _points(result, before, after, name, width, paint):
    body = [(row.place, row.line, number(row.before), number(row.after), number(row.ratio, 2), row.verdict)
            for row in rows.point_rows(result.case, before, after)]
    heading = f"Voltages at each point, line to neutral, V ({rows.band_words(result.case)})"
    table = _table(("point", "line", "before", name, "ratio", "verdict"), body, "llrrrl", width, paint)
    moved = [f"Neutral at “{visible(place)}”: {text} from the supply's star point."
             for place, text in rows.neutral_shifts(result.case, after)]
    return "\n".join([*_wrapped(heading, width), table, *(line for text in moved for line in _wrapped(text, width))])


def _loads(result, before, after, name, width, paint):
    body = [(row.name, row.connect, number(row.before), number(row.after), number(row.ratio, 2), row.verdict,
             significant(row.power_before), significant(row.power_after), row.details)
            for row in rows.load_rows(result.case, before, after)]
    return "Loads, V across each, ratio to its rated voltage\n" + _table(
        ("load", "connect", "before", name, "ratio", "verdict", "W before", f"W {name}", "state"), body,
        "llrrrlrrl", width, paint)


def _damage(found, width, paint):
    if not found:
        return ""
    body = [(load, outcome, soon, sure, part) for load, _, _, outcome, soon, sure, part, _ in found]
    heading = "What to expect of each item, taken as new, if this lasts and nothing acts"
    return "\n".join([*_wrapped(heading, width), _table(("item", "outcome", "how soon (range)", "sure", "part to look for"),
                                                        body, "lllll", width, paint, (2, 0, -1))])


def _readings(result, width):
    said = deceiving(result)
    return "\n".join(["Readings that deceive", *(line for text in said for line in _wrapped(f"- {visible(text)}", width, "  "))
                      ]) if said else ""


def _findings(result, width, paint):
    if not result.findings:
        return "Findings\nNone."
    numbers = {text: n for n, text in enumerate(sources(result), 1)}
    usual = usual_sureness(result.findings)
    lines = ["Findings", *(_wrapped(f"How sure, unless a finding says otherwise: {visible(usual)}.", width)
                           if usual else [])]
    for f in result.findings:
        label = SEVERITIES.get(f.severity, f.severity).upper()
        first, *more = _wrapped(f"{label}: {visible(f.subject)}: {visible(f.message)}", width, "  ")
        lines += [paint(first, f.severity), *more]
        limit = f.limit and f"limit {rows.limit_words(f.limit)} [{numbers[source_words(f.limit)]}]"
        basis = "; ".join(visible(text) for text in (f.computed, limit, f.sure != usual and f.sure) if text)
        lines += _wrapped(f"({basis})", width, "  ", "  ") if basis else []
    lines += ["", "Sources of the limits, and how each is known"]
    for text, n in numbers.items():
        lines += _wrapped(f"[{n}] {text}", width, "    ")
    return "\n".join(lines)


def _assumed(result, width):
    count = len(result.assumptions)
    text = "Nothing had to be assumed." if not count else (
        f"{count} value{'s' * (count != 1)} or model choice{'s' * (count != 1)} not given in the case "
        f"{'were' if count != 1 else 'was'} assumed; the report lists {'them' if count != 1 else 'it'}.")
    return "\n".join(["Assumptions", *_wrapped(text, width),
                      *(line for w in result.case.warnings for line in _wrapped(f"- {visible(w)}", width, "  "))])


def _cautions(result, width):
    return "\n".join(["Cautions", *(line for c in result.cautions
                                    for line in _wrapped(f"- {visible(c)}", width, "  "))])


def _table(head, body, align, width, paint, wraps=(0, -1)):
    """Return a table whose columns `wraps` are wrapped, in this order, so that it fits `width` where it can."""
    body = [[visible(cell) for cell in row] for row in body]
    if all(row[-1] == NOTHING for row in body):
        head, body = head[:-1], [row[:-1] for row in body]
    widths = [max(columns(row[i]) for row in [head, *body]) for i in range(len(head))]
    excess = sum(widths) + len(_GAP) * (len(widths) - 1) - width
    for at in wraps:
        cut = min(max(excess, 0), max(widths[at] - _NARROWEST, 0))
        widths[at] -= cut
        excess -= cut
    lines = [*_row(head, widths, align), _GAP.join("-" * w for w in widths)]
    for row in body:
        first, *more = _row(row, widths, align)
        word = next((cell for cell in row[2:] if cell in _COLOURS), "")
        start, found, end = first.rpartition(word) if word else (first, "", "")
        lines += [start + paint(found, word) + end, *more]
    return "\n".join(line.rstrip() for line in lines)


def _row(cells, widths, align):
    wrapped = [_wrapped(cell, w) for cell, w in zip(cells, widths)]
    for i in range(max(map(len, wrapped))):
        line = [column[i] if i < len(column) else "" for column in wrapped]
        yield _GAP.join(" " * (w - columns(c)) + c if a == "r" else c + " " * (w - columns(c))
                        for c, w, a in zip(line, widths, align))


def _wrapped(text, width, indent="", first=""):
    return textwrap.wrap(text, max(width, 10), initial_indent=first, subsequent_indent=indent) or [""]


def columns(text):
    """Return how many terminal columns `text` takes."""
    return sum(0 if unicodedata.combining(c) or unicodedata.category(c) in ("Cf", "Mn", "Me") else
               2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)


def _paint(text, meaning):
    return f"\x1b[{_COLOURS[meaning]}m{text}\x1b[0m" if meaning in _COLOURS else text
