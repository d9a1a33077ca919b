"""Which settled state a circuit arrives at, by following its loads' states through the break."""

from dataclasses import dataclass, replace

import numpy as np

from lostneutral.circuit.course import stretch, switched
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import newton
from lostneutral.circuit.search import SAME, Settled, settled_at

LONGEST = 50.0  #: time followed, in the slowest load's own time constants
KICK = 0.005  #: share by which load states are disturbed to see whether the arrival is decided
ROUGH = 1e-5  #: tolerance of the courses that decide
NEAR = 3e-4  #: distance from rest, in shares of each state's size, at which a course that returns has arrived
FIRM = 0.05  #: growth, in the slowest load's own rates, beyond which eigenvalues are believed
SWITCHINGS = 60  #: changes of mode after which a circuit that repeats itself counts as cycling


@dataclass(frozen=True, eq=False)
class Arrival:
    """Where a course ended: "settled" (in `settled`), "cycle" (with `period`, s, and the voltages), or "undecided"."""

    ends: str
    settled: Settled | None = None
    period: float | None = None
    low: np.ndarray | None = None  #: lowest voltage (V) of each branch over the cycle
    high: np.ndarray | None = None


def arrive(net: Network, nominal, start) -> Arrival:
    """Follow the states from `start` until they settle, repeat, or the time is up."""
    state, time = np.array(start, float), 0.0
    visits = []
    for _ in range(SWITCHINGS):
        state, time, part = _until_settled(net, nominal, state, time)
        if not part.ended_by:
            return _settle(net, nominal, state)
        sizes = np.array([np.abs(net.across(net.voltages(x))) for x in part.states])
        visits.append((time, net.modes, sizes.min(axis=0), sizes.max(axis=0)))
        net, state = switched(net, state, part.ended_by)
    return _cycle(visits)


def _until_settled(net, nominal, state, time):
    """Follow `net` in ever longer parts until it rests, something switches, or the time is up."""
    dynamics, begin = Dynamics(net, nominal), time
    length = 2 * max(dynamics.slowest, 1e-3)
    while True:
        part = stretch(net, nominal, state, time, time + length, tolerance=ROUGH, dense=False)
        state, time = part.states[-1], float(part.times[-1])
        over = time - begin > LONGEST * max(dynamics.slowest, dynamics.slowest_at(state), 1e-3)
        if part.ended_by or over or at_rest(dynamics, state):
            return state, time, part
        length *= 2


def at_rest(dynamics, state):
    """Return whether the states are so near to where their own voltages would settle them, and return to it, that they will."""
    size = np.abs(dynamics.net.across(dynamics.net.voltages(state)))
    away = (dynamics.net.settled(size) - state) / dynamics.scale
    if np.abs(away[dynamics.moving]).max(initial=0.0) >= NEAR:
        return False
    return len(dynamics.moving) == 0 or dynamics.growth(state) * dynamics.slowest_at(state) < -FIRM


def _settle(net, nominal, state):
    dynamics = Dynamics(net, nominal)
    root = newton(net, net.voltages(state))
    if not root.solved:
        return Arrival("undecided")
    near = net.settled(np.abs(net.across(root.voltages)))
    if np.abs((near - state) / dynamics.scale)[dynamics.moving].max(initial=0.0) > 3 * NEAR:
        return Arrival("undecided")
    return Arrival("settled", settled_at(net, root, nominal))


def _cycle(visits):
    modes = visits[-1][1]
    times = [v[0] for v in visits if v[1] == modes]
    if len(times) < 3:
        return Arrival("undecided")
    period = times[-1] - times[-2]
    if period <= 0:  # it switches to and fro within an instant: the loads' laws do not say what happens
        return Arrival("undecided")
    last = [v for v in visits if v[0] > times[-2]]
    return Arrival("cycle", None, period, np.min([v[2] for v in last], axis=0), np.max([v[3] for v in last], axis=0))


def decide(net: Network, nominal, start, kick=KICK, courses=4) -> Arrival:
    """Return where the circuit arrives from `start`, or "undecided" if a difference of `kick` decides it.

    The states are followed with small disturbances of fixed pattern, since no real circuit is as symmetric as its
    description: if they do not all end alike, the loads given do not decide.
    """
    ends = list(_disturbed(net, nominal, start, kick, courses))
    settled = [a.settled for a in ends if a.ends == "settled"]
    if len(settled) == len(ends) and all(same(settled[0], s, nominal) for s in settled):
        return Arrival("settled", replace(settled[0], returns=True))
    return ends[0] if all(a.ends == "cycle" for a in ends) else Arrival("undecided")


def holds(state: Settled, nominal, kick=KICK) -> bool:
    """Whether the circuit returns to `state` from small disturbances of fixed pattern, followed in time."""
    return all(end.ends == "settled" and same(end.settled, state, nominal)
               for end in _disturbed(state.net, nominal, state.states, kick))


def _disturbed(net, nominal, start, kick, courses=4):
    """Yield where the circuit arrives from `start` under each of the fixed disturbance patterns."""
    for pattern in patterns(len(start), courses):
        yield arrive(net, nominal, start * (1 + kick * pattern))


def same(a: Settled, b: Settled, nominal):
    """Whether two settled states are one."""
    return a.net.modes == b.net.modes and np.abs(a.root.voltages - b.root.voltages).max() < 10 * SAME * nominal


def patterns(length, how_many=4):
    """Return fixed disturbance patterns of size one, each different for every load."""
    index = np.arange(length)
    return [np.cos(2.399963 * (index + 1) * (k + 1)) for k in range(how_many)]


def deciding(net: Network, nominal, start, states, share=0.05):
    """Return the branches of which a power higher or lower by `share` makes the circuit arrive at another state.

    `states` are the settled states at the given powers; an arrival counts as the one whose voltages are nearest.
    """
    def nearest(arrival):
        if arrival.ends != "settled":
            return arrival.ends
        return min(range(len(states)),
                   key=lambda k: np.abs(states[k].root.voltages - arrival.settled.root.voltages).max())

    reached = nearest(arrive(net, nominal, start))
    deciders = []
    for i in range(len(net.models)):
        for factor in (1 - share, 1 + share):
            count = net.count.copy()
            count[i] *= factor
            if nearest(arrive(replace(net, count=count), nominal, start)) != reached:
                deciders.append(i)
                break
    return deciders
