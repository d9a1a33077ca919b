"""Claims on the voltages, line to neutral, at each point."""

from dataclasses import replace

from lostneutral import data
from lostneutral.claims.model import About, Claim, Condition, Kind, Moment, Rank, sure
from lostneutral.consequences.limits import ROUNDING, Yardstick, band, published, verdict
from lostneutral.consequences.touch import is_live
from lostneutral.consequences.upstream import without_supply

_KINDS = {"over": (Kind.LINE_ABOVE, Rank.DAMAGE, "high"), "under": (Kind.LINE_BELOW, Rank.WARNING, "low"),
          "dead": (Kind.LINE_NONE, Rank.WARNING, "low")}


def outside_band(moment: Moment):
    """Yield a claim for each line at each point that is above or below limits, or has no voltage to neutral."""
    yield from _outside(moment.case, moment.solution, moment.condition, sure(moment))


def outside_band_before(case, before):
    """Yield a note for each line that was outside the band before anything broke."""
    if before is not None:
        for claim in _outside(case, before, Condition("before"), "calculated for the sound installation"):
            yield Claim(Kind.LINE_BEFORE, claim.about, Rank.NOTE, claim.where, claim.condition, claim.quantity, "V",
                        claim.value, yardstick=claim.yardstick, because=claim.because, facts=claim.facts)


def _outside(case, solution, condition, because):
    limits, nominal = band(case.supply.limits), case.supply.nominal
    for point in case.points:
        if without_supply(case, point):
            continue  # what is switched over has no voltage for the time: that is no fault, and no conductor there is live by it
        for line in point.phases:
            volts = solution.voltage(point.name, line)
            found = None if volts is None else _KINDS.get(verdict(abs(volts) / nominal, limits))
            if found is None:
                continue
            kind, rank, edge = found
            size = abs(volts)
            yield Claim(kind, About("line", line), rank, (point.name,), condition, "voltage to neutral", "V", size,
                        yardstick=limits.yardstick(edge, nominal), because=because,
                        facts={"ratio": size / nominal, "nominal": nominal, "band": limits.name,
                               "live": is_live(solution, point.name, line), "to_earth": _size(solution.between((point.name, line), ("earth", ""))),
                               "outer": limits.low_outer * nominal if edge == "low" and limits.low_outer < limits.low else None})


def _size(volts):
    return None if volts is None else abs(volts)


def highest(case, solution):
    """Return (V, line, point) of the highest voltage line to neutral in `solution`, or None."""
    found = [(abs(volts), line, point.name) for point in case.points for line in point.phases
             if (volts := solution.voltage(point.name, line)) is not None]
    return max(found, key=lambda f: round(f[0], 6), default=None)


def _highest_claim(kind, rank, moment, top, yardstick, **facts):
    volts, line, point = top
    return Claim(kind, About("line", line), rank, (point,), moment.condition, "voltage to neutral", "V", volts,
                 yardstick=yardstick, because=sure(moment), facts=facts)


def insulation(moment: Moment):
    """Yield the highest voltage against the stress that insulation is to bear when a neutral is lost (442.3)."""
    case, top = moment.case, highest(moment.case, moment.solution)
    if top is None or verdict(top[0] / case.supply.nominal, band(case.supply.limits)) != "over":
        return
    split = case.supply.system == "split-phase"
    entry = data.load("stress")["loss_of_neutral_split_phase" if split else "loss_of_neutral"]
    stress = case.supply.nominal * entry["factor"]
    passed = top[0] > stress * (1 + ROUNDING)
    yield _highest_claim(Kind.INSULATION, Rank.DAMAGE if passed else Rank.NOTE, moment, top, published(
        entry, stress, "high" if passed else "reference"), passed=passed)


def beyond_triangle(moment: Moment):
    """Yield a claim if a line is farther from the neutral than any two lines of the supply from each other."""
    top, lines = highest(moment.case, moment.solution), list(moment.case.supply.phasors.values())
    widest = max((abs(a - b) for a in lines for b in lines), default=0.0)
    if top is None or top[0] <= widest * (1 + ROUNDING):
        return
    sources = tuple(x.name for x in moment.solution.loads if x.power is not None and x.power < 0)
    yield replace(_highest_claim(Kind.BEYOND_TRIANGLE, Rank.DAMAGE, moment, top, Yardstick(
        widest, "V", "largest voltage between two lines of the supply as given", data.KNOWN["D"], "high")),
        facts={"sources": sources})


def temporary_overvoltage(moment: Moment):
    """Yield a claim if the highest voltage passes what EN 50160 foresees for a shifted neutral (230/400 V only)."""
    entry, top = data.load("stress")["temporary_overvoltage"], highest(moment.case, moment.solution)
    if top is not None and moment.case.supply.nominal == entry["nominal"] and top[0] > entry["value"]:
        yield _highest_claim(Kind.TEMPORARY_OVERVOLTAGE, Rank.DAMAGE, moment, top, published(entry))


def floating(moment: Moment):
    """Yield a note for each point where nothing ties a conductor's voltage down."""
    for point in moment.case.points:
        loose = tuple(sorted(c for c in (*point.phases, "N") if (point.name, c) in moment.solution.nodes
                             and moment.solution.nodes[point.name, c] is None))
        if loose:
            yield Claim(Kind.FLOATING, About("conductors", " and ".join(loose)), Rank.NOTE, (point.name,),
                        moment.condition, confidence="certain",
                        because="certain for the case as given: it follows from the wiring alone",
                        facts={"conductors": loose})


def drop_before(case, before):
    """Yield a note on the largest drop, line to neutral, between supply and any point with no fault."""
    if before is None:
        return
    drops = [(abs(source) - abs(volts), line, point.name, abs(source)) for point in case.points for line in point.phases
             if (source := case.supply.phasors.get(line)) is not None
             and (volts := before.voltage(point.name, line)) is not None]
    worst = max(drops, key=lambda d: d[0], default=None)
    if worst and worst[0] >= 0.05:  # what would print as 0 V is nothing to tell
        yield Claim(Kind.DROP_BEFORE, About("line", worst[1]), Rank.NOTE, (worst[2],), Condition("before"), "voltage drop",
                    "V", worst[0], because="calculated for the sound installation", facts={"share": worst[0] / worst[3]})
