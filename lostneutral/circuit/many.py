"""Many cases of one wiring solved together as arrays: loads, joints and supply may differ from sample to sample."""

from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np

from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import ACCEPTED

CHUNK = 20_000  #: samples solved at a time at most, which bounds the memory …
MOST_NUMBERS = 4_000_000  #: … as does this: numbers in the Jacobians of a chunk
FEW = 200  #: samples so few that it is of no use to part them further
MOST_STEPS = 80
HALVINGS = 30


@dataclass(frozen=True, eq=False)
class Many:
    """Settled states of many samples: arrays over (samples, nodes) and (samples, branches)."""

    voltages: np.ndarray  #: complex, V, all nodes
    across: np.ndarray  #: complex, V, each load branch
    solved: np.ndarray  #: bool, per sample: residual below 1e-9 of the largest current, or no more than rounding


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


def solve_many(net: Network, samples: Samples, nominal) -> Many:
    """Return the settled state of every sample, solved in chunks (see `chunk_size`).

    Raises ValueError for loads that may draw less current at a higher voltage: a sample could then settle in several
    ways, and which of them this would find is not decided.
    """
    if not all(model.rising and len(model.modes) == 1 for model in samples.models or net.models):
        raise ValueError("samples are solved together only where every load's current rises with its voltage")
    size = chunk_size(net)
    parts = [_chunk(net, take(samples, np.arange(at, min(at + size, samples.size))), nominal)
             for at in range(0, samples.size, size)]
    return Many(*(np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(Many)))


