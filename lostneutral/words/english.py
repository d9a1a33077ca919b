"""The sentences of every kind of claim, in the trade's words and in the mood of a calculation."""

from math import inf

from lostneutral.claims.model import Claim, Kind
from lostneutral.words import dangers, installed
from lostneutral.words.amounts import about, amount, at_places, between, listed, plain, share, volts
from lostneutral.words.hinges import hangs_on
from lostneutral.words.items import part_may_burn, verdict_on
from lostneutral.words.language import tell, to_tell
from lostneutral.words.observed import observed
from lostneutral.words.open_pen import open_pen_device
from lostneutral.words.said import Said
from lostneutral.words.terms import conductor, upper, when
from lostneutral.words.times import duration, span


def said(claim: Claim, case) -> Said:
    """Return `claim` in words: what it is of, its sentence, what follows from it."""
    return _SENTENCES[claim.kind](claim, case)


def _line(claim, case):
    name, facts = claim.about.name, claim.facts
    where, at, band = at_places(claim.where), when(claim), facts["band"]
    subject = f"{name}{where}"
    if claim.kind is Kind.LINE_NONE:
        given = {"line": name, "where": where, "volts": volts(claim.value), "when": at}
        lead = tell("{line}{where} would have no voltage to neutral ({volts}){when}, and is STILL LIVE to earth.", **given) if facts["live"] else \
            tell("{line}{where} would have no voltage to neutral ({volts}){when}, and is not proved dead.", **given)
        return Said(subject, lead, tell("Equipment there does not work; nothing on it is isolated."), volts(claim.value))
    low, high = claim.span
    given = {"line": name, "where": where, "figure": about(claim.value, "V") if len(claim.where) < 2 else between(low, high, "V"),
             "when": at, "share": share(facts["ratio"]), "band": band}
    if claim.kind is Kind.LINE_ABOVE:
        return Said(subject, tell("{line}{where} would be at {figure} to neutral{when}, {share} nominal and above the limits of "
                                  "{band}.", **given),
                    tell("Equipment between this line and the neutral is overstressed while the condition lasts."), volts(claim.value))
    more = tell("Lamps are dim, motors may stall and overheat, electronic equipment may shut down and restart.")
    if facts["outer"] is not None and claim.value < facts["outer"]:
        more += " " + tell("It is also below the outer limit of {limit}.", limit=volts(facts["outer"]))
    return Said(subject, tell("{line}{where} would be at {figure} to neutral{when}, {share} nominal and below the limits of {band}.",
                              **given), more, volts(claim.value))


def _line_before(claim, case):
    where = at_places(claim.where)
    given = {"line": claim.about.name, "where": where, "figure": about(claim.value, "V"), "share": share(claim.facts["ratio"]),
             "band": claim.facts["band"]}
    if claim.yardstick.edge == "high":
        lead = tell("{line}{where} would be at {figure} to neutral already before the fault, {share} nominal and above the limits of "
                    "{band}.", **given)
    else:
        lead = tell("{line}{where} would be at {figure} to neutral already before the fault, {share} nominal and below the limits of "
                    "{band}.", **given)
    return Said(f"{claim.about.name}{where}", lead, "", volts(claim.value))


def _insulation(claim, case):
    given = {"figure": about(claim.value, "V"), "line": claim.about.name, "point": claim.where[0], "limit": volts(claim.yardstick.value)}
    if claim.facts["passed"]:
        return Said(tell("Insulation of the fixed wiring"),
                    tell("The highest voltage, line to neutral, would be {figure} ({line} at {point}), more than the {limit} that "
                         "insulation and parts rated line to neutral are taken to withstand when a neutral is lost.", **given),
                    tell("The insulation of the fixed wiring must be tested too."), volts(claim.value))
    return Said(tell("Insulation of the fixed wiring"),
                tell("The highest voltage, line to neutral, would be {figure} ({line} at {point}), within the {limit} that insulation "
                     "is taken to withstand when a neutral is lost.", **given),
                tell("This applies to the fixed wiring only, not to connected equipment."), volts(claim.value))


