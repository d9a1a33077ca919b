"""The settled state of a case near one that is known: followed from there, searched for only where that fails."""

from dataclasses import replace

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.network import Network, network
from lostneutral.circuit.newton import newton
from lostneutral.circuit.search import Settled, settled_at, the_only_one
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.starts import usual
from lostneutral.circuit.wiring import wiring

ROUNDS = 30  #: of loads changing their mode before a state is given up


def settle(case: Case, breaks=None, crosses=None, *, start: Settled | Solution | None = None) -> Settled | None:
    """Return the settled state of `case` that a known one leads to, or None if the circuit arrives at none.

    `breaks` and `crosses` in force default to the case's own at its end. `start` is the state of a case that differs
    in joints, electrodes or loads: Newton's method goes on from it, and what it reaches is taken if every load can
    stay in its mode and the state attracts. Otherwise, and without `start`, all states are looked for and the one
    arrived at is returned. Raises NoSolutionError if there is none to be found.
    """
    from lostneutral.circuit.states import settled_states

    breaks, crosses = case.breaks_after() if breaks is None else breaks, case.crosses if crosses is None else crosses
    net = network(wiring(case, breaks, crosses))
    if start is not None:
        found = settle_near(net, case.supply.nominal, start)
        if found is not None and found.attracting:
            return found
    return settled_states(case, "after", net)[1]


def settle_near(net: Network, nominal, start: Settled | Solution | np.ndarray | None = None) -> Settled | None:
    """Return the settled state that Newton's method reaches from `start`, attracting or not; None if it reaches none.

    `start` is a state of another network of the same case, voltages of all nodes (V), or None for the usual guess.
    Loads begin in the modes they had there, else in normal running; those that cannot stay in theirs change it
    together, until every one can.
    """
    try:
        found = in_its_modes(*_carried(net, nominal, start))
    except np.linalg.LinAlgError:
        return None
    if found is None:
        return None
    moded, root, _ = found
    alone = all(model.rising and len(model.modes) == 1 for model in moded.models)
    return the_only_one(moded, root) if alone else settled_at(moded, [root], nominal)[0]


def in_its_modes(net: Network, v):
    """Return (network with every load in a mode it can stay in, Root, states) that `v` (V) leads to, or None.

    Loads that cannot stay in their mode change it together, until every one can.
    """
    for _ in range(ROUNDS):
        root = newton(net, v)
        if not root.solved:
            return None
        size = np.abs(root.drop(net.branch_ends))
        states = net.settled(size)
        ended = net.each(lambda model, x, u: model.margin(x, u), states, size) <= 0
        if not ended.any():
            return net, root, states
        net, v = _switched(net, states, size, ended), root.voltages
    return None


def _carried(net, nominal, start):
    if isinstance(start, np.ndarray):
        return net, start
    v = usual(net, nominal)
    if start is None:
        return net, v
    if isinstance(start, Solution):
        known, modes = start.nodes, {}
    else:
        known = {terminal: start.root.voltages[number] for terminal, number in start.net.node.items()}
        modes = dict(zip(start.net.keys, start.net.modes))
    for terminal, number in net.node.items():
        if number < net.free and known.get(terminal) is not None:
            v[number] = known[terminal]
    models = tuple(model.in_mode(mode) if (mode := modes.get(key, model.mode)) in model.modes else model
                   for key, model in zip(net.keys, net.models))
    return replace(net, models=models), v


def _switched(net, states, size, ended):
    new = {}  # like loads share a model, in the new mode too

    def changed(model, state, volts):
        mode = str(np.ravel(model.next_mode(state, volts))[0])
        return new.setdefault((model, mode), model.in_mode(mode))

    return replace(net, models=tuple(changed(model, x, u) if over else model for model, x, u, over
                                     in zip(net.models, states, size, ended)))
