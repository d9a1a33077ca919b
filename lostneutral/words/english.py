"""English: the sentences of every kind of claim, in the trade's words and in the mood of a calculation."""

from math import inf

from lostneutral.claims.model import Claim, Kind
from lostneutral.consequences.times import duration, span
from lostneutral.words import dangers
from lostneutral.words.amounts import about, amount, between, listed, places, share, volts
from lostneutral.words.items import item, surge_part
from lostneutral.words.said import Said
from lostneutral.words.terms import VERDICTS, conductor, upper, when


def said(claim: Claim, case) -> Said:
    """Return `claim` in words: what it is of, its sentence, what follows from it."""
    return _SENTENCES[claim.kind](claim, case)


def _line(claim, case):
    name, facts = claim.about.name, claim.facts
    low, high = claim.span
    figure = about(claim.value, "V") if len(claim.where) < 2 else between(low, high, "V")
    band = facts["band"]
    lead = f"{name}{places(claim.where)} would be at {figure} to neutral{when(claim)}"
    if claim.kind is Kind.LINE_NONE:
        return Said(f"{name}{places(claim.where)}", f"{name}{places(claim.where)} would have no voltage to neutral "
                    f"({volts(claim.value)}){when(claim)}, and is STILL LIVE to earth.",
                    "Equipment there does not work; nothing on it is isolated.", volts(claim.value))
    if claim.kind is Kind.LINE_ABOVE:
        return Said(f"{name}{places(claim.where)}", f"{lead}, {share(facts['ratio'])} nominal and above the limits of {band}.",
                    "Equipment between this line and the neutral is overstressed while the condition lasts.", volts(claim.value))
    outer = "" if facts["outer"] is None or claim.value >= facts["outer"] else \
        f" It is also below the outer limit of {volts(facts['outer'])}."
    return Said(f"{name}{places(claim.where)}", f"{lead}, {share(facts['ratio'])} nominal and below the limits of {band}.",
                f"Lamps are dim, motors may stall and overheat, electronic equipment may shut down and restart.{outer}",
                volts(claim.value))


def _line_before(claim, case):
    side = "above" if claim.yardstick.edge == "high" else "below"
    return Said(f"{claim.about.name}{places(claim.where)}", f"{claim.about.name}{places(claim.where)} would be at "
                f"{about(claim.value, 'V')} to neutral already before the fault, {share(claim.facts['ratio'])} nominal and {side} the "
                f"limits of {claim.facts['band']}.", "", volts(claim.value))


def _insulation(claim, case):
    stress = volts(claim.yardstick.value)
    top = f"The highest voltage, line to neutral, would be {about(claim.value, 'V')} ({claim.about.name} at {claim.where[0]})"
    if claim.facts["passed"]:
        return Said("Insulation of the fixed wiring", f"{top}, more than the {stress} that insulation and parts rated line to neutral "
                    "are taken to withstand when a neutral is lost.", "The insulation of the fixed wiring must be tested too.",
                    volts(claim.value))
    return Said("Insulation of the fixed wiring", f"{top}, within the {stress} that insulation is taken to withstand when a neutral "
                "is lost.", "This applies to the fixed wiring only, not to connected equipment.", volts(claim.value))


def _beyond(claim, case):
    shape = "line between L1 and L2" if case.supply.system == "split-phase" else "voltage triangle"
    return Said(f"{claim.about.name}{places(claim.where)}", f"{claim.about.name}{places(claim.where)} would be at "
                f"{about(claim.value, 'V')} to neutral{when(claim)}, more than the {volts(claim.yardstick.value)} between any "
                "two lines.", f"Inductive and capacitive loads put the neutral outside the {shape}. The figure is as calculated and "
                "is not limited to the line-to-line voltage; resonance is not excluded.", volts(claim.value))


def _temporary(claim, case):
    return Said(f"{claim.about.name}{places(claim.where)}", f"{claim.about.name}{places(claim.where)} would be at "
                f"{about(claim.value, 'V')} to neutral{when(claim)}, more than the {volts(claim.yardstick.value)} that is foreseen as a "
                "temporary overvoltage in a 230/400 V supply when its neutral is displaced.", "", volts(claim.value))


