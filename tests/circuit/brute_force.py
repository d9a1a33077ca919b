"""Settled states by brute force: stars drawn at random, and Newton's method from very many random starts at once.

Nothing here is taken from `lostneutral.circuit`: the current sums, their roots, the eigenvalues and the test of modes are
worked out anew, on the laws of `lostneutral.loads` alone.
"""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from course_cases import LINES, supply

from lostneutral.case.model import Break, Case, Load, Point
from lostneutral.loads import load_model

VOLTS = 230.0
GRID = np.concatenate([np.arange(0, 1000, 0.25), np.arange(1000, 3000, 2.0)])  #: V, of the tables that first steps go by
NEAR = 0.05  #: V between two states that are one
KINDS = {"electronic": 5, "rectifier": 3, "lamp": 3, "heater": 2, "ptc_heater": 2, "resistive": 2, "motor": 1.5, "capacitor": 1}
"""Kind of load -> how often; a capacitor stands behind 5 ohm, electronic is corrected."""


def random_stars(seed):
    """Return a case of one to three points, each with its own neutral broken, on ideal lines or behind a line impedance."""
    random = np.random.default_rng(seed)
    names, loads, breaks = "abc"[: random.integers(1, 4)], [], []
    for point in names:
        usual = np.exp(random.uniform(3.5, 6.5))
        loads += [_load(random, line, point, number, usual) for line in LINES for number in range(random.integers(1, 3))]
        breaks.append(Break(point, "N", np.inf if random.random() < 0.8 else float(np.exp(random.uniform(4, 9)))))
    impedance = complex(*random.uniform(0.02, 0.8, 2)) if random.random() < 0.4 else 0j
    return Case(f"stars {seed}", replace(supply(), line_impedance=impedance), tuple(Point(name) for name in names), tuple(loads),
                breaks=tuple(breaks))


def _load(random, line, point, number, usual):
    share = np.array(list(KINDS.values()))
    kind, power = str(random.choice(list(KINDS), p=share / share.sum())), float(round(usual * random.uniform(0.5, 2)))
    given = {"rectifier": {"power": power, "front_end": "rectifier"}, "electronic": {"power": power, "front_end": "corrected"},
             "capacitor": {"resistance": 5.0, "reactance": -(VOLTS**2) / power}}.get(kind, {"power": power})
    named = {"rectifier": "electronic", "capacitor": "impedance"}.get(kind, kind)
    return Load(f"{kind} {line} {point}{number}", named, (line, "N"), point, VOLTS, parameters=given)


@dataclass(frozen=True)
class Found:
    """A settled state: the neutrals' voltages (V) by point, the modes of the loads by name, the fastest growth (1/s)."""

    neutrals: np.ndarray
    modes: tuple
    growth: float


