"""What the answer hangs on: quantities that were assumed, varied one at a time between plausible ends."""

from dataclasses import replace

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import EARTH, terminal_names
from lostneutral.consequences.harm import harm_of
from lostneutral.consequences.limits import band, verdict
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model
from lostneutral.loads.catalogue import resolve
from lostneutral.studies.near import near

_DATA = data.load("hinges")


@dataclass(frozen=True)
class Change:
    """One thing that the ends of a quantity change: as it is, and at the lower and the upper end (None: no state there)."""

    what: str  #: "metalwork" | "item" | "line"
    name: str  #: the point, the item, or the line at `point`
    point: str
    given: object  #: V of metalwork, outcome of an item, verdict of a line
    low: object
    high: object


@dataclass(frozen=True)
class Hinge:
    """An assumed quantity on which danger, an item's outcome or the sign of a deviation hangs."""

    key: str  #: of the data file `hinges`
    of: str  #: the item, or the point that the cable feeds
    unit: str
    given: float
    ends: tuple[float, float]
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Hinges:
    found: tuple[Hinge, ...]
    varied: int  #: quantities that were varied
    left: int  #: … and that were not, because there are too many


def hinges(case: Case, solution: Solution) -> Hinges:
    """Return what hangs on the assumed quantities of `case` (as it stands in the end), settled in `solution`.

    Each is set to both ends of its plausible range and the settled state next to `solution` looked for. Quantities,
    ends and the most states that are worked out are those of the data file `hinges`.
    """
    quantities = list(_quantities(case))
    most = int(_DATA["most"]["solves"]) // 2
    given = _told(case, solution)
    found = []
    for key, of, unit, value, ends, change in quantities[:most]:
        told = [_told(changed, near(changed, solution)) for changed in map(change, ends)]
        changes = tuple(_changes(given, *told))
        if changes:
            found.append(Hinge(key, of, unit, value, ends, changes))
    return Hinges(tuple(found), len(quantities[:most]), len(quantities[most:]))


def _quantities(case):
    """Yield (key, item or point, unit, value, ends, what makes the changed case) of every assumed quantity, largest first."""
    for entry in _DATA["quantity"]:
        if entry["kinds"]:
            yield from _of_loads(case, entry)
        else:
            yield from _of_joints(case, entry)


def _of_loads(case, entry):
    key = entry["key"]
    kept = [(n, load) for n, load in enumerate(case.loads) if load.on and resolve(load).kind in entry["kinds"]
            and key not in load.parameters]
    kept.sort(key=lambda pair: -(resolve(pair[1]).parameters.get("power") or 0.0) * pair[1].count)
    for n, load in kept:
        model = load_model(load, case.supply)[0]
        scale = load.voltage / entry["of_nominal"]
        ends = (entry["low"] * scale, min(entry["high"] * scale, 0.95 * float(model.works_to)))
        yield key, load.name, entry["unit"], float(getattr(model, key)), ends, lambda end, n=n, load=load: replace(
            case, loads=(*case.loads[:n], replace(load, parameters=dict(load.parameters) | {key: end}), *case.loads[n + 1:]))


def _of_joints(case, entry):
    unknown = {(u.feeding, u.conductor): u.resistance for u in case.unknowns if u.resistance is not None}
    for n, b in enumerate(case.breaks):
        spread = unknown.get((b.feeding, b.conductor))
        if spread is None or not 0 < b.resistance < float("inf"):
            continue
        ends = tuple(f * b.resistance for f in entry["factors"])
        yield entry["key"], b.feeding, entry["unit"], b.resistance, ends, lambda end, n=n, b=b: replace(
            case, breaks=(*case.breaks[:n], replace(b, resistance=end), *case.breaks[n + 1:]))


def _told(case, solution):
    """Return {(what, name, point): figure or word} by which two states are held against one another; None without one."""
    if solution is None:
        return None
    limits, told = band(case.supply.limits), {}
    for point in case.points:
        if "PE" in terminal_names(case, point):
            volts = solution.between((point.name, "PE"), EARTH)
            told["metalwork", point.name, point.name] = None if volts is None else abs(volts)
        for line in point.phases:
            volts = solution.voltage(point.name, line)
            told["line", line, point.name] = verdict(None if volts is None else abs(volts) / case.supply.nominal, limits)
    for load, seen in zip(case.loads, solution.loads):
        if load.on:
            model = load_model(load, case.supply)[0]
            told["item", load.name, load.point] = harm_of(load, model, seen, limits).outcome
    return told


def _changes(given, low, high):
    """Yield what differs in kind: metalwork across the touch limit, another outcome, a deviation of the other sign."""
    limit = data.load("touch")["limit_normal"]["value"]
    for key, now in given.items():
        ends = [told[key] if told else None for told in (low, high)]
        if key[0] == "metalwork":
            known = [v for v in (now, *ends) if v is not None]
            differs = bool(known) and min(known) <= limit < max(known) or (
                now is not None and any(v is not None and abs(v - now) > max(0.25 * now, 10.0) and max(v, now) > limit
                                        for v in ends))
        elif key[0] == "line":
            differs = any({now, end} == {"over", "under"} or {now, end} == {"over", "dead"} for end in ends if end)
        else:
            differs = any(end is not None and end != now for end in ends)
        if differs:
            yield Change(key[0], key[1], key[2], now, *ends)
