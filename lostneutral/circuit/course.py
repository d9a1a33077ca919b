"""The loads' states followed through time, within one wiring and across the modes of the loads."""

from dataclasses import replace

import numpy as np

from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import Network
from lostneutral.circuit.stiff import Trajectories, dense_output
from lostneutral.circuit.tabled import tabled
from lostneutral.frozen import dataclass

_NODES = np.array([0.0, 0.5 - (3 / 28) ** 0.5, 0.5, 0.5 + (3 / 28) ** 0.5, 1.0])  #: Lobatto's, on 0 … 1
_LOBATTO = np.array([1 / 20, 49 / 180, 16 / 45, 49 / 180, 1 / 20])
_SIMPSON = np.array([1 / 6, 0.0, 4 / 6, 0.0, 1 / 6])  #: of the same nodes, to see the error
_POWERS = np.linalg.inv(np.vander(_NODES, increasing=True))  #: values at the nodes -> coefficients
_EXPONENTS = np.arange(1, 6)
_EXTRA_ERROR = 1e-8  #: of an extra quantity in one piece of a step
_SHORT = 1e-9  #: share of a step below which it is no longer halved for an extra quantity
_TOGETHER = 8  #: steps of a path worked out at a time


@dataclass(frozen=True, eq=False)
class Stretch:
    """A part of a course in which nothing switches: times (s) and, for each, the state of every branch."""

    net: Network
    times: np.ndarray
    states: np.ndarray  #: (times, branches)
    ended_by: tuple[int, ...] = ()  #: branches whose mode (or extra quantity) ended it; () = the time was up
    extra: np.ndarray | None = None  #: (times, extras) further quantities integrated along


@dataclass(frozen=True)
class Along:
    """Further quantities integrated along with the states, each from its value to 1, where it ends the stretch.

    `rates(net, states, across)` gives their growth (1/s), a row for each row of `states` and `across` (times,
    branches); they have no effect on the states. `start` has their values at the beginning. `whose` is the same for
    all that have the same `rates`: a path keeps how they grow along it.
    """

    rates: object
    start: np.ndarray
    whose: object = ()


def stretch(net: Network, nominal, start, begin, end, *, along: Along | None = None, tolerance=1e-8,
            dense=True, path=None) -> Stretch:
    """Follow the states of `net` from `start` at `begin` (s) until something switches or `end` (s).

    By `stiff.Courses` with the Jacobian of `Dynamics`; where a mode or an extra quantity ends is found within the step.
    `tolerance` is relative, and absolute in shares of each state's own size. Without `dense` the times are the
    method's own steps. `path` is a `KeptPath` that serves this start, if one is known.
    """
    path = path or KeptPath(net, nominal, start, end - begin, tolerance)
    extra = np.zeros(0) if along is None else np.asarray(along.start, float)
    first = path.first
    if path.ends_at_once or (extra >= 1).any() or end <= begin or (len(path.dynamics.moving) == 0 and not len(extra)):
        at_once = path.ends_at_once or (extra >= 1).any()
        last = begin if at_once else end
        return Stretch(net, np.array([begin, last]), np.array([first, first]),
                       _enders(path.dynamics, first, extra, nominal) if at_once else (),
                       None if along is None else np.array([extra, extra]))
    key = along and along.whose, dense
    passed = path.passed.get(key)
    if passed is None or (extra + passed.gained[-1] >= 1).any():
        passed = _passed(path, along, extra, dense, nominal)
        if not any(k >= len(net.models) for k in passed.by):
            path.passed[key] = passed
    times = np.where(np.equal(passed.times, path.span), end, begin + passed.times) if path.lasts(end - begin) else begin + passed.times
    return Stretch(net, times, passed.states, passed.by, None if along is None else extra + passed.gained)


@dataclass(frozen=True, eq=False)
class _Passed:
    """What a stretch along a path goes through: times (s) since its start, states, what extra quantities gain till then, what ends it."""

    times: np.ndarray
    states: np.ndarray
    gained: np.ndarray
    by: tuple[int, ...]


