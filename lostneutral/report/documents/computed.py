"""What was calculated: the star point, voltages against limits, currents, loads, and the settled states found."""

from lostneutral.report.base import rows
from lostneutral.report.base.blocks import bullets, figure, heading, paragraph, strong, table
from lostneutral.report.base.words import NOTHING, after_names, angle, number, remaining, shown, significant, size
from lostneutral.report.star import figures
from lostneutral.words.terms import VERDICTS, supply_neutral


def star_point_section(result):
    """Return the phasor diagram, and each neutral and earth terminal before and after."""
    case = result.case
    shape = ("the triangle of the line-to-line voltages" if case.supply.system == "three-phase" else
             "the line between the two ends of the supply")
    split = case.supply.system == "split-phase"
    text = (f"{'The ends' if split else 'The corners'} are the line voltages, {shape}; the neutral N lies where the currents of the "
            f"loads sum to zero. A line's voltage to neutral is the distance from N to its {'end' if split else 'corner'}. Drawn "
            f"true to scale; {supply_neutral(case)} is the cross, angles count from the axis that points right.")
    return [heading("Neutral between the lines" if split else "Star point and voltage triangle", 2), paragraph(text),
            figure(figures.phasors(result), "Voltages before and after, as phasors."), _terminals(result)]


def _terminals(result):
    states = _states(result)
    body = []
    for point in result.case.points:
        body.append((point.name, f"neutral to {supply_neutral(result.case)}",
                     *(_phasor(s.nodes.get((point.name, "N"))) for s in states.values())))
        if result.case.supply.earthing and any((point.name, "PE") in s.nodes for s in states.values()):
            body.append((point.name, "earth terminal to remote earth",
                         *(_phasor(s.between((point.name, "PE"), ("earth", ""))) for s in states.values())))
    return table("Neutrals and earth terminals", ("point", "voltage", *states), body, "ll" + "r" * len(states))


def _states(result):
    """Return {"before": solution, "after": solution …}, what is shown of both states."""
    afters = shown(result.after)
    return dict(zip(("before", *after_names(afters)), (*shown(result.before)[:1], *afters))) if shown(result.before) \
        else dict(zip(after_names(afters), afters))


def _phasor(z):
    if z is None:
        return "no defined potential"
    at = angle(z) if abs(z) >= 0.05 else None
    return f"{number(abs(z))} V" + ("" if at is None else f" at {number(at)}°")


def voltages(result):
    """Return every line-to-neutral voltage before and after against the band."""
    case = result.case
    before = next(iter(shown(result.before)), None)
    made = [heading("Voltages against limits", 2),
            figure(figures.voltages(result), "Line to neutral at each point. Marks: ▲ above limits, ● within "
                   "limits, ▼ below limits, ✕ no voltage to neutral. The dotted band is the supply band, the broken line the voltage between lines.")]
    afters = shown(result.after)
    for name, after in zip(after_names(afters), afters):
        body = [(r.place, r.line, number(r.before), number(r.after), number(r.ratio, 2), _verdict(r.told))
                for r in rows.point_rows(case, before, after)]
        made.append(table(f"Line to neutral, V ({rows.band_words(case)})",
                          ("point", "line", "before", name, "of nominal", "verdict"), body, "llrrrl"))
    return made


def _verdict(word):
    return word if word in (VERDICTS["within"], "off") else strong(word)


def currents(result):
    """Return the currents of every run, and how those of the broken run add up."""
    states = _states(result)
    body = []
    for point in result.case.points:
        for conductor in (*point.phases, "N", "PE"):
            if any((point.name, conductor) in s.currents for s in states.values()):
                body.append((point.name, conductor, *(_current(s.currents.get((point.name, conductor)))
                                                      for s in states.values())))
    text = ("Currents count from the supply's side towards the point, in the neutral too, so that those in one cable sum to "
            "zero unless part returns by another path.")
    return [heading("Currents", 2), paragraph(text),
            figure(figures.currents(result), "Currents before (white) and after (shaded) in the cable with the fault."),
            table("Currents in every cable", ("cable to", "conductor", *states), body, "ll" + "r" * len(states))]


def _current(z):
    if z is None:
        return "not determined"
    at = angle(z) if abs(z) >= 1e-6 else None
    return significant(size(z), "A") + ("" if at is None else f" at {number(at, 0)}°")


def loads(result):
    """Return each load's voltage, current, power, light or temperature, before and after."""
    made = [heading("Each load", 2)]
    before = next(iter(shown(result.before)), None)
    afters = shown(result.after)
    for name, after in zip(after_names(afters), afters):
        found = rows.load_rows(result.case, before, after)
        made.append(load_voltages(found, name))
        power = [(r.name, significant(r.current_before, "A"), significant(r.current_after, "A"),
                  significant(r.power_before, "W"), significant(r.power_after, "W")) for r in found]
        made.append(table("Current and power of each load (of all its units)",
                          ("load", "current before", name, "power before", name), power, "lrrrr"))
        state = [(r.name, r.details_before, r.details) for r in found
                 if {r.details, r.details_before} - {NOTHING, "off"}]
        if state:
            made.append(table("Operating state", ("load", "before", name), state))
    for s in afters:
        for ends, words, heads in ((3, "delta", ("L1-L2", "L2-L3", "L3-L1")), (4, "star", ("L1", "L2", "L3"))):
            branches = [(load.name, *(_phasor(v) for v in load.branches)) for load in s.loads
                        if load.branches and len(load.connect) == ends]
            if branches:
                made.append(table(f"Branches of the three-phase loads in {words}", ("load", *heads), branches, "lrrr"))
    return made


def load_voltages(found, name):
    """Return the table of the voltage across each load."""
    body = [(r.name, r.connect, number(r.before), number(r.after), number(r.ratio, 2), _verdict(r.verdict))
            for r in found]
    return table("Voltage across each load, V", ("load", "connected", "before", name, "of rated", "verdict"), body,
                 "llrrrl")


def short_tables(result):
    """Return what a client needs of the figures: the voltage across each load, and its light or temperature."""
    before = next(iter(shown(result.before)), None)
    afters = shown(result.after)
    made = [heading("Every item")]
    for name, after in zip(after_names(afters), afters):
        found = rows.load_rows(result.case, before, after)
        made.append(load_voltages(found, name))
    return [*made, *voltages(result)]


def settled_states(result):
    """Return every settled state found, which attract, which is reached, and how exactly each solves the equations."""
    case = result.case
    body = [(state.name, *row, remaining(s.residual)) for state in (result.before, result.after)
            for row, s in zip(rows.settled_states(case, state), state.solutions)]
    made = [heading("Settled states", 2),
            table("Settled states found, line to neutral", ("circuit", "number", "stable", "reached", "voltages",
                                                            "remaining error"), body, "lrlllr", {4: 1})]
    for state in (result.before, result.after):
        text = {"cycle": "it keeps changing.", "undecided": "which state it takes is undecided."}.get(state.ends, "")
        said = " ".join(part for part in (text, state.reason, rows.sensitive_words(state)) if part)
        if said:
            made.append(paragraph(f"The circuit {state.name} the fault: {said}"))
        if state.cycle:
            made.append(bullets(rows.cycle_words(state)))
    return made
