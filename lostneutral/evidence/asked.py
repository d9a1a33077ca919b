"""What an investigator asks of the causes that are left: how high and low each phase stood, and the metalwork."""

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.wiring import EARTH, STAR, terminal_names
from lostneutral.evidence.spans import percentile
from lostneutral.frozen import dataclass

Range = tuple[float, float, float]
"""5, 50 and 95 %."""


@dataclass(frozen=True)
class Asked:
    """Voltages given everything observed, under one cause or over all of them; V, over all points but joints."""

    cause: str  #: its words; "" over all causes
    highest: Range  #: the highest line-to-neutral voltage of any phase
    lowest: Range
    phases: tuple[tuple[str, Range, Range], ...]  #: line, its lowest and its highest voltage to neutral at any point
    metalwork: Range | None  #: the highest earth terminal to remote earth, inf where one has no defined potential; None without earthing


def asked(cause, states, weight, loose) -> Asked:
    """Return the voltages of `states`, rows of weight `weight`; `loose` as of `World.loose_metalwork`.

    What couples to metalwork sets what a meter shows of it, and not what it can be at.
    """
    case = states.world.case
    points = read_points(case)
    volts = {line: np.stack([np.abs(states.between((p.name, line), (p.name, "N"))) for p in points if line in p.phases])
             for line in case.supply.lines if any(line in p.phases for p in points)}
    every = np.concatenate(list(volts.values()))
    earth = EARTH if case.supply.earthing else STAR
    metal = [np.where(loose, np.inf, np.abs(states.between(terminal, earth))) for terminal in metalwork(case)]
    phases = tuple((line, _range(v.min(axis=0), weight), _range(v.max(axis=0), weight)) for line, v in volts.items())
    return Asked(cause, _range(every.max(axis=0), weight), _range(every.min(axis=0), weight), phases,
                 _range(np.max(metal, axis=0), weight) if metal else None)


def _range(values, weight) -> Range:
    there = ~np.isnan(values)
    return tuple(map(float, percentile(values[there], weight[there])))


def metalwork(case: Case):
    """Return the terminals of the metalwork of every point that has some, joints aside."""
    return [(p.name, "PE") for p in read_points(case) if "PE" in terminal_names(case, p)]


def read_points(case: Case):
    """Return the points at which somebody can be or read: all but joints, unless there are no others."""
    return [p for p in case.points if p.kind != "joint"] or list(case.points)


@dataclass(frozen=True)
class Ceiling:
    """How high a reading can be at all, beside one that no cause explains."""

    words: str  #: what was observed
    resistive: float  #: V: what no network of resistances can pass, whatever is broken, at the supply's highest usual voltage
    computed: float  #: V: the highest that any cause gives in any sample, with the meter connected
    cause: str  #: that one's words


def resistive_ceiling(case, factor: float) -> float:
    """Return the farthest that two nodes of a resistive network can stand apart (V): the widest two sources.

    Each node is a weighted mean of its neighbours, so none leaves the hull of the sources. `factor` multiplies the supply.
    """
    points = [*case.supply.phasors.values(), 0j]
    return factor * max(abs(a - b) for a in points for b in points)


def ceiling(case, words, volts, factor: float) -> Ceiling:
    """Return how high a reading can be: `volts` are (cause's words, array of V that its samples give there), `factor`
    by how much the supply may exceed its usual voltage."""
    highest, cause = max((float(np.nanmax(v, initial=0.0)), name) for name, v in volts)
    return Ceiling(words, resistive_ceiling(case, factor), highest, cause)


def ceiling_words(found: Ceiling) -> str:
    """Return a ceiling as a sentence."""
    return (f"{found.words}: no network of resistances on this supply can give more than {found.resistive:.0f} V; the "
            f"highest that any cause considered gives there, with the meter connected, is {found.computed:.0f} V "
            f"({found.cause}).")
