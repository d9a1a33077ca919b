"""The hypothesis, the conclusion, and what it rests on, each in a sentence."""

from math import inf, isinf

from lostneutral.circuit.wiring import conductor_name
from lostneutral.claims.model import Kind, Rank
from lostneutral.claims.verdicts import CANNOT
from lostneutral.words.amounts import about, amount, at_places, between, items_of, listed, named, volts
from lostneutral.words.english import said
from lostneutral.words.language import tell, to_tell
from lostneutral.words.terms import when

DANGER = "Dangers to assume until the supply has been made safe"
NO_DANGER = ("The calculation shows no danger of shock or fire. This does not mean that the installation is safe: have it "
             "tested first.")
MOST_DANGERS = 6  #: sentences of the danger box; what is left out is counted and stands in full further on
REST = to_tell({"findings": "… and {number} more, told with the findings.", "annex": "… and {number} more, in the annex."})
MOST_LINES = 4  #: lines told in the sentence on voltages; the others are counted
MOST_HINGES = 2
MOST_OF_IT = 0.5  #: of the current of an open neutral, from which on other paths keep the lines within limits, not balance
_LINES = (Kind.LINE_ABOVE, Kind.LINE_BELOW, Kind.LINE_NONE)
_BAND = to_tell({Kind.LINE_ABOVE: "above limits", Kind.LINE_BELOW: "below limits"})
_FAULTS = to_tell({("N", True): "loss of neutral", ("N", False): "high-resistance joint in the neutral",
                   ("line", True): "loss of a phase", ("line", False): "high-resistance joint in a line conductor",
                   ("PE", True): "loss of the protective conductor", ("PE", False): "high-resistance joint in the protective conductor",
                   ("transposed", True): "transposed conductors"})
"""By the conductor, and whether it is ever open."""
_THE = to_tell({"N": "the neutral", "PE": "the protective conductor", "PEN": "the PEN (combined neutral and protective conductor)"})


def the_conductor(case, broken) -> str:
    """Return the conductor of a break: "the neutral", "the PEN (combined … conductor)", "line L1", "the neutral contact …"."""
    if broken.part == "contact":
        changeover = next(c.name for c in case.changeovers if c.point == broken.feeding)
        return tell("the neutral contact of {changeover}", changeover=changeover) if broken.conductor == "N" else \
            tell("the {line} contact of {changeover}", line=broken.conductor, changeover=changeover)
    if broken.part == "fuse":
        return tell("the high-voltage fuse of line {line}", line=broken.conductor)
    name = "PEN" if conductor_name(case, broken.feeding, broken.conductor) == "PEN" else broken.conductor
    return tell(_THE[name]) if name in _THE else tell("line {name}", name=name)


def the_break(case, broken) -> str:
    """Return the conductor of a break with its place: "the neutral in the cable to shop"."""
    what = the_conductor(case, broken)
    return tell("{conductor} in the cable to {point}", conductor=what, point=broken.feeding) if broken.part == "cable" else what


def fault_name(case) -> str:
    """Return what the fault considered is called in a heading, from all that is ever open, of high resistance or transposed; "" where nothing is."""
    found = {"transposed": True} if case.crosses else {}
    for broken in (b for b in case.breaks_ever() if b.resistance):
        conductor = broken.conductor if broken.conductor in ("N", "PE") else "line"
        found[conductor] = found.get(conductor, False) or isinf(broken.resistance)
    if len(found) > 1:
        return tell("several wiring faults")
    return tell(_FAULTS[next(iter(found.items()))]) if found else ""


def faults(case) -> tuple[str, ...]:
    """Return what is taken as open, of high resistance, mended or transposed: clauses without a capital and a stop."""
    made = [broken_words(case, b) for b in case.breaks_after()]
    held = {b.place for b in case.breaks_after()}
    worst = sorted(case.breaks_ever(), key=lambda b: b.resistance)
    mended = {b.place: b for b in worst if b.resistance and b.place not in held}
    made += [
        tell("{conductor} was open-circuit for a time and was restored", conductor=the_break(case, b)) if isinf(b.resistance) else
        tell("{conductor} had a high-resistance joint for a time and was restored", conductor=the_break(case, b))
        for b in mended.values()
    ]
    made += [
        tell("{a} and {b} are transposed at {point}", a=cross.conductors[0], b=cross.conductors[1], point=cross.point)
        for cross in case.crosses
    ]
    return tuple(made)


