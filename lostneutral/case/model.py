"""What was installed, what broke and what was seen: the frozen objects every later layer works on.

Voltages in V (r.m.s.), impedances in ohm, powers in W, angles already folded into complex phasors.
Nothing here checks anything: `lostneutral.case.reader` does, once, at the border.
"""

from collections.abc import Mapping
from dataclasses import field, replace
from functools import cached_property
from math import inf

from lostneutral.case.seen import Observation, Prior, Recording, Unknown
from lostneutral.frozen import dataclass

LINES = ("L1", "L2", "L3")


@dataclass(frozen=True)
class Assumption:
    """One value or model choice that the case did not give, for the report's "assumed" part."""

    subject: str  #: "supply", "load 'Hall lamp'" …
    what: str  #: "colour temperature"
    value: str  #: "2750 K", with its unit
    why: str  #: reason or source, with how it is known


@dataclass(frozen=True)
class SupplyTransformer:
    """The transformer that gives the supply; impedances in per unit of its rated power and the nominal voltage."""

    group: str  #: vector group, such as "Dyn11"
    power: float  #: rated, VA
    impedance: complex  #: short-circuit, of a leg
    zero_sequence: float  #: zero-sequence over short-circuit impedance, as far as it leaks
    magnetising: complex  #: of a leg, at positive sequence
    zero_magnetising: complex  #: of a leg, while all legs have the same flux: that of a three-limb core returns outside it
    limbs: str = "three-limb"  #: or "bank": three single-phase transformers, a shell or a five-limb core


@dataclass(frozen=True)
class Supply:
    phasors: Mapping[str, complex]  #: line -> source voltage to the star point, V; split-phase has L1 and L2
    system: str = "three-phase"  #: or "split-phase"
    nominal: float = 230.0  #: line to neutral, V: rated defaults, ratios, limits
    frequency: float = 50.0  #: Hz
    line_impedance: complex = 0j  #: ohm, each line
    neutral_impedance: complex = 0j  #: ohm
    earthing: str | None = None  #: "TN-S" | "TN-C-S" | "TN-C" | "TT"; None = not known
    electrode: float = 0.0  #: ohm, star point to remote earth
    limits: str = "EN 50160"  #: name of the supply band to judge by
    old_colours: str | None = None  #: country whose old conductor colours the report lists
    transformer: SupplyTransformer | None = None  #: None: the phasors stand behind `line_impedance`

    @property
    def lines(self) -> tuple[str, ...]:
        """Names of the lines, in order."""
        return tuple(self.phasors)

    @property
    def nominal_line_to_line(self) -> float:
        """Nominal line-to-line voltage, V: √3 times (three-phase) or twice (split-phase) the nominal."""
        return self.nominal * (3**0.5 if self.system == "three-phase" else 2.0)


@dataclass(frozen=True)
class Cable:
    """Impedance of a whole run, ohm per conductor, and what it was worked out from."""

    line: complex = 0j
    neutral: complex = 0j
    pe: complex = 0j
    given: Mapping[str, object] = field(default_factory=dict)  #: the keys of the case file, for the report


@dataclass(frozen=True)
class Point:
    """A place in the wiring; the run that feeds it belongs to it."""

    name: str
    kind: str = "intake"  #: "joint" | "intake" | "board"
    fed_from: str = "supply"
    cable: Cable = Cable()
    electrode: float | None = None  #: ohm, local earth electrode; None = none
    phases: tuple[str, ...] = LINES  #: the lines that arrive here


@dataclass(frozen=True)
class Generator:
    """A second source: a generator or an inverter, with a star point of its own."""

    name: str
    kind: str  #: "generator" | "inverter"
    phasors: Mapping[str, complex]  #: line -> voltage to its star point, V
    power: float | None  #: rated, VA
    line_impedance: complex = 0j  #: ohm, each line, positive and negative sequence
    zero_impedance: complex = 0j  #: ohm, each line, zero sequence
    neutral_impedance: complex = 0j  #: ohm
    cable: Cable = Cable()  #: to the changeover
    bonded: bool = False  #: whether its star point is joined to the protective conductor of the installation
    electrode: float | None = None  #: ohm, of its star point


@dataclass(frozen=True)
class Changeover:
    """A switch where the cable arrives at a point: its poles go to the supply or to a generator."""

    name: str
    point: str
    generator: str
    poles: tuple[str, ...]  #: what it switches; a neutral that it does not switch is joined to both
    position: str = "supply"  #: or "generator", or "off" while it moves
    open: tuple[str, ...] = ()  #: poles that do not make in this position


