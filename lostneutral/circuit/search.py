"""Every settled state of a network, over all star points and all modes of the loads."""

from dataclasses import dataclass, replace
from itertools import islice, product
from math import prod

import numpy as np

from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.equations import Equations
from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import Root, newton, newton_rows
from lostneutral.circuit.sameness import are_one, distinct
from lostneutral.circuit.starts import coarse, floating_neutrals, positions, usual

MOST_MODES = 64  #: combinations of modes that are tried in full
MOST_COMBINED = 400  #: combinations of places of neutrals that float apart
MANY_BRANCHES = 300  #: above this the eigenvalues are not worked out
FAR = 1e4  #: nominal voltages; what "solves" the equations beyond is a current that has faded to nothing


@dataclass(frozen=True, eq=False)
class Settled:
    """A settled state: its network (each load in its mode), node voltages, states, and the fastest growth (1/s)."""

    net: Network
    root: Root
    states: np.ndarray
    growth: float  #: negative: attracting; positive: not; 0: marginal; nan: not worked out
    returns: bool | None = None  #: whether disturbances followed in time died out; None: not tried

    @property
    def attracting(self):
        """Whether small departures die out: by following them in time where that was done, else by the eigenvalues."""
        return bool(self.growth < 0) if self.returns is None else self.returns


def _known(model):
    """What tells a model from others: its parameters, or, where these are arrays over samples, that it is itself."""
    try:
        hash(model)
    except TypeError:
        return id(model)
    return model


def mode_choices(net: Network):
    """Return the combinations of modes (those that can last) to try, each a tuple of models, and whether these are all there are.

    Like loads between the same nodes see the same voltage and are taken to be in the same mode.
    """
    alike = {}
    for i, model in enumerate(net.models):
        if len(model.resting) > 1:
            where = tuple(net.branch_ends[i]) if i not in net.ported else tuple(np.atleast_1d(net.part(i)))
            alike.setdefault((_known(model), where), []).append(i)
    together = list(alike.values())
    options = [net.models[members[0]].resting for members in together]
    whole = int(np.prod([float(len(o)) for o in options])) <= MOST_MODES if options else True
    if whole:
        chosen = product(*options)
    else:  # all in normal running, then each alone in each of its other modes
        usual = [o[0] for o in options]
        chosen = [usual] + [[*usual[:i], mode, *usual[i + 1:]] for i, o in enumerate(options) for mode in o[1:]]
    return [_in_modes(net, together, modes) for modes in chosen], whole


def _in_modes(net, together, modes):
    models = list(net.models)
    for members, mode in zip(together, modes):
        for i in members:
            models[i] = models[i].in_mode(mode)
    return tuple(models)


def settled_at(net: Network, roots, nominal) -> list[Settled]:
    """Return each of `roots` with its states and its stability."""
    if not roots:
        return []
    dynamics = Dynamics(net, nominal)
    states = net.settled(np.abs(net.across(np.array([root.voltages for root in roots]))))
    growths = dynamics.growths(states) if len(dynamics.moving) <= MANY_BRANCHES else np.full(len(roots), np.nan)
    return [Settled(net, *found) for found in zip(roots, states, growths)]


def the_only_one(net: Network, root: Root) -> Settled:
    """Return `root` of a network in which no other state is possible: whatever disturbs it must die out."""
    return Settled(net, root, net.settled(np.abs(net.across(root.voltages))), np.nan, returns=True)


def one_state_only(net: Network) -> bool:
    """Return whether the loads of `net` leave room for one settled state only (`LoadModel.single_state`)."""
    return all(model.single_state for model in net.models)


def search(net: Network, nominal, more_starts=()) -> tuple[list[Settled], bool]:
    """Return every settled state found, and whether all combinations of modes and of floating neutrals were tried.

    For each combination of modes Newton's method is started from `more_starts` and wherever a map of star-point
    positions shows the neutral's current sum changing sign; a state counts only if every load can stay in its mode.
    Neutrals that float apart are searched apart, each with the others where the usual guess puts them, and what was
    found is combined.
    """
    choices, whole = mode_choices(net)
    found, tables = [], {}
    for models in choices:
        moded = net.varied(models=models)
        roots, every = _roots(moded, nominal, more_starts, tables)
        whole &= every
        found += settled_at(moded, [root for root in roots if _holds(moded, root)], nominal)
    return sorted(found, key=lambda s: tuple(np.round(np.abs(s.root.voltages), 3))), whole