def _passed(path, along, extra, dense, nominal):
    """Go along `path` until something in it switches, one of the quantities that are `extra` to begin with is 1, or it ends."""
    wanted = np.append(grid(0.0, path.span)[1:-1], path.span) if dense else np.zeros(0)
    times, states, gained, by = [0.0], [path.first], [np.zeros(len(extra))], ()
    number, gain, growths = 0, gained[0], path.growths.setdefault(along.whose, []) if along is not None else ()
    while not by and path.has(number):
        if along is not None and number == len(growths):
            growths += _growths(along, path, path.steps[number:])
        step, pieces = path.steps[number], growths[number] if along is not None else ()
        full = _full_at(pieces, step.length, extra + gain)
        ended, reach = min(full, step.ends) <= 1, min(full, step.ends, 1.0)
        until = step.begin + reach * step.length if ended else step.until
        shown = (wanted[(wanted > step.begin) & (wanted <= until)] - step.begin) / step.length
        ats = shown if dense and not ended else np.append(shown[shown < reach], reach)
        if len(ats):
            times += [until if at == reach else step.begin + at * step.length for at in ats]
            states += list(path.shares.whole(step.within(ats)))
            gained += [gain + _gain(pieces, at) * step.length for at in ats]
        gain = gain + _gain(pieces, reach) * step.length
        by = _enders(path.dynamics, states[-1], extra + gain, nominal) if ended else ()
        number += 1
    return _Passed(np.array(times), np.array(states), np.array(gained).reshape(len(times), -1), by)


@dataclass(frozen=True, eq=False)
class Step:
    """One step of a path: from `begin` (s after its start) over `length` (s); a mode ends at the share `ends` of it, else infinity."""

    begin: float
    length: float
    until: float
    ends: float
    cubic: tuple

    def within(self, shares):
        """Return the shares of scale at `shares` (0 to 1) of the step, a row each."""
        return dense_output(tuple(part[None] for part in self.cubic), np.asarray(shares, float))


class KeptPath:
    """The course of a network from a start over a span (s), worked out step by step as far as it is asked for, and kept."""

    def __init__(self, net, nominal, start, span, tolerance):
        self.dynamics, self.first = Dynamics(net, nominal), np.array(start, float)
        self.shares = Shares(self.dynamics, self.first)
        self.ends_at_once = self.dynamics.turning(self.first).min(initial=np.inf) <= 0
        self.steps, self.span, self._tolerance, self._courses = [], span, tolerance, None
        self.growths, self.passed = {}, {}  # by whose extra quantities go along: their growths by step, and stretches that none of them ended

    def serves(self, state, span):
        """Whether the course from `state` over `span` (s) is this one: it starts the same, to the tolerance, and ends the same."""
        first = self.shares.of(self.first)
        if (np.abs(self.shares.of(state) - first) > self._tolerance * (np.abs(first) + 1e-2)).any():
            return False
        return self.lasts(span) or bool(self.steps) and self.steps[-1].ends <= 1 and self.steps[-1].until <= span

    def lasts(self, span):
        """Whether `span` (s) is that of this course, but for rounding."""
        return abs(span - self.span) <= 1e-9 * span

    def has(self, number):
        """Whether there is a step of that number: works it out, with a few more."""
        if self._courses is None:
            shares = self.shares
            self._courses = Trajectories(shares.law, shares.sloped, 0.0, shares.of(self.first)[None], self.span, self._tolerance)
        if number >= len(self.steps):
            while self._courses.active.any() and len(self.steps) < number + _TOGETHER:
                self._take()
        return number < len(self.steps)

    def _take(self):
        courses = self._courses
        courses.step()
        if not courses.took[0]:
            return
        ends = float(self.shares.ending(courses)[0])
        self.steps.append(Step(float(courses.before[0]), float(courses.length[0]), float(courses.time[0]), ends,
                               tuple(part[0] for part in courses.cubic)))
        if ends <= 1:
            courses.active[:] = False