@dataclass(frozen=True)
class Installed:
    """A protective device as the case gives it; what it watches is in `consequences.installed`."""

    name: str
    kind: str  #: "residual-current device" | "circuit-breaker" | "fuse" | "voltage relay" | "open-PEN device" | "isolation monitor"
    point: str  #: it stands in the cable that feeds this point
    type: str | None = None
    rated_residual: float = 0.03  #: A
    rated_current: float | None = None  #: A
    supply: str = "none"  #: of its electronics: "none" | "line to neutral" | "functional earth"
    low: float | None = None  #: V
    high: float | None = None
    touch: float | None = None
    within: float | None = None  #: s
    poles: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()  #: which of these the case does not give


@dataclass(frozen=True)
class Operated:
    """What was observed of a protective device: whether it operated."""

    device: str
    operated: bool
    details: Mapping[str, object] = field(default_factory=dict)  #: as of an Observation


@dataclass(frozen=True)
class Path:
    """A metallic path between two earth terminals (or one and remote earth, named "earth")."""

    start: str
    end: str
    resistance: float


@dataclass(frozen=True)
class Break:
    """A resistance in one conductor of the run that feeds a point: 0 = sound, inf = open.

    A `part` other than "cable" is the "contact" of the changeover at the point, or with `feeding` "supply" the "fuse" of a
    line on the high-voltage side of the transformer, or that of the "way" by which the supply goes out.
    """

    feeding: str
    conductor: str  #: "N" | "L1" | "L2" | "L3" | "PE"; "N" is the PEN where N and PE are one
    resistance: float = inf
    part: str = "cable"

    @property
    def place(self) -> tuple[str, str, str]:
        """Where it is: one place has one resistance."""
        return self.feeding, self.conductor, self.part

    @property
    def at_supply(self) -> bool:
        """Whether it is one of the supply's own parts, at no point of the wiring: a fuse, the outgoing way."""
        return self.feeding == "supply"


@dataclass(frozen=True)
class Cross:
    """Two conductors exchanged where the run arrives at a point."""

    point: str
    conductors: tuple[str, str]


OWN_STAR = "star"  #: the end of a three-phase load in star whose star point is connected to nothing


@dataclass(frozen=True)
class Load:
    name: str
    kind: str
    connect: tuple[str, ...]  #: ("L1", "N"), ("L1", "L2"), ("L1", "L2", "L3") in delta, with "N" or `OWN_STAR` in star
    point: str
    voltage: float  #: rated, V, of a branch; of a motor on three lines between two of them
    count: int = 1
    on: bool = True
    parameters: Mapping[str, object] = field(default_factory=dict)  #: the kind's own keys, as given

    @property
    def branches(self) -> int:
        """How many equal branches it has: three of a three-phase load."""
        return 3 if len(self.connect) > 2 else 1

    def terminal(self, end: str) -> tuple[str, str]:
        """Return the terminal of one of its ends: a conductor of its point, or its own star point."""
        return ("star", self.name) if end == OWN_STAR else (self.point, end)


@dataclass(frozen=True)
class Event:
    """A change at a time (s after the start): of a run's conductor, a load's switch, or the contacts of a changeover."""

    time: float
    change: Break | None = None
    load: str | None = None
    on: bool | None = None
    changeover: str | None = None
    position: str | None = None  #: of the changeover from then on …
    open: tuple[str, ...] = ()  #: … and the poles that do not make in it


@dataclass(frozen=True)
class Document:
    """Heading and form of the report; None is a blank line to fill in by hand."""

    reference: str | None = None
    prepared_for: str | None = None
    prepared_by: str | None = None
    qualification: str | None = None
    organisation: str | None = None
    address: str | None = None  #: of the site
    instruction: str | None = None
    incident: str | None = None  #: a date, or a date with its time in words
    inspection: str | None = None
    report: str | None = None  #: ISO date
    language: str = "en"  #: of a client's report and of a handout, a key of `words.language.CATALOGUES`
    premises: str | None = None  #: point where the client's premises begin; None: everything is the client's
    country: str | None = None  #: of the site, ISO 3166: whose emergency number is printed
    paper: str = "A4"  #: or "letter"
    logo: "Picture | None" = None


@dataclass(frozen=True)
class Picture:
    """A picture file as it was when the case was read."""

    path: str
    name: str  #: as the case writes it
    sha256: str
    size: tuple[int, int]  #: pixels, width and height


@dataclass(frozen=True)
class Photo:
    """A photograph, as an exhibit."""

    picture: Picture
    caption: str
    point: str | None = None
    load: str | None = None
    taken_by: str | None = None
    taken: str | None = None
    keep_position: bool = False


@dataclass(frozen=True)
class Test:
    """A test result as the inspector recorded it."""

    circuit: str
    test: str
    value: float | str
    unit: str | None = None
    instrument: str | None = None
    calibration: str | None = None
    by: str | None = None
    date: str | None = None


