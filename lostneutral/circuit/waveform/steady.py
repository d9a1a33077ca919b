"""From a state to the state that repeats itself: waiting while the course is free, Newton's method for the tail."""

from collections.abc import Mapping
from dataclasses import field, replace
from functools import cached_property
from math import sqrt

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.waveform.march import Marcher, Marching
from lostneutral.circuit.waveform.model import TimeNetwork, is_slow, time_network
from lostneutral.errors import NoSolutionError
from lostneutral.frozen import dataclass

_DATA = data.load("waveform")
ORDERS = 40  #: harmonics are worked out up to this order
_TRUST = 0.05  #: of the nominal voltage: how far ahead of the course Newton's method may reach
_LONG = 10  #: cycles, beyond which what is left to go is gone half the way at once
_RUNS_AWAY = 100.0  #: nominal voltages, a change in one cycle beyond which nothing holds the course
_NEAR = 1e-7  #: of the nominal voltage: what may be left to go where a course is called settled
_CREEPS = 1e6  #: tolerances that a course may yet creep while a delay runs, for the cycles until that is over to be passed at once
_TURNS = 12  #: changes of slow loads between on and off after which a course counts as undecided
_SWINGING = 12  #: cycles after which slow loads that swing go less of their way, no delay holding them back
_SWING = 1e-6  #: relative change of an admittance from which that is more than rounding
_ENDS = 0.1  #: relative change of an admittance below which it is about where it goes
_LEAST_SHARE = 2.0**-12  #: of their way; what swings even so is undecided
_SLOW = 1e-8  #: relative change of a slow load's admittance that is taken as none
_FAR = 1e-3  #: of the nominal voltage, a move of the course in a cycle, from which on
_BESIDE = 0.03  #: of it, a change of admittances can wait


@dataclass(frozen=True, eq=False)
class Repeating:
    """One cycle (or, where the state cycles, several) of a state that repeats itself."""

    net: TimeNetwork
    ends: str  #: "settled" | "cycle" | "undecided"
    times: np.ndarray  #: (s,) s from the start of a cycle
    weights: np.ndarray  #: (s,) of a quadrature over `duration`, s
    values: np.ndarray  #: (s, n) the unknowns
    start: Marching  #: the state at the first of `times`, to go on from
    residual: float  #: largest change over the cycle, of the nominal voltage
    radius: float  #: largest eigenvalue of the period map: below 1 the state attracts
    cycles: int  #: supply cycles that were marched to get here
    restarts: tuple = ()  #: of a cycle: (s, bridge) at which a supply starts again
    admittances: Mapping = field(default_factory=dict)  #: of the slow loads, as `time_network` takes them

    @property
    def attracting(self):
        """Whether what is near comes nearer, or at least stays: the link of a supply that has cut off keeps its charge."""
        return bool(self.radius < 1 + 1e-6)

    @property
    def duration(self):
        """What `times` cover, s."""
        return float(self.weights.sum())

    @cached_property
    def turning(self):
        """What takes values to their complex r.m.s. harmonics, (orders, s): order 0, the mean, to `ORDERS`."""
        kernel = sqrt(2) * np.exp(-1j * self.net.omega * np.outer(np.arange(ORDERS + 1), self.times)) * self.weights / self.duration
        kernel[0] /= sqrt(2)
        return kernel

    def mean(self, values):
        """Return the mean over the cycle of `values` (s, …)."""
        return np.tensordot(self.weights, values, 1) / self.duration