def _roots(net, nominal, more_starts, tables):
    """Return the roots found of `net`, every load in its mode, and whether all combinations of its parts were tried."""
    base = usual(net, nominal)
    likely = [*more_starts, base]
    parts = floating_neutrals(net, nominal)
    places = [positions(net, nodes, base, nominal, tables) for nodes in parts]
    several = [k for k, found in enumerate(places) if len(found) > 1]
    if len(several) > 1:
        places = [_places_of(net, nodes, base, found, nominal) for nodes, found in zip(parts, places)]
    else:
        places = [[[p] * len(nodes) for p in found] for nodes, found in zip(parts, places)]
    whole = prod(max(len(found), 1) for found in places) <= MOST_COMBINED
    combined = islice(product(*(found or [None] for found in places)), MOST_COMBINED)
    rest = [_placed(base, parts, choice) for choice in combined]
    rest += [_placed(base, parts, [[p] * len(nodes) for nodes in parts]) for p in coarse(nominal)] if parts else []
    return _distinct(net, [*_solved(net, likely, nominal), *_solved(net, rest, nominal, steps=15, shortest=0.05)], nominal), whole


def _placed(base, parts, choice):
    start = base.copy()
    for nodes, at in zip(parts, choice):
        if at is not None:
            start[nodes] = at
    return start


def _places_of(net, nodes, base, found, nominal):
    """The voltages (V) that `nodes` settle at by themselves, every other floating neutral held at `base`."""
    every = {int(n) for group in floating_neutrals(net) for n in group}
    others = np.array(sorted(every - {int(n) for n in nodes}), int)
    alone, order = holding(net, others)
    starts = np.array([_placed(base, [nodes], [[p] * len(nodes)]) for p in [*found, *coarse(nominal)]])[:, order]
    alone = replace(alone, fixed=base[order][alone.free:])
    kept = _distinct(alone, _solved(alone, starts, nominal, steps=15, shortest=0.05), nominal)
    back = np.argsort(order)
    return [root.voltages[back][nodes] for root in kept]


def holding(net, nodes):
    """Return `net` with the free `nodes` among the fixed ones, and which node of `net` each of its nodes is."""
    free = np.delete(np.arange(net.free), nodes)
    order = np.concatenate([free, nodes, np.arange(net.free, net.free + len(net.fixed))])
    number = np.argsort(order)
    return replace(net, node={t: int(number[n]) for t, n in net.node.items()}, free=len(free),
                   fixed=np.zeros(len(order) - len(free), complex), element_ends=number[net.element_ends], branch_ends=number[net.branch_ends],
                   weights=None if net.weights is None else net.weights[:, order]), order


def _solved(net, starts, nominal, **effort):
    """The roots that Newton's method reaches from `starts`, those that are one several times."""
    if net.sparse:
        found = [newton(net, start, **effort) for start in starts]
    else:
        roots = newton_rows(Equations(net), np.array(starts), **effort)
        found = [roots[k] for k in range(len(starts))]
    return [root for root in found if root.solved and np.abs(root.voltages).max() < FAR * nominal]


def _distinct(net, roots, nominal):
    return [roots[k] for k in distinct(net, [root.voltages for root in roots], nominal)]


def same(a: Settled, b: Settled, nominal) -> bool:
    """Whether two settled states are one: every load in the same mode, and the voltages one (`are_one`)."""
    return a.net.modes == b.net.modes and are_one(a.net, a.root.voltages, b.root.voltages, nominal)


def _holds(net, root):
    size = np.abs(net.across(root.voltages))
    margins = net.each(lambda model, v: model.margin(model.settled(v), v), size)
    return bool((margins > 0).all())
