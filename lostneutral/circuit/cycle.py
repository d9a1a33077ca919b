"""A circuit that does not settle: one turn of its cycle, with the extremes and r.m.s. of everything in it."""

from itertools import pairwise

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.arrival import ALIKE, LONGEST, ROUGH, Arrival
from lostneutral.circuit.course import Clocks, Stretch, stretch, switched
from lostneutral.circuit.network import Network
from lostneutral.circuit.outcome import moment
from lostneutral.circuit.paths import KeptPath, known_paths
from lostneutral.circuit.record import ABOUT
from lostneutral.circuit.solution import Solution
from lostneutral.frozen import dataclass

MOST_CHANGES = 120  #: of modes and delays in one turn
MOST_FIRST = 16  #: the same, on the way there
FIRST = 600.0  #: s, followed at most on the way there
TWO_CYCLES = 2.0  #: of the supply, before which phasors mean little
LEVELS = 8  #: parts of the range of a load's voltage in a turn, of each of which is told for how long it lasts
NEAR = 1e-3  #: nominal voltages by which a moment may miss an extreme that it stands for
EARTH = ("earth", "")


@dataclass(frozen=True, eq=False)
class Cycle:
    """One turn. `figures` is what the result file has of it, `moments` are those at which something is at its extreme."""

    figures: dict
    moments: tuple[Solution, ...]
    dwells: tuple[float, ...]  #: s that each lasts at a time, lines and metalwork about as they are


def one_turn(case: Case, arrived: Arrival, spread=None, known=None) -> Cycle:
    """Follow the cycle that `arrived` found for one period and return what everything in it meets.

    Where `arrived` is of a lump of the case's loads, `spread` makes each stretch of its course one of all of them. `known` as in `arrive`.

    `figures`: "period" (s); by name "loads", "lines" (line to neutral, "point L1"), "neutrals" and "metalwork" (to remote
    earth), "links" (V d.c.), each with "lowest", "highest" and "rms" (V), loads with "levels" besides ((V, share of the turn)); "restarts": for each restart in the turn when
    (s from its beginning), which load, and the highest voltage (V) that each load then meets until something else switches.
    """
    until = arrived.time + arrived.period
    parts = list(_passed(arrived.net, case.supply.nominal, arrived.state, arrived.clocks, arrived.time, until, MOST_CHANGES, known=known))
    parts = _turned_once(parts, arrived.period)
    parts = list(map(spread, parts)) if spread else parts
    told = [_seen(case, part) for part in parts]
    times = np.concatenate([part.times for part in parts])
    figures = {"period": arrived.period}
    extremes = []  # how far (V) each instant is from the extreme of each quantity
    for kind in ("loads", "lines", "neutrals", "metalwork", "links"):
        figures[kind] = {}
        for name in told[0][kind]:
            volts = _along(told, kind, name)
            figures[kind][name] = {"lowest": float(volts.min()), "highest": float(volts.max()), "rms": _rms(times, volts)}
            if kind == "loads":
                rated = next(load.voltage for load in case.loads if load.name == name)
                figures[kind][name]["levels"] = _levels(times, volts, rated)
            extremes += [volts.max() - volts, volts - volts.min()]
    figures["restarts"] = _restarts(case, parts, told)
    rows = _few(extremes, NEAR * case.supply.nominal)
    made = _moments(case, parts, told, rows)
    return Cycle(figures, tuple(one for one, *_ in made), tuple(lasts for *_, lasts in made))


