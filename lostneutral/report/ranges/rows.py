"""The rows and sentences of ranges, for terminal and document alike."""

from dataclasses import replace

from lostneutral import data
from lostneutral.case.keys import unit_of
from lostneutral.circuit.wiring import conductor_name
from lostneutral.consequences.pulses import trusted
from lostneutral.evidence.places import resistance_of
from lostneutral.report.base.words import NOTHING, number, significant, what_is_taken
from lostneutral.studies.recorded import all_observations
from lostneutral.words.items import OUTCOMES
from lostneutral.words.terms import VERDICTS

MOST_ROWS = 30  #: lines or loads in a table: those that may go highest
LIMITS = {"too high": VERDICTS["over"], "too low": VERDICTS["under"], "dead": "no voltage",
          "beyond insulation": "above insulation rating"}
"""What the limits are called in print that the result file names."""
RARE = 0.005  #: outcomes below this share are not named in a table; the result file has them all


def unknown_rows(case):
    """Return (what is not known, what is taken of it) of every unknown."""
    made = []
    for u in case.unknowns:
        if u.on is not None:
            made.append((u.load, {0.0: "off", 1.0: "on"}.get(u.on) or "on with a probability of "
                                                                      f"{percent_words(u.on)}"))
        if u.one_of:
            made.append(("one of " + ", ".join(u.one_of), _choice(u)))
        made += [(name, _law(spread, unit_of(key))) for key, name in
                 (("power", f"power of {u.load}"), ("resistance", resistance_of(case, u)),
                  ("electrode", f"earth electrode at {u.point}"), ("capacitance", f"capacitance of the cable to {u.feeding}"),
                  ("supply_voltage", "voltage of the supply, line to neutral")) if (spread := getattr(u, key)) is not None]
        if u.phases:
            made.append((f"line that {u.point} is on", f"one of {', '.join(u.phases)}, each as likely"))
    return tuple(made)


def _law(spread, unit):
    if spread.mean is not None:
        return (f"normally distributed, mean {spread.mean:g} {unit}, standard deviation {spread.deviation:g}; nothing "
                "below 0")
    how = "uniform on a logarithmic scale" if spread.scale == "log" else "uniformly distributed"
    return f"{_span(spread, unit)}, {how}"


def _span(spread, unit):
    if unit != "ohm":
        return f"{spread.low:g} to {spread.high:g} {unit}"
    low, high = (ohms_words(ohms) for ohms in (spread.low, spread.high))
    return f"{low.split()[0] if low.split()[1] == high.split()[1] else low} to {high}"


def ohms_words(ohms):
    """Return a resistance in Ω, kΩ, MΩ or GΩ.

    >>> print(ohms_words(8.0), ohms_words(1e5), ohms_words(1e7), ohms_words(1e10), ohms_words(0.3))
    8 Ω 100 kΩ 10 MΩ 10 GΩ 0.3 Ω
    """
    size, unit = next((size, unit) for size, unit in ((1e9, "GΩ"), (1e6, "MΩ"), (1e3, "kΩ"), (0.0, "Ω")) if ohms >= size)
    return f"{ohms / (size or 1.0):.4g} {unit}"


def _choice(u):
    each = [f"{name} {percent_words(chance)}" for name, chance in zip(u.one_of, u.chances)]
    return "only one was on: " + ", ".join(each) + (f", none of them: {percent_words(u.none)}" if u.none else "")


def percent_words(share):
    """Return a probability as a percentage, "4 %", "33.3 %"."""
    return f"{100 * share:.3g} %"


def probability_words(share):
    """Return a probability that was worked out, never as certain or impossible: "4 %", "> 99.9 %", "< 0.1 %".

    >>> print(probability_words(1.0), probability_words(0.9993), probability_words(0.876), probability_words(0.0))
    > 99.9 % > 99.9 % 87.6 % < 0.1 %
    """
    return "< 0.1 %" if share < 0.001 else "> 99.9 %" if share > 0.999 else percent_words(share)


