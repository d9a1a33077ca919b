"""Which settled state a circuit arrives at, by following its loads' states through the break."""

from dataclasses import field, replace

import numpy as np

from lostneutral.circuit.course import Clocks, switched
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import newton
from lostneutral.circuit.paths import FOREVER, Shares, known_paths
from lostneutral.circuit.search import Settled, same, settled_at
from lostneutral.circuit.stiff import Trajectories
from lostneutral.frozen import dataclass

LONGEST = 50.0  #: time followed, in the slowest load's own time constants
KICK = 0.005  #: share by which load states are disturbed to see whether the arrival is decided
ROUGH = 5e-5  #: tolerance of the courses that decide
NEAR = 3e-4  #: distance from rest, in shares of each state's size (`_away`), at which a course that returns has arrived
FIRM = 0.05  #: growth, in the slowest load's own rates, beyond which eigenvalues are believed
ALIKE = 0.02  #: share of each state's size by which two turns of a cycle may differ
STRICTLY = 0.002  #: the same, where it is believed at once
SWITCHINGS = 60  #: changes of mode after which a circuit that comes back to the same modes counts as cycling
MOST_SWITCHINGS = 120  #: the same, after which it is given up


@dataclass(frozen=True, eq=False)
class Arrival:
    """Where a course ended: "settled" (in `settled`), "cycle" (with `period`, s, and the voltages), or "undecided".

    A cycle also has its beginning: `net`, the states `state`, the delays that run (`clocks`) and the `time` (s) there.
    """

    ends: str
    settled: Settled | None = None
    period: float | None = None
    low: np.ndarray | None = None  #: lowest voltage (V) of each branch over the cycle
    high: np.ndarray | None = None
    net: Network | None = None
    state: np.ndarray | None = None
    clocks: Clocks | None = None
    time: float = 0.0


@dataclass(frozen=True, eq=False)
class _Visit:
    """How all branches stood until one changed: when, in which states, the lowest and highest voltages (V) till then."""

    time: float
    conditions: tuple
    state: np.ndarray
    low: np.ndarray
    high: np.ndarray
    left: np.ndarray  #: s, of each delay that runs


@dataclass(eq=False)
class _Course:
    """One course on its way: how the circuit stands, since when, and what it went through."""

    net: Network
    state: np.ndarray
    time: float = 0.0
    clocks: Clocks = field(default_factory=Clocks)
    visits: list = field(default_factory=list)  #: a `_Visit` for every change of a mode or a delay
    known: dict = field(default_factory=dict)  #: paths, for where a course comes by again (`paths.known_paths`)
    undrawn: int = 0  #: the visit from which on its turns have not been drawn on (`_ahead`)
    arrival: Arrival | None = None


def arrive(net: Network, nominal, starts, counts=None, known=None) -> list[Arrival]:
    """Follow the states from each row of `starts` until they settle, repeat, or the time is up.

    `counts` gives each course loads of its own (units in parallel, a row a course); by default they are the network's. `known`
    is a dict for the paths of turns, where somebody else goes by them too.
    """
    nets = [net] * len(starts) if counts is None else [net.varied(count=count) for count in counts]
    known = {} if known is None else known
    courses = [_Course(own, np.array(start, float), known=known if counts is None else {}) for own, start in zip(nets, starts)]
    while waiting := [c for c in courses if c.arrival is None]:
        together = [c for c in waiting if c.net.conditions == waiting[0].net.conditions]
        if _comes_again(waiting[0]) and (counts is None or len(together) == 1):
            _go_by(waiting[0], nominal)
        else:
            _follow(together, nominal)
    return [c.arrival for c in courses]


def _comes_again(course):
    """Whether it, or one like it, has been in its present modes before: then how it goes on is kept, and others may go the same way."""
    conditions = course.net.conditions
    return conditions in course.known or any(visit.conditions == conditions for visit in course.visits)


def _go_by(course, nominal):
    """Follow a course along a path that is kept, until something in it switches or everything in it has long come to rest."""
    paths, due = known_paths(course.known, course.net, nominal, ROUGH), course.clocks.due(course.net)
    slowest = paths.dynamics.slowest
    while True:
        span = due - course.time if np.isfinite(due) else LONGEST * max(slowest, 1e-3)
        path = paths.path(course.state, span)
        state, passed, left, volts = path.end()
        slower = max(slowest, float(paths.dynamics.slowest_at(state)))
        if left or np.isfinite(due) or slower <= slowest:
            break
        slowest = slower
    _go_on(course, nominal, paths.dynamics, state, course.time + passed, left, due, volts.min(axis=0), volts.max(axis=0))


