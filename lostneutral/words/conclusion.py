"""English: the hypothesis, the conclusion, and what it rests on, each in a sentence."""

from math import isinf

from lostneutral.circuit.wiring import conductor_name
from lostneutral.claims.model import Kind, Rank
from lostneutral.words.amounts import about, amount, between, counted, listed, named, places, volts
from lostneutral.words.english import said
from lostneutral.words.terms import when

MOST_LINES = 4  #: lines told in the sentence on voltages; the others are counted
MOST_HINGES = 2
IS = ("are", "is")
_LINES = (Kind.LINE_ABOVE, Kind.LINE_BELOW, Kind.LINE_NONE)
_BAND = {Kind.LINE_ABOVE: "above limits", Kind.LINE_BELOW: "below limits"}
NOT_A_MEASUREMENT = "every figure is calculated for it, none is a measurement unless it is called a reading"


def the_conductor(case, broken) -> str:
    """Return the conductor of a break: "the neutral", "the PEN (combined … conductor)", "line L1"."""
    name = conductor_name(case, broken.feeding, broken.conductor)
    if name == "PEN":
        return "the PEN (combined neutral and protective conductor)"
    return f"the {name}" if broken.conductor in ("N", "PE") else f"line {name}"


def faults(case) -> tuple[str, ...]:
    """Return what is taken as open, of high resistance, mended or transposed: clauses without a capital and a stop."""
    made = [
        f"{the_conductor(case, b)} in the cable to {b.feeding} "
        + ("is open-circuit" if isinf(b.resistance) else f"has a high-resistance joint ({amount(b.resistance, 'ohm')})")
        for b in case.breaks_after()
    ]
    held = {(b.feeding, b.conductor) for b in case.breaks_after()}
    mended = {
        (b.feeding, b.conductor): b
        for b in (*case.breaks, *(e.change for e in case.events if e.change))
        if b.resistance and (b.feeding, b.conductor) not in held
    }
    made += [
        f"{the_conductor(case, b)} in the cable to {b.feeding} "
        + ("was open-circuit" if isinf(b.resistance) else "had a high-resistance joint")
        + " for a time and was restored"
        for b in mended.values()
    ]
    made += [
        f"{cross.conductors[0]} and {cross.conductors[1]} are transposed at {cross.point}" for cross in case.crosses
    ]
    return tuple(made)


def hypothesis(case) -> str:
    """Return the fault considered in one sentence."""
    found = faults(case)
    if not found:
        return (
            "Considered here is the installation with no open-circuit or high-resistance conductor;"
            f" {NOT_A_MEASUREMENT}."
        )
    return f"Considered here, as a hypothesis, is that {listed(found)}; {NOT_A_MEASUREMENT}."


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
        *([voltages(result)] if result.after.solutions else []),
        *supplies,
        *items(result),
        observations(result),
    )


def voltages(result) -> str:
    """Return what the lines would be at, in one sentence."""
    case = result.case
    found = [c for c in result.claims if c.kind in _LINES]
    if not found:
        return f"By calculation every line is within limits{_why_within(result)}."
    told = [_line(c, case) for c in found[:MOST_LINES]]
    if len(found) > MOST_LINES:
        told.append(f"{counted(len(found) - MOST_LINES, 'further deviation')} in the annex")
    quiet = [line for line in case.supply.lines if not any(c.about.name == line for c in found)]
    floating = any(c.kind is Kind.FLOATING for c in result.claims)
    rest = f"; {listed(quiet)} {'is' if len(quiet) == 1 else 'are'} within limits" if quiet and not floating else ""
    return f"By calculation {listed(told)}{rest}."


def _line(claim, case):
    everywhere = sum(claim.about.name in p.phases for p in case.points)
    where = "" if len(claim.where) == everywhere and everywhere > 1 else places(claim.where)
    if claim.kind is Kind.LINE_NONE:
        return f"{claim.about.name}{where} would have no voltage to neutral{when(claim)} and is STILL LIVE to earth"
    figure = about(claim.value, "V") if len(claim.where) < 2 else between(*claim.span, "V")
    return f"{claim.about.name}{where} would be at {figure} to neutral{when(claim)} ({_BAND[claim.kind]})"


def _why_within(result):
    if not result.incident.ever or any(c.kind is Kind.SUPPLIES for c in result.claims):
        return ""
    if any(0 < b.resistance < float("inf") for b in result.case.breaks_after()):
        return " as long as the joint conducts as well as assumed"
    return ", because the loads happen to be balanced: switching any of them will upset this"