def _growths(along, path, steps):
    """For each step the growth (1/s) of the extra quantities as pieces (from, to, values at `_NODES` of the piece)."""
    open_ = [(k, 0.0, 1.0) for k in range(len(steps))]
    done = [[] for _ in steps]
    while open_:
        at = np.concatenate([steps[k].within(low + (high - low) * _NODES) for k, low, high in open_])
        states = path.shares.whole(at)
        rates = along.rates(path.dynamics.net, states, path.shares.sizes(at)).reshape(len(open_), len(_NODES), -1)
        rest = []
        for (k, low, high), values in zip(open_, rates):
            miss = np.abs((_LOBATTO - _SIMPSON) @ values).max(initial=0.0) * steps[k].length * (high - low)
            if miss <= _EXTRA_ERROR or high - low <= _SHORT:
                done[k].append((low, high, values))
            else:
                rest += [(k, low, (low + high) / 2), (k, (low + high) / 2, high)]
        open_ = rest
    return [sorted(pieces, key=lambda piece: piece[0]) for pieces in done]


def _gain(pieces, share):
    """The integral of the growth from the begin of a step to `share` of it, for a step of length 1."""
    total = 0.0
    for low, high, values in pieces:
        if low >= share:
            break
        within = min((share - low) / (high - low), 1.0)
        total = total + (high - low) * (within**_EXPONENTS / _EXPONENTS) @ (_POWERS @ values)
    return total


def _full_at(pieces, length, extra):
    """Share of the step at which the first of the extra quantities reaches 1; infinity if none does."""
    if not len(extra) or not (extra + _gain(pieces, 1.0) * length >= 1).any():
        return np.inf
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if (extra + _gain(pieces, middle) * length >= 1).any() else (middle, high)
    return high


def _enders(dynamics, state, extra, nominal):
    margins = dynamics.turning(state)
    slack = 1e-6 * max(1.0, float(np.max(nominal)))
    by = tuple(int(i) for i in np.flatnonzero(margins <= slack))
    return by + tuple(len(dynamics.net.models) + int(i) for i in np.flatnonzero(extra >= 1 - 1e-9))


class Shares:
    """The states of the moving branches as shares of their scale: what `stiff.Courses` integrates."""

    def __init__(self, dynamics: Dynamics, first):
        self.dynamics, self.first = dynamics, np.asarray(first, float)
        self.scale = dynamics.scale[dynamics.moving]
        self.ends_modes = any(len(model.modes) > 1 for model in dynamics.net.models)
        self.tables = tabled(dynamics.net, dynamics.moving, dynamics.nominal)

    def of(self, state):
        """Return the shares of states (…, branches)."""
        return np.asarray(state)[..., self.dynamics.moving] / self.scale

    def whole(self, x):
        """Return the states (…, branches) of shares."""
        state = np.broadcast_to(self.first if x.ndim > 1 or self.first.ndim == 1 else self.first[0],
                                (*x.shape[:-1], self.first.shape[-1])).copy()
        state[..., self.dynamics.moving] = x * self.scale
        return state

    def law(self, x):
        """Return d(shares)/dt, 1/s."""
        found = self.tables and self.tables.rates(x * self.scale)
        if found is not None:
            return found / self.scale
        return self.dynamics.rates(self.whole(x))[..., self.dynamics.moving] / self.scale

    def sloped(self, x):
        """Return the same and its derivative by the shares, 1/s."""
        found = self.tables and self.tables.sloped(x * self.scale)
        if found is not None:
            return found[0] / self.scale, found[1] * (self.scale / self.scale[:, None])
        state = self.whole(x)
        return self.dynamics.rates(state)[..., self.dynamics.moving] / self.scale, self.dynamics.jacobian(state)

    def sizes(self, x):
        """Return the voltage (V, r.m.s.) across every branch."""
        found = self.tables and self.tables.sizes(x * self.scale)
        return self.dynamics.sizes(self.whole(x)) if found is None else found

    def ending(self, courses: Trajectories):
        """Return at what share of its last step each course comes to the end of a mode: up to 1, or infinity."""
        ends = np.full(len(courses.x), np.inf)
        if not self.ends_modes or not courses.took.any():
            return ends
        low, high = np.zeros(len(ends)), np.ones(len(ends))
        middle, right = self._least(np.array([courses.within(0.5), courses.x]))
        half = middle <= 0
        right = np.where(half, middle, right)
        hit = courses.took & (right <= 0)
        if not hit.any():
            return ends
        low, high = np.where(hit & ~half, 0.5, low), np.where(half, 0.5, high)
        left = self._least(courses.within(low))
        at_once = left <= 0
        left = np.where(at_once, 1e-12, left)
        side = np.zeros(len(ends))
        for _ in range(80):  # regula falsi with the Illinois rule, for all courses at once
            if (~hit | (high - low < 1e-12) | (right > -1e-9)).all():
                break
            at = np.clip(low + (high - low) * left / np.maximum(left - right, 1e-300), low, high)
            at = np.where(at - low < 0.01 * (high - low), low + 0.01 * (high - low), at)
            at = np.where(high - at < 0.01 * (high - low), high - 0.01 * (high - low), at)
            now = self._least(courses.within(at))
            past = now <= 0
            left = np.where(past, np.where(side == 1, left / 2, left), now)
            right = np.where(past, now, np.where(side == -1, right / 2, right))
            low, high = np.where(past, low, at), np.where(past, at, high)
            side = np.where(past, 1, -1)
        return np.where(hit, np.where(at_once, 0.0, high), ends)

    def _least(self, x):
        return np.minimum(self.dynamics.turning(self.whole(x), self.sizes(x)).min(axis=-1), 1e6)


