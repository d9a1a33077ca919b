"""What sets the potential of a conductor that nothing else ties down: capacitances, filters and leakage, each unknown."""

from functools import cache
from itertools import combinations, permutations
from math import pi

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.case.seen import Spread
from lostneutral.circuit.wiring import EARTH, STAR, Element, conductors, pairs, terminal_names
from lostneutral.evidence.sampling import Column, quantity
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model

PARTS = ("core", "far", "surround", "leak_earth", "filter_x", "filter_y")
ARRANGEMENT = "arrangement"


@dataclass(frozen=True)
class Coupling:
    """An element of the coupling network; `times` multiplies what the part `of` gives for one."""

    element: Element
    of: str  #: "core" | "surround" | "leak_earth" | "leak L1" … | "filter_x" | "filter_y"
    times: float  #: metres, or number of items
    pair: tuple[str, str] = ("", "")
    cores: tuple[str, ...] = ()  #: of the cable, for "core"


def couplings(case: Case) -> tuple[Coupling, ...]:
    """Return the coupling network of every point of `case`, placeholders of 1 ohm for what samples give it."""
    made = []
    for point in case.points:
        cores = conductors(case, point)
        earth = EARTH if case.supply.earthing else STAR
        shield = (point.name, "PE") if "PE" in cores else earth
        length = max(point.cable.given.get("length") or data.load("couplings")["cable"]["length"], 1.0)
        for a, b in combinations(cores, 2):
            made.append(_one(point, (a, b), (point.name, b), "core", length, cores))
        made += [_one(point, (c, "round"), earth if c == "PE" else shield, "surround", length) for c in cores]
        made.append(_one(point, ("N", "leak"), shield, "leak_earth", 1.0))
        made += [_one(point, (line, "leak"), (point.name, "N"), f"leak {line}", 1.0) for line in point.phases]
    for number, load in enumerate(case.loads):
        if not _has_filter(load, case):
            continue
        point = case.point(load.point)
        earth = (point.name, "PE") if "PE" in terminal_names(case, point) else EARTH if case.supply.earthing else STAR
        for a, b in pairs(load.connect) if {*load.connect} <= {*terminal_names(case, point)} else ():
            made.append(_one(point, (a, f"x{number}"), (point.name, b), "filter_x", load.count))
        ends = dict.fromkeys(c for pair in pairs(load.connect) for c in pair)  # one to earth from each, however many branches end there
        made += [_one(point, (c, f"y{number}"), earth, "filter_y", load.count) for c in ends if {*ends} <= {*terminal_names(case, point)}]
    return tuple(made)


def _one(point, pair, to, of, times, cores=()):
    return Coupling(Element(("coupling", point.name, of, *pair), (point.name, pair[0]), to, 1.0 + 0j), of, float(times), pair, cores)


def _has_filter(load, case):
    return hasattr(load_model(load, case.supply)[0], "cuts_off_at")


def coupling_columns(case: Case) -> tuple[Column, ...]:
    """Return what is unknown of the coupling network, each with its spread of the data file `couplings`."""
    used = {c.of for c in couplings(case)} | {"far"}
    table = data.load("couplings")
    made = [Column(table[part]["name"], None, part, _spread(table[part])) for part in PARTS if part in used]
    made += [Column(table["leak_line"]["name"].format(line=line), None, f"leak {line}", _spread(table["leak_line"]))
             for line in case.supply.lines]
    return (*made, Column("order of the cores in the cable", None, ARRANGEMENT, Spread(0.0, 1.0)))


def _spread(entry):
    return Spread(entry["low"], entry["high"], scale=entry["scale"])


def admittances(case: Case, parts, columns, values):
    """Return the admittance (S; rows, parts) of the couplings `parts` in every row of `values` (rows, columns; 0 to 1)."""
    drawn = {c.key: quantity(c.spread, values[:, n]) for n, c in enumerate(columns) if c.unknown is None and c.law}
    given = {c.unknown.feeding: quantity(c.spread, values[:, n]) for n, c in enumerate(columns) if c.key == "capacitance"}
    omega = 2 * pi * case.supply.frequency
    made, alike = np.empty((len(values), len(parts)), complex), {}
    for k, part in enumerate(parts):
        own = given.get(part.element.key[1]) if part.of in ("core", "surround") else None
        key = part.of, part.pair if part.of == "core" else "", part.cores
        if key not in alike:
            alike[key] = _of_one(part, drawn, omega)
        made[:, k] = part.times * alike[key] if own is None else own / drawn["core"] * alike[key]
    return made


def _of_one(part, drawn, omega):
    """The admittance (S) that a part of its kind has for one metre or item."""
    if part.of.startswith("leak"):
        return 1 / drawn[part.of]
    if part.of.startswith("filter"):
        return 1j * omega * drawn[part.of]
    return 1j * omega * drawn["core"] * (_near(part, drawn) if part.of == "core" else drawn["surround"])


def _near(part, drawn):
    """1 where the two cores lie beside each other in the row's arrangement, else the share of those further apart."""
    beside = _beside(part.cores, part.pair)
    chosen = np.minimum((drawn[ARRANGEMENT] * len(beside)).astype(int), len(beside) - 1)
    return np.where(beside[chosen], 1.0, drawn["far"])


@cache
def _beside(cores, pair):
    """Of every arrangement of `cores`: whether the two of `pair` lie beside each other in it."""
    return np.array([abs(o.index(pair[0]) - o.index(pair[1])) in (1, len(o) - 1) for o in arrangements(cores)])


def arrangements(cores):
    """Return the different orders of `cores` round a cable."""
    first, *rest = cores
    return [(first, *order) for order in permutations(rest) if len(order) < 2 or rest.index(order[0]) < rest.index(order[-1])]
