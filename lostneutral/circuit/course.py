"""The loads' states followed through time, within one wiring and across the modes of the loads."""

from dataclasses import dataclass, replace

import numpy as np

from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import Network
from lostneutral.circuit.stiff import Courses

_LOBATTO = (np.array([0.0, 0.5 - (3 / 28) ** 0.5, 0.5, 0.5 + (3 / 28) ** 0.5, 1.0]),
            np.array([1 / 20, 49 / 180, 16 / 45, 49 / 180, 1 / 20]))  #: nodes and weights on 0 … 1
_SIMPSON = np.array([1 / 6, 0.0, 4 / 6, 0.0, 1 / 6])  #: of the same nodes, to see the error
_EXTRA_ERROR = 1e-7  #: of an extra quantity in one step
_SHORT = 1e-9  #: share of its time so far below which a step is no longer halved for an extra quantity


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

    `rates(net, states, across)` gives their growth (1/s), a row for each row of `states` and `across` (times, branches);
    they have no effect on the states. `start` has their values at the beginning.
    """

    rates: object
    start: np.ndarray


def stretch(net: Network, nominal, start, begin, end, *, along: Along | None = None, tolerance=1e-8,
            dense=True) -> Stretch:
    """Follow the states of `net` from `start` at `begin` (s) until something switches or `end` (s).

    By `stiff.Courses` with the Jacobian of `Dynamics`; where a mode or an extra quantity ends is found within the step.
    `tolerance` is relative, and absolute in shares of each state's own size. Without `dense` the times are the method's own steps.
    """
    dynamics = Dynamics(net, nominal)
    first = np.array(start, float)
    shares = Shares(dynamics, first)
    extra = np.zeros(0) if along is None else np.asarray(along.start, float)
    switched_already = dynamics.margins(first).min(initial=np.inf) <= 0 or (extra >= 1).any()
    if switched_already or end <= begin or (len(dynamics.moving) == 0 and not len(extra)):
        last = begin if switched_already else end
        by = _enders(dynamics, first, extra, nominal) if switched_already else ()
        return Stretch(net, np.array([begin, last]), np.array([first, first]), by,
                       None if along is None else np.array([extra, extra]))
    courses = Courses(shares.law, shares.jacobian, begin, shares.of(first)[None], end, tolerance)
    wanted = np.append(grid(begin, end)[1:-1], end) if dense else np.zeros(0)
    times, states, extras, by = [begin], [first], [extra], ()
    while courses.active.any() and not by:
        courses.step()
        if not courses.took[0]:
            continue
        begun, length = courses.before[0], courses.length[0]
        growth = _growth(along, shares, courses, begun, length) if len(extra) else np.zeros((len(_SIMPSON), 0))
        if growth is None:
            courses.undo(0)
            continue
        reach = min(shares.ending(courses)[0], _full_at(growth * length, extra))
        ended, reach = reach <= 1, min(reach, 1.0)
        until = begun + reach * length if ended else courses.time[0]
        shown = (wanted[(wanted > begun) & (wanted <= until)] - begun) / length
        for at in shown if dense and not ended else [*shown, reach]:
            times.append(until if at == reach else begun + at * length)
            states.append(shares.whole(courses.within(at)[0]))
            extras.append(extra + _up_to(growth, at) * length)
        extra = extra + _up_to(growth, reach) * length
        by = _enders(dynamics, states[-1], extra, nominal) if ended else ()
    return Stretch(net, np.array(times), np.array(states), by,
                   None if along is None else np.array(extras).reshape(len(times), -1))


def _growth(along, shares, courses, begun, length):
    """The growth (1/s) of the extra quantities at the nodes of the last step; None if the step is too long for them."""
    at = np.array([shares.whole(courses.within(share)[0]) for share in _LOBATTO[0]])
    rates = along.rates(shares.dynamics.net, at, shares.dynamics.sizes(at))
    miss = np.abs((_LOBATTO[1] - _SIMPSON) @ rates).max(initial=0.0) * length
    return rates if miss <= _EXTRA_ERROR or length <= _SHORT * max(begun, 1e-6) else None


_POWERS = np.linalg.inv(np.vander(_LOBATTO[0], increasing=True))  #: values at the nodes -> coefficients


def _up_to(growth, share):
    """Integral from 0 to `share` of the polynomial through `growth` (nodes, extras), for a step of length 1."""
    exponents = np.arange(1, len(growth) + 1)
    return (share**exponents / exponents) @ (_POWERS @ growth)


def _full_at(gain, extra):
    """Share of the step at which the first of the extra quantities reaches 1; infinity if none does."""
    if not (extra + _up_to(gain, 1.0) >= 1).any():
        return np.inf
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if (extra + _up_to(gain, middle) >= 1).any() else (middle, high)
    return high


def _enders(dynamics, state, extra, nominal):
    margins = dynamics.margins(state)
    slack = 1e-6 * max(1.0, float(np.max(nominal)))
    by = tuple(int(i) for i in np.flatnonzero(margins <= slack))
    return by + tuple(len(dynamics.net.models) + int(i) for i in np.flatnonzero(extra >= 1 - 1e-9))


class Shares:
    """The states of the moving branches as shares of their scale: what `stiff.Courses` integrates."""

    def __init__(self, dynamics: Dynamics, first):
        self.dynamics, self.first = dynamics, np.asarray(first, float)
        self.scale = dynamics.scale[dynamics.moving]
        self.ends_modes = any(len(model.modes) > 1 for model in dynamics.net.models)

    def of(self, state):
        """Return the shares of states (…, branches)."""
        return np.asarray(state)[..., self.dynamics.moving] / self.scale

    def whole(self, x):
        """Return the states (…, branches) of shares."""
        state = np.broadcast_to(self.first if x.ndim == 2 or self.first.ndim == 1 else self.first[0],
                                (*x.shape[:-1], self.first.shape[-1])).copy()
        state[..., self.dynamics.moving] = x * self.scale
        return state

    def law(self, x):
        """Return d(shares)/dt, 1/s."""
        return self.dynamics.rates(self.whole(x))[..., self.dynamics.moving] / self.scale

    def jacobian(self, x):
        """Return its derivative by the shares, 1/s."""
        return self.dynamics.jacobian(self.whole(x))

    def ending(self, courses: Courses):
        """Return at what share of its last step each course comes to the end of a mode: up to 1, or infinity."""
        ends = np.full(len(courses.x), np.inf)
        if not self.ends_modes or not courses.took.any():
            return ends
        low, high = np.zeros(len(ends)), np.ones(len(ends))
        right = self._least(courses.within(0.5))
        half = right <= 0
        right = np.where(half, right, self._least(courses.x))
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
        return np.minimum(self.dynamics.margins(self.whole(x)).min(axis=-1), 1e6)


def grid(begin, end):
    """Return times from `begin` to `end` (s): dense at first (from a tenth of a millisecond), then by ratio."""
    length = end - begin
    if length <= 1e-4:
        return np.array([begin, end])
    steps = max(12, int(14 * np.log10(length / 1e-4)))
    return np.concatenate([[begin], begin + np.geomspace(1e-4, length, steps)])


def switched(net: Network, state, branches):
    """Return `net` with each of `branches` in the mode that follows its present one, and the state that begins with."""
    models, state, across = list(net.models), np.array(state, float), np.abs(net.across(net.voltages(state)))
    for i in branches:
        models[i] = models[i].in_mode(models[i].next_mode(state[i], across[i]))
        state[i] = models[i].entered(state[i])
    return replace(net, models=tuple(models)), state
