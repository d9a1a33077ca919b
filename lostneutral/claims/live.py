"""Claims on what can give a shock: a neutral or metalwork that the fault has made live, and what opening a switch does."""

from math import isinf

from lostneutral import data
from lostneutral.circuit.wiring import source_star
from lostneutral.claims.model import About, Claim, Condition, Kind, Moment, Rank, sure
from lostneutral.consequences import shock
from lostneutral.consequences.limits import published
from lostneutral.consequences.touch import between_neighbours, touch_voltages
from lostneutral.consequences.upstream import breaks_towards, crosses_towards, electrode_left_out, pen_breaks, unearthed
from lostneutral.studies.electrode_range import electrode_range

_NONE = 0.05  #: V, printed as none


def neutral(moment: Moment):
    """Yield a danger for each point whose neutral is open towards the supply or above the touch voltage limit."""
    limit = published(data.load("touch")["limit_normal"], edge="reference")
    for point in moment.case.points:
        is_open = any(isinf(b.resistance) for b in breaks_towards(moment.case, point, "N"))
        volts = _size(moment.solution.between((point.name, "N"), source_star(moment.case, point)))
        if volts is None and all(moment.solution.nodes.get((point.name, line)) is None for line in point.phases):
            continue  # no line is there that it could be at: a changeover on neither side
        if is_open or volts is None or volts > limit.value:
            yield Claim(Kind.NEUTRAL_LIVE, About("neutral"), Rank.DANGER, (point.name,), moment.condition,
                        "voltage to the supply neutral", "V", volts, yardstick=limit, because=sure(moment),
                        facts={"open": is_open, "floats": volts is None})


def metalwork(moment: Moment):
    """Yield what is known of the voltage of earthed metalwork to remote earth."""
    case, broken = moment.case, moment.case.breaks_after()
    if case.supply.earthing is None:
        if any(b.conductor in ("N", "PE") for b in broken):
            yield Claim(Kind.METALWORK_UNKNOWN, About("installation"), Rank.DANGER, condition=Condition("always"),
                        confidence="unsure",
                        because="nothing calculated: the earthing system is not given, so the worst is assumed")
        return
    limit, bare, left_out = published(data.load("touch")["limit_normal"]), unearthed(case), electrode_left_out(case)
    for name, volts in touch_voltages(case, moment.solution).items():
        point = case.point(name)
        floor, cause, ref = _cause(case, point)
        above = volts is None or volts > limit.value
        rank = Rank.DANGER if above else floor
        if rank is None:
            continue
        if volts is None and floor in (None, Rank.NOTE):
            cause = "no electrode"
        elif above and cause == "separate":  # the broken neutral is not what makes it live
            cause = "elsewhere"
        yield Claim(Kind.METALWORK, About("earth terminal"), rank, (point.name,), moment.condition,
                    "voltage to remote earth", "V", volts, because=sure(moment),
                    yardstick=limit if above and volts is not None else published(data.load("touch")["limit_normal"],
                                                                                 edge="reference"),
                    facts={"cause": cause, "ref": ref, "floats": volts is None, "earthing": case.supply.earthing,
                           # where neutral and protective conductor are apart already, no electrode decides anything
                           "assumed_electrode": name in left_out or cause in ("pen open", "pen joint") and name in bare})


def _cause(case, point):
    """Return (least rank or None, cause, the conductors or point it refers to) for the earth terminal of `point`."""
    for cross in crosses_towards(case, point):
        return Rank.DANGER, "transposed", (cross.point, *cross.conductors)
    pen = pen_breaks(case, point)
    if pen:
        is_open = any(isinf(b.resistance) for b in pen)
        return (Rank.DANGER if is_open else Rank.WARNING), "pen open" if is_open else "pen joint", (pen[0].feeding,)
    if breaks_towards(case, point, "PE"):
        return Rank.WARNING, "pe broken", ()
    if breaks_towards(case, point, "N"):
        return Rank.NOTE, "separate", ()
    return None, "elsewhere", ()