def _beyond(claim, case):
    where = at_places(claim.where)
    if claim.facts["sources"]:
        more = tell("The infeed of {items} drives up the voltage of the line that takes it. The figure is as calculated and is not "
                    "limited to the line-to-line voltage.", items=listed(claim.facts["sources"]))
    elif case.supply.system == "split-phase":
        more = tell("Inductive and capacitive loads put the neutral outside the line between L1 and L2. The figure is as calculated "
                    "and is not limited to the line-to-line voltage; resonance is not excluded.")
    else:
        more = tell("Inductive and capacitive loads put the neutral outside the voltage triangle. The figure is as calculated and is "
                    "not limited to the line-to-line voltage; resonance is not excluded.")
    return Said(f"{claim.about.name}{where}",
                tell("{line}{where} would be at {figure} to neutral{when}, more than the {limit} between any two lines.",
                     line=claim.about.name, where=where, figure=about(claim.value, "V"), when=when(claim),
                     limit=volts(claim.yardstick.value)), more, volts(claim.value))


def _temporary(claim, case):
    where = at_places(claim.where)
    return Said(f"{claim.about.name}{where}",
                tell("{line}{where} would be at {figure} to neutral{when}. That is expected to be above what is foreseen as a temporary "
                     "overvoltage in a 230/400 V supply when its neutral is displaced.", line=claim.about.name, where=where,
                     figure=about(claim.value, "V"), when=when(claim)), "", volts(claim.value))


def _surge_devices(claim, case):
    seconds = claim.facts["seconds"]
    given = {"line": claim.about.name, "point": claim.where[0], "figure": about(claim.value, "V"), "when": when(claim),
             "limit": volts(claim.yardstick.value)}
    if not seconds:
        lead = tell("A common surge protective device, if one is fitted on {line} at {point}, would be at {figure}{when}: above the "
                    "{limit} for which it is continuously rated; no test covers it.", **given)
    else:
        lead = tell("A common surge protective device, if one is fitted on {line} at {point}, would be at {figure}{when}: above the "
                    "{limit} for which it is continuously rated; type tests cover it for {time} ({outcome}).", **given,
                    time=duration(seconds), outcome=claim.facts["outcome"])
    return Said(tell("Surge protective devices"), lead,
                tell("It protects nothing here: it may disconnect or fail, possibly overheating."), volts(claim.value))


_SETTLING = to_tell({
    "none": "No settled state was found after the fault: nothing is said about its voltages.",
    "keeps changing": "The circuit has no steady state: it keeps changing.",
    "none holds": "None of the settled states is stable: the circuit leaves each of them.",
    "not tested": "Whether the settled state that was found is stable was not tested, and there may be others: what is said of single "
                  "items is limited.",
    "several": "{count} settled states are possible, and the loads alone do not decide which of them the circuit takes.",
    "one of several": "{count} settled states are possible.",
    "none before": "The sound installation has no settled state: nothing is said of the time before the fault.",
})
_SETTLING_MORE = to_tell({
    "keeps changing": "Voltages are given for the states it passes near and are not steady.",
    "several": "Small differences decide; no outcome is given as good.",
    "one of several": "The figures are for the one that the circuit reaches from the sound installation; a different order of switching "
                      "could end in another.",
})


def _settling(claim, case):
    if claim.facts["found"] == "cycle":
        return _cycling(claim)
    found, count = claim.facts["found"], int(claim.value or 0)
    more = tell(_SETTLING_MORE[found]) if found in _SETTLING_MORE else ""
    because = f" {claim.facts['reason']}" if claim.facts["reason"] else ""
    computed = tell("{count} settled states", count=count) if found in ("several", "one of several") else None
    return Said(tell("The circuit"), tell(_SETTLING[found], count=count), f"{more}{because}".strip(), computed)


_NOT_FOLLOWED = to_tell({
    "too large": "The incident was not followed in time, because it has too many loads: outcomes are those of the settled states, and how "
                 "one failure leads to the next is not in them.",
    "waveforms undecided": "The waveforms did not reach a steady state in the time that was calculated: figures after the fault are those "
                           "of its last cycle.",
    "pulses": "The incident was not followed in time, because rectifier loads decide it and a course of sine waves would be wrong: "
              "outcomes are those of the waveforms, if they last.",
    "failed": "The incident could not be followed in time: outcomes are those of the settled states, if they last.",
    "waveforms": "Rectifier loads carry a share that matters, but their waveforms were not calculated: {why}. The figures are those of "
                 "sine waves, and nothing is said about which line of several with such loads collapses.",
})