def _surge_devices(claim, case):
    seconds = claim.facts["seconds"]
    tested = "no test covers it" if not seconds else f"type tests cover it for {duration(seconds)} ({claim.facts['outcome']})"
    return Said("Surge protective devices", f"A common surge protective device, if one is fitted on {claim.about.name} at "
                f"{claim.where[0]}, would be at {about(claim.value, 'V')}{when(claim)}: above the {volts(claim.yardstick.value)} for "
                f"which it is continuously rated; {tested}.",
                "It protects nothing here: it may disconnect or fail, possibly overheating.", volts(claim.value))


def _settling(claim, case):
    because = f" {claim.facts['reason']}" if claim.facts["reason"] else ""
    count = int(claim.value or 0)
    lead, rest = {
        "none": ("No settled state was found after the fault: nothing is said about its voltages.", ""),
        "cycle": ("The circuit has no steady state: it keeps changing.", "Voltages are given for the states it passes near and "
                  "are not steady."),
        "none holds": ("None of the settled states is stable: the circuit leaves each of them.", ""),
        "not tested": ("Whether the settled state that was found is stable was not tested, and there may be others: what is said "
                       "of single items is limited.", ""),
        "several": (f"{count} settled states are possible, and the loads alone do not decide which of them the circuit takes.",
                    "Small differences decide; no outcome is given as good."),
        "one of several": (f"{count} settled states are possible.", "The figures are for the one that the circuit reaches from the "
                           "sound installation; a different order of switching could end in another."),
        "none before": ("The sound installation has no settled state: nothing is said of the time before the fault.", ""),
    }[claim.facts["found"]]
    computed = f"{count} settled states" if claim.facts["found"] in ("several", "one of several") else None
    return Said("The circuit", f"{lead}", f"{rest}{because}".strip(), computed)


def _not_followed(claim, case):
    lead = {"too large": "The incident was not followed in time, because it has too many loads: outcomes are those of the settled "
                         "states, and how one failure leads to the next is not in them. `follow` does it if asked.",
            "waveforms undecided": "The waveforms did not reach a steady state in the time that was calculated: figures after the fault "
                                   "are those of its last cycle.",
            "pulses": "The incident was not followed in time, because rectifier loads decide it and a course of sine waves would be "
                      "wrong: outcomes are those of the waveforms, if they last.",
            "failed": "The incident could not be followed in time: outcomes are those of the settled states, if they last.",
            "waveforms": "Rectifier loads carry a share that matters, but their waveforms were not calculated: "
                         f"{claim.facts.get('text', '')}. The figures are those of sine waves, and nothing is said about which line "
                         "of several with such loads collapses."}[claim.facts["why"]]
    return Said("Rectifier inputs" if claim.facts["why"] == "waveforms" else "The course in time", lead, "")


def _rectifiers(claim, case):
    return Said("Rectifier inputs", f"{listed(claim.facts['items'])}: such a power supply draws its current in pulses at the crests, "
                "and is calculated here as if it drew a sinusoidal one.", "Nothing is said about which line of several with such "
                "supplies collapses; the capacitors, the resistances at the inlets and the previous operating state decide. "
                "`--waveforms` calculates the pulses.")


def _reader(claim, case):
    return Said("The case", claim.facts["text"], "")


def _hangs_on(claim, case):
    if not claim.facts["changes"]:
        return Said("Quantities not varied", f"{int(claim.value)} further assumed quantities were not varied.",
                    f"{claim.facts['varied']} were.", f"{int(claim.value)}")
    name = {"works_from": f"The voltage below which {claim.about.name} drops out",
            "resistance": f"The resistance of the joint in the cable to {claim.about.name}"}[claim.quantity]
    low, high = claim.span
    told = [_change(c, amount(low, claim.unit), amount(high, claim.unit)) for c in claim.facts["changes"]]
    order = {"metalwork": 0, "item": 1, "line": 2}
    told = [text for _, text in sorted(zip((order[c.what] for c in claim.facts["changes"]), told), key=lambda p: p[0])]
    more = f" And {len(told) - 3} further results change." if len(told) > 3 else ""
    return Said(name, f"{name} was assumed to be {amount(claim.value, claim.unit)}; the answer depends on it: {told[0]}.",
                f"{''.join(f'{t[0].upper()}{t[1:]}. ' for t in told[1:3])}Find out the value.{more}",
                f"{amount(claim.value, claim.unit)}; varied from {amount(low, claim.unit)} to {amount(high, claim.unit)}")


