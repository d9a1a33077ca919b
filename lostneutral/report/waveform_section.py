"""The report's section on waveforms: what loads that draw pulses do to the star, and why a meter may deceive."""

from dataclasses import replace

from lostneutral import data
from lostneutral.circuit.waveform.charge_star import pair_currents
from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.consequences.pulses import trusted
from lostneutral.errors import NoSolutionError
from lostneutral.loads.catalogue import resolve
from lostneutral.report import waveform_figures, waveform_rows
from lostneutral.report.blocks import bullets, figure, heading, paragraph, strong, table
from lostneutral.report.words import NOTHING, number, shown, significant

MOST_PLACES = 6  #: points in the table of voltages; the result file has all
MOST_BRIDGES = 12  #: up to which the case is worked out again with other inlets and capacitors
_ORDERS = (1, 3, 5, 7, 9, 15, 21)  #: of the table of harmonics

_PULSES = ("A power supply, a screen, a computer or an LED luminaire takes its current from a capacitor inside it, "
           "which a bridge of diodes fills up near each crest of the voltage. So it draws a short pulse a hundred "
           "times a second at 50 Hz, and nothing in between. The pulses of three lines come at different moments. With "
           "the neutral sound each returns through it, and they do not cancel there as smooth currents do: three equal "
           "lines leave three times the third harmonic of one. With the neutral broken a pulse can only return through "
           "a load on another line that takes current at the same moment.")
_METERS = ("What a supply gets is decided by the crests, which fill its capacitor (the d.c. link), and not by the "
           "r.m.s. value that a meter shows. A true-r.m.s. meter shows the heating value of whatever shape there is; a "
           "cheap one rectifies, averages and is scaled for a sine, and is wrong for any other shape. Both may look "
           "normal while the crests are not.")


def in_short(result):
    """Return the section as a client needs it; nothing without waveforms."""
    if result.waveforms is None:
        return []
    return [heading("Waveforms: loads that draw pulses"), *_said(result), *_voltages(result), *_links(result),
            *_neutral(result)]


def in_full(result):
    """Return the section with spectra, derivation, assumed values and what they change; nothing without waveforms."""
    if result.waveforms is None:
        return []
    return [heading("Waveforms: loads that draw pulses"), *_said(result), *_voltages(result), *_links(result), *_neutral(result),
            *_spectra(result), *_rule(result), *_taken(result), *_changed(result)]


def _said(result):
    case, waves = result.case, result.waveforms
    which = ("So the currents were followed in time, step by step through the cycle: page one, what each item comes to, and this "
             "section rest on that." if trusted(result) else "It was asked for, and stands beside the figures of sine "
                                                             "waves.")
    first = [f"Which picture: {waves.why} (threshold: {data.KNOWN[data.load('waveform')['share']['known']]}). {which}"]
    far = _difference(result)
    if far is not None:
        first.append("Line to neutral, the two pictures " + (f"differ by up to {number(far, 0)} V r.m.s. after the "
                                                             "break."
                                                              if far >= 1.0 else "agree within 1 V r.m.s."))
    return [paragraph(" ".join(first)), paragraph(f"What came of it: {waveform_rows.outcome(case, waves)}"),
            paragraph(_PULSES), paragraph(f"{_METERS} {_deceived(result)}".strip())]


def sines(result):
    """Return the note for tables of phasors in a report whose waveforms say otherwise; nothing in others."""
    return [paragraph(_SINES)] if trusted(result) else []


_SINES = ("The figures of this part are of sine waves, in which a power supply is taken to draw a sinusoidal current: "
          "a simpler picture, for comparison. Where it differs from the section on waveforms, that section stands.")


def method(result):
    """Return how waveforms were worked out, in words; nothing without them."""
    return [paragraph(_METHOD)] if result.waveforms is not None else []


_METHOD = ("Waveforms: the same wiring with its resistances and inductances, linear loads as they are, lamps, heaters "
           "and motors as the impedance that they have at their r.m.s. voltage, bridges as ideal switches with a "
           "constant drop, inlet resistance, capacitor and constant power behind it. It is marched through the cycle "
           "from one switching of a diode to the next, from the healthy state on, until a cycle repeats itself. Skin "
           "effect, capacitance of cables and the instants of the arc are not in it.")


