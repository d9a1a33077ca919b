"""The ways that the states of a network take from a start while nothing switches, kept for when a course comes by again."""

import numpy as np

from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.stiff import Trajectories, dense_output
from lostneutral.frozen import dataclass

FOREVER = 1e9  #: s
_TOGETHER = 4  #: steps worked out at a time


@dataclass(frozen=True)
class Step:
    """One step of a path: from `begin` (s after its start), `length` (s) if it were taken whole; it is taken up to `share` of it.

    There, at `until` (s), a mode ends if it `ended`; else the path is at its end, or the step.
    """

    begin: float
    length: float
    share: float
    until: float
    ended: bool


class Flow:
    """Where the states of a network go from a start, step by step as far as is asked for.

    States that are forgotten (`Dynamics.forgets`) are in it as they go from that start; of another start they differ by what is left of the difference.
    """

    def __init__(self, dynamics: Dynamics, start, tolerance):
        self.dynamics, self.first, self._tolerance = dynamics, np.array(start, float), tolerance
        self.shares = Shares(dynamics, self.first)
        self._start, self._forgets, self._courses = self.shares.of(self.first), dynamics.forgets > 0, None
        self.steps, self.cubics, self.sizes = [], [], []  # (begin, length, end), in s; of each at its middle and end, V
        self.first_sizes = dynamics.sizes(self.first)

    def leads(self, state):
        """Whether it is that of `state` too: they differ, but for the tolerance, in nothing that the circuit goes by."""
        return bool((self._forgets | agree(self.shares.of(state), self._start, self._tolerance)).all())

    def has(self, number):
        """Whether there is a step of that number: works it out, with a few more."""
        if number >= len(self.steps):
            self._take()
        return number < len(self.steps)

    def _take(self):
        courses = self._courses
        if courses is None:
            courses = self._courses = Trajectories(self.shares.law, self.shares.sloped, 0.0, self._start[None], FOREVER, self._tolerance)
        before = len(self.steps)
        while courses.active.any() and len(self.steps) == before:
            for _ in range(_TOGETHER):
                courses.step()
                if courses.took[0]:
                    self.steps.append((float(courses.before[0]), float(courses.length[0]), float(courses.time[0])))
                    self.cubics.append(np.concatenate(courses.cubic))
                if not courses.active.any():
                    break
        if len(self.steps) > before and self.shares.ends_modes:
            self.sizes += list(self.shares.sizes(np.array([dense_output(cubic, np.array([0.5, 1.0])) for cubic in self.cubics[before:]])))


def agree(shares, others, tolerance):
    """Whether shares of scale are the same as others, to the tolerance, one by one."""
    return np.abs(shares - others) <= tolerance * (np.abs(others) + 1e-2)


class KeptPath:
    """The course of a network from a start over a span (s): along `flow`, which leads there, until a mode ends."""

    def __init__(self, flow: Flow, start, span):
        self.flow, self.dynamics, self.span = flow, flow.dynamics, span
        self._forgets = flow.dynamics.forgets
        self._shift = np.where(self._forgets > 0, flow.shares.of(start) - flow.shares.of(flow.first), 0.0)
        self.first = self._whole(flow.shares.of(flow.first), 0.0)
        self.ends_at_once = self.dynamics.turning(self.first, flow.first_sizes).min(initial=np.inf) <= 0
        self.steps = []
        self.passed, self.gains = {}, {}  # what a course goes through along it, and what extra quantities gain, by whose they are

    def serves(self, span):
        """Whether a course over `span` (s) that starts the same is this one: it ends the same."""
        return self.lasts(span) or self.ends_at_once or bool(self.steps) and self.steps[-1].ended and self.steps[-1].until <= span

    def lasts(self, span):
        """Whether `span` (s) is that of this course, but for rounding."""
        return abs(span - self.span) <= 1e-9 * span

    def has(self, number):
        """Whether there is a step of that number: works it out, with a few more."""
        while number >= len(self.steps) and not (self.steps and (self.steps[-1].ended or self.steps[-1].until >= self.span)) and self.flow.has(
                len(self.steps)):
            self._judge()
        return number < len(self.steps)

    def within(self, number, share):
        """Return the states (…, branches) at `share` of the step of that number, and the shares of scale that the flow has there; arrays of as many."""
        steps, cubics = self.flow.steps, self.flow.cubics
        x = dense_output(np.array([cubics[k] for k in number]).swapaxes(0, 1), np.asarray(share, float))
        time = [steps[k][0] + at * steps[k][1] for k, at in zip(number, share)]
        return self._whole(x, np.array(time)[:, None]), x

    def at(self, times):
        """Return the states at `times` (s since the start; one or several) that lie within the steps taken so far, a row each."""
        times = np.atleast_1d(times)
        if not len(times):
            return np.zeros((0, len(self.first)))
        begins = np.array([step.begin for step in self.steps])
        number = np.maximum(np.searchsorted(begins, times) - 1, 0)
        lengths = np.array([step.length for step in self.steps])[number]
        return self.within(number.tolist(), (times - begins[number]) / lengths)[0]

    def end(self):
        """Go to the end; return the state there, the time (s) since the start, whether a mode ends there, and the voltages (V) at every step."""
        while self.has(len(self.steps)):
            pass
        if not self.steps:
            return self.first, 0.0 if self.ends_at_once else self.span, self.ends_at_once, self.flow.first_sizes[None]
        last = self.steps[-1]
        states, x = self.within([len(self.steps) - 1], [last.share])
        volts = [self.flow.first_sizes, *(middle_and_end[1] for middle_and_end in self.flow.sizes[:len(self.steps) - 1]), *self.flow.shares.sizes(x)]
        return states[0], last.until, last.ended, np.array(volts)

    def _whole(self, x, time):
        """The states where those of the flow are `x` (shares) at `time` (s)."""
        return self.flow.shares.whole(x + self._shift * np.exp(-self._forgets * time) if self._shift.any() else x)

    def _judge(self):
        """Take further steps of the flow up to where a mode ends or the span is over."""
        flow, known = self.flow, len(self.steps)
        numbers = range(known, len(flow.steps))
        ends = np.full(len(numbers), np.inf)
        if flow.shares.ends_modes:
            at = np.repeat(numbers, 2), np.tile([0.5, 1.0], len(numbers))
            sizes = np.concatenate(flow.sizes[known:])
            turning = self.dynamics.turning(self.within(*at)[0], sizes).reshape(len(numbers), 2, -1)
            past = np.flatnonzero((turning <= 0).any(axis=(1, 2)))
            if len(past):
                ends[past[0]] = self._end(known + past[0], turning[past[0]])
        for number, end in zip(numbers, ends):
            begin, length, until = flow.steps[number]
            over, share = until >= self.span, min(end, 1.0)
            if over and begin + share * length >= self.span:
                self.steps.append(Step(begin, length, (self.span - begin) / length, self.span, False))
            else:
                self.steps.append(Step(begin, length, share, begin + share * length if end <= 1 else until, end <= 1))
            if over or end <= 1:
                break

    def _end(self, number, turning):
        """The share of a step at which the first mode ends; `turning` as it is at its middle and end."""
        of = (turning <= 0).any(axis=0)  # the branches that come to their end

        def least(share):
            states, x = self.within([number], share)
            return self.dynamics.turning(states, self.flow.shares.sizes(x), of).min(axis=-1)

        middle, end = np.minimum(turning.min(axis=-1), 1e6)[:, None]
        return first_zero(least, middle, end, np.array([True]))[0]


