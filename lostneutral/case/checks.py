"""What must hold between the keys and tables of a case file: the supply and the wiring; the rest by name."""

from lostneutral import data
from lostneutral.case import resolve
from lostneutral.case.cables import sizes
from lostneutral.case.checks_changes import check_breaks, check_course, check_crosses, check_events
from lostneutral.case.checks_devices import check_devices
from lostneutral.case.checks_loads import check_loads
from lostneutral.case.checks_seen import (
    check_document,
    check_observations,
    check_photos,
    check_priors,
    check_records,
    check_unknowns,
)
from lostneutral.case.checks_sources import check_sources
from lostneutral.case.context import Context
from lostneutral.case.defaults import NOMINAL
from lostneutral.case.faults import closest, key_path, quoted, show
from lostneutral.case.plausible import check_plausible

OHMS = ("line", "neutral", "pe")
SIZES = ("area", "neutral_area", "pe_area")
BY_LENGTH = ("length", *SIZES, "material", "temperature")


def check(draft, faults, warnings):
    """Add to `faults` whatever does not fit together in `draft`, and to `warnings` what is accepted with a warning."""
    context = Context(draft, faults, warnings)
    if context.supply is not None:
        _supply(context, context.supply)
    _names(context)
    _points(context)
    _loops(context)
    _paths(context)
    check_sources(context)
    check_breaks(context)
    check_crosses(context)
    check_loads(context)
    check_events(context)
    check_course(context)
    check_unknowns(context)
    check_observations(context)
    check_priors(context)
    check_photos(context)
    check_document(context)
    check_devices(context)
    check_records(context)
    check_plausible(context)


def _supply(context, supply):
    _table_name(context, "limits", supply.limits, "supply_bands", "band")
    _table_name(context, "old_colours", supply.old_colours, "conductor_colours", "country")
    given = supply.model_fields_set
    if supply.phasors is not None:
        line_3 = supply.phasors.L3 is not None
        if line_3 and supply.system == "split-phase":
            context.faults.add(("supply", "phasors", "L3"), "a split-phase supply has no L3", "L1 and L2", at="key")
        if not line_3 and supply.system == "three-phase":
            context.faults.add(("supply", "phasors", "L3"), "is missing",
                               "[magnitude in V, angle in degrees] of each of L1, L2, L3")
        if "rotation" in given:
            context.warn("supply.rotation is not used: the phasors give the phase sequence")
        if "voltage" in given and "nominal" in given:
            context.warn("supply.voltage is not used: the phasors give the voltage of each line")
    elif supply.system == "split-phase" and "rotation" in given:
        context.warn("supply.rotation is not used: a split-phase supply has none")
    elif supply.voltage is not None:
        nominal = supply.nominal or NOMINAL[supply.system]
        if abs(supply.voltage / nominal - 1) > 0.2:
            line = supply.voltage / (3**0.5 if supply.system == "three-phase" else 2.0)
            slip = f"; if it is the voltage between the lines, write voltage = {line:.4g}" if abs(line / nominal - 1) < 0.1 else ""
            context.warn(f"the supply's voltage of {supply.voltage:g} V is far from its nominal {nominal:g} V, on "
                         "which rated voltages and limits are based; supply.nominal sets it" + slip)
    written = context.draft.table["supply"].get("earthing")
    if supply.earthing and written != supply.earthing:
        context.warn(f"supply.earthing: {show(written)} is understood as {supply.earthing}")
    if supply.earthing is None and "electrode" in given:
        context.warn("supply.electrode is not used: without supply.earthing the earthing system is not known")


def _table_name(context, key, name, table, rows):
    if name is None:
        return
    names = [row["name"] for row in data.load(table)[rows]]
    if name not in names:
        context.faults.add(("supply", key), f"{show(name)} is not in the table", "one of " + quoted(names, 40),
                           closest(name, names))


def _names(context):
    seen = {}
    for key, reserved in (("point", ("supply", "earth")), ("generator", ("supply", "earth")), ("load", ()), ("changeover", ()),
                          ("device", ())):
        seen = seen if key == "generator" else {}  # a generator is a place in the wiring as well
        for path, name in context.draft.names(key):
            if name in seen:
                context.faults.add((*path, "name"), f"{show(name)} is already used by {key_path(seen[name])}", f"every {key} needs a unique name")
            seen.setdefault(name, path)
            if name in reserved:
                context.faults.add((*path, "name"), f"{show(name)} is a reserved name", "another name")


