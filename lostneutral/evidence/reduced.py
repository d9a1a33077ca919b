"""Many rows of one network seen from its loads: the wiring solved once a row, Newton's method over the loads' voltages alone."""

import numpy as np

from lostneutral.circuit.equations import Samples, take
from lostneutral.circuit.network import Network
from lostneutral.evidence.star_mesh import StarMesh
from lostneutral.evidence.tables import Tables

AIM = 1e-9  #: nominal voltages by which the loads' voltages may miss
STEPS, HALVINGS = 30, 8
STUCK, FALLS = 8, 0.9  #: steps after which the miss has to have fallen to that part of what it was; else there is nothing near
SOON = 4  #: the same steps where another start of the row has led to a state
LEAST = 1e-15  #: S, to the star point from every node: nothing is quite without
FARTHEST = 10.0  #: longest step, in nominal voltages


class Wired:
    """What the rows of one network have in common: which loads Newton's method is for, which nodes it needs, the order of the rest.

    A load whose admittance is one number at every voltage is wiring like any other.
    """

    def __init__(self, net: Network, nominal: float, ends, tables: Tables):
        self.net, self.nominal, self.ends, self.tables = net, float(nominal), ends, tables
        every, n = net.free + len(net.fixed), net.free
        joins = net.incidence
        self._group(joins)
        drive = np.zeros((every, len(ends)))
        drive[ends[:, 0], np.arange(len(ends))] += 1.0
        drive[ends[:, 1], np.arange(len(ends))] -= 1.0
        spots = self.acting[self.begins]
        needed = (joins[spots] != 0).any(axis=0) | (drive != 0).any(axis=1)
        needed[n:] = True
        self.rest = every  #: the supply's star point, to which every node has `LEAST`
        ends_of = [*net.element_ends, *net.branch_ends[net.pairs], *((k, self.rest) for k in range(n))]
        self.mesh = StarMesh(every + 1, ends_of, np.append(needed, True))
        self.seen = np.flatnonzero(self.mesh.kept[:-1])  #: nodes that loads and meters need or that meet many others, last those that sources fix
        self.inner = int((self.seen < n).sum())
        self.joins, self.drive = joins[np.ix_(spots, self.seen)], drive[self.seen]
        self.ported = np.array(sorted(int(k) for spots_of in self.ports for k in spots_of), int)
        plain = np.setdiff1d(np.arange(len(spots)), self.ported)
        self._ends = [(sign, plain, np.searchsorted(self.seen, net.branch_ends[spots[plain], end])) for sign, end in ((1, 0), (-1, 1))]
        self._gather(ends_of)

    def _group(self, joins):
        """Say which load branches act, and at which spots: those between the same two nodes meet one voltage."""
        ported = {int(k) for unit in self.net.units for k in unit}
        spots = {}
        for k, model in enumerate(self.net.models):
            if k in ported or not self.tables.is_constant(model):
                a, b = self.net.branch_ends[k]
                spots.setdefault(("port", k) if k in ported else (min(a, b), max(a, b)), []).append(k)
        self.acting = np.array([k for alike in spots.values() for k in alike], int)
        self.spot = np.repeat(np.arange(len(spots)), [len(alike) for alike in spots.values()]).astype(int)
        self.begins = np.searchsorted(self.spot, np.arange(len(spots)))  #: the first load of each spot
        place = {k: i for i, k in enumerate(self.acting.tolist())}
        self.units = tuple(tuple(place[int(k)] for k in unit) for unit in self.net.units)
        self.unit_of = {k: np.array(unit) for unit in self.units for k in unit}
        self.ports = tuple(self.spot[list(unit)] for unit in self.units)

    def summed(self, each):
        """Return the sums (rows, spots) of what `each` (rows, loads that act) has at every spot."""
        return each if len(self.begins) == len(self.spot) else np.add.reduceat(each, self.begins, axis=1)

    def across(self, v):
        """Return what stands across the spots (rows, spots, …) where `v` (rows, nodes of `seen` or their first, …) stand at the nodes."""
        if v.ndim == 2:
            return self.across(v[..., None])[..., 0]
        made = np.zeros((len(v), len(self.begins), v.shape[2]), complex)
        for sign, spots, nodes in self._ends:
            there = nodes < v.shape[1]
            made[:, spots[there]] += sign * v[:, nodes[there]]
        if len(self.ported):
            made[:, self.ported] = self.joins[self.ported, : v.shape[1]] @ v
        return made

    def _gather(self, ends_of):
        """Say where the admittance of each element and branch goes: into which pair of nodes of the mesh, and what of it is left."""
        from scipy.sparse import csr_matrix

        columns = [*range(len(self.net.element_ends)), *(len(self.net.element_ends) + self.net.pairs)]
        size, whole = len(self.mesh.pairs), len(self.net.element_ends) + len(self.net.models)
        real = [(self.mesh.pair(a, b), column) for (a, b), column in zip(ends_of, columns) if a != b]
        pair, column = np.array(real, int).reshape(-1, 2).T
        self._stamped = csr_matrix((np.ones(len(real)), (pair, column)), (size, whole))
        self._least = np.zeros(size)
        self._least[[self.mesh.pair(k, self.rest) for k in range(self.net.free)]] = LEAST
        column_of = {int(k): i for i, k in enumerate(self.seen)} | {self.rest: len(self.seen)}
        self._left = np.array([(column_of[a], column_of[b]) for a, b in self.mesh.left.tolist()], int).reshape(-1, 2)

    @property
    def numbers(self):
        """How many numbers a row takes, about: pairs of nodes, matrix and answers of what is left, and Newton's matrix."""
        loads, meters = len(self.begins), len(self.ends)
        return 3 * len(self.mesh.pairs) + self.inner * (self.inner + loads + meters + 1) + (2 * loads) * (2 * loads + 2 * meters) + 1

    def taken_out(self, y):
        """Return (nodal matrix of the nodes `seen` that are free (rows, inner, inner), from them to those fixed, shares) at the
        admittances `y` (rows, elements and branches; S)."""
        whole = self._stamped @ y.T
        whole += self._least[:, None]
        left, shares = self.mesh.taken_out(whole)
        size = len(self.seen) + 1
        nodal = np.zeros((y.shape[0], size, size), complex)
        a, b = self._left.T
        nodal[:, a, b] = nodal[:, b, a] = -left.T
        index = np.arange(size)
        nodal[:, index, index] = -nodal.sum(axis=2)
        n = self.inner
        for k in (k for unit in self.units for k in unit):
            weights = np.append(self.joins[self.spot[k]], 0.0)
            nodal += y[:, len(self.net.element_ends) + self.acting[k], None, None] * np.outer(weights.conj(), weights)
        return nodal[:, :n, :n], nodal[:, :n, n:-1], shares


