"""How the states of the loads move together: rates, their Jacobian, and the limits of each mode."""

from copy import copy
from functools import cached_property, lru_cache

import numpy as np

from lostneutral.circuit.network import Network, each, shared_groups, solve_nodal, usual_sizes
from lostneutral.circuit.tabled import tabled

MARGINAL = 1e-6
"""An eigenvalue smaller than this share of the slowest load's own rate counts as zero."""

_ADJUSTING = 80  #: fifths of their time constant in which loads that set their current meet a new circuit


class Dynamics:
    """The state equations of a network whose load branches keep their present modes.

    States are arrays whose last axis is the branches; several rows are several courses of one network (whose `count`
    may differ from row to row). In `shares` they are handled as shares of `scale` (each branch's own order of
    magnitude), so that kelvin and siemens can stand in one vector. Branches whose state changes neither their
    admittance nor their mode take no part.
    """

    def __init__(self, net: Network, nominal: float):
        self.net = net
        self.nominal, self.cold, self.scale, self.moving = _measures(net.models, net.units, nominal)

    def sizes(self, state):
        """Return the voltage (V, r.m.s.) across every branch in `state`."""
        return np.abs(self.net.across(self.net.voltages(state)))

    def rates(self, state, across=None):
        """Return d(state)/dt of every branch; `across` are the voltages (V) of the branches if known."""
        across = self.sizes(state) if across is None else across
        return self.net.each(lambda model, x, v: model.rate(x, v), state, across)

    def met(self, state):
        """Return `state` with those loads that set their current within a cycle adjusted to the circuit as it is.

        They come up from next to nothing, so that they end where a current would take them that was there before.
        """
        fast = [(model, where) for model, where in self.net.groups if model.sets_current]
        if not fast:
            return state
        state = np.array(state, float)
        for _, where in fast:
            state[where] = 1e-6 * self.scale[where]
        for _ in range(_ADJUSTING):
            sizes = self.sizes(state)
            for model, where in fast:
                state[where] += 0.2 * (model.settled(sizes[where]) - state[where])
        return state

    def turning(self, state, across=None, of=None):
        """Return how far every branch is from where it switches, or a delay begins or ends (see `LoadModel.turning`).

        `across` are the voltages (V) of the branches if known; `of` which branches are asked for (all).
        """
        across = self.sizes(state) if across is None else across
        turning, state = np.full(across.shape, np.inf), np.asarray(state, float)
        for model, where in self._ending:
            if of is None or of[where].any():
                turning[..., where] = model.turning(state[..., where], across[..., where])
        return turning

    @cached_property
    def forgets(self):
        """The rate (1/s) at which each moving branch's state forgets where it began, 0 of what the circuit goes by (`LoadModel.forgets`)."""
        return self.net.each(lambda model, x: model.forgets + x, np.zeros(len(self.net.models)))[self.moving]

    @cached_property
    def tables(self):
        """The same equations by tables, where there are any."""
        return tabled(self.net, self.moving, self.nominal)

    @cached_property
    def _ending(self):
        """The groups of branches whose modes end."""
        return [(model, where) for model, where in self.net.groups if len(model.modes) > 1]

    def jacobian(self, state):
        """Return d(rate)/d(state) of the moving branches, in shares of `scale`, per second; of several rows several."""
        if self.net.sparse and np.ndim(state) > 1:
            return np.array([self._of(count).jacobian(row) for count, row in zip(np.broadcast_to(self.net.count, np.shape(state)), state)])
        net, moving, n = self.net, self.moving, self.net.free
        y = net.admittances(state)
        u = net.across(net.solve_linear(y))
        size = np.abs(u)
        if len(net.ported):
            return self._coupled(state, y, u, size)
        own, by_voltage, dy = net.each(lambda model, x, v: model.slopes(x, v), state, size, dtype=complex)
        flow = (dy * net.count * u)[..., moving]
        du = self._shift(y, n, moving, flow)
        turn = (np.conj(u) / np.maximum(size, 1e-300))[..., moving]
        coupled = by_voltage.real[..., moving, None] * (turn[..., :, None] * du).real
        index = np.arange(len(moving))
        coupled[..., index, index] += own.real[..., moving]
        scale = self.scale[moving]
        return coupled * (scale[None, :] / scale[:, None])

    def _of(self, count):
        """These equations with `count` of each load, of one row."""
        own = copy(self)
        own.net = self.net.varied(count=count)
        return own

    def _coupled(self, state, y, u, size):
        """The Jacobian where loads with several ports couple branches: the slopes are matrices."""
        net, moving, n = self.net, self.moving, self.net.free
        own, by_voltage, dy = self._slopes(state, size)
        flow = (dy * net.count[..., :, None] * u[..., :, None])[..., moving]
        shift = np.zeros(flow.shape, complex)
        if n:
            inner, joins = net.nodal(y)[..., :n, :n], net.incidence[:, :n]
            if net.sparse:
                shift = -joins @ solve_nodal(inner, joins.conj().T @ flow)
            else:
                shift = -joins @ np.linalg.solve(inner, joins.conj().T @ flow)
        sizes = ((np.conj(u) / np.maximum(size, 1e-300))[..., :, None] * shift).real
        whole = (by_voltage.real @ sizes)[..., moving, :] + own.real[..., moving, :][..., moving]
        scale = self.scale[moving]
        return whole * (scale[None, :] / scale[:, None])

    def _slopes(self, state, size):
        """The slopes of `LoadModel.slopes` as matrices (…, branches, branches)."""
        count = state.shape[-1]
        made = [np.zeros((*state.shape, count), complex) for _ in range(3)]
        for model, where in self.net.groups:
            for matrix, part in zip(made, model.slopes(state[..., where], size[..., where])):
                if where.ndim == 1:
                    matrix[..., where, where] = part
                else:
                    matrix[..., where[:, :, None], where[:, None, :]] = part
        return made

    def _shift(self, y, n, moving, flow):
        """Return how the voltages across the moving branches shift with the current `flow` added in each of them."""
        net = self.net
        if not n:
            return np.zeros((*flow.shape, len(moving)), complex)
        inner = net.nodal(y)
        if net.sparse:
            from scipy.sparse import csr_matrix

            joins = csr_matrix(net.incidence[moving, :n])
            return -(joins @ solve_nodal(inner[:n, :n], joins.T.toarray() * flow[None, :]))
        joins = net.incidence[moving, :n]
        return -joins @ np.linalg.solve(inner[..., :n, :n], joins.T * flow[..., None, :])

    def growth(self, state):
        """Return the largest real part (1/s) of the eigenvalues at `state`; 0 where it counts as zero (marginal)."""
        return self.growths(np.asarray(state)[None])[0]

    def growths(self, states):
        """Return `growth` of each row of `states`."""
        if len(self.moving) == 0:
            return np.full(len(states), -np.inf)
        jacobian = self.jacobian(states)
        largest = np.linalg.eigvals(jacobian).real.max(axis=-1)
        own = np.abs(np.diagonal(jacobian, axis1=-2, axis2=-1)).min(axis=-1)
        return np.where(np.abs(largest) < MARGINAL * own, 0.0, largest)

    @cached_property
    def slowest(self):
        """Return the longest time constant (s) among the moving branches at nominal voltage."""
        return float(self._slowest(self.net.settled(self.nominal), self.nominal))

    def slowest_at(self, state):
        """Return the longest time constant (s) among the moving branches in `state`, each at its own voltage."""
        return self._slowest(state, self.sizes(state))

    def _slowest(self, state, across):
        if len(self.moving) == 0:
            return np.zeros(state.shape[:-1])
        if len(self.net.ported):
            own = np.diagonal(self._slopes(state, across)[0], axis1=-2, axis2=-1).real
        else:
            own = self.net.each(lambda model, x, v: model.slopes(x, v), state, across, dtype=complex)[0].real
        return 1 / np.maximum(np.abs(own[..., self.moving]), 1e-9).min(axis=-1)


@lru_cache(maxsize=32)  # as `shared_groups`
def _measures(models, units, nominal):
    """The usual voltages (V) of load branches, their states after standing without voltage, their scales, and which of them move."""
    groups, usual = shared_groups(models, units), usual_sizes(models, units, nominal)
    rated, cold = (each(groups, lambda model, v: model.settled(v), volts) for volts in (usual, 0 * usual))
    scale = np.maximum(np.maximum(np.abs(rated), np.abs(cold)), 1e-12)
    near, far = (each(groups, lambda model, x: model.admittance(x), state, dtype=complex) for state in (rated, rated + 0.01 * scale))
    # A stalled motor draws the same at any heat, but it is the heat that ends the mode.
    ending = np.array([len(model.modes) > 1 for model in models], bool)
    return usual, cold, scale, np.flatnonzero((np.abs(near - far) > 0) | ending)
