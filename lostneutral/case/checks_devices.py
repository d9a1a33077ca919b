"""What must hold for protective devices: the keys of each kind, and where they stand."""

from lostneutral import data
from lostneutral.case import resolve
from lostneutral.case.faults import quoted
from lostneutral.case.model import Installed

OWN = {"residual-current device": ("type", "rated_residual", "supply"), "circuit-breaker": ("type", "rated_current"),
       "fuse": ("rated_current",), "voltage relay": ("low", "high", "within"),
       "open-PEN device": ("low", "high", "touch", "within"), "isolation monitor": ()}
"""Kind of device -> the keys that it has beside name, kind, point and poles."""
TYPES = {"residual-current device": ("AC", "A", "F", "B", "S"), "circuit-breaker": ("B", "C", "D")}


def check_devices(context):
    """Each device has the keys of its kind, and poles that are in its cable."""
    for path, entry in context.draft.entries("device"):
        point = context.point_of(path, entry.point)
        keys = {key for own in OWN.values() for key in own} - set(OWN[entry.kind])
        context.only_with(path, entry, keys, "another kind of device; this one has " + (", ".join(OWN[entry.kind]) or "none of them"))
        allowed = TYPES.get(entry.kind, ())
        if entry.type is not None and allowed and entry.type not in allowed:
            context.faults.add((*path, "type"), f'"{entry.type}" is no type of a {entry.kind}', "one of " + quoted(allowed))
        if entry.kind in ("circuit-breaker", "fuse") and entry.rated_current is None:
            context.faults.add((*path, "rated_current"), "is missing", "rated current, A")
        if entry.kind == "voltage relay" and entry.low is None and entry.high is None:
            context.faults.add(path, "neither low nor high is given", "at least one of them, in V")
        if entry.low is not None and entry.high is not None and entry.low >= entry.high:
            context.faults.add((*path, "high"), f"{entry.high:g} is not above low, {entry.low:g}", "a voltage range, in V")
        place = context.places.get(point)
        if place is None or context.supply is None:
            continue
        if entry.kind == "residual-current device" and resolve.feeds_by_pen(context.earthing, place.kind):
            context.faults.add(path, f"in {context.earthing} neutral and earth are one conductor (PEN) in its cable, where no "
                               "residual-current device can stand", "a point behind which they are separate")
        there = (*place.phases, "N", "PE")
        for index, pole in enumerate(entry.poles or ()):
            if pole not in there:
                context.faults.add((*path, "poles", index), f"{pole} is not connected there", "of " + quoted(there))
        if context.earthing is None and entry.touch is not None:
            context.warn(f"touch of device \"{entry.name}\" is not judged: without supply.earthing no voltage to earth is calculated")


def installed(file, points, assumed):
    """Return the devices of a case file as `Installed`; `points` {name: Point}."""
    made = []
    for entry in file.device:
        point = points[entry.point or next(iter(points))]
        given = entry.model_dump(exclude_none=True) | {"point": point.name, "poles": tuple(entry.poles or (*point.phases, "N"))}
        if entry.kind == "residual-current device" and entry.rated_residual is None:
            assumed.note(f"device {entry.name!r}", "rated residual current", "30 mA", "not given: the usual one for additional protection")
        if entry.kind == "open-PEN device":
            usual = data.load("protection")["open_pen_device"]
            for key, what, value in (("low", "line to neutral below which it opens", f"{usual['low']:g} V"),
                                     ("high", "line to neutral above which it opens", f"{usual['high']:g} V"),
                                     ("within", "time within which it opens", f"{usual['window_disconnect_within']:g} s")):
                if getattr(entry, key) is None:
                    assumed.note(f"device {entry.name!r}", what, value, f"{usual['source']} ({data.KNOWN[usual['known']]})")
            given = {"low": usual["low"], "high": usual["high"], "within": usual["window_disconnect_within"]} | given
        made.append(Installed(**given))
    return tuple(made)
