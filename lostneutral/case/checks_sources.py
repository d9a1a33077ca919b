"""What must hold for transformers, generators and changeovers."""

from lostneutral.case import resolve
from lostneutral.case.context import changeover_name
from lostneutral.case.faults import quoted, show
from lostneutral.case.transfers import contact_steps, moves_to

CONTACTS = ("dead_time", "opens_first", "closes_late", "never_makes")  #: keys of a move, of a changeover and of its events


def check_fuse(context, path):
    """A high-voltage fuse is there where a transformer is."""
    if context.supply is not None and context.supply.transformer is None:
        context.faults.add((*path, "fuse"), "there is no transformer", "[supply.transformer] with its rated_power, VA", at="key")


def check_sources(context):
    """Generators have names and impedances of their own, and each stands behind one changeover."""
    if context.supply is not None and context.supply.transformer is not None and context.supply.system == "split-phase":
        context.faults.add(("supply", "transformer"), "is of three phases, the supply is split-phase", "line_impedance instead", at="key")
    used = {}
    for path, entry in context.draft.entries("generator"):
        _generator(context, path, entry)
    for path, entry in context.draft.entries("changeover"):
        _changeover(context, path, entry, used)
    for path, entry in context.draft.entries("generator"):
        if entry.name not in used.values() and not any(p[0] == "changeover" for p in context.draft.aside):
            context.faults.add(path, f"no changeover leads to {show(entry.name)}",
                               "[[changeover]] with point and generator")
    _moves(context)


def _generator(context, path, entry):
    if entry.rated_power is None and entry.line_impedance is None:
        context.faults.add(path, "neither rated_power nor line_impedance is given", "rated_power in VA, from which its impedance follows")
    if entry.line_impedance is not None and not any(entry.line_impedance):
        context.faults.add((*path, "line_impedance"), "[0, 0] is no impedance", "above 0, or rated_power instead")
    if context.supply is not None and context.earthing is None and entry.model_fields_set & {"earthing", "electrode"}:
        context.warn(f"the earthing of generator {show(entry.name)} is not used: without supply.earthing the earthing system is "
                     "not known")


def _changeover(context, path, entry, used):
    point = context.point_of(path, entry.point)
    generator = context.point_of(path, entry.generator, "generator")
    if not context.names["generator"]:
        context.faults.add(path, "leads to no generator", "[[generator]] with name and power")
    context.unique(used, ("point", point), path, f"a second changeover at {show(point)}", "one at each point")
    if generator is not None:
        if generator in used.values():
            context.faults.add((*path, "generator"), f"{show(generator)} already has a changeover", "one changeover for each")
        used[path] = generator
    place = context.places.get(point)
    if place is None or context.supply is None:
        return
    there = (*place.phases, "N")
    poles = tuple(entry.poles) if entry.poles else there
    for index, pole in enumerate(entry.poles or ()):
        if pole not in there or pole in poles[:index]:
            context.faults.add((*path, "poles", index), f"{pole} is named twice" if pole in poles[:index] else
                               f"{pole} is not connected at {show(point)}", "of " + quoted(there))
    missing = [line for line in place.phases if line not in poles]
    if missing:
        context.faults.add((*path, "poles"), f"{missing[0]} is not switched: supply and generator would run in parallel",
                           "all lines, with N (four-pole) or without (three-pole)")
    if "N" in poles and resolve.feeds_by_pen(context.earthing, place.kind):
        context.faults.add((*path, "poles") if entry.poles else path, f"in {context.earthing} the cable to {show(point)} has a "
                           "PEN, which is not switched", 'poles without N, or a point behind it where N is separate')
    _contacts(context, path, entry, poles)


def _contacts(context, path, entry, poles):
    for key in ("opens_first", "closes_late"):
        times = getattr(entry, key)
        given = times.model_fields_set if times else ()
        for pole in sorted(given):
            if pole not in poles:
                context.faults.add((*path, key, pole), f"{pole} is not a pole of the changeover", "of " + quoted(poles), at="key")
        if given and set(given) >= set(poles):
            context.faults.add((*path, key), "names every pole", "those that differ from the others")
    for index, pole in enumerate(entry.never_makes or ()):
        if pole not in poles:
            context.faults.add((*path, "never_makes", index), f"{pole} is not a pole of the changeover", "of " + quoted(poles))
    if entry.never_makes and set(entry.never_makes) >= {p for p in poles if p != "N"}:
        context.faults.add((*path, "never_makes"), "leaves no line connected", "fewer poles")


def _moves(context):
    """Moves of one changeover follow each other, each to the other side."""
    known = {changeover_name(entry, context.names["point"]): entry for _, entry in context.draft.entries("changeover")}
    stands, ends = {name: entry.position for name, entry in known.items()}, {}
    for path, event in sorted(context.draft.entries("event"), key=lambda pair: pair[1].time):
        entry = known.get(event.changeover)
        if entry is None or event.to is None:
            continue
        poles = tuple(entry.poles) if entry.poles else ("L1", "L2", "L3", "N")
        _contacts(context, path, event, poles)
        name = event.changeover
        if stands[name] == event.to:
            context.faults.add((*path, "to"), f"{show(name)} already stands on {show(event.to)} at {event.time:g} s", "the other side")
        if event.time < ends.get(name, 0.0):
            context.faults.add((*path, "time"), f"{show(name)} is still moving until {ends[name]:g} s", "a later time")
        stands[name] = event.to
        ends[name] = contact_steps(moves_to(entry, event), event.time, poles, "")[-1][0]
