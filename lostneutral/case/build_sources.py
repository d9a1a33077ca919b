"""From checked entries to transformers, generators, changeovers and the steps of their moves."""

import cmath

from lostneutral import data
from lostneutral.case.context import changeover_name
from lostneutral.case.model import Break, Cable, Changeover, Event, Generator, SupplyTransformer
from lostneutral.case.transfers import contact_steps, moves_to


def built_transformer(entry, assumed):
    """Return the SupplyTransformer of its entry, or None if there is none."""
    if entry is None:
        return None
    usual = data.load("supplies")["transformer"]

    def value(key, name, known=None):
        given, row = getattr(entry, key), usual[known or key]
        if given is None:
            assumed.note("transformer", name, f"{row['value']:g} {row['unit']}", f"{row['source']} ({data.KNOWN[row['known']]})")
        return row["value"] if given is None else given

    if "group" not in entry.model_fields_set:
        assumed.note("transformer", "vector group", entry.group, "not given: the usual one")
    short = value("short_circuit_voltage", "short-circuit voltage") / 100
    loss = min(value("load_loss", "load loss") / 100, short)
    zero = value("zero_sequence", "zero-sequence impedance", "zero_sequence_zigzag" if "z" in entry.group else None)
    current = value("no_load_current", "no-load current") / 100
    magnetising = 1 / (current * complex(0.5, -(0.75**0.5)))
    saturates = entry.group.startswith("Y") and entry.limbs == "three-limb"
    zero_magnetising = 1j * value("zero_magnetising", "zero-sequence magnetising impedance") / 100 if saturates else magnetising
    assumed.note("transformer", "network before it", "keeps its voltage at any current", "not given")
    return SupplyTransformer(entry.group, entry.rated_power, complex(loss, (short**2 - loss**2) ** 0.5), zero, magnetising, zero_magnetising,
                       entry.limbs)


def generators(file, supply, cable_of, assumed):
    """Return the Generators of a case file; `cable_of(entry, supply, subject, assumed)` makes a Cable."""
    return tuple(_generator(entry, supply, cable_of, assumed) for entry in file.generator)


def _generator(entry, supply, cable_of, assumed):
    subject = f"generator {entry.name!r}"
    scale = (entry.voltage or supply.nominal) / supply.nominal
    nominal = {line: cmath.rect(supply.nominal, cmath.phase(volts)) for line, volts in supply.phasors.items()}
    line, zero = entry.line_impedance and complex(*entry.line_impedance), entry.zero_impedance and complex(*entry.zero_impedance)
    if entry.rated_power is not None and (line is None or zero is None):
        per_unit = len(nominal) * supply.nominal**2 / entry.rated_power
        rows = data.load("supplies")[entry.kind]
        r, x, x0 = (rows[key]["value"] / 100 for key in ("resistance", "reactance", "zero_sequence"))
        for key, name in (("reactance", "reactance of a line"), ("resistance", "resistance of a line"),
                          ("zero_sequence", "zero-sequence reactance")):
            if (zero if key == "zero_sequence" else line) is None:
                assumed.note(subject, name, f"{rows[key]['value']:g} {rows[key]['unit']}",
                             f"{rows[key]['source']} ({data.KNOWN[rows[key]['known']]})")
        line, zero = line or complex(r, x) * per_unit, zero or complex(r, x0) * per_unit
    if entry.earthing is None and supply.earthing:
        assumed.note(subject, "star point", "floating: no link to the protective conductor", "not given")
    if entry.voltage is None:
        assumed.note(subject, "voltage", f"{supply.nominal:g} V line to neutral", "not given: the nominal voltage of the supply")
    return Generator(entry.name, entry.kind, {x: volts * scale for x, volts in nominal.items()}, entry.rated_power, line, zero or line,
                     complex(*entry.neutral_impedance),
                     cable_of(entry.cable, supply, f"cable of {subject}", assumed) if entry.cable else Cable(),
                     entry.earthing == "bonded", entry.electrode)


def changeovers(file, points, assumed):
    """Return the Changeovers of a case file, as they stand at first; `points` {name: Point}."""
    moved = {event.changeover for event in file.event}
    made = []
    for entry in file.changeover:
        name = changeover_name(entry, list(points))
        point = points[entry.point or next(iter(points))]
        if entry.poles is None:
            assumed.note(f"{name}", "poles", f"{len(point.phases) + 1}: neutral switched", "not given")
        made.append(Changeover(name, point.name, entry.generator or file.generator[0].name, tuple(entry.poles or (*point.phases, "N")),
                               entry.position, () if name in moved else tuple(entry.never_makes or ())))
    return tuple(made)


def fuse(line: str, resistance: float) -> Break:
    """Return the break of the high-voltage fuse of a line."""
    return Break("supply", line, resistance, "fuse")


def built_moves(file, made, assumed):
    """Return {id of an event entry: its steps as Events} of every move of the changeovers `made`."""
    entries = dict(zip((c.name for c in made), file.changeover))
    stands, found = {c.name: c.position for c in made}, {}
    for event in sorted((e for e in file.event if e.changeover is not None), key=lambda e: e.time):
        changeover = next(c for c in made if c.name == event.changeover)
        entry = entries[changeover.name]
        if event.dead_time is None and entry.dead_time is None:
            row = data.load("supplies")["changeover"]["dead_time"]
            assumed.note(changeover.name, "time between opening and closing", f"{row['value']:g} {row['unit']}", row["source"])
        steps = contact_steps(moves_to(entry, event), event.time, changeover.poles, stands[changeover.name])
        found[id(event)] = [Event(time, changeover=changeover.name, position=position, open=poles) for time, position, poles in steps]
        stands[changeover.name] = event.to
    return found