def broken_words(case, b) -> str:
    """Return what is so of a break in the end, and what it was before, if it was another: a clause without a capital and a stop."""
    ever = {x.resistance for x in case.breaks_ever() if x.place == b.place}
    given = {"conductor": the_break(case, b), "ohms": amount(b.resistance, "ohm")}
    if not isinf(b.resistance):
        return (tell("{conductor} has a high-resistance joint ({ohms}), after a time in which it was open-circuit", **given) if inf in ever else
                tell("{conductor} has a high-resistance joint ({ohms})", **given))
    if any(0 < ohms < inf for ohms in ever):
        return tell("{conductor} is open-circuit, after a time in which it had a high-resistance joint", **given)
    return (tell("{conductor} is open-circuit, after a time in which it was restored", **given) if 0 in ever else
            tell("{conductor} is open-circuit", **given))


def hypothesis(case) -> str:
    """Return the fault considered in one sentence."""
    found = faults(case)
    if not found:
        return tell(
            "Considered here is the installation with no open-circuit or high-resistance conductor; every figure is calculated for it, "
            "none is a measurement unless it is called a reading."
        )
    return tell(
        "Considered here, as a hypothesis, is that {faults}; every figure is calculated for it, none is a measurement unless it is called "
        "a reading.",
        faults=listed(found),
    )


def conclusion(result) -> tuple[str, ...]:
    """Return what the calculation comes to, in sentences: voltages, items, observations."""
    settling = [
        c
        for c in result.claims
        if c.kind is Kind.SETTLING and c.facts["found"] not in ("none before", "one of several")
    ]
    first = [said(c, result.case).lead for c in settling[:1]]
    supplies = [said(c, result.case).lead for c in result.claims if c.kind is Kind.SUPPLIES][:1]
    return (
        *first,
        *([voltages(result)] if result.incident.moments else []),
        *supplies,
        *how_many_items(result),
        observations(result),
    )


def voltages(result) -> str:
    """Return what the lines would be at, in one sentence."""
    case = result.case
    found = [c for c in result.claims if c.kind in _LINES]
    if not found:
        return _within(result)
    told = [_line(c, case) for c in found[:MOST_LINES]]
    if len(found) > MOST_LINES:
        left = len(found) - MOST_LINES
        told.append(tell("1 further deviation in the annex") if left == 1 else tell("{number} further deviations in the annex", number=left))
    there = case.beyond(case.document.premises) if result.others else [p.name for p in case.points]
    present = {line for name in there for line in case.point(name).phases}
    quiet = [line for line in case.supply.lines if line in present and not any(c.about.name == line for c in found)]
    if not quiet or any(c.kind is Kind.FLOATING for c in result.claims):
        return tell("By calculation {lines}.", lines=listed(told))
    if len(quiet) == 1:
        return tell("By calculation {lines}; {quiet} is within limits.", lines=listed(told), quiet=quiet[0])
    return tell("By calculation {lines}; {quiet} are within limits.", lines=listed(told), quiet=listed(quiet))


def _line(claim, case):
    everywhere = sum(claim.about.name in p.phases for p in case.points)
    where = "" if len(claim.where) == everywhere and everywhere > 1 else at_places(claim.where)
    given = {"line": claim.about.name, "where": where, "when": when(claim)}
    if claim.kind is Kind.LINE_NONE:
        return tell("{line}{where} would have no voltage to neutral{when} and is STILL LIVE to earth", **given) if claim.facts["live"] else \
            tell("{line}{where} would have no voltage to neutral{when} and is not proved dead", **given)
    figure = about(claim.value, "V") if len(claim.where) < 2 else between(*claim.span, "V")
    return tell("{line}{where} would be at {figure} to neutral{when} ({band})", **given, figure=figure, band=tell(_BAND[claim.kind]))


