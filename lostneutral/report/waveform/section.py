"""The report's section on waveforms: what loads that draw pulses do to the star, and why a meter may deceive."""

from lostneutral import data
from lostneutral.consequences.pulses import trusted
from lostneutral.consequences.upstream import faulted
from lostneutral.report.base.blocks import figure, heading, paragraph, strong, table
from lostneutral.report.base.words import NOTHING, number, shown, significant
from lostneutral.report.waveform import figures as waveform_figures
from lostneutral.report.waveform.rows import by_star_point, link_rows, neutral_rows, phase_rows, states
from lostneutral.report.waveform.rule import changed, rule, taken
from lostneutral.report.waveform.words import deceived, what_became

MOST_PLACES = 6  #: points in the table of voltages; the result file has all
_ORDERS = (1, 3, 5, 7, 9, 15, 21)  #: of the table of harmonics

_PULSES = (
    "A power supply, a screen, a computer or an LED luminaire takes its current from a capacitor inside it, which a "
    "bridge of diodes fills up near each crest of the voltage. So it draws a short pulse twice in every cycle, and "
    "nothing in between.")
_IN_THREE = (
    "The pulses of three lines come at different moments. With the neutral sound each returns through it, and they do "
    "not cancel there as smooth currents do: three equal lines leave three times the third harmonic of one. With the "
    "neutral broken a pulse can only return through a load on another line that takes current at the same moment.")
_IN_TWO = (
    "The pulses of the two halves come at the same moments and cancel in the neutral as far as they are equal. With "
    "the neutral broken both halves carry the same pulse, and the capacitors divide the voltage between them.")
_METERS = (
    "The voltage inside a supply is decided by the crests, which fill its capacitor (the d.c. link), and not by the r.m.s. "
    "value that a meter shows. A true-r.m.s. meter shows the heating value of whatever shape there is; an "
    "average-responding one is scaled for a sine, and is wrong for any other shape. Both may look normal while the "
    "crests are not.")
_OVERLAP = (
    "Pulses that do not overlap are never in the neutral together, so their squares add up: the neutral of three equal "
    "lines carries up to √3 = 1.73 times the current of one. Devices in the lines do not see it.")
_TRIPLEN = (
    "Orders that are multiples of three are alike in all three lines at once: with a sound neutral they add up in it; "
    "in a balanced star without neutral they have no path, and appear as a voltage of the star point instead. Where the "
    "lines are not balanced the line currents keep some of them; their sum is zero at every instant.")
_SINES = (
    "The figures of this part are of sine waves, in which a power supply is taken to draw a sinusoidal current: a "
    "simpler picture, for comparison. Where it differs from the section on waveforms, that section counts.")
_METHOD = (
    "Waveforms: the same wiring with its resistances and inductances; linear loads as they are; lamps, heaters and "
    "motors as the impedance that they have at their r.m.s. voltage; bridges as ideal switches with a constant drop, "
    "the inlet's resistance, a capacitor and constant power behind it. It is marched from one switching of a diode to "
    "the next, from the healthy state on, until a cycle repeats itself. Skin effect, capacitance of cables and the "
    "instants of the arc are not in it.")


def waves_in_short(result):
    """Return the section as a client needs it; nothing without waveforms."""
    if result.waveforms is None:
        return []
    return [heading("Waveforms: loads that draw pulses"), *_said(result), *_voltages(result), *_links(result),
            *_neutral(result)]


def waves_in_full(result):
    """Return the section with spectra, derivation, assumed values and what they change; nothing without waveforms."""
    if result.waveforms is None:
        return []
    return [*waves_in_short(result), *_spectra(result), *rule(result), *taken(result), *changed(result)]


def sines(result):
    """Return the note for tables of phasors in a report whose waveforms say otherwise; nothing in others."""
    return [paragraph(_SINES)] if trusted(result) else []


def waves_method(result):
    """Return how waveforms were worked out, in words; nothing without them."""
    return [paragraph(_METHOD)] if result.waveforms is not None else []


def _said(result):
    case, waves = result.case, result.waveforms
    known = data.KNOWN[data.load("waveform")["share"]["known"]]
    which = ("So the currents were calculated in time, step by step through the cycle: page one, the effect on each item "
             "and this section are based on that." if trusted(result) else
             "This section was asked for, and is given beside the figures of sine waves.")
    return [paragraph(f"Which picture: {waves.why} (threshold: {known}). {which} {_difference(result)}".strip()),
            paragraph(f"Result: {what_became(case, waves)}"), paragraph(f"{_PULSES} "
                                                                             f"{_IN_THREE if _three(case) else _IN_TWO}"),
            paragraph(f"{_METERS} {deceived(case, waves)}")]


