"""What all causes together say of voltages and switches: the rows of those that matter, weighed by their probabilities."""

import numpy as np

from lostneutral.evidence.spans import percentile
from lostneutral.frozen import dataclass


@dataclass(frozen=True, eq=False)
class Pooled:
    """The rows of all causes that matter."""

    nodes: dict
    on: np.ndarray
    weight: np.ndarray


def pooled(parts, posterior):
    """Return the rows of all rivals that matter, with their weights given the evidence."""
    listed = [(part, share) for part, share in zip(parts, posterior) if part.states is not None]
    used = [(part, share) for part, share in listed if share > 1e-4] or [max(listed, key=lambda pair: pair[1])]
    node = used[0][0].states.world.net.node
    v = np.concatenate([np.where(part.states.solved[:, None], part.states.v, np.nan) for part, _ in used])
    nodes = {terminal: v[:, k] for terminal, k in node.items()}
    weight = np.concatenate([part.weight * share for part, share in used])
    return Pooled(nodes, np.concatenate([part.states.on for part, _ in used]), weight / weight.sum())


def voltages_told(case, rows):
    """Return (point, line, 5, 50 and 95 % of its voltage to neutral, V; None where it most likely has none) of every line."""
    made = []
    for point in case.points:
        for line in point.phases:
            volts = np.abs(rows.nodes[point.name, line] - rows.nodes[point.name, "N"])
            there = np.isfinite(volts)
            ends = percentile(volts[there], rows.weight[there]) if rows.weight[there].sum() > 0.5 else (None,) * 3
            made.append((point.name, line, *(None if v is None or np.isnan(v) else float(v) for v in ends)))
    return tuple(made)


def positions_told(case, rows):
    """Return the likeliest positions of all unknown switches together, and their share."""
    open_ = {u.load for u in case.unknowns if u.on is not None} | {name for u in case.unknowns for name in u.one_of}
    names = [(k, load.name) for k, load in enumerate(case.loads) if load.name in open_]
    if not names:
        return (), 1.0
    kinds, at = np.unique(rows.on[:, [k for k, _ in names]], axis=0, return_inverse=True)
    shares = np.bincount(np.ravel(at), rows.weight)
    return tuple((name, bool(on)) for (_, name), on in zip(names, kinds[shares.argmax()])), float(shares.max())