def _change(change, low, high):
    from lostneutral.words.items import OUTCOMES

    if change.what == "metalwork":
        shown = [("no settled state near" if v is None else volts(v)) for v in (change.given, change.low, change.high)]
        return f"metalwork at {change.point} would be at {shown[0]}, with {low} at {shown[1]}, with {high} at {shown[2]}"
    words = OUTCOMES if change.what == "item" else VERDICTS
    shown = ["another state" if v is None else words.get(v, v) for v in (change.given, change.low, change.high)]
    name = change.name if change.what == "item" else f"{change.name} at {change.point}"
    return f"{name}: {shown[0]}; with {low}: {shown[1]}; with {high}: {shown[2]}"


def _observed(claim, case):
    facts = claim.facts
    observed, calculated, _ = observation(claim)
    rest = {True: "The observation agrees with the calculation.", False: "The observation does NOT agree with the calculation.",
            None: "Whether it agrees cannot be said."}[facts["agrees"]]
    if "sigma" in facts and facts["agrees"] is False:
        rest = f"The reading does NOT agree with the calculation within twice its uncertainty (±{volts(facts['sigma'])})."
    subject = claim.about.name if "seen" in facts else f"Reading {claim.about.name} at {claim.where[0]}"
    return Said(subject, f"{'Observed' if 'seen' in facts else 'Read'}: {observed}. Calculated: {calculated}.", rest,
                None if claim.value is None else volts(claim.value))


def observation(claim) -> tuple[str, str, str]:
    """Return what was observed, what is calculated for it, and whether they agree, each in a few words."""
    facts = claim.facts
    agreement = {True: "agrees", False: "does NOT agree", None: "cannot be said"}[facts["agrees"]]
    if "seen" in facts:
        from lostneutral.words.items import OUTCOMES

        at = "" if claim.value is None else f" ({about(claim.value, 'V')})"
        return f"{claim.about.name} {SEEN[facts['seen']]}", f"{OUTCOMES[facts['verdict'].outcome]}{at}", agreement
    when_ = " before the fault" if claim.condition.stage == "before" else ""
    calculated = "no figure" if claim.value is None else \
        f"anything from 0 to {volts(claim.span[1])}, because a conductor has no defined potential" if facts["floats"] and not \
        facts["loaded"] else between(*claim.span, "V")
    return f"{claim.about.name} at {claim.where[0]} {facts['read']:g} V{when_}", calculated, agreement


SEEN = {"failed": "failed", "survived": "survived", "brighter": "was brighter or stronger", "dimmer": "was dimmer or weaker",
        "unchanged": "was unchanged", "off": "did not work"}


def _extrapolated(claim, case):
    facts = claim.facts
    words = ("far outside: what is calculated for it, and for all on its neutral, is not to be relied on" if facts["far"]
             else "outside: its figures are extrapolated")
    return Said(claim.about.name, f"{claim.about.name} would be at {claim.value:.2f} × rated voltage{when(claim)}; its power law was "
                f"measured from {facts['low']:g} to {facts['high']:g}.", f"That is {words}.", f"{claim.value:.2f} of rated")


def _nothing_broken(claim, case):
    return Said("The installation", "No open-circuit or high-resistance conductor is assumed in this case.",
                "The figures are those of the sound installation.")


def _mended(claim, case):
    spans = claim.facts["spans"]
    total = f" in all {duration(claim.value)}" if spans else ""
    return Said("The installation", f"The fault had ended by the end of the incident, after{total or ' a time that was not followed'}."
                if not spans else f"The fault lasted{total} and had ended by the end of the incident.",
                "What happened meanwhile counts: outcomes and dangers are those of the worst stage. Why the joint failed has still "
                "to be found, and it must be remade before it is relied on.", duration(claim.value) if spans else None)


def _carried(claim, case):
    name = conductor(claim.about)
    fate = "This path is interrupted" if claim.facts["open"] else "This current now passes through the high-resistance joint"
    return Said(f"{name[0].upper()}{name[1:]} in the cable to {claim.where[0]}", f"Before the fault the {name} in the cable to {claim.where[0]} "
                f"carried {about(claim.value, 'A')} by calculation.", f"{fate}.", amount(claim.value, "A"))


