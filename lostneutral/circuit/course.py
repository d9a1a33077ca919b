"""The loads' states followed through time, within one wiring and across the modes of the loads."""

from dataclasses import replace

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
    at, gained, by = [], [np.zeros(len(extra))], ()  # at: (s since the start, number of a step, share of it)
    number, gain, growths = 0, gained[0], path.growths.setdefault(along.whose, []) if along is not None else ()
    while not by and path.has(number):
        if along is not None and number == len(growths):
            growths += _growths(along, path, number)
        step, pieces = path.steps[number], growths[number] if along is not None else ()
        full = _full_at(pieces, step.length, extra + gain)
        ended, reach = step.ended or full <= step.share, min(full, step.share)
        until = step.begin + reach * step.length if full <= step.share else step.until
        shown = (wanted[(wanted > step.begin) & (wanted <= until)] - step.begin) / step.length
        ats = shown if dense and not ended else np.append(shown[shown < reach], reach)
        at += [(until if share == reach else step.begin + share * step.length, number, share) for share in ats]
        gained += [gain + _gain(pieces, share) * step.length for share in ats]
        gain = gain + _gain(pieces, reach) * step.length
        by = _enders(path.dynamics, path.within([number], [reach])[0][0], extra + gain, nominal) if ended else ()
        number += 1
    times, numbers, shares = np.array(at).reshape(-1, 3).T
    states = np.concatenate([path.first[None], path.within(numbers.astype(int).tolist(), shares)[0]]) if len(times) else path.first[None]
    return _Passed(np.append(0.0, times), states, np.array(gained).reshape(len(states), -1), by)


def _growths(along, path, first):
    """For each step from the `first` on the growth (1/s) of the extra quantities as pieces (from, to, values at `_NODES` of the piece)."""
    open_ = [(k, 0.0, step.share) for k, step in enumerate(path.steps[first:])]
    done = [[] for _ in open_]
    while open_:
        number, low, high = (np.array(part)[:, None] for part in zip(*open_))
        states, x = path.within(np.repeat(first + number[:, 0], len(_NODES)).tolist(), np.ravel(low + (high - low) * _NODES))
        rates = along.rates(path.dynamics.net, states, path.flow.shares.sizes(x)).reshape(len(open_), len(_NODES), -1)
        rest = []
        for (k, low, high), values in zip(open_, rates):
            miss = np.abs((_LOBATTO - _SIMPSON) @ values).max(initial=0.0) * path.steps[first + k].length * (high - low)
            if miss <= _EXTRA_ERROR or high - low <= _SHORT * path.steps[first + k].share:
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
