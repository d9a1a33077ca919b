"""Which breaks lie between a point and the supply."""

from math import isinf

from lostneutral.case.model import Break, Case, Cross, Point
from lostneutral.case.resolve import run_conductors
from lostneutral.circuit.wiring import cores, pen_run


def faulted(case: Case) -> bool:
    """Return whether a conductor of `case` is broken, bad or transposed once its events are over."""
    return bool(case.breaks_after() or case.crosses)


def way_to_supply(case: Case, point: Point) -> tuple[Point, ...]:
    """Return the points whose runs lead from `point` back to the supply, or the generator that feeds it; `point` first."""
    way = [point]
    while way[-1].fed_from != "supply" and case.generator_of(way[-1].name) is None:
        way.append(case.point(way[-1].fed_from))
    return tuple(way)


def without_supply(case: Case, point: Point) -> bool:
    """Return whether a changeover that stands on neither side, as it moves, is between `point` and every source."""
    off = {c.point for c in case.changeovers if c.position == "off"}
    return bool(off) and any(p.name in off for p in way_to_supply(case, point))


def breaks_towards(case: Case, point: Point, conductor: str) -> tuple[Break, ...]:
    """Return the breaks and bad joints between `point` and the supply in what arrives at it as `conductor`, transposed or not."""
    broken = case.breaks_after()
    way = cores(case, point, conductor, {c.point: c.conductors for c in case.crosses}) if broken else ()
    return tuple(b for b in broken if (b.feeding, b.conductor) in way and (b.part == "contact" or case.generator_of(b.feeding) is None))


def pen_breaks(case: Case, point: Point) -> tuple[Break, ...]:
    """Return the breaks and bad joints in a combined conductor (PEN) between `point` and the supply."""
    return tuple(b for b in breaks_towards(case, point, "PE") if pen_run(case, case.point(b.feeding)))


def crosses_towards(case: Case, point: Point) -> tuple[Cross, ...]:
    """Return the exchanges between `point` and the supply that reach its protective conductor."""
    return tuple(c for p in (way_to_supply(case, point) if case.crosses else ()) for c in case.crosses
                 if c.point == p.name and ("PE" in c.conductors or ("N" in c.conductors and pen_run(case, p))))


def unearthed(case: Case) -> frozenset[str]:
    """Return the names of the points whose earth terminal no conductor of `case` joins to an electrode that is given, other than the supply's."""
    top = _earthed_from(case)
    earthed = {top[p.name] for p in case.points if p.electrode is not None}
    return frozenset(name for name in top if top[name] not in earthed)


def electrode_left_out(case: Case) -> frozenset[str]:
    """Return the names of those `unearthed` that in TT are joined to an intake's: there is an electrode, but nobody said what it has."""
    if case.supply.earthing != "TT":
        return frozenset()
    top = _earthed_from(case)
    of = lambda points: {top[p.name] for p in points}
    left_out = of(p for p in case.points if p.kind == "intake") - of(p for p in case.points if p.electrode is not None)
    return frozenset(name for name in top if top[name] in left_out)


def _earthed_from(case):
    """{name of each point: the topmost point to whose earth terminal a sound conductor joins its own}."""
    broken = {(b.feeding, b.conductor) for b in case.breaks_after() if isinf(b.resistance)}
    above = {p.name: p.fed_from for p in case.points if _earth_joined(case, p) and (p.name, "N" if pen_run(case, p) else "PE") not in broken}

    def top(name):
        while name in above:
            name = above[name]
        return name

    return {p.name: top(p.name) for p in case.points}


def _earth_joined(case, point):
    """Whether the run that feeds `point` joins its earth terminal to that of another point."""
    return point.fed_from != "supply" and (pen_run(case, point) or "PE" in run_conductors(case.supply.earthing, point))


def beyond(case: Case, point: Point) -> frozenset[str]:
    """Return the names of `point` and of every point that is fed through it, as changeovers stand."""
    fed = {}
    for p in (p for p in case.points if case.generator_of(p.name) is None):
        fed.setdefault(p.fed_from, []).append(p.name)
    names, waiting = set(), [point.name]
    while waiting:
        name = waiting.pop()
        names.add(name)
        waiting += fed.get(name, ())
    return frozenset(names)
