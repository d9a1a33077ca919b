"""What must hold for unknowns and observations."""

from itertools import permutations
from math import hypot, sqrt

from lostneutral import data
from lostneutral.case import resolve
from lostneutral.case.faults import closest, quoted, show
from lostneutral.case.load_schema import COMMON

KINDS = {"load": ("on", "power"), "run": ("resistance", "capacitance"), "supply_voltage": ("supply_voltage",),
         "one_of": ("one_of",), "household": ("household",), "electrode": ("electrode",), "phases": ("phases",)}
"""What an unknown is of -> the values of it that may be unknown."""
BESIDE = {"run": ("conductor",), "one_of": ("weights", "none"), "household": ("point",), "electrode": ("point",),
          "phases": ("point",)}
OWNERS = {"on": "an unknown of a load", "power": "an unknown of a load", "resistance": "an unknown of a cable (break)",
          "capacitance": "an unknown of a cable (break)", "conductor": "an unknown of a cable (break)", "weights": "one_of",
          "none": "one_of", "point": "household, electrode or phases"}
NEEDED = ("load with on or power, break with resistance or capacitance, electrode, phases, supply_voltage, one_of with "
          "loads, or household")


def check_unknowns(context):
    """Each unknown is of one thing, says something of it, and says it once."""
    seen = {}
    for path, entry in context.draft.entries("unknown"):
        given = [kind for kind in KINDS if kind in entry.model_fields_set]
        if len(given) != 1:
            keys = [type(entry).model_fields[kind].alias or kind for kind in given]
            context.faults.add(path, " and ".join(keys) + " are given together" if keys else
                               "neither load nor break is given", NEEDED)
            continue
        kind = given[0]
        own = (*KINDS[kind], *BESIDE.get(kind, ()))
        for key, owner in OWNERS.items():
            if key not in own:
                context.only_with(path, entry, (key,), owner)
        _CHECKS[kind](context, path, entry, seen)


def _of_load(context, path, entry, seen):
    if context.refer((*path, "load"), entry.load, "load"):
        _has_power(context, path, entry)
    _values(context, path, entry, seen, entry.load, KINDS["load"])


def _of_run(context, path, entry, seen):
    if context.refer((*path, "break"), entry.run, "point"):
        context.conductor((*path, "conductor"), entry.run, entry.conductor)
    _values(context, path, entry, seen, (entry.run, resolve.conductor_named(entry.conductor)), KINDS["run"])


def _of_supply(context, path, entry, seen):
    _values(context, path, entry, seen, None, KINDS["supply_voltage"])


def _values(context, path, entry, seen, owner, keys):
    given = [key for key in keys if getattr(entry, key) is not None]
    if not given:
        context.faults.add(path, "does not say what is unknown", " or ".join(keys))
    for key in given:
        context.unique(seen, (owner, key), (*path, key), "is given twice", "one range for each value")
        if key != "on":
            _spread(context, (*path, key), getattr(entry, key))


def _one_of(context, path, entry, seen):
    for number, name in enumerate(entry.one_of):
        place = (*path, "one_of", number)
        if context.refer(place, name, "load"):
            context.unique(seen, (name, "on"), place, f"whether {show(name)} was on is given twice",
                           "each load only once")
    if entry.weights is not None and len(entry.weights) != len(entry.one_of):
        context.faults.add((*path, "weights"), f"has {len(entry.weights)} values for {len(entry.one_of)} loads",
                           "one number for each load of one_of")


def _household(context, path, entry, seen):
    point = context.point_of(path, entry.point)
    if point is None:
        return
    context.unique(seen, (point, "household"), path, f"the household at {show(point)} is given twice", "only once")
    found = [load for _, load in context.loads.values() if (load.point or point) == point and typical(load) is not None]
    if not found and context.known["load"]:
        context.faults.add((*path, "household"), f"no load at {show(point)} is an appliance without `on` for which a "
                           "typical evening is known", 'loads of kind "appliance" without on')


def typical(load):
    """Return how likely a load for which the case does not give `on` is to be on in an evening, or None if not known."""
    if load.kind != "appliance" or "on" in load.model_fields_set:
        return None
    return data.load("evidence")["evening"]["on"].get(load.model)


def _electrode(context, path, entry, seen):
    """The electrode of a point, or of the source, which the case's earthing has to make use of."""
    point = entry.point if entry.point == "supply" else context.point_of(path, entry.point)
    if point is not None:
        _values(context, path, entry, seen, point, KINDS["electrode"])
    if context.supply is not None and context.earthing is None:
        context.faults.add((*path, "electrode"), "is of no use without supply.earthing", "supply.earthing as well", at="key")


def _phases(context, path, entry, seen):
    """The line of a point with one line."""
    point = context.point_of(path, entry.point)
    place = context.places.get(point)
    if place is None:
        return
    context.unique(seen, (point, "phases"), path, f"the lines of {show(point)} are given twice", "only once")
    if len(place.phases) != 1:
        context.faults.add((*path, "phases"), f"point {show(point)} has {len(place.phases)} lines",
                           'a point with one line, such as phases = ["L1"]', at="key")
    for n, line in enumerate(entry.phases):
        if line not in resolve.lines_of(context.supply):
            context.faults.add((*path, "phases", n), f"{line} is no line of the supply", "lines of the supply")


