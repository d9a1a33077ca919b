"""What must hold for breaks, crossed conductors and events."""

from lostneutral.case import resolve
from lostneutral.case.checks_sources import CONTACTS, check_fuse
from lostneutral.case.faults import show

EVENTS = {"run": "a cable (break)", "load": "a load", "fuse": "a fuse", "changeover": "a changeover"}


def check_breaks(context):
    """Breaks are in existing conductors, one resistance for each."""
    seen = {}
    for path, entry in context.draft.entries("break"):
        if entry.fuse is not None:
            context.only_with(path, entry, ("feeding", "conductor"), "a break in a cable")
            check_fuse(context, path)
            context.unique(seen, entry.fuse, path, f"a second break of the fuse of {entry.fuse}", "one for each line")
            continue
        feeding = entry.feeding or (context.names["point"] or [None])[0]
        if context.refer((*path, "feeding"), feeding, "point"):
            context.conductor((*path, "conductor"), feeding, entry.conductor)
        context.unique(seen, (feeding, resolve.conductor_named(entry.conductor)), path,
                       f"a second break of {entry.conductor} in the cable to {show(feeding)}",
                       "one [[break]] for each conductor of a cable; add the resistances")


def check_crosses(context):
    """Crossed conductors are two different ones of the cable, once for each point."""
    seen = {}
    for path, entry in context.draft.entries("cross"):
        point = context.point_of(path, entry.point)
        if point is None:
            continue
        for index, conductor in enumerate(entry.conductors):
            context.conductor((*path, "conductors", index), point, conductor)
        if len({resolve.conductor_named(c) for c in entry.conductors}) == 1:
            context.faults.add((*path, "conductors"), f"{entry.conductors[0]} is named twice", "two different conductors")
        context.unique(seen, point, path, f"a second [[cross]] at point {show(point)}", "one for each point")


def check_events(context):
    """Events name what is there, change it once at an instant, and mend only what is broken."""
    seen, kept = {}, []
    for path, event in context.draft.entries("event"):
        which = context.one_of(path, event, ("run", "load", "fuse", "changeover"),
                               "break = a point and resistance, load and on, fuse, or changeover and to")
        if which is not None:
            mine = {"run": ("conductor", "resistance"), "load": ("on",), "fuse": ("resistance",), "changeover": ("to", *CONTACTS)}
            for owner, keys in mine.items():
                rest = [key for key in keys if key not in mine[which]]
                context.only_with(path, event, rest, f"an event of {EVENTS[owner]}")
        if which == "run":
            if context.refer((*path, "break"), event.run, "point"):
                context.conductor((*path, "conductor"), event.run, event.conductor)
            context.unique(seen, (event.time, event.run, resolve.conductor_named(event.conductor)), path,
                           f"a second change of {event.conductor} in the cable to {show(event.run)} at {event.time:g} s",
                           "one change to a conductor at an instant")
            kept.append((path, event))
        elif which == "fuse":
            check_fuse(context, path)
            context.unique(seen, (event.time, event.fuse), path, f"a second change of the fuse of {event.fuse} at {event.time:g} s",
                           "one change at an instant")
            kept.append((path, event))
        elif which == "changeover":
            context.refer((*path, "changeover"), event.changeover, "changeover")
            if event.to is None:
                context.faults.add((*path, "to"), "is missing", 'one of "supply", "generator"')
        elif which == "load":
            context.refer((*path, "load"), event.load, "load")
            if event.on is None:
                context.faults.add((*path, "on"), "is missing", "true or false")
            context.unique(seen, (event.time, event.load), path,
                           f"load {show(event.load)} is switched twice at {event.time:g} s",
                           "one change to a load at an instant")
    if not any(path[0] in ("break", "event") for path in context.draft.aside):
        _mending(context, kept)


def check_course(context):
    """The course is followed at least as far as the last event."""
    course = context.draft.file.course
    end = course and course.end
    for path, event in context.draft.entries("event"):
        if end is not None and event.time > end:
            context.faults.add((*path, "time"), f"{event.time:g} s is after the end of the simulation at {end:g} s",
                               "an event no later than course.end, or a later end")


def _mending(context, events):
    first = (context.names["point"] or [None])[0]
    held = {b.fuse or (b.feeding or first, resolve.conductor_named(b.conductor)): b.resistance for b in context.draft.file.breaks}
    for path, event in sorted(events, key=lambda pair: pair[1].time):
        conductor = event.fuse or (event.run, resolve.conductor_named(event.conductor))
        if event.resistance == 0 and not held.get(conductor):
            what = f"the fuse of {event.fuse}" if event.fuse else f"{event.conductor} in the cable to {show(event.run)}"
            context.faults.add((*path, "resistance"), f"0 restores {what}, which is intact at {event.time:g} s",
                               "a break or an earlier event before it is restored")
        held[conductor] = event.resistance