def _difference(result):
    """Return how far (V) the sine-wave state shown first is from the waveforms, None where they cannot be compared."""
    solution = next(iter(shown(result.after)), None)
    if solution is None:
        return None
    pairs = [(solution.voltage(*key), wave) for key, wave in result.waveforms.after.phases.items()]
    return max((abs(abs(v) - w.rms) for v, w in pairs if v is not None and w is not None), default=None)


def _deceived(result):
    row = waveform_rows.deceiving(result.case, result.waveforms)
    if row is None:
        return "Here the two kinds of meter agree to a few per cent."
    wave, sine = row.after, 2**0.5 * row.after.rms
    return (f"Here, on {row.line} at “{row.place}” after the break, a true-r.m.s. meter shows {number(wave.rms, 0)} V, "
            f"an averaging one {number(wave.average_reading, 0)} V, and the crest is {number(wave.crest, 0)} V, where "
            f"a sine of that r.m.s. value has {number(sine, 0)} V.")


def _voltages(result):
    case, waves = result.case, result.waveforms
    places = waveform_rows.places(case, waves)[:MOST_PLACES]
    body = []
    for row in waveform_rows.phase_rows(case, waves):
        if row.place in places:
            for name, wave in (("before", row.before), ("after", row.after))[:2 if waveform_rows.faulted(case) else 1]:
                body.append((row.place, row.line, _name(case, name), *_wave(wave)))
    left = len(case.points) - len(places)
    return [heading("Line to neutral", 2),
            table("Line to neutral as instruments would show it, V" + (f" ({left} more points in the result file)" if left else ""),
                  ("point", "line", "", "true r.m.s.", "averaging meter", "crest", "crest of a sine", "THD"), body,
                  "lllrrrrr", {0: 1}),
            figure(waveform_figures.courses(case, waves), f"Line to neutral (each line with its own dashes) and star point "
                   f"at “{places[0]}” over time." + (" The broken upright line is the break." if waveform_rows.faulted(case) else ""),
                   floats=False)]


def _name(case, state):
    return state if waveform_rows.faulted(case) else "as it is"


def _wave(wave):
    if wave is None:
        return ("floating", *[NOTHING] * 4)
    return (number(wave.rms), number(wave.average_reading), number(wave.crest), number(2**0.5 * wave.rms),
            NOTHING if wave.thd is None else f"{100 * wave.thd:.0f} %")


def _links(result):
    rows = waveform_rows.link_rows(result.case, result.waveforms)
    if not rows:
        return []
    both = waveform_rows.faulted(result.case)
    heads = ("before", "after") if both else ("mean",)
    body = [(r.name, r.connect, *((number(r.before, 0),) if both else ()), number(r.after, 0), f"{number(r.lowest, 0)} "
                                                                                               "to "
                                                                                               f"{number(r.highest, 0)}",
             number(r.cut_off, 0), number(r.rating, 0), r.verdict if r.runs else strong(r.verdict))
            for r in rows]
    return [heading("Inside the power supplies", 2),
            table("D.c. link of each rectifier load, V", ("load", "connected", *heads, "over a cycle", "cuts off at",
                                                          "capacitor's rating", "verdict"), body, "llr" + "r" * both + "rrrl", {0: 1, 6 + both: 0.8}),
            figure(waveform_figures.links(result.case, result.waveforms), "D.c. link of each rectifier load. " + (
                       "○ before, ● after; " if waveform_rows.faulted(result.case) else "") + "the bar reaches from "
                                                                                              "lowest to highest over "
                                                                                              "a cycle. Upright ticks: "
                                                                                              "dotted where it cuts "
                                                                                              "off, whole where the "
                                                                                              "capacitor's rating ends.", floats=False)]


def _neutral(result):
    rows = waveform_rows.neutral_rows(result.case, result.waveforms)
    if not rows:
        return []
    body = [(r.feeding, _name(result.case, r.state), significant(r.current), significant(r.line), number(r.current / r.line, 2), significant(r.third),
             f"{100 * r.third / r.current:.0f} %") for r in rows]
    return [heading("Neutral current", 2),
            table("Current in the neutral, A r.m.s.", ("run that feeds", "", "neutral", "largest line", "neutral / line",
                                                       "third harmonic", "of the neutral's r.m.s."), body, "llrrrrr", {0: 1}),
            paragraph("Pulses that do not overlap give a neutral of three equal lines up to √3 = 1.73 times the "
                      "current of one: their squares add up. Line breakers and fuses do not see it; the neutral has "
                      "none.")]


