"""Item by item, what the voltages do: the table of damage, the row of lamps, the bad joint."""

from lostneutral import data
from lostneutral.consequences.harm import CONFIDENCE, HARMLESS, in_a_cycle, of_solution
from lostneutral.consequences.joint import joint_of, joint_sweep
from lostneutral.consequences.lamps import lamp_division
from lostneutral.consequences.times import duration, span
from lostneutral.report import damage_figures
from lostneutral.report.blocks import figure, heading, paragraph, strong, table
from lostneutral.report.words import NOTHING, after_names, connection, number, shown, significant, size

PROTECTED = {"yes": "would have opened first", "perhaps": "might have", "no": "would not have", "": NOTHING}
_TAKEN_AS = ("Each item is taken as new, with no protection acting, and the state as lasting. An old lamp or capacitor goes "
             "sooner. An item that survives is as much a result as one that fails: if it is found broken, look for "
             "another cause.")


def item_by_item(result):
    """Return what each load comes to: the heart of a client's report."""
    if not result.harms:
        return []
    made = [heading("Item by item: what the voltage did"), paragraph(_TAKEN_AS)]
    afters = shown(result.after)
    for name, solution in zip(after_names(afters), afters):
        found = of_solution(result.harms, result.after, solution)
        made.append(_table(harm_rows(solution.loads, found), "" if len(afters) == 1 else f" ({name})"))
    if not afters:
        made.append(_table(cycle_rows(result), ", in a circuit that does not settle, at the worse end of its voltages"))
    made.append(paragraph("How sure: " + "; ".join(f"{grade}: {CONFIDENCE[grade]}" for grade in dict.fromkeys(
        h.confidence for h in result.harms)) + "."))
    made.append(_bases(result))
    return [*made, *_lamps(result)]


def cycle_rows(result):
    """Return the rows of `harm_rows` for a circuit that keeps changing; none if it settles."""
    pairs = in_a_cycle(result.case, result.after)
    return harm_rows([seen for _, seen in pairs], {harm.load: harm for harm, _ in pairs})


def harm_rows(loads, found):
    """Return (load, connection, V, outcome, how soon, confidence, part, device) of every load, hurt ones first."""
    rows = []
    for seen in loads:
        harm = found.get(seen.name)
        if harm is not None:
            soon = NOTHING if harm.central is None and harm.earliest is None else (
                f"{duration(harm.central)} ({span(harm.earliest, harm.latest)})" if harm.central is not None else
                span(harm.earliest, harm.latest))
            rows.append((seen.name, connection(seen), number(size(seen.voltage), 0), harm.outcome, soon,
                         harm.confidence, f"{harm.part}{f', {harm.mode}' if harm.mode else ''}" or NOTHING,
                         PROTECTED[harm.protected]))
    # Sorted is stable, so that within each group the case's order stays.
    return sorted(rows, key=lambda row: row[3] in HARMLESS)


def _table(rows, name):
    body = [(load, volts, word if word in HARMLESS else strong(word), soon, sure, part, device)
            for load, _, volts, word, soon, sure, part, device in rows]
    return table(f"What to expect of each item{name}",
                 ("item", "V", "outcome", "how soon (range)", "how sure", "failed part to look for",
                  "overvoltage device"), body, "lrlllll", {0: 1.3, 3: 1.2, 5: 2.0, 6: 1.0})


def _bases(result):
    said = {}
    for harm in result.harms:
        said.setdefault(harm.basis, []).append(harm.load)
    return table("What each outcome rests on", ("basis", "items"),
                 [(basis, ", ".join(dict.fromkeys(loads))) for basis, loads in said.items()], "ll", {0: 3, 1: 1})


_FILAMENTS = ("A filament that gets less voltage is cooler, and its resistance lower; one that gets more is hotter, and its "
              "resistance higher. So unequal lamps left in series part further than fixed resistors of the same rated "
              "power would, which is how they are often reckoned.")


def _lamps(result):
    if not damage_figures.lamps_of(result):
        return []
    return [*_light(result), *_division(result)]


def _division(result):
    found = lamp_division(result.case, result.after)
    if not found:
        return []
    body = [(d.load, number(d.as_lamp), number(d.as_resistor)) for d in found]
    return [paragraph(_FILAMENTS), table("Lamps after the break, V across each: as they are, and if they were fixed resistors",
                                         ("lamp", "as a filament", "as a fixed resistor"), body, "lrr")]


def _light(result):
    edges = data.load("yardsticks")["brightness"]
    return [figure(damage_figures.lamps(result), "The light of the lamps: the area of the disc is the light after, the broken "
                   f"circle the light before. Dimmer below {edges['unchanged_low']:g}, brighter above "
                   f"{edges['unchanged_high']:g}, glaring above {edges['glaring']:g} times.", floats=False)]


def joint(result):
    """Return what a bad joint does as it goes from sound to open; nothing if the case has none."""
    found = joint_of(result.case)
    if found is None:
        return []
    sweep, sheds = joint_sweep(result.case), data.load("yardsticks")["joint_sheds"]["value"]
    body = [(_ohms(r), significant(i, "A"), significant(heat, "W"), f"{number(shift)} V",
             *(number(volts[n]) for volts in sweep.phases.values()))
            for n, (r, i, heat, shift) in enumerate(zip(sweep.resistances, sweep.currents, sweep.heats, sweep.shifts))
            if n % 3 == 0 or n == len(sweep.resistances) - 1]
    text = (f"The joint of {significant(found.resistance, 'ohm')} in {found.conductor} of the run to {found.feeding} (dotted in the "
            "figure) on its way from sound to open. Heat is greatest in between: a joint burns before it is open. It is "
            f"taken that a joint can shed about {sheds:g} W.")
    return [heading("The bad joint", 2), paragraph(text),
            figure(damage_figures.joint(sweep, sheds), "Voltages past the joint, and its heat, over its resistance."),
            table("The joint from sound to open", ("joint, ohm", "current", "heat", "N shift",
                                                   *(f"{line}, V" for line in sweep.phases)), body,
                  "rrrr" + "r" * len(sweep.phases))]


def _ohms(value):
    return "sound" if value == 0 else "open" if value == float("inf") else significant(value)