class Stars:
    """The equations of a case of `random_stars`: unknown are the neutrals, and the lines where they have an impedance."""

    def __init__(self, case):
        self.points = [p.name for p in case.points]
        self.sources = np.array([case.supply.phasors[line] for line in LINES])
        self.impedance = case.supply.line_impedance
        self.size = len(self.points) + (3 if self.impedance else 0)
        self.tied = np.array([0.0 if np.isinf(b.resistance) else 1 / b.resistance for b in case.breaks])
        self.kinds = [load_model(one, case.supply)[0] for one in case.loads]
        self.options = [model.resting for model in self.kinds]
        self.tables = [[(at, at.admittance(at.settled(GRID))) for at in map(model.in_mode, options)]
                       for model, options in zip(self.kinds, self.options)]
        self.line = np.array([LINES.index(one.connect[0]) for one in case.loads])
        self.point = np.array([self.points.index(one.point) for one in case.loads])
        # Currents of the loads -> current sums, and unknowns -> voltages across the loads.
        self.joins = np.zeros((len(self.kinds), self.size))
        self.joins[np.arange(len(self.kinds)), self.point] = -1
        if self.impedance:
            self.joins[np.arange(len(self.kinds)), len(self.points) + self.line] = 1
        self.given = np.zeros(len(self.kinds), complex) if self.impedance else self.sources[self.line]
        self.own = np.diag(np.concatenate([self.tied, np.full(3 if self.impedance else 0, self.impedance and 1 / self.impedance)]))
        self.fed = np.concatenate([0 * self.tied, self.sources / self.impedance if self.impedance else np.zeros(0)])

    def law(self, volts, modes, exact=True):
        """Admittance (S) of the loads settled at `volts` (rows, loads), each row in its `modes` (numbers of options)."""
        y = np.empty(volts.shape, complex)
        for k, tables in enumerate(self.tables):
            for number, (model, table) in enumerate(tables):
                rows = slice(None) if len(tables) == 1 else modes[:, k] == number
                own = volts[rows, k]
                y[rows, k] = model.admittance(model.settled(own)) if exact else np.interp(own, GRID, table)
        return y

    def across(self, z):
        return z @ self.joins.T + self.given

    def sums(self, z, modes, exact=True):
        """Current sums (A) at the unknown nodes, of every row of `z`."""
        u = self.across(z)
        return (self.law(np.abs(u), modes, exact) * u) @ self.joins + z @ self.own - self.fed

    def jacobian(self, z, modes, exact):
        u = self.across(z)
        size = np.abs(u)
        step = np.where(exact, 1e-5 * np.maximum(size, 1.0), 0.05)
        y = self.law(size, modes, exact)
        slope = (self.law(size + step, modes, exact) - self.law(np.maximum(size - step, 0), modes, exact)) / (step + np.minimum(step, size))
        unit = u / np.maximum(size, 1e-12)
        real, imaginary = y + slope * u * unit.real, 1j * y + slope * u * unit.imag
        parts = [np.einsum("ka,rk,kb->rab", self.joins, part, self.joins) + own
                 for part, own in ((real, self.own), (imaginary, 1j * self.own))]
        return np.concatenate([np.concatenate([p.real for p in parts], axis=2), np.concatenate([p.imag for p in parts], axis=2)], axis=1)

    def roots(self, z, modes):
        """Move every row by damped Newton steps, at last by the exact laws; return the rows that solve the equations, and their modes."""
        for exact, steps, enough, near in ((False, 40, 1e-6, 1e-5), (True, 8, 1e-10, 1e-8)):
            sums = self._moved(z, modes, exact, steps, enough)
            kept = (np.abs(sums).max(axis=1) < near) & (np.abs(z).max(axis=1) < 1.5e3)
            z, modes = z[kept], modes[kept]
            if not exact and len(z):  # the same root many times
                told = np.concatenate([np.round(z.real, 1), np.round(z.imag, 1), modes], axis=1)
                first = np.unique(told, axis=0, return_index=True)[1]
                z, modes = z[first], modes[first]
        return z, modes

    def _moved(self, z, modes, exact, steps, enough):
        sums = self.sums(z, modes, exact)
        live = np.arange(len(z))
        for _ in range(steps):
            live = live[(np.abs(sums[live]).max(axis=1) > enough) & (np.abs(z[live]).max(axis=1) < 3e3)]
            if not len(live):
                break
            matrix = self.jacobian(z[live], modes[live], exact) + 1e-12 * np.eye(2 * self.size)
            right = -np.concatenate([sums[live].real, sums[live].imag], axis=1)
            step = np.linalg.solve(matrix, right[..., None])[..., 0]
            step = step[:, : self.size] + 1j * step[:, self.size:]
            step *= np.minimum(1, 300 / np.maximum(np.abs(step).max(axis=1), 1e-9))[:, None]
            before, waiting, length = _square(sums[live]), np.arange(len(live)), 1.0
            for _ in range(7):
                at = live[waiting]
                trial = z[at] + length * step[waiting]
                new = self.sums(trial, modes[at], exact)
                good = _square(new) < before[waiting]
                z[at[good]], sums[at[good]] = trial[good], new[good]
                waiting, length = waiting[~good], length / 2
                if not len(waiting):
                    break
            live = np.delete(live, waiting)
        return sums

    def holds(self, z, modes):
        """Whether every load can stay in its mode in the state `z` (one row)."""
        volts = np.abs(self.across(z))
        at = [model.in_mode(options[m]) for model, options, m in zip(self.kinds, self.options, modes)]
        return all(model.margin(model.settled(v), v) > 0 for model, v in zip(at, volts))

    def growth(self, z, modes):
        """The largest real part (1/s) of the eigenvalues of the state equations, by differences; -inf if nothing moves."""
        at = [model.in_mode(options[m]) for model, options, m in zip(self.kinds, self.options, modes)]
        x = np.array([float(model.settled(v)) for model, v in zip(at, np.abs(self.across(z)))])
        push = 1e-6 * np.maximum(np.abs(x), 1e-9)
        moving = [k for k, model in enumerate(at) if complex(model.admittance(x[k] + push[k])) != complex(model.admittance(x[k]))]

        def rates(states):
            y = np.array([complex(model.admittance(s)) for model, s in zip(at, states)])
            matrix = self.joins.T @ (y[:, None] * self.joins) + self.own
            u = self.across(np.linalg.solve(matrix, self.fed - self.joins.T @ (y * self.given)))
            return np.array([float(model.rate(s, v)) for model, s, v in zip(at, states, np.abs(u))])[moving]

        if not moving:
            return -np.inf
        columns = [(rates(x + push * (np.arange(len(x)) == k)) - rates(x - push * (np.arange(len(x)) == k))) / (2 * push[k])
                   for k in moving]
        matrix = np.array(columns).T
        largest = np.linalg.eigvals(matrix).real.max()
        return 0.0 if abs(largest) < 1e-4 * np.abs(np.diagonal(matrix)).min() else largest