def _spectra(result):
    case, waves = result.case, result.waveforms
    where = waveform_rows.places(case, waves)[0]
    columns = {}
    for state in waveform_rows.states(case, waves):
        columns[f"neutral {_name(case, state.name)}, A"] = state.currents.get((where, "N"))
        columns[f"star point {_name(case, state.name)}, V"] = state.stars.get(where)
    body = [(str(order), *(NOTHING if wave is None else significant(wave.harmonics[order - 1]) for wave in columns.values()))
            for order in _ORDERS]
    return [heading("Spectra", 2),
            paragraph("Orders that are multiples of three are alike in all three lines at once: in a sound star they "
                      "add up in the neutral, in a balanced one without neutral they have no way, and appear as a "
                      "voltage of the star point at three times the frequency instead. Where the lines are not "
                      "balanced, the line currents keep some of them; their sum is nothing at every instant."),
            table(f"Harmonics at “{where}”, r.m.s.", ("order", *columns), body, "r" * (len(columns) + 1)),
            figure(waveform_figures.spectrum(case, waves), f"Spectra at “{where}”. Hatched: multiples of three.", floats=False)]


_HELD = (
    ("With the neutral open a bridge can draw a pulse only if another returns it. At the crest of each line-to-line "
     "voltage, of amplitude U, one pair of lines conducts in series as soon as U exceeds the sum of their two links, "
     "and both links receive the same charge. Let I₁₂, I₂₃, I₃₁ be the mean currents of the pairs and I₁, I₂, I₃ what "
     "the loads take (power over link voltage). Then I₁₂ + I₃₁ = I₁, I₁₂ + I₂₃ = I₂, I₂₃ + I₃₁ = I₃, so I₁₂ = (I₁ + I₂ "
     "− I₃) / 2, and so on round."),
    ("A pair that conducts holds the sum of its two links at U. If all three do, each link stands at U/2: the currents "
     "are then as the powers, and no pair's current is negative while no line's power exceeds the sum of the other "
     "two. If one does, the pair of the other two has no charge to pass; the big one is left in series with the "
     "others, and as a constant power draws more the lower it sags, it falls to its cut-off and the others rise."),
)
_SOFTENED = (
    ("Necessary, not sufficient: a pair that passes little holds little. Less capacitance per watt and more resistance "
     "at the inlet let the star go before the rule is reached, and a collapsed state exists beside the held one: which "
     "of them comes depends on what the links stood at when the neutral went."),
    ("Unequal capacitors: links part before the first pulse. The biggest load on no bigger a capacitor is already the "
     "lowest when the pulses come, and may fall although the rule is met."),
    ("Linear loads in parallel, and a joint that still conducts, give a lone pulse a way back through the star point, "
     "and so widen the range in which the star holds, if they are alike on all lines. On one line only they pull the "
     "star point towards that line, and are power that the others must return: enough of them tears the star apart "
     "although the rule is met."),
    ("Judge by the d.c. link, not by the r.m.s. voltage: a held star may read normal with links far below their usual "
     "value."),
)


def _rule(result):
    case, waves = result.case, result.waveforms
    if len(case.supply.lines) != 3 or not waveform_rows.opened(case) or not waveform_rows.link_rows(case, waves):
        return []
    return [heading("Why the star holds, or lets go", 2), *map(paragraph, _HELD), paragraph(_here(result)), bullets(_SOFTENED)]


def _here(result):
    powers = waveform_rows.line_powers(result.case)
    top = max(powers, key=powers.get)
    rest = sum(powers.values()) - powers[top]
    if not powers[top]:
        return "Here no rectifier lies between a line and the neutral beyond the break."
    met = powers[top] <= rest
    pairs = ", ".join(f"{name} {significant(value, 'W')}" for name, value in zip(
        ("L1–L2", "L2–L3", "L3–L1"), pair_currents([powers[line] for line in result.case.supply.lines])))
    amplitude = 6**0.5 * sum(abs(v) for v in result.case.supply.phasors.values()) / 3
    return ("Here, behind bridges between line and neutral beyond the break: " + ", ".join(
        f"{line} {significant(watts, 'W')}" for line, watts in powers.items())
        + f". The largest, on {top}, is {'no more than' if met else 'more than'} the other two together "
          f"({significant(rest, 'W')}), so "
        + f"the rule is {'met' if met else 'broken'}; the pairs' shares (mean current times U/2) come to {pairs}. "
        + f"U/2 is {number(amplitude / 2, 0)} V, less what inlets and diodes take.")


