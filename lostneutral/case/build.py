"""From checked entries to the frozen `Case`: every default filled in, and those that matter recorded."""

import cmath
from dataclasses import replace
from math import radians

from lostneutral import data
from lostneutral.case import build_sources, resolve
from lostneutral.case.cables import reactance, resistance
from lostneutral.case.checks_devices import installed
from lostneutral.case.checks_seen import typical
from lostneutral.case.defaults import AT_120_V, FREQUENCY, LIMITS, NOMINAL
from lostneutral.case.load_schema import COMMON
from lostneutral.case.model import (
    OWN_STAR,
    Assumption,
    Break,
    Cable,
    Case,
    Cross,
    Document,
    Event,
    Load,
    Observation,
    Operated,
    Path,
    Photo,
    Point,
    Prior,
    Supply,
    Test,
    Unknown,
)
from lostneutral.case.seen import Spread

DETAILS = ("time", "state", "impedance", "instrument_class", "reference", "observer", "instrument", "kept", "note", "bound", "with_on", "with_off", "reliability",
           "sooner_than")


class Assumptions:
    """The assumptions, in the order in which they were first made; one that many share is one line."""

    def __init__(self):
        self._subjects = {}

    def note(self, subject, what, value, why):
        """Write down that `what` of `subject` was taken to be `value`, and why."""
        self._subjects.setdefault((what, value, why), []).append(subject)

    def unless(self, given, default, what, words, why):
        """Return what is `given` of the supply, else `default`, written down in `words`."""
        if given is None:
            self.note("supply", what, words.format(default), why)
        return default if given is None else given

    def all(self, most=6):
        """Return the assumptions, naming at most so many subjects of each."""
        return tuple(Assumption(", ".join(subjects[:most]) + (f" … ({len(subjects)} in all)" if subjects[most:] else ""),
                                *rest) for rest, subjects in self._subjects.items())


def build(file, warnings, source, sha256, pictures=None, recordings=None):
    """Return the Case of `file`, a `CaseFile` in which every check holds; `pictures` {name of the file: `Picture`},
    `recordings` {number of the entry: `Recording`}."""
    assumed = Assumptions()
    if file.date is None:
        assumed.note("case", "date", "not dated", "not given")
    supply = _supply(file.supply, assumed)
    points = _points(file, supply, assumed)
    changeovers = build_sources.changeovers(file, {p.name: p for p in points}, assumed)
    moves = build_sources.built_moves(file, changeovers, assumed)
    first = points[0].name
    return Case(
        title=file.title, description=file.description, date=file.date, supply=supply, points=points,
        loads=_loads(file, supply, first, assumed), breaks=_breaks(file, supply, points[0], assumed),
        paths=tuple(Path(p.start, p.end, p.resistance) for p in file.path),
        crosses=tuple(Cross(c.point or first, tuple(map(resolve.conductor_named, c.conductors))) for c in file.cross),
        events=tuple(step for e in file.event for step in (moves.get(id(e)) or [_event(e, assumed)])), course_end=file.course and file.course.end,
        unknowns=_unknowns(file, first, assumed),
        observations=tuple(_observation(o, first, assumed) for o in file.observation if o.device is None),
        operated=tuple(Operated(o.device, o.operated, {key: getattr(o, key) for key in DETAILS if key in o.model_fields_set})
                       for o in file.observation if o.device is not None),
        devices=installed(file, supply.nominal, {p.name: p for p in points}, assumed),
        recordings=tuple(_recording(r, first) for _, r in sorted((recordings or {}).items())),
        priors=tuple(Prior(p.cause, p.weight) for p in file.prior),
        document=Document(**file.document.model_dump() | {"logo": (pictures or {}).get(file.document.logo)}) if file.document else Document(),
        photos=tuple(Photo(pictures[p.file], **p.model_dump(exclude={"file"})) for p in file.photo),
        tests=tuple(Test(**t.model_dump()) for t in file.test),
        generators=build_sources.generators(file, supply, _cable, assumed), changeovers=changeovers,
        assumptions=assumed.all(), warnings=tuple(warnings), source=source, sha256=sha256)


def _recording(read, first):
    named = lambda part: replace(part, between=tuple(map(resolve.conductor_named, part.between)))
    return replace(named(read), point=read.point or first, events=tuple(map(named, read.events)))