def chance_words(chance):
    """Return the share of the samples with its sampling error: "62.2 % ± 0.1", "below 0.04 %"."""
    if chance.share in (0.0, 1.0):
        return f"below {significant(100 * chance.error, figures=1)} %" if chance.share == 0.0 else \
            f"above {100 - 100 * chance.error:.4g} %"
    places = 1 if chance.error >= 0.0005 else 2
    return f"{number(100 * chance.share, places)} % ± {number(max(100 * chance.error, 10.0 ** -places), places)}"


def volts_row(span):
    """Return the least, 5, 50 and 95 % and the most of `span`, V."""
    return tuple(number(v, 0) for v in (span.least, span.low, span.middle, span.high, span.most))


def span_name(span):
    """Return what a span is of, in a few words."""
    return f"{span.line} at {span.name}" if span.line else span.name


def fault_words(case):
    """Return the fault considered, one sentence each; of a joint whose resistance is not known, that."""
    open_ended = {(u.feeding, u.conductor) for u in case.unknowns if u.feeding}
    known = replace(case, breaks=tuple(b for b in case.breaks_after() if (b.feeding, b.conductor) not in open_ended),
                    events=())
    told = tuple(f"The {conductor_name(case, feeding, conductor)} in the cable to {feeding} is taken as "
                 "open-circuit or as a "
                 "high-resistance joint: its resistance is not known." for feeding, conductor in sorted(open_ended))
    return (*told, *(what_is_taken(known) if known.breaks or known.crosses or not told else ()))


def not_used_words(case):
    """Return that what was observed plays no part in the ranges, where something was."""
    seen = all_observations(case)
    return (f"{'The observation' if len(seen) == 1 else 'The observations'} of the case did not narrow these ranges: a comparison of "
            "possible causes gives the voltages given what was observed.",) if seen else ()


def foremost(spans, most=MOST_ROWS):
    """Return the spans that may go highest, in their order; all where they are few."""
    far = sorted(range(len(spans)), key=lambda k: (-(spans[k].high or 0.0), k))[:most]
    return tuple(spans[k] for k in sorted(far))


def range_phase_rows(found):
    """Return (line, point, least, 5 %, 50 %, 95 %, most) of every line to neutral."""
    return tuple((s.line, s.name, *volts_row(s)) for s in foremost(found.phases))


def phase_chances(found):
    """Return (line, point, chance of each limit …) of every line, and the heads of its columns."""
    heads = tuple(LIMITS.get(c.words, c.words) for s in found.phases for c in s.chances)[:4]
    rows = tuple((s.line, s.name, *(chance_words(c) for c in s.chances)) for s in foremost(found.phases) if s.chances)
    return ("line", "at", *heads), rows


def range_load_rows(found):
    """Return (load, on, 5 %, 50 %, 95 %, above limits, below limits) of every load that may be on."""
    return tuple((s.name, {0.0: "never", 1.0: "always"}.get(s.there) or percent_words(s.there), *volts_row(s)[1:4],
                  *(chance_words(c) for c in s.chances[:2])) if s.chances else (s.name, "never", *[NOTHING] * 5)
                 for s in foremost(found.loads))


def outcome_rows(found):
    """Return (load, chance that it fails, its outcomes with the chance of each) of every load that may be on."""
    return tuple((s.name, chance_words(s.chances[-1]) if s.chances else NOTHING,
                  "; ".join(f"{OUTCOMES[o.words]} {chance_words(o)}" for o in s.outcomes if o.share >= RARE) or NOTHING)
                 for s in foremost(found.loads))


def range_limit_words(found):
    """Return each limit once, with its source: what the chances are about."""
    said = {}
    for s in (*found.phases[:1], *found.loads[:1]):
        for c in (c for c in s.chances if c.limit):
            side = "above" if c.words in ("too high", "beyond insulation") else "below"
            words = "no voltage to neutral (a line is not proved dead by it)" if c.words == "dead" else LIMITS[c.words]
            said.setdefault(c.words, f"{words[0].upper()}{words[1:]}: {side} {number(c.limit.value, 1)} V for a "
                                     "line, by "
                            f"{c.limit.source}; {c.limit.known}.")
    return tuple(said.values())