def _within(result):
    if result.others:  # what holds its lines there is not looked for: others may be outside the limits, or before the break
        return tell("By calculation every line at {point} is within limits; switching any load on this supply may change that.",
                    point=result.case.document.premises)
    if not result.incident.ever or any(c.kind is Kind.SUPPLIES for c in result.claims):
        return tell("By calculation every line is within limits.")
    if any(0 < b.resistance < float("inf") for b in result.case.breaks_after()):
        return tell("By calculation every line is within limits as long as the joint conducts as well as assumed.")
    if not any(b.conductor == "N" for b in result.case.breaks_after()):
        return tell("By calculation every line is within limits.")
    if sum(part or 0.0 for c in result.claims if c.kind is Kind.DIVERTED for _, _, part in c.facts["paths"]) >= MOST_OF_IT:
        return tell("By calculation every line is within limits, because other paths (earth, pipes) carry the current of the open "
                    "conductor: interrupting one of them will upset this.")
    return tell("By calculation every line is within limits, because the loads happen to be balanced: switching any of them will upset "
                "this.")


def how_many_items(result) -> tuple[str, ...]:
    """Return how many items would suffer, and how many not, in one sentence; nothing if the case has none."""
    if not result.verdicts:
        return ()
    told = [c for c in result.claims if c.kind is Kind.ITEM]
    fail = [c for c in told if c.facts["verdict"].fails]
    unsure = [c for c in told if c.facts["verdict"].outcome in (CANNOT, "not known")]
    may = [c for c in told if c.rank < Rank.NOTE and c not in fail and c not in unsure]
    fine = [c for c in told if c.facts["verdict"].outcome == "unharmed"]
    weak = [c for c in told if c.rank is Rank.NOTE and c not in fine and c not in fail and c not in unsure]
    off = len(result.verdicts) - len(told)
    parts = [
        (fail, tell("1 would be expected to fail"), tell("{number} would be expected to fail", number=len(fail))),
        (may, tell("1 would be overstressed or would not work properly"),
         tell("{number} would be overstressed or would not work properly", number=len(may))),
        (unsure, tell("for 1 no outcome can be stated"), tell("for {number} no outcome can be stated", number=len(unsure))),
        (weak, tell("1 would be affected but is not expected to be damaged"),
         tell("{number} would be affected but are not expected to be damaged", number=len(weak))),
        (fine, tell("1 is not expected to be damaged by this condition alone"),
         tell("{number} are not expected to be damaged by this condition alone", number=len(fine))),
        ([None] * off, tell("1 was switched off"), tell("{number} were switched off", number=off)),
    ]
    told_of = [one if len(which) == 1 else many for which, one, many in parts if which]
    said = [tell("Of {items} of equipment, {parts}.", items=items_of(len(result.verdicts)), parts=listed(told_of))]
    if result.others:
        said.append(tell("Of {items} at other premises, {number} would be expected to fail.", items=items_of(len(result.others)),
                         number=sum(v.fails for v in result.others)))
    return tuple(said)


def observations(result) -> str:
    """Return whether what was observed agrees with the calculation; what does not agree is named."""
    found = [c for c in result.claims if c.kind is Kind.OBSERVED]
    if not found:
        return tell("No observation was given with which this calculation could be compared.")
    wrong = [c for c in found if c.facts["agrees"] is False]
    agree = sum(c.facts["agrees"] is True for c in found)
    unsure = len(found) - agree - len(wrong)
    if agree == len(found):
        return tell("The one observation agrees with this calculation.") if agree == 1 else tell("Both observations agree with this calculation.") \
            if agree == 2 else tell("All {number} observations agree with this calculation.", number=agree)
    names = [c.about.name + at_places(c.where[:1]) for c in wrong]
    if len(found) == 1:
        return (tell("The one observation does NOT agree with this calculation: {items}.", items=names[0]) if wrong
                else tell("Whether the one observation agrees with this calculation cannot be said."))
    parts = [tell("1 agrees with this calculation") if agree == 1 else tell("none agrees with this calculation") if not agree
             else tell("{number} agree with this calculation", number=agree)]
    parts += [tell("for {number} it cannot be said", number=unsure)] if unsure else []
    given = {"count": tell("{number} observations", number=len(found)), "parts": ", ".join(parts)}
    if not wrong:
        return tell("Of {count}, {parts}.", **given)
    return tell("Of {count}, {parts}; NOT in agreement: {items}.", **given, items=named(names, 4))