def _supply(entry, assumed):
    system = entry.system
    phasors = entry.phasors is not None
    usual = f"usual for {system}"
    nominal = assumed.unless(entry.nominal or (entry.voltage if phasors else None), NOMINAL[system],
                             "nominal voltage", "{:g} V line to neutral", usual)
    voltage = entry.voltage or nominal
    if entry.voltage is None and not phasors:
        assumed.note("supply", "actual voltage", f"{nominal:g} V line to neutral", "assumed to be the nominal voltage")
    frequency = assumed.unless(entry.frequency, FREQUENCY[system], "frequency", "{:g} Hz", usual)
    own = AT_120_V if nominal == 120.0 and frequency == 60.0 else LIMITS[system]
    limits = assumed.unless(entry.limits, own, "voltage limits", "{}", f"default for {system}")
    if system == "three-phase" and entry.phasors is None and "rotation" not in entry.model_fields_set:
        assumed.note("supply", "phase sequence", entry.rotation, "the usual sequence")
    given = entry.model_fields_set
    if not {"line_impedance", "neutral_impedance", "transformer"} & given:
        assumed.note("supply", "source impedance", "0 ohm", "not given: the source keeps its voltage at any current")
    if entry.earthing is None:
        assumed.note("supply", "earthing system", "not known",
                     "not given: no touch voltage is calculated, metalwork is treated as live")
    elif "electrode" not in given:
        assumed.note("supply", "earth electrode of the source", "0 ohm", "not given: assumed ideal")
    return Supply(phasors=_phasors(entry, voltage), system=system, nominal=nominal, frequency=frequency,
                  line_impedance=complex(*entry.line_impedance), neutral_impedance=complex(*entry.neutral_impedance),
                  earthing=entry.earthing, electrode=entry.electrode, limits=limits, old_colours=entry.old_colours,
                  transformer=build_sources.built_transformer(entry.transformer, assumed))


def _phasors(entry, voltage):
    lines = resolve.lines_of(entry)
    if entry.phasors is not None:
        pairs = {line: getattr(entry.phasors, line) for line in lines}
        return {line: cmath.rect(size, radians(angle)) for line, (size, angle) in pairs.items()}
    if entry.system == "split-phase":
        return {"L1": complex(voltage), "L2": complex(-voltage)}
    # Written out so that the three phasors sum to zero as nearly as rounding allows.
    lagging, leading = complex(-0.5, -(0.75**0.5)) * voltage, complex(-0.5, 0.75**0.5) * voltage
    if entry.rotation == "L1-L3-L2":
        lagging, leading = leading, lagging
    return {"L1": complex(voltage), "L2": lagging, "L3": leading}


def _points(file, supply, assumed):
    if not file.point:
        assumed.note("wiring", "points", 'one intake, named "intake"', "no point given")
        assumed.note("cable to 'intake'", *IDEAL)
        if supply.earthing == "TT":
            _electrode(assumed, supply, "intake", "intake")
        return (Point("intake", phases=supply.lines),)
    found = resolve.places_of_points(file.point, supply.lines)
    points = []
    for entry in file.point:
        place = found[entry.name]
        cable = _cable(entry.cable, supply, f"cable to {entry.name!r}", assumed)
        points.append(Point(entry.name, place.kind, entry.fed_from, cable, entry.electrode, place.phases))
        if entry.electrode is None:
            _electrode(assumed, supply, entry.name, place.kind)
    return tuple(points)


def _electrode(assumed, supply, name, kind):
    """Note what stands for an electrode that is not given."""
    if supply.earthing == "TT" and kind == "intake":
        assumed.note(f"point {name!r}", "local earth electrode", "one of unknown resistance", "not given: TT needs one")
    elif supply.earthing and kind != "board":
        assumed.note(f"point {name!r}", "local earth electrode", "none", "not given")


IDEAL = ("impedance", "0 ohm", "no cable given: assumed ideal")


def _cable(entry, supply, subject, assumed):
    if entry is None:
        assumed.note(subject, *IDEAL)
        return Cable()
    given = entry.model_dump(exclude_unset=True)
    if entry.area is not None:
        return Cable(*_by_length(entry, supply, subject, assumed), given)
    if "line" not in given:
        assumed.note(subject, "impedance of the lines", "0 ohm", "only other conductors given")
    if "neutral" not in given:
        assumed.note(subject, "impedance of the neutral", "equal to that of the lines", "not given")
    if "pe" not in given and supply.earthing:
        assumed.note(subject, "impedance of the protective conductor", "equal to that of the neutral", "not given")
    line = complex(*(entry.line or (0.0, 0.0)))
    neutral = complex(*entry.neutral) if entry.neutral else line
    return Cable(line, neutral, complex(*entry.pe) if entry.pe else neutral, given)


def _by_length(entry, supply, subject, assumed):
    """Return the impedance (ohm) of line, neutral and protective conductor, from length and areas."""
    table = data.load("conductors")
    for key, value in (("material", entry.material), ("temperature", f"{entry.temperature:g} °C")):
        if key not in entry.model_fields_set:
            assumed.note(subject, f"conductor {key}", value, "not given")
    for key, what in (("neutral_area", "area of the neutral"), ("pe_area", "area of the protective conductor")):
        if getattr(entry, key) is None and (key == "neutral_area" or supply.earthing):
            assumed.note(subject, what, "equal to that of the lines", "not given")
    for key, value in (("resistance", "maximum permitted, class 2"),
                       ("reactance", f"{table['reactance']['value']:g} ohm/km at 50 Hz")):
        assumed.note(subject, f"{key} by length", value, f"{table[key]['source']} ({data.KNOWN[table[key]['known']]})")
    if entry.temperature != 20.0:
        correction = table["temperature"]["exact"]
        assumed.note(subject, "resistance over temperature", "exact formula",
                     f"{correction['source']} ({data.KNOWN[correction['known']]})")
    areas = (entry.area, entry.neutral_area or entry.area, entry.pe_area or entry.area)
    x = reactance(entry.length, supply.frequency)
    return tuple(complex(resistance(entry.length, area, entry.material, entry.temperature), x) for area in areas)


