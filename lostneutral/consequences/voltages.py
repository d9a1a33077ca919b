"""Findings on the voltages, line to neutral, at each point."""

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.solution import State
from lostneutral.consequences.limits import ROUNDING, band, published, verdict
from lostneutral.consequences.weighing import farthest, figure, outcomes, percent_from, sure, weighed
from lostneutral.result import Finding, Limit

# What an outcome of a line's voltage means: severity, edge of the band, words.
MEANING = {
    "over": ("damage", "high", "Equipment between this line and the neutral is overstressed for as long as this lasts"),
    "under": ("warning", "low", "Lamps are dim, motors may stall and overheat, electronics may switch off and on"),
    "dead": ("warning", "low", "That is to the neutral: it does not mean dead to earth, and the line is still live"),
}


def lines_outside_band(case: Case, before: State, after: State):
    """Yield a finding for each line at each point that is over, under or dead after the break."""
    yield from _outside(case, after, "after the break", None)


def lines_outside_band_before(case: Case, before: State, after: State):
    """Yield a note for each line that was outside the band before anything broke."""
    if case.breaks_after():
        yield from _outside(case, before, "before the break, already", "note")


def _outside(case, state, when, severity):
    limits = band(case.supply.limits)
    for point in case.points:
        for line in point.phases:
            seen = _ratios(case, state, point.name, line)
            for kind, ratios, share in outcomes(seen, [verdict(r, limits) for r in seen]):
                if kind not in MEANING:
                    continue
                own, edge, words = MEANING[kind]
                worst = farthest(ratios)
                volts = figure([r * case.supply.nominal for r in ratios], "V")
                side = "above" if edge == "high" else "below"
                yield Finding(
                    severity or own, f"{line} at {point.name}",
                    f"{line} to neutral at {point.name} stands at {volts}{share} {when}, {percent_from(worst)} the "
                    f"nominal {case.supply.nominal:g} V and {side} the supply band {limits.name}. {words}.",
                    volts, limits.limit(edge, case.supply.nominal), sure(state))


def _ratios(case, state, point, line):
    voltages = (s.voltage(point, line) for s in weighed(state))
    return [None if volts is None else abs(volts) / case.supply.nominal for volts in voltages]


def highest(case: Case, state: State):
    """Return (V, line, point) of the highest voltage line to neutral in the settled states that count, or None."""
    found = [(abs(volts), line, point.name) for s in weighed(state) for point in case.points for line in point.phases
             if (volts := s.voltage(point.name, line)) is not None]
    return max(found, key=lambda f: f[0], default=None)


def loss_of_neutral_stress(case: Case, before: State, after: State):
    """Yield the highest voltage after the break against the stress that insulation is to bear (442.3)."""
    top = highest(case, after)
    if top is None or verdict(top[0] / case.supply.nominal, band(case.supply.limits)) != "over":
        return
    split = case.supply.system == "split-phase"
    entry = data.load("stress")["loss_of_neutral_split_phase" if split else "loss_of_neutral"]
    stress = case.supply.nominal * entry["factor"]
    limit = published(entry, stress)
    volts, place = figure(top[0], "V"), f"{top[1]} at {top[2]}"
    allowed = figure(stress, "V")
    if top[0] > stress * (1 + ROUNDING):
        yield Finding("damage", place, f"The highest voltage, line to neutral, is {volts} ({place}). That is more than "
                      f"the {allowed} that insulation and parts rated line to neutral are taken to bear when a neutral "
                      "is lost: the fixed wiring's insulation must be tested too.", volts, limit, sure(after))
    else:
        yield Finding("warning", place, f"The highest voltage, line to neutral, is {volts} ({place}), within the "
                      f"{allowed} that insulation is taken to bear when a neutral is lost. That speaks for the wiring, "
                      "not for the equipment connected to it.", volts, limit, sure(after))


def beyond_triangle(case: Case, before: State, after: State):
    """Yield a finding if a line stands farther from the neutral than any two lines of the supply from each other."""
    top = highest(case, after)
    lines = list(case.supply.phasors.values())
    widest = max((abs(a - b) for a in lines for b in lines), default=0.0)
    if top is None or top[0] <= widest * (1 + ROUNDING):
        return
    volts, between = figure(top[0], "V"), figure(widest, "V")
    yield Finding("damage", f"{top[1]} at {top[2]}",
                  f"{top[1]} to neutral at {top[2]} stands at {volts}, more than the {between} between any two lines: "
                  "coils and capacitors among the loads push the star point outside the voltage triangle. The figure "
                  "is as computed and has not been cut to the line-to-line voltage.", volts,
                  Limit(widest, "V", "largest voltage between two lines of the supply as given", data.KNOWN["D"]),
                  sure(after))


def temporary_overvoltage(case: Case, before: State, after: State):
    """Yield a finding if the highest voltage passes what EN 50160 foresees for a shifted neutral (230/400 V only)."""
    entry = data.load("stress")["temporary_overvoltage"]
    top = highest(case, after)
    if top is None or case.supply.nominal != entry["nominal"] or top[0] <= entry["value"]:
        return
    volts = figure(top[0], "V")
    yield Finding("damage", f"{top[1]} at {top[2]}",
                  f"{top[1]} to neutral at {top[2]} stands at {volts}, more than the {figure(entry['value'], 'V')} "
                  "that is foreseen as a temporary overvoltage in a 230/400 V supply when the neutral point shifts.",
                  volts, published(entry), sure(after))


def floating(case: Case, before: State, after: State):
    """Yield a note for each point where nothing ties a conductor's voltage down after the break."""
    for point in case.points:
        loose = sorted({c for s in weighed(after) for c in (*point.phases, "N")
                        if (point.name, c) in s.nodes and s.nodes[point.name, c] is None})
        if loose:
            names = " and ".join(loose)
            yield Finding(
                "note", f"{names} at {point.name}",
                f"Nothing ties down the voltage of {names} at {point.name}: no load that is on and no earth connects "
                "it. A meter of high impedance may show anything there, a normal voltage included; one of low "
                "impedance shows about nothing. Neither reading proves the neutral sound or a conductor dead.",
                None, None, "certain for the case as given: it follows from the wiring alone")