def _cycling(claim):
    names, period = claim.facts["loads"], duration(claim.value)
    if names:
        lead = tell("The circuit would not settle: {items} would go off and come back again and again, about every {period}.",
                    items=listed(names), period=period)
    else:
        lead = tell("The circuit would not settle: it repeats itself about every {period}.", period=period)
    more = tell("Voltages are those at the extremes of this cycle.")
    if claim.facts["met"]:
        more = f"{tell('Each restart brings a load up to {volts}.', volts=volts(claim.facts['met']))} {more}"
    return Said(tell("The circuit"), lead, more, period)


def _not_followed(claim, case):
    why = claim.facts["why"]
    return Said(tell("Rectifier inputs") if why == "waveforms" else tell("The course in time"),
                tell(_NOT_FOLLOWED[why], why=claim.facts.get("text", "")), "")


def _rectifiers(claim, case):
    return Said(tell("Rectifier inputs"),
                tell("{items}: such a power supply draws its current in pulses at the crests, and is calculated here as if it drew a "
                     "sinusoidal one.", items=listed(claim.facts["items"])),
                tell("Nothing is said about which line of several with such supplies collapses; the capacitors, the resistances at the "
                     "inlets and the previous operating state decide."))


def _reader(claim, case):
    return Said(tell("The case"), claim.facts["text"], "")


def _saturates(claim, case):
    figure = plain(claim.value, ".2f")
    more = tell("Current and heat rise faster than the voltage, and the voltages are an estimate.")
    if claim.facts["capacitive"]:
        more += " " + tell("Beside capacitors on the same neutral resonance is not excluded.")
    return Said(claim.about.name,
                tell("The iron core of {item} would be at {ratio} × rated voltage{when}, above the knee of magnetisation at "
                     "about {knee}.", item=claim.about.name, ratio=figure, when=when(claim), knee=plain(claim.facts["knee"])), more,
                tell("{ratio} of rated", ratio=figure))


def _extrapolated(claim, case):
    facts = claim.facts
    more = (tell("That is far outside: what is calculated for this, and for all on the same neutral, is not to be relied on.") if facts["far"]
            else tell("That is outside: the figures are extrapolated."))
    return Said(claim.about.name,
                tell("{item} would be at {ratio} × rated voltage{when}; the power law was measured from {low} to {high}.",
                     item=claim.about.name, ratio=plain(claim.value, ".2f"), when=when(claim), low=plain(facts["low"]),
                     high=plain(facts["high"])), more, tell("{ratio} of rated", ratio=plain(claim.value, ".2f")))


def _unequal_lines(claim, case):
    facts, name = claim.facts, claim.about.name
    given = {"item": name, "when": when(claim), "ratio": plain(facts["current"], ".2g")}
    relay = "" if facts["relay"] is None else " " + tell(
        "A thermal overload relay set to the rated current, if there is one, would be expected to open after {time}.",
        time=duration(facts["relay"]))
    if facts["lost"] is None:
        lead = tell("{item} would run on unequal line voltages{when}: negative sequence {percent} % of positive, highest line "
                    "current {ratio} × rated.", percent=plain(claim.value, ".2g"), **given)
        more = tell("A motor bears {percent} % for long.", percent=plain(claim.yardstick.value))
        return Said(name, lead, more + relay, tell("{percent} %", percent=plain(claim.value, ".2g")))
    lead = tell("{item} would run on with one line lost{when}, the highest line current {ratio} × rated.", **given)
    more = [tell("Once stopped there would be no new start.")]
    if facts["held"] is not None:
        more.insert(0, tell("{line} would thereby be held at {figure} to neutral: that line is LIVE although it is open, and a reading there does "
                            "not show it sound.", line=facts["lost"], figure=between(*facts["held"], "V")))
    return Said(name, lead, " ".join(more) + relay, tell("{percent} %", percent=plain(claim.value, ".2g")))


