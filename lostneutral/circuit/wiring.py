"""The case as terminals and the elements between them, before any equation is written."""

from collections.abc import Mapping
from dataclasses import field
from itertools import pairwise
from math import inf, isinf

from lostneutral.case import resolve
from lostneutral.case.model import Break, Case, Cross, Point
from lostneutral.circuit.windings import Element, Winding, behind_impedance, pairwise_elements, transformer_coils
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model
from lostneutral.loads.base import LoadModel

STAR = ("star", "")  #: the supply's star point, the zero of all voltages
EARTH = ("earth", "")  #: remote earth


@dataclass(frozen=True)
class Branch:
    """One load, or one branch of a balanced three-phase load, between its terminals (two, of a machine more)."""

    load: int  #: index into `Case.loads`
    ends: tuple[tuple[str, str], ...]
    model: LoadModel
    count: int
    backward: bool = False  #: a machine that lines transposed before it turn the other way than in the sound supply

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
    windings: tuple[Winding, ...] = ()  #: coupled coils, which are among the elements as well, pair by pair
    apart: Mapping[tuple[str, str], str] = field(default_factory=dict)  #: terminal -> the unearthed star point all hangs on


def wiring(case: Case, breaks=(), crosses=()) -> Wiring:
    """Return the terminals, elements and load branches of `case` with `breaks` and `crosses` in force.

    Open conductors have no element. Without `supply.earthing` there are no earth terminals, electrodes or paths.
    """
    supply = case.supply
    resistance = {element_key(b): b.resistance for b in breaks}
    sources, elements, windings = _source(supply, resistance)
    elements = [e for e in elements if resistance.get(e.key) != inf]
    elements.append(Element(("source", "N"), STAR, ("supply", "N"), supply.neutral_impedance))
    if supply.earthing:
        elements.append(Element(("source", "PE"), STAR, ("supply", "PE"), 0j))
        elements.append(Element(("electrode", "supply"), STAR, EARTH, complex(supply.electrode)))
    for generator, changeover in zip(case.generators, map(case.changeover_to, case.generators)):
        made = _generator(case, generator, changeover)
        sources |= made[0]
        elements += made[1]
        windings += made[2]
    crossed = {c.point: c.conductors for c in crosses}
    for point in case.points:
        elements += _run(case, point, resistance, crossed.get(point.name, ()))
        elements += _earthing(case, point)
    points = {p.name: p for p in case.points}
    for number, path in enumerate(case.paths if supply.earthing else ()):
        ends = [EARTH if end == "earth" else earth_terminal(case, points[end]) for end in (path.start, path.end)]
        elements.append(Element(("path", number), *ends, complex(path.resistance)))
    elements += [e for w in windings for e in pairwise_elements(w)]
    branches = tuple(_branches(case, crossed))
    terminals = {t: None for e in elements for t in (e.a, e.b)}
    terminals |= {end: None for b in branches for end in b.ends}
    terminals |= {(p.name, c): None for p in case.points for c in conductors(case, p) + terminal_names(case, p)}
    floating = {("star", g.name) for g in case.generators} & terminals.keys()
    apart = _apart(floating, elements, branches, sources) if floating else {}
    sources |= {star: 0j for star in floating if star in apart}
    return Wiring(sources, tuple(terminals | dict.fromkeys(sources)), tuple(elements), branches, tuple(windings), apart)


def element_key(broken: Break) -> tuple[str, ...]:
    """Return the key of the element that a break is in; a contact of a changeover has one beside that of its cable."""
    if broken.part == "way":
        return "source", broken.conductor
    return {"cable": "run", "contact": "contact", "fuse": "fuse"}[broken.part], broken.feeding, broken.conductor


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


def source_star(case: Case, point: Point) -> tuple[str, str]:
    """Return the star point of the source that feeds `point` as changeovers stand."""
    while True:
        generator = case.generator_of(point.name)
        if generator is not None:
            return "star", generator.name
        if point.fed_from == "supply":
            return STAR
        point = case.point(point.fed_from)


