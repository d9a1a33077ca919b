"""Why a star of rectifiers holds or lets go: the rule, what was taken for granted, and what other values would do."""

from lostneutral import data
from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.consequences.waves import CUT, OVER, line_powers, opened, pair_currents
from lostneutral.loads.catalogue import resolve
from lostneutral.report.base.blocks import bullets, heading, paragraph, table
from lostneutral.report.base.words import number, significant
from lostneutral.report.waveform.rows import link_rows, links_in
from lostneutral.report.waveform.words import span_of_links

_HELD = (
    ("With the neutral open a bridge can draw a pulse only if another returns it. At the crest of each line-to-line "
    "voltage, of amplitude U, one pair of lines conducts in series as soon as U exceeds the sum of their two links, "
    "and both links receive the same charge. Let I₁₂, I₂₃, I₃₁ be the mean currents of the pairs and I₁, I₂, I₃ what "
    "the loads take (power over link voltage). Then I₁₂ + I₃₁ = I₁, I₁₂ + I₂₃ = I₂ and I₂₃ + I₃₁ = I₃, so that I₁₂ = "
    "(I₁ + I₂ − I₃) / 2, and so on round."),
    ("A pair that conducts holds the sum of its two links at U. If all three do, each link is at U/2; the currents "
    "are then in proportion to the powers, and no pair's current is negative while no line's power exceeds the sum of the "
    "other two. If one does, the pair of the other two has no charge to pass. The largest is left in series with the others, "
    "and, as a constant power draws more current the lower its voltage, it drops to its cut-off and the others rise."))
_SOFTENED = (
    ("Necessary, not sufficient: with less capacitance per watt and more resistance at the inlet the voltages collapse "
    "before the rule is reached, and a collapsed state exists beside the one near normal: which of them is reached depends "
    "on the link voltages at the moment of the break."),
    ("Unequal capacitors: links part before the first pulse. The biggest load on no bigger a capacitor is already the "
    "lowest when the pulses come, and may fall although the rule is met."),
    ("Linear loads in parallel, alike on all lines, and a joint that still conducts give a lone pulse a return path "
    "through the star point, and so widen the range in which voltages stay near normal. On one line only they move the star "
    "point towards that line, and their current too must return through the others: enough of them makes the voltages "
    "collapse although the rule is met."),
    ("Judge by the d.c. link, not by the r.m.s. voltage: a meter may read normal with links far below their normal "
    "voltage."))


def rule(result):
    """Return the derivation of the rule with the case's own powers, where a neutral is open or bad."""
    case = result.case
    if len(case.supply.lines) != 3 or not opened(case) or not link_rows(case, result.waveforms):
        return []
    return [heading("When rectifiers keep the voltages near normal", 2), *map(paragraph, _HELD), paragraph(_here(case)),
            bullets(_SOFTENED)]


def _here(case):
    powers = line_powers(case)
    top = max(powers, key=powers.get)
    rest = sum(powers.values()) - powers[top]
    if not powers[top]:
        return "Here no rectifier lies between a line and the neutral beyond the break."
    met = powers[top] <= rest
    each = ", ".join(f"{line} {significant(watts, 'W')}" for line, watts in powers.items())
    pairs = ", ".join(f"{name} {significant(watts, 'W')}" for name, watts in
                      zip(("L1–L2", "L2–L3", "L3–L1"), pair_currents(list(powers.values()))))
    half = 6**0.5 / 2 * sum(map(abs, case.supply.phasors.values())) / 3
    return (f"Here, behind bridges between line and neutral beyond the break: {each}. The largest, on {top}, is "
            f"{'no more' if met else 'more'} than the other two together ({significant(rest, 'W')}): the rule is "
            f"{'met' if met else 'broken'}. The pairs' currents times U/2 are {pairs}. U/2 is {number(half, 0)} V, "
            "less what inlets, diodes and the ripple take.")


def taken(result):
    """Return what the bridges were taken to be, and where each value comes from."""
    bridges = [(load, bridge_of(load)) for load in result.case.loads if load.on and bridge_of(load)]
    if not bridges:
        return []
    electronic, waveform = data.load("electronic"), data.load("waveform")
    body = [(load.name, significant(bridge.power, "W"),
             significant(1e6 * bridge.capacitance / bridge.power, "µF/W"),
             significant(load.count * bridge.resistance, "Ω"), significant(bridge.drop, "V"),
             f"{number(bridge.cut_off, 0)} V") for load, bridge in bridges]
    values = (("bulk capacitor, per watt", "capacitance", electronic["capacitance"]["rectifier"]),
              ("inlet's resistance, one unit", "inlet_resistance", waveform["inlet_resistance"]),
              ("drop of the diodes", "bridge_drop", waveform["bridge_drop"]),
              ("works from, V r.m.s.", "works_from", electronic["works_from"]),
              ("leakage across the inlet", "leakage", waveform["leakage"]))
    rows = [(what, _given(bridges, key), f"{entry['source']} ({data.KNOWN[entry['known']]})")
            for what, key, entry in values]
    return [heading("Assumptions on the rectifiers", 2),
            table("Rectifier loads as the waveform model has them (power of all units, inlet of one)",
                  ("item", "power", "capacitor", "inlet", "drop", "drops out at"), body, "lrrrrr", {0: 1}),
            table("Where these values come from", ("value", "given for", "where not given"), rows, "lll", {2: 1})]


def _given(bridges, key):
    names = [load.name for load, _ in bridges if resolve(load).parameters.get(key) is not None]
    return "none" if not names else "all" if len(names) == len(bridges) else ", ".join(names)


def changed(result):
    """Return the result for the voltages with other inlets and capacitors."""
    if not result.inlets:
        return []
    body = [("as given and assumed", *_verdict(result.case, result.waveforms.after)),
            *((_CHANGED[other.inlet, other.capacitor], *_other(result.case, other)) for other in result.inlets)]
    return [heading("With other inlets and capacitors", 2),
            table("The case calculated again with the values that are least known changed in every power supply",
                  ("changed", "result", "links, V d.c."), body, "lll", {0: 1, 1: 0.8, 2: 1.4})]


_CHANGED = {(0.2, 1.0): "inlets of a fifth of the resistance", (2.0, 1.0): "inlets of twice the resistance",
            (1.0, 3.0): "capacitors of three times the size", (1.0, 0.5): "capacitors of half the size"}


def _other(case, other):
    return ("no result", other.reason) if other.state is None else _verdict(case, other.state)


def _verdict(case, state):
    rows = links_in(case, state)
    words = {row.verdict for row in rows}
    said = {"cycle": "shuts down and restarts again and again", "undecided": "no steady state"}.get(state.ends) or (
        "collapsed" if CUT in words else "runs, some above rating" if OVER in words else "near normal")
    links = {}
    for row in rows:
        links.setdefault(row.connect, []).append(row.after)
    return said, ", ".join(f"{between} {span_of_links(volts)}" for between, volts in links.items())