class _Search:
    """Carries a course through cycles, with the slow loads following their r.m.s. voltages."""

    def __init__(self, case, breaks, crosses, admittances, steps):
        self.case, self.breaks, self.crosses, self.steps = case, breaks, crosses, steps
        self.slow = {i: _slow_model(case, i) for i, load in enumerate(case.loads) if load.on and is_slow(load)}
        self.admittances = dict(admittances) or {i: self._rated(i) for i in self.slow}
        self.cycles, self.turns = 0, 0
        self.ways = {}  #: of each port of a slow load: how far it had to go in the last cycle, and the share of that it went (`_share`)
        self._build()

    def _build(self):
        self.net = time_network(self.case, self.breaks, self.crosses, self.admittances)
        self.marcher = Marcher(self.net, self.steps)
        self.last = None, None  # start and end of the last cycle in this network
        self.moving = np.flatnonzero(np.diag(self.net.mass))

    def _rated(self, number):
        from lostneutral.circuit.wiring import pairs

        load = self.case.loads[number]
        y = complex(self.slow[number].branch_admittance(load.voltage))
        return {(load.terminal(a)[1], load.terminal(b)[1]): y for a, b in pairs(load.connect)}

    def cycle(self, start, sensitivity=True):
        """March one cycle with every stage kept, time starting from 0 in each; once only where it is the last cycle's start again."""
        if start is not self.last[0]:
            n = len(self.net.mass)
            course = replace(start, due=start.due - start.time, time=0.0, times=[], weights=[], values=[], restarts=[],
                             sensitivity=np.eye(n)[:, self.moving] if sensitivity else None)
            self.cycles += 1
            self.last = start, self.marcher.march(course, self.net.period, record=True)
        return self.last[1]

    def follow(self, course, moved):
        """Set the slow loads to the r.m.s. voltages of the cycle just marched; return how far the farthest had to go, as a share.

        They stay as they are where that is next to nothing, or little beside what the course itself, far from its end, has `moved` (of the nominal voltage).
        """
        if not self.slow:
            return 0.0
        weights, values = np.concatenate(course.weights), np.concatenate(course.values)
        met = {port: np.sqrt(weights @ (values @ self.net.across(port)) ** 2 / weights.sum())
               for port in self.net.ports if port.load in self.slow}
        change = np.inf if self._turned(met) else 0.0
        new = {i: dict(a) for i, a in self.admittances.items()}
        for port in self.net.ports:
            if port.load in self.slow:
                y = complex(self.slow[port.load].branch_admittance(met[port]))
                old = new[port.load][port.a[1], port.b[1]]
                if old.imag and not y.imag:  # what has gone off keeps the unknowns that it had
                    y = complex(y.real, np.sign(old.imag) * 1e-3 * abs(y.real))
                change = max(change, abs(y - old) / abs(y))
                way = np.log(y / old)
                share = self._share(port, way)
                by_powers = (y / old).real > 0 and share < 1  # there may be powers of ten to go, up or down
                new[port.load][port.a[1], port.b[1]] = old * np.exp(share * way) if by_powers else old + share * (y - old)
        if change > _SLOW + (_BESIDE * moved if moved > _FAR else 0.0):
            self.admittances = new
            self._build()
        return change

    def _share(self, port, way):
        """Return the share of its `way` that a slow load goes.

        Half as much whenever it has more than half of it to go back; twice as much near its end, where most of it is still to go.
        """
        before, share = self.ways.get(port, (0.0, 1.0))
        left = (way * np.conj(before)).real / max(abs(before) ** 2, 1e-300)
        if self.cycles > _SWINGING and abs(way) > _SWING and left < -0.5:
            share /= 2
        elif left > 0.5 and abs(way) < _ENDS:
            share = min(2 * share, 1.0)
        self.ways[port] = way, share
        return share

    @property
    def swings(self):
        """Whether a slow load swings whatever share of its way it goes."""
        return any(share < _LEAST_SHARE for _, share in self.ways.values())

    def _turned(self, met):
        """Let slow loads that are on or off go off, or come back, by the r.m.s. voltages `met`; whether any does.

        Their delays are not in it: these are longer than anything here. After `_TURNS` changes they stay as they are.
        """
        turned = False
        for number, model in self.slow.items():
            if not model.waits or self.turns >= _TURNS:
                continue
            volts = np.array([u for port, u in met.items() if port.load == number])
            for each in [volts] if len(model.ports) > 1 else volts:
                if np.min(model.margin(model.settled(each), each)) <= 0:
                    self.slow[number], turned = model.in_mode(model.next_mode(model.settled(each), each)), True
                    self.turns += 1
                    break
        return turned