def _follow(together, nominal):
    """Follow courses that stand in the same modes, until each rests, something in it switches, or its time is up."""
    dynamics = _dynamics(together, nominal)
    shares = Shares(dynamics, np.array([c.state for c in together]))
    begin = np.array([c.time for c in together])
    due = np.array([c.clocks.due(c.net) for c in together])
    courses = Trajectories(shares.law, shares.sloped, begin, shares.of(shares.first), np.minimum(due, FOREVER), ROUGH)
    low = high = dynamics.sizes(shares.first)
    left = np.zeros(len(begin), bool)
    if shares.ends_modes:
        left = dynamics.turning(shares.first).min(axis=-1, initial=np.inf) <= 0
    resting = (len(dynamics.moving) == 0) & ~left
    courses.active = ~left & ~resting
    while courses.active.any():
        courses.step()
        ends = shares.ending(courses)
        for k in np.flatnonzero(ends <= 1):
            courses.stop_at(k, ends[k])
            left[k] = True
        if shares.ends_modes:
            sizes = shares.sizes(courses.x)
            low, high = np.minimum(low, sizes), np.maximum(high, sizes)
        if (courses.active & courses.took & _slow(courses)).any():
            courses.active &= ~(_slow(courses) & at_rest(dynamics, shares.whole(courses.x)))
        late = courses.active & (courses.time - begin > LONGEST * max(dynamics.slowest, 1e-3))
        if late.any():
            slowest = np.maximum(dynamics.slowest_at(shares.whole(courses.x)), dynamics.slowest)
            courses.active &= ~(courses.time - begin > LONGEST * np.maximum(slowest, 1e-3))
    states = shares.whole(courses.x)
    for k, course in enumerate(together):
        _go_on(course, nominal, dynamics, states[k], float(courses.time[k]), left[k], due[k], low[k], high[k])


def _go_on(course, nominal, dynamics, state, time, left, due, low, high):
    """Take a course on from where it was followed to: something in it switches if it has `left`, or when it is `due`; else it rests."""
    course.state, course.time = state, time
    waits = not left and np.isfinite(due)
    if not left and not waits:
        course.arrival = _settle(course.net, nominal, course.state)
        return
    if waits:  # nothing moves any more until the delay is over
        course.time = float(due)
    course.visits.append(_Visit(course.time, course.net.conditions, course.state, low, high, course.clocks.left(course.net, course.time)))
    if _repeats(course.visits, dynamics) or len(course.visits) >= SWITCHINGS and _turns(course.visits) or len(course.visits) == MOST_SWITCHINGS:
        course.arrival = _cycle(course, dynamics.scale)
        return
    turning = Dynamics(course.net, nominal).turning(course.state)
    _draw_on(course, dynamics)
    if waits:
        course.net, course.state = course.clocks.expired(course.net, course.state)
    else:
        course.net, course.state = switched(course.net, course.state, np.flatnonzero(turning <= 1e-6 * max(1.0, nominal)))
    course.clocks = course.clocks.at(course.net, course.time)


def _dynamics(together, nominal):
    counts = np.array([c.net.count for c in together])
    return Dynamics(together[0].net if (counts == counts[0]).all() else together[0].net.varied(count=counts), nominal)


def _slow(courses):
    """Whether each course moves so slowly that it may have arrived."""
    slope, matrix = courses.sloped()
    own = np.abs(np.diagonal(matrix, axis1=1, axis2=2))
    return (np.abs(slope) <= 3 * NEAR * own * np.maximum(1.0, np.abs(courses.x))).all(axis=1)


def at_rest(dynamics, state):
    """Return whether the states are so near to where their voltages would settle them, and return to it, that they will.

    `state` may have several rows: several answers.
    """
    states = np.atleast_2d(state)
    near = _away(dynamics, dynamics.net.settled(dynamics.sizes(states)), states) < NEAR
    if near.any() and len(dynamics.moving):
        near &= dynamics.growths(states) * dynamics.slowest_at(states) < -FIRM
    return near if np.ndim(state) == 2 else bool(near[0])


def _away(dynamics, rest, states):
    """How far `states` are from `rest`, the farthest of each row: a share of the state, or of its scale where it is less than that.

    What a surge device conducts rises by a hundred thousand times within its working range: of it, a share of the scale is nothing.
    """
    return (np.abs(rest - states) / np.maximum(dynamics.scale, np.abs(states)))[..., dynamics.moving].max(axis=-1, initial=0.0)


def _settle(net, nominal, state):
    dynamics = Dynamics(net, nominal)
    root = newton(net, net.voltages(state))
    if not root.solved:
        return Arrival("undecided")
    near = net.settled(np.abs(net.across(root.voltages)))
    if _away(dynamics, near, state) > 3 * NEAR:
        return Arrival("undecided")
    return Arrival("settled", settled_at(net, [root], nominal, near[None])[0])


