"""A long street seen coarser: of its points only some, and the premises of a stretch that are fed alike as one at its beginning."""

from collections import Counter
from dataclasses import replace
from functools import partial
from itertools import pairwise
from math import inf

from lostneutral.case.model import Case, Point
from lostneutral.circuit.wiring import terminal_names
from lostneutral.evidence.effects import point_words
from lostneutral.evidence.places import tried
from lostneutral.evidence.scale import UNDECIDED

LONG = 100  #: points above which a street is long
FIRST = 10  #: runs that are looked at first, and again in the stretch that these leave
FEWER = 3  #: of the runs outside that stretch one in so many stays
HEAVY = 4.0  #: of the mean power of premises of a stretch, above which one stays by itself
NEAR = 10.0  #: likelihood ratio to the best within which a run is looked at more closely


def is_long(case: Case) -> bool:
    """Return whether `case` has so many points that it is looked at coarser first."""
    return len(case.points) > LONG


def spread_over(names, count=FIRST):
    """Return some `count` of `names`, evenly spread, the first among them."""
    return tuple(names[:: max(-(-len(names) // count), 1)])


def narrowed(case: Case, chosen, ratios) -> tuple[str, ...]:
    """Return the runs to look at next: all or more of them where those of `chosen` fit best, fewer elsewhere.

    `ratios` are {run: likelihood ratio of the best fitting cause to that in the run}. Between two runs that fit alike none is told
    apart from them. Where every other run of the stretch that fits was among `chosen`, these are returned.
    """
    every, best = [p.name for p in tried(case)], min(ratios.values())
    at = [k for k, name in enumerate(every) if name in chosen]
    near = [k for k in at if ratios.get(every[k], inf) < NEAR * best]
    low = max((k for k in at if k < near[0]), default=0)
    high = min((k for k in at if k > near[-1]), default=len(every) - 1)
    alike = {k for a, b in pairwise(at) if a in near and b in near and _alike(ratios[every[a]], ratios[every[b]]) for k in range(a, b)}
    untried = [k for k in range(low, high + 1) if k not in at and k not in alike]
    if not untried:
        return chosen
    outside = [k for k in at if not low <= k <= high][::FEWER]
    wanted = {low, high, *(k for k in at if low <= k <= high), *outside, *spread_over(untried)}
    return tuple(name for k, name in enumerate(every) if k in wanted)


def _alike(one, other):
    """Return whether nothing tells two causes apart, by their likelihood ratios to the best."""
    return max(one, other) < UNDECIDED * min(one, other)


def shared_out(case: Case, found, chosen):
    """Return the rivals of `found` in the runs `chosen`, each with the prior of those between it and the next."""
    every = [p.name for p in tried(case)]
    stands, now = {}, chosen[0]
    for name in every:
        now = name if name in chosen else now
        stands[name] = now
    prior = Counter()
    for rival in found:
        prior[rival.kind, stands.get(rival.at, rival.at)] += rival.prior
    return tuple(replace(r, prior=prior[r.kind, r.at]) if r.at in stands else r for r in found if stands.get(r.at, r.at) == r.at)


def thinned(case: Case, chosen) -> tuple[Case, dict[str, str]]:
    """Return `case` with the points `chosen`, those of which something is said and what feeds these; and what stands for each point.

    A run to a point that stays has the impedance of all runs on the way from the next one. The premises in between that hang
    on the same lines are one in the middle of the load of their stretch: their like loads, electrodes and cables in parallel.
    """
    by_name = {p.name: p for p in case.points}
    said, loaded = _said(case), {}
    for load in case.loads:
        loaded.setdefault(load.point, []).append(load)
    keep = {*chosen, *said, *(by_name[name].fed_from for name in said)} - {"supply"}
    power = {p.name: sum(x.count * float(x.parameters.get("power") or 1.0) for x in loaded.get(p.name, ()) if x.on) for p in case.points}
    stretches = _stretches(case, by_name, loaded, keep)
    for own in stretches.values():
        mean = sum(power[p.name] for p in own) / len(own)
        keep |= {name for p in own if power[p.name] > HEAVY * mean for name in (p.name, p.fed_from)} - {"supply"}
    stretches = _stretches(case, by_name, loaded, keep)
    middles = {above: _middle(own, power) for above, own in stretches.items()}
    keep |= {*middles.values()} - {"supply"}
    stands, alike, above = {name: name for name in keep}, {}, next_kept(by_name, keep)
    points = [replace(p, fed_from=above[p.name], cable=_in_series(_way(by_name, p, above[p.name]))) for p in case.points if p.name in keep]
    for begin, own in stretches.items():
        for point in (p for p in own if p.name not in keep):
            alike.setdefault((middles[begin], point.phases, point.kind), []).append(point)
    loads = [load for load in case.loads if load.point in keep]
    for (middle, *_), own in alike.items():
        points.append(_together(own, middle))
        loads += _summed([load for point in own for load in loaded.get(point.name, ())], own[0].name)
        stands |= {point.name: own[0].name for point in own}
    for point in case.points:
        if point.name not in stands:
            stands[point.name] = points[0].name if above[point.name] == "supply" else above[point.name]
    return replace(case, points=tuple(points), loads=tuple(loads), breaks=(), crosses=()), stands


def everywhere(case, outcomes, stands):
    """Return `outcomes` with what stands at every point of `case`: at one that was left out what does at that which stands for it."""
    alike = [(stands[p.name], tuple(terminal_names(case, p))) for p in case.points]
    nodes = [(p.name, c) for p, (_, terminals) in zip(case.points, alike) for c in terminals]
    known = [(other, c) for other, terminals in alike for c in terminals]
    names, one_of = [p.name for p in case.points], dict(zip(alike[::-1], case.points[::-1]))

    def settled(outcome):
        if outcome.solution is None:
            return None, {}
        stand = outcome.solution.nodes
        whole = replace(outcome.solution, nodes={**stand, **dict(zip(nodes, map(stand.get, known)))})
        words = {ends: point_words(case, p, whole) for ends, p in one_of.items()}
        return whole, dict(zip(names, map(words.get, alike)))

    return tuple(replace(outcome, settles=partial(settled, outcome)) for outcome in outcomes)


def next_kept(by_name, keep) -> dict[str, str]:
    """Return {point: the next of `keep` on its way to the supply, or "supply"}, every cable looked at once."""
    made = {}
    for name in by_name:
        way = [name]
        while (above := by_name[way[-1]].fed_from) != "supply" and above not in keep and above not in made:
            way.append(above)
        made |= dict.fromkeys(way, above if above == "supply" or above in keep else made[above])
    return made


def _way(by_name, point, above):
    """The points from `point` up to below `above`."""
    way = [point]
    while way[-1].fed_from != above:
        way.append(by_name[way[-1].fed_from])
    return way


def _stretches(case, by_name, loaded, keep):
    """{point of `keep` or "supply": the points with loads or an electrode between it and the next}."""
    made, above = {}, next_kept(by_name, keep)
    for point in case.points:
        if point.name not in keep and (point.name in loaded or point.electrode is not None):
            made.setdefault(above[point.name], []).append(point)
    return made


def _middle(points, power):
    """The name of what feeds that of `points`, in their order, up to which half of the power of all hangs."""
    half, total = sum(power[p.name] for p in points) / 2, 0.0
    for point in points:
        total += power[point.name]
        if total >= half:
            break
    return point.fed_from


def _said(case):
    """Names of the points that the case says something of, beyond what hangs there."""
    where = {load.name: load.point for load in case.loads}
    loads = [o.load for o in case.observations] + [e.load for e in case.events] + [u.load for u in case.unknowns]
    loads += [name for u in case.unknowns for name in u.one_of]
    loads += [name for o in case.observations for name in (*o.details.get("with_on", ()), *o.details.get("with_off", ()))]
    loads += [o.details["sooner_than"] for o in case.observations if "sooner_than" in o.details]
    names = [o.point for o in case.observations] + [u.feeding for u in case.unknowns] + [u.point for u in case.unknowns]
    names += [d.point for d in case.devices] + [c.point for c in case.changeovers] + [r.point for r in case.recordings]
    names += [end for path in case.paths for end in (path.start, path.end)] + [e.change.feeding for e in case.events if e.change]
    names += [where[load.name] for load in case.loads if load.name in loads]
    return {name for name in names if name in {p.name for p in case.points}}


def _in_series(way):
    lengths = [p.cable.given.get("length") for p in way]
    given = {**way[0].cable.given, **({"length": sum(lengths)} if all(lengths) else {})}
    return replace(way[0].cable, given=given, **{name: sum(getattr(p.cable, name) for p in way) for name in ("line", "neutral", "pe")})


def _together(own, above) -> Point:
    """Points side by side as one: their runs and electrodes in parallel, the length of all their cables."""
    cable, count = own[0].cable, len(own)
    given = {**cable.given, **({"length": cable.given["length"] * count} if cable.given.get("length") else {})}
    earths = [p.electrode for p in own if p.electrode]
    return replace(own[0], fed_from=above, electrode=1 / sum(1 / ohms for ohms in earths) if earths else None,
                   cable=replace(cable, given=given, **{name: getattr(cable, name) / count for name in ("line", "neutral", "pe")}))


def _summed(loads, point):
    """Loads of which like ones are one with their count."""
    alike = {}
    for load in loads:
        alike.setdefault((load.kind, load.connect, load.voltage, load.on, tuple(sorted(load.parameters.items()))), []).append(load)
    return [replace(own[0], point=point, count=sum(load.count for load in own)) for own in alike.values()]
