"""The equations of settled states: the current sum of every free node and its derivative, for many rows at once.

Rows are starts of one network, or samples (`Samples`) that differ in loads, joints or supply. Voltages are kept as a
pair of arrays, what a float holds and what rounding dropped of it, so that drops across good conductors are exact.
"""

from dataclasses import fields, is_dataclass, replace
from functools import cached_property

import numpy as np

from lostneutral.circuit.network import Network, grouped, matrix
from lostneutral.frozen import dataclass

NOTHING = 1e-9  #: A, a current below which nothing flows
ROUNDING = 1e-5  #: of the largest current, below which what meets at a node may be rounding
USUAL = 10.0  #: A, taken for the largest current where all are less: voltages are rounded in a dead circuit as in one that carries load


@dataclass(frozen=True, eq=False)
class Samples:
    """What differs from sample to sample; None = as in the network.

    Models of `models` may have arrays over the samples as parameters.
    """

    size: int
    models: tuple | None = None
    count: np.ndarray | None = None  #: (samples, branches), 0 where a load is off
    element_admittance: np.ndarray | None = None  #: (samples, elements), S
    fixed: np.ndarray | None = None  #: (samples, fixed nodes), V


def take(samples: Samples, where) -> Samples:
    """Return the samples numbered `where`."""
    def part(value):
        return None if value is None else value[where]

    parts = {id(m): model_part(m, samples.size, where) for m in {id(m): m for m in samples.models or ()}.values()}
    models = samples.models and tuple(parts[id(m)] for m in samples.models)
    return Samples(len(where), models, part(samples.count), part(samples.element_admittance), part(samples.fixed))


def model_part(model, size, where):
    """Return `model` with those of its parameters that are arrays over `size` samples cut to the samples `where`."""
    if not is_dataclass(model):
        return model
    arrays = {f.name: getattr(model, f.name)[where] for f in fields(model)
              if isinstance(getattr(model, f.name), np.ndarray) and getattr(model, f.name).shape[:1] == (size,)}
    return replace(model, **arrays) if arrays else model