def _nothing_broken(claim, case):
    return Said(tell("The installation"), tell("No open-circuit or high-resistance conductor is assumed in this case."),
                tell("The figures are those of the sound installation."))


def _mended(claim, case):
    if claim.facts["spans"]:
        lead = tell("The fault lasted in all {time} and had ended by the end of the incident.", time=duration(claim.value))
    else:
        lead = tell("The fault had ended by the end of the incident, after a time that was not followed.")
    more = tell("What happened meanwhile counts: outcomes and dangers are those of the worst stage. The contact will do the same at the "
                "next changeover: it must be repaired or replaced before that.") if claim.facts["contact"] else \
        tell("What happened meanwhile counts: outcomes and dangers are those of the worst stage. Why the joint failed has still "
             "to be found, and it must be remade before it is relied on.")
    return Said(tell("The installation"), lead, more, duration(claim.value) if claim.facts["spans"] else None)


def _carried(claim, case):
    name = conductor(claim.about)
    fate = tell("The fault interrupts this path.") if claim.facts["open"] else tell("With the fault its current passes through the high-resistance joint.")
    return Said(upper(tell("{conductor} in the cable to {point}", conductor=name, point=claim.where[0])),
                tell("Before the fault the {conductor} in the cable to {point} carried {figure} by calculation.", conductor=name,
                     point=claim.where[0], figure=about(claim.value, "A")), fate, amount(claim.value, "A"))


def _fault_devices(claim, case):
    facts = claim.facts
    if facts["judged"] and claim.value is not None:
        given = {"milliamps": about(1e3 * claim.value, "mA"), "amps": about(claim.value, "A"), "where": at_places(claim.where), "when": when(claim),
                 "rated": plain(1e3 * claim.yardstick.value)}
    if not facts["judged"]:
        lead = tell("No residual-current device is judged: neutral and protective conductor are one (PEN) in every cable of the case, and none can "
                    "be fitted there.")
    elif claim.value is None:
        lead = tell("Whether a residual-current device would operate cannot be said: the residual current is not determined.")
    elif facts["answer"] == "would operate":
        lead = tell("Residual current of {amps}{where}{when}: a residual-current device of {rated} mA there would be expected to operate. "
                    "If one is fitted and did not, that is evidence.", **given)
    elif facts["answer"] == "may operate":
        lead = tell("Residual current of {milliamps}{where}: a residual-current device of {rated} mA there may operate.", **given)
    else:
        lead = tell("Residual-current devices would not be expected to operate: the largest residual current is {milliamps}.", **given)
    rest = [] if facts["transposed"] else [tell("Loss of a neutral alone causes neither residual current nor overcurrent.")]
    if None not in (facts["line_before"], facts["line_after"]):
        lasting = tell(" for {time}", time=duration(facts["line_for"])) if facts["line_for"] < inf else ""
        currents = {"now": about(facts["line_after"], "A"), "lasting": lasting, "before": about(facts["line_before"], "A")}
        if facts["line_after"] <= facts["line_before"] * 1.01:
            rest.append(tell("The largest line current is {now}{lasting} by calculation, before the fault {before}: fuses and circuit-breakers "
                             "that held before have no more to carry.", **currents))
        else:
            rest.append(tell("The largest line current is {now}{lasting} by calculation, before the fault {before}: compare it with the ratings "
                             "of fuses and circuit-breakers.", **currents))
    rest.append(tell("That nothing tripped says nothing about the voltage."))
    return Said(tell("Protective devices"), lead, " ".join(rest), None if claim.value is None else amount(claim.value, "A"))


def _overvoltage_device(claim, case):
    facts = claim.facts
    given = {"figure": about(claim.value, "V"), "line": claim.about.name, "point": claim.where[0], "when": when(claim)}
    if not facts["acts"]:
        return Said(tell("Overvoltage device"),
                    tell("At {figure} on {line} at {point}, a power-frequency overvoltage device, had one been fitted, would not be expected "
                         "to operate: operation is required only at higher voltages.", **given), "", volts(claim.value))
    if facts["latest"] < inf:
        lead = tell("At {figure} on {line} at {point}{when}, a power-frequency overvoltage device, had one been fitted, would be expected "
                    "to disconnect {time} after that voltage begins.", **given, time=span(facts["earliest"], facts["latest"]))
    else:
        lead = tell("At {figure} on {line} at {point}{when}, a power-frequency overvoltage device, had one been fitted, would be expected "
                    "to disconnect no sooner than {time} after that voltage begins, and need not at all.", **given, time=duration(facts["earliest"]))
    return Said(tell("Overvoltage device"), lead, tell("It does not disconnect the protective conductor."), volts(claim.value))


