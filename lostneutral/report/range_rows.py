"""The rows and sentences of ranges, for terminal and document alike."""

from dataclasses import replace

from lostneutral import data
from lostneutral.consequences.pulses import trusted
from lostneutral.report.words import NOTHING, faults, number, significant

MOST_ROWS = 30  #: lines or loads in a table: those that may go highest
UNITS = {"power": "W", "resistance": "ohm", "supply_voltage": "V line to neutral"}
RARE = 0.005  #: outcomes below this share are not named in a table; the result file has them all


def unknown_rows(case):
    """Return (what is not known, what is taken of it) of every unknown."""
    made = []
    for u in case.unknowns:
        run = f"{u.conductor} of the run to “{u.feeding}”"
        if u.on is not None:
            made.append((u.load, f"on with a probability of {percent_words(u.on)}"))
        if u.one_of:
            made.append(("one of " + ", ".join(u.one_of), _choice(u)))
        made += [(name, _law(spread, UNITS[key])) for key, name in
                 (("power", f"power of {u.load}"), ("resistance", f"resistance of {run}"),
                  ("supply_voltage", "voltage of the supply")) if (spread := getattr(u, key)) is not None]
    return tuple(made)


def _law(spread, unit):
    if spread.mean is not None:
        return f"normal, mean {spread.mean:g} {unit}, standard deviation {spread.deviation:g}; nothing below 0"
    how = "alike by ratio" if spread.scale == "log" else "all alike"
    return f"{spread.low:g} to {spread.high:g} {unit}, {how}"


def _choice(u):
    each = [f"{name} {percent_words(chance)}" for name, chance in zip(u.one_of, u.chances)]
    return "only one was on: " + ", ".join(each) + (f", none of them {percent_words(u.none)}" if u.none else "")


def percent_words(share):
    """Return a probability as a percentage, "4 %", "33.3 %"."""
    return f"{100 * share:.3g} %"


def chance_words(chance):
    """Return a probability with its sampling error: "62.2 % ± 0.1", "below 0.04 %"."""
    if chance.share in (0.0, 1.0):
        return f"below {significant(100 * chance.error, figures=1)} %" if chance.share == 0.0 else \
            f"above {100 - 100 * chance.error:.4g} %"
    places = 1 if chance.error >= 0.0005 else 2
    return f"{number(100 * chance.share, places)} % ± {number(max(100 * chance.error, 10.0 ** -places), places)}"


def volts_row(span):
    """Return the least, 5, 50 and 95 % and the most of `span`, V."""
    return tuple(number(v, 0) for v in (span.least, span.low, span.middle, span.high, span.most))


def name_of(span):
    """Return what a span is of, in a few words."""
    return f"{span.line} at {span.name}" if span.line else span.name


def fault_words(case):
    """Return what is broken, one sentence each; of a joint whose resistance is not known, that."""
    open_ended = {(u.feeding, u.conductor) for u in case.unknowns if u.feeding}
    known = replace(case, breaks=tuple(b for b in case.breaks_after() if (b.feeding, b.conductor) not in open_ended),
                    events=())
    told = tuple(f"{conductor} in the run that feeds “{feeding}” is broken or holds by a bad joint: its resistance is not "
                 "known." for feeding, conductor in sorted(open_ended))
    return (*told, *(faults(known) if known.breaks or known.crosses or not told else ()))


def foremost(spans, most=MOST_ROWS):
    """Return the spans that may go highest, in their order; all where they are few."""
    far = sorted(range(len(spans)), key=lambda k: (-(spans[k].high or 0.0), k))[:most]
    return tuple(spans[k] for k in sorted(far))


def phase_rows(found):
    """Return (line, point, least, 5 %, 50 %, 95 %, most) of every line to neutral."""
    return tuple((s.line, s.name, *volts_row(s)) for s in foremost(found.phases))


def phase_chances(found):
    """Return (line, point, chance of each limit …) of every line, and the heads of its columns."""
    heads = tuple(c.words for s in found.phases for c in s.chances)[:4]
    rows = tuple((s.line, s.name, *(chance_words(c) for c in s.chances)) for s in foremost(found.phases) if s.chances)
    return ("line", "at", *heads), rows


def load_rows(found):
    """Return (load, on, 5 %, 50 %, 95 %, too high, too low) of every load that may be on."""
    return tuple((s.name, percent_words(s.there) if s.there else "never", *volts_row(s)[1:4],
                  *(chance_words(c) for c in s.chances[:2])) if s.chances else (s.name, "never", *[NOTHING] * 5)
                 for s in foremost(found.loads))