class Equations:
    """The equations of a network, or of `samples` of it (then a row is a sample, and rows cannot be more or less)."""

    def __init__(self, net: Network, samples: Samples | None = None):
        self.net, self.samples = net, samples
        own = samples or Samples(0)
        self.count = net.count if own.count is None else own.count
        self.y = net.element_admittance if own.element_admittance is None else own.element_admittance
        self.fixed = net.fixed if own.fixed is None else own.fixed
        self.models = own.models or net.models

    def part(self, rows):
        """Return the equations of some of the rows."""
        return self if self.samples is None else Equations(self.net, take(self.samples, rows))

    @cached_property
    def groups(self):
        """As `Network.groups`; parameters may be arrays (samples, branches)."""
        if self.samples is None or self.samples.models is None:
            return self.net.groups
        return grouped(self.models, self.net.units)

    def response(self, magnitude):
        """Return (y, dy/dv) of the load branches (rows, branches), times their count, and the slopes of ports.

        A port's admittance may follow the voltages of all ports of its load: its slopes stand in an array (rows, ports,
        ports) of their own, and it has none among the others.
        """
        y, slope = np.empty(magnitude.shape, complex), np.empty(magnitude.shape, complex)
        ported = self.net.ported
        crossed = np.zeros((*magnitude.shape[:-1], len(ported), len(ported)), complex)
        for model, where in self.groups:
            if where.ndim == 1:
                y[..., where], slope[..., where] = model.response(magnitude[..., where])
                continue
            y[..., where], by_each = model.response(magnitude[..., where])
            slope[..., where] = 0
            at = np.searchsorted(ported, where)
            crossed[..., at[:, :, None], at[:, None, :]] = by_each
        count = self.count if np.ndim(self.count) == 1 else self.count[:, ported]
        crossed *= (count[ported] if np.ndim(self.count) == 1 else count)[..., None]
        return y * self.count, slope * self.count, crossed

    def whole(self, unknown):
        """Return the voltages of all nodes (rows, nodes), given those of the free ones."""
        return np.concatenate([unknown, np.broadcast_to(self.fixed, (len(unknown), self.fixed.shape[-1]))], axis=-1)

    def linear(self, magnitude):
        """Return the voltages of all nodes with every load as the impedance it is at `magnitude` (rows, branches; V)."""
        n, net = self.net.free, self.net
        y = self.response(magnitude)[0]
        total = self._elements + (net.incidence.conj().T * y[..., None, :]) @ net.incidence
        inner = total[..., :n, :n].copy()
        tie(inner)
        right = -(total[..., :n, n:] @ np.broadcast_to(self.fixed, (len(y), self.fixed.shape[-1]))[..., None])
        return self.whole(np.linalg.solve(inner, right)[..., 0])

    @cached_property
    def _elements(self):
        if self.samples is None or self.samples.element_admittance is None:
            return self.net.linear
        return (self.net.element_incidence.T * self.y[..., None, :]) @ self.net.element_incidence

    def imbalance(self, v):
        """Return the current sums (A) of the free nodes, how much of what meets there they are, the largest current, and what `jacobian` needs.

        `v` is the pair of arrays (rows, nodes). The second is the largest of the sums, each as a share of the currents that meet at its
        node: what little drives an island is nothing beside the currents of the rest, and all that decides its voltage.
        """
        net = self.net
        u = net.drop(v)
        y, slope, crossed = self.response(np.abs(u))
        taken, flowing = y * u, self.y * drop(v, net.element_ends)
        largest = np.maximum(np.abs(taken).max(axis=-1, initial=0.0), np.abs(flowing).max(axis=-1, initial=0.0))
        if net.sparse:
            total, meeting = np.zeros(v[0].shape, complex), np.zeros(v[0].shape)
            for ends, i in ((net.branch_ends[net.pairs], taken[0, net.pairs]), (net.element_ends, flowing[0])):
                for end, sign in ((0, 1), (1, -1)):
                    np.add.at(total[0], ends[:, end], sign * i)
                    np.add.at(meeting[0], ends[:, end], np.abs(i))
            total[0] += taken[0, net.ported] @ net.weights.conj()
            meeting[0] += np.abs(taken[0, net.ported]) @ np.abs(net.weights)
        else:  # row by row, so that no row depends on how many there are
            total = (taken[:, None, :] @ net.incidence.conj() + flowing[:, None, :] @ net.element_incidence)[:, 0]
            meeting = (np.abs(taken)[:, None, :] @ np.abs(net.incidence) + np.abs(flowing)[:, None, :] @ np.abs(net.element_incidence))[:, 0]
        total, least = total[:, : net.free], ROUNDING * np.maximum(largest, USUAL)[:, None]
        left = (np.abs(total) / np.maximum(meeting[:, : net.free], least)).max(axis=1, initial=0.0)
        return total, left, largest, (u, y, slope, crossed)

    def jacobian(self, response):
        """Return the derivative of the current sums by the free voltages, real and imaginary parts stacked.

        Dense: (rows, 2 free, 2 free). Sparse networks: one matrix, of the one row.
        """
        net, n = self.net, self.net.free
        u, y, slope, crossed = response
        turn = slope * u / np.maximum(np.abs(u), 1e-300)
        blocks = ((y.real + turn.real * u.real, -y.imag + turn.real * u.imag),
                  (y.imag + turn.imag * u.real, y.real + turn.imag * u.imag))
        if net.sparse:
            return _sparse_jacobian(net, blocks, self._ports(u, y, crossed)[0])
        inner, joins = self._elements[..., :n, :n], self._pair_incidence[:, :n]
        real = np.empty((len(u), 2 * n, 2 * n))
        for row, parts in enumerate(blocks):
            still = ((inner.real, -inner.imag), (inner.imag, inner.real))[row]
            for column, (value, linear) in enumerate(zip(parts, still)):
                block = (joins.T * value[:, None, :]) @ joins + linear
                real[:, row * n:(row + 1) * n, column * n:(column + 1) * n] = block
        if len(net.ported):
            joins = _real(net.weights[:, :n])
            real += joins.T @ self._ports(u, y, crossed) @ joins
        return real

    @cached_property
    def _pair_incidence(self):
        """The joins of the branches between two nodes; nothing of the ports."""
        net = self.net
        if not len(net.ported):
            return net.incidence
        joins = net.incidence.real.copy()
        joins[net.ported] = 0
        return joins

    def _ports(self, u, y, crossed):
        """Derivative of the currents of the ports by their voltages, real and imaginary parts stacked: (rows, 2 p, 2 p)."""
        ported = self.net.ported
        u, y = u[..., ported], y[..., ported]
        unit, turn = u / np.maximum(np.abs(u), 1e-300), u[..., :, None] * crossed
        still = y[..., :, None] * np.eye(len(ported))
        real = still + turn * unit.real[..., None, :]
        imaginary = 1j * still + turn * unit.imag[..., None, :]
        return np.concatenate([np.concatenate([real.real, imaginary.real], axis=-1),
                               np.concatenate([real.imag, imaginary.imag], axis=-1)], axis=-2)