def _iti(claim, case):
    given = {"lines": listed(claim.facts["lines"]), "where": at_places(claim.where), "limit": f"{100 * claim.yardstick.value:.0f}"}
    if claim.facts["side"] == "above":
        lead = tell("By the ITI curve for a lasting voltage, {lines}{where} would be above its upper limit: damage is possible ({limit} % "
                    "of nominal).", **given)
    else:
        lead = tell("By the ITI curve for a lasting voltage, {lines}{where} would be below its lower limit: equipment may stop, without "
                    "damage ({limit} % of nominal).", **given)
    return Said(tell("ITI curve"), lead,
                tell("Indicative only: the curve is drawn for 120 V 60 Hz information technology equipment."),
                tell("{ratio} of nominal", ratio=plain(claim.value, ".2f")))


def _floating(claim, case):
    names = f"{listed(claim.facts['conductors'])}{at_places(claim.where)}"
    given = {"conductors": names, "when": when(claim)}
    return Said(names, tell("{conductors} would have no defined potential{when}: no load that is on and no earth connects it.", **given)
                if len(claim.facts["conductors"]) == 1 else
                tell("{conductors} would have no defined potential{when}: no load that is on and no earth connects them.", **given),
                tell("A high-impedance voltmeter may show anything there, a normal voltage included; a low-impedance tester shows almost "
                     "zero. Neither reading proves the neutral sound or the conductor isolated."))


def _drop(claim, case):
    where = at_places(claim.where[:1])
    return Said(f"{claim.about.name}{where}",
                tell("With no fault the largest voltage drop would be {figure} ({percent} % of the supply's voltage), on {line}{where}.",
                     figure=about(claim.value, "V"), percent=plain(100 * claim.facts["share"], ".1f"), line=claim.about.name, where=where),
                "", volts(claim.value))


def _full_neutral(claim, case):
    given = {"point": claim.where[0], "figure": about(claim.facts["amps"], "A"), "times": plain(claim.value, ".2f")}
    third = upper(about(claim.facts["third"], "A"))
    if claim.facts["faulted"]:
        lead = tell("Before the fault the neutral in the cable to {point} would carry {figure}, {times} times the largest line current.",
                    **given)
        more = tell("{third} of it is third harmonic, which does not cancel. A neutral no larger than its lines would overheat without "
                    "protection, which may have caused the break.", third=third)
    else:
        lead = tell("The neutral in the cable to {point} would carry {figure}, {times} times the largest line current.", **given)
        more = tell("{third} of it is third harmonic, which does not cancel. A neutral no larger than its lines would overheat without "
                    "protection, which is one way in which a neutral breaks.", third=third)
    return Said(tell("Overloaded neutral in the cable to {point}", point=claim.where[0]), lead, more,
                tell("{amps} A, {times} times the largest line current", amps=plain(claim.facts["amps"], ".3g"), times=given["times"]))