class Reduced:
    """The wiring of every row with each load held at what it is at nominal voltage, and what the loads add to that.

    u = u0 − Z δi(u): u are the voltages across the spots where loads act, δi the currents by which these differ from those of
    the loads so held. Loads held so tie every star point, so Z has the size of the loads, not of what couples.
    """

    def __init__(self, wired: Wired, samples: Samples, held=((), ())):
        """`held` are (groups of nodes, V (rows, groups)): nodes put at a voltage of their own, as by a source; then the rows are of one sample."""
        self.wired, self.samples, self.nominal = wired, samples, wired.nominal
        self._laws = {}
        self._solve(*held)
        self.models, self.count = tuple(self.samples.models[k] for k in wired.acting), self.samples.count[:, wired.acting]

    def _solve(self, groups, volts):
        wired, net, samples = self.wired, self.wired.net, self.samples
        held = np.tile(net.at(self.nominal), (samples.size, 1))
        every = wired.tables.law(samples.models, samples.size, net.units).response(np.arange(samples.size), held)[0] * samples.count
        self.y0 = wired.summed(every[:, wired.acting])
        inner, outer, self._shares = wired.taken_out(np.concatenate([samples.element_admittance, every], axis=1))
        n = wired.inner
        fixed = np.broadcast_to(samples.fixed, (samples.size, len(net.fixed)))
        b, own = len(wired.begins), 1 + len(wired.begins) + len(wired.ends)
        right = np.zeros((samples.size, n, own + len(groups)), complex)
        right[:, :, 0] = -(outer @ fixed[..., None])[..., 0]
        right[:, :, 1:own] = np.concatenate([wired.joins[:, :n].conj().T, wired.drive[:n]], axis=1)
        for k, nodes in enumerate(groups):
            apart = np.flatnonzero(np.isin(wired.seen[:n], nodes))
            inner[:, apart], right[:, apart], right[:, apart, own + k] = np.eye(n)[apart], 0.0, 1.0
        answer = np.linalg.solve(inner, right)
        self.v0 = np.concatenate([answer[:, :, 0], fixed], axis=1)
        self.by_branch, by_meter = np.ascontiguousarray(answer[:, :, 1 : 1 + b]), np.ascontiguousarray(answer[:, :, 1 + b : own])
        self.u0 = wired.across(self.v0)
        self.z = wired.across(self.by_branch)
        self.z_branch_meter = wired.across(by_meter)
        self.z_meter_branch = wired.drive[:n].T @ self.by_branch
        self.z_meter = np.einsum("nm,rnm->rm", wired.drive[:n], by_meter)
        if len(groups):
            self._each(volts, answer[0, :, own:])

    def _each(self, volts, by_volt):
        """Make of the one row a row for each of `volts` (rows, groups), of which every V moves the nodes by `by_volt` (nodes, groups)."""
        row = np.zeros(len(volts), int)
        self.samples = take(self.samples, row)
        for name in ("y0", "v0", "by_branch", "z", "z_branch_meter", "z_meter_branch", "z_meter"):
            setattr(self, name, getattr(self, name)[row])
        self.v0[:, : self.wired.inner] += volts @ by_volt.T
        self.u0 = self.wired.across(self.v0)

    def departures(self, rows, v, nodes):
        """Return how far `v` (rows, nodes `seen`; V) are from where they are with the loads held, those of `nodes` from the supply's star point."""
        return v - np.where(np.isin(self.wired.seen, nodes), 0.0, self.v0[rows])

    def begun(self, rows, nodes, departures):
        """Return the loads' voltages (rows × departures, branches; V) of the rows `rows` at each of `departures`."""
        v = -self.departures(rows, 0.0, nodes)
        return self.wired.across((v[:, None] + departures).reshape(-1, v.shape[1]))

    def response(self, rows, u, modes=None):
        """Return (admittance, its slope, slopes of ports) of the spots of the rows `rows` at the voltages `u`, loads in
        the modes `modes`; see `Lookup.response`."""
        wired, count = self.wired, self.count[rows]
        y, slope, crossed = self._law(modes).response(rows, u[:, wired.spot])
        return (wired.summed(y * count), wired.summed(slope * count),
                [by * count[:, unit[:1], None] for unit, by in zip(wired.units, crossed)])

    def _law(self, modes):
        if modes not in self._laws:
            models = self.models
            if modes is not None:
                models = tuple(m.in_mode(mode) if m.mode != mode else m for m, mode in zip(models, modes))
            self._laws[modes] = self.wired.tables.law(models, self.samples.size, self.wired.units)
        return self._laws[modes]

    def settle(self, rows, start, models=None):
        """Return (u, solved): the loads' voltages that Newton's method reaches from `start` (V) in the rows `rows`.

        `models` are the modes that the loads are held in, None for those they have.
        """
        u = np.array(start, complex)
        solved = np.zeros(len(rows), bool)
        live, aim = np.arange(len(rows)), AIM * self.nominal
        miss, answer = self._missed(rows, u, models)
        past = np.full((STUCK, len(rows)), np.inf)
        for number in range(STEPS):
            worst = np.abs(miss).max(axis=1, initial=0.0)
            solved[live[worst <= aim]] = True
            back = np.where(np.isin(rows[live], rows[solved]), SOON, STUCK)
            on = (worst > aim) & (worst < FALLS * past[(number - back) % STUCK, live])
            past[number % STUCK, live] = worst
            live, miss, answer = live[on], miss[on], tuple(a[on] for a in answer)
            if not len(live):
                break
            step = self._step(rows[live], u[live], miss, answer)
            longest = np.abs(step).max(axis=1)
            step *= np.minimum(1.0, FARTHEST * self.nominal / np.maximum(longest, 1e-300))[:, None]
            moved, miss, answer = self._searched(rows[live], u[live], step, miss, answer, models)
            u[live] = moved
        return u, solved

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
        matrix = self._moving(rows, u, answer)
        right = -miss[..., None].view(float).reshape(len(rows), 2 * b, 1)
        try:
            step = np.linalg.solve(matrix, right)[..., 0]
        except np.linalg.LinAlgError:
            index = np.arange(2 * b)
            matrix[:, index, index] += 1e-9
            step = np.linalg.solve(matrix, right)[..., 0]
        return step[:, :b] + 1j * step[:, b:]

    def _moving(self, rows, u, answer):
        """The derivative of the miss (its real and imaginary parts in turn) by the real parts of `u`, then by the imaginary ones."""
        b = u.shape[1]
        moved, index = self._through(self.z[rows], rows, u, answer), np.arange(b)
        moved[:, index, index] += 1.0
        moved[:, b + index, index] += 1j
        return moved.view(float).transpose(0, 2, 1)

    def _through(self, z, rows, u, answer):
        """(rows, 2 × loads, rows of `z`): `z` times the derivative of the loads' added currents by the real parts of `u`, then by the
        imaginary ones."""
        y, slope, *crossed = answer
        b, z = u.shape[1], z.transpose(0, 2, 1)
        d = y - self.y0[rows]
        turn, unit = slope * u / np.maximum(np.abs(u), 1e-300), u / np.maximum(np.abs(u), 1e-300)
        made = np.empty((len(z), 2 * b, z.shape[2]), complex)
        np.multiply(z, (d + turn * u.real)[..., None], out=made[:, :b])
        np.multiply(z, (1j * d + turn * u.imag)[..., None], out=made[:, b:])
        for ports, by in zip(self.wired.ports, crossed):
            ports = np.array(ports)
            each = (u[:, ports, None] * by).transpose(0, 2, 1) @ z[:, ports]
            made[:, ports] += each * unit.real[:, ports, None]
            made[:, b + ports] += each * unit.imag[:, ports, None]
        return made

    def voltages(self, rows, u=None, models=None):
        """Return the voltages of all nodes (V) of the rows `rows` with the loads at `u`, None: held."""
        v = np.empty((self.wired.rest + 1, len(rows)), complex)
        v[self.wired.seen] = (self.v0[rows] if u is None else self.seen(rows, u, models)).T
        v[self.wired.rest] = 0.0
        self.wired.mesh.spread(self._shares, rows, v)
        return v[:-1].T

    def seen(self, rows, u, models=None):
        """Return the voltages (V) of the nodes `seen` of the rows `rows` with the loads at `u`."""
        y, *_ = self.response(rows, u, models)
        v = self.v0[rows].copy()
        v[:, : self.wired.inner] -= (self.by_branch[rows] @ ((y - self.y0[rows]) * u)[..., None])[..., 0]
        return v

    def inner(self, rows, u, models=None):
        """(rows, meters, 2, 2), ohm: by how much 1 A drawn at the terminals of a meter changes what stands there."""
        m, b = len(self.wired.ends), u.shape[1]
        z = self.z_meter[rows]
        plain = np.stack([np.stack([z.real, -z.imag], -1), np.stack([z.imag, z.real], -1)], -2)
        if not b or not m:
            return plain
        y, slope, crossed = self.response(rows, u, models)
        answer = y, slope, *crossed
        drop = self.z_branch_meter[rows]
        right = np.stack([drop, 1j * drop], -1).view(float).reshape(len(rows), b, m, 2, 2)
        moved = np.linalg.solve(self._moving(rows, u, answer), right.transpose(0, 1, 4, 2, 3).reshape(len(rows), 2 * b, 2 * m))
        change = self._through(self.z_meter_branch[rows], rows, u, answer)
        each = np.einsum("rjm,rjmk->rmk", change, moved.reshape(len(rows), 2 * b, m, 2))
        return plain - np.stack([each.real, each.imag], -2)

    def growth(self, rows, u, models, decided):
        """Return how fast a small departure grows in each row, in units of the loads' own rate, one rate for all loads.

        Where it does not exceed −2 `decided` for sure, that is what is returned.
        """
        y, slope, crossed = self.response(rows, u, models)
        b, size = u.shape[1], np.maximum(np.abs(u), 1e-9)
        each, between = slope * u, [u[:, list(ports), None] * by for ports, by in zip(self.wired.ports, crossed)]
        acting = (np.abs(each) > 0).any(axis=0)
        for ports in self.wired.ports:
            acting[list(ports)] = True
        acting = np.flatnonzero(acting)
        if not len(acting):
            return np.full(len(rows), -1.0)
        z = self.z[rows]
        full = np.linalg.solve(np.eye(b) + z * (y - self.y0[rows])[:, None, :], z)
        moved = full * each[:, None, :]
        for ports, follows in zip(self.wired.ports, between):
            moved[:, :, list(ports)] = full[:, :, list(ports)] @ follows
        matrix = np.real(np.conj(u / size)[:, :, None] * -moved)[:, acting][:, :, acting]
        growth = np.full(len(rows), -2 * decided)
        open_ = np.flatnonzero(~_surely_below(matrix, 1.0 - 2 * decided))
        if len(open_):
            growth[open_] = np.linalg.eigvals(matrix[open_]).real.max(axis=1) - 1.0
        return growth


def _surely_below(matrix, level):
    """Return whether no real part of an eigenvalue of each `matrix` can reach `level`: whether none of its symmetric part does, the loads
    scaled so that each meets the others as strongly as they meet it.

    Source: Horn and Johnson, Topics in Matrix Analysis (1991): a matrix's eigenvalues lie in its field of values.
    """
    from scipy.linalg.lapack import dpotrf

    into, out = np.linalg.norm(matrix, axis=1), np.linalg.norm(matrix, axis=2)
    both = (into > 0) & (out > 0)
    scale = np.sqrt(np.divide(into, out, out=np.ones_like(into), where=both))
    even = matrix * (scale[:, :, None] / -2) / scale[:, None, :]
    left = even + even.transpose(0, 2, 1) + level * np.eye(matrix.shape[1])
    return np.array([dpotrf(one.T, overwrite_a=True)[1] == 0 for one in left], bool)  # what is positive definite has a factor