class Rough(Equations):
    """The equations of a network with the laws of loads between two nodes by tables: near enough to find which root a start leads to.

    `laws` (branches, voltages) are the settled admittances (S) at the voltages 0 … `top` (V), evenly spaced; a row of a branch
    that is a port is not used. Beyond `top` the admittance stays.
    """

    def __init__(self, net: Network, laws, top):
        super().__init__(net)
        self._laws = laws.reshape(-1)
        self._size, self._per_volt = laws.shape[1], (laws.shape[1] - 1) / top
        self._begin = np.arange(len(laws)) * self._size
        self._groups = tuple((model, where) for model, where in net.groups if where.ndim == 2)

    @property
    def groups(self):
        return self._groups

    def response(self, magnitude):
        y, slope, crossed = super().response(magnitude)
        pairs = self.net.pairs
        at = np.minimum(magnitude[..., pairs] * self._per_volt, self._size - 1.0)
        below = np.minimum(at.astype(np.int64), self._size - 2)
        first = self._laws[self._begin[pairs] + below]
        rise = self._laws[self._begin[pairs] + below + 1] - first
        y[..., pairs] = (first + (at - below) * rise) * self.count[pairs]
        slope[..., pairs] = np.where(at < self._size - 1, rise * (self._per_volt * self.count[pairs]), 0)
        return y, slope, crossed


def _real(weights):
    """A complex matrix as the real one that does the same to real and imaginary parts stacked."""
    return np.block([[weights.real, -weights.imag], [weights.imag, weights.real]])


def _sparse_jacobian(net, blocks, ports):
    from scipy.sparse import bmat, csr_matrix

    n, (a, b) = net.free, net.branch_ends[net.pairs].T
    blocks = [[value[:, net.pairs] for value in parts] for parts in blocks]
    rows, columns, values = [], [], []
    for part_row, parts in enumerate(blocks):
        for part_column, value in enumerate(parts):
            for row, column, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
                keep = (row < n) & (column < n)
                rows.append(row[keep] + part_row * n)
                columns.append(column[keep] + part_column * n)
                values.append(sign * value[0][keep])
    inner = net.linear[:n, :n]
    linear = bmat([[inner.real, -inner.imag], [inner.imag, inner.real]], format="csr")
    whole = linear + matrix(np.concatenate(rows), np.concatenate(columns), np.concatenate(values), 2 * n, True)
    if not len(net.ported):
        return whole
    joins = csr_matrix(_real(net.weights[:, :n]))
    return whole + joins.T @ csr_matrix(ports) @ joins


def drop(v, ends):
    """Return V(a) − V(b) of node pairs `ends` from a pair of arrays (…, nodes)."""
    voltage, rest = v
    a, b = ends.T
    return (voltage[..., a] - voltage[..., b]) + (rest[..., a] - rest[..., b])


def tie(matrices):
    """Add to each diagonal what rounding does not lose: where loads are off a conductor may float; steps stay finite."""
    n = matrices.shape[-1]
    if n:
        diagonal = np.arange(n)
        largest = np.abs(matrices[..., diagonal, diagonal]).max(axis=-1, keepdims=True)
        matrices[..., diagonal, diagonal] += 1e-15 + 1e-13 * largest