_CHECKS = {"load": _of_load, "run": _of_run, "supply_voltage": _of_supply, "one_of": _one_of, "household": _household,
           "electrode": _electrode, "phases": _phases}


def _has_power(context, path, entry):
    load = context.loads.get(entry.load, (None, None))[1]
    if entry.power is not None and load is not None and "power" not in type(load).model_fields.keys() - COMMON:
        context.faults.add((*path, "power"), f"load {show(entry.load)} is of kind {show(load.kind)}, which has no power",
                           "only on", at="key")


def _spread(context, path, spread):
    given = spread.model_fields_set
    words = "{ low, high } or { mean, deviation }"
    if given - {"scale"} not in ({"low", "high"}, {"mean", "deviation"}):
        context.faults.add(path, "has " + (", ".join(sorted(given)) or "no value"), words)
        return
    if "low" in given:
        if spread.low >= spread.high:
            context.faults.add((*path, "high"), f"{spread.high:g} is not above low, {spread.low:g}", "a range")
        if spread.scale == "log" and spread.low <= 0:
            context.faults.add((*path, "low"), f"{spread.low:g} has no logarithm", 'above 0 with scale = "log"')
    else:
        context.only_with(path, spread, ("scale",), "a range (low, high)")
        if spread.deviation == 0:
            context.faults.add((*path, "deviation"), "0 means that nothing is unknown", "above 0")


READING = ("point", "between", "voltage", "uncertainty", "impedance", "instrument_class", "reference", "bound")


def check_observations(context):
    """Each observation is a reading between two terminals that are there, or what became of a load that is there."""
    seen = {}
    for path, entry in context.draft.entries("observation"):
        which = context.one_of(path, entry, ("between", "load", "device"),
                               "between and voltage, load and seen, or device and operated")
        if which != "device":
            context.only_with(path, entry, ("operated",), "an observation of a device")
        if which == "between":
            context.only_with(path, entry, ("seen", "within", "sooner_than", "reliability"), "an observation of a load")
            if entry.voltage is None:
                context.faults.add((*path, "voltage"), "is missing", "the reading, in V")
            point = context.point_of(path, entry.point)
            if point is not None and context.supply is not None:
                _between(context, (*path, "between"), entry.between, point)
                _reference(context, path, entry, point)
        elif which == "device":
            context.only_with(path, entry, (*READING, "seen", "within"), "a meter reading (between) or an observation of a load")
            context.refer((*path, "device"), entry.device, "device")
            if entry.operated is None:
                context.faults.add((*path, "operated"), "is missing", "true or false")
        elif which == "load":
            context.only_with(path, entry, READING, "a meter reading (between)")
            context.refer((*path, "load"), entry.load, "load")
            if entry.seen is None:
                context.faults.add((*path, "seen"), "is missing",
                                   "one of " + quoted(type(entry).model_fields["seen"].annotation.__args__))
        _loads_of(context, path, entry)
        _once(context, path, entry, seen)


def _reference(context, path, entry, point):
    """The terminals that the second lead may have been on are there, where nobody knows which it was."""
    place = context.places.get(point)
    if entry.reference is None or place is None:
        return
    if not (entry.between or "").endswith("-?"):
        context.faults.add((*path, "reference"), "is of no use where the second terminal is known", 'between = "L1-?"', at="key")
        return
    first = entry.between.removesuffix("-?")
    there = [pair.split("-")[1] for pair in _pairs(context, place) if pair.startswith(f"{first}-") and not pair.endswith("?")]
    for n, name in enumerate(entry.reference):
        if name not in there:
            context.faults.add((*path, "reference", n), f"{show(name)} is no other terminal of point {show(point)}", "of " + quoted(there),
                               closest(name, there))


def _loads_of(context, path, entry):
    """The loads that an observation names beside its own are there, and none is both on and off."""
    for key in ("with_on", "with_off"):
        for n, name in enumerate(getattr(entry, key) or ()):
            context.refer((*path, key, n), name, "load")
    for name in set(entry.with_on or ()) & set(entry.with_off or ()):
        context.faults.add((*path, "with_off"), f"{show(name)} is given as on and as off", "one of the two", at="key")
    if entry.sooner_than is not None:
        context.refer((*path, "sooner_than"), entry.sooner_than, "load")
        if entry.seen in ("survived", "unchanged"):
            context.faults.add((*path, "sooner_than"), f"is of something that happened, and {entry.seen!r} is none", 'seen = "failed", "brighter", "dimmer" or "off"', at="key")
        elif entry.sooner_than == entry.load:
            context.faults.add((*path, "sooner_than"), f"{show(entry.load)} cannot come before itself", "another load")


