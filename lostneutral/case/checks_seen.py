"""What must hold for unknowns and observations."""

from itertools import permutations

from lostneutral.case.faults import closest, listed, show
from lostneutral.case.load_schema import COMMON


def check_unknowns(context):
    """Each unknown is of one load or one run, says something, and says it once."""
    seen = {}
    for path, entry in context.draft.entries("unknown"):
        which = context.one_of(path, entry, "load", "run", "load with on or power, or break with resistance")
        if which == "load":
            quantities, owner = ("on", "power"), entry.load
            context.only_with(path, entry, ("conductor", "resistance"), "an unknown of a run (break)")
            if context.refer((*path, "load"), owner, "load"):
                _has_power(context, path, entry)
        elif which == "run":
            quantities, owner = ("resistance",), (entry.run, entry.conductor)
            context.only_with(path, entry, ("on", "power"), "an unknown of a load")
            if context.refer((*path, "break"), entry.run, "point"):
                context.conductor((*path, "conductor"), entry.run, entry.conductor)
        else:
            continue
        given = [key for key in quantities if getattr(entry, key) is not None]
        if not given:
            context.faults.add(path, "it does not say what is unknown", " or ".join(quantities))
        for key in given:
            context.unique(seen, (owner, key), (*path, key), "is given a second time", "one range for each value")
            if key != "on":
                _spread(context, (*path, key), getattr(entry, key))


def _has_power(context, path, entry):
    load = context.loads.get(entry.load, (None, None))[1]
    if entry.power is not None and load is not None and "power" not in type(load).model_fields.keys() - COMMON:
        context.faults.add((*path, "power"), f"load {show(entry.load)} is of kind {show(load.kind)}, which has no power",
                           "on alone", at="key")


def _spread(context, path, spread):
    given = spread.model_fields_set
    words = "{ low, high } or { mean, deviation }"
    if given - {"scale"} not in ({"low", "high"}, {"mean", "deviation"}):
        context.faults.add(path, "it has " + (", ".join(sorted(given)) or "nothing"), words)
        return
    if "low" in given:
        if spread.low >= spread.high:
            context.faults.add((*path, "high"), f"{spread.high:g} is not above low, {spread.low:g}", "a range")
        if spread.scale == "log" and spread.low <= 0:
            context.faults.add((*path, "low"), f"{spread.low:g} has no logarithm", 'above 0 with scale = "log"')
    else:
        context.only_with(path, spread, ("scale",), "a range (low, high)")
        if spread.deviation == 0:
            context.faults.add((*path, "deviation"), "0 leaves nothing unknown", "above 0")


READING = ("point", "between", "voltage", "uncertainty", "impedance")


def check_observations(context):
    """Each observation is a reading between two terminals that are there, or what became of a load that is there."""
    for path, entry in context.draft.entries("observation"):
        which = context.one_of(path, entry, "between", "load", "between and voltage, or load and seen")
        if which == "between":
            context.only_with(path, entry, ("seen", "within"), "an observation of a load")
            if entry.voltage is None:
                context.faults.add((*path, "voltage"), "is missing", "the reading, in V")
            point = context.point_of(path, entry.point)
            if point is not None and context.supply is not None:
                _between(context, (*path, "between"), entry.between, point)
        elif which == "load":
            context.only_with(path, entry, READING, "a meter reading (between)")
            context.refer((*path, "load"), entry.load, "load")
            if entry.seen is None:
                context.faults.add((*path, "seen"), "is missing",
                                   "one of " + listed(type(entry).model_fields["seen"].annotation.__args__))


def _between(context, path, between, point):
    place = context.places.get(point)
    if place is None:
        return
    pe = () if place.kind == "joint" and context.earthing not in ("TN-S", None) else ("PE",)
    terminals = (*place.phases, "N", *pe, "earth")
    pairs = ["-".join(pair) for pair in permutations(terminals, 2)]
    if between not in pairs:
        context.faults.add(path, f"{show(between)} is not a pair of terminals of point {show(point)}",
                           "two of " + listed(terminals) + ", joined by -", closest(between, pairs))
    elif context.earthing is None and ("PE" in between or "earth" in between):
        context.warn(f"the reading {between} at point {show(point)} cannot be used: without supply.earthing no voltage to "
                     "earth is computed")
