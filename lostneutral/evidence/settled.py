"""Settled states of many rows of one network, those with several ways to settle started from a map of each cause's star points."""

from dataclasses import replace

import numpy as np

from lostneutral.circuit.equations import model_part
from lostneutral.consequences.upstream import beyond
from lostneutral.evidence.reduced import Reduced

MAPPED = 4  #: rows of a cause whose settled states are looked for everywhere, to make its map
MOST_STARS = 8  #: star points that a map keeps
TRIED = 14  #: of the starts of a map, a row, those that one step of Newton's method says are nearest to a state
NEAR = 0.12  #: nominal voltages within which star points share one start
SAME = 2e-3  #: nominal voltages within which two states of a row are one
FAR = 1e3  #: nominal voltages; what "solves" the equations beyond is a current that has faded to nothing
MARGINAL = 1e-3  #: growth, in units of the loads' own rate, that counts as neither way
ROUNDS = 4  #: of loads changing their mode
RINGS, ANGLES = (0.0, 0.4, 0.8, 1.2), 10
AROUND = 12  #: starts on a circle round a line, where a load cuts off


def settled_rows(reduced: Reduced, hard, starts=None):
    """Return (row, loads' voltages u (V), whether solved, modes) of every settled state of the rows of `reduced`.

    Rows that are not `hard` (bool) have one settled state. Of the others `starts`, {row: (nodes, star points)}, says
    where to begin beside the usual guess; every state that attracts is returned, of those that neither attract nor
    repel only where there is no other. Without `starts` one state a row. `modes` numbers the patterns in which the
    loads' modes stand, which come last.
    """
    size, usual = reduced.samples.size, tuple(m.mode for m in reduced.models)
    easy, rows = np.flatnonzero(~hard), np.flatnonzero(hard)
    u, solved = reduced.settle(easy, reduced.u0[easy])
    if not len(rows):
        return easy, u, solved, np.zeros(size, int), (usual,)
    row, start = [rows], [reduced.u0[rows]]
    for own, nodes, stars in _alike(rows, starts or {}):
        row.append(np.repeat(own, len(stars)))
        start.append(reduced.begun(own, nodes, stars))
    row, start = np.concatenate(row), np.concatenate(start)
    order = np.argsort(row, kind="stable")
    row, start = row[order], start[order]
    ends, good, growth, mode, patterns = _in_modes(reduced, row, start, weigh=bool(starts))
    which, found, ok, modes = [easy], [u], [solved], [np.zeros(len(easy), int)]
    edges = np.searchsorted(row, [*rows, size])
    for k, begin, end in zip(rows, edges, edges[1:]):
        own = begin + np.flatnonzero(good[begin:end])
        firm = own[growth[own] < -MARGINAL]
        kept = _apart(ends, firm if len(firm) else own[growth[own] <= MARGINAL], SAME * reduced.nominal)
        if not starts:
            kept = own[:1].tolist()
        which.append(np.full(max(len(kept), 1), k))
        found.append(ends[kept] if kept else reduced.u0[k][None])
        ok.append(np.full(max(len(kept), 1), bool(kept)))
        modes.append(mode[kept] if kept else np.zeros(1, int))
    which = np.concatenate(which)
    order = np.argsort(which, kind="stable")
    return which[order], np.concatenate(found)[order], np.concatenate(ok)[order], np.concatenate(modes)[order], patterns


def _alike(rows, starts):
    """Yield (rows, nodes, star points) of those of `rows` that share their starts."""
    groups = {}
    for k in rows.tolist():
        groups.setdefault(id(starts.get(k)), []).append(k)
    for own in groups.values():
        nodes, stars = starts.get(own[0]) or ((), ())
        if len(nodes) and len(stars):
            yield np.array(own), nodes, np.array(stars)


def _apart(v, items, distance):
    """Return those of `items` whose rows of `v` differ by more than `distance`, of each lot the first."""
    kept = []
    while len(items):
        kept.append(int(items[0]))
        items = items[np.abs(v[items] - v[items[0]]).max(axis=1) > distance]
    return kept


def _in_modes(reduced, row, start, weigh):
    """Newton's method from every start, loads changing to the mode they can stay in; growth where it is asked for.

    Rows without any state in the loads' usual modes are begun anew with one load after the other in another of its modes.
    """
    u, good, growth, mode = start.copy(), np.zeros(len(row), bool), np.zeros(len(row)), np.zeros(len(row), int)
    modal = [k for k, m in enumerate(reduced.models) if len(m.modes) > 1]
    patterns = [tuple(m.mode for m in reduced.models)]

    def settle(pattern, items):
        """Settle the starts `items` in `pattern`; return {item: its new pattern} of those that cannot stay in it."""
        if pattern not in patterns:
            patterns.append(pattern)
        ends, solved = reduced.settle(row[items], u[items], pattern)
        solved &= np.abs(ends).max(axis=1) < FAR * reduced.nominal
        u[items] = np.where(solved[:, None], ends, u[items])
        mode[items] = patterns.index(pattern)
        changed = _changed(reduced, row[items], ends, solved, modal, pattern)
        stays = solved & np.array([k not in changed for k in range(len(items))], bool)
        good[items] = stays
        if weigh and stays.any():
            growth[items[stays]] = reduced.growth(row[items[stays]], ends[stays], pattern)
        return {items[k]: new for k, new in changed.items()}

    for first in (patterns[0], *_others(reduced, modal, patterns[0])):
        without = ~np.isin(row, row[good])
        if not without.any():
            break
        u[without] = start[without]
        waiting = dict.fromkeys(np.flatnonzero(without), first)
        for _ in range(ROUNDS):
            following = {}
            for pattern in dict.fromkeys(waiting.values()):
                following |= settle(pattern, np.array([item for item, new in waiting.items() if new == pattern]))
            waiting = following
    return u, good, growth, mode, tuple(patterns)


