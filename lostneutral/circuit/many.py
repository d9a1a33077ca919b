"""Many cases of one wiring solved together as arrays: loads, joints and supply may differ from sample to sample."""

from dataclasses import fields

import numpy as np

from lostneutral.circuit.equations import Equations, Samples, take
from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import newton_rows
from lostneutral.frozen import dataclass

__all__ = ["Many", "Samples", "chunk_size", "solve_linear_many", "solve_many", "take"]

CHUNK = 20_000  #: samples solved at a time at most, which bounds the memory …
MOST_NUMBERS = 4_000_000  #: … as does this: numbers in the Jacobians of a chunk
AIM = 1e-11  #: residual, as a share of the largest current, at which a sample is not worked on further


@dataclass(frozen=True, eq=False)
class Many:
    """Settled states of many samples: arrays over (samples, nodes) and (samples, branches)."""

    voltages: np.ndarray  #: complex, V, all nodes
    across: np.ndarray  #: complex, V, each load branch
    solved: np.ndarray  #: bool, per sample: residual below 1e-9 of the largest current


def solve_many(net: Network, samples: Samples, nominal) -> Many:
    """Return the settled state of every sample, solved in chunks (see `chunk_size`).

    Raises ValueError for loads that may draw less current at a higher voltage: a sample could then settle in several
    ways, and which of them this would find is not decided.
    """
    if not all(model.single_state for model in samples.models or net.models):
        raise ValueError("samples are solved together only where every load's current rises with its voltage")
    size = chunk_size(net)
    parts = [_chunk(net, take(samples, np.arange(at, min(at + size, samples.size))), nominal)
             for at in range(0, samples.size, size)]
    return Many(*(np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(Many)))


def chunk_size(net: Network) -> int:
    """Return how many samples of `net` are solved at a time: `CHUNK`, fewer where there are many nodes."""
    return max(min(CHUNK, MOST_NUMBERS // max(2 * net.free, 1) ** 2), 1)


def _chunk(net, samples, nominal):
    found = newton_rows(Equations(net, samples), solve_linear_many(net, samples, nominal), aim=AIM)
    return Many(found.voltages, net.across(found.voltages), found.solved)


def solve_linear_many(net: Network, samples: Samples, nominal):
    """Return the voltages of all nodes (samples, nodes; V) with every load as the impedance it is at `nominal` (V)."""
    return Equations(net, samples).linear(np.tile(net.at(nominal), (samples.size, 1)))
