"""The loads' states followed through time, within one wiring and across the modes of the loads."""

from dataclasses import dataclass, replace

import numpy as np

from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import Network


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

    `rates(net, state, across)` gives their growth (1/s); `start` their values at the beginning.
    """

    rates: object
    start: np.ndarray


def stretch(net: Network, nominal, start, begin, end, *, along: Along | None = None, tolerance=1e-8,
            dense=True) -> Stretch:
    """Follow the states of `net` from `start` at `begin` (s) until something switches or `end` (s).

    A stiff, variable-order multistep method (scipy's LSODA) with the Jacobian of `Dynamics`; the end of a mode is
    located by an event function. `tolerance` is relative, and absolute in shares of each state's own size. Without
    `dense` the times are the method's own steps.
    """
    from scipy.integrate import solve_ivp

    dynamics = Dynamics(net, nominal)
    moving, scale = dynamics.moving, dynamics.scale
    m = len(moving)
    first = np.array(start, float)
    extras = np.zeros(0) if along is None else np.asarray(along.start, float)

    def whole(x):
        state = first.copy()
        state[moving] = x[:m] * scale[moving]
        return state

    def slope(_, x):
        state = whole(x)
        across = np.abs(net.across(net.voltages(state)))
        rates = dynamics.rates(state, across)[moving] / scale[moving]
        return rates if along is None else np.concatenate([rates, along.rates(net, state, across)])

    def switch(_, x):
        nearest = min(dynamics.margins(whole(x)).min(initial=np.inf), 1e6)
        return min(nearest, (1.0 - x[m:]).min(initial=np.inf)) if len(extras) else nearest

    switch.terminal, switch.direction = True, -1
    times = grid(begin, end) if dense else None
    jacobian = None if along is not None else (lambda _, x: dynamics.jacobian(whole(x)))
    initial = np.concatenate([first[moving] / scale[moving], extras])
    if len(initial) == 0 or switch(0, initial) <= 0:
        last = begin if len(initial) and switch(0, initial) <= 0 else end
        run_times, run_states = np.array([begin, last]), np.array([initial, initial])
        switched = last == begin
    else:
        run = solve_ivp(slope, (begin, end), initial, method="LSODA", t_eval=times, events=switch, jac=jacobian,
                        rtol=tolerance, atol=tolerance * 1e-2)
        run_times, run_states = run.t, run.y.T
        switched = len(run.t_events[0]) > 0
        if switched:
            run_times = np.append(run_times, run.t_events[0][-1])
            run_states = np.vstack([run_states, run.y_events[0][-1]])
    states = np.array([whole(x) for x in run_states])
    by = ()
    if switched:
        margins = dynamics.margins(states[-1])
        slack = 1e-6 * max(1.0, float(np.max(nominal)))
        by = tuple(int(i) for i in np.flatnonzero(margins <= slack))
        by += tuple(len(net.models) + int(i) for i in np.flatnonzero(run_states[-1][m:] >= 1 - 1e-9))
    return Stretch(net, run_times, states, by, None if along is None else run_states[:, m:])


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
