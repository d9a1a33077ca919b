"""Results worked out by hand for the report's tests: linear loads in a star, by the node-voltage formula.

The formula is written here and not taken from the program, so that the reports are tested without its solver.
"""

from cmath import rect
from dataclasses import replace
from math import inf, radians

from lostneutral.case.model import Assumption, Break, Cable, Case, Load, Point, Supply
from lostneutral.circuit.solution import LoadResult, Solution, State
from lostneutral.claims.gather import gathered
from lostneutral.claims.incident import incident
from lostneutral.claims.verdicts import verdicts
from lostneutral.consequences import harms
from lostneutral.result import Result

PHASORS = {"L1": 230 + 0j, "L2": rect(230, radians(-120)), "L3": rect(230, radians(120))}
SOFTWARE = {"version": "0.1.0", "python": "3.11.0", "numpy": "1.26.0", "scipy": "1.12.0"}


def supply(**changes):
    return replace(Supply(phasors=PHASORS, earthing="TN-C-S"), **changes)


def split_phase():
    return Supply(phasors={"L1": 120 + 0j, "L2": -120 + 0j}, system="split-phase", nominal=120.0, frequency=60.0,
                  limits="ANSI C84.1 Range A service")


def star(watts, source=None, title="Three lamps on a stair", names=None, **case):
    """Return the Result of one resistive load a line, `watts` each, with the neutral open in the only run."""
    source = source or supply()
    lines = [line for line, _ in zip(source.lines, watts)]
    names = names or [f"Lamp {line}" for line in lines]
    point = Point("intake", cable=Cable(0.05 + 0.01j, 0.05 + 0.01j, 0j, {"length": 25.0, "area": 16.0}), electrode=20.0,
                  phases=source.lines)
    loads = tuple(Load(n, "resistive", (line, "N"), "intake", source.nominal, parameters={"power": w})
                  for n, line, w in zip(names, lines, watts))
    made = Case(title, source, (point,), loads, breaks=(Break("intake", "N", inf),), sha256="ab" * 32,
                assumptions=(Assumption("supply", "frequency", f"{source.frequency:g} Hz", "the usual one"),), **case)
    conductance = [w / source.nominal**2 for w in watts]
    shift = sum(g * source.phasors[x] for g, x in zip(conductance, lines)) / (sum(conductance) or inf)
    before, after = (State(name, (solution(made, at),), unique=True, reason="one state")
                     for name, at in (("before", 0j), ("after", shift)))
    return of_states(made, before, after)


def of_states(case, before, after):
    """Return the Result of two states with its claims and verdicts, without studies."""
    met, harmed = incident(case, before, after), harms(case.at_the_end(), before, after)
    found = verdicts(met, harmed)
    return Result(case, before, after, gathered(met, before, after, found), ("Treat the neutral as live.", "Measure before touching."),
                  case.assumptions, SOFTWARE, found, harmed)


def solution(case, neutral, reached=True):
    """Return the settled state of linear loads with the intake's neutral at `neutral` (cable drop left out)."""
    lines = case.supply.phasors
    at = dict(lines) | {"N": neutral}
    nodes = {("star", ""): 0j, ("earth", ""): 0j} | {("supply", x): v for x, v in lines.items()}
    nodes |= {("intake", x): v for x, v in lines.items()} | {("intake", "N"): neutral, ("intake", "PE"): neutral}
    loads, total = [], dict.fromkeys(lines, 0j)
    for load in case.loads:
        volts = at[load.connect[0]] - at[load.connect[1]]
        current = volts * load.parameters["power"] / load.voltage**2
        total[load.connect[0]] += current
        loads.append(LoadResult(load.name, load.connect, True, volts, current, (volts * current.conjugate()).real, 0.0,
                                abs(volts) / load.voltage))
    currents = {("intake", x): i for x, i in total.items()} | {("intake", "N"): -sum(total.values())}
    return Solution(True, reached, 1e-12, nodes, currents, tuple(loads))


def undecided(count=3):
    """Return a result with several settled states of which none is known to be reached."""
    result = star([100.0, 200.0, 300.0])
    solutions = tuple(solution(result.case, rect(80.0, radians(a)), reached=False) for a in (0, 120, -120)[:count])
    return of_states(result.case, result.before, State("after", solutions, "undecided", "The loads are alike."))
