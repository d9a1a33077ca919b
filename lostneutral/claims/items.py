"""Claims on the items of equipment: one a verdict, and on parts of them that may burn."""

from math import inf

from lostneutral import data
from lostneutral.claims.incident import Incident
from lostneutral.claims.model import AS_GIVEN, About, Claim, Kind, Moment, Rank, sure
from lostneutral.claims.verdicts import STRESSED, Verdict
from lostneutral.consequences.devices import WOULD, judged, overload_relay
from lostneutral.consequences.equipment import light_before
from lostneutral.consequences.limits import band, published, verdict
from lostneutral.consequences.upstream import without_supply
from lostneutral.loads import catalogue, load_model


def items(incident: Incident, verdicts: tuple[Verdict, ...]):
    """Yield one claim an item that was on, made of its verdict, its light and its power at the voltage that decides."""
    limits = band(incident.case.supply.limits)
    for load, found in zip(incident.case.loads, verdicts):
        if found.outcome == "was off":
            continue
        moment, seen = _deciding(incident, load.name, found)
        above = found.ratio is not None and verdict(found.ratio, limits) == "over"
        below = found.ratio is not None and verdict(found.ratio, limits) in ("under", "dead")
        edge = "high" if above else "low" if below else ""
        facts = {"verdict": found, "rated": load.voltage, "ratio": found.ratio, "above": above, "below": below,
                 "unequal": seen is not None and _unequal(seen) > data.load("machine")["unbalance"]["value"]}
        if seen is not None and found.outcome != "cannot be said":
            facts |= _told(load, seen, moment)
        yield Claim(Kind.ITEM, About("item", load.name), found.rank, (load.point,), found.condition, "voltage", "V",
                    found.volts, None if found.lowest is None else (found.lowest, found.highest),
                    limits.yardstick(edge, load.voltage) if edge else None, found.confidence,
                    found.basis or AS_GIVEN, facts)


BURNS = {"varistor": Kind.SURGE_PART, "winding": Kind.WINDING}


def burning(verdicts: tuple[Verdict, ...]):
    """Yield a fire risk for each item of which a part that may burn is expected to fail, or may.

    Not of what was over before: even with everything at its early limit it did not fail in that time.
    """
    for found in verdicts:
        over = found.outcome == STRESSED and found.earliest is None
        if found.burns and (found.fails or found.may_fail or found.worst.startswith("fails")) and not over:
            yield Claim(BURNS[found.burns], About("item", found.item), Rank.FIRE, (), found.condition, "voltage", "V",
                        found.volts, confidence=found.confidence, because=found.basis, facts={"verdict": found})


def _deciding(incident, name, found):
    """Return (moment, the item in it) at the voltage of its verdict, or two None."""
    for moment in incident.moments:
        seen = next(x for x in moment.solution.loads if x.name == name)
        if seen.on and seen.voltage is not None and found.volts is not None and abs(abs(seen.voltage) - found.volts) < 1e-6:
            return moment, seen
    return None, None


def _told(load, seen, moment):
    resolved = catalogue.resolve(load)
    told = {}
    was = next((x for x in moment.before.loads if x.name == load.name), None) if moment.before else None
    usual = light_before(was.details) if was else None
    if "light" in seen.details:
        told |= {"light": seen.details["light"] / (usual or 1.0), "lit_before": usual is not None}
    rated = resolved.parameters.get("power") if load_model(load, moment.case.supply)[0].told_by_power else None
    if rated and seen.power is not None:
        told |= {"power": seen.power, "rated_power": rated * load.count,
                 "element": seen.details.get("element_temperature")}
    return told


