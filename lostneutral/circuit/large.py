"""Networks with too many loads to search: loads lumped by line and kind, every state of the lump, each followed back."""

from collections.abc import Callable
from dataclasses import replace
from itertools import product

import numpy as np

from lostneutral.circuit import arrival
from lostneutral.circuit.continued import in_its_modes
from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import newton
from lostneutral.circuit.search import Settled, holding, same, search
from lostneutral.circuit.starts import floating_neutrals, usual
from lostneutral.frozen import dataclass

MOST_BRANCHES = 100  #: load branches up to which every settled state is looked for as it is
ALIKE = 0.03  #: nominal voltages by which the lines that lumped loads hang on may differ
AWAY = 0.15  #: nominal voltages by which a state may lie off that of its lump
MOST_STATES = 100  #: combinations of the states of neutrals that float apart


@dataclass(frozen=True, eq=False)
class Found:
    """What was found of a large network: its states (the one arrived at first, if it is decided), and how it ends."""

    states: list
    ends: str  #: "settled" | "cycle" | "undecided"
    lost: int  #: states of the lump that led to none of the network
    lumps: int
    cycling: arrival.Arrival | None = None  #: of the one lump that does not settle, where it is the only one …
    spread: Callable | None = None  #: … and what makes a stretch of its course one of the whole network


def followed(net: Network, starts, **effort) -> Settled | None:
    """Return the first settled state that Newton's method (`newton`, with `effort`) reaches from `starts` (voltages of all nodes, V).

    Loads begin in normal running; those that cannot stay in their mode change it together, until every one can.
    Its stability is not worked out, and other states may exist. None if no start leads to one.
    """
    for start in starts:
        found = in_its_modes(net, start, **effort)
        if found is not None:
            return Settled(*found, np.nan)
    return None


def states_by_lumps(net: Network, nominal, carried) -> Found:
    """Return the settled states of `net` found from those of its loads lumped by line and kind.

    For every neutral that floats apart the loads of one kind on one line become one load straight from line to
    neutral, all other nodes held where the usual guess puts them. Of that lump every state is looked for, its
    stability worked out, and its arrival from `carried` (states of the branches) followed in time. Newton's method
    goes back from each to the network.
    """
    base = usual(net, nominal)
    lumps = [lump_of(net, nodes, base, nominal) for nodes in floating_neutrals(net, nominal)]
    lumps = [lump for lump in lumps if lump is not None]
    choices, arrivals = [], []
    for lump in lumps:
        every = search(lump.net, nominal)[0]
        start = np.array([carried[where[0]] for where in lump.members])
        arrived = arrival.decide(lump.net, nominal, start, courses=4)
        arrivals.append(arrived)
        if arrived.ends == "settled":
            every = [arrived.settled, *(s for s in every if not same(s, arrived.settled, nominal))]
        choices.append(every)
    if not lumps:
        return Found([], "undecided", 0, 0)
    states, lost = [], 0
    for number, chosen in enumerate(product(*choices)):
        if number == MOST_STATES:
            break
        state = _back(net, base, lumps, chosen, nominal)
        if state is None:
            lost += 1
        elif not any(same(state, other, nominal) for other in states):
            states.append(state)
    ends = {a.ends for a in arrivals}
    cycling, spread = _cycling(net, base, lumps, arrivals, choices)
    first = "settled" if ends <= {"settled"} and states and not lost else "cycle" if "cycle" in ends else "undecided"
    return Found(states, first, lost, sum(len(lump.net.models) for lump in lumps), cycling, spread)


def _cycling(net, base, lumps, arrivals, choices):
    """The arrival of the one lump that cycles, and what makes a `Stretch` of it one of `net`; (None, None) if there are more or none.

    The loads of the other lumps stay as the first state of theirs has them, all loads that hang on no neutral as the voltages `base` have them.
    """
    cycling = [k for k, arrived in enumerate(arrivals) if arrived.ends == "cycle"]
    if len(cycling) != 1 or not all(found for k, found in enumerate(choices) if k not in cycling):
        return None, None
    own = lumps[cycling[0]]
    models, still = list(net.models), net.settled(np.abs(net.across(base)))
    for k, (lump, found) in enumerate(zip(lumps, choices)):
        if k not in cycling:
            _as_lump(net, models, lump, found[0].net)
            for where, state in zip(lump.members, found[0].states):
                still[where] = state

    def spread(part):
        now, states = list(models), np.tile(still, (len(part.times), 1))
        _as_lump(net, now, own, part.net)
        for where, state in zip(own.members, part.states.T):
            states[:, where] = state[:, None]
        return replace(part, net=net.varied(models=tuple(now)), states=states)

    return arrivals[cycling[0]], spread