def items(result) -> tuple[str, ...]:
    """Return how many items would suffer, and how many not, in one sentence; nothing if the case has none."""
    told = [c for c in result.claims if c.kind is Kind.ITEM]
    fail = [c for c in told if c.facts["verdict"].fails]
    may = [c for c in told if c.rank < Rank.NOTE and c not in fail]
    fine = [c for c in told if c.facts["verdict"].outcome == "unharmed"]
    weak = [c for c in told if c.rank is Rank.NOTE and c not in fine and c not in fail]
    off = len(result.verdicts) - len(told)
    if not result.verdicts:
        return ()
    parts = [f"{len(fail)} would be expected to fail"] if fail else []
    parts += (
        [f"{len(may)} would be overstressed, or no outcome can be stated for {'it' if len(may) == 1 else 'them'}"]
        if may
        else []
    )
    parts += [f"{len(weak)} would be affected but {IS[len(weak) == 1]} not expected to be damaged"] if weak else []
    parts += (
        [f"{len(fine)} {'is' if len(fine) == 1 else 'are'} not expected to be damaged by this condition alone"]
        if fine
        else []
    )
    parts += [f"{off} {'was' if off == 1 else 'were'} switched off"] if off else []
    return (f"Of {counted(len(result.verdicts), 'item')} of equipment, {listed(parts)}.",)


def observations(result) -> str:
    """Return whether what was observed agrees with the calculation; what does not agree is named."""
    found = [c for c in result.claims if c.kind is Kind.OBSERVED]
    if not found:
        return "No observation was given with which this calculation could be compared."
    wrong = [c for c in found if c.facts["agrees"] is False]
    agree = sum(c.facts["agrees"] is True for c in found)
    unsure = len(found) - agree - len(wrong)
    if agree == len(found):
        return (
            "The one observation agrees with this calculation."
            if agree == 1
            else f"All {agree} observations agree with this calculation."
        )
    text = f"Of {counted(len(found), 'observation')}, {agree} agree{'s' * (agree == 1)} with this calculation"
    text += f", for {unsure} it cannot be said" if unsure else ""
    if not wrong:
        return f"{text}."
    names = [c.about.name + (f" at {c.where[0]}" if c.where else "") for c in wrong]
    return f"{text}; NOT in agreement: {named(names, 4)}."


def not_known(result) -> tuple[str, ...]:
    """Return what the case calls unknown with the range it leaves, and what the answer depends on, in sentences."""
    case, made = result.case, []
    if case.unknowns:
        loads = {u.load for u in case.unknowns if u.load} | {name for u in case.unknowns for name in u.one_of}
        what = [f"which of {counted(len(loads), 'item')} were on, or their power"] if loads else []
        what += [f"the resistance of the joint in the cable to {u.feeding}" for u in case.unknowns if u.resistance]
        what += ["the supply's voltage"] if any(u.supply_voltage for u in case.unknowns) else []
        made.append(f"Not known: {listed(what)}; on this page they are taken as the case gives them.")
        made += [_range(result.ranges)] if result.ranges else []
    found = sorted(
        (c for c in result.claims if c.kind is Kind.HANGS_ON and c.facts["changes"]),
        key=lambda c: not c.facts["danger"],
    )
    made += [said(c, case).lead for c in found[:MOST_HINGES]]
    if len(found) > MOST_HINGES:
        made.append(
            f"The answer depends on {counted(len(found) - MOST_HINGES, 'further assumed value')} too (in the annex)."
        )
    return tuple(made)


def _range(ranges):
    top = ranges.highest
    if top.middle is None:
        return "In every case sampled the neutral has no defined potential, and no voltage can be stated."
    return (
        f"With these unknown, the highest voltage of any line to its neutral lies between {volts(top.low)} and"
        f" {volts(top.high)} in 90 % of the cases sampled."
    )


def not_explained(result) -> tuple[str, ...]:
    """Return what this condition alone does not explain, in sentences: items not harmed, observations against it."""
    fine = [c.about.name for c in result.claims if c.kind is Kind.ITEM and c.facts["verdict"].outcome == "unharmed"]
    made = []
    if fine:
        made.append(
            f"Damage to {named(fine, 20)}: this condition alone is not expected to damage"
            f" {'it' if len(fine) == 1 else 'them'}. If {'it' if len(fine) == 1 else 'any of them'} has failed, other"
            " causes should be investigated."
        )
    wrong = [said(c, result.case).lead for c in result.claims if c.kind is Kind.OBSERVED and c.facts["agrees"] is False]
    return (*made, *wrong)