def repeating(case: Case, breaks=(), crosses=(), before: Repeating | None = None, *, steps=None, patience=None,
              tolerance=1e-9, trust=_TRUST) -> Repeating:
    """Return the state that repeats itself, as the circuit reaches it.

    The course starts from `before` (else from full links) at the start of a cycle of the supply. It is marched cycle by
    cycle for as long as it is free to go anywhere. Newton's method on the period map takes over only where
    what is left to go is less than `trust` times the nominal voltage and the map contracts, so that it
    shortens the tail and never chooses between states; a drift that would take many cycles goes half its way at once.
    A linear network needs one step. Slow loads (lamps, heaters, motors …) are kept at the impedance of their r.m.s. voltage,
    renewed after every cycle that they have more than a little to go beside the course itself: their own delay is not in it.
    `ends` is "cycle" where supplies cut off and restart for ever, "undecided" after `patience` cycles, or where slow loads
    swing for ever.
    """
    steps, patience = steps or _DATA["steps"]["value"], patience or _DATA["patience"]["value"]
    search = _Search(case, breaks, crosses, before.admittances if before else {}, steps)
    course = carried_over(before, search) if before else _full(search)
    scale = case.supply.nominal
    resting, restarts, residual, radius = 2, [], np.inf, np.nan
    while patience > 0:
        start, free, jumped = course, search.net.linear, course is search.last[0]
        course = search.cycle(start, sensitivity=resting <= 0 or free)
        patience -= 1
        restarts += [(search.cycles, which) for _, which in course.restarts]
        miss = (course.y - start.y)[search.moving]
        residual = _largest(search, miss) / scale
        if not residual < _RUNS_AWAY:
            raise NoSolutionError(f"the waveforms grow without end from cycle {search.cycles} on: nothing that is modelled holds them")
        marched = search.net, search.admittances, start, course
        slow = search.follow(course, residual)
        quiet = residual < tolerance and slow < 10 * _SLOW
        if course.restarts:
            resting = 2
            search.ways.clear()
            if _repeats(restarts):
                return _cycling(search, course, restarts, residual)
        elif search.swings:
            break
        elif np.isfinite(course.due).any():
            resting = 2
            same = min(patience, max(int(np.ceil((course.due.min() - course.time) / search.net.period)) - 1, 0))
            if residual * same < _CREEPS * tolerance and slow < 10 * _SLOW:  # nothing much happens until the first delay is over
                course.due, patience, search.cycles = course.due - same * search.net.period, patience - same, search.cycles + same
        elif course.sensitivity is None or slow > 1e-2:
            resting = 0 if quiet else resting - 1
        else:
            map_ = course.sensitivity[search.moving]
            radius = float(np.abs(np.linalg.eigvals(map_)).max(initial=0.0))
            to_go = np.linalg.solve(np.eye(len(miss)) - map_, miss) if radius < 1 else np.full(len(miss), np.inf)
            far = _largest(search, to_go) / scale
            if quiet and (far < _NEAR or radius >= 1):
                return _made(search, marched, "settled" if search.turns < _TURNS else "undecided", residual, radius)
            slowly = radius < 1 and far * scale > _LONG * _largest(search, miss) and not restarts
            share = 1.0 if far < trust or free and radius < 1 else 0.5 if slowly else 0.0
            if jumped and search.net is not marched[0]:  # what the slow loads, set anew, make of it is seen in a cycle
                resting = 0
            else:
                course, resting = _jump(search, marched, miss, to_go, share) if share else (course, 1)
    return _made(search, marched, "undecided", residual, radius)


def after_opening(case: Case, breaks, crosses, before: Repeating, cycles: int, *, steps=None) -> Repeating:
    """Return the first `cycles` of the course that a break at the start of a cycle sets off, slow loads as before."""
    search = _Search(case, breaks, crosses, before.admittances, steps or _DATA["steps"]["value"])
    start = carried_over(before, search)
    turn, _ = _recorded(search, start, cycles)
    return Repeating(search.net, "undecided", *turn, start, np.nan, np.nan, cycles, (), search.admittances)