def _taken(result):
    bridges = [(load, bridge_of(load)) for load in result.case.loads if load.on and bridge_of(load)]
    if not bridges:
        return []
    electronic, waveform = data.load("electronic"), data.load("waveform")
    body = [(load.name, significant(bridge.power, "W"), f"{significant(1e6 * bridge.capacitance / bridge.power)} µF/W",
             f"{significant(load.count * bridge.resistance)} Ω", f"{significant(bridge.drop)} V", f"{number(bridge.cut_off, 0)} "
                                                                                                  "V")
            for load, bridge in bridges]
    known = [("bulk capacitor, per watt", "capacitance", electronic["capacitance"]["rectifier"]),
             ("inlet's resistance, one unit", "inlet_resistance", waveform["inlet_resistance"]),
             ("drop of the diodes", "bridge_drop", waveform["bridge_drop"]), ("works from, V r.m.s.", "works_from", electronic["works_from"]),
             ("leakage across the inlet", "leakage", waveform["leakage"])]
    rows = [(what, _given(bridges, key), f"{entry['source']} ({data.KNOWN[entry['known']]})") for what, key, entry in known]
    return [heading("What the bridges were taken to be", 2),
            table("Rectifier loads as the waveform model has them (power and capacitor of all units, inlet of one)",
                  ("load", "power", "capacitor", "inlet", "drop", "cuts off at"), body, "lrrrrr", {0: 1}),
            table("Where these values come from", ("value", "given for", "if not given"), rows, "lll", {2: 1})]


def _given(bridges, key):
    names = [load.name for load, _ in bridges if resolve(load).parameters.get(key) is not None]
    return "none" if not names else "all" if len(names) == len(bridges) else ", ".join(names)


def _changed(result):
    """Work the case out again with other inlets and capacitors, and say what the star then does."""
    bridges = [load for load in result.case.loads if load.on and bridge_of(load)]
    if not 0 < len(bridges) <= MOST_BRIDGES or not waveform_rows.opened(result.case):
        return []
    body = [("as given and assumed", *_verdict(result.case, result.waveforms))]
    for name, inlet, capacitor in (("inlets of a fifth of the resistance", 0.2, 1.0), ("inlets of twice the resistance", 2.0, 1.0),
                                   ("capacitors of three times the size", 1.0, 3.0), ("capacitors of half the size", 1.0, 0.5)):
        body.append((name, *_again(result.case, inlet, capacitor)))
    return [heading("What other inlets and capacitors would do", 2),
            table("The case worked out again with the values that are least known changed in every power supply",
                  ("changed", "what comes of it", "links, V d.c."), body, "lll", {0: 1, 1: 0.8, 2: 1.4})]


def _again(case, inlet, capacitor):
    from lostneutral.circuit.waveform import waveforms

    try:
        other = replace(case, loads=tuple(_with(load, inlet, capacitor) for load in case.loads))
        return _verdict(other, waveforms(other))
    except NoSolutionError as error:
        return "no course found", str(error)


def _with(load, inlet, capacitor):
    bridge = bridge_of(load) if load.on else None
    if bridge is None:
        return load
    return replace(load, parameters={**load.parameters, "inlet_resistance": inlet * load.count * bridge.resistance,
                                     "capacitance": capacitor * bridge.capacitance / load.count})


def _verdict(case, waves):
    rows = waveform_rows.link_rows(case, waves)
    words = {r.verdict for r in rows}
    said = {"cycle": "cuts off and restarts for ever", "undecided": "does not come to rest"}.get(waves.after.ends) or (
        "torn apart" if waveform_rows.CUT in words else "holds, some above rating" if waveform_rows.OVER in words else "holds")
    by_line = {}
    for r in rows:
        by_line.setdefault(r.connect, []).append(r.after)
    return said, ", ".join(f"{line} {number(min(v), 0)}" + (f"–{number(max(v), 0)}" if max(v) - min(v) >= 1 else "") for line, v in
                           by_line.items())