def person(moment: Moment):
    """Yield what metalwork may drive through a person who stands on the ground, as an indication only: where most of it."""
    special = data.load("touch")["limit_special"]["value"]
    found = {name: volts for name, volts in touch_voltages(moment.case, moment.solution).items() if volts is not None and volts > special}
    if not found:
        return
    most = {name: shock.body_current(volts, path="hand_to_foot", source=moment.fed.get(name, 0j)) for name, volts in found.items()}
    name = max(found, key=lambda one: (round(most[one], 6), one))  # of bonded parts they differ by rounding only
    volts, high, zone = found[name], most[name], shock.zone(most[name])
    low = shock.body_current(volts, 95, path="hand_to_foot", source=moment.fed.get(name, 0j))
    limits = high < shock.body_current(volts, path="hand_to_foot") / 2  # what feeds it, not the body
    yield Claim(Kind.PERSON, About("person"), Rank.NOTE if zone == "AC-1" else Rank.DANGER, (name,), moment.condition,
                "current through a person", "mA", 1e3 * high, (1e3 * low, 1e3 * high), confidence="indicative",
                because=f"indicative: {shock.marks()}; {'' if limits else shock.allowed(volts)}".removesuffix("; "),
                facts={"volts": volts, "zone": zone, "ohms": abs(moment.fed[name]) if limits else None})


def between_metalwork(moment: Moment):
    """Yield the largest voltage between the earth terminals of two points, where it is above the limits."""
    special, normal = (published(data.load("touch")[key]) for key in ("limit_special", "limit_normal"))
    found = [(volts, pair) for pair, volts in between_neighbours(moment.case, moment.solution).items()]
    if not found or max(found)[0] <= special.value:
        return
    volts, pair = max(found)
    over = volts > normal.value
    yield Claim(Kind.BETWEEN_METALWORK, About("earth terminal"), Rank.DANGER if over else Rank.WARNING, tuple(pair),
                moment.condition, "voltage between earth terminals", "V", volts,
                yardstick=normal if over else special, because=sure(moment))


def charging_points(moment: Moment):
    """Yield a warning for each intake behind a broken PEN whose earth terminal is above the limit for charging points."""
    limit = published(data.load("touch")["open_pen"])
    for name, volts in touch_voltages(moment.case, moment.solution).items():
        point = moment.case.point(name)
        if point.kind == "intake" and volts is not None and volts > limit.value and pen_breaks(moment.case, point):
            yield Claim(Kind.CHARGING_POINT, About("earth terminal"), Rank.WARNING, (name,), moment.condition,
                        "voltage to remote earth", "V", volts, yardstick=limit, because=sure(moment))


def electrode(case, found):
    """Yield the touch voltage over the plausible electrodes of a point of which none is given; `found` a `TouchRange`.

    The worse end decides: a danger where it passes the limit, a note where no electrode makes any difference.
    """
    if found is None:
        return
    entry = data.load("touch")["electrode_range"]
    volts = [float(v) for v in found.volts] + ([] if found.without is None else [float(found.without)])
    normal = data.load("touch")["limit_normal"]
    above = max(volts) > normal["value"]
    rank = Rank.DANGER if above else Rank.NOTE if max(volts) < _NONE else Rank.WARNING
    yield Claim(Kind.ELECTRODE_RANGE, About("earth terminal"), rank, (found.point,),
                Condition("after"), "voltage to remote earth", "V", max(volts), (min(volts), max(volts)),
                yardstick=published(normal, edge="high" if above else "reference"), confidence="unsure",
                because=f"range: {entry['source']} ({data.KNOWN[entry['known']]})",
                facts={"ohms": electrode_range(), "as_if": found.as_if, "without": found.without})


_SWITCHED = "calculated with every load at and beyond the point off, all others as given"
_UNSOLVED = "no settled state was found with every load at and beyond the point off, all others as given"


def main_switch(case, opened):
    """Yield what is left on metalwork once the loads behind the main switch are off; `opened` from `studies.main_switch`."""
    limit = published(data.load("touch")["limit_normal"], edge="reference")
    for found in opened:
        yield Claim(Kind.MAIN_SWITCH, About("earth terminal"), Rank.DANGER, (found.point,), Condition("after"),
                    "voltage to remote earth with the main switch open", "V", found.left, yardstick=limit,
                    confidence="good" if found.solved else "unsure", because=_SWITCHED if found.solved else _UNSOLVED,
                    facts={"before": found.volts, "others": found.others, "solved": found.solved,
                           "clears": found.left is not None and found.left <= limit.value})


def _size(volts):
    return None if volts is None else abs(volts)
