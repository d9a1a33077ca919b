"""Every settled state of a network, over all star points and all modes of the loads."""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import ACCEPTED, Root, newton
from lostneutral.circuit.starts import starts

SAME = 1e-6  #: states whose node voltages differ by less than this share of nominal are one
FLAT = 0.02  #: the same, where the equations hold everywhere between the two
MOST_MODES = 64  #: combinations of modes that are tried in full
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
        return self.growth < 0 if self.returns is None else self.returns


def mode_choices(net: Network):
    """Return the combinations of modes to try, each a tuple of models, and whether these are all there are.

    Like loads between the same nodes see the same voltage and are taken to be in the same mode.
    """
    alike = {}
    for i, model in enumerate(net.models):
        if len(model.modes) > 1:
            alike.setdefault((model, tuple(net.branch_ends[i])), []).append(i)
    together = list(alike.values())
    options = [net.models[members[0]].modes for members in together]
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


def settled_at(net: Network, root: Root, nominal) -> Settled:
    """Return `root` with its states and its stability."""
    dynamics = Dynamics(net, nominal)
    states = net.settled(np.abs(net.across(root.voltages)))
    growth = dynamics.growth(states) if len(dynamics.moving) <= MANY_BRANCHES else np.nan
    return Settled(net, root, states, growth)


def the_only_one(net: Network, root: Root) -> Settled:
    """Return `root` of a network in which no other state is possible: whatever disturbs it must die out."""
    return Settled(net, root, net.settled(np.abs(net.across(root.voltages))), np.nan, returns=True)


def search(net: Network, nominal, more_starts=()) -> tuple[list[Settled], bool]:
    """Return every settled state found, and whether all combinations of modes were tried.

    For each combination of modes Newton's method is started from `more_starts` and wherever a map of star-point
    positions shows the neutral's current sum changing sign; a state counts only if every load can stay in its mode.
    """
    choices, whole = mode_choices(net)
    found = []
    for models in choices:
        moded = replace(net, models=models)
        for number, start in enumerate((*more_starts, *starts(moded, nominal))):
            likely = number <= len(more_starts)
            root = newton(moded, start) if likely else newton(moded, start, steps=15, shortest=0.05)
            near = root.solved and np.abs(root.voltages).max() < FAR * nominal
            if near and not _known(found, moded, root, nominal) and _holds(moded, root):
                found.append(settled_at(moded, root, nominal))
    return sorted(found, key=lambda s: tuple(np.round(np.abs(s.root.voltages), 3))), whole


def _known(found, net, root, nominal):
    return any(s.net.modes == net.modes and _one(net, s.root, root, nominal) for s in found)


def _one(net, a, b, nominal):
    """Whether two roots are one: equal, or so flat between them (a multiple root) that rounding tells them apart."""
    apart = np.abs(a.voltages - b.voltages).max()
    if SAME * nominal <= apart < FLAT * nominal:
        between = newton(net, (a.voltages + b.voltages) / 2, steps=0)
        return between.residual <= 10 * ACCEPTED * between.largest
    return apart < SAME * nominal


def _holds(net, root):
    size = np.abs(net.across(root.voltages))
    margins = net.each(lambda model, v: model.margin(model.settled(v), v), size)
    return bool((margins > 0).all())
