"""What the case gives, table by table, and what had to be assumed beside it."""

from math import isinf

from lostneutral.case.keys import unit_of
from lostneutral.circuit.wiring import changeover_words
from lostneutral.report.base.blocks import heading, paragraph, strong, table
from lostneutral.report.base.words import NOTHING, angle, connection, number, significant
from lostneutral.report.evidence.recorded import held_words
from lostneutral.report.ranges.rows import unknown_rows
from lostneutral.words.amounts import named
from lostneutral.words.conclusion import the_break, the_conductor

MOST_SUBJECTS = 4  #: of one assumption; the others are counted


def given(result, observed=True):
    """Return the blocks of everything that the case file says, what was `observed` with it or told elsewhere."""
    case = result.case
    made = [heading("Given"), paragraph("What the case says, as it was entered.")]
    if case.description:
        made.append(paragraph(case.description))
    made += [_supply(case), _points(case)]
    for part in (_sources, _breaks, _devices, _paths, _events, _loads, _unknowns, *([_observations] if observed else [])):
        made += part(case)
    return made


def _supply(case):
    s = case.supply
    volts = "; ".join(f"{line} {number(abs(z))} V at {number(angle(z))}°" for line, z in s.phasors.items())
    pairs = [("system", s.system), ("nominal voltage, line to neutral", f"{s.nominal:g} V"), ("source voltages", volts),
             ("frequency", f"{s.frequency:g} Hz"), ("impedance of source, each line", _ohms(s.line_impedance)),
             ("impedance of source, neutral", _ohms(s.neutral_impedance)), ("earthing", s.earthing or "not known"),
             ("electrode of the supply neutral", f"{s.electrode:g} ohm"), ("judged by", s.limits)]
    return table("Supply", ("", "value"), pairs)


def _ohms(z):
    """Return an impedance in words."""
    if z == 0:
        return "0 (ideal)"
    return f"{significant(z.real)} {'+' if z.imag >= 0 else '−'} j{significant(abs(z.imag))} ohm"


def _points(case):
    rows = [(p.name, p.kind, p.fed_from, ", ".join(p.phases), _cable(p.cable),
             NOTHING if p.electrode is None else f"{p.electrode:g} ohm") for p in case.points]
    return table("Points and the cables that feed them", ("point", "kind", "fed from", "lines", "cable", "electrode"), rows,
                 "llllll", {4: 1})


def _cable(cable):
    said = _named(cable.given)
    worked = [f"{name} {_ohms(z)}" for name, z in (("line", cable.line), ("neutral", cable.neutral), ("PE", cable.pe)) if z]
    return "; ".join([*said, *worked]) or "ideal"


def _named(figures):
    return [f"{key.replace('_', ' ')} {_value(value)} {unit_of(key)}".rstrip() for key, value in figures.items()]


def _value(value):
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (list, tuple)):
        return ", ".join(_value(v) for v in value)
    if isinstance(value, dict):
        return ", ".join(f"{k} {_value(v)}" for k, v in value.items())
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)


def _resistance(ohm):
    return "open" if isinf(ohm) else "sound" if ohm == 0 else f"{ohm:g} ohm"


def _sources(case):
    made, t = [], case.supply.transformer
    if t is not None:
        base = 3 * case.supply.nominal**2 / t.power
        pairs = [("vector group", t.group), ("rated power", f"{significant(t.power / 1e3)} kVA"),
                 ("short-circuit impedance, each line", _ohms(t.impedance * base)), ("core", t.limbs)]
        made.append(table("Transformer of the supply", ("", "value"), pairs))
    if case.generators:
        rows = [(g.name, g.kind, NOTHING if g.power is None else f"{significant(g.power / 1e3)} kVA", _ohms(g.line_impedance),
                 "bonded" if g.bonded else "floating", NOTHING if g.electrode is None else f"{g.electrode:g} ohm") for g in case.generators]
        made.append(table("Second supplies", ("name", "kind", "power", "impedance, each line", "star point", "electrode"), rows, "llllll"))
        rows = [(c.name, c.point, c.generator, ", ".join(c.poles), changeover_words(case, c)) for c in case.changeovers]
        made.append(table("Changeovers", ("name", "at", "second supply", "poles", "position at first"), rows, "lllll"))
    return made


PLACES = {"contact": "(changeover)", "fuse": "(high-voltage side)"}


def _breaks(case):
    rows = [(the_conductor(case, b), PLACES.get(b.part, b.feeding), _resistance(b.resistance)) for b in case.breaks_now()]
    rows += [(" and ".join(c.conductors), c.point, "transposed") for c in case.crosses]
    return [table("Fault considered, from the start", ("conductor", "in the cable to", "state"), rows,
                  "lll")] if rows else []


