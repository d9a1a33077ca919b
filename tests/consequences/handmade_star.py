"""Settled states written by hand, so that claims and verdicts are tested without the circuit."""

import cmath
from math import pi

from lostneutral.case.model import Break, Case, Load, Point, Supply
from lostneutral.circuit.solution import LoadResult, Solution, State
from lostneutral.claims.gather import gathered
from lostneutral.claims.incident import incident
from lostneutral.claims.verdicts import verdicts
from lostneutral.consequences import harms

TURN = cmath.exp(2j * pi / 3)
OPEN_NEUTRAL = (Break("intake", "N"),)
RESISTANCE = 529.0  # 100 W at 230 V


def three_phase(nominal=230.0):
    return {"L1": nominal + 0j, "L2": nominal * TURN**2, "L3": nominal * TURN}


def star_case(*, phasors=None, breaks=OPEN_NEUTRAL, kind="lamp", parameters=None, **supply):
    """One intake with one single-phase load a line, each with the name of its line."""
    phasors = phasors or three_phase()
    loads = tuple(Load(f"on {line}", kind, (line, "N"), "intake", abs(phasors[line]),
                       parameters=parameters or {"power": 100.0}) for line in phasors)
    return Case("by hand", Supply(phasors, **supply), (Point("intake", phases=tuple(phasors)),), loads, breaks=breaks)


def settled(case, shift=0j, *, pe=0j, reached=True, attracting=True, resistance=RESISTANCE, neutral_current=0j):
    """The settled state in which the star point stands at `shift`; None = floating."""
    phasors = case.supply.phasors
    nodes = {("star", ""): 0j, ("supply", "N"): 0j, ("earth", ""): 0j, ("intake", "N"): shift, ("intake", "PE"): pe}
    nodes |= {(place, line): u for place in ("supply", "intake") for line, u in phasors.items()}
    loads, currents = [], {("intake", "N"): neutral_current}
    for load in case.loads:
        line = load.connect[0]
        volts = None if shift is None else phasors[line] - shift
        current = None if volts is None else volts / resistance
        power = None if volts is None else abs(volts) ** 2 / resistance
        ratio = None if volts is None else abs(volts) / load.voltage
        details = {"light": ratio**3.4} if load.kind == "lamp" and ratio is not None else {}
        loads.append(LoadResult(load.name, load.connect, load.on, volts, current, power, 0.0, ratio, details))
        currents["intake", line] = current
    return Solution(attracting, reached, 0.0, nodes, currents, tuple(loads))


def state(*solutions, name="after", **more):
    return State(name, tuple(solutions), **more)


def concluded(case, before, after):
    """The claims and verdicts of two `State`s, as a result has them, without its studies."""
    met = incident(case, before, after)
    found = verdicts(met, harms(case.at_the_end(), before, after))
    return gathered(met, before, after, found), found


def find(case, *after, before=None, **more):
    """The claims of the settled states `after`; `before` defaults to the star point in the middle."""
    before = before if before is not None else settled(case)
    return concluded(case, state(before, name="before"), state(*after, **more))[0]


def judge(case, *after, before=None, **more):
    """{item: verdict} of the settled states `after`."""
    before = before if before is not None else settled(case)
    return {v.item: v for v in concluded(case, state(before, name="before"), state(*after, **more))[1]}


def of_kind(claims, *kinds, about=None, where=None):
    """The claims of `kinds`, of the thing or item called `about`, at the point `where`."""
    return [c for c in claims if c.kind in kinds and about in (None, c.about.name) and (where is None or where in c.where)]


def only(claims, kind, about=None, where=None):
    (claim,) = of_kind(claims, kind, about=about, where=where)
    return claim
