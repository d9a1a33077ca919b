"""Cases and settings for the tests of the page."""

from cmath import rect
from dataclasses import replace
from functools import cache
from math import inf, radians
from pathlib import Path

from casebook_results import result as casebook

from lostneutral import analyse, read_case
from lostneutral.case.model import Break, Case, Cross, Load, Point, Supply
from lostneutral.circuit.states import before_and_after
from lostneutral.page import page_html
from lostneutral.page.lumped import as_impedances, lumped, lumped_joint
from lostneutral.result import Result

CASEBOOK = Path(__file__).parents[2] / "casebook"
PHASORS = {f"L{k + 1}": rect(230.0, radians(-120.0 * k)) for k in range(3)}
OPEN = (Break("intake", "N", inf),)


def star(kind, *powers, breaks=OPEN, more=None, title="by hand"):
    loads = tuple(Load(f"{kind} {n}", kind, (f"L{n % 3 + 1}", "N"), "intake", 230.0, parameters={"power": power, **(more or {})})
                  for n, power in enumerate(powers))
    return Case(title, Supply(PHASORS, earthing="TN-S"), (Point("intake"),), loads, breaks=breaks)


LAMPS = star("lamp", 25.0, 60.0, 150.0, title="Three lamps")
LOST = replace(star("resistive", 100.0, 100.0, breaks=(Break("intake", "L1", inf),)), title="A line is lost")
CROSSED = replace(star("resistive", 100.0, 100.0, breaks=()), title="A line and the neutral are crossed", crosses=(Cross("intake", ("L1", "N")),))


@cache
def html(name, **more):
    """Return the page of a case of the casebook, or of one of this module by its name."""
    return page_html(analyse(globals()[name]) if name in globals() else casebook(name), **more)


@cache
def bare(name):
    """Return the page of a case of the casebook without what is concluded of it: the same wiring and curves, sooner made."""
    case = read_case(CASEBOOK / f"{name}.toml")
    return page_html(Result(case, *before_and_after(case)))


def as_set(case, ohms, on, times):
    """Return `case` with what the page sets: the joint, the switches, and so many times each load; machines as the page has them."""
    taken = lumped(as_impedances(case.at_the_end())[0])
    run, _ = lumped_joint(taken)
    others = tuple(b for b in taken.breaks_after() if (b.feeding, b.conductor) != (run, "N"))
    loads = tuple(replace(load, on=o, count=load.count * t) for load, o, t in zip(taken.loads, on, times))
    return replace(taken, breaks=(*others, *((Break(run, "N", ohms),) if ohms else ())), events=(), loads=loads)
