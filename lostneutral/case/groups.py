"""Groups: similar premises along a main, written once and spread out into points and loads."""

from pydantic import ValidationError

from lostneutral.case.model import LINES

GOLDEN, SILVER = 0.6180339887498949, 0.4142135623730951  #: steps that spread any number of marks evenly over a length


def expanded(table):
    """Return the parsed file `table` with its groups spread out, and where each entry made so comes from.

    The second is {(key, index): path}, where `path(rest)` is the path in the file of the key `rest` of that entry.
    A group with an error, which will be reported, makes nothing.
    """
    groups = table.get("group")
    if not isinstance(groups, list) or not all(isinstance(table.get(key, []), list) for key in ("point", "load")):
        return table, {}
    from lostneutral.case.wiring_schema import GroupEntry

    made = table | {key: list(table.get(key, ())) for key in ("point", "load")}
    origins = {}
    lines = LINES[:2] if _system(table) == "split-phase" else LINES
    for number, raw in enumerate(groups):
        try:
            group = GroupEntry.model_validate(raw)
        except ValidationError:
            continue
        here = ("group", number)
        for key, entry, origin in _entries(group, raw, here, lines):
            origins[key, len(made[key])] = origin
            made[key].append(entry)
    return made, origins


def _system(table):
    supply = table.get("supply")
    return supply.get("system") if isinstance(supply, dict) else None


def _entries(group, raw, here, lines):
    before, every = group.fed_from, group.main_electrode_every
    on = [_dealt(load, i, group.count) for i, load in enumerate(group.load)]
    for k in range(group.count):
        joint, premises = f"{group.name} joint {k + 1}", f"{group.name} {k + 1}"
        main = {"name": joint, "kind": "joint", "fed_from": before}
        if group.main_electrode is not None and (k + 1) % every == 0:
            main["electrode"] = group.main_electrode
        yield "point", main | _cable(raw, "spacing"), _of_point(here, "spacing", "main_electrode")
        home = {"name": premises, "fed_from": joint}
        if group.phases == "single":
            home["phases"] = [lines[k % len(lines)]]
        if group.electrode is not None:
            home["electrode"] = group.electrode
        yield "point", home | _cable(raw, "service"), _of_point(here, "service", "electrode")
        for i, load in enumerate(raw.get("load", ())):
            line = lines[(k if group.phases == "single" else k + i) % len(lines)]
            yield "load", _load(load, premises, line, k in on[i]), _of_load((*here, "load", i))
        before = joint


def _cable(raw, key):
    return {"cable": raw[key]} if key in raw else {}


def _load(load, premises, line, is_on):
    entry = {key: value for key, value in load.items() if key != "share"} | {"point": premises}
    if isinstance(entry.get("name"), str):
        entry["name"] = f"{entry['name']}, {premises}"
    connect = entry.get("connect", "L-N")
    if isinstance(connect, str):
        entry["connect"] = "-".join(line if part == "L" else part for part in connect.split("-"))
    if not is_on and entry.get("on", True) is True:
        entry["on"] = False
    return entry


def _dealt(load, i, count):
    """Return the premises in which load `i` of a group is on: always the same, spread evenly along the main."""
    order = sorted(range(count), key=lambda k: ((k + 1) * GOLDEN + i * SILVER) % 1)
    return frozenset(order[:round(load.share * count)])


def _of_point(here, cable, electrode):
    """Return the function that finds a key of a point in the group it was made from."""
    keys = {"cable": cable, "electrode": electrode}

    def path(rest):
        return (*here, keys.get(rest[0], rest[0]), *rest[1:]) if rest and rest[0] != "kind" else here

    return path


def _of_load(here):
    return lambda rest: (*here, *rest) if rest and rest[0] != "point" else here