def carried_over(before: Repeating, search) -> Marching:
    """Return the start of a course in another network: what had a voltage or a current before keeps it."""
    old, net = {name: at for at, name in enumerate(before.net.names)}, search.net
    y = np.zeros(len(net.mass))
    for at, name in enumerate(net.names):
        if name in old:
            y[at] = before.start.y[old[name]]
    kept = {before.net.names[r][1]: i for i, r in enumerate(before.net.bridge_row)}
    number = [kept.get(net.names[r][1]) for r in net.bridge_row]
    mode = np.array([0 if i is None else before.start.mode[i] for i in number], int)
    on = np.array([True if i is None else before.start.on[i] for i in number], bool)
    course = Marching(0.0, y, mode, on)
    search.marcher.settle(course)
    return course


def _full(search):
    net = search.net
    y, crest = np.zeros(len(net.mass)), np.sqrt(2) * search.case.supply.nominal
    y[net.link] = crest
    course = Marching(0.0, y, np.zeros(len(net.bridges), int), np.ones(len(net.bridges), bool))
    search.marcher.settle(course)
    return course


def _largest(search, moving):
    """Largest of the moving unknowns, all in volts: currents times the reactance of what they run in."""
    net = search.net
    weights = [net.omega * net.mass[at, at] if net.names[at][0] == "current" else 1.0 for at in search.moving]
    return float(np.abs(moving * np.array(weights)).max(initial=0.0))


def _jump(search, marched, miss, to_go, share):
    """Return (`share` of where Newton's method leads, 0) if what is left is about what it should be, else (the course as it was, cycles to leave it alone).

    Slow loads that were set anew since it was `marched` may have spoilt it: then it is tried again after one cycle.
    """
    net, _, start, course = marched
    y = start.y.copy()
    y[search.moving] += share * to_go
    trial = replace(start, y=y)
    search.marcher.settle(trial)
    tried = search.cycle(trial)
    if _largest(search, (tried.y - trial.y)[search.moving] - (1 - share) * miss) <= 0.5 * share * _largest(search, miss):
        return trial, 0
    return course, 5 if net is search.net else 0


def _made(search, marched, ends, residual, radius):
    net, admittances, start, course = marched
    return Repeating(net, ends, np.concatenate(course.times), np.concatenate(course.weights),
                     np.concatenate(course.values), replace(start, sensitivity=None), residual, radius, search.cycles,
                     (), admittances)


def _repeats(restarts):
    """Whether the supply that restarted last has done so often enough: six times, or three at one distance of some cycles."""
    apart = _apart(restarts)
    return len(apart) >= 5 or (len(apart) >= 2 and np.ptp(apart[-2:]) <= 1 and apart[-1] > 3)


def _apart(restarts):
    """Cycles from one restart to the next of the supply that restarted last; `restarts` are (cycle, bridge)."""
    return np.diff([cycle for cycle, which in restarts if which == restarts[-1][1]])


def _cycling(search, course, restarts, residual):
    """Record one turn of a circuit whose supplies cut off and restart: up to the cycle in which the last one does so again."""
    longest = 2 * (1 + int(_apart(restarts).max()))
    recorded, restarts = _recorded(search, course, longest, until=restarts[-1][1])
    return Repeating(search.net, "cycle", *recorded, replace(course, sensitivity=None), residual, np.nan, search.cycles,
                     restarts, search.admittances)


def _recorded(search, course, cycles, until=None):
    """Return (times, weights, values) of the next `cycles` of the supply, and the restarts in them.

    With `until` it ends with the cycle in which that supply starts again.
    """
    parts, restarts = [], []
    for number in range(cycles):
        course, begin = search.cycle(course, sensitivity=False), number * search.net.period
        restarts += [(t + begin, which) for t, which in course.restarts]
        parts.append((np.concatenate(course.times) + begin, np.concatenate(course.weights), np.concatenate(course.values)))
        if until in [which for _, which in course.restarts]:
            break
    return tuple(np.concatenate(x) for x in zip(*parts)), tuple(restarts)


def _slow_model(case, number):
    from lostneutral.loads import load_model

    return load_model(case.loads[number], case.supply)[0]