def _devices(case):
    rows = [(d.name, d.kind, d.point, d.type or NOTHING, _ratings(d), ", ".join(d.poles)) for d in case.devices]
    return [table("Protective devices", ("device", "kind", "in the cable to", "type", "ratings", "poles"), rows, "llllll")] if rows else []


def _ratings(d):
    made = [f"{1e3 * d.rated_residual:g} mA"] if d.kind == "residual-current device" else []
    made += [f"{d.rated_current:g} A"] if d.rated_current else []
    made += [f"{word} {value:g} V" for word, value in (("below", d.low), ("above", d.high), ("touch voltage above", d.touch)) if value is not None]
    made += [f"within {d.within:g} s"] if d.within is not None else []
    made += [f"supplied by {d.supply}"] if d.supply != "none" else []
    return "; ".join(made) or NOTHING


def _paths(case):
    rows = [(p.start, p.end, f"{p.resistance:g} ohm") for p in case.paths]
    return [table("Metallic paths between earth terminals", ("from", "to", "resistance"), rows, "llr")] if rows \
        else []


def _events(case):
    rows = []
    for event in case.events:
        change = event.change
        what = (f"{the_break(case, change)}: {_resistance(change.resistance)}" if change else
                f"{event.changeover}: {changeover_words(case, event)}" if event.changeover else
                f"{event.load} switched {'on' if event.on else 'off'}")
        rows.append((f"{event.time:g} s", what))
    return [table("Events", ("time", "what happens"), rows, "rl")] if rows else []


def _loads(case):
    rows = [(load.name, load.kind, connection(load), load.point, significant(load.voltage, "V", 4), f"{load.count}",
             "on" if load.on else "off",
             "; ".join(_named(load.parameters)) or NOTHING)
            for load in case.loads]
    head = ("load", "kind", "connected", "point", "rated", "count", "switch", "its own figures (one unit)")
    return [table("Loads", head, rows, "llllrrll", {0: 1, 7: 1.6})] if rows else []


def _unknowns(case):
    rows = unknown_rows(case)
    return [table("Unknown quantities and assumed distributions", ("unknown", "assumed"), rows, "ll",
                  {0: 1, 1: 1.6})] if rows else []


def _observations(case):
    rows = []
    for o in case.observations:
        where = o.load or f"{o.point} {'-'.join(o.between or ())}"
        what = o.seen or f"{significant(o.voltage, 'V', 4)}" + (f" ± {o.uncertainty:g} V" if o.uncertainty else "")
        also = [f"within {o.within:g} s"] if o.within else []
        rows.append((where, what, "; ".join(also + [f"{k} {_value(v)}" for k, v in o.details.items()]) or NOTHING))
    rows += [(o.device, "operated" if o.operated else "did not operate", "; ".join(f"{k} {_value(v)}" for k, v in o.details.items()) or NOTHING)
             for o in case.operated]
    rows += [(f"{r.point} {'-'.join(r.between)}", f"recording of {held_words(r)}", r.file) for r in case.recordings]
    return [table("What was seen", ("where", "seen", "how"), rows, "lll", {2: 1})] if rows else []


def assumed(result):
    """Return the blocks of every value and model choice that the case did not give."""
    made = [heading("Assumed")]
    if result.assumptions:
        made += [paragraph("Values and model choices that the case did not give. Another value may change the answer."),
                 table("Assumptions", ("of", "what", "value", "why, and how known"),
                       [(named(subjects, MOST_SUBJECTS), what, strong(value), why) for (what, value, why), subjects
                        in _together(result.assumptions)], "llll", {0: 1.1, 1: 1, 2: 0.8, 3: 2.6})]
    else:
        made.append(paragraph("Nothing had to be assumed."))
    made += [paragraph(f"Note on the case: {text}") for text in result.case.warnings]
    return made


def _together(assumptions):
    """Return ((what, value, why), subjects) of each assumption, like ones of several subjects once."""
    found = {}
    for a in assumptions:
        found.setdefault((a.what, a.value, a.why), []).append(a.subject)
    return found.items()


def old_colours(result):
    """Return the table of old and present conductor colours of the case's country; nothing if it names none."""
    country = result.case.supply.old_colours
    if not country:
        return []
    from lostneutral.consequences.colours import colour_note, conductor_colours

    conductors = ("L1", "L2", "L3", "N", "PE", "PEN")
    rows = [(f"{s['age']}: {s['period']}", *(s[c] or NOTHING for c in conductors),
             f"{s['source']} ({s['known']})") for s in conductor_colours(country)]
    note = [paragraph(colour_note(country))] if colour_note(country) else []
    return [heading(f"Conductor colours old and new: {country}"),
            paragraph("A colour proves neither what a conductor is nor that it is isolated: test."),
            table(f"Conductor colours, {country}", ("period", *conductors, "source"), rows, "l" * 8, {0: 1, 7: 1}), *note]
