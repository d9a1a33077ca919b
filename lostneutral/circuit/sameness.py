"""When two settled states are one."""

import numpy as np

from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import ACCEPTED, newton

SAME = 1e-5  #: states whose node voltages differ by less than this share of nominal are one
FLAT = 0.02  #: the same, where the equations hold everywhere between the two


def are_one(net: Network, a, b, nominal) -> bool:
    """Whether `a` and `b` (V, all nodes of `net`, every load in its mode) are one settled state.

    They are equal, or so flat between them (a multiple root) that rounding tells them apart.
    """
    apart = np.abs(a - b).max()
    if apart < SAME * nominal:
        return True
    if apart >= FLAT * nominal:
        return False
    between = newton(net, (a + b) / 2, steps=0)
    return bool(between.left <= 10 * ACCEPTED)


def distinct(net: Network, voltages, nominal) -> list[int]:
    """Return which of `voltages` (a row each, V, all nodes of `net`) are settled states of their own: the first of those that are one."""
    every, kept = np.array(voltages), []
    for k, v in enumerate(voltages):
        near = np.flatnonzero(np.abs(every[kept] - v).max(axis=1, initial=0.0) < FLAT * nominal) if kept else ()
        if not any(are_one(net, voltages[kept[other]], v, nominal) for other in near):
            kept.append(k)
    return kept
