"""Which breaks lie between a point and the supply."""

from lostneutral.case.model import Break, Case, Cross, Point
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