@dataclass(frozen=True)
class Case:
    title: str
    supply: Supply
    points: tuple[Point, ...]
    loads: tuple[Load, ...]
    description: str = ""
    date: str | None = None  #: ISO date
    paths: tuple[Path, ...] = ()
    breaks: tuple[Break, ...] = ()
    crosses: tuple[Cross, ...] = ()
    events: tuple[Event, ...] = ()
    course_end: float | None = None  #: s, how far `follow` goes
    unknowns: tuple[Unknown, ...] = ()
    observations: tuple[Observation, ...] = ()
    priors: tuple[Prior, ...] = ()
    recordings: tuple[Recording, ...] = ()
    document: Document = Document()
    photos: tuple[Photo, ...] = ()
    tests: tuple[Test, ...] = ()
    generators: tuple[Generator, ...] = ()
    changeovers: tuple[Changeover, ...] = ()
    devices: tuple[Installed, ...] = ()
    operated: tuple[Operated, ...] = ()
    assumptions: tuple[Assumption, ...] = ()  #: every default the reader filled in
    warnings: tuple[str, ...] = ()  #: what the reader accepted but wants said
    source: str = ""  #: the file's text
    sha256: str = ""  #: of the file's bytes

    def point(self, name: str) -> Point:
        """Return the point called `name`; KeyError if there is none."""
        return self._by_name[name]

    @cached_property
    def _by_name(self) -> dict[str, Point]:
        return {point.name: point for point in self.points}

    def beyond(self, start: str) -> frozenset[str]:
        """Return the names of the point `start` and of all that are fed from it."""
        there: set[str] = {start}
        fed: dict[str, list[str]] = {}
        for point in self.points:
            fed.setdefault(point.fed_from, []).append(point.name)
        waiting = [start]
        while waiting:
            more = fed.get(waiting.pop(), [])
            there.update(more)
            waiting += more
        return frozenset(there)

    def at_the_end(self) -> "Case":
        """Return the case as it stands once every event has happened, without events."""
        last = {e.load: bool(e.on) for e in sorted(self.events, key=lambda e: e.time) if e.load is not None}
        loads = tuple(replace(load, on=last.get(load.name, load.on)) for load in self.loads)
        moved = {e.changeover: e for e in sorted(self.events, key=lambda e: e.time) if e.changeover is not None}
        changeovers = tuple(replace(c, position=e.position or "off", open=e.open)
                            if (e := moved.get(c.name)) else c
                            for c in self.changeovers)
        held = {b.place: b for b in self.breaks}
        held |= {e.change.place: e.change for e in sorted(self.events, key=lambda e: e.time) if e.change is not None}
        breaks = tuple(b for b in held.values() if b.resistance != 0)
        return replace(self, breaks=breaks, events=(), loads=loads, changeovers=changeovers)

    def breaks_now(self) -> tuple[Break, ...]:
        """Return the breaks that hold before any event: those of cables and fuses, and contacts that do not make."""
        contacts = (Break(c.point, pole, part="contact") for c in self.changeovers if c.position != "off" for pole in c.open)
        return tuple({b.place: b for b in (*self.breaks, *contacts) if b.resistance != 0}.values())

    def breaks_after(self) -> tuple[Break, ...]:
        """Return the breaks that hold once every event has happened (load events play no part)."""
        return (self.at_the_end() if self.events else self).breaks_now()

    def breaks_ever(self) -> tuple[Break, ...]:
        """Return every break there is at any time, those that hold now first."""
        contacts = (replace(self, breaks=(), events=(), changeovers=tuple(
            replace(c, position=e.position or "off", open=e.open) for c in self.changeovers if c.name == e.changeover)).breaks_now()
            for e in self.events if e.changeover is not None)
        return (*self.breaks_now(), *(e.change for e in self.events if e.change is not None), *(b for part in contacts for b in part))

    def sound(self) -> "Case":
        """Return the case with nothing broken, transposed or not making, changeovers as they first stand."""
        return replace(self, breaks=(), crosses=(), changeovers=tuple(replace(c, open=()) for c in self.changeovers))

    def generator_of(self, point: str) -> Generator | None:
        """Return the generator that feeds the point `point` in the present position of its changeover, or None."""
        at = next((c for c in self.changeovers if c.point == point and c.position == "generator"), None)
        return None if at is None else next(g for g in self.generators if g.name == at.generator)

    def changeover_to(self, generator: Generator) -> Changeover:
        """Return the changeover that `generator` stands behind."""
        return next(c for c in self.changeovers if c.generator == generator.name)

    def changeover(self, name: str) -> Changeover:
        """Return the changeover called `name`; KeyError if there is none."""
        return {c.name: c for c in self.changeovers}[name]
