"""The loads' states followed through time, within one wiring and across the modes of the loads."""

from dataclasses import replace
from functools import cached_property

import numpy as np

from lostneutral.circuit.network import Network
from lostneutral.circuit.paths import KnownPaths
from lostneutral.frozen import dataclass

_NODES = np.array([0.0, 0.5 - (3 / 28) ** 0.5, 0.5, 0.5 + (3 / 28) ** 0.5, 1.0])  #: Lobatto's, on 0 … 1
_LOBATTO = np.array([1 / 20, 49 / 180, 16 / 45, 49 / 180, 1 / 20])
_SIMPSON = np.array([1 / 6, 0.0, 4 / 6, 0.0, 1 / 6])  #: of the same nodes, to see the error
_POWERS = np.linalg.inv(np.vander(_NODES, increasing=True))  #: values at the nodes -> coefficients
_EXPONENTS = np.arange(1, 6)
_EXTRA_ERROR = 1e-8  #: of an extra quantity in one piece of a step
_SHORT = 1e-9  #: share of a step below which it is no longer halved for an extra quantity


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
    path = path or KnownPaths(net, nominal, tolerance).path(start, end - begin)
    extra = np.zeros(0) if along is None else np.asarray(along.start, float)
    first = path.first
    if path.ends_at_once or (extra >= 1).any() or end <= begin or (len(path.dynamics.moving) == 0 and not len(extra)):
        at_once = path.ends_at_once or (extra >= 1).any()
        last = begin if at_once else end
        return Stretch(net, np.array([begin, last]), np.array([first, first]),
                       _enders(path.dynamics, first, extra, nominal) if at_once else (),
                       None if along is None else np.array([extra, extra]))
    gains, full = (None, np.inf) if along is None else _gained(along, path, extra)
    if full < np.inf:
        passed = _passed(path, dense, nominal, full)
    else:
        passed = path.passed.get(dense) or path.passed.setdefault(dense, _passed(path, dense, nominal))
    times, by, gained = passed.times, passed.by, None
    if along is not None:
        gained = gains.at(times)
        by += tuple(len(net.models) + int(i) for i in np.flatnonzero(extra + gained[-1] >= 1 - 1e-9)) if by or full < np.inf else ()
    at_end = path.lasts(end - begin) & np.equal(times, path.span)
    return Stretch(net, np.where(at_end, end, begin + times), passed.states, by, None if along is None else extra + gained)


@dataclass(frozen=True, eq=False)
class _Passed:
    """What a stretch along a path goes through: times (s) since its start, states, the branches whose mode ends it."""

    times: np.ndarray
    states: np.ndarray
    by: tuple[int, ...]


def _passed(path, dense, nominal, full=np.inf):
    """Go along `path` to where something in it switches, to its end, or to where (s) an extra quantity is `full`."""
    if full < np.inf:
        last, until, ended = path.at(full)[0], full, True
    else:
        last, until, ended, _ = path.end()
    times = grid(0.0, path.span)[1:-1] if dense else np.array([step.until for step in path.steps])
    times = times[times < until]
    states = np.concatenate([path.first[None], path.at(times), last[None]])
    return _Passed(np.concatenate([[0.0], times, [until]]), states, _enders(path.dynamics, last, np.zeros(0), nominal) if ended else ())


@dataclass(frozen=True, eq=False)
class Gains:
    """What extra quantities gain along a path, in pieces from `begins` over `lengths` (s) with their growth (1/s) at `_NODES` of each.

    `values` are (pieces, nodes, quantities). They are those of the first `steps` of the path.
    """

    begins: np.ndarray
    lengths: np.ndarray
    values: np.ndarray
    steps: int = 0

    @cached_property
    def _until(self):
        """The gains up to the begin of each piece, and to the end of the last."""
        each = self.lengths[:, None] * np.tensordot(self.values, (1 / _EXPONENTS) @ _POWERS, (1, 0))
        return np.concatenate([np.zeros((1, each.shape[1])), np.cumsum(each, axis=0)])

    def at(self, times):
        """The gains from the begin up to each of `times` (s), a row each."""
        piece = np.maximum(np.searchsorted(self.begins, times, side="right") - 1, 0)
        within = np.clip((times - self.begins[piece]) / self.lengths[piece], 0.0, 1.0)
        weights = self.lengths[piece, None] * (within[:, None]**_EXPONENTS / _EXPONENTS) @ _POWERS
        return self._until[piece] + (weights[:, :, None] * self.values[piece]).sum(axis=1)

    def full_at(self, extra):
        """The time (s) at which the first of the quantities, which begin with `extra`, reaches 1; infinity if none does."""
        full = (extra + self._until[1:] >= 1).any(axis=1)
        if not full.any():
            return np.inf
        low = float(self.begins[full.argmax()])
        high = low + float(self.lengths[full.argmax()])
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (low, middle) if (extra + self.at(np.array([middle])) >= 1).any() else (middle, high)
        return high


def _gained(along, path, extra):
    """The gains along `path` as far as it takes one of the quantities, which begin with `extra`, to reach 1; and when (s) that is, or infinity."""
    gains, full = path.gains.get(along.whose), np.inf
    if gains is None:
        gains = Gains(np.zeros(1), np.ones(1), np.zeros((1, len(_NODES), len(extra))))
    else:
        full = gains.full_at(extra)
    while full == np.inf and path.has(gains.steps):
        path.has(2 * gains.steps + 3)  # as many again
        gains = path.gains[along.whose] = _further(gains, along, path)
        full = gains.full_at(extra)
    return gains, full


def _further(gains, along, path):
    """Return `gains` with those of the quantities of `along` over all steps of `path` that are known, in pieces over which growth is a polynomial."""
    first = gains.steps
    begins, lengths, shares = np.array([(step.begin, step.length, step.share) for step in path.steps]).T
    open_, done = [(k, 0.0, shares[k]) for k in range(first, len(shares))], []
    while open_:
        number, low, high = (np.array(part)[:, None] for part in zip(*open_))
        states, x = path.within(np.repeat(number[:, 0], len(_NODES)).tolist(), np.ravel(low + (high - low) * _NODES))
        rates = along.rates(path.dynamics.net, states, path.flow.shares.sizes(x)).reshape(len(open_), len(_NODES), -1)
        rest = []
        for (k, low, high), values in zip(open_, rates):
            miss = np.abs((_LOBATTO - _SIMPSON) @ values).max(initial=0.0) * lengths[k] * (high - low)
            if miss <= _EXTRA_ERROR or high - low <= _SHORT * shares[k]:
                done.append((begins[k] + low * lengths[k], (high - low) * lengths[k], values))
            else:
                rest += [(k, low, (low + high) / 2), (k, (low + high) / 2, high)]
        open_ = rest
    done.sort(key=lambda piece: piece[0])
    new = [np.array(part) for part in zip(*done)]
    known = [gains.begins, gains.lengths, gains.values] if first else [part[:0] for part in new]
    return Gains(*(np.concatenate(pair) for pair in zip(known, new)), len(shares))


def _enders(dynamics, state, extra, nominal):
    margins = dynamics.turning(state)
    slack = 1e-6 * max(1.0, float(np.max(nominal)))
    by = tuple(int(i) for i in np.flatnonzero(margins <= slack))
    return by + tuple(len(dynamics.net.models) + int(i) for i in np.flatnonzero(extra >= 1 - 1e-9))


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

    def later(self, seconds):
        """Return the clocks with every delay begun so much later."""
        return Clocks({one: began + seconds for one, began in self.began.items()})

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