def saturating(moment: Moment):
    """Yield a warning for each load with an iron core above the knee of its magnetisation."""
    entry = data.load("discharge")["knee"]
    capacitive = any(x.reactive_power is not None and x.reactive_power < -1.0 for x in moment.solution.loads)
    for load, seen in zip(moment.case.loads, moment.solution.loads):
        knee = load_model(load, moment.case.supply)[0].knee
        if load.on and seen.ratio is not None and seen.ratio > knee:
            yield Claim(Kind.SATURATES, About("item", load.name), Rank.WARNING, (load.point,), moment.condition,
                        "voltage, multiple of rated", "of rated", seen.ratio,
                        yardstick=published(entry, float(knee), "high"), confidence="unsure",
                        because="unsure: above the knee of its iron core the law of the load is an estimate",
                        facts={"knee": float(knee), "capacitive": capacitive})


def extrapolated(moment: Moment):
    """Yield a claim for each load with a measured power law that is used outside the range it was measured in."""
    entry = data.load("yardsticks")["exponential_law"]
    for load, seen in zip(moment.case.loads, moment.solution.loads):
        measured = load_model(load, moment.case.supply)[0].measured_range
        if not load.on or measured is None or seen.ratio is None or without_supply(moment.case, moment.case.point(load.point)):
            continue
        load = catalogue.resolve(load)
        low = load.parameters.get("valid_from", entry["valid_from"])
        high = load.parameters.get("valid_to", entry["valid_to"])
        if low <= seen.ratio <= high:
            continue
        far = not entry["far_below"] <= seen.ratio <= entry["far_above"]
        key, edge = ("valid_to", high) if seen.ratio > 1 else ("valid_from", low)
        yield Claim(Kind.EXTRAPOLATED, About("item", load.name), Rank.WARNING if far else Rank.NOTE, (load.point,),
                    moment.condition, "voltage, multiple of rated", "of rated", seen.ratio,
                    yardstick=None if key in load.parameters else published(entry, edge, "high" if seen.ratio > 1 else "low"),
                    confidence="unsure", because="unsure: measured coefficients are used outside their range",
                    facts={"far": far, "low": low, "high": high, "sure": sure(moment)})


LOST = 0.02  #: of the power that a motor takes, below which a line does not feed it any longer


def unequal_lines(moment: Moment):
    """Yield a claim for each three-phase motor that runs on with a line lost, or on voltages with more negative sequence than it bears."""
    entry = data.load("machine")["unbalance"]
    for load, seen in zip(moment.case.loads, moment.solution.loads):
        told = seen.details
        if not load.on or not told.get("positive_sequence") or told["stalled"]:
            continue
        percent = _unequal(seen)
        if percent <= entry["value"]:
            continue
        fed = _fed_by(moment.solution, load, seen)
        least = min(fed, key=fed.get)
        lost = least if fed[least] < LOST * seen.power else None
        held = None if lost is None else moment.solution.voltage(load.point, lost)
        model = load_model(load, moment.case.supply)[0]
        acts = judged(overload_relay(moment.case, load), moment.case, moment.solution).answer == WOULD
        relay = model.protector_acts(model.met(abs(seen.voltage), told)) if acts else inf
        yield Claim(Kind.UNEQUAL_LINES, About("item", load.name), Rank.WARNING, (load.point,), moment.condition,
                    "negative over positive sequence", "%", percent, yardstick=published(entry),
                    confidence="unsure", because="unsure: the motor's circuit has parameters typical of its size",
                    facts={"lost": lost, "held": None if held is None else abs(held), "current": told["current_ratio"],
                           "relay": relay if relay < inf else None, "sure": sure(moment)})


def _unequal(seen):
    """Return the negative sequence of a machine's voltages, % of the positive one; 0 of any other load."""
    told = seen.details
    return 100 * told["negative_sequence"] / told["positive_sequence"] if told.get("positive_sequence") else 0.0


def _fed_by(solution, load, seen):
    """Return {line: W} that a motor takes from each line; negative where it gives some back to a line that is lost."""
    volts = {line: solution.nodes[load.point, line] for line in load.connect[:3]}
    middle = sum(volts.values()) / 3
    return {line: ((v - middle) * seen.currents[line].conjugate()).real for line, v in volts.items()}
