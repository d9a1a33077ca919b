"""Nodes taken out of a network of impedances one after the other, their stars turned into meshes, in many rows together.

Only admittances between two nodes are kept, none is subtracted: a node that is tied down by nanosiemens beside cables of
hundreds of siemens keeps all its digits. Source: Rosen, A new network theorem (1924); what is left is the reduction of
Kron, Tensor analysis of networks (1939).
"""

import numpy as np
from scipy.sparse import csr_matrix

from lostneutral.frozen import dataclass

TOGETHER = 512  #: rows, which then stay near the processor
SLACK = 1  #: nodes more than the fewest that a node may meet, and still be taken out in the same round
MOST = 32  #: nodes that one that is taken out meets at most: what meets more is sooner solved in a matrix with those that stay


@dataclass(frozen=True, eq=False)
class _Round:
    """Nodes that meet as many others, and none of each other, taken out at once."""

    nodes: np.ndarray  #: (nodes,)
    others: np.ndarray  #: (nodes, met): what each of them meets
    spokes: np.ndarray  #: (nodes, met): numbers of the pairs that join them
    made: np.ndarray  #: (nodes, met, met): numbers of the pairs of each mesh, by the spokes that make them
    above: tuple  #: which spokes make each of these once: the first, and the second
    into: np.ndarray  #: numbers of the pairs that are added to
    added: object  #: where several nodes add to one pair: which of what is made is added to each, a sparse matrix (pairs, nodes × made)


class StarMesh:
    """The order in which nodes are taken out of a network, worked out once, and what it does to rows of admittances."""

    def __init__(self, nodes: int, pairs, kept):
        """`nodes` are joined by `pairs` (of nodes; more may be made); those of `kept` (bool) stay, and what would meet too many (`MOST`)."""
        self.pairs, self._near, self._rounds = {}, [set() for _ in range(nodes)], []
        self.kept = np.array(kept)
        for a, b in pairs:
            if a != b:
                self.pair(int(a), int(b))
        waiting = sorted(np.flatnonzero(~self.kept).tolist())
        while chosen := self._apart(waiting):
            for size in sorted({len(self._near[k]) for k in chosen}):
                self._take_out([k for k in chosen if len(self._near[k]) == size])
            out = set(chosen)
            waiting = [k for k in waiting if k not in out]
            for k in chosen:
                for other in self._near[k]:
                    self._near[other].discard(k)
        self.kept[waiting] = True
        self.left = np.array([(a, b) for a, b in self.pairs if self.kept[a] and self.kept[b]], int).reshape(-1, 2)
        self._left = np.array([self.pairs[a, b] for a, b in self.left.tolist()], int)

    def pair(self, a, b):
        """Return the number of the pair of two nodes, made where there was none."""
        key = (a, b) if a < b else (b, a)
        if key not in self.pairs:
            self.pairs[key] = len(self.pairs)
            self._near[a].add(b)
            self._near[b].add(a)
        return self.pairs[key]

    def _apart(self, waiting):
        met = {k: len(self._near[k]) for k in waiting}
        most, chosen, barred = min(min(met.values(), default=0) + SLACK, MOST), [], set()
        for k in sorted((k for k in waiting if met[k] <= most), key=met.get):
            if k not in barred:
                chosen.append(k)
                barred |= self._near[k]
        return chosen

    def _take_out(self, nodes):
        others = [sorted(self._near[k]) for k in nodes]
        spokes = [[self.pair(k, other) for other in own] for k, own in zip(nodes, others)]
        made = np.array([[[-1 if a == b else self.pair(a, b) for b in own] for a in own] for own in others])
        above = np.triu_indices(made.shape[1], 1)
        once = made[:, *above].ravel()
        into, row = np.unique(once, return_inverse=True)
        added = csr_matrix((np.ones(len(once)), (row, np.arange(len(once)))), (len(into), len(once))) if len(into) < len(once) else None
        self._rounds.append(_Round(np.array(nodes), np.array(others), np.array(spokes), made, above, into, added))

    def taken_out(self, y):
        """Return (admittances between the nodes `left` (pairs, rows), shares for `spread`), of `y` (pairs, rows), S.

        The pairs of `y` are numbered as `pairs` numbers them; it is changed on the way.
        """
        shares = [np.empty((*r.spokes.shape, y.shape[1]), complex) for r in self._rounds]
        for begin in range(0, y.shape[1], TOGETHER):
            rows = slice(begin, begin + TOGETHER)
            some = y[:, rows]
            for r, share in zip(self._rounds, shares):
                spokes = some[r.spokes]
                share[..., rows] = own = spokes * (1 / spokes.sum(axis=1, keepdims=True))
                if r.added is not None:
                    first, second = r.above
                    some[r.into] += r.added @ (spokes[:, first] * own[:, second]).reshape(-1, some.shape[1])
                    continue
                for k in range(spokes.shape[1] - 1):  # spoke by spoke: what is made at a time stays near the processor
                    some[r.made[:, k, k + 1:]] += spokes[:, k, None] * own[:, k + 1:]
        return y[self._left], shares

    def spread(self, shares, rows, v):
        """Put into `v` (nodes, rows; V) the voltages of the nodes that were taken out of the rows numbered `rows`."""
        for r, share in zip(reversed(self._rounds), reversed(shares)):
            v[r.nodes] = (share[..., rows] * v[r.others]).sum(axis=1)