def influence_rows(found):
    """Return (unknown, its share, width if it were known, what it would then be) of every unknown."""
    return tuple((i.name, range_part_words(i.share),
                  f"{number(i.width_known, 0)} V", _parts(i)) for i in found.influences)


def range_part_words(share):
    """Return a share of a variance in whole percent, never as all or nothing of it."""
    return "below 0.5 %" if share < 0.005 else "above 99.5 %" if share > 0.995 else f"{number(100 * share, 0)} %"


def _parts(influence):
    parts = influence.parts if len(influence.parts) <= 4 else (influence.parts[0], influence.parts[-1])
    return "; ".join(f"{p.words}: {number(p.low, 0)} to {number(p.high, 0)} V" for p in parts)


def guarantee_words(found):
    """Return what is certain whatever the loads, as a sentence or two."""
    g = found.guarantee
    if g.highest is None:
        return g.reason
    return f"No line-to-neutral voltage can exceed {number(g.highest, 0)} V. {g.reason}"


def likely_words(found):
    """Return the highest voltage in a sentence."""
    top = found.highest
    if top.middle is None:
        return ("In every sample the neutral is floating: no load that is on gives it a defined potential, and no voltage can "
                "be given.")
    width = number(top.high - top.low, 0)
    first = next((i for i in found.influences if i.share >= 0.01 and i.width_known < i.width), None)
    told = "" if first is None else \
        f" The fact that would narrow the range most: {first.name}, to {number(first.width_known, 0)} V on average."
    return (f"Highest line-to-neutral voltage of any phase, by calculation: the median is {number(top.middle, 0)} V "
            "and 90 % of the "
            f"samples lie between {number(top.low, 0)} and {number(top.high, 0)} V, a range of {width} V.{told}")


def range_notes(result):
    """Return how the ranges were come by, and what they leave out."""
    case, found = result.case, result.ranges
    said = [(f"{found.samples} samples of the unknown quantities ({found.scramblings} scrambled Sobol sequences, seed "
             f"{found.seed}). ± is one standard error of sampling; what occurs in none or in all of the samples is "
             "given as "
             "below or above the share that 3 such samples would make."),
            ("The probabilities depend on those assumed for the unknown quantities: they describe what is possible, "
             "not "
             "what happened.")]
    left = sum(len(spans) - len(foremost(spans)) for spans in (found.phases, found.loads))
    if left:
        said.append(f"The tables show the lines and loads with the highest possible voltages; {left} more are in the "
                    "result file.")
    if any(u.phases or u.capacitance for u in case.unknowns):
        said.append("Unknown lines of a point and capacitances of cables play no part in these ranges; a comparison of possible "
                    "causes samples them.")
    said += not_used_words(case)
    said.append("All other results use the loads exactly as given.")
    floating = 1 - found.highest.there
    if floating > 1e-9:
        said.append(f"In {percent_words(floating)} of the samples the neutral is floating (no load that is on gives "
                    "it a defined "
                    "potential); they are left out of the line-to-neutral figures.")
    said.append("The figures of a load count the samples in which it is on. Outcomes are for a new item, its power as in the "
                "case, if the condition persists and no protection operates.")
    if found.falling:
        said.append(f"The current of {', '.join(found.falling[:4])}{' and others' if len(found.falling) > 4 else ''} may fall "
                    "as the voltage rises, so that more than one stable solution is possible: where they are on, all "
                    "were "
                    "searched for. There may be others; and since the search takes long, the samples are few.")
    if found.several > 1e-9:
        said.append(f"In {percent_words(found.several)} of the samples there is more than one stable solution; they "
                    "count "
                    "equally, since which of them is reached was not calculated.")
    if found.unsolved > 1e-9:
        said.append(f"For {percent_words(found.unsolved)} of the samples no stable solution was found; they are left "
                    "out.")
    if trusted(result):
        said.append("Rectifier loads here draw their current in pulses. The ranges are calculated with sine waves "
                    "and leave that "
                    "out: compare them with the waveforms of the case as given.")
    table = data.load("evidence")["evening"]
    if any(a.what == "probability that it was on" for a in case.assumptions):
        said.append(f"Probabilities of a typical evening: {table['source']} ({data.KNOWN[table['known']]}).")
    return tuple(said)
