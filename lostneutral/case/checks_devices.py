"""What must hold for protective devices: the keys of each kind, and where they stand."""

from lostneutral import data
from lostneutral.case import resolve
from lostneutral.case.defaults import NOMINAL
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
        nominal = context.supply and (context.supply.nominal or NOMINAL[context.supply.system])
        if entry.kind == "open-PEN device" and nominal and not usual_window(nominal) and (entry.low, entry.high, entry.touch) == (None, None, None):
            context.faults.add(path, f"low, high and touch are not given, and the usual low and high are not for {nominal:g} V", "at least one of them, in V")
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


def usual_window(nominal: float) -> dict[str, float]:
    """Return {"low", "high"} (V) of a usual open-PEN device that watches line to neutral; {} where the nominal voltage (V) is outside them."""
    entry = data.load("protection")["open_pen_device"]
    return {key: entry[key] for key in ("low", "high")} if entry["low"] < nominal < entry["high"] else {}


def installed(file, nominal, points, assumed):
    """Return the devices of a case file as `Installed`; `nominal` V of its supply, `points` {name: Point}."""
    made = []
    for entry in file.device:
        point = points[entry.point or next(iter(points))]
        given = entry.model_dump(exclude_none=True) | {"point": point.name, "poles": tuple(entry.poles or (*point.phases, "N"))}
        if entry.kind == "residual-current device" and entry.rated_residual is None:
            assumed.note(f"device {entry.name!r}", "rated residual current", "30 mA", "not given: the usual one for additional protection")
        if entry.kind == "open-PEN device":
            table = data.load("protection")["open_pen_device"]
            usual = usual_window(nominal) | {"within": table["window_disconnect_within"]}
            for key, what, unit in (("low", "line to neutral below which it opens", "V"), ("high", "line to neutral above which it opens", "V"),
                                    ("within", "time within which it opens", "s")):
                if getattr(entry, key) is None and key in usual:
                    assumed.note(f"device {entry.name!r}", what, f"{usual[key]:g} {unit}", f"{table['source']} ({data.KNOWN[table['known']]})")
            given = usual | given | {"assumed": tuple(key for key in usual if key not in given)}
        made.append(Installed(**given))
    return tuple(made)