def _turned_once(parts, period):
    """Return `parts` without what begins the next turn: the changes with which this one began, once more."""
    changes = [(a.net.conditions, b.net.conditions) for a, b in pairwise(parts)]
    late = sum(part.times[0] - parts[0].times[0] >= (1 - ALIKE) * period for part in parts)
    again = next((k for k in range(min(late, len(changes) // 2), 0, -1) if changes[-k:] == changes[:k]), 0)
    return parts[:len(parts) - again]


def _moments(case, parts, told, rows):
    """Return (moment, s at which it is, s for which lines and metalwork stay about as they are) of each of `rows`."""
    times = np.concatenate([part.times for part in parts])
    volts = np.array([_along(told, kind, name) for kind in ("lines", "metalwork") for name in told[0][kind]])
    at = [(part, n) for part in parts for n in range(len(part.times))]
    made = []
    for row in rows:
        like = (np.abs(volts - volts[:, row:row + 1]) <= ABOUT * case.supply.nominal).all(axis=0)
        first = row - int(np.argmin(like[row::-1])) if not like[row::-1].all() else -1
        last = row + int(np.argmin(like[row:])) if not like[row:].all() else len(times)
        part, n = at[row]
        made.append((moment(case, part.net, part.states[n]), float(times[first + 1]), float(times[last - 1] - times[first + 1])))
    return made


def on_the_way(case: Case, net: Network, start, known=None) -> tuple[tuple[Solution, float, float], ...]:
    """Return the moments at which a line or metalwork is at its extreme before a circuit comes to its end.

    Each with the time (s) from which, and for which, lines and metalwork stay about as they are. `start` are the states of the loads when the fault
    begins. Followed where loads go off or come back after delays of their own, as far as their first changes; () where
    there are none. The first two cycles of the supply are left out.
    """
    if not any(model.waits for model in net.models):
        return ()
    parts = list(_passed(net, case.supply.nominal, start, Clocks().at(net, 0.0), 0.0, FIRST, patient=False, known=known))
    last = parts[-1]
    if not last.ended_by and (last.times[-1] >= FIRST or Clocks().at(last.net, 0.0).due(last.net) == np.inf):  # nothing switches any more
        parts = parts[:-1]
    if not parts:
        return ()
    told, times = [_seen(case, part) for part in parts], np.concatenate([part.times for part in parts])
    late = times >= TWO_CYCLES / case.supply.frequency
    if not late.any():
        return ()
    extremes = []
    for kind in ("lines", "metalwork"):
        for name in told[0][kind]:
            volts = _along(told, kind, name)
            extremes += [np.where(late, volts[late].max() - volts, np.inf), np.where(late, volts - volts[late].min(), np.inf)]
    return tuple(_moments(case, parts, told, _few(extremes, NEAR * case.supply.nominal) if extremes else ()))


def _passed(net, nominal, state, clocks, time, until, most=MOST_FIRST, patient=True, known=None):
    """Yield the stretches from `time` to `until` (s), each with the network as it then stands, through at most `most` changes.

    Unless `patient` the last one, in which no delay runs, ends where its loads would long have settled: some swing for ever.
    """
    known = {} if known is None else known
    for _ in range(most):
        paths = known_paths(known, net, nominal, ROUGH)
        due = clocks.due(net)
        end = min(until, due)
        if not patient and due == np.inf:
            end = min(end, time + LONGEST * max(paths.dynamics.slowest, 1e-3))
        part = stretch(net, nominal, state, time, end, path=KeptPath(paths.flow(state), state, end - time))
        yield part
        time, state = float(part.times[-1]), part.states[-1]
        if until - time <= 1e-9 * until:  # what follows is no part of it
            return
        if part.ended_by:
            net, state = switched(net, state, part.ended_by)
        elif due <= until:
            net, state = clocks.expired(net, state)
        else:
            return
        clocks = clocks.at(net, time)


def _along(told, kind, name):
    return np.concatenate([seen[kind][name] for seen in told])


def _seen(case: Case, part: Stretch):
    """What everything sees along a stretch (V): {kind: {name: array}}."""
    net: Network = part.net
    v = net.voltages(part.states)
    across = np.abs(net.across(v))
    seen = {"loads": {}, "lines": {}, "neutrals": {}, "metalwork": {}, "links": {}}
    for i, ((load, *_), model) in enumerate(zip(net.keys, net.models)):
        name, own = case.loads[load].name, net.part(i)
        seen["loads"][name] = np.maximum(seen["loads"].get(name, 0.0), net.volts(v, i))
        link = model.describe(part.states[:, own], across[:, own]).get("link_voltage")
        if link is not None:
            seen["links"][name] = np.maximum(seen["links"].get(name, 0.0), link)

    def between(a, b):
        return np.abs(v[:, net.node[a]] - v[:, net.node[b]]) if a in net.node and b in net.node else None

    for point in case.points:
        wanted = [("lines", f"{point.name} {line}", (point.name, line), (point.name, "N")) for line in point.phases]
        wanted += [("neutrals", point.name, (point.name, "N"), EARTH), ("metalwork", point.name, (point.name, "PE"), EARTH)]
        for kind, name, a, b in wanted:
            volts = between(a, b)
            if volts is not None:
                seen[kind][name] = volts
    return seen


def _few(extremes, near):
    """Return as few instants as cover every extreme to within `near` (V), in order."""
    left, kept = np.array(extremes) <= near, []
    while left.any():
        row = int(left.sum(axis=0).argmax())
        kept.append(row)
        left = left[~left[:, row]]
    return sorted(kept)


def _rms(times, volts):
    span = times[-1] - times[0]
    return float(volts.max()) if span <= 0 else float(np.sqrt(np.trapezoid(volts**2, times) / span))


def _levels(times, volts, rated):
    """Return (V, share of the time) of `LEVELS` parts of the range of `volts`; of each part the end that is further from `rated` (V)."""
    edges, lasts = np.linspace(volts.min(), volts.max(), LEVELS + 1), np.diff(times)
    middle = (volts[1:] + volts[:-1]) / 2
    part = np.clip(np.searchsorted(edges, middle, side="right") - 1, 0, LEVELS - 1)
    share = np.bincount(part, lasts, LEVELS) / max(lasts.sum(), 1e-12)
    ends = np.where(np.abs(edges[1:] - rated) > np.abs(edges[:-1] - rated), edges[1:], edges[:-1])
    return [(float(v), float(s)) for v, s in zip(ends, share) if s > 0]


def _restarts(case, parts, told):
    found = []
    for before, part, seen in zip(parts, parts[1:], told[1:]):
        again = {key[0] for key, was, now in zip(part.net.keys, before.net.modes, part.net.modes) if was == "cut off" != now}
        for load in sorted(again):
            found.append({"time": float(part.times[0] - parts[0].times[0]), "load": case.loads[load].name,
                          "met": {name: float(volts.max()) for name, volts in seen["loads"].items()}})
    return found
