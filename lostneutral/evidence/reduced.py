"""Many rows of one network seen from its loads: the wiring solved once a row, Newton's method over the loads' voltages alone."""

from functools import cached_property

import numpy as np

from lostneutral.circuit.equations import Samples
from lostneutral.circuit.network import Network
from lostneutral.evidence.tables import Tables

AIM = 1e-9  #: nominal voltages by which the loads' voltages may miss
STEPS, HALVINGS = 30, 8
LEAST = 1e-15  #: S, to the star point from every node: nothing is quite without
FARTHEST = 10.0  #: longest step, in nominal voltages


class Reduced:
    """The wiring of every row with each load held at what it is at nominal voltage, and what the loads add to that.

    u = u0 − Z δi(u): u are the voltages across the load branches, δi the currents by which they differ from those of
    the loads so held. Loads held so tie every star point, so Z has the size of the loads, not of what couples.
    """

    def __init__(self, net: Network, samples: Samples, nominal: float, ends, tables: Tables):
        self.net, self.samples, self.nominal, self.ends, self.tables = net, samples, float(nominal), ends, tables
        self._laws = {}
        held = np.tile(net.at(self.nominal), (samples.size, 1))
        self.y0 = self.response(np.arange(samples.size), held)[0]
        self._solve()

    def _solve(self):
        net, n, whole = self.net, self.net.free, self.net.free + len(self.net.fixed)
        drive = np.zeros((whole, len(self.ends)))
        drive[self.ends[:, 0], np.arange(len(self.ends))] += 1.0
        drive[self.ends[:, 1], np.arange(len(self.ends))] -= 1.0
        joins = net.incidence
        wired = np.concatenate([joins[:, :n].conj().T, drive[:n]], axis=1)
        y = np.concatenate([self.samples.element_admittance, self.y0], axis=1)
        if net.sparse:
            answers = [self._sparse(y[k], self.samples.fixed[k], wired) for k in range(len(y))]
            v, shown = (np.array(a) for a in zip(*answers))
        else:
            v, shown = self._dense(y, wired)
        self.v0 = np.concatenate([v, np.broadcast_to(self.samples.fixed, (len(v), len(net.fixed)))], axis=1)
        b = len(joins)
        self.by_branch, by_meter = shown[..., :b], shown[..., b:]
        self.u0 = self.v0 @ joins.T
        self.z = joins[:, :n] @ self.by_branch
        self.z_branch_meter = joins[:, :n] @ by_meter
        self.z_meter_branch = drive[:n].T @ self.by_branch
        self.z_meter = np.einsum("nm,rnm->rm", drive[:n], by_meter)

    @cached_property
    def _stamps(self):
        """Where the admittance of each element and branch goes in the nodal matrix: (those, free²) and (those, free × fixed)."""
        joins, n = np.concatenate([self.net.element_incidence, self.net.incidence]), self.net.free
        whole = joins.conj()[:, :n, None] * joins[:, None, :]
        return whole[:, :, :n].reshape(len(joins), -1), whole[:, :, n:].reshape(len(joins), -1)

    def _dense(self, y, wired):
        n, rows = self.net.free, len(y)
        among, to_fixed = self._stamps
        inner = np.empty((rows, n, n), complex)
        if np.iscomplexobj(among):
            inner[:] = (y @ among).reshape(rows, n, n)
        else:
            inner.real, inner.imag = ((part @ among).reshape(rows, n, n) for part in (y.real, y.imag))
        outer = (y @ to_fixed).reshape(rows, n, -1)
        index = np.arange(n)
        inner[:, index, index] += LEAST
        right = np.empty((rows, n, 1 + wired.shape[1]), complex)
        right[:, :, 0] = -(outer @ np.broadcast_to(self.samples.fixed, (rows, outer.shape[2]))[..., None])[..., 0]
        right[:, :, 1:] = wired
        answer = np.linalg.solve(inner, right)
        return answer[:, :, 0], answer[:, :, 1:]

    def _sparse(self, y, fixed, wired):
        from scipy.sparse import csc_matrix
        from scipy.sparse.linalg import splu

        n = self.net.free
        total = self._sparse_stamps.conj().T @ _diagonal(y) @ self._sparse_stamps
        factors = splu(csc_matrix(total[:n, :n]), permc_spec="MMD_AT_PLUS_A")
        right = np.column_stack([-(total[:n, n:] @ fixed), wired.astype(complex)])
        answer = factors.solve(right)
        answer += factors.solve(right - total[:n, :n] @ answer)
        return answer[:, 0], answer[:, 1:]

    @cached_property
    def _sparse_stamps(self):
        from scipy.sparse import csr_matrix, vstack

        ends = self.net.element_ends
        size, rows, ones = (len(ends), self.net.free + len(self.net.fixed)), np.arange(len(ends)), np.ones(len(ends))
        joins = csr_matrix((ones, (rows, ends[:, 0])), size) - csr_matrix((ones, (rows, ends[:, 1])), size)
        return vstack([joins, csr_matrix(self.net.incidence)]).tocsr()

    def response(self, rows, u, modes=None):
        """Return (admittance, its slope, slopes of ports) of the branches of the rows `rows` at the voltages `u`, loads in
        the modes `modes`; see `Lookup.response`."""
        y, slope, crossed = self._law(modes).response(rows, u)
        count = self.samples.count[rows]
        return y * count, slope * count, [by * count[:, unit[:1], None] for unit, by in zip(self.net.units, crossed)]

    def _law(self, modes):
        if modes not in self._laws:
            models = self.samples.models
            if modes is not None:
                models = tuple(m.in_mode(mode) if m.mode != mode else m for m, mode in zip(models, modes))
            self._laws[modes] = self.tables.law(models, self.samples.size, self.net.units)
        return self._laws[modes]

    def settle(self, rows, start, models=None):
        """Return (u, solved): the loads' voltages that Newton's method reaches from `start` (V) in the rows `rows`.

        `models` are the modes that the loads are held in, None for those they have.
        """
        u = np.array(start, complex)
        solved = np.zeros(len(rows), bool)
        live, aim = np.arange(len(rows)), AIM * self.nominal
        miss, answer = self._missed(rows, u, models)
        for _ in range(STEPS):
            worst = np.abs(miss).max(axis=1, initial=0.0)
            solved[live[worst <= aim]] = True
            on = worst > aim
            live, miss, answer = live[on], miss[on], tuple(a[on] for a in answer)
            if not len(live):
                break
            step = self._step(rows[live], u[live], miss, answer)
            longest = np.abs(step).max(axis=1)
            step *= np.minimum(1.0, FARTHEST * self.nominal / np.maximum(longest, 1e-300))[:, None]
            moved, miss, answer = self._searched(rows[live], u[live], step, miss, answer, models)
            u[live] = moved
        return u, solved

    def distance(self, rows, u):
        """Return how far (V) Newton's first step from the loads' voltages `u` would go."""
        miss, answer = self._missed(rows, u, None)
        return np.abs(self._step(rows, u, miss, answer)).max(axis=1)

    def _missed(self, rows, u, models):
        y, slope, crossed = self.response(rows, u, models)
        return u - self.u0[rows] + (self.z[rows] @ ((y - self.y0[rows]) * u)[..., None])[..., 0], (y, slope, *crossed)

    def _searched(self, rows, u, step, miss, answer, models):
        """Move along `step` as far as the miss falls; where it never does, by the last and shortest part."""
        before = (np.abs(miss) ** 2).sum(axis=1)
        length, trying = np.ones(len(rows)), np.arange(len(rows))
        moved, new = u.copy(), miss.copy()
        answer = tuple(a.copy() for a in answer)
        for _ in range(HALVINGS):
            at = u[trying] + length[trying, None] * step[trying]
            missed, told = self._missed(rows[trying], at, models)
            moved[trying], new[trying] = at, missed
            for whole, part in zip(answer, told, strict=True):
                whole[trying] = part
            good = (np.abs(missed) ** 2).sum(axis=1) < before[trying] * (1 - 1e-4 * length[trying])
            trying = trying[~good]
            if not len(trying):
                break
            length[trying] /= 2
        return moved, new, answer

    def _step(self, rows, u, miss, answer):
        b = u.shape[1]
        matrix = self._through(self.z[rows], rows, u, answer)
        index = np.arange(2 * b)
        matrix[:, index, index] += 1.0
        right = -np.concatenate([miss.real, miss.imag], axis=1)
        try:
            step = np.linalg.solve(matrix, right[..., None])[..., 0]
        except np.linalg.LinAlgError:
            matrix[:, index, index] += 1e-9
            step = np.linalg.solve(matrix, right[..., None])[..., 0]
        return step[:, :b] + 1j * step[:, b:]

    def _through(self, z, rows, u, answer):
        """`z` times the derivative of the loads' added currents, real and imaginary parts stacked."""
        y, slope, *crossed = answer
        d = y - self.y0[rows]
        turn, unit = slope * u / np.maximum(np.abs(u), 1e-300), u / np.maximum(np.abs(u), 1e-300)
        real, imaginary = z * (d + turn * u.real)[:, None], z * (1j * d + turn * u.imag)[:, None]
        for ports, by in zip(self.net.units, crossed):
            ports = list(ports)
            each = z[:, :, ports] @ (u[:, ports, None] * by)
            real[:, :, ports] += each * unit.real[:, None, ports]
            imaginary[:, :, ports] += each * unit.imag[:, None, ports]
        return np.concatenate([np.concatenate([real.real, imaginary.real], axis=2),
                               np.concatenate([real.imag, imaginary.imag], axis=2)], axis=1)

    def voltages(self, rows, u, models=None):
        """Return the voltages of all nodes (V) of the rows `rows` with the loads at `u`."""
        y, *_ = self.response(rows, u, models)
        added = ((y - self.y0[rows]) * u)[..., None]
        v = self.v0[rows].copy()
        v[:, : self.net.free] -= (self.by_branch[rows] @ added)[..., 0]
        return v

    def inner(self, rows, u, models=None):
        """(rows, meters, 2, 2), ohm: by how much 1 A drawn at the terminals of a meter changes what stands there."""
        m, b = len(self.ends), u.shape[1]
        z = self.z_meter[rows]
        plain = np.stack([np.stack([z.real, -z.imag], -1), np.stack([z.imag, z.real], -1)], -2)
        if not b or not m:
            return plain
        y, slope, crossed = self.response(rows, u, models)
        answer = y, slope, *crossed
        matrix = self._through(self.z[rows], rows, u, answer)
        index = np.arange(2 * b)
        matrix[:, index, index] += 1.0
        drop = self.z_branch_meter[rows]
        right = np.concatenate([np.concatenate([drop.real, -drop.imag], 2), np.concatenate([drop.imag, drop.real], 2)], 1)
        moved = np.linalg.solve(matrix, right)
        change = self._through(self.z_meter_branch[rows], rows, u, answer) @ moved
        made = plain.copy()
        each = np.arange(m)
        for row in (0, 1):
            for column in (0, 1):
                made[:, :, row, column] -= change[:, row * m + each, column * m + each]
        return made

    def growth(self, rows, u, models=None):
        """Return how fast a small departure grows in each row, in units of the loads' own rate, one rate for all loads."""
        y, slope, crossed = self.response(rows, u, models)
        b, size = u.shape[1], np.maximum(np.abs(u), 1e-9)
        follows = np.zeros((len(rows), b, b), complex)
        follows[:, np.arange(b), np.arange(b)] = slope * u
        for ports, by in zip(self.net.units, crossed):
            follows[:, np.array(ports)[:, None], np.array(ports)] = u[:, list(ports), None] * by
        acting = np.flatnonzero(np.abs(follows).max(axis=(0, 1), initial=0.0) > 0)
        if not len(acting):
            return np.full(len(rows), -1.0)
        z = self.z[rows]
        full = np.linalg.solve(np.eye(b) + z * (y - self.y0[rows])[:, None, :], z)
        matrix = np.real(np.conj(u / size)[:, :, None] * -(full @ follows))
        return np.linalg.eigvals(matrix[:, acting][:, :, acting]).real.max(axis=1) - 1.0


def _diagonal(values):
    from scipy.sparse import diags

    return diags(values)
