"""Settled states of many rows of one network, those with several ways to settle started from what a few rows of each cause come to."""

from dataclasses import replace
from itertools import islice, product

import numpy as np

from lostneutral.circuit.equations import model_part, take
from lostneutral.circuit.large import lump_of
from lostneutral.circuit.many_states import network_of
from lostneutral.circuit.search import rough_stars
from lostneutral.circuit.starts import coarse
from lostneutral.consequences.upstream import beyond
from lostneutral.evidence.reduced import Reduced

MAPPED = 4  #: rows drawn of a cause whose settled states are looked for everywhere, to make its map
MOST_STARTS = 8  #: states that a map keeps
MOST_TOGETHER = 24  #: combinations of the star points of neutrals that float apart
NEAR = 0.12  #: nominal voltages within which star points share one start
ONE = 1e-6  #: nominal voltages within which two starts have led to one state
SAME = 2e-3  #: nominal voltages within which two states of a row are one
FAR = 1e3  #: nominal voltages; what "solves" the equations beyond is a current that has faded to nothing
MARGINAL = 1e-3  #: growth, in units of the loads' own rate, that counts as neither way
ROUNDS = 4  #: of loads changing their mode


def settled_rows(reduced: Reduced, hard, starts=None):
    """Return (row, loads' voltages u (V), whether solved, modes) of every settled state of the rows of `reduced`.

    Rows that are not `hard` (bool) have one settled state. Of the others `starts`, {row: (nodes, departures)}, says
    where to begin beside the usual guess (see `Reduced.begun`); every state that attracts is returned, of those that neither attract nor
    repel only where there is no other. Without `starts` one state a row. `modes` numbers the patterns in which the
    loads' modes stand, which come last.
    """
    size, usual = reduced.samples.size, tuple(m.mode for m in reduced.models)
    easy, rows = np.flatnonzero(~hard), np.flatnonzero(hard)
    u, solved = reduced.settle(easy, reduced.u0[easy])
    if not len(rows):
        return easy, u, solved, np.zeros(size, int), (usual,)
    row, start = [rows], [reduced.u0[rows]]
    for own, nodes, departures in _alike(rows, starts or {}):
        row.append(np.repeat(own, len(departures)))
        start.append(reduced.begun(own, nodes, departures))
    row, start = np.concatenate(row), np.concatenate(start)
    order = np.argsort(row, kind="stable")
    row, start = row[order], start[order]
    ends, good, mode, patterns = _in_modes(reduced, row, start)
    which, found, ok, modes = [easy], [u], [solved], [np.zeros(len(easy), int)]
    edges = np.searchsorted(row, [*rows, size])
    reached = [_apart(ends, begin + np.flatnonzero(good[begin:end]), ONE * reduced.nominal) for begin, end in zip(edges, edges[1:])]
    growth = _growths(reduced, row, ends, mode, patterns, sum(reached, [])) if starts else np.zeros(len(row))
    for k, own in zip(rows, (np.array(items, int) for items in reached)):
        firm = own[growth[own] < -MARGINAL]
        kept = _apart(ends, firm if len(firm) else own[growth[own] <= MARGINAL], SAME * reduced.nominal) if starts else own[:1].tolist()
        which.append(np.full(max(len(kept), 1), k))
        found.append(ends[kept] if kept else reduced.u0[k][None])
        ok.append(np.full(max(len(kept), 1), bool(kept)))
        modes.append(mode[kept] if kept else np.zeros(1, int))
    which = np.concatenate(which)
    order = np.argsort(which, kind="stable")
    return which[order], np.concatenate(found)[order], np.concatenate(ok)[order], np.concatenate(modes)[order], patterns


def _alike(rows, starts):
    """Yield (rows, nodes, departures) of those of `rows` that share their starts."""
    groups = {}
    for k in rows.tolist():
        groups.setdefault(id(starts.get(k)), []).append(k)
    for own in groups.values():
        nodes, departures = starts.get(own[0]) or ((), ())
        if len(departures):
            yield np.array(own), nodes, departures


def _apart(v, items, distance):
    """Return those of `items` whose rows of `v` differ by more than `distance`, of each lot the first."""
    kept = []
    while len(items):
        kept.append(int(items[0]))
        items = items[np.abs(v[items] - v[items[0]]).max(axis=1) > distance]
    return kept


def _growths(reduced, row, ends, mode, patterns, items):
    """The growth of the states `items`, at their numbers."""
    growth, items = np.zeros(len(row)), np.array(items, int)
    for number, pattern in enumerate(patterns):
        own = items[mode[items] == number]
        if len(own):
            growth[own] = reduced.growth(row[own], ends[own], pattern, MARGINAL)
    return growth