def _as_lump(net, models, lump, small):
    """Put those of `models` that a lump stands for in the modes that its own have in `small`."""
    new = {}
    for where, model in zip(lump.members, small.models):
        for k in where:
            models[k] = new.setdefault((net.models[k], model.mode), net.models[k].in_mode(model.mode))


@dataclass(frozen=True, eq=False)
class Lump:
    nodes: np.ndarray
    net: Network
    members: list  #: the branches of the whole network in each of its own


def lump_of(net: Network, nodes, base, nominal) -> "Lump | None":
    """Return the loads that hang on `nodes` as few loads between one neutral and the lines, where `base` (V) has these; None if there are none."""
    inside = np.zeros(len(base), bool)
    inside[nodes] = True
    flowing, at_rest = 0j, 0j
    for (a, b), y in zip(net.element_ends, net.element_admittance):
        if inside[a] != inside[b]:
            flowing += y
            at_rest += y * base[b if inside[a] else a]
    members, on_line = {}, {}  # branches by line and model, and by line alone; lines go by the voltage that one was first met at
    for k in net.pairs:
        a, b = net.branch_ends[k]
        if inside[a] != inside[b] and net.count[k] > 0:
            at = base[b if inside[a] else a]
            line = next((other for other in on_line if abs(other - at) <= ALIKE * nominal), at)
            members.setdefault((line, net.models[k]), []).append(k)
            on_line.setdefault(line, []).append(k)
    if not members:
        return None
    groups = list(members.values())
    counts = np.array([net.count[where].sum() for where in groups])
    mean = {line: np.average([base[a if inside[b] else b] for a, b in net.branch_ends[where]], weights=net.count[where])
            for line, where in on_line.items()}
    lines = [mean[line] for line, _ in members]
    held = [at_rest / flowing] if flowing else []
    size = len(groups)
    small = replace(net, node={("lump", "N"): 0}, island={}, free=1, fixed=np.array([*lines, *held], complex),
                    element_ends=np.array([[0, size + 1]] if held else [], int).reshape(-1, 2),
                    element_admittance=np.array([flowing] if held else [], complex), joined=(), elements=(),
                    branch_ends=np.array([(1 + k, 0) for k in range(size)]), branch_number=np.arange(size),
                    models=tuple(net.models[where[0]] for where in groups), count=counts, units=(), weights=None)
    return Lump(nodes, small, groups)


def _back(net, base, lumps, chosen, nominal):
    """The state of the whole network that the states `chosen` of its lumps lead to, or None."""
    start, models, growth = base.copy(), list(net.models), -np.inf
    for lump, state in zip(lumps, chosen):
        start[lump.nodes] = state.root.voltages[0]
        _as_lump(net, models, lump, state.net)
        growth = max(growth, -1.0 if state.returns else np.inf if state.returns is False else state.growth)
    moded = replace(net, models=tuple(models))
    # First the lines, with the neutrals held.
    alone, order = holding(moded, np.concatenate([lump.nodes for lump in lumps]))
    held = newton(replace(alone, fixed=start[order][alone.free:]), start[order])
    found = in_its_modes(moded, held.voltages[np.argsort(order)])
    if found is None:
        return None
    volts = found[1].voltages
    there = [np.abs(volts[lump.nodes].mean() - state.root.voltages[0]) for lump, state in zip(lumps, chosen)]
    return None if max(there, default=0.0) > AWAY * nominal else Settled(*found, growth)


def lumped_words(net: Network, found: Found):
    """Return what a reader must know of states found so."""
    lost = (f" {found.lost} of the states found so led to none of the whole circuit.") if found.lost else ""
    return (f"With {len(net.models)} loads, some of which draw less current at a higher voltage, every settled state was "
            f"looked for with loads of one kind on one line taken together ({found.lumps} in all); whether a state holds was "
            f"worked out for these, its voltages for all loads as they are.{lost}")
