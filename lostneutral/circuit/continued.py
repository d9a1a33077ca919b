"""The settled state that lies next to one that is known, in the same network or in one that differs a little."""

from dataclasses import replace

import numpy as np

from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import newton
from lostneutral.circuit.search import Settled, one_state_only, settled_at, the_only_one
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.starts import usual

ROUNDS = 30  #: of loads changing their mode before a state is given up
AGAIN = 1e-6  #: of the supply's voltage, by which two rounds may differ that are one


def settle_near(net: Network, nominal, start: Settled | Solution | np.ndarray | None = None) -> Settled | None:
    """Return the settled state that Newton's method reaches from `start`; None if it reaches none, or one that does not attract.

    `start` is a state of another network of the same case, voltages of all nodes (V), or None for the usual guess.
    Loads begin in the modes they had there, else in normal running; those that cannot stay in theirs change it
    together, until every one can. Where the circuit is too large for eigenvalues (`Settled.growth` nan) what is reached counts.
    """
    try:
        found = in_its_modes(*_carried(net, nominal, start))
    except np.linalg.LinAlgError:
        return None
    if found is None:
        return None
    moded, root, states = found
    state = the_only_one(moded, root) if one_state_only(moded) else settled_at(moded, [root], nominal, states[None])[0]
    return state if state.attracting or np.isnan(state.growth) else None


def in_its_modes(net: Network, v, **effort):
    """Return (network with every load in a mode it can stay in, Root, states) that `v` (V) leads to, or None.

    Loads that cannot stay in their mode change it together, until every one can, or until they are where they have been.
    """
    been, near = {}, AGAIN * np.abs(net.fixed).max(initial=1.0)
    for _ in range(ROUNDS):
        root = newton(net, v, **effort)
        before = been.setdefault(net.modes, [])
        if not root.solved or any(np.abs(root.voltages - other).max() <= near for other in before):
            return None
        before.append(root.voltages)
        size = np.abs(root.across(net))
        states = net.settled(size)
        ended = net.each(lambda model, x, u: model.margin(x, u), states, size) <= 0
        if not ended.any():
            return net, root, states
        net, v = _switched(net, states, size, ended), root.voltages
    return None


def _carried(net, nominal, start):
    if isinstance(start, np.ndarray):
        return net, start
    if start is None:
        return net, usual(net, nominal)
    if isinstance(start, Solution):
        known, modes = start.nodes, start.modes
    else:
        known = {terminal: start.root.voltages[number] for terminal, number in start.net.node.items()}
        modes = dict(zip(start.net.keys, start.net.modes))
    held = {number: volts for terminal, number in net.node.items() if number < net.free and (volts := known.get(terminal)) is not None}
    v = usual(net, nominal) if len(held) < net.free else net.all_voltages(np.zeros(net.free, complex))
    for number, volts in held.items():
        v[number] = volts
    models = tuple(model.in_mode(mode) if (mode := modes.get(key, model.mode)) in model.modes else model
                   for key, model in zip(net.keys, net.models))
    return (net if models == net.models else net.varied(models=models)), v


def _switched(net, states, size, ended):
    new = {}  # like loads share a model, in the new mode too

    def changed(model, state, volts):
        mode = str(np.ravel(model.next_mode(state, volts))[0])
        return new.setdefault((model, mode), model.in_mode(mode))

    parts = map(net.part, range(len(net.models)))
    return replace(net, models=tuple(changed(model, states[part], size[part]) if over else model for model, part, over
                                     in zip(net.models, parts, ended)))