def _in_modes(reduced, row, start):
    """Newton's method from every start, loads changing to the mode they can stay in.

    Rows without any state in the loads' usual modes are begun anew with one load after the other in another of its modes.
    """
    u, good, mode = start.copy(), np.zeros(len(row), bool), np.zeros(len(row), int)
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
    return u, good, mode, tuple(patterns)


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
    """Where every cause's settled states are, worked out once for a few rows of it and then started from.

    The rows are that with all that is unknown at its median, and `drawn` more at random.
    """

    def __init__(self, drawn: int = MAPPED):
        self._known, self._drawn = {}, drawn

    def of(self, world, cause, values, condition):
        """Return {row: (nodes, departures)} for rows of the causes `cause` (numbers), of the samples `values`; see `Reduced.begun`."""
        own = {int(number): self._of_one(world, int(number), condition) for number in np.unique(cause)}
        return {row: own[number] for row, number in enumerate(cause.tolist())}

    def _of_one(self, world, number, condition):
        key = frozenset(world.causes[number].conductors), condition
        if key not in self._known:  # causes that open the same conductors share a map
            groups = [] if condition.before else [nodes for nodes in _moved(world, number) if np.isin(world.wired.seen, nodes).any()]
            self._known[key] = np.concatenate([*groups, np.zeros(0)]).astype(int), self._states(world, number, condition, groups) if groups else ()
        return self._known[key]

    def _states(self, world, number, condition, groups):
        """The departures of the settled states of the rows of a map."""
        drawn = np.random.default_rng((11, number)).random((self._drawn, len(world.columns)))
        values = np.concatenate([np.full((1, len(world.columns)), 0.5), drawn])
        hard = (world.on(values, condition) & world.falling).any(axis=1)
        if not hard.any():
            return ()
        samples = take(world.samples(np.full(len(values), number), values, condition), np.flatnonzero(hard))
        reduced, nodes = Reduced(world.wired, samples), np.concatenate(groups)
        starts = {k: (nodes, self._led(world, reduced, k, groups)) for k in range(samples.size)}
        which, u, solved, modes, patterns = settled_rows(reduced, np.ones(samples.size, bool), starts)
        found = [np.empty((0, len(world.wired.seen)))]
        for mode, pattern in enumerate(patterns):
            own = solved & (modes == mode)
            found.append(reduced.departures(which[own], reduced.seen(which[own], u[own], pattern), nodes))
        found = np.concatenate(found)
        stars = np.stack([found[:, np.isin(world.wired.seen, group)].mean(axis=1) for group in groups], axis=1)
        return found[_apart(stars, np.arange(len(found)), NEAR * world.case.supply.nominal)[:MOST_STARTS]]

    def _led(self, world, reduced, k, groups):
        """Where the row `k` comes to from every state of its loads lumped by line and kind, and from a few star points beside: departures,
        first settled with the `groups` of nodes held there, so that lines and cables have what hangs on them."""
        nominal, base = world.case.supply.nominal, reduced.voltages(np.array([k]))[0]
        net = network_of(world.net, reduced.samples, k)
        lumps = [lump_of(net, nodes, base, nominal) for nodes in groups]
        each = [rough_stars(lump.net, nominal) if lump else [base[nodes].mean()] for lump, nodes in zip(lumps, groups)]
        stars = np.array([*((at,) * len(groups) for at in coarse(nominal)), *islice(product(*each), MOST_TOGETHER)])
        held, every = Reduced(world.wired, take(reduced.samples, np.array([k])), (groups, stars)), np.arange(len(stars))
        return reduced.departures(np.full(len(stars), k), held.seen(every, held.settle(every, held.u0)[0]), np.concatenate(groups))


class Neighbours:
    """The states of the nearest samples, to start from: `found` are {cause: (the samples (0 to 1) that its rows are of, `States`)}."""

    def __init__(self, found):
        self._found = found

    def of(self, world, cause, values, condition):
        """Return {row: (nodes, departures)}, the states of the nearest of the samples that are known of the row's cause; see `Maps.of`."""
        seen, starts = world.wired.seen, {}
        name = {node: terminal for terminal, node in world.net.node.items()}
        for number in np.unique(cause).tolist():
            of, states = self._found[number]
            at = [states.world.net.node[name[node]] for node in seen.tolist()]
            for row in np.flatnonzero(cause == number).tolist():
                away = np.abs(of - values[row]).sum(axis=1)
                starts[row] = seen, states.v[np.ix_((away == away.min()) & states.solved, at)]
        return starts


def _moved(world, number):
    """Groups of nodes that a cause cuts off from the supply, or nearly, by each neutral that it opens: the neutrals, and the lines opened as well."""
    case, node, cut = world.case, world.net.node, world.causes[number].conductors
    way = {key: beyond(case, case.point(key[0])) for key in cut}
    neutrals = sorted((way[key] for key in cut if key[1] == "N"), key=len, reverse=True)
    group = {name: k for k, names in enumerate(neutrals) for name in names}  # of two neutrals in a row the further one
    terminals = [(name, "N") for name in group]
    terminals += [(name, key[1]) for key, ohms in cut.items() if key[1] in case.supply.lines and np.isinf(ohms) for name in way[key] if name in group]
    groups = [set() for _ in neutrals]
    for name, conductor in terminals:
        if node.get((name, conductor), world.net.free) < world.net.free:
            groups[group[name]].add(node[name, conductor])
    return [np.array(sorted(nodes), int) for nodes in groups]