def _fault_devices(claim, case):
    facts = claim.facts
    if not facts["judged"]:
        lead = ("No residual-current device is judged: neutral and protective conductor are one (PEN) in every cable of the case, and "
                "none can be fitted there.")
    elif claim.value is None:
        lead = "Whether a residual-current device would operate cannot be said: the residual current is not determined."
    elif facts["answer"] == "would operate":
        lead = (f"Residual current of {about(claim.value, 'A')}{places(claim.where)}{when(claim)}: a residual-current device of "
                f"{1e3 * claim.yardstick.value:g} mA there would be expected to operate. If one is fitted and did not, that is evidence.")
    elif facts["answer"] == "may operate":
        lead = (f"Residual current of {about(1e3 * claim.value, 'mA')}{places(claim.where)}: a residual-current device of "
                f"{1e3 * claim.yardstick.value:g} mA there may operate.")
    else:
        lead = (f"Residual-current devices would not be expected to operate: the largest residual current is "
                f"{about(1e3 * claim.value, 'mA')}.")
    rest = "Loss of a neutral alone causes neither residual current nor overcurrent."
    if None not in (facts["line_before"], facts["line_after"]):
        rest += (f" The largest line current is {about(facts['line_after'], 'A')} by calculation, before the fault "
                 f"{about(facts['line_before'], 'A')}" + (": fuses and circuit-breakers that held before have no more to carry."
                                                        if facts["line_after"] <= facts["line_before"] * 1.01 else
                                                        ": compare it with the ratings of fuses and circuit-breakers."))
    return Said("Protective devices", lead, rest + " That nothing tripped says nothing about the voltage.",
                None if claim.value is None else amount(claim.value, "A"))


def _overvoltage_device(claim, case):
    facts = claim.facts
    lead = f"At {about(claim.value, 'V')} on {claim.about.name} at {claim.where[0]}, a power-frequency overvoltage device, had one been fitted, "
    if not facts["acts"]:
        lead += (f"would not operate: operation is not required below {facts['from']:g} V, and there is none at or below "
                 f"{facts['never']:g} V.")
        return Said("Overvoltage device", lead, "", volts(claim.value))
    soon_ = f"{span(facts['earliest'], facts['latest'])} after the break" if facts["latest"] < inf else \
        f"no sooner than {duration(facts['earliest'])} after the break, and need not at all"
    return Said("Overvoltage device", f"{lead}would disconnect {soon_}.", "It does not disconnect the protective conductor.",
                volts(claim.value))


def _iti(claim, case):
    side = claim.facts["side"]
    words = {"above": "above its upper limit: damage is possible", "below": "below its lower limit: equipment may stop, without "
             "damage"}[side]
    lines = listed(claim.facts["lines"])
    return Said("ITI curve", f"By the ITI curve for a lasting voltage, {lines}{places(claim.where)} would be {words} "
                f"({100 * claim.yardstick.value:.0f} % of nominal).", "Indicative only: the curve is drawn for 120 V 60 Hz information "
                "technology equipment.", f"{claim.value:.2f} of nominal")


def _floating(claim, case):
    names = listed(claim.facts["conductors"])
    return Said(f"{names}{places(claim.where)}", f"{names}{places(claim.where)} has no defined potential: no load that is on and no earth "
                "connects it.", "A high-impedance voltmeter may show anything there, a normal voltage included; a low-impedance tester "
                "shows almost zero. Neither reading proves the neutral sound or the conductor isolated.")


def _drop(claim, case):
    return Said(f"{claim.about.name} at {claim.where[0]}", f"With no fault the largest voltage drop would be {about(claim.value, 'V')} "
                f"({100 * claim.facts['share']:.1f} % of the supply's voltage), on {claim.about.name} at {claim.where[0]}.", "",
                volts(claim.value))


def _full_neutral(claim, case):
    came = "may have caused the break" if claim.facts["faulted"] else "is one way in which a neutral breaks"
    return Said(f"Overloaded neutral in the cable to {claim.where[0]}", f"{'Before the fault the' if claim.facts['faulted'] else 'The'} "
                f"neutral in the cable to {claim.where[0]} would carry {about(claim.facts['amps'], 'A')}, {claim.value:.2f} times the "
                "largest line current.", f"{upper(about(claim.facts['third'], 'A'))} of it is third harmonic, which does not cancel. A "
                f"neutral no larger than its lines would overheat without protection, which {came}.",
                f"{claim.facts['amps']:.3g} A, {claim.value:.2f} times the largest line current")


