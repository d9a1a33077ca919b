"""The result as text for a terminal: tables, findings and cautions, with words for whatever colour says."""

from lostneutral.consequences.pulses import trusted
from lostneutral.report.base import rows
from lostneutral.report.base.words import NOTHING, after_names, number, shown, significant, visible, what_is_taken
from lostneutral.report.damage import section as damage
from lostneutral.report.documents.concluded import source_words, sources, usual_sureness
from lostneutral.report.earth.section import deceiving
from lostneutral.report.screen.lines import painted, table_text, width_of, wrapped
from lostneutral.report.waveform.rows import link_rows, neutral_rows, phase_rows
from lostneutral.report.waveform.words import deceived, what_became
from lostneutral.words.conclusion import DANGER, dangers, not_known
from lostneutral.words.terms import RANKS, supply_neutral


def terminal_text(result, colour: bool = False, width: int = 80) -> str:
    """Return the whole answer as lines of at most `width` columns where the words allow; no escape code unless `colour`.

    Dangers come first. Every finding and every caution is in it whatever the width; tables wrap their first column.
    """
    paint = painted if colour else lambda text, _: text
    parts = [_head(result, width), _dangers(result, width, paint)]
    solutions = shown(result.after)
    before = next(iter(shown(result.before)), None)
    parts += [_arrival(result, solutions, width), _waves(result, width, paint), _states(result, width, paint)]
    for name, after in zip(after_names(solutions), solutions):
        parts.append(_points(result, before, after, name, width, paint))
        parts.append(_loads(result, before, after, name, width, paint))
    parts += [_damage(result, width, paint), _readings(result, width), _findings(result, width, paint), _assumed(result, width),
              _cautions(result, width)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _head(result, width):
    case = result.case
    lines = [visible(case.title), "=" * min(width, width_of(visible(case.title))),
             *(line for text in (f"Fault considered: {' '.join(what_is_taken(case))}", *not_known(result)) for line in wrapped(visible(text), width))]
    return "\n".join(lines)


def _dangers(result, width, paint):
    lines = [DANGER]
    for text in dangers(result):
        first, *more = wrapped(f"! {visible(text)}", width, "  ")
        lines += [paint(first, "danger"), *more]
    return "\n".join(lines)


def _arrival(result, solutions, width):
    said = []
    if not result.before.solutions:
        said.append(f"Before the fault: no settled state. {result.before.reason}".strip())
    if not solutions:
        said.append(f"After the fault: no settled state. {result.after.reason}".strip())
    elif result.after.reached is None and not result.after.cycle:
        said.append(rows.undecided(result.after))
    elif len(result.after.solutions) > 1:
        said.append(rows.several(result.after))
    return "\n".join(line for text in said for line in wrapped(visible(text), width))


def _waves(result, width, paint):
    waves, case = result.waveforms, result.case
    if waves is None:
        return ""
    used = "of the waveforms" if trusted(result) else "of sine waves"
    said = [f"Waveforms: {waves.why}. The figures below are those {used}.", what_became(case, waves), deceived(case, waves)]
    phases = [(row.place, row.line, when, *map(number, (wave.rms, wave.average_reading, wave.crest)),
               NOTHING if wave.thd is None else f"{100 * wave.thd:.0f} %")
              for row in phase_rows(case, waves) for when, wave in (("before", row.before), ("after", row.after)) if wave]
    links = [(row.name, row.connect, number(row.before, 0), f"{number(row.lowest, 0)} to {number(row.highest, 0)}",
              number(row.rating, 0), number(row.cut_off, 0), row.verdict) for row in link_rows(case, waves)]
    neutrals = [(row.feeding, row.state, *(significant(amps) for amps in (row.current, row.third, row.line)))
                for row in neutral_rows(case, waves)]
    tables = [
        ("Line to neutral as meters show it, V", ("point", "line", "when", "true r.m.s.", "average-responding", "crest", "THD"),
         phases, "lllrrrr"),
        ("D.c. links of the power supplies, V", ("item", "connect", "before", "after", "rated", "drops out at", "verdict"),
         links, "llrrrrl"),
        ("Neutral current, A", ("cable to", "when", "total r.m.s.", "third harmonic", "largest line"), neutrals, "llrrr")]
    return "\n".join([*(line for text in said for line in wrapped(visible(text), width)),
                      *(part for heading, head, body, align in tables if body
                        for part in ("", heading, table_text(head, body, align, width, paint)))])


def _states(result, width, paint):
    state = result.after
    if len(state.solutions) < 2 and not state.cycle:
        return ""
    body = rows.settled_states(result.case, state)
    return "\n".join(["Settled states after the fault, line to neutral",
                      *([table_text(("number", "stable", "reached", "voltages"), body, "rlll", width, paint)] if body else []),
                      *(line for text in rows.cycle_words(state) for line in wrapped(visible(text), width))])


def _points(result, before, after, name, width, paint):
    body = [(row.place, row.line, number(row.before), number(row.after), number(row.ratio, 2), row.told)
            for row in rows.point_rows(result.case, before, after)]
    heading = f"Voltages at each point, line to neutral, V ({rows.band_words(result.case)})"
    table = table_text(("point", "line", "before", name, "ratio", "verdict"), body, "llrrrl", width, paint)
    moved = [f"Neutral at {visible(place)}: {text} from {supply_neutral(result.case)}."
             for place, text in rows.neutral_shifts(result.case, after)]
    return "\n".join([*wrapped(heading, width), table, *(line for text in moved for line in wrapped(text, width))])


def _loads(result, before, after, name, width, paint):
    body = [(row.name, row.connect, number(row.before), number(row.after), number(row.ratio, 2), row.verdict,
             significant(row.power_before), significant(row.power_after), row.details)
            for row in rows.load_rows(result.case, before, after)]
    return "Items, V across each, ratio to its rated voltage\n" + table_text(
        ("item", "connect", "before", name, "ratio", "voltage", "W before", f"W {name}", "state"), body,
        "llrrrlrrl", width, paint)


def _damage(result, width, paint):
    found = damage.harm_rows(result)
    if not found:
        return ""
    body = [(load, outcome, soon, sure, part) for load, _, _, outcome, soon, sure, part, _, _ in found]
    heading = "Expected effect on each item over the whole incident, if new, the last condition persists and no protection operates"
    return "\n".join([*wrapped(heading, width), table_text(("item", "effect", "time to failure (range)", "confidence",
                                                           "component to inspect"), body, "lllll", width, paint, (2, 0, -1, 1))])


def _readings(result, width):
    said = deceiving(result)
    return "\n".join(["Misleading readings", *(line for text in said for line in wrapped(f"- {visible(text)}", width, "  "))
                      ]) if said else ""


def _findings(result, width, paint):
    if not result.findings:
        return "Findings\nNone."
    numbers = {text: n for n, text in enumerate(sources(result), 1)}
    usual = usual_sureness(result.findings)
    lines = ["Findings", *(wrapped(f"How sure, unless a finding says otherwise: {visible(usual)}.", width)
                           if usual else [])]
    for f in result.findings:
        first, *more = wrapped(f"{RANKS[f.rank].upper()}: {visible(f.subject)}: {visible(f.message)}", width, "  ")
        lines += [paint(first, f.severity), *more]
        word = "reference value" if f.limit and f.limit.edge == "reference" else "limit"
        limit = f.limit and f"{word} {rows.limit_words(f.limit)} [{numbers[source_words(f.limit)]}]"
        basis = "; ".join(visible(text) for text in (f.computed, limit, f.sure != usual and f.sure) if text)
        lines += wrapped(f"({basis})", width, "  ", "  ") if basis else []
    lines += ["", "Sources of the limits, and how each is known"]
    for text, n in numbers.items():
        lines += wrapped(f"[{n}] {text}", width, "    ")
    return "\n".join(lines)


def _assumed(result, width):
    count = len(result.assumptions)
    text = "Nothing had to be assumed." if not count else (
        f"{count} value{'s' * (count != 1)} or model choice{'s' * (count != 1)} not given in the case "
        f"{'were' if count != 1 else 'was'} assumed; the report lists {'them' if count != 1 else 'it'}.")
    return "\n".join(["Assumptions", *wrapped(text, width),
                      *(line for w in result.case.warnings for line in wrapped(f"- {visible(w)}", width, "  "))])


def _cautions(result, width):
    return "\n".join(["Cautions", *(line for c in result.cautions
                                    for line in wrapped(f"- {visible(c)}", width, "  "))])
