"""Every settled state of a network, over all star points and all modes of the loads."""

from dataclasses import replace
from itertools import islice, product
from math import prod

import numpy as np

from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.equations import Equations, Rough, Samples
from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import Root, newton, newton_rows
from lostneutral.circuit.sameness import are_one, distinct
from lostneutral.circuit.starts import SLACK, LawTables, coarse, floating_neutrals, positions, usual
from lostneutral.frozen import dataclass

MOST_MODES = 64  #: combinations of modes that are tried in full
MOST_COMBINED = 1000  #: combinations of what neutrals that float apart may do
MANY_BRANCHES = 300  #: above this the eigenvalues are not worked out
SHORT = {"steps": 15, "shortest": 0.05}  #: of Newton's method from where a root should be near
CAREFUL = {"steps": 60, "shortest": 0.01, "farthest": 0.02}  #: of what must not leave its root for another
ROUGH = 1e-6  #: residual by tables, as a share of the largest current, at which a start is not followed further …
NEARLY = 1e-2  #: … and up to which it may have come near to a root
ALIKE = 1e-3  #: nominal voltages by which two places that starts have come to are one
PARTS = (0.1, 0.3, 0.5, 0.7, 0.9)  #: of the way between two attracting states, where one that parts them is looked for
TIED = 1e-3  #: nominal voltages to within which a state's admittances give back its voltages
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


def mode_choices(net: Network, among=None):
    """Return the combinations of modes (those that can last) to try, each a tuple of models, and whether these are all there are.

    Like loads between the same nodes see the same voltage and are taken to be in the same mode. `among` (a flag a branch)
    says which loads' modes are tried; the others stay in theirs.
    """
    alike = {}
    for i, model in enumerate(net.models):
        if len(model.resting) > 1 and (among is None or among[i]):
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


