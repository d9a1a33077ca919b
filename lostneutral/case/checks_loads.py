"""What must hold for loads."""

from lostneutral import data
from lostneutral.case.checks_equipment import (
    behind,
    check_charger,
    check_discharge,
    check_electronic,
    check_harmonic,
    check_motor,
    check_range,
)
from lostneutral.case.faults import closest, quoted, show


def check_loads(context):
    """Loads lie between conductors that arrive at their point, and their keys fit each other."""
    draft = context.draft
    if draft.table.get("load") == [] and context.known["load"]:
        context.faults.add(("load",), "is empty", "at least one [[load]]")
    for path, load in draft.entries("load"):
        point = context.point_of(path, load.point)
        if point is not None and context.supply is not None:
            _connect(context, path, load.connect, point)
        entry = behind(context, path, load)
        if load.star and load.connect != "L1-L2-L3":
            context.faults.add((*path, "star"), f"does not apply to {show(load.connect)}", 'connect = "L1-L2-L3"')
        elif load.star and entry is not None and entry.kind in FEEDS_BY_CONTROL:
            context.faults.add((*path, "star"), f"does not apply to kind {entry.kind}, whose control needs its conductors",
                               'leave it out, or connect = "L1-L2-L3-N"')
        if entry is not None and entry.kind in OWN:
            OWN[entry.kind](context, path, entry)
    loads = draft.file.load
    switched = any(event.on for event in draft.file.event)
    if loads and ("load",) not in {path[:1] for path in draft.aside} and not switched and not any(d.on for d in loads):
        context.warn("every load is switched off: no current flows, and a broken neutral has no defined potential")


_IN_GROUP = "; left out, each load of a group is on the lines of its premises"


def _connect(context, path, connect, point):
    place = context.places.get(point)
    if place is None:
        return
    arriving = place.phases
    missing = [c for c in connect.split("-") if c[0] == "L" and c not in arriving]
    if missing:
        context.faults.add((*path, "connect"), f"{show(connect)}: {missing[0]} is not connected at point {show(point)}",
                           "of " + quoted((*arriving, "N")) + _IN_GROUP * (context.faults.written(path) != tuple(path)))
    elif connect.endswith("PE"):
        if context.earthing is None:
            context.faults.add((*path, "connect"), f"{show(connect)} needs supply.earthing, which is not given",
                               'one of "TN-S", "TN-C-S", "TN-C", "TT" in [supply]')
        elif place.kind == "joint" and context.earthing != "TN-S":
            context.faults.add((*path, "connect"), f"{show(connect)}: a joint has no PE in {context.earthing}",
                               "of " + quoted((*arriving, "N")))


def _impedance(context, path, load):
    if not load.model_fields_set & {"resistance", "reactance"}:
        context.faults.add(path, "neither resistance nor reactance is given", "at least one of them, in ohm")


def _heater(context, path, load):
    alloys = data.load("alloys")["alloy"]
    if load.alloy is not None and load.alloy not in alloys:
        context.faults.add((*path, "alloy"), f"{show(load.alloy)} is not in the table", "one of " + quoted(alloys, 30),
                           closest(load.alloy, alloys))
    water = data.load("load_defaults")["heater"]["water_temperature"]["value"]
    if load.cooling == "water" and load.element_temperature is not None and load.element_temperature <= water:
        context.faults.add((*path, "element_temperature"), f"{load.element_temperature:g} is not hotter than the water",
                           f"above {water:g}, in °C")


FEEDS_BY_CONTROL = ("charger", "source")  #: kinds that have no star point of their own
OWN = {"impedance": _impedance, "exponential": check_range, "heater": _heater, "electronic": check_electronic,
       "motor": check_motor, "harmonic": check_harmonic, "charger": check_charger,
       "discharge": check_discharge}
"""Kind of load -> what must hold between its own keys."""
