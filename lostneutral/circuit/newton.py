"""Settled states by Newton's method with a step rule that cannot diverge, from one start or from many at once."""

import numpy as np

from lostneutral.circuit.equations import NOTHING, Equations, drop, tie
from lostneutral.circuit.network import Network, solve_nodal
from lostneutral.frozen import dataclass

ACCEPTED = 1e-9  #: imbalance that counts as solved, as a share of the currents that meet at the node
_AIMED_AT = 1e-14
_STEPS = 200
_SHORTEST = 1e-6  #: of a step, as a share of the whole
_STALLS = 8  #: steps within which the squared imbalance has to fall by a tenth
_FARTHEST = 10.0  #: longest step, in source voltages
MOST_DAMPED = 400  #: free nodes of a sparse network up to which a damped step is tried: its matrix fills up
TOGETHER, MOST_LENGTHS = 100, 4  #: trials of shorter steps that are made at once, and lengths of one step among them
_WEIGHTS = (1e-8, 1e-4, 1e-2, 1.0, 100.0)  #: of the damping where Newton's own direction does not help


@dataclass(frozen=True, eq=False)
class Root:
    voltages: np.ndarray  #: all nodes, complex, V
    residual: float  #: A, the largest current imbalance at a free node
    largest: float  #: A, the largest current in any load or element
    rest: np.ndarray  #: V, what rounding left out of `voltages`
    left: float  #: the largest imbalance as a share of the currents that meet at its node (see `Equations.imbalance`)

    def drop(self, ends):
        """Return V(a) − V(b) (V) of node pairs, an array (pairs, 2), free of the rounding of the voltages themselves.

        Across a run of a few millimetres the drop is smaller than the last digit of the voltages at its ends.
        """
        return drop((self.voltages, self.rest), ends)

    def across(self, net: Network):
        """Return the voltage (V) across each load branch of `net`, as exact."""
        return net.drop((self.voltages, self.rest))

    @property
    def solved(self):
        """Whether what is left over at each node is below 1e-9 of the currents that meet there (or of 1 nA where nothing flows)."""
        return self.left <= ACCEPTED


@dataclass(frozen=True, eq=False)
class Roots:
    """What Newton's method reached from many starts: arrays with a row a start."""

    voltages: np.ndarray  #: (starts, nodes), complex, V
    residual: np.ndarray
    largest: np.ndarray
    rest: np.ndarray
    left: np.ndarray

    @property
    def solved(self):
        """Whether what is left over is little enough in each (see `Root.solved`)."""
        return self.left <= ACCEPTED

    def __getitem__(self, row) -> Root:
        return Root(self.voltages[row], float(self.residual[row]), float(self.largest[row]), self.rest[row], float(self.left[row]))


def first_guess(net: Network, scale):
    """Return voltages of all nodes (V) with every load held at the admittance it has at `scale` (V)."""
    return net.solve_linear(net.admittance(net.at(scale)))


def newton(net: Network, start, *, steps=_STEPS, shortest=_SHORTEST, farthest=_FARTHEST) -> Root:
    """Return the settled state that `newton_rows` reaches from one `start` (voltages of all nodes, V)."""
    return newton_rows(Equations(net), np.array(start, complex)[None], steps=steps, shortest=shortest, farthest=farthest)[0]


def newton_rows(equations: Equations, starts, *, steps=_STEPS, shortest=_SHORTEST, aim=_AIMED_AT, farthest=_FARTHEST) -> Roots:
    """Return the settled states that Newton's method reaches from each row of `starts` (voltages of all nodes, V).

    Equations: the complex current sum of every free node is zero, with load currents y(|u|) u. The step is cut until
    the squared residual falls (Armijo's rule); where the Newton direction does not help, a Levenberg-Marquardt step,
    which is a descent direction always, takes its place. For loads whose current never falls this reaches the one
    settled state from anywhere; otherwise the caller must try several starts and look at `solved`. No step is
    longer than `farthest` source voltages: the current of a load of constant power fades with distance, which
    would else lead away for ever. A row that is solved, and within `aim` of the largest current, is not worked on further.
    """
    volts = np.array(starts, complex)
    table = _Table(equations, (volts, np.zeros_like(volts)), farthest)
    live = np.arange(len(volts))
    if equations.net.free:
        for number in range(steps):
            live = table.worth_going_on(live, number, aim)
            if not len(live):
                break
            live = table.step(live, shortest)
    return Roots(table.v[0], np.abs(table.current).max(axis=1, initial=0.0), table.largest, table.v[1], table.left)


