"""From checked entries to the frozen `Case`: every default filled in, and those that matter recorded."""

import cmath
from math import radians

from lostneutral import data
from lostneutral.case import resolve
from lostneutral.case.cables import reactance, resistance
from lostneutral.case.load_schema import COMMON
from lostneutral.case.model import (
    Assumption, Break, Cable, Case, Cross, Event, Load, Observation, Path, Point, Spread, Supply, Unknown)

NOMINAL = {"three-phase": 230.0, "split-phase": 120.0}
FREQUENCY = {"three-phase": 50.0, "split-phase": 60.0}
LIMITS = {"three-phase": "EN 50160", "split-phase": "ANSI C84.1 Range A service"}
DETAILS = ("time", "state", "impedance", "observer", "instrument", "kept")


class Assumptions(list):
    """The assumptions, in the order in which they were made."""

    def note(self, subject, what, value, why):
        self.append(Assumption(subject, what, value, why))


def build(file, warnings, source, sha256):
    """Return the Case of `file`, a `CaseFile` in which every check holds."""
    assumed = Assumptions()
    if file.date is None:
        assumed.note("case", "date", "not dated", "not given")
    supply = _supply(file.supply, assumed)
    points = _points(file, supply, assumed)
    first, names = points[0].name, _Only(points, assumed)
    breaks = _breaks(file, first, assumed)
    return Case(
        title=file.title, description=file.description, date=file.date, supply=supply, points=points,
        loads=_loads(file, supply, names, assumed), breaks=breaks,
        paths=tuple(Path(p.start, p.end, p.resistance) for p in file.path),
        crosses=tuple(Cross(names(c.point), tuple(c.conductors)) for c in file.cross),
        events=tuple(_event(e) for e in file.event),
        unknowns=tuple(_unknown(u) for u in file.unknown),
        observations=tuple(_observation(o, names) for o in file.observation),
        assumptions=tuple(assumed), warnings=tuple(warnings), source=source, sha256=sha256)


class _Only:
    """A point's name, or the only point's if none is given."""

    def __init__(self, points, assumed):
        self.points = points

    def __call__(self, name):
        return name if name is not None else self.points[0].name


def _supply(entry, assumed):
    system = entry.system
    nominal = entry.nominal
    if nominal is None and entry.phasors is not None:
        nominal = entry.voltage
    if nominal is None:
        nominal = NOMINAL[system]
        assumed.note("supply", "nominal voltage", f"{nominal:g} V line to neutral", f"usual for {system}")
    voltage = entry.voltage
    if voltage is None:
        voltage = nominal
        if entry.phasors is None:
            assumed.note("supply", "actual voltage", f"{nominal:g} V line to neutral", "taken as the nominal voltage")
    frequency = entry.frequency
    if frequency is None:
        frequency = FREQUENCY[system]
        assumed.note("supply", "frequency", f"{frequency:g} Hz", f"usual for {system}")
    limits = entry.limits
    if limits is None:
        limits = LIMITS[system]
        assumed.note("supply", "voltage band to judge by", limits, f"default for {system}")
    if system == "three-phase" and entry.phasors is None and "rotation" not in entry.model_fields_set:
        assumed.note("supply", "phase rotation", entry.rotation, "the usual order")
    given = entry.model_fields_set
    if not {"line_impedance", "neutral_impedance"} & given:
        assumed.note("supply", "source impedance", "0 ohm", "not given: the source holds its voltage at any current")
    if entry.earthing is None:
        assumed.note("supply", "earthing system", "not known",
                     "not given: no touch voltage is computed, metalwork is treated as live")
    elif "electrode" not in given:
        assumed.note("supply", "earth electrode of the star point", "0 ohm", "not given: taken as ideal")
    return Supply(phasors=_phasors(entry, voltage), system=system, nominal=nominal, frequency=frequency,
                  line_impedance=complex(*entry.line_impedance), neutral_impedance=complex(*entry.neutral_impedance),
                  earthing=entry.earthing, electrode=entry.electrode, limits=limits, old_colours=entry.old_colours)


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
        assumed.note("wiring", "points", "one intake, fed from the supply by an ideal run", "no point given")
        return (Point("intake"), ) if supply.system == "three-phase" else (Point("intake", phases=supply.lines),)
    found = resolve.places(file.point, supply.lines)
    points = []
    for entry in file.point:
        place = found[entry.name]
        cable = _cable(entry.cable, supply, f"run to {entry.name!r}", assumed)
        points.append(Point(entry.name, place.kind, entry.fed_from, cable, entry.electrode, place.phases))
    return tuple(points)


def _cable(entry, supply, subject, assumed):
    if entry is None:
        return Cable()
    given = entry.model_dump(exclude_unset=True)
    if entry.area is None:
        line = complex(*entry.line) if entry.line else 0j
        neutral = complex(*entry.neutral) if entry.neutral else line
        return Cable(line, neutral, complex(*entry.pe) if entry.pe else neutral, given)
    areas = (entry.area, entry.neutral_area or entry.area, entry.pe_area or entry.area)
    x = reactance(entry.length, supply.frequency)
    return Cable(*(complex(resistance(entry.length, a, entry.material, entry.temperature), x) for a in areas), given)


def _breaks(file, first, assumed):
    events = any(event.run is not None for event in file.event)
    if not file.breaks and not events and "breaks" not in file.model_fields_set:
        assumed.note("break", "what is broken", f"N, open, in the run that feeds {first!r}", "no break given")
        return (Break(first, "N"),)
    return tuple(Break(b.feeding or first, b.conductor, b.resistance) for b in file.breaks)


def _loads(file, supply, names, assumed):
    loads = []
    for entry in file.load:
        connect = tuple(entry.connect.split("-"))
        voltage = entry.voltage
        if voltage is None:
            between_lines = all(c in supply.lines for c in connect)
            voltage = supply.nominal_line_to_line if between_lines else supply.nominal
        own = {k: v for k, v in entry.model_dump(exclude_unset=True).items() if k not in COMMON}
        loads.append(Load(entry.name, entry.kind, connect, names(entry.point), voltage, entry.count, entry.on, own))
    return tuple(loads)


def _event(entry):
    if entry.load is not None:
        return Event(entry.time, load=entry.load, on=entry.on)
    return Event(entry.time, Break(entry.run, entry.conductor, entry.resistance))


def _unknown(entry):
    spreads = {key: Spread(**value.model_dump()) if value else None
               for key, value in (("power", entry.power), ("resistance", entry.resistance))}
    return Unknown(load=entry.load, feeding=entry.run, conductor=entry.conductor, on=entry.on, **spreads)


def _observation(entry, names):
    details = {key: getattr(entry, key) for key in DETAILS if getattr(entry, key) is not None}
    if entry.load is not None:
        return Observation(load=entry.load, seen=entry.seen, within=entry.within, details=details)
    return Observation(names(entry.point), tuple(entry.between.split("-")), entry.voltage, entry.uncertainty,
                       details=details)