def settled_at(net: Network, roots, nominal, states=None) -> list[Settled]:
    """Return each of `roots` with its `states` (a row each, worked out where not given) and its stability."""
    if not roots:
        return []
    dynamics = Dynamics(net, nominal)
    states = states if states is not None else net.settled(np.abs(net.across(np.array([root.voltages for root in roots]))))
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
    Neutrals that float apart are searched apart with the modes of the loads that hang on them, each with the others
    where the usual guess puts them, and what was found is combined.
    """
    tables = LawTables(net, nominal)
    together, whole = _starts(net, nominal, tables)
    found = []
    for models, anywhere, combined in together:
        moded = net.varied(models=models)
        base = usual(moded, nominal)
        roots = [*_solved(moded, [*more_starts, base], nominal),
                 *_led_to(moded, [_placed(base, places) for places in anywhere], nominal, tables, SHORT),
                 *_led_to(moded, _beside(moded, base, combined), nominal, tables, CAREFUL)]
        here = _lasting(moded, roots, nominal)
        if between := _between([s.root.voltages for s in here if s.attracting], [s.root.voltages for s in here]):
            here = _lasting(moded, [*(s.root for s in here), *_led_to(moded, between, nominal, tables, CAREFUL)], nominal)
        found += here
    return sorted(found, key=lambda s: tuple(np.round(np.abs(s.root.voltages), 3))), whole


def _lasting(net, roots, nominal):
    """The settled states of `roots`, each once, in which every load can stay in its mode."""
    return settled_at(net, [root for root in _distinct(net, roots, nominal) if _margins(net, root.voltages).min(initial=np.inf) > 0], nominal)


def _between(attracting, known):
    """Starts (V, all nodes) on the way from every attracting state to the nearest other, where no known one lies between.

    What parts two states that attract is one that does not, and one that is near either of them is easily missed.
    """
    starts = []
    for a in attracting:
        others = [b for b in attracting if b is not a]
        b = min(others, key=lambda other: np.abs(a - other).max(), default=a)
        apart = np.abs(a - b).max()
        if not any(max(np.abs(a - k).max(), np.abs(b - k).max()) < apart for k in known):
            starts += [a + share * (b - a) for share in PARTS if b is not a]
    return starts


def _starts(net, nominal, tables):
    """Where to start, in every combination of modes: a list of (models, starts, combined), and whether that is every combination.

    A start is a list of (nodes, voltages V); in `combined` the voltages are those of all nodes, each of its states by itself.
    """
    parts, free = floating_neutrals(net, nominal), np.ones(len(net.models), bool)
    hanging = []
    for nodes in parts:
        on = hang_on(net, nodes)
        if on.any():
            hanging.append((nodes, on & free))
            free &= ~on
    choices, whole = mode_choices(net, free)
    options, apart = [[(models, None, None) for models in choices]], len(hanging) > 1
    for nodes, own in hanging:
        found, every = _alone(net, nodes, own, nominal, tables, apart)
        options.append(found)
        whole &= every
    whole &= prod(map(len, options)) <= MOST_COMBINED
    anywhere = [[(nodes, at) for nodes in parts] for at in coarse(nominal)]
    together = {net.modes: (net.models, [*anywhere], [])}
    for chosen in islice(product(*options), MOST_COMBINED):
        models = tuple(next((m for m in others if m is not usual_one), usual_one)
                       for usual_one, *others in zip(net.models, *(models for models, *_ in chosen)))
        _, starts, combined = together.setdefault(tuple(m.mode for m in models), (models, [] if apart else [*anywhere], []))
        (combined if apart else starts).append([(nodes, at) for _, nodes, at in chosen if nodes is not None])
    return list(together.values()), whole


def hang_on(net, nodes):
    """Whether each load branch has an end among `nodes` and another elsewhere."""
    inside = np.zeros(net.free + len(net.fixed), bool)
    inside[nodes] = True
    a, b = inside[net.branch_ends.T]
    on = a != b
    if len(net.ported):
        met = (net.weights != 0) & inside
        for unit in net.units:
            on[list(unit)] = met[np.searchsorted(net.ported, list(unit))].any()
    return on


def _alone(net, nodes, own, nominal, tables, apart):
    """What `nodes` may do in every mode of the loads `own` (a flag a branch), all else as usual: [(models, nodes, V)].

    V are star points to start from, or, where other neutrals float `apart`, the voltages of all nodes where these settle by
    themselves. Also whether all combinations of modes were tried.
    """
    choices, whole = mode_choices(net, own)
    found = []
    for models in choices:
        moded = net.varied(models=models)
        base = usual(moded, nominal)
        places = positions(moded, nodes, base, nominal, tables, np.flatnonzero(own))
        if apart:
            found += [(models, nodes, v) for v in _settled_alone(moded, nodes, base, places, nominal, tables)
                      if _margins(moded, v)[own].min(initial=np.inf) > -SLACK * nominal]
        else:
            found += [(models, nodes, at) for at in places]
    return found or [(choices[0], None, None)], whole


def _placed(base, places):
    start = base.copy()
    for nodes, at in places:
        start[nodes] = at
    return start


def _beside(net, base, combined):
    """Starts (rows, nodes; V) for neutrals that settled each by itself, now together: every one moves with its nearest line.

    A state that is held at a cut-off is narrow, and what the other neutrals do shifts the lines by more than its width.
    """
    starts = np.array([_placed(base, [(nodes, v[nodes]) for nodes, v in one]) for one in combined]).reshape(-1, len(base))
    parts = [nodes for nodes, _ in combined[0]] if combined else []
    alone, order = holding(net, np.concatenate([*parts, np.zeros(0, int)]).astype(int))
    if not parts or not alone.free or net.sparse:
        return starts
    held = starts[:, order]
    lines = newton_rows(Equations(alone, Samples(len(held), fixed=held[:, alone.free:])), held, **SHORT).voltages[:, np.argsort(order)]
    for k, nodes in enumerate(parts):
        ends = np.setdiff1d(net.branch_ends[hang_on(net, nodes)], nodes)
        by_itself = np.array([one[k][1] for one in combined])
        nearest = ends[np.abs(by_itself[:, ends] - by_itself[:, nodes[:1]]).argmin(axis=1)]
        rows = np.arange(len(starts))
        lines[:, nodes] = by_itself[:, nodes] + (lines - by_itself)[rows, nearest][:, None]
    return lines


def _settled_alone(net, nodes, base, places, nominal, tables):
    """The voltages (V, all nodes) at which `nodes` settle by themselves, every other floating neutral held at `base`."""
    every = {int(n) for group in floating_neutrals(net) for n in group}
    others = np.array(sorted(every - {int(n) for n in nodes}), int)
    alone, order = holding(net, others)
    starts = np.array([_placed(base, [(nodes, p)]) for p in [*places, *coarse(nominal)]])[:, order]
    alone = replace(alone, fixed=base[order][alone.free:])
    kept = _distinct(alone, _led_to(alone, starts, nominal, tables, SHORT), nominal)
    back = np.argsort(order)
    return [root.voltages[back] for root in kept]


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
    return [root for root in found if root.solved and np.abs(root.voltages).max() < FAR * nominal and _tied_down(net, root, nominal)]


def _tied_down(net, root, nominal):
    """Whether the loads, in the states they have at `root`, leave its voltages no other place.

    Where a source gives just what the loads of an island take that hangs on nothing else, the equations hold at any angle: no state of a
    circuit, since the source follows a voltage that nothing holds.
    """
    y = net.admittance(np.abs(net.across(root.voltages)))
    if (y.real >= 0).all():
        return True
    try:
        return np.abs(net.solve_linear(y) - root.voltages).max() < TIED * nominal
    except np.linalg.LinAlgError:
        return False


def _led_to(net, starts, nominal, tables, effort):
    """The roots that `starts` (rows, nodes; V) lead to: roughly by tables of the laws, and from where that comes by the laws themselves."""
    starts = np.array(starts).reshape(-1, net.free + len(net.fixed))
    return _solved(net, starts if net.sparse or not len(starts) else _roughly(net, starts, nominal, tables, effort), nominal, **effort)


def _roughly(net, starts, nominal, tables, effort):
    """Where `starts` (rows, nodes; V) lead to by tables of the laws, those that come near to a root, each place once."""
    unused, ported = np.zeros(len(tables.volts), complex), set(net.ported.tolist())
    laws = np.array([unused if k in ported else tables[model] for k, model in enumerate(net.models)])
    roughly = newton_rows(Rough(net, laws.reshape(len(net.models), -1), tables.volts[-1]), starts, **effort, aim=ROUGH)
    near = roughly.voltages[roughly.residual <= NEARLY * roughly.largest]
    return near[np.unique(np.round(near / (ALIKE * nominal)), axis=0, return_index=True)[1]]


def _distinct(net, roots, nominal):
    return [roots[k] for k in distinct(net, [root.voltages for root in roots], nominal)]


def same(a: Settled, b: Settled, nominal) -> bool:
    """Whether two settled states are one: every load in the same mode, and the voltages one (`are_one`)."""
    return a.net.modes == b.net.modes and are_one(a.net, a.root.voltages, b.root.voltages, nominal)


def _margins(net, voltages):
    """How far (V) each load is from the end of its mode, settled at `voltages` (V, all nodes)."""
    size = np.abs(net.across(voltages))
    return net.each(lambda model, v: model.margin(model.settled(v), v), size)