def _points(context):
    for name, (path, point) in context.points.items():
        fed = context.refer((*path, "fed_from"), point.fed_from, "point", ("supply",))
        place, feeder = context.places.get(name), context.places.get(point.fed_from)
        if fed and place is not None and context.supply is not None:
            _kind(context, path, point, place.kind, feeder.kind if feeder else "supply")
            _phases(context, path, point, feeder.phases if feeder else context.lines)
            _earthing(context, name, point, place)
        if point.cable is not None:
            _cable(context, (*path, "cable"), point.cable)


def _kind(context, path, point, kind, feeder):
    source = show(point.fed_from)
    if kind == "joint" and feeder not in ("supply", "joint"):
        context.faults.add((*path, "kind"), f"a joint cannot be fed from {source}, which is an {feeder}"
                           .replace("an board", "a board"),
                           'a joint is on the distributor\'s main: fed from "supply" or another joint', "board")
    if kind == "intake" and feeder == "board" and context.earthing == "TN-C-S":
        context.faults.add((*path, "kind"), f"an intake cannot be fed from {source}, a board: in TN-C-S its cable would "
                           "be a PEN again", "N and PE stay separate beyond a board", "board")
    apart = context.earthing == "TT" and feeder == "supply" or context.earthing in ("TT", "TN-C-S") and feeder == "joint"
    if kind == "board" and apart:
        context.faults.add((*path, "kind"), f"a board cannot be fed from {source}: in {context.earthing} PE begins at the "
                           "intake", "an intake comes first", "intake")


def _phases(context, path, point, arriving):
    for index, line in enumerate(point.phases or ()):
        place = (*path, "phases", index)
        if line in point.phases[:index]:
            context.faults.add(place, f"{line} is named twice", "each line only once")
        if line not in arriving:
            context.faults.add(place, f"{line} is not connected at {show(point.fed_from)}", "of " + quoted(arriving))


def _earthing(context, name, point, place):
    if point.electrode is not None and context.earthing is None:
        context.warn(f"the electrode of point {show(name)} is not used: without supply.earthing the earthing system is "
                     "not known")
    if context.earthing == "TT" and place.kind == "intake" and point.electrode is None:
        context.warn(f"point {show(name)} has no electrode in the case: TT needs one; give its resistance, which decides what a fault to earth "
                     "does there")
    with_pe = "PE" in resolve.run_conductors(context.earthing, place)
    if point.cable is not None and not with_pe and point.cable.model_fields_set & {"pe", "pe_area"}:
        context.warn(f"the PE of the cable to {show(name)} is not used: that cable has no separate PE")


def _cable(context, path, cable):
    if cable.model_fields_set & set(OHMS):
        context.only_with(path, cable, BY_LENGTH, "a cable by length and area; this one is in ohms")
        return
    for key in ("length", "area"):
        if getattr(cable, key) is None:
            context.faults.add((*path, key), "is missing", "length in m and area in mm², or line = [R, X] in ohm")
    allowed = sizes(cable.material)
    for key in SIZES:
        area = getattr(cable, key)
        if area is not None and area not in allowed:
            near = min(allowed, key=lambda size: abs(size - area))
            context.faults.add((*path, key), f"{area:g} is not a size of {cable.material} in IEC 60228",
                               "in mm²: " + ", ".join(f"{size:g}" for size in allowed)
                               + "; for another, line = [R, X] in ohm", near)


def _loops(context):
    """Note each loop of `fed_from` once, at its first point in the file."""
    done = set(context.places)
    for name in context.points:
        walk = {}
        while name in context.points and name not in done and name not in walk:
            walk[name] = None
            name = context.points[name][1].fed_from
        if name in walk:
            loop = list(walk)[list(walk).index(name):]
            path = min(context.points[point][0] for point in loop)
            context.faults.add((*path, "fed_from"), "a loop: " + " from ".join(
                show(point) for point in [*loop[:6], *(["…"] if len(loop) > 6 else []), loop[0]]),
                'every point must lead back to "supply"')
        done.update(walk)


def _paths(context):
    for path, entry in context.draft.entries("path"):
        if entry.start == "earth":
            context.faults.add((*path, "from"), "a path starts at a point", 'write "earth" under to')
        else:
            context.refer((*path, "from"), entry.start, "point")
        context.refer((*path, "to"), entry.end, "point", ("earth",))
        if entry.start == entry.end:
            context.faults.add((*path, "to"), f"{show(entry.end)} is the start of the path", 'another point, or "earth"')
    if context.supply is not None and context.earthing is None and context.draft.file.path:
        context.warn("the [[path]] entries are not used: without supply.earthing the earthing system is not known")
