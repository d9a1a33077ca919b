"""Cases with more loads than a page has room for: like loads taken together, a street at one place."""

from dataclasses import replace

from lostneutral.case.model import Case, Path
from lostneutral.errors import UsageError
from lostneutral.loads import load_model

MOST = 24  #: loads on a page


def lumped_joint(case: Case):
    """Return (point, ohms): the run whose neutral the page opens and closes, and how the case leaves it.

    That of the first broken neutral in the file; if none is broken, that of the first point, sound.
    """
    broken = next((b for b in case.breaks_after() if b.conductor == "N"), None)
    return (broken.feeding, broken.resistance) if broken else (case.points[0].name, 0.0)


def fed_through(case: Case, name: str):
    """Yield the points through which the point `name` is fed, itself first."""
    while name != "supply":
        yield name
        name = case.point(name).fed_from


def as_impedances(case: Case):
    """Return (case, names) with every load of several ports as three impedances in delta, as it is on balanced lines, and their names."""
    loads, names = [], []
    for load in case.loads:
        model = load_model(load, case.supply)[0]
        if len(model.ports) > 1:
            names.append(load.name)
            ohms = 1 / complex(model.branch_admittance(load.voltage))
            load = replace(load, kind="impedance", connect=load.connect[:3], parameters={"resistance": ohms.real, "reactance": ohms.imag})
        loads.append(load)
    return replace(case, loads=tuple(loads)), tuple(names)


def lumped(case: Case) -> Case:
    """Return `case` with no more than `MOST` loads, itself if it has no more.

    First like loads of one point are taken together; if they are still too many, everything behind the joint is put
    at the point that the joint feeds (cables beyond it are left out, electrodes are in parallel), everything before it
    at the point that the joint is fed from, and like loads are taken together there. UsageError if that is not enough.
    """
    if len(case.loads) <= MOST:
        return case
    case = replace(case, observations=(), unknowns=(), priors=(), events=())  # they speak of loads that are no longer named
    together = replace(case, loads=_together(case.loads))
    if len(together.loads) > MOST:
        together = _street(case)
    if len(together.loads) > MOST:
        raise UsageError(f"{case.title}: {len(together.loads)} different loads — a page shows at most {MOST}; "
                         "leave out or combine some, or use `lostneutral report`")
    return together


def _together(loads):
    """Take loads of one kind, place and connection together; of those some of which are on, the ones that are off go."""
    alike = {}
    for load in loads:
        key = load.kind, load.connect, load.point, load.voltage, tuple(sorted((k, str(v)) for k, v in load.parameters.items()))
        alike.setdefault(key, []).append(load)
    made = []
    for members in alike.values():
        on = [load for load in members if load.on] or members
        names = {load.name.rpartition(", ")[0] or load.name for load in on}
        name = names.pop() if len(names) == 1 else on[0].name
        if len(on) > 1:
            name += f", {len(on)} together"
        made.append(replace(on[0], name=name, count=sum(load.count for load in on)))
    seen = {}
    for at, load in enumerate(made):  # names stay unique
        seen.setdefault(load.name, []).append(at)
    for name, places in seen.items():
        lines = [f"{name} ({'-'.join(made[at].connect)})" for at in places]
        for n, (at, told) in enumerate(zip(places, lines) if len(places) > 1 else ()):
            made[at] = replace(made[at], name=told if lines.count(told) == 1 else f"{told} {1 + lines[:n].count(told)}")
    return tuple(made)


def _street(case):
    run, _ = lumped_joint(case)
    kept = list(fed_through(case, run))[::-1]
    before = kept[-2] if len(kept) > 1 else None

    def place(name):
        return run if run in fed_through(case, name) else before

    electrodes = {}
    for point in case.points:
        if point.electrode is not None and place(point.name):
            electrodes.setdefault(place(point.name), []).append(point.electrode)
    points = tuple(replace(case.point(name), kind="intake" if name in (run, before) else case.point(name).kind,
                           phases=case.supply.lines if name in (run, before) else case.point(name).phases,
                           electrode=_parallel(electrodes.get(name, ()))) for name in kept)
    paths = []
    for path in case.paths:
        ends = [end if end == "earth" else place(end) for end in (path.start, path.end)]
        if None not in ends and ends[0] != ends[1]:
            paths.append(Path(*ends, path.resistance))
    loads = _together(tuple(replace(load, point=place(load.point)) for load in case.loads if place(load.point)))
    breaks = tuple(b for b in case.breaks_after() if b.feeding in kept)
    return replace(case, points=points, loads=loads, paths=tuple(paths), breaks=breaks,
                   crosses=tuple(c for c in case.crosses if c.point in kept))


def _parallel(ohms):
    if not ohms:
        return None
    return 0.0 if min(ohms) == 0 else 1 / sum(1 / r for r in ohms)