def not_known(result) -> tuple[str, ...]:
    """Return what the case calls unknown with the range it leaves, and what the answer depends on, in sentences."""
    case, made = result.case, []
    if case.unknowns:
        loads = {u.load for u in case.unknowns if u.load} | {name for u in case.unknowns for name in u.one_of}
        what = [] if not loads else [tell("the state (on or off) or the power of {item}", item=min(loads)) if len(loads) == 1 else
                                     tell("which of {items} were on, or their power", items=items_of(len(loads)))]
        what += [tell("the resistance of the joint in the cable to {point}", point=u.feeding) for u in case.unknowns if u.resistance]
        what += [tell("the supply's voltage")] if any(u.supply_voltage for u in case.unknowns) else []
        made.append(tell("Not known: {what}; on this page they are taken as the case gives them.", what=listed(what)))
        made += [_range(result.ranges)] if result.ranges else []
    found = sorted(
        (c for c in result.claims if c.kind is Kind.HANGS_ON and c.facts["changes"]),
        key=lambda c: not c.facts["danger"],
    )
    made += [said(c, case).lead for c in found[:MOST_HINGES]]
    left = len(found) - MOST_HINGES
    made += [tell("The answer depends on 1 further assumed value too (in the annex).")] if left == 1 else []
    made += [tell("The answer depends on {number} further assumed values too (in the annex).", number=left)] if left > 1 else []
    return tuple(made)


def _range(ranges):
    top = ranges.highest
    if top.middle is None:
        return tell("In every case sampled the neutral has no defined potential, and no voltage can be stated.")
    return tell(
        "With these unknown, the highest voltage of any line to its neutral lies between {low} and {high} in 90 % of the cases sampled.",
        low=volts(top.low), high=volts(top.high),
    )


def not_explained(result) -> tuple[str, ...]:
    """Return what this condition alone does not explain, in sentences: items not harmed, observations against it."""
    fine = [c.about.name for c in result.claims if c.kind is Kind.ITEM and c.facts["verdict"].outcome == "unharmed"]
    made = []
    if fine:
        made.append(tell("Damage to {items}: not expected from this condition alone. If there is any, other causes should be investigated.",
                         items=named(fine, 20)))
    wrong = [said(c, result.case).lead for c in result.claims if c.kind is Kind.OBSERVED and c.facts["agrees"] is False]
    return (*made, *wrong)


def dangers(result, most=MOST_DANGERS, rest="findings"):
    """Return the sentences of the danger box: shock and fire, and why metalwork is taken as not live where it is.

    More than `most` are counted, with where the `rest` is, a key of `REST`; of these the first of fire is told whatever else there is.
    """
    grave = [c for c in result.claims if c.rank in (Rank.DANGER, Rank.FIRE)]
    made = list(dict.fromkeys(said(c, result.case).lead for c in grave))
    fire = next((said(c, result.case).lead for c in grave if c.rank is Rank.FIRE), None)
    if fire in made[most:]:
        made.remove(fire)
        made.insert(most - 1, fire)
    if not made:
        made = [tell(NO_DANGER)]
    elif len(made) > most:
        made = [*made[:most], tell(REST[rest], number=len(made) - most)]
    if not any(c.kind in (Kind.METALWORK, Kind.METALWORK_UNKNOWN) for c in grave):
        made += [said(c, result.case).lead for c in result.claims if c.kind is Kind.METALWORK][:1]
    return made
