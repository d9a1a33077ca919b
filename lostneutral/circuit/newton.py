"""One settled state of a network: Newton's method with a step rule that cannot diverge."""

from dataclasses import dataclass

import numpy as np

from lostneutral.circuit.network import Network, matrix, solve

ACCEPTED = 1e-9  #: residual that counts as solved, as a share of the largest current
_AIMED_AT = 1e-14
_STEPS = 200
_SHORTEST = 1e-6  #: of a step, as a share of the whole
_STALLS = 8  #: steps within which the squared imbalance has to fall by a tenth
_FARTHEST = 10.0  #: longest step, in source voltages


@dataclass(frozen=True, eq=False)
class Root:
    voltages: np.ndarray  #: all nodes, complex, V
    residual: float  #: A, the largest current imbalance at a free node
    largest: float  #: A, the largest current in any load or element
    rest: np.ndarray  #: V, what rounding left out of `voltages`

    def drop(self, ends):
        """Return V(a) − V(b) (V) of node pairs, an array (pairs, 2), free of the rounding of the voltages themselves.

        Across a run of a few millimetres the drop is smaller than the last digit of the voltages at its ends.
        """
        return _drop((self.voltages, self.rest), ends)

    @property
    def solved(self):
        """Whether the residual is below 1e-9 of the largest current (or of 1 nA where nothing flows)."""
        return self.residual <= ACCEPTED * max(self.largest, 1e-9)


def first_guess(net: Network, scale):
    """Return voltages of all nodes (V) with every load held at the admittance it has at `scale` (V)."""
    y, _ = net.response(np.full(len(net.branch_ends), float(scale)))
    return net.solve_linear(y)


def newton(net: Network, start, *, steps=_STEPS, shortest=_SHORTEST) -> Root:
    """Return the settled state that Newton's method reaches from `start` (voltages of all nodes, V).

    Equations: the complex current sum of every free node is zero, with load currents y(|u|) u. The step is cut until
    the squared residual falls (Armijo's rule); where the Newton direction does not help, a Levenberg-Marquardt step,
    which is a descent direction always, takes its place. For loads whose current never falls this reaches the one
    settled state from anywhere; otherwise the caller must try several starts and look at `Root.solved`. No step is
    longer than `_FARTHEST` source voltages: the current of a load of constant power fades with distance, which
    would else lead away for ever.
    """
    n, farthest = net.free, _FARTHEST * np.abs(net.fixed).max(initial=1.0)
    v = np.array(start, complex), np.zeros(len(start), complex)
    current, largest, response = _imbalance(net, v)
    if n == 0:
        return Root(v[0], 0.0, largest, v[1])
    merit = _square(current)
    before = np.inf
    for number in range(steps):
        if number % _STALLS == 0:
            if merit > 0.9 * before:  # held at a least imbalance that is no solution
                break
            before = merit
        worst = np.abs(current).max()
        if worst <= _AIMED_AT * largest:
            break
        # Once the state is good enough rounding takes over: only whole steps that still gain are worth taking.
        polishing, moved = worst <= ACCEPTED * largest, None
        for step in _steps(_jacobian(net, v, response), current, n):
            step = step * min(1.0, farthest / max(np.abs(step).max(), 1e-300))
            moved = _line_search(net, v, current, merit, step, 1.0 if polishing else shortest)
            if moved or polishing:
                break
        if not moved:
            break
        gained = moved[-1] < merit / 4
        v, current, largest, response, merit = moved
        if polishing and not gained:
            break
    return Root(v[0], float(np.abs(current).max()), largest, v[1])


def _drop(v, ends):
    voltage, rest = v
    a, b = ends.T
    return (voltage[a] - voltage[b]) + (rest[a] - rest[b])


def _imbalance(net, v):
    u = _drop(v, net.branch_ends)
    y, slope = net.response(np.abs(u))
    total, largest = np.zeros(len(v[0]), complex), 0.0
    for ends, i in ((net.branch_ends, y * u), (net.element_ends, net.element_admittance * _drop(v, net.element_ends))):
        np.add.at(total, ends[:, 0], i)
        np.add.at(total, ends[:, 1], -i)
        largest = max(largest, np.abs(i).max(initial=0.0))
    return total[: net.free], float(largest), (u, y, slope)


def _square(current):
    return float(np.vdot(current, current).real)


def _steps(slope, current, n):
    right = -np.concatenate([current.real, current.imag])
    try:
        step = solve(slope, right)
        if np.isfinite(step).all():
            yield step[:n] + 1j * step[n:]
    except np.linalg.LinAlgError:
        pass
    normal, gradient = slope.T @ slope, slope.T @ right
    diagonal = normal.diagonal()
    for weight in (1e-8, 1e-4, 1e-2, 1.0, 100.0):
        damped = normal + _diagonal(weight * (diagonal + 1e-12 * diagonal.max()), slope)
        try:
            step = solve(damped, gradient)
        except np.linalg.LinAlgError:
            continue
        yield step[:n] + 1j * step[n:]


def _diagonal(values, like):
    if isinstance(like, np.ndarray):
        return np.diag(values)
    from scipy.sparse import diags

    return diags(values)


def _line_search(net, v, current, merit, step, shortest):
    length = 1.0
    while length >= shortest:
        trial = _moved(v, length * step)
        now, largest, response = _imbalance(net, trial)
        square = _square(now)
        if square < merit * (1 - 1e-4 * length):
            return trial, now, largest, response, square
        length /= 2
    return None


def _moved(v, step):
    """Add `step` to the free nodes of `v` and keep what rounding drops."""
    before, rest = v
    step = np.concatenate([step, np.zeros(len(before) - len(step))]) + rest
    after = before + step
    added = after - before
    return after, (before - (after - added)) + (step - added)


def _jacobian(net, v, response):
    """Derivative of the free nodes' currents by their voltages, real and imaginary parts stacked."""
    n = net.free
    u, y, slope = response
    magnitude = np.maximum(np.abs(u), 1e-300)
    turn = slope * u / magnitude
    blocks = ((0, 0, y.real + turn.real * u.real), (0, 1, -y.imag + turn.real * u.imag),
              (1, 0, y.imag + turn.imag * u.real), (1, 1, y.real + turn.imag * u.imag))
    a, b = net.branch_ends.T
    rows, columns, values = [], [], []
    for part_row, part_column, value in blocks:
        for row, column, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            keep = (row < n) & (column < n)
            rows.append(row[keep] + part_row * n)
            columns.append(column[keep] + part_column * n)
            values.append(sign * value[keep])
    linear = _real(net)
    return linear + matrix(np.concatenate(rows), np.concatenate(columns), np.concatenate(values), 2 * n, net.sparse)


def _real(net):
    """The elements' nodal matrix of the free nodes as a real matrix of twice the size."""
    inner = net.linear[: net.free, : net.free]
    if net.sparse:
        from scipy.sparse import bmat

        return bmat([[inner.real, -inner.imag], [inner.imag, inner.real]], format="csr")
    return np.block([[inner.real, -inner.imag], [inner.imag, inner.real]])
