"""The state equations of a network by tables: laws of loads as curves, the wiring reduced to the nodes where they move.

Loads with several ports answer by their laws, which are functions of several voltages. For courses, which ask thousands of times; what a course
comes to rest in is worked out by the laws themselves.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from lostneutral.circuit.network import Network
from lostneutral.loads.paces import paces

TOP = 2.2  #: nominal voltages that tables reach to: above what a star point that is lost leads to without resonance
_HAIR = 1e-6  #: of a piece of the states, before it begins, that is taken to it: just below state 0 nothing is rounded away either


class _Found(NamedTuple):
    """What a look at the tables gives: arrays (rows, moving branches) unless told, of those with one port where it says so."""

    volts: np.ndarray  #: complex, V
    sizes: np.ndarray  #: V
    paces: np.ndarray  #: (…, one port, 2), f1 and f2 of `Paces`, in the states
    turns: np.ndarray  #: (…, one port, 2), g1 and g2, at the voltages
    pace_slopes: np.ndarray | None
    turn_slopes: np.ndarray | None
    slopes: np.ndarray | None  #: of the admittance by the state, S a unit of state, of one port
    matrix: np.ndarray  #: (rows, pairs, pairs), from voltages to those without the change of the loads


class Tabled:
    """Rates and Jacobian of the branches `moving` of a dense network.

    `y` are the admittances (S) of all branches that the wiring is reduced with; the moving ones differ from them by and by.
    Every method returns None where a state or a voltage is beyond the tables.
    """

    def __init__(self, net: Network, moving, nominal):
        self.moving, self.top = moving, TOP * float(nominal.max())
        self._units = [(model, np.searchsorted(moving, where)) for model, where in net.groups if where.ndim > 1]
        self._single = np.flatnonzero(~np.isin(moving, net.ported))
        models = [net.models[k] for k in moving[self._single]]
        kinds = [paces(model, self.top) for model in models]
        known = tuple(dict.fromkeys(kinds))
        which = np.array([known.index(kind) for kind in kinds], int)
        self._low, self._per = (np.array([getattr(kind, name) for kind in kinds]) for name in ("low", "per"))
        pieces = np.array([len(kind.by_state) for kind in known], int)
        self._end, self._first = self._low + pieces[which], (np.cumsum(pieces) - pieces)[which] - self._low
        self._shift = which * 2 * self.top
        self._tables = _end_to_end(known, 2 * self.top) if known else None
        self._reduce(net, nominal)

    def _reduce(self, net, nominal):
        n, joins = net.free, net.incidence
        self._y = net.admittance(nominal)
        self._usual = net.across(net.solve_linear(self._y))
        _, one, self._pair = np.unique(joins[self.moving], axis=0, return_index=True, return_inverse=True)
        self._pair = self._pair.reshape(-1)
        self._one, self._diagonal = np.eye(len(one)), np.arange(len(self._single))
        self._together, one = self._one[self._pair] + 0j, self.moving[one]
        shifts = np.linalg.solve(net.nodal(self._y)[..., :n, :n], joins[one, :n].conj().T + 0j)
        self._everywhere = joins[:, :n] @ shifts
        self._between, self._at_pairs = self._everywhere[..., one, :], self._usual[..., one][..., None]
        self._count, self._own = net.count[..., self.moving], self._y[..., self.moving]

    def rates(self, state):
        """Return d(state)/dt (per second) of the moving branches in `state` (rows, moving branches)."""
        found = self._look(state, slopes=False)
        return None if found is None else self._rates(state, found)

    def _rates(self, state, found):
        each = (found.paces * found.turns).sum(axis=-1)
        if not self._units:
            return each
        rates = np.empty(state.shape)
        rates[..., self._single] = each
        for model, where in self._units:
            rates[..., where] = model.rate(state[..., where], found.sizes[..., where])
        return rates

    def sloped(self, state):
        """Return the same and its derivative by the states: (rows, moving, moving)."""
        found = self._look(state, slopes=True)
        return None if found is None else (self._rates(state, found), self._jacobian(state, found))

    def _jacobian(self, state, found):
        own, by_volts = (found.pace_slopes * found.turns).sum(axis=-1), (found.paces * found.turn_slopes).sum(axis=-1)
        between = np.linalg.solve(found.matrix, np.broadcast_to(self._between, found.matrix.shape))[..., self._pair[:, None], self._pair]
        turn = (np.conj(found.volts) / np.maximum(found.sizes, 1e-300))[..., None]
        if self._units:
            return self._coupled(state, found, (own, by_volts, found.slopes), between, turn)
        shift = between * (found.slopes * self._count * found.volts)[..., None, :]
        jacobian = -by_volts[..., None] * (turn * shift).real
        jacobian[..., self._diagonal, self._diagonal] += own
        return jacobian

    def _coupled(self, state, found, single, between, turn):
        """The Jacobian where loads with several ports couple branches: the slopes are matrices."""
        made = [np.zeros((*state.shape, state.shape[-1]), kind) for kind in (float, float, complex)]
        for matrix, part in zip(made, single):
            matrix[..., self._single, self._single] = part
        for model, where in self._units:
            for matrix, part in zip(made, model.slopes(state[..., where], found.sizes[..., where])):
                matrix[..., where[:, :, None], where[:, None, :]] = part
        own, by_volts, slopes = made
        return own - by_volts @ (turn * (between @ (slopes * (self._count * found.volts)[..., None]))).real

    def sizes(self, state):
        """Return the voltage (V, r.m.s.) across every branch of the network: (rows, branches)."""
        read = self._read(state[..., self._single])
        if read is None:
            return None
        change, _, volts = self._solved(self._admittances(state, read))
        return np.abs(self._usual - ((change * volts)[..., None, :] @ np.swapaxes(self._everywhere, -1, -2))[..., 0, :])

    def _read(self, state, slopes=False):
        """What the tables have of the states, (rows, branches of one port, 1 or 2, columns): values, slopes."""
        if not len(self._single):
            return np.zeros((*state.shape, 2, 4))
        at = state * self._per
        piece = np.floor(at + _HAIR)
        if not ((piece >= self._low) & (piece < self._end)).all():
            return None
        return _cubic(self._tables[0][self._first + piece.astype(np.int64)], at - piece, self._per if slopes else None)

    def _admittances(self, state, read):
        """The admittances (S) of the moving branches, of those with one port as `read`."""
        single = np.ascontiguousarray(read[..., 0, :2]).view(complex)[..., 0]
        if not self._units:
            return single
        y = np.empty(state.shape, complex)
        y[..., self._single] = single
        for model, where in self._units:
            y[..., where] = model.admittance(state[..., where])
        return y

    def _solved(self, y):
        """The change of admittance (S) at each pair of nodes, the matrix of `_Found`, and the voltages (V) there."""
        change = (y * self._count - self._own) @ self._together
        matrix = self._between * change[..., None, :] + self._one
        return change, matrix, np.linalg.solve(matrix, self._at_pairs)[..., 0]

    def _look(self, state, slopes):
        read = self._read(state[..., self._single] if self._units else state, slopes)
        if read is None:
            return None
        _, matrix, volts = self._solved(self._admittances(state, read))
        volts = volts[..., self._pair]
        sizes = np.abs(volts)
        if not (sizes < self.top).all():
            return None
        turns = self._turned(sizes[..., self._single], slopes)
        return _Found(volts, sizes, read[..., 0, 2:], turns[..., 0, :], *((
            read[..., 1, 2:], turns[..., 1, :], read[..., 1, 0] + 1j * read[..., 1, 1]) if slopes else (None,) * 3), matrix)

    def _turned(self, sizes, slopes):
        """What the tables have of the voltages, as `_read` of the states."""
        if not len(self._single):
            return np.zeros((*sizes.shape, 2, 2))
        _, begins, knots, lengths, by_volts = self._tables
        piece = np.searchsorted(knots, sizes + self._shift, side="right") - 1
        length = lengths[piece]
        return _cubic(by_volts[piece], (sizes - begins[piece]) / length, 1 / length if slopes else None)


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
    """Return the tables for a network, `nominal` the usual size (V) across each branch, or None where there are none: sparse, or no load moves."""
    if net.sparse or not len(moving) or not net.free or not np.isin(net.ported, moving).all():
        return None
    try:
        return Tabled(net, moving, nominal)
    except (TypeError, np.linalg.LinAlgError):  # parameters that are arrays; a wiring that is not tied down
        return None