def _supplies(claim, case):
    facts = claim.facts
    cut, over = facts["cut"], facts["over"]
    high = f"{_links(over)} would be above the rating of the capacitor" if over else ""
    if facts["cycle"]:
        lead = "The power supplies would shut down and restart again and again" + (f"; {high}." if high else ".")
    elif cut:
        lead = f"The phase voltages would collapse (unbalanced): {_links(cut)} would be at the cut-off" + (f", {high}." if high else ".")
    elif over:
        lead = f"No power supply would shut down, but {high}."
    elif facts["open"]:
        lead = ("The rectifiers would keep the phase voltages near normal although the neutral is open; they may collapse as soon as a "
                "load is switched.")
    else:
        lead = "The power supplies would go on running beside the high-resistance joint."
    rest = ("Their powers, their capacitors, the resistance of their inlets and the conditions at the break decide; the outcome can "
            "differ from one start to the next.")
    if cut and facts["within_rule"]:
        rest += (" No line has more rectifier power than the other two together, but that alone does not keep voltages near normal: other "
                 "loads on one line, small or unequal capacitors and resistance at the inlets matter too.")
    figure = None if claim.value is None else f"{claim.value:.4g} W of rectifiers on {facts['line']}"
    return Said("Power supplies", lead, rest, figure)


def _links(pairs):
    return listed([f"{name} ({link:.0f} V d.c.)" for name, link in pairs])


def _meters(claim, case):
    facts = claim.facts
    return Said(f"Meters on {claim.about.name} at {claim.where[0]}", f"A true-r.m.s. meter would show {volts(facts['rms'])}, an "
                f"average-responding one, correct for sine waves only, {volts(facts['average'])}; the crest is {volts(facts['crest'])}.",
                "No meter shows the d.c. link voltages.", f"crest {claim.value:.3f} times the r.m.s. value")


_SENTENCES = {
    Kind.METALWORK: dangers.metalwork, Kind.METALWORK_UNKNOWN: dangers.earthing_unknown, Kind.PERSON: dangers.person,
    Kind.BETWEEN_METALWORK: dangers.between_metalwork, Kind.NEUTRAL_LIVE: dangers.neutral_live, Kind.MAIN_SWITCH: dangers.main_switch,
    Kind.JOINT_HEAT: dangers.joint_heat, Kind.BOND_HEAT: dangers.bond_heat, Kind.SURGE_PART: surge_part, Kind.TRANSPOSED: dangers.transposed,
    Kind.ELECTRODE_RANGE: dangers.electrode_range, Kind.CHARGING_POINT: dangers.charging_point, Kind.DIVERTED: dangers.diverted,
    Kind.BEYOND_TRIANGLE: _beyond, Kind.TEMPORARY_OVERVOLTAGE: _temporary, Kind.LINE_ABOVE: _line, Kind.LINE_BELOW: _line,
    Kind.LINE_NONE: _line, Kind.INSULATION: _insulation, Kind.ITEM: item, Kind.SURGE_DEVICES: _surge_devices,
    Kind.SETTLING: _settling, Kind.NOT_FOLLOWED: _not_followed, Kind.RECTIFIERS: _rectifiers, Kind.READER: _reader,
    Kind.HANGS_ON: _hangs_on, Kind.OBSERVED: _observed, Kind.EXTRAPOLATED: _extrapolated,
    Kind.NOTHING_BROKEN: _nothing_broken, Kind.MENDED: _mended, Kind.CARRIED: _carried, Kind.FAULT_DEVICES: _fault_devices,
    Kind.OVERVOLTAGE_DEVICE: _overvoltage_device, Kind.ITI: _iti, Kind.FLOATING: _floating, Kind.LINE_BEFORE: _line_before,
    Kind.DROP_BEFORE: _drop, Kind.FULL_NEUTRAL: _full_neutral, Kind.SUPPLIES: _supplies, Kind.METERS: _meters,
}