def _cycle(course, scale):
    """What a course that keeps changing its modes repeats: from the last time that it stood so, in the same modes.

    Where none of the times was the same to `ALIKE`, several loads going on and off out of step, the extremes are those
    of the later half of what was followed and the period is the mean time between two changes into the modes it last
    came to.
    """
    visits, turns = course.visits, _turns(course.visits)
    last = visits[-1]
    if not turns:  # it switches to and fro within an instant: the loads' laws do not say what happens
        return Arrival("undecided")
    like = [v for v in turns if _alike(v, last, scale)]
    since = like[-1].time if like else min(turns[-1].time, visits[len(visits) // 2].time)
    period = last.time - since if like else (last.time - turns[0].time) / len(turns)
    passed = [v for v in visits if v.time > since]
    low, high = np.min([v.low for v in passed], axis=0), np.max([v.high for v in passed], axis=0)
    return Arrival("cycle", None, period, low, high, course.net, course.state, course.clocks, course.time)


def _turns(visits):
    """The earlier times that a course stood in the modes it has come to last."""
    return [v for v in visits if v.conditions == visits[-1].conditions and v.time < visits[-1].time]


def _repeats(visits, dynamics):
    """Whether the last three times that a course stood so were one and the same.

    In turns shorter than the slowest load takes to follow they have to differ by so much less, since that load goes on as it goes.
    """
    last = visits[-1]
    same_ = [v for v in _turns(visits) if _alike(v, last, dynamics.scale, STRICTLY)]
    if len(same_) < 2:
        return False
    first, second = (last.time - same_[-1].time, same_[-1].time - same_[-2].time)
    within = STRICTLY * min(1.0, first / max(dynamics.slowest, 1e-9))
    return abs(first - second) <= STRICTLY * first and all(_alike(v, last, dynamics.scale, within) for v in same_[-2:])


def _draw_on(course, dynamics):
    """Put a course that takes turns shorter than its slowest load takes to follow where such turns lead.

    A difference between two turns shrinks from each to the next by a share of its own, no slower than that load's rate lets it.
    """
    visits = course.visits[course.undrawn:]
    conditions = [v.conditions for v in visits]
    for size in range(1, (len(visits) + 1) // 2):
        if conditions[-1 - 2 * size:-size] == conditions[-1 - size:]:
            break
    else:
        return
    first, second, last = visits[-1 - 2 * size::size]
    turn, before = last.time - second.time, second.time - first.time
    if turn >= dynamics.slowest or abs(turn - before) > ALIKE * turn:
        return
    early, late = second.state - first.state, last.state - second.state
    share = np.clip(late / np.where(early == 0, np.inf, early), 0.0, np.exp(-turn / dynamics.slowest))
    course.state = last.state + late * share / (1 - share)
    course.visits[-1] = replace(last, state=course.state)
    course.undrawn = len(course.visits) - 1


def _alike(a, b, scale, share=ALIKE):
    near = (np.abs(a.state - b.state) <= share * np.abs(b.state) + 1e-6 * scale).all()
    return near and (np.abs(a.left - b.left) <= share * np.maximum(a.left, b.left) + 1e-6).all()


def decide(net: Network, nominal, start, kick=KICK, courses=4, known=None) -> Arrival:
    """Return where the circuit arrives from `start`, or "undecided" if a difference of `kick` decides it.

    The states are followed with small disturbances of fixed pattern, since no real circuit is as symmetric as its
    description: if they do not all end alike, the loads given do not decide. `known` as in `arrive`.
    """
    ends = arrive(net, nominal, _disturbed(start, kick, courses), known=known)
    settled = [a.settled for a in ends if a.ends == "settled"]
    if len(settled) == len(ends) and all(same(settled[0], s, nominal) for s in settled):
        return Arrival("settled", replace(settled[0], returns=True))
    return ends[0] if all(a.ends == "cycle" for a in ends) else Arrival("undecided")


def holds(state: Settled, nominal, kick=KICK) -> bool:
    """Whether the circuit returns to `state` from small disturbances of fixed pattern, followed in time."""
    return all(end.ends == "settled" and same(end.settled, state, nominal)
               for end in arrive(state.net, nominal, _disturbed(state.states, kick, 4)))


def _disturbed(start, kick, courses):
    """The states from which the courses begin: `start` under each of the fixed disturbance patterns."""
    return start * (1 + kick * np.array(patterns(len(start), courses)))


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

    size = len(net.models)
    counts = net.count * np.concatenate([np.ones((1, size)), 1 - share * np.eye(size), 1 + share * np.eye(size)])
    usual, *other = map(nearest, arrive(net, nominal, np.tile(start, (len(counts), 1)), counts))
    return [i for i in range(size) if other[i] != usual or other[size + i] != usual]