def _supplies(claim, case):
    facts = claim.facts
    cut, over = facts["cut"], facts["over"]
    if facts["cycle"] and over:
        lead = tell("The power supplies would shut down and restart again and again; {over} would be above the rating of the capacitor.",
                    over=_links(over))
    elif facts["cycle"]:
        lead = tell("The power supplies would shut down and restart again and again.")
    elif cut and over:
        lead = tell("The phase voltages would collapse (unbalanced): {cut} would be at the cut-off, {over} would be above the rating of "
                    "the capacitor.", cut=_links(cut), over=_links(over))
    elif cut:
        lead = tell("The phase voltages would collapse (unbalanced): {cut} would be at the cut-off.", cut=_links(cut))
    elif over:
        lead = tell("No power supply would shut down, but {over} would be above the rating of the capacitor.", over=_links(over))
    elif facts["open"]:
        lead = tell("The rectifiers would keep the phase voltages near normal although the neutral is open; they may collapse as soon as "
                    "a load is switched.")
    else:
        lead = tell("The power supplies would go on running beside the high-resistance joint.")
    rest = tell("Their powers, their capacitors, the resistance of their inlets and the conditions at the break decide; the outcome can "
                "differ from one start to the next.")
    if cut and facts["within_rule"]:
        rest += " " + tell("No line has more rectifier power than the other two together, but that alone does not keep voltages near "
                           "normal: other loads on one line, small or unequal capacitors and resistance at the inlets matter too.")
    figure = None if claim.value is None else tell("{watts} W of rectifiers on {line}", watts=plain(claim.value, ".4g"), line=facts["line"])
    return Said(tell("Power supplies"), lead, rest, figure)


def _links(pairs):
    return listed([tell("{item} ({link} V d.c.)", item=name, link=f"{link:.0f}") for name, link in pairs])


def _meters(claim, case):
    facts = claim.facts
    return Said(tell("Meters on {line} at {point}", line=claim.about.name, point=claim.where[0]),
                tell("A true-r.m.s. meter would show {rms}, an average-responding one, correct for sine waves only, {average}; the crest "
                     "is {crest}.", rms=volts(facts["rms"]), average=volts(facts["average"]), crest=volts(facts["crest"])),
                tell("No meter shows the d.c. link voltages."),
                tell("crest {ratio} times the r.m.s. value", ratio=plain(claim.value, ".3f")))


_SENTENCES = {
    Kind.METALWORK: dangers.metalwork, Kind.METALWORK_UNKNOWN: dangers.earthing_unknown, Kind.PERSON: dangers.person,
    Kind.BETWEEN_METALWORK: dangers.between_metalwork, Kind.NEUTRAL_LIVE: dangers.neutral_live, Kind.MAIN_SWITCH: dangers.main_switch,
    Kind.JOINT_HEAT: dangers.joint_heat, Kind.BOND_HEAT: dangers.bond_heat, Kind.SURGE_PART: part_may_burn, Kind.WINDING: part_may_burn, Kind.TRANSPOSED: dangers.transposed,
    Kind.ELECTRODE_RANGE: dangers.electrode_range, Kind.CHARGING_POINT: dangers.charging_point, Kind.DIVERTED: dangers.diverted,
    Kind.BEYOND_TRIANGLE: _beyond, Kind.TEMPORARY_OVERVOLTAGE: _temporary, Kind.LINE_ABOVE: _line, Kind.LINE_BELOW: _line,
    Kind.LINE_NONE: _line, Kind.INSULATION: _insulation, Kind.ITEM: verdict_on, Kind.SURGE_DEVICES: _surge_devices,
    Kind.SETTLING: _settling, Kind.NOT_FOLLOWED: _not_followed, Kind.RECTIFIERS: _rectifiers, Kind.READER: _reader,
    Kind.HANGS_ON: hangs_on, Kind.OBSERVED: observed, Kind.EXTRAPOLATED: _extrapolated, Kind.SATURATES: _saturates,
    Kind.OPEN_PEN_DEVICE: open_pen_device,
    Kind.UNEQUAL_LINES: _unequal_lines,
    Kind.NOTHING_BROKEN: _nothing_broken, Kind.MENDED: _mended, Kind.CARRIED: _carried, Kind.FAULT_DEVICES: _fault_devices,
    Kind.DEVICE: installed.told_device, Kind.UNEARTHED_SOURCE: installed.told_unearthed_source,
    Kind.BRIEF: installed.told_brief, Kind.HIGH_VOLTAGE_FUSE: installed.told_fuse, Kind.OVERVOLTAGE_DEVICE: _overvoltage_device, Kind.ITI: _iti, Kind.FLOATING: _floating, Kind.LINE_BEFORE: _line_before,
    Kind.DROP_BEFORE: _drop, Kind.FULL_NEUTRAL: _full_neutral, Kind.SUPPLIES: _supplies, Kind.METERS: _meters,
}