def _source(supply, resistance):
    """Return the fixed voltages, elements and windings of the supply up to its terminals, without its neutral."""
    if supply.transformer is None:
        sources = {("source", line): volts for line, volts in supply.phasors.items()} | {STAR: 0j}
        return sources, [Element(("source", line), ("source", line), ("supply", line), supply.line_impedance)
                         for line in supply.lines], []
    sources, elements, windings = transformer_coils(supply, {line: ("transformer", line) for line in supply.lines}, STAR, resistance)
    elements += [Element(("source", line), ("transformer", line), ("supply", line), supply.line_impedance)
                 for line in supply.lines]
    return sources | {STAR: 0j}, elements, windings


def _generator(case, generator, changeover):
    """Return what a generator adds: its windings if it feeds the point, its neutral where that is joined."""
    name, runs = generator.name, changeover.position == "generator"
    star, neutral = ("star", name), (name, "N")
    if not runs and "N" in changeover.poles:
        return {}, [], []
    point = case.point(changeover.point)
    elements = [Element(("source", name), star, neutral, generator.neutral_impedance)]
    if "N" not in changeover.poles:
        elements.append(Element(("generator", name, "N"), neutral, (point.name, "N"), generator.cable.neutral))
    if case.supply.earthing:
        if generator.bonded:
            elements.append(Element(("bond", name), star, earth_terminal(case, point), generator.cable.pe))
        if generator.electrode is not None:
            elements.append(Element(("electrode", name), star, EARTH, complex(generator.electrode)))
    if not runs:
        return {}, elements, []
    lines = {line: (name, line) for line in point.phases}
    sources, windings = behind_impedance(name, {x: generator.phasors[x] for x in lines}, lines, star, STAR,
                                         generator.line_impedance, generator.zero_impedance)
    return sources, elements, windings


def _apart(stars, elements, branches, sources):
    """Return {terminal: name of the star point} of what hangs on a star point that nothing ties to the supply."""
    beside = {}
    for a, b in (*((e.a, e.b) for e in elements if e.ties), *(pair for branch in branches for pair in pairwise(branch.ends))):
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    found = {}
    for star in stars:
        seen, waiting = {star}, [star]
        while waiting:
            new = {t for t in beside.get(waiting.pop(), ()) if t not in seen}
            seen |= new
            waiting += new
        if not seen & sources.keys():
            found |= dict.fromkeys(seen, star[1])
    return found


def contact_name(pole: str) -> str:
    """Return what a contact of a changeover is called."""
    return "neutral contact" if pole == "N" else f"contact of {pole}"


def break_name(case: Case, broken: Break) -> str:
    """Return what is broken and where: "neutral in the cable to shop", "neutral contact of changeover at dairy" …"""
    if broken.part == "contact":
        changeover = next(c for c in case.changeovers if c.point == broken.feeding)
        return f"{contact_name(broken.conductor)} of the {changeover.name}"
    if broken.part == "fuse":
        return f"high-voltage fuse of {broken.conductor}"
    return f"{conductor_name(case, broken.feeding, broken.conductor)} in the cable to {broken.feeding}"


def cross_words(cross: Cross) -> str:
    """Return which conductors are transposed, and where."""
    return f"{cross.conductors[0]} and {cross.conductors[1]} are transposed at {cross.point}"


def changeover_words(case: Case, changeover) -> str:
    """Return how a changeover, or an event of one, stands in words: "on the generator, its neutral contact open"."""
    if changeover.position == "off":
        return "open, on neither side"
    name = case.changeover(getattr(changeover, "changeover", None) or changeover.name).generator
    side = "on the supply" if changeover.position == "supply" else f"on {name}"
    poles = [contact_name(pole) for pole in changeover.open]
    return side + (f", {' and '.join(poles)} open" if poles else "")


