"""Settled states of many rows of one network, those with several ways to settle started from what a few rows of each cause come to."""

from dataclasses import replace
from itertools import islice, product

import numpy as np

from lostneutral.circuit.equations import model_part, take
from lostneutral.circuit.large import lump_of
from lostneutral.circuit.many_states import network_of
from lostneutral.circuit.rough import rough_stars
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
    reached = np.array(sorted(_apart(ends, np.flatnonzero(good), ONE * reduced.nominal, row)), int)
    if starts:
        growth = _growths(reduced, row, ends, mode, patterns, reached)[reached]
        firm = growth < -MARGINAL
        holds = firm | (growth <= MARGINAL) & ~np.isin(row[reached], row[reached[firm]])
        kept = np.array(sorted(_apart(ends, reached[holds], SAME * reduced.nominal, row)), int)
    else:
        kept = reached[np.unique(row[reached], return_index=True)[1]]
    lost = np.setdiff1d(rows, row[kept])
    which = np.concatenate([easy, row[kept], lost])
    found = np.concatenate([u, ends[kept], reduced.u0[lost]])
    ok = np.concatenate([solved, np.ones(len(kept), bool), np.zeros(len(lost), bool)])
    modes = np.concatenate([np.zeros(len(easy), int), mode[kept], np.zeros(len(lost), int)])
    order = np.argsort(which, kind="stable")
    return which[order], found[order], ok[order], modes[order], patterns


def _alike(rows, starts):
    """Yield (rows, nodes, departures) of those of `rows` that share their starts."""
    groups = {}
    for k in rows.tolist():
        groups.setdefault(id(starts.get(k)), []).append(k)
    for own in groups.values():
        nodes, departures = starts.get(own[0]) or ((), ())
        if len(departures):
            yield np.array(own), nodes, departures


def _apart(v, items, distance, row=None):
    """Return those of `items` whose rows of `v` differ by more than `distance`, of each lot the first; where each stands for a `row`
    (items in its order), those of one row among themselves."""
    kept, row = [], np.zeros(len(v), int) if row is None else row
    while len(items):
        first = np.diff(row[items], prepend=-1) != 0
        kept += items[first].tolist()
        items = items[np.abs(v[items] - v[items[first][np.cumsum(first) - 1]]).max(axis=1) > distance]
    return kept


def _growths(reduced, row, ends, mode, patterns, items):
    """The growth of the states `items`, at their numbers."""
    growth = np.zeros(len(row))
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
        solved[list(changed)] = False
        good[items] = solved
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
        key = {number: (frozenset(world.causes[number].conductors), condition) for number in np.unique(cause).tolist()}
        new = {of: number for number, of in reversed(key.items()) if of not in self._known}  # causes that open the same conductors share a map
        self._known |= self._looked_for(world, new, condition)
        return {row: self._known[key[number]] for row, number in enumerate(cause.tolist())}

    def _looked_for(self, world, new, condition):
        """Return {key: (nodes, departures)} of `new` {key: number of a cause}, so many together as are solved at a time."""
        groups = {number: [] if condition.before else [nodes for nodes in _moved(world, number) if np.isin(world.wired.seen, nodes).any()]
                  for number in new.values()}
        wanted, found = [number for number in groups if groups[number]], {}
        lot = max(world.rows_at_a_time // (1 + self._drawn) // MOST_STARTS, 1)
        beside = coarse(world.case.supply.nominal)
        modal = any(len(m.modes) > 1 for m in world.net.models)  # the lumps are in their usual modes only
        for at in range(0, len(wanted), lot):
            found |= self._states(world, wanted[at:at + lot], condition, groups, beside if modal else ())
            lost = [number for number in wanted[at:at + lot] if not len(found.get(number, beside))]
            if lost and not modal:
                found |= self._states(world, lost, condition, groups, beside)
        return {key: (np.concatenate([*groups[number], np.zeros(0)]).astype(int), found.get(number, ())) for key, number in new.items()}

    def _states(self, world, numbers, condition, groups, beside):
        """Return {number: departures of the settled states of the rows of its map} of the causes `numbers`; for `beside` see `_led`."""
        values = np.concatenate([[np.full(len(world.columns), 0.5), *np.random.default_rng((11, number)).random((self._drawn, len(world.columns)))]
                                 for number in numbers])
        cause = np.repeat(numbers, 1 + self._drawn)
        hard = (world.on(values, condition) & world.falling).any(axis=1)
        if not hard.any():
            return {}
        cause, samples = cause[hard], take(world.samples(cause, values, condition), np.flatnonzero(hard))
        reduced = Reduced(world.wired, samples)
        starts = self._led(world, reduced, [groups[number] for number in cause], beside)
        which, u, solved, modes, patterns = settled_rows(reduced, np.ones(samples.size, bool), starts)
        seen = np.empty((len(which), len(world.wired.seen)), complex)
        for mode, pattern in enumerate(patterns):
            own = modes == mode
            seen[own] = reduced.seen(which[own], u[own], pattern)
        made = {}
        for number in np.unique(cause).tolist():
            own = np.flatnonzero(solved & (cause[which] == number))
            own = own[np.argsort(modes[own], kind="stable")]  # what holds in the loads' usual modes first
            found = reduced.departures(which[own], seen[own], np.concatenate(groups[number]))
            stars = np.stack([found[:, np.isin(world.wired.seen, group)].mean(axis=1) for group in groups[number]], axis=1)
            made[number] = found[_apart(stars, np.arange(len(found)), NEAR * world.case.supply.nominal)[:MOST_STARTS]]
        return made

    def _led(self, world, reduced, groups, beside):
        """Return {row: (nodes, departures)}: where each row comes to from every state of its loads lumped by line and kind, and from the star
        points (V) `beside`, first settled with its `groups` of nodes held there, so that lines and cables have what hangs on them."""
        nominal, rows = world.case.supply.nominal, range(reduced.samples.size)
        base = reduced.voltages(np.array(rows))
        nets = [network_of(world.net, reduced.samples, k) for k in rows]
        lumps = {(k, n): lump_of(nets[k], nodes, base[k], nominal) for k in rows for n, nodes in enumerate(groups[k])}
        stars = dict(zip((at for at, lump in lumps.items() if lump), rough_stars([lump.net for lump in lumps.values() if lump], nominal)))
        made = {}
        for k in rows:
            each = [stars.get((k, n)) or [base[k, nodes].mean()] for n, nodes in enumerate(groups[k])]
            at = np.array([*((star,) * len(each) for star in beside), *islice(product(*each), MOST_TOGETHER)])
            held, every = Reduced(world.wired, take(reduced.samples, np.array([k])), (groups[k], at)), np.arange(len(at))
            nodes = np.concatenate(groups[k])
            made[k] = nodes, reduced.departures(np.full(len(at), k), held.seen(every, held.settle(every, held.u0)[0]), nodes)
        return made


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
