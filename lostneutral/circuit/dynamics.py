"""How the states of the loads move together: rates, their Jacobian, and the limits of each mode."""

from functools import cached_property

import numpy as np

from lostneutral.circuit.network import Network, solve

MARGINAL = 1e-6
"""An eigenvalue smaller than this share of the slowest load's own rate counts as zero."""


class Dynamics:
    """The state equations of a network whose load branches keep their present modes.

    States are handled as shares of `scale` (each branch's own order of magnitude), so that kelvin and siemens can
    stand in one vector. Branches whose state changes neither their admittance nor their mode take no part.
    """

    def __init__(self, net: Network, nominal: float):
        self.net = net
        self.nominal = np.full(len(net.models), float(nominal))
        rated = net.settled(self.nominal)
        self.cold = net.settled(np.zeros(len(net.models)))  #: states after standing without voltage
        self.scale = np.maximum(np.maximum(np.abs(rated), np.abs(self.cold)), 1e-12)
        self.moving = self._moving(rated)

    def _moving(self, rated):
        near, far = self.net.admittances(rated), self.net.admittances(rated + 0.01 * self.scale)
        # A stalled motor draws the same at any heat, but it is the heat that ends the mode.
        ending = np.array([len(model.modes) > 1 for model in self.net.models], bool)
        return np.flatnonzero((np.abs(near - far) > 0) | ending)

    def rates(self, state, across=None):
        """Return d(state)/dt of every branch; `across` are the voltages (V) of the branches if known."""
        if across is None:
            across = np.abs(self.net.across(self.net.voltages(state)))
        return self.net.each(lambda model, x, v: model.rate(x, v), state, across)

    def margins(self, state):
        """Return how far every branch is from the end of its mode (see `LoadModel.margin`)."""
        across = np.abs(self.net.across(self.net.voltages(state)))
        return self.net.each(lambda model, x, v: model.margin(x, v), state, across)

    def jacobian(self, state):
        """Return d(rate)/d(state) of the moving branches, in shares of `scale`, per second."""
        net, moving, n = self.net, self.moving, self.net.free
        y = net.admittances(state)
        v = net.solve_linear(y)
        u = net.across(v)
        size = np.abs(u)
        step, push = 1e-6 * self.scale, 1e-5 * np.maximum(size, 1e-3)
        own = (self.rates(state + step, size) - self.rates(state - step, size)) / (2 * step)
        by_voltage = (self.rates(state, size + push) - self.rates(state, size - push)) / (2 * push)
        dy = (net.admittances(state + step) - net.admittances(state - step)) / (2 * step)
        a, b = net.branch_ends.T
        injected = np.zeros((n, len(moving)), complex)
        flow = (dy * u)[moving]
        for ends, sign in ((a[moving], -1), (b[moving], 1)):
            keep = ends < n
            injected[ends[keep], np.flatnonzero(keep)] += sign * flow[keep]
        moved = np.zeros((n + len(net.fixed), len(moving)), complex)
        if n:
            moved[:n] = solve(net.nodal(y)[:n, :n], injected)
        du = moved[a[moving]] - moved[b[moving]]
        turn = (np.conj(u) / np.maximum(size, 1e-300))[moving]
        coupled = np.diag(own[moving]) + by_voltage[moving, None] * (turn[:, None] * du).real
        scale = self.scale[moving]
        return coupled * scale[None, :] / scale[:, None]

    def growth(self, state):
        """Return the largest real part (1/s) of the eigenvalues at `state`; 0 where it counts as zero (marginal)."""
        if len(self.moving) == 0:
            return -np.inf
        jacobian = self.jacobian(state)
        largest = float(np.linalg.eigvals(jacobian).real.max())
        return 0.0 if abs(largest) < MARGINAL * np.abs(np.diag(jacobian)).min() else largest

    @cached_property
    def slowest(self):
        """Return the longest time constant (s) among the moving branches at nominal voltage."""
        return self._slowest(self.net.settled(self.nominal), self.nominal)

    def slowest_at(self, state):
        """Return the longest time constant (s) among the moving branches in `state`, each at its own voltage."""
        return self._slowest(state, np.abs(self.net.across(self.net.voltages(state))))

    def _slowest(self, state, across):
        if len(self.moving) == 0:
            return 0.0
        step = 1e-4 * self.scale
        own = (self.rates(state + step, across) - self.rates(state - step, across)) / (2 * step)
        return float(1 / np.maximum(np.abs(own[self.moving]), 1e-9).min())