def chunk_size(net: Network) -> int:
    """Return how many samples of `net` are solved at a time: `CHUNK`, fewer where there are many nodes."""
    return max(min(CHUNK, MOST_NUMBERS // max(2 * net.free, 1) ** 2), 1)


def take(samples: Samples, where) -> Samples:
    """Return the samples numbered `where`."""
    def part(value):
        return None if value is None else value[where]

    models = samples.models and tuple(_model_part(m, samples.size, where) for m in samples.models)
    return Samples(len(where), models, part(samples.count), part(samples.element_admittance), part(samples.fixed))


def _model_part(model, size, where):
    arrays = {f.name: getattr(model, f.name)[where] for f in fields(model)
              if isinstance(getattr(model, f.name), np.ndarray) and getattr(model, f.name).shape[:1] == (size,)}
    return replace(model, **arrays) if arrays else model


def _chunk(net, samples, nominal):
    v, solved = newton_many(net, samples, solve_linear_many(net, samples, nominal))
    return Many(v, _Bench(net, samples).across(v), solved)


def solve_linear_many(net: Network, samples: Samples, nominal):
    """Return the voltages of all nodes (samples, nodes; V) with every load as the impedance it is at `nominal` (V)."""
    bench = _Bench(net, samples)
    return bench.linear(bench.admittances(np.full((samples.size, len(bench.models)), float(nominal))))


def newton_many(net: Network, samples: Samples, start, rounds=MOST_STEPS, halvings=HALVINGS):
    """Return (voltages of all nodes, solved) that Newton's method reaches from `start` (samples, nodes; V).

    Samples that are solved leave the arrays once they are half of them, so that a few slow ones do not hold up the rest.
    """
    v, solved = np.array(start, complex), np.zeros(samples.size, bool)
    rows, done = np.arange(samples.size), 0
    while len(rows) and done < rounds:
        part = samples if len(rows) == samples.size else take(samples, rows)
        v[rows], solved[rows], used = _newton(_Bench(net, part), v[rows], rounds - done, halvings)
        rows, done = np.flatnonzero(~solved), done + used
    return v, solved


class _Bench:
    """The equations of all samples at once."""

    def __init__(self, net, samples):
        self.net, self.size = net, samples.size
        self.models = samples.models or net.models
        self.count = np.broadcast_to(net.count if samples.count is None else samples.count,
                                     (samples.size, len(self.models)))
        self.y = np.broadcast_to(net.element_admittance if samples.element_admittance is None
                                 else samples.element_admittance, (samples.size, len(net.elements)))
        self.fixed = np.broadcast_to(net.fixed if samples.fixed is None else samples.fixed,
                                     (samples.size, len(net.fixed)))

    @cached_property
    def rounding(self):
        """The current (A) that rounding leaves at a node of each sample: conductors carry little, but conduct well."""
        if not self.y.shape[1]:
            return 0.0
        return 8 * np.finfo(float).eps * np.abs(self.y).max(axis=1) * np.abs(self.fixed).max(axis=1)

    def across(self, v):
        a, b = self.net.branch_ends.T
        return v[:, a] - v[:, b]

    def response(self, magnitude):
        y, slope = np.empty(magnitude.shape, complex), np.empty(magnitude.shape, complex)
        for k, model in enumerate(self.models):
            y[:, k], slope[:, k] = model.response(magnitude[:, k])
        return y * self.count, slope * self.count

    def admittances(self, magnitude):
        return self.response(magnitude)[0]

    def matrix(self, branch_admittance):
        """Nodal matrices (samples, nodes, nodes) of elements and load branches."""
        size = self.net.free + self.fixed.shape[1]
        total = np.zeros((self.size, size, size), complex)
        for ends, y in ((self.net.element_ends, self.y), (self.net.branch_ends, branch_admittance)):
            for k, (a, b) in enumerate(ends):
                total[:, a, a] += y[:, k]
                total[:, b, b] += y[:, k]
                total[:, a, b] -= y[:, k]
                total[:, b, a] -= y[:, k]
        return total

    def linear(self, branch_admittance):
        """Voltages of all nodes with every load branch at the given admittance."""
        n, total = self.net.free, self.matrix(branch_admittance)
        right = -np.einsum("sij,sj->si", total[:, :n, n:], self.fixed)
        inner = total[:, :n, :n]
        _tie(inner)
        unknown = np.linalg.solve(inner, right[..., None])[..., 0] if n else right
        return np.concatenate([unknown, self.fixed], axis=1)

    def imbalance(self, v):
        """Current sums (A) of the free nodes, the largest current, and what the Jacobian needs."""
        u = self.across(v)
        y, slope = self.response(np.abs(u))
        total = np.zeros((self.size, v.shape[1]), complex)
        largest = np.zeros(self.size)
        drop = v[:, self.net.element_ends[:, 0]] - v[:, self.net.element_ends[:, 1]]
        for ends, currents in ((self.net.branch_ends, y * u), (self.net.element_ends, self.y * drop)):
            for k, (a, b) in enumerate(ends):
                total[:, a] += currents[:, k]
                total[:, b] -= currents[:, k]
            largest = np.maximum(largest, np.abs(currents).max(axis=1, initial=0.0))
        return total[:, : self.net.free], largest, (u, y, slope)

    def jacobian(self, response):
        """(samples, 2 n, 2 n): derivative of the current sums by the free voltages, real and imaginary stacked."""
        n = self.net.free
        u, y, slope = response
        turn = slope * u / np.maximum(np.abs(u), 1e-300)
        real = np.empty((self.size, 2 * n, 2 * n))
        inner = self.matrix(y)[:, :n, :n]
        real[:, :n, :n], real[:, n:, n:], real[:, :n, n:], real[:, n:, :n] = inner.real, inner.real, -inner.imag, inner.imag
        for k, (a, b) in enumerate(self.net.branch_ends):
            for row, column, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
                if row < n and column < n:
                    real[:, row, column] += sign * turn[:, k].real * u[:, k].real
                    real[:, row, column + n] += sign * turn[:, k].real * u[:, k].imag
                    real[:, row + n, column] += sign * turn[:, k].imag * u[:, k].real
                    real[:, row + n, column + n] += sign * turn[:, k].imag * u[:, k].imag
        return real


def _tie(matrices):
    """Add to each diagonal what rounding does not lose: where loads are off, a conductor may float, and steps stay finite."""
    n = matrices.shape[-1]
    if n:
        diagonal = np.arange(n)
        largest = np.abs(matrices[:, diagonal, diagonal]).max(axis=1, keepdims=True)
        matrices[:, diagonal, diagonal] += 1e-15 + 1e-13 * largest


def _newton(bench, v, rounds, halvings):
    """Newton's method with a step halved, sample by sample, until the current sum falls; also the steps taken.

    It ends when half of the samples are solved (all, where they are few), or after `rounds` steps.
    """
    n = bench.net.free
    v = v.copy()
    current, largest, response = bench.imbalance(v)
    if n == 0:
        return v, np.ones(bench.size, bool), rounds
    enough = bench.size / 2 if bench.size > FEW else bench.size
    for number in range(rounds):
        worst = np.abs(current).max(axis=1)
        solved = worst <= np.maximum(ACCEPTED * 1e-2 * np.maximum(largest, 1e-9), bench.rounding)
        if solved.sum() >= enough:
            return v, solved, number
        jacobian = bench.jacobian(response)
        _tie(jacobian)
        right = -np.concatenate([current.real, current.imag], axis=1)
        step = np.linalg.solve(jacobian, right[..., None])[..., 0]
        step = np.where(solved[:, None], 0, step[:, :n] + 1j * step[:, n:])
        length = np.ones(bench.size)
        for _ in range(halvings):
            trial = v.copy()
            trial[:, :n] += length[:, None] * step
            current, largest, response = bench.imbalance(trial)
            worse = (np.abs(current).max(axis=1) > worst) & ~solved & (length > 1e-8)
            if not worse.any():
                break
            length[worse] /= 2
        v = trial
    return v, np.abs(current).max(axis=1) <= np.maximum(ACCEPTED * np.maximum(largest, 1e-9), bench.rounding), rounds
