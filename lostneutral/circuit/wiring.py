"""The case as terminals and the elements between them, before any equation is written."""

from dataclasses import dataclass
from math import isinf

from lostneutral.case import resolve
from lostneutral.case.model import Case, Point
from lostneutral.loads import load_model
from lostneutral.loads.base import LoadModel

STAR = ("star", "")  #: the supply's star point, the zero of all voltages
EARTH = ("earth", "")  #: remote earth


@dataclass(frozen=True)
class Element:
    """A linear impedance (ohm) between two terminals; `key` says what it is, current counts from `a` to `b`."""

    key: tuple
    a: tuple[str, str]
    b: tuple[str, str]
    impedance: complex


@dataclass(frozen=True)
class Branch:
    """One load, or one branch of a balanced three-phase load, between its terminals (two, of a machine more)."""

    load: int  #: index into `Case.loads`
    ends: tuple[tuple[str, str], ...]
    model: LoadModel
    count: int

    @property
    def a(self):
        """The first terminal."""
        return self.ends[0]

    @property
    def b(self):
        """The second terminal."""
        return self.ends[1]


@dataclass(frozen=True)
class Wiring:
    sources: dict  #: terminal -> fixed voltage, V
    terminals: tuple  #: every terminal a reader may ask for
    elements: tuple[Element, ...]
    branches: tuple[Branch, ...]  #: the loads that are on


def wiring(case: Case, breaks=(), crosses=()) -> Wiring:
    """Return the terminals, elements and load branches of `case` with `breaks` and `crosses` in force.

    Open conductors have no element. Without `supply.earthing` there are no earth terminals, electrodes or paths.
    """
    supply = case.supply
    sources = {("source", line): volts for line, volts in supply.phasors.items()} | {STAR: 0j}
    elements = [Element(("source", line), ("source", line), ("supply", line), supply.line_impedance)
                for line in supply.lines]
    elements.append(Element(("source", "N"), STAR, ("supply", "N"), supply.neutral_impedance))
    if supply.earthing:
        elements.append(Element(("source", "PE"), STAR, ("supply", "PE"), 0j))
        elements.append(Element(("electrode", "supply"), STAR, EARTH, complex(supply.electrode)))
    resistance = {(b.feeding, b.conductor): b.resistance for b in breaks}
    crossed = {c.point: c.conductors for c in crosses}
    for point in case.points:
        elements += _run(case, point, resistance, crossed.get(point.name, ()))
        elements += _earthing(case, point)
    points = {p.name: p for p in case.points}
    for number, path in enumerate(case.paths if supply.earthing else ()):
        ends = [EARTH if end == "earth" else earth_terminal(case, points[end]) for end in (path.start, path.end)]
        elements.append(Element(("path", number), *ends, complex(path.resistance)))
    branches = tuple(_branches(case))
    terminals = {t: None for e in elements for t in (e.a, e.b)}
    terminals |= {end: None for b in branches for end in b.ends}
    terminals |= {(p.name, c): None for p in case.points for c in conductors(case, p) + terminal_names(case, p)}
    return Wiring(sources, tuple(terminals | dict.fromkeys(sources)), tuple(elements), branches)


def conductors(case: Case, point: Point) -> tuple[str, ...]:
    """Return the conductors of the run that feeds `point`; "N" is the PEN where there is no "PE" beside it."""
    return resolve.run_conductors(case.supply.earthing, point)


def terminal_names(case: Case, point: Point) -> tuple[str, ...]:
    """Return the conductors that can be touched with a meter at `point`."""
    pe = ("PE",) if case.supply.earthing and (point.kind != "joint" or case.supply.earthing == "TN-S") else ()
    return (*point.phases, "N", *pe)


def earth_terminal(case: Case, point: Point) -> tuple[str, str]:
    """Return the terminal that an electrode or path of `point` joins: its PE, at a joint with a PEN that."""
    return (point.name, "PE" if "PE" in terminal_names(case, point) else "N")


def pen_run(case: Case, point: Point) -> bool:
    """Return whether the run that feeds `point` has neutral and protective conductor in one (a PEN)."""
    return resolve.feeds_by_pen(case.supply.earthing, point.kind)


def conductor_name(case: Case, feeding: str, conductor: str) -> str:
    """Return what a conductor of the cable to `feeding` is called: "PEN", "neutral", "protective conductor", "L1" …"""
    if conductor == "N":
        return "PEN" if pen_run(case, case.point(feeding)) else "neutral"
    return "protective conductor" if conductor == "PE" else conductor


def _run(case, point, resistance, crossed):
    for conductor in conductors(case, point):
        extra = resistance.get((point.name, conductor), 0.0)
        if isinf(extra):
            continue
        arrives = conductor
        if conductor in crossed:
            arrives = crossed[1] if conductor == crossed[0] else crossed[0]
        impedance = {"N": point.cable.neutral, "PE": point.cable.pe}.get(conductor, point.cable.line)
        yield Element(("run", point.name, conductor), (point.fed_from, conductor), (point.name, arrives),
                      impedance + extra)


def _earthing(case, point):
    if not case.supply.earthing:
        return
    if "PE" in terminal_names(case, point) and pen_run(case, point):
        yield Element(("link", point.name), (point.name, "N"), (point.name, "PE"), 0j)
    if point.electrode is not None:
        yield Element(("electrode", point.name), earth_terminal(case, point), EARTH, complex(point.electrode))


def _branches(case):
    models = {}
    for number, load in enumerate(case.loads):
        if not load.on:
            continue
        # Like loads share one model, so that the circuit can answer for all of them in one call.
        kind = (load.kind, load.voltage, len(load.connect), tuple(sorted(load.parameters.items())))
        if kind not in models:
            models[kind] = load_model(load, case.supply)[0]
        whole = len(models[kind].ports[0]) == len(load.connect)
        for ends in (load.connect,) if whole else pairs(load.connect):
            yield Branch(number, tuple(map(load.terminal, ends)), models[kind], load.count)


def pairs(connect):
    """Return the (first, second) terminal names between which a load's branches lie."""
    if len(connect) == 2:
        return (tuple(connect),)
    if len(connect) == 4:  # in star
        return tuple((line, connect[3]) for line in connect[:3])
    return tuple(zip(connect, (*connect[1:], connect[0])))