def _others(reduced, modal, usual):
    """Yield patterns of modes that differ from the `usual` one in one load that is on somewhere."""
    for k in modal:
        ports = reduced.wired.unit_of.get(k, np.array([k])).tolist()
        if k != ports[0] or not reduced.count[:, k].any():
            continue
        for other in (m for m in reduced.models[k].modes if m != usual[k]):
            yield tuple(other if n in ports else m for n, m in enumerate(usual))


def _changed(reduced, rows, u, solved, modal, pattern):
    """Return {item: its new pattern of modes} of those in which a load that is on cannot stay in its mode."""
    made, size_of = {}, reduced.samples.size
    for k in modal:
        ports = reduced.wired.unit_of.get(k, np.array([k]))
        if k != ports[0]:
            continue  # of several ports the first answers for the load
        size = np.abs(u[:, reduced.wired.spot[ports]])
        size = size if len(ports) > 1 else size[:, 0]
        model = model_part(reduced.models[k].in_mode(pattern[k]), size_of, rows)
        margin = np.reshape(np.broadcast_to(model.margin(model.settled(size), size), size.shape), (len(size), -1))[:, 0]
        for item in np.flatnonzero(solved & (reduced.count[rows, k] > 0) & (margin <= 0)):
            one = _plain(model_part(model, len(rows), np.array([item])))
            mode = np.ravel(one.next_mode(one.settled(size[item]), size[item]))[0]
            new = list(made.get(int(item), pattern))
            for port in ports:
                new[port] = str(mode)
            made[int(item)] = tuple(new)
    return made


def _plain(model):
    from dataclasses import fields

    arrays = {f.name: getattr(model, f.name).item() for f in fields(model)
              if isinstance(getattr(model, f.name), np.ndarray) and getattr(model, f.name).shape == (1,)}
    return replace(model, **arrays) if arrays else model


class Maps:
    """Star points of every cause's settled states, worked out once from a few rows of it and then started from.

    `everywhere`: no map, but a start at every star point of a wide spread, for causes that a map leads to no state of.
    """

    def __init__(self, everywhere: bool = False):
        self._known, self._everywhere = {}, everywhere

    def of(self, world, cause, condition):
        """Return {row: (nodes, star points, V)} for rows of the causes `cause` (numbers)."""
        own = {int(number): self._of_one(world, int(number), condition) for number in np.unique(cause)}
        return {row: own[number] for row, number in enumerate(cause.tolist())}

    def _of_one(self, world, number, condition):
        nodes = _moved_neutrals(world, number) if not condition.before else ()
        if self._everywhere:
            return np.array(nodes, int), _spread_of_starts(world.net, world.case.supply.nominal) if nodes else ()
        key = nodes, condition
        if key not in self._known:  # causes that cut off the same neutral share its map
            self._known[key] = np.array(nodes, int), _stars(world, number, condition, np.array(nodes, int)) if nodes else ()
        return self._known[key]


def _moved_neutrals(world, number):
    """Neutral nodes that a cause cuts off from the supply, or nearly."""
    return tuple(sorted({world.net.node[name, "N"] for feeding, conductor in world.causes[number].conductors if conductor == "N"
                         for name in beyond(world.case, world.case.point(feeding))
                         if world.net.node.get((name, "N"), world.net.free) < world.net.free}))


def _stars(world, number, condition, nodes):
    nominal = world.case.supply.nominal
    values = np.random.default_rng((11, number)).random((MAPPED, len(world.columns)))
    hard = (world.on(values, condition) & world.falling).any(axis=1)
    if not hard.any():
        return ()
    reduced = Reduced(world.wired, world.samples(np.full(MAPPED, number), values, condition))
    stars = _spread_of_starts(world.net, nominal)
    starts = {int(k): (nodes, _nearest(reduced, int(k), nodes, stars)) for k in np.flatnonzero(hard)}
    which, u, solved, modes, patterns = settled_rows(reduced, hard, {k: starts.get(k, (nodes, ())) for k in range(MAPPED)})
    centres = []
    for number_, pattern in enumerate(patterns):
        own = solved & hard[which] & (modes == number_)
        centres += list(reduced.voltages(which[own], u[own], pattern)[:, nodes].mean(axis=1)) if own.any() else []
    kept = []
    for centre in centres:
        if all(abs(centre - other) > NEAR * nominal for other in kept):
            kept.append(centre)
    return tuple(kept[:MOST_STARS])


def _nearest(reduced, row, nodes, stars):
    """Return those of the star points `stars` from which Newton's first step is shortest."""
    begun = reduced.begun(np.array([row]), nodes, stars)
    return stars[np.argsort(reduced.distance(np.full(len(stars), row), begun))[:TRIED]]


def _spread_of_starts(net, nominal):
    turn = np.exp(2j * np.pi * (np.arange(ANGLES) + 0.02) / ANGLES)
    rings = [nominal * r * turn for r in RINGS[1:]]
    tight = np.exp(2j * np.pi * (np.arange(AROUND) + 0.02) / AROUND)
    edges = {round(float(np.mean([np.mean(volts) for volts in m.cuts_off]))) for m in net.models if m.cuts_off is not None}
    lines = [volts for volts in net.fixed if abs(volts) > 0]
    return np.concatenate([[0j], *rings, *(centre + edge * tight for edge in edges for centre in lines)])