def outcome_rows(found):
    """Return (load, chance that it fails, what it comes to with the chance of each) of every load that may be on."""
    return tuple((s.name, chance_words(s.chances[-1]) if s.chances else NOTHING,
                  "; ".join(f"{o.words} {chance_words(o)}" for o in s.outcomes if o.share >= RARE) or NOTHING)
                 for s in foremost(found.loads))


def limit_words(found):
    """Return each limit once, with its source: what the chances are about."""
    said = {}
    for s in (*found.phases[:1], *found.loads[:1]):
        for c in (c for c in s.chances if c.limit):
            side = "above" if c.words in ("too high", "beyond insulation") else "below"
            said.setdefault(c.words, f"{c.words[0].upper()}{c.words[1:]}: {side} {number(c.limit.value, 1)} V for a line, by "
                            f"{c.limit.source}; {c.limit.known}.")
    return tuple(said.values())


def influence_rows(found):
    """Return (unknown, its share, width if it were known, what it would then be) of every unknown."""
    return tuple((i.name, f"{number(100 * i.share, 0)} %" if i.share >= 0.005 else "below 0.5 %",
                  f"{number(i.width_known, 0)} V", _parts(i)) for i in found.influences)


def _parts(influence):
    parts = influence.parts if len(influence.parts) <= 4 else (influence.parts[0], influence.parts[-1])
    return "; ".join(f"{p.words}: {number(p.low, 0)} to {number(p.high, 0)} V" for p in parts)


def guarantee_words(found):
    """Return what is certain whatever the loads, as a sentence or two."""
    g = found.guarantee
    if g.highest is None:
        return g.reason
    return f"No line can stand more than {number(g.highest, 1)} V from the neutral. {g.reason}"


def likely_words(found):
    """Return the highest voltage in a sentence."""
    top = found.highest
    if top.middle is None:
        return "In every sample the neutral floats: nothing that is on ties it down, and no voltage can be given."
    width = number(top.high - top.low, 0)
    first = next((i for i in found.influences if i.share >= 0.01 and i.width_known < i.width), None)
    told = f" Knowing “{first.name}” would narrow it most surely: to {number(first.width_known, 0)} V in the mean." \
        if first else ""
    return (f"The highest voltage of any line to its neutral: half of the possible cases are above {number(top.middle, 0)} V, "
            f"and nine in ten lie between {number(top.low, 0)} and {number(top.high, 0)} V, a range of {width} V.{told}")


def notes(result):
    """Return how the ranges were come by, and what they leave out."""
    case, found = result.case, result.ranges
    said = [(f"{found.samples} samples of what is not known, drawn from {found.scramblings} scrambled Sobol sequences (seed "
             f"{found.seed}). What follows ± is one standard error of sampling, from how these sequences differ; an event "
             "seen in none or in all of the samples is given as below or above the share that 3 such samples would make."),
            ("The chances are as good as the probabilities put in, which are the case's own or assumed: they say what the "
             "unknowns leave open, not what happened.")]
    left = sum(len(spans) - len(foremost(spans)) for spans in (found.phases, found.loads))
    if left:
        said.append(f"The tables show the lines and loads that may go highest; {left} more are in the result file.")
    said.append("Whatever else is said of the case, its other voltages among them, takes its loads as it gives them.")
    floating = 1 - found.highest.there
    if floating > 1e-9:
        said.append(f"In {percent_words(floating)} of the samples nothing that is on ties the neutral down: a line then has no "
                    "voltage to it, and these samples are left out of its figures.")
    said.append("The figures of a load count the samples in which it is on. Outcomes are for a new item, its power as in the "
                "case, if the voltage lasts and nothing acts.")
    if found.falling:
        said.append(f"The current of {', '.join(found.falling[:4])}{' and others' if len(found.falling) > 4 else ''} may fall "
                    "as the voltage rises: where they are on, every settled state was looked for, from a spread of star "
                    "points. That is no proof that there is no other; and since it takes long, the samples are few.")
    if found.several > 1e-9:
        said.append(f"In {percent_words(found.several)} of the samples more than one settled state can hold; each counts "
                    "alike, since which of them is reached was not worked out.")
    if found.unsolved > 1e-9:
        said.append(f"For {percent_words(found.unsolved)} of the samples no settled state was found; they are left out.")
    if trusted(result):
        said.append("Loads here draw their current in pulses. The ranges are worked out with sine waves and leave that out: "
                    "hold them against the waveforms of the case as given.")
    table = data.load("evidence")["evening"]
    if any(a.what == "probability that it was on" for a in case.assumptions):
        said.append(f"Probabilities of a typical evening: {table['source']} ({data.KNOWN[table['known']]}).")
    return tuple(said)
