"""The state equations of a network by tables: laws of loads as curves, the wiring reduced to the nodes where they move.

For courses, which ask for them thousands of times; what a course comes to rest in is worked out by the laws themselves.
"""

from functools import lru_cache

import numpy as np

from lostneutral.circuit.network import Network
from lostneutral.frozen import dataclass
from lostneutral.loads.paces import paces

TOP = 2.2  #: nominal voltages that tables reach to: above what a star point that is lost leads to without resonance
_HAIR = 1e-6  #: of a piece of the states, before it begins, that is taken to it: just below state 0 nothing is rounded away either


@dataclass(frozen=True, eq=False)
class _Found:
    """What a look at the tables gives of the moving branches: arrays (rows, branches) unless told."""

    volts: np.ndarray  #: complex, V
    sizes: np.ndarray  #: V
    paces: np.ndarray  #: (…, 2), f1 and f2 of `Paces`, in the states
    turns: np.ndarray  #: (…, 2), g1 and g2, at the voltages
    pace_slopes: np.ndarray | None
    turn_slopes: np.ndarray | None
    slopes: np.ndarray | None  #: of the admittance by the state, S a unit of state
    matrix: np.ndarray  #: (rows, pairs, pairs), from voltages to those without the change of the loads


class Tabled:
    """Rates and Jacobian of the branches `moving` of a dense network whose loads have one port each.

    `y` are the admittances (S) of all branches that the wiring is reduced with; the moving ones differ from them by and by.
    Every method returns None where a state or a voltage is beyond the tables.
    """

    def __init__(self, net: Network, moving, nominal):
        self.moving, self.top = moving, TOP * float(nominal.max())
        models = [net.models[k] for k in moving]
        kinds = [paces(model, self.top) for model in models]
        known = tuple(dict.fromkeys(kinds))
        which = np.array([known.index(kind) for kind in kinds])
        self._low, self._per = (np.array([getattr(kind, name) for kind in kinds]) for name in ("low", "per"))
        pieces = np.array([len(kind.by_state) for kind in known])
        self._end, self._first = self._low + pieces[which], (np.cumsum(pieces) - pieces)[which] - self._low
        self._shift = which * 2 * self.top
        self._by_state, self._begins, self._knots, self._lengths, self._by_volts = _end_to_end(known, 2 * self.top)
        self._reduce(net, nominal)

    def _reduce(self, net, nominal):
        n, joins = net.free, net.incidence[:, : net.free]
        self._y = net.admittance(nominal)
        self._usual = net.across(net.solve_linear(self._y))
        ends, self._pair = np.unique(net.branch_ends[self.moving], axis=0, return_inverse=True)
        self._pair = self._pair.reshape(-1)
        self._one, self._diagonal = np.eye(len(ends)), np.arange(len(self.moving))
        self._together = self._one[self._pair] + 0j
        one = self.moving[[int(np.flatnonzero(self._pair == k)[0]) for k in range(len(ends))]]
        shifts = np.linalg.solve(net.nodal(self._y)[..., :n, :n], joins[one].T + 0j)
        self._everywhere = joins @ shifts
        self._between, self._at_pairs = self._everywhere[..., one, :], self._usual[..., one][..., None]
        self._count, self._own = net.count[..., self.moving], self._y[..., self.moving]

    def rates(self, state):
        """Return d(state)/dt (per second) of the moving branches in `state` (rows, moving branches)."""
        found = self._look(state, slopes=False)
        if found is None:
            return None
        each = found.paces * found.turns
        return each[..., 0] + each[..., 1]

    def jacobian(self, state):
        """Return its derivative by the states: (rows, moving, moving)."""
        found = self._look(state, slopes=True)
        if found is None:
            return None
        own, by_volts = (found.pace_slopes * found.turns).sum(axis=-1), (found.paces * found.turn_slopes).sum(axis=-1)
        between = np.linalg.solve(found.matrix, np.broadcast_to(self._between, found.matrix.shape))
        shift = between[..., self._pair[:, None], self._pair] * (found.slopes * self._count * found.volts)[..., None, :]
        turn = np.conj(found.volts) / np.maximum(found.sizes, 1e-300)
        jacobian = -by_volts[..., None] * (turn[..., None] * shift).real
        jacobian[..., self._diagonal, self._diagonal] += own
        return jacobian

    def sizes(self, state):
        """Return the voltage (V, r.m.s.) across every branch of the network: (rows, branches)."""
        read = self._read(state)
        if read is None:
            return None
        change, _, volts = self._solved(read[..., 0, :2])
        return np.abs(self._usual - ((change * volts)[..., None, :] @ np.swapaxes(self._everywhere, -1, -2))[..., 0, :])

    def _read(self, state, slopes=False):
        """What the tables have of the states, (rows, branches, 1 or 2, columns): values, slopes."""
        at = state * self._per
        piece = np.floor(at + _HAIR)
        if not ((piece >= self._low) & (piece < self._end)).all():
            return None
        return _cubic(self._by_state[self._first + piece.astype(np.int64)], at - piece, self._per if slopes else None)

    def _solved(self, y):
        """The change of admittance (S) at each pair of nodes, the matrix of `_Found`, and the voltages (V) there."""
        change = (y.view(complex)[..., 0] * self._count - self._own) @ self._together
        matrix = self._between * change[..., None, :] + self._one
        return change, matrix, np.linalg.solve(matrix, self._at_pairs)[..., 0]

    def _look(self, state, slopes):
        read = self._read(state, slopes)
        if read is None:
            return None
        _, matrix, volts = self._solved(read[..., 0, :2])
        volts = volts[..., self._pair]
        sizes = np.abs(volts)
        if not (sizes < self.top).all():
            return None
        piece = np.searchsorted(self._knots, sizes + self._shift, side="right") - 1
        length = self._lengths[piece]
        turns = _cubic(self._by_volts[piece], (sizes - self._begins[piece]) / length, 1 / length if slopes else None)
        return _Found(volts, sizes, read[..., 0, 2:], turns[..., 0, :], *((
            read[..., 1, 2:], turns[..., 1, :], read[..., 1, 0] + 1j * read[..., 1, 1]) if slopes else (None,) * 3), matrix)


@lru_cache(maxsize=8)
def _end_to_end(known, apart):
    """The tables of several kinds one after the other, their voltages `apart` (V) from one kind to the next for the search."""
    begins = np.concatenate([one.volts for one in known])
    return (np.concatenate([one.by_state for one in known]), begins,
            np.concatenate([one.volts + apart * k for k, one in enumerate(known)]), np.append(np.diff(begins), 1.0),
            np.concatenate([part for one in known for part in (one.by_volts, np.zeros((1, 4, 2)))]))


def _cubic(parts, t, per=None):
    """Values of cubics (…, 4, columns) at `t`, and with `per` (pieces a unit) their slopes: (…, 1 or 2, columns)."""
    a0, a1, a2, a3 = (parts[..., k, :] for k in range(4))
    t = t[..., None]
    value = ((a3 * t + a2) * t + a1) * t + a0
    if per is None:
        return value[..., None, :]
    return np.stack([value, ((3 * a3 * t + 2 * a2) * t + a1) * per[..., None]], axis=-2)


def tabled(net: Network, moving, nominal) -> Tabled | None:
    """Return the tables for a network, `nominal` the usual size (V) across each branch, or None where there are none: sparse, with loads of several ports, or of none that move."""
    if net.sparse or len(net.ported) or not len(moving) or not net.free:
        return None
    try:
        return Tabled(net, moving, nominal)
    except (TypeError, np.linalg.LinAlgError):  # parameters that are arrays; a wiring that is not tied down
        return None
