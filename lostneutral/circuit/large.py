"""Networks with too many loads to search: one settled state, followed while the break opens slowly."""

from dataclasses import replace

import numpy as np

from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import newton
from lostneutral.circuit.search import Settled

MOST_BRANCHES = 100  #: load branches up to which every settled state is looked for
ROUNDS = 30  #: of loads changing their mode before the search gives up


def followed(net: Network, starts) -> Settled | None:
    """Return the first settled state that Newton's method reaches from `starts` (voltages of all nodes, V).

    Loads begin in normal running; those that cannot stay in their mode change it together, until every one can.
    Its stability is not worked out, and other states may exist. None if no start leads to one.
    """
    for start in starts:
        moded, v = net, start
        for _ in range(ROUNDS):
            root = newton(moded, v)
            if not root.solved:
                break
            size = np.abs(root.drop(net.branch_ends))
            states = moded.settled(size)
            ended = moded.each(lambda model, x, u: model.margin(x, u), states, size) <= 0
            if not ended.any():
                return Settled(moded, root, states, np.nan)
            moded, v = _switched(moded, states, size, ended), root.voltages
    return None


def words(net: Network):
    """Return what a reader must know of a state found so."""
    return (f"With {len(net.models)} loads, some of which draw less current at a higher voltage, not every settled state "
            "was looked for: this one was followed while the break opens slowly. Whether it holds against "
            "disturbances was not tested, and there may be others.")


def _switched(net, states, size, ended):
    new = {}  # like loads share a model, in the new mode too

    def changed(model, state, volts):
        mode = str(np.ravel(model.next_mode(state, volts))[0])
        return new.setdefault((model, mode), model.in_mode(mode))

    return replace(net, models=tuple(changed(model, x, u) if over else model for model, x, u, over
                                     in zip(net.models, states, size, ended)))
