"""Star points near every settled state of many stars at once, by tables of their loads' laws."""

from types import SimpleNamespace

import numpy as np

from lostneutral.circuit.equations import ROUNDING, USUAL
from lostneutral.circuit.newton import newton_rows
from lostneutral.circuit.search import ALIKE, NEARLY, ROUGH, SHORT
from lostneutral.circuit.starts import CurrentSum, LawTables, coarse, usual, zeros


def rough_stars(nets, nominal) -> list[list[complex]]:
    """Return of each of `nets`, whose one free node is a neutral, the star points (V) near every state with its loads in normal running.

    By tables of the loads' laws, some of them more than once; which of them hold is not asked.
    """
    tables = [LawTables(net, nominal) for net in nets]
    sums = [CurrentSum(net, np.array([0]), usual(net, nominal), nominal, own) for net, own in zip(nets, tables)]
    starts = [np.concatenate([coarse(nominal), zeros(law, nominal, own)]) for law, own in zip(sums, tables)]
    of = np.repeat(np.arange(len(sums)), [len(own) for own in starts])
    roughly = newton_rows(_Stars.of(sums).part(of), np.concatenate([*starts, np.zeros(0)])[:, None], **SHORT, aim=ROUGH)
    near, made = roughly.residual <= NEARLY * roughly.largest, []
    for k in range(len(sums)):
        own = roughly.voltages[near & (of == k), 0]
        made.append(own[np.unique(np.round(own / (ALIKE * nominal)), return_index=True)[1]].tolist())
    return made


class _Stars:
    """The current sums of stars, a row each, as `newton_rows` takes the equations of a network with one free node.

    The loads on one line are one. `y`, `rise` and `most` have the tables of all (see `CurrentSum`) one after the other, in which each begins
    at `begin` (rows, lines) and ends `last` further on.
    """

    net, samples = SimpleNamespace(free=1, sparse=False), ()

    def __init__(self, linear, at_rest, fixed, begin, last, *tables):
        self.linear, self.at_rest, self.fixed, self.begin, self.last = linear, at_rest, fixed, begin, last
        self.y, self.rise, self.most, self.per_volt = self.tables = tables

    @classmethod
    def of(cls, sums):
        """Return the equations of `sums`, a row each; a line that one has not is one without loads."""
        laws = {id(y): (y, rise, one.largest[centre]) for one in sums for centre, (y, rise) in one.laws.items()}  # the same loads share their arrays
        begins = dict(zip(laws, np.cumsum([1, *(len(y) for y, *_ in laws.values())]).tolist()))
        shape = len(sums), max((len(one.laws) for one in sums), default=0)
        fixed, begin, last = (np.zeros(shape, dtype) for dtype in (complex, int, int))
        for row, one in enumerate(sums):
            for k, (centre, (y, _)) in enumerate(one.laws.items()):
                fixed[row, k], begin[row, k], last[row, k] = centre, begins[id(y)], len(y) - 1
        tables = (np.concatenate([[0.0], *(law[k] for law in laws.values())]) for k in range(3))
        return cls(np.array([one.linear for one in sums], complex), np.array([one.at_rest for one in sums], complex), fixed, begin, last,
                   *tables, 1 / sums[0].table[1] if sums else 1.0)

    def part(self, rows):
        """Return the equations of some of the rows."""
        return _Stars(*(whole[rows] for whole in (self.linear, self.at_rest, self.fixed, self.begin, self.last)), *self.tables)

    def imbalance(self, v):
        """As `Equations.imbalance`."""
        u = (v[0] - self.fixed) + v[1]
        size = np.abs(u)
        at = np.minimum(size * self.per_volt, self.last)
        below = at.astype(np.intp)
        rise = self.rise.take(self.begin + below)
        y = self.y.take(self.begin + below) + (at - below) * rise
        taken, flowing = y * u, self.linear * (v[0] + v[1])[:, 0] + self.at_rest
        largest = np.maximum((self.most.take(self.begin + below) * size).max(axis=1, initial=0.0), np.abs(flowing))
        total, meeting = taken.sum(axis=1) + flowing, np.abs(taken).sum(axis=1) + np.abs(flowing)
        left = np.abs(total) / np.maximum(meeting, ROUNDING * np.maximum(largest, USUAL))
        return total[:, None], left, largest, (u, y, rise * self.per_volt / np.maximum(size, 1e-300))

    def jacobian(self, response):
        """As `Equations.jacobian`."""
        u, y, turn = response
        by_real = self.linear + (y + turn * u.real * u).sum(axis=1)
        by_imaginary = 1j * self.linear + (1j * y + turn * u.imag * u).sum(axis=1)
        return np.stack([np.stack([by.real, by.imag], axis=1) for by in (by_real, by_imaginary)], axis=2)
