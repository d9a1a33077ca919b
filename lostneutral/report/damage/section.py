"""Item by item, what the voltages would do: the table of effects, the row of lamps, the high-resistance joint."""

import numpy as np

from lostneutral import data
from lostneutral.claims.model import Rank
from lostneutral.consequences.harm import CONFIDENCE
from lostneutral.report.base.blocks import figure, heading, paragraph, strong, table
from lostneutral.report.base.words import NOTHING, connection, number, significant
from lostneutral.report.damage import figures as damage_figures
from lostneutral.words.conclusion import the_conductor
from lostneutral.words.items import DEVICES, OUTCOMES, part_words, time_words

_TAKEN_AS = ("Over the whole incident, each item taken as new and with no protection acting, and the last condition as lasting. Aged "
             "components fail sooner. An item of which no damage is expected is as much a result as one that fails: if it has "
             "failed, other causes should be investigated.")


def item_by_item(result):
    """Return the expected effect on each item, one verdict each: the heart of a client's report."""
    if not result.verdicts:
        return []
    made = [heading("Expected effect on each item"), paragraph(_TAKEN_AS), _table(harm_rows(result))]
    made.append(paragraph("Confidence: " + "; ".join(f"{grade}: {CONFIDENCE[grade]}" for grade in dict.fromkeys(
        v.confidence for v in result.verdicts)) + "."))
    made.append(_bases(result))
    return [*made, *_lamps(result)]


def harm_rows(result):
    """Return (item, connection, V, outcome, how soon, confidence, part, device, whether it is harmless), hurt ones first."""
    connected = {load.name: connection(load) for load in result.case.loads}
    made = []
    for v in result.verdicts:
        outcome = OUTCOMES[v.outcome] + (f"; at worst: {OUTCOMES[v.worst]}" if v.worst else "")
        made.append((v.item, connected[v.item], NOTHING if v.volts is None else number(v.volts, 0), outcome, time_words(v) or NOTHING,
                     v.confidence if v.outcome != "was off" else NOTHING, part_words(v) or NOTHING, DEVICES[v.protected] or NOTHING,
                     v.rank is Rank.NOTE))
    # Sorted is stable, so that within each group the case's order stays.
    return sorted(made, key=lambda row: row[-1])


def _table(found):
    body = [(load, volts, word if harmless else strong(word), soon, sure, part, device)
            for load, _, volts, word, soon, sure, part, device, harmless in found]
    return table("Expected effect on each item", ("item", "V", "effect", "estimated time to failure (range)", "confidence",
                                                  "component to inspect", "overvoltage device, had one been fitted"), body,
                 "lrlllll", {0: 1.3, 3: 1.2, 5: 1.6, 6: 1.2})


def _bases(result):
    said = {}
    for verdict in result.verdicts:
        said.setdefault(verdict.basis, []).append(verdict.item)
    return table("What each effect rests on", ("basis", "items"),
                 [(basis, ", ".join(dict.fromkeys(loads))) for basis, loads in said.items()], "ll", {0: 3, 1: 1})


_FILAMENTS = ("A filament that gets less voltage is cooler, and its resistance lower; one that gets more is hotter, and its "
              "resistance higher. So unequal lamps left in series diverge more than fixed resistors of the same rating, as "
              "often assumed.")


def _lamps(result):
    if not damage_figures.lamps_of(result):
        return []
    return [*_light(result), *_division(result)]


def _division(result):
    if not result.lamps:
        return []
    body = [(d.load, number(d.as_lamp), number(d.as_resistor)) for d in result.lamps]
    return [paragraph(_FILAMENTS), table("Lamps after the break, V across each: as they are, and if they were fixed resistors",
                                         ("lamp", "as a filament", "as a fixed resistor"), body, "lrr")]


def _light(result):
    edges = data.load("yardsticks")["brightness"]
    return [figure(damage_figures.lamps(result), "Lamp brightness, calculated: the area of the disc is the light after, the broken "
                   f"circle the light before. Dimmer below {edges['unchanged_low']:g}, brighter above "
                   f"{edges['unchanged_high']:g}, too bright above {edges['glaring']:g} times.")]


def joint(result):
    """Return what a high-resistance joint does as it goes from sound to open; nothing if the case has none."""
    sweep, sheds = result.joint, data.load("yardsticks")["joint_sheds"]["value"]
    if sweep is None:
        return []
    found, known = sweep.joint, np.isfinite(sweep.heats)
    where = f"{the_conductor(result.case, found)} in the cable to {found.feeding}"
    if not known[(sweep.resistances > 0) & np.isfinite(sweep.resistances)].any():
        return [heading("The high-resistance joint", 2), paragraph(
            f"The joint of {significant(found.resistance)} Ω in {where} cannot be followed from sound to open: at none of the "
            "resistances tried does the circuit settle. That is no sign that it stays cool.")]
    body = [(_ohms(r), significant(i, "A"), significant(heat, "W"), f"{number(shift)} V",
             *(number(volts[n]) for volts in sweep.phases.values()))
            for n, (r, i, heat, shift) in enumerate(zip(sweep.resistances, sweep.currents, sweep.heats, sweep.shifts))
            if n % 3 == 0 or n == len(sweep.resistances) - 1]
    text = (f"The joint of {significant(found.resistance)} Ω in {where} (dotted in the figure), calculated over the range from sound "
            "to open. Heat is greatest in between: a joint burns before it is open. "
            f"A joint is taken to dissipate up to {sheds:g} W without damage."
            + ("" if known.all() else f" Where “{NOTHING}” stands the circuit does not settle."))
    return [heading("The high-resistance joint", 2), paragraph(text),
            figure(damage_figures.joint(sweep, sheds), "Voltages beyond the joint, and its heat, against its resistance."),
            table("The joint from sound to open", ("joint, Ω", "current", "heat", "neutral displaced by",
                                                   *(f"{line}, V" for line in sweep.phases)), body,
                  "rrrr" + "r" * len(sweep.phases))]


def _ohms(value):
    return "sound" if value == 0 else "open" if value == float("inf") else significant(value)