class KnownPaths:
    """The paths that are known of a network with its loads in one mode each."""

    def __init__(self, net, nominal, tolerance):
        self.dynamics, self._tolerance = Dynamics(net, nominal), tolerance
        self._scale = self.dynamics.scale[self.dynamics.moving]
        self.flows, self.paths, self._starts = [], [], np.zeros((0, len(self._scale)))

    def path(self, state, span):
        """The path from `state` over `span` (s)."""
        start = np.asarray(state)[self.dynamics.moving] / self._scale
        same = np.flatnonzero(agree(start, self._starts, self._tolerance).all(axis=1))
        path = next((self.paths[k] for k in same[::-1] if self.paths[k].serves(span)), None)
        if path is None:
            path = KeptPath(self.flow(state), state, span)
            self.paths.append(path)
            self._starts = np.vstack([self._starts, start])
        return path

    def flow(self, state):
        """The flow that leads from `state`."""
        flow = next((flow for flow in reversed(self.flows) if flow.leads(state)), None)
        if flow is None:
            flow = Flow(self.dynamics, state, self._tolerance)
            self.flows.append(flow)
        return flow


def known_paths(known, net, nominal, tolerance) -> KnownPaths:
    """Return what is known of `net` with its loads as they are, of the dict `known` of one wiring."""
    conditions = net.conditions
    if conditions not in known:
        known[conditions] = KnownPaths(net, nominal, tolerance)
    return known[conditions]


class Shares:
    """The states of the moving branches as shares of their scale: what `stiff.Trajectories` integrates."""

    def __init__(self, dynamics: Dynamics, first):
        self.dynamics, self.first = dynamics, np.asarray(first, float)
        self.scale = dynamics.scale[dynamics.moving]
        self.ends_modes = any(len(model.modes) > 1 for model in dynamics.net.models)
        self.tables = dynamics.tables

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
        if not self.ends_modes or not courses.took.any():
            return np.full(len(courses.x), np.inf)
        middle, end = self._least(np.array([courses.within(0.5), courses.x]))
        return first_zero(lambda share: self._least(courses.within(share)), middle, end, courses.took)

    def _least(self, x):
        return np.minimum(self.dynamics.turning(self.whole(x), self.sizes(x)).min(axis=-1), 1e6)


def first_zero(least, middle, end, wanted):
    """Return the share of a step at which `least(shares)` first comes to zero: up to 1, or infinity where it does not, or is not `wanted`.

    `middle` and `end` are its values there; arrays of several steps at once.
    """
    half = middle <= 0
    right = np.where(half, middle, end)
    hit = wanted & (right <= 0)
    if not hit.any():
        return np.full(len(right), np.inf)
    low, high = np.where(hit & ~half, 0.5, 0.0), np.where(half, 0.5, 1.0)
    left = least(low)
    at_once = left <= 0
    left = np.where(at_once, 1e-12, left)
    side = np.zeros(len(right))
    for _ in range(80):  # regula falsi with the Illinois rule, for all courses at once
        if (~hit | (high - low < 1e-12) | (right > -1e-9)).all():
            break
        at = np.clip(low + (high - low) * left / np.maximum(left - right, 1e-300), low, high)
        at = np.where(at - low < 0.01 * (high - low), low + 0.01 * (high - low), at)
        at = np.where(high - at < 0.01 * (high - low), high - 0.01 * (high - low), at)
        now = least(at)
        past = now <= 0
        left = np.where(past, np.where(side == 1, left / 2, left), now)
        right = np.where(past, now, np.where(side == -1, right / 2, right))
        low, high = np.where(past, low, at), np.where(past, at, high)
        side = np.where(past, 1, -1)
    return np.where(hit, np.where(at_once, 0.0, high), np.inf)