def _square(sums):
    return (np.abs(sums) ** 2).sum(axis=1)


def brute_force(case, starts, seed=0):
    """Return every settled state reached from `starts` random starts in which every load can stay in its mode.

    Each point is looked at alone first, its lines held; where the supply has an impedance the whole is started from what
    was found so, combined at random, from where supplies cut off, and from anywhere.
    """
    random = np.random.default_rng(seed)
    alone = []
    for point in case.points:
        stars = Stars(replace(case, points=(point,), loads=tuple(one for one in case.loads if one.point == point.name),
                              breaks=tuple(b for b in case.breaks if b.feeding == point.name),
                              supply=replace(case.supply, line_impedance=0j)))
        alone.append((stars, *stars.roots(_starts(stars, random, starts), _modes(stars, random, starts))))
    stars = Stars(case)
    if stars.impedance:
        z, modes = _starts(stars, random, starts), _modes(stars, random, starts)
        z[:, len(stars.points):] = stars.sources
        for k, (_, places, in_modes) in enumerate(alone):
            rows = np.flatnonzero(random.random(starts) < 0.8) if len(places) else []
            chosen = random.integers(0, max(len(places), 1), len(rows))
            z[rows, k] = places[chosen, 0]
            modes[np.ix_(rows, np.flatnonzero(stars.point == k))] = in_modes[chosen]
        found = zip(*stars.roots(z, modes))
    else:
        found = _combined(stars, alone)
    kept = []
    for at, in_modes in found:
        told = tuple(o[m] for o, m in zip(stars.options, in_modes))
        neutrals = at[: len(stars.points)]
        if not any(f.modes == told and np.abs(f.neutrals - neutrals).max() < NEAR for f in kept) and stars.holds(at, in_modes):
            kept.append(Found(neutrals, told, float(stars.growth(at, in_modes))))
    return kept


def _starts(stars, random, count):
    """Star points (V): half anywhere, half where a supply on one of the lines cuts off, for narrow states lie there."""
    anywhere = random.uniform(-420, 420, (count, stars.size)) + 1j * random.uniform(-420, 420, (count, stars.size))
    turn = np.exp(2j * np.pi * random.random(anywhere.shape))
    edge = stars.sources[random.integers(0, 3, turn.shape)] + random.uniform(88, 100, turn.shape) * turn
    return np.where(random.random(turn.shape) < 0.5, edge, anywhere)


def _modes(stars, random, count):
    return np.array([random.integers(0, len(options), count) for options in stars.options]).T


def _combined(stars, alone):
    """Every combination of what points on ideal lines do: they know nothing of each other."""
    held = [[(z, m) for z, m in zip(places, modes) if one.holds(z, m)] for one, places, modes in alone]
    for chosen in product(*held):
        modes = np.zeros(len(stars.kinds), int)
        for k, (_, own) in enumerate(chosen):
            modes[stars.point == k] = own
        yield np.concatenate([z for z, _ in chosen]), modes