OPPOSED = ({"failed", "survived"}, {"brighter", "dimmer", "unchanged", "off"})
"""What cannot be true together of one load at one time: any two words of one set."""
APART = 6.0  #: standard deviations by which two readings of one thing at one time may not differ


def uncertainty(reading) -> float:
    """Return one standard deviation (V) of a reading: its own, else by the data file `where`, of "about" a value no less than what that means."""
    usual = data.load("where")["uncertainty"]
    least = data.load("evidence")["about"]["share"] * reading.voltage if reading.bound == "about" else 0.0
    return reading.uncertainty or max(sqrt((usual["share"] * reading.voltage) ** 2 + usual["volts"] ** 2), least)


def _once(context, path, entry, seen):
    """An observation does not stand there twice, nor against another of the same load at the same time."""
    when = (entry.state or "after", entry.time, tuple(entry.with_on or ()), tuple(entry.with_off or ()), entry.bound)
    context.unique(seen, (entry.point, entry.between, entry.voltage, entry.load, entry.seen, entry.within, entry.device, when), path,
                   "is given twice", "each observation only once; equal readings need different times")
    if entry.between is not None and entry.voltage is not None:
        earlier = seen.setdefault((entry.point, frozenset(entry.between.split("-")), entry.impedance, tuple(entry.instrument_class or ()), when), [])
        for other in earlier:
            if abs(entry.voltage - other.voltage) > APART * hypot(uncertainty(entry), uncertainty(other)):
                context.faults.add((*path, "voltage"), f"{entry.between} cannot be {entry.voltage:g} V and "
                                   f"{other.voltage:g} V at the same time by the same type of instrument", "time, in s, on each of them")
        earlier.append(entry)
    for words in OPPOSED:
        if entry.load is None or entry.seen not in words:
            continue
        for other in sorted(words - {entry.seen}):
            if (entry.load, other, when) in seen:
                context.faults.add((*path, "seen"),
                                   f"{show(entry.load)} cannot be {entry.seen} and {other} at the same time", "time, in s, on each of them")
        seen[entry.load, entry.seen, when] = path


def check_priors(context):
    """Each kind of cause has one weight, and one of them is left."""
    seen = {}
    for path, entry in context.draft.entries("prior"):
        context.unique(seen, entry.cause, (*path, "cause"), f"{show(entry.cause)} already has a weight",
                       "one for each cause")


def check_document(context):
    """The client's premises are a point that is there."""
    document = context.draft.file.document
    if document and document.premises is not None:
        context.refer(("document", "premises"), document.premises, "point")


def check_records(context):
    """A recorder was held to two terminals that are there; each word of its events says something once."""
    for path, entry in context.draft.entries("record"):
        seen, point = {}, context.point_of(path, entry.point)
        if entry.event_column is None:
            context.only_with(path, entry, ("events",), "a record with event_column")
        for place, pair in ((path, entry.between), *(((*path, "events", n), e.between) for n, e in enumerate(entry.events) if e.between)):
            if point is not None and context.supply is not None:
                _between(context, (*place, "between"), pair, point)
        for n, event in enumerate(entry.events):
            place = (*path, "events", n)
            for key, other in (("bound", "voltage"), ("voltage", "bound")):
                if getattr(event, key) is None and getattr(event, other) is not None:
                    context.faults.add(place, f"{show(event.word)} has {other} without {key}", "both, or neither where it says nothing of a voltage")
            context.unique(seen, (event.word.casefold(), event.between, event.bound), place, f"{show(event.word)} is explained twice",
                           "once, or with another bound or other terminals")


def check_photos(context):
    """A photograph shows a point or a load that is there, or neither; what the files are is in `pictures`."""
    for path, entry in context.draft.entries("photo"):
        for key in ("point", "load"):
            if getattr(entry, key) is not None:
                context.refer((*path, key), getattr(entry, key), key)


def _between(context, path, between, point):
    place = context.places.get(point)
    if place is None:
        return
    pairs, terminals = _pairs(context, place), _terminals(context, place)
    if between not in pairs:
        context.faults.add(path, f"{show(between)} is not a pair of terminals of point {show(point)}",
                           "two of " + quoted(terminals) + ", joined by -", closest(between, pairs))
    elif context.earthing is None and ("PE" in between or "earth" in between):
        context.warn(f"the reading {between} at point {show(point)} cannot be used: without supply.earthing no voltage to "
                     "earth is calculated")


def _terminals(context, place):
    pe = () if place.kind == "joint" and context.earthing not in ("TN-S", None) else ("PE",)
    pen = ("PEN",) if resolve.feeds_by_pen(context.earthing, place.kind) else ()
    return (*place.phases, "N", *pen, *pe, "earth")


def _pairs(context, place):
    """Every pair of terminals of a place as it may be written, the second also as not known."""
    terminals = _terminals(context, place)
    pairs = ["-".join(pair) for pair in permutations(terminals, 2) if set(pair) != {"N", "PEN"}]
    return [*pairs, *(f"{terminal}-?" for terminal in terminals)]