def _breaks(file, supply, point, assumed):
    first = point.name
    otherwise = any(event.run or event.fuse or event.changeover for event in file.event) or any(
        c.never_makes for c in file.changeover)
    if not file.breaks and "breaks" not in file.model_fields_set and not otherwise:
        neutral = "PEN" if resolve.feeds_by_pen(supply.earthing, point.kind) else "neutral"
        assumed.note("break", "what is broken", f"{neutral}, open, in the cable to {first!r}", "no break given")
        return (Break(first, "N"),)
    breaks = tuple(build_sources.fuse(entry.fuse, entry.resistance) if entry.fuse else
                   Break(entry.feeding or first, resolve.conductor_named(entry.conductor), entry.resistance) for entry in file.breaks)
    for entry, made in zip(file.breaks, breaks, strict=True):
        if entry.fuse is not None:
            continue
        if entry.feeding is None:
            assumed.note("break", "cable", f"the cable to {first!r}", "not given: that of the first point")
        _assume_break(entry, f"break in the cable to {made.feeding!r}", assumed)
    return breaks


def _assume_break(entry, subject, assumed):
    for key, value in (("conductor", "N"), ("resistance", "open")):
        if key not in entry.model_fields_set:
            assumed.note(subject, key, value, "not given")


def _loads(file, supply, first, assumed):
    loads = []
    for entry in file.load:
        connect, machine = tuple(entry.connect.split("-")), entry.kind == "motor"
        if entry.star and not machine:  # of a motor it makes no difference
            connect = (*connect, OWN_STAR)
        voltage = entry.voltage
        if voltage is None:
            line_to_line = len(connect) > 2 or all(conductor in supply.lines for conductor in connect)
            voltage = supply.nominal_line_to_line if line_to_line else supply.nominal
            assumed.note(f"load {entry.name!r}", "rated voltage", f"{voltage:.4g} V",
                         f"not given: the nominal voltage of the supply{', line to line' if line_to_line else ''}")
        if len(connect) == 4 and not machine:
            voltage /= 3**0.5
            assumed.note(f"load {entry.name!r}", "rated voltage of a branch", f"{voltage:.4g} V",
                         "in star: that between lines, divided by √3")
        own = {key: tuple(value) if isinstance(value, list) else value
               for key, value in entry.model_dump(exclude_unset=True).items() if key not in COMMON}
        loads.append(Load(entry.name, entry.kind, connect, entry.point or first, voltage, entry.count, entry.on, own))
    return tuple(loads)


def _event(entry, assumed):
    if entry.load is not None:
        return Event(entry.time, load=entry.load, on=entry.on)
    if entry.fuse is not None:
        return Event(entry.time, build_sources.fuse(entry.fuse, entry.resistance))
    _assume_break(entry, f"event at {entry.time:g} s in the cable to {entry.run!r}", assumed)
    return Event(entry.time, Break(entry.run, resolve.conductor_named(entry.conductor), entry.resistance))


def _unknowns(file, first, assumed):
    made = [_unknown(u, first) for u in file.unknown if u.household is None]
    said = {u.load for u in made if u.on is not None} | {name for u in made for name in u.one_of}
    table = data.load("evidence")["evening"]
    for point in (u.point or first for u in file.unknown if u.household):
        for load in file.load:
            share = typical(load) if (load.point or first) == point and load.name not in said else None
            if share is not None:
                assumed.note(f"load {load.name!r}", "probability that it was on", f"{share:g}",
                             f"typical evening; {table['source']} ({data.KNOWN[table['known']]})")
                made.append(Unknown(load=load.name, on=share))
    return tuple(made)


def _unknown(entry, first):
    spreads = {key: Spread(**spread.model_dump()) if (spread := getattr(entry, key)) else None
               for key in ("power", "resistance", "supply_voltage", "electrode", "capacitance")}
    place = (entry.point or first) if spreads["electrode"] or entry.phases else None
    return Unknown(load=entry.load, feeding=entry.run, point=place, phases=tuple(entry.phases or ()), conductor=resolve.conductor_named(entry.conductor), on=entry.on, **spreads,
                   one_of=tuple(entry.one_of or ()), weights=tuple(entry.weights or ()), none=entry.none or 0.0)


def _observation(entry, first, assumed):
    details = {key: tuple(value) if isinstance(value := getattr(entry, key), list) else value
               for key in DETAILS if key in entry.model_fields_set}
    if "reference" in details:
        details["reference"] = tuple(map(resolve.conductor_named, details["reference"]))
    if entry.state is None:
        assumed.note(f"observation of {entry.load or entry.between}", "state", "after the break", "not given")
    if entry.load is not None:
        return Observation(load=entry.load, seen=entry.seen, within=entry.within, details=details)
    return Observation(entry.point or first, tuple(map(resolve.conductor_named, entry.between.split("-"))), entry.voltage, entry.uncertainty,
                       details=details)