class _Table:
    """All rows as they stand."""

    def __init__(self, equations, v, farthest):
        self.equations, self.v = equations, v
        self.farthest = farthest * np.abs(equations.fixed).max(axis=-1, initial=1.0) * np.ones(len(v[0]))
        self.current, self.left, self.largest, self.response = equations.imbalance(v)
        self.merit = _square(self.current)
        self.before = np.full(len(v[0]), np.inf)
        self._last = None

    def worth_going_on(self, live, number, aim):
        """Return those of the rows `live` that are neither solved nor held at a least imbalance that is no solution."""
        worst = np.abs(self.current[live]).max(axis=1)
        on = (worst > aim * np.maximum(self.largest[live], NOTHING)) | (self.left[live] > ACCEPTED)
        if number % _STALLS == 0:
            on &= self.merit[live] <= 0.9 * self.before[live]
            self.before[live] = self.merit[live]
        return live[on]

    def step(self, live, shortest):
        """Move the rows `live` by one step; return those that moved and may gain more."""
        # Once a state is good enough rounding takes over: only whole steps that still gain are worth taking.
        polishing = self.left[live] <= ACCEPTED
        shortest = np.where(polishing, 1.0, shortest)
        before, waiting = self.merit[live], np.ones(len(live), bool)
        for direction in self._directions(live):
            rows = live[waiting]
            step = direction(rows)
            if step is None:
                continue
            length = np.abs(step).max(axis=1)
            step = step * np.minimum(1.0, self.farthest[rows] / np.maximum(length, 1e-300))[:, None]
            moved = np.zeros(len(live), bool)
            moved[waiting] = self._search(rows, step, shortest[waiting])
            waiting &= ~moved & ~polishing
            if not waiting.any():
                break
        gained = np.where(polishing, self.merit[live] < before / 4, self.merit[live] < before)
        return live[gained]

    def _directions(self, live):
        jacobian = self._of(live).jacobian(tuple(r[live] for r in self.response))
        n = self.equations.net.free

        def right(rows):
            return -np.concatenate([self.current[rows].real, self.current[rows].imag], axis=1)

        if not isinstance(jacobian, np.ndarray):
            yield lambda rows: _sparse_step(jacobian, right(rows), n)
            if len(live) * n > MOST_DAMPED:
                return
            normal = jacobian.T @ jacobian
            for weight in _WEIGHTS:
                yield lambda rows, w=weight: _sparse_step(_damped(normal, w), (jacobian.T @ right(rows)[0])[None], n)
            return
        tie(jacobian)
        yield lambda rows: _dense_step(jacobian, right(rows), n)
        for weight in _WEIGHTS:
            def damped(rows, w=weight):
                part = jacobian[np.searchsorted(live, rows)]
                turned = np.swapaxes(part, 1, 2)
                normal, gradient = turned @ part, (turned @ right(rows)[..., None])[..., 0]
                index = np.arange(2 * n)
                diagonal = normal[:, index, index]
                normal[:, index, index] += w * (diagonal + 1e-12 * diagonal.max(axis=1, keepdims=True))
                return _dense_step(normal, gradient, n)
            yield damped

    def _of(self, rows):
        """The equations of `rows`."""
        if self.equations.samples is None or len(rows) == len(self.v[0]):
            return self.equations
        if self._last is None or not np.array_equal(self._last[0], rows):
            self._last = rows, self.equations.part(rows)
        return self._last[1]

    def _search(self, rows, step, shortest):
        """Move each of `rows` along its step as far as Armijo's rule allows; return which moved."""
        longest, done, n, lot = 1.0, np.zeros(len(rows), bool), step.shape[1], 1
        trying = np.arange(len(rows))
        while len(trying):
            length, own = np.tile(longest / 2.0 ** np.arange(lot), len(trying)), np.repeat(trying, lot)
            at = rows[own]
            trial = _moved((self.v[0][at], self.v[1][at]), length[:, None] * step[own], n)
            current, left, largest, response = self._of(at).imbalance(trial)
            square = _square(current)
            good = ((square < self.merit[at] * (1 - 1e-4 * length)) & (length >= shortest[own])).reshape(-1, lot)
            fell = good.any(axis=1)
            if fell.any():
                take, chosen = rows[trying[fell]], np.flatnonzero(fell) * lot + good[fell].argmax(axis=1)
                for whole, part in zip((*self.v, self.current, self.left, self.largest, self.merit, *self.response),
                                       (*trial, current, left, largest, square, *response)):
                    whole[take] = part[chosen]
                done[trying[fell]] = True
            longest /= 2.0**lot
            trying = trying[~fell]
            trying = trying[longest >= shortest[trying]]
            lot = 1 if self.equations.net.sparse or not len(trying) else min(max(TOGETHER // len(trying), 1), MOST_LENGTHS)
        return done


def _square(current):
    return (current.real**2 + current.imag**2).sum(axis=1)


def _dense_step(left, right, n):
    try:
        step = np.linalg.solve(left, right[..., None])[..., 0]
    except np.linalg.LinAlgError:
        return None
    return np.where(np.isfinite(step).all(axis=1, keepdims=True), step[:, :n] + 1j * step[:, n:], 0)


def _sparse_step(left, right, n):
    try:
        step = solve_nodal(left, right[0])
    except np.linalg.LinAlgError:
        return None
    return (step[:n] + 1j * step[n:])[None] if np.isfinite(step).all() else None


def _damped(normal, weight):
    from scipy.sparse import diags

    diagonal = normal.diagonal()
    return normal + diags(weight * (diagonal + 1e-12 * diagonal.max()))


def _moved(v, step, n):
    """Add `step` to the free nodes of `v` and keep what rounding drops."""
    before, rest = v
    step = np.concatenate([step, np.zeros((len(step), before.shape[1] - n))], axis=1) + rest
    after = before + step
    added = after - before
    return after, (before - (after - added)) + (step - added)