def _three(case):
    return len(case.supply.lines) == 3


def _difference(result):
    """Say how far the sine-wave state that is shown first is from the waveforms."""
    solution = next(iter(shown(result.after)), None)
    pairs = [(solution.voltage(*key), wave) for key, wave in result.waveforms.after.phases.items()] if solution else ()
    off = max((abs(abs(volts) - wave.rms) for volts, wave in pairs if volts is not None and wave), default=None)
    if off is None:
        return ""
    return f"Line to neutral{' after the break' if faulted(result.case) else ''}, the two pictures " + (
        f"differ by up to {number(off, 0)} V r.m.s." if off >= 1.0 else "agree within 1 V r.m.s.")


def _voltages(result):
    case, waves = result.case, result.waveforms
    kept = by_star_point(case, waves)[:MOST_PLACES]
    left = f" ({len(case.points) - len(kept)} more points in the result file)" if len(case.points) > len(kept) else ""
    body = [(row.place, row.line, _name(case, name), *_wave(wave)) for row in phase_rows(case, waves)
            if row.place in kept for name, wave in (("before", row.before), ("after", row.after))
            if faulted(case) or name == "before"]
    mark = " The broken upright line is the break." if faulted(case) else ""
    return [heading("Line to neutral", 2),
            table(f"Line to neutral as instruments would show it, V{left}",
                  ("point", "line", "", "true r.m.s.", "average-responding", "crest", "crest of a sine", "THD"), body,
                  "lllrrrrr", {0: 1}),
            figure(waveform_figures.courses(case, waves), "Line to neutral (each line with its own dashes) and star "
                   f"point at {kept[0]} over time.{mark}")]


def _name(case, state):
    return state if faulted(case) else "as it is"


def _wave(wave):
    if wave is None:
        return ("no defined potential", *[NOTHING] * 4)
    return (number(wave.rms), number(wave.average_reading), number(wave.crest), number(2**0.5 * wave.rms),
            NOTHING if wave.thd is None else f"{100 * wave.thd:.0f} %")


def _links(result):
    rows, both = link_rows(result.case, result.waveforms), faulted(result.case)
    if not rows:
        return []
    body = [(r.name, r.connect, *([number(r.before, 0)] if both else []), number(r.after, 0),
             f"{number(r.lowest, 0)} to {number(r.highest, 0)}", number(r.cut_off, 0), number(r.rating, 0),
             r.verdict if r.runs else strong(r.verdict)) for r in rows]
    marks = "○ before, ● after; the" if both else "The"
    return [heading("Inside the power supplies", 2),
            table("D.c. link of each rectifier load, V",
                  ("load", "connected", *(("before", "after") if both else ("mean",)), "over a cycle", "drops out at",
                   "rated", "verdict"), body, "llr" + "r" * both + "rrrl", {0: 1}),
            figure(waveform_figures.links(result.case, result.waveforms), f"D.c. link of each rectifier load. {marks} "
                                                                          "bar reaches from lowest to highest over a "
                                                                          "cycle. Upright ticks: dotted where the "
                                                                          "supply drops out, whole where its "
                                                                          "capacitor's rating ends.")]


def _neutral(result):
    body = [(r.feeding, _name(result.case, r.state), significant(r.current), significant(r.line),
             number(r.current / r.line, 2), significant(r.third), f"{100 * r.third / r.current:.0f} %")
            for r in neutral_rows(result.case, result.waveforms)]
    if not body:
        return []
    return [heading("Neutral current", 2),
            table("Current in the neutral, A r.m.s.", ("cable to", "", "neutral", "largest line", "neutral / line",
                                                       "third harmonic", "share of third"), body, "llrrrrr", {0: 1}),
            *([paragraph(_OVERLAP)] if _three(result.case) else [])]


def _spectra(result):
    case, waves = result.case, result.waveforms
    where = by_star_point(case, waves)[0]
    columns = {}
    for state in states(case, waves):
        columns[f"neutral {_name(case, state.name)}, A"] = state.currents.get((where, "N"))
        columns[f"star point {_name(case, state.name)}, V"] = state.stars.get(where)
    body = [(str(order), *(NOTHING if wave is None else significant(wave.harmonics[order - 1])
                           for wave in columns.values())) for order in _ORDERS]
    return [heading("Spectra", 2), *([paragraph(_TRIPLEN)] if _three(case) else []),
            table(f"Harmonics at {where}, r.m.s., by order", ("order", *columns), body, "r" * (len(columns) + 1)),
            figure(waveform_figures.spectrum(case, waves), f"Spectra at {where}. Hatched: multiples of three.")]
