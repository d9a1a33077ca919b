"""Findings on what can give a shock: a neutral or metalwork that the break has made live."""

from math import isinf

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.solution import State
from lostneutral.circuit.wiring import EARTH, STAR, terminal_names
from lostneutral.consequences.limits import published
from lostneutral.consequences.upstream import breaks_towards, crosses_towards, pen_breaks
from lostneutral.consequences.weighing import figure, outcomes, sure, weighed
from lostneutral.result import Finding

SWITCH = "Opening the main switch does not clear it, because the protective conductor is not switched"
CHANGES = "The figure changes as soon as a load is switched"
MAIN = {  # what ties the earth terminal, where the break leaves it alone
    "TN-S": "the protective conductor comes apart from the neutral from the supply",
    "TN-C-S": "neutral and protective conductor are already apart where it broke",
    "TT": "the protective conductor goes to the installation's own earth electrode",
}


def neutral_live(case: Case, before: State, after: State):
    """Yield a danger for each point whose neutral is open towards the supply or above the touch voltage limit."""
    limit = published(data.load("touch")["limit_normal"])
    for point in case.points:
        is_open = any(isinf(b.resistance) for b in breaks_towards(case, point, "N"))
        heights = _volts(after, (point.name, "N"), STAR)
        for _, volts, share in outcomes(heights, [is_open or _above(u, limit) or None for u in heights]):
            computed, height = _height(volts, share, "the supply's star point")
            yield Finding(
                "danger", f"N at {point.name}",
                f"The neutral at {point.name} {height}. It is called neutral but can give a shock like a line. "
                f"{CHANGES}, so a low figure is no comfort.", computed, limit, sure(after))


def metalwork(case: Case, before: State, after: State):
    """Yield what is known of the voltage of earthed metalwork to remote earth after the break."""
    broken = case.breaks_after()
    if case.supply.earthing is None:
        if any(b.conductor in ("N", "PE") for b in broken):
            yield Finding(
                "danger", "metalwork",
                "How this installation is earthed is not known. Where the neutral is also the earth, metal cases, "
                "pipes and taps can carry the voltage of the shifted neutral: treat all metalwork as live until a "
                f"competent person has shown otherwise. {SWITCH}.",
                None, published(data.load("touch")["limit_normal"]),
                "nothing computed: the earthing system is not given, so the worst is assumed")
        return
    for point in case.points:
        if "PE" in terminal_names(case, point):
            yield from _earth_terminal(case, point, after)


def _earth_terminal(case, point, after):
    limit = published(data.load("touch")["limit_normal"])
    floor, why, what_to_know = _cause(case, point)
    heights = _volts(after, (point.name, "PE"), EARTH)
    for severity, volts, share in outcomes(heights, ["danger" if _above(u, limit) else floor for u in heights]):
        computed, height = _height(volts, share, "remote earth")
        side = ""
        if computed is None and floor in (None, "note"):
            why, what_to_know = "no electrode or path ties it to earth", "Metalwork without an earth has no protection"
        elif severity == "danger" and computed:
            side = (" This is the prospective voltage: small between metal parts that are bonded together indoors, "
                    "full between them and the ground out of doors.")
        yield Finding(severity, f"earth terminal at {point.name}",
                      f"The earth terminal at {point.name}, and all metalwork joined to it, {height}: {why}.{side} "
                      f"{what_to_know}.", computed, limit, sure(after))


def _cause(case, point):
    """Return (least severity or None, why, what to know) for the earth terminal of `point`."""
    for cross in crosses_towards(case, point):
        return "danger", f"{' and '.join(cross.conductors)} are exchanged at {cross.point}", SWITCH
    pen = pen_breaks(case, point)
    if pen:
        joint = "is open" if any(isinf(b.resistance) for b in pen) else "has a bad joint"
        return ("danger" if joint == "is open" else "warning",
                f"the combined neutral and protective conductor (PEN) that feeds it {joint}", f"{SWITCH}. {CHANGES}")
    if breaks_towards(case, point, "PE"):
        return ("warning", "its protective conductor is broken or has a bad joint",
                "A fault in any appliance can make the metalwork live and no protective device need act")
    if breaks_towards(case, point, "N"):
        return ("note", MAIN[case.supply.earthing],
                "It does not follow the neutral while protective conductor and earth are sound, which is assumed")
    return None, "nothing between it and the supply is broken; the voltage comes from elsewhere", SWITCH


def _height(volts, share, reference):
    """Return the printed voltage (None where it floats) and the words for it."""
    if None in volts:
        return None, f"is held by nothing{share} and can take any voltage up to that of a line"
    computed = figure(volts, "V")
    return computed, f"stands at {computed}{share} to {reference}"


def _volts(state, a, b):
    return [None if (v := s.between(a, b)) is None else abs(v) for s in weighed(state)]


def _above(volts, limit):
    return volts is None or volts > limit.value