def grid(begin, end):
    """Return times from `begin` to `end` (s): dense at first (from a tenth of a millisecond), then by ratio."""
    length = end - begin
    if length <= 1e-4:
        return np.array([begin, end])
    steps = max(12, int(14 * np.log10(length / 1e-4)))
    return np.concatenate([[begin], begin + np.geomspace(1e-4, length, steps)])


def switched(net: Network, state, branches):
    """Return `net` with what follows in each of `branches` (its next mode, or a delay begun or called off), and the states."""
    across, state = np.abs(net.across(net.voltages(np.asarray(state, float)))), np.asarray(state, float)
    parts = {i: net.part(i) for i in branches}
    return _followed(net, state, {i: net.models[i].turned(state[part], across[part]) for i, part in parts.items()})


def _followed(net, state, new):
    models, state = list(net.models), np.array(state, float)
    for i, model in new.items():
        part = net.part(i)
        if model.mode != models[i].mode:
            state[part] = model.entered(state[part])
        for k in np.atleast_1d(part):
            models[k] = model
    return replace(net, models=tuple(models)), state


class Clocks:
    """When the delays that are running began (s), by branch and edge."""

    def __init__(self, began=None):
        self.began = dict(began or {})

    def at(self, net: Network, time):
        """Return the clocks as they stand with the loads of `net` as they are from `time` (s) on."""
        running = ((key, edge) for key, model in zip(net.keys, net.models) for edge in model.counting)
        return Clocks({one: self.began.get(one, time) for one in running})

    def due(self, net: Network):
        """Return the time (s) at which the first delay is over; infinity if none is running."""
        return min(self._ends(net).values(), default=np.inf)

    def expired(self, net: Network, state):
        """Return `net` with what follows in every branch whose delay is the first to be over, and the states."""
        ends, first = self._ends(net), self.due(net)
        over = {}
        for (i, edge), end in ends.items():
            if end <= first + 1e-9 * max(1.0, abs(first)):
                over.setdefault(i, edge)
        return _followed(net, state, {i: net.models[i].expired(edge) for i, edge in over.items()})

    def left(self, net: Network, time):
        """Return what is left (s) of each delay at `time`, in a fixed order."""
        return np.array([end - time for _, end in sorted(self._ends(net).items())])

    def _ends(self, net):
        return {(i, edge): self.began[key, edge] + model.delay(edge)
                for i, (key, model) in enumerate(zip(net.keys, net.models)) for edge in model.counting}