def _run(case, point, resistance, crossed):
    changeover = next((c for c in case.changeovers if c.point == point.name), None)
    for conductor in conductors(case, point):
        switched = changeover is not None and conductor in changeover.poles
        contact = resistance.get(("contact", point.name, conductor), 0.0) if switched else 0.0
        if switched and changeover.position != "supply":
            if changeover.position == "generator" and not isinf(contact):
                generator = case.generator_of(point.name)
                cable = generator.cable.neutral if conductor == "N" else generator.cable.line
                yield Element(("run", point.name, conductor), (generator.name, conductor), (point.name, conductor), cable + contact)
            continue
        extra = resistance.get(("run", point.name, conductor), 0.0) + contact
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


def _branches(case, crossed):
    models = {}
    for number, load in enumerate(case.loads):
        if not load.on:
            continue
        # Like loads share one model, so that the circuit can answer for all of them in one call.
        kind = (load.kind, load.voltage, len(load.connect), tuple(sorted(load.parameters.items())))
        if kind not in models:
            models[kind] = load_model(load, case.supply)[0]
        whole = len(models[kind].ports[0]) == len(load.connect)
        backward = models[kind].turns and _transposed(case, load, crossed)
        for ends in (_in_sequence(load.connect, case.supply, backward),) if whole else pairs(load.connect):
            yield Branch(number, tuple(map(load.terminal, ends)), models[kind], load.count, backward)


def _in_sequence(connect, supply, backward):
    """Return the ends of a load that is one whole, its lines in the sequence that turns it: a machine is connected so that it turns
    the right way on the sound supply, and in reverse where lines are transposed before it."""
    if len(connect) < 3 or _positive([supply.phasors[line] for line in connect[:3]]) != backward:
        return connect
    return (connect[0], connect[2], connect[1], *connect[3:])


def _transposed(case, load, crossed):
    """Return whether the conductors transposed (point -> both) reverse the phase sequence of a load's lines, wherever the cables are broken."""
    lines = load.connect[:3]
    return _positive([_arriving(case, load.point, line, crossed) for line in lines]) != _positive([case.supply.phasors[line] for line in lines])


def _positive(phasors):
    """Return whether the positive sequence of three voltages is larger than the negative one."""
    return (phasors[1].conjugate() * phasors[0] + phasors[2].conjugate() * phasors[1] + phasors[0].conjugate() * phasors[2]).imag >= 0


def _arriving(case, point, conductor, crossed):
    """The voltage (V, to its star point) of the source's conductor that sound cables join to `conductor` of `point`."""
    last, core = cores(case, case.point(point), conductor, crossed)[-1]
    return (case.generator_of(last) or case.supply).phasors.get(core, 0j)


def cores(case: Case, point: Point, conductor: str, crossed) -> list[tuple[str, str]]:
    """Return the conductors (point that the cable feeds, its core) that lead from `conductor` of `point` back to the source that feeds it.

    `crossed` are the conductors transposed where a cable arrives: point -> both.
    """
    found = []
    while True:
        generator = case.generator_of(point.name)
        if conductor == "PE" and pen_run(case, point):
            conductor = "N"
        if generator is None and conductor in crossed.get(point.name, ()):
            first, second = crossed[point.name]
            conductor = second if conductor == first else first
        found.append((point.name, conductor))
        if generator is not None or point.fed_from == "supply":
            return found
        point = case.point(point.fed_from)


def pairs(connect):
    """Return the (first, second) terminal names between which a load's branches lie."""
    if len(connect) == 2:
        return (tuple(connect),)
    if len(connect) == 4:  # in star
        return tuple((line, connect[3]) for line in connect[:3])
    return tuple(zip(connect, (*connect[1:], connect[0])))


def told_between(load, supply):
    """Return the pairs of terminals the highest voltage between which is a load's: of a machine on three lines these, whether or not its
    star point is on the neutral; of another load those of its branches."""
    ends = load.connect[:3] if len(load.connect) == 4 and load_model(load, supply)[0].turns else load.connect
    return tuple((load.terminal(a), load.terminal(b)) for a, b in pairs(ends))
