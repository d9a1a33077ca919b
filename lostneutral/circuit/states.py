"""The settled states of a case before and after its breaks, and which one the circuit arrives at."""

from dataclasses import replace

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit import search
from lostneutral.circuit.continued import settle_near
from lostneutral.circuit.dynamics import Dynamics
from lostneutral.circuit.network import Network, network, resumed
from lostneutral.circuit.newton import newton
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.solution import Solution, State
from lostneutral.circuit.starts import coarse, floating_neutrals, usual
from lostneutral.circuit.wiring import element_key, wiring
from lostneutral.errors import NoSolutionError

ONE_STATE = ("Only one settled state is possible: no load draws less current at a higher voltage, and everything else "
             "in the circuit is linear and passive.")
NO_END = "The circuit does not settle: loads cut off and start again for ever."
OPENING = tuple(np.geomspace(1e-2, 1e6, 9).tolist())  #: ohm, of breaks on their way from sound to open
Sound = tuple[Network, search.Settled | None]
FEW_BRANCHES = 40  #: up to this many load branches the effect of small differences is worked out


def before_and_after(case: Case) -> tuple[State, State]:
    """Return the settled states with every conductor sound and loads as first set, and at the end of the incident.

    At the end every break, crossing and event is in force; what fails by wear is not in it.

    Raises NoSolutionError if the faulty circuit has none; a healthy circuit without one gives an empty `before`
    with its reason.
    """
    return arrived_before_and_after(case)[:2]


def arrived_before_and_after(case: Case) -> tuple[State, State, Sound | None]:
    """Return the same two, and what a course of the case may begin with: the sound network and the state arrived at there.

    None where the sound circuit has no settled state.
    """
    sound = None
    try:
        net = network(wiring(case))
        before, healthy = settled_states(case, "before", net)
        sound = net, healthy
    except NoSolutionError as error:
        before, healthy = State("before", (), "undecided", str(error)), None
    final = case.at_the_end()
    broken = network(wiring(final, final.breaks_after(), final.crosses))
    after, _ = settled_states(final, "after", broken, healthy, _on_the_way(final, broken))
    return before, after, sound


def settle(case: Case, breaks=None, crosses=None, *, start: search.Settled | Solution | None = None) -> search.Settled | None:
    """Return the settled state of `case` that a known one leads to, or None if the circuit arrives at none.

    `breaks` and `crosses` in force default to the case's own at its end. `start` is the state of a case that differs
    in joints, electrodes or loads: it is followed into this one (`settle_near`). Where it does not hold any longer, and without
    `start`, all states are looked for and the one arrived at is returned. Raises NoSolutionError if there is none to be found.
    """
    breaks, crosses = case.breaks_after() if breaks is None else breaks, case.crosses if crosses is None else crosses
    net = network(wiring(case, breaks, crosses))
    found = None if start is None else settle_near(net, case.supply.nominal, start)
    return found or arrived_at(case, "after", net)


def arrived_at(case: Case, name: str, net: Network) -> search.Settled | None:
    """Return the settled state that `net` arrives at from cold, or None if it arrives at none.

    As `settled_states` has it, without a look for the others. Raises NoSolutionError where there is none to be found.
    """
    from lostneutral.circuit import arrival, large

    if search.one_state_only(net) or net.sparse or len(net.models) > large.MOST_BRANCHES:
        return settled_states(case, name, net)[1]
    nominal = case.supply.nominal
    arrived = arrival.decide(net, nominal, _begun(net, nominal), courses=_courses(net))
    if arrived.ends == "undecided":
        found, whole = search.search(net, nominal)
        if not found:
            raise NoSolutionError(_tried(name, whole, restless=True))
    return arrived.settled


def _begun(net, nominal, healthy=None):
    """The states of the loads when `net` comes to be, `healthy` before it or cold."""
    return Dynamics(net, nominal).met(carried_states(net, healthy, nominal))


def _courses(net):
    """How many courses have to end alike where a circuit arrives."""
    return 2 if any(model.waits for model in net.models) else 4


def settled_states(case: Case, name: str, net: Network, healthy=None, more_starts=()):
    """Return (State, Settled or None): all settled states of `net`, and the one arrived at from `healthy`.

    `healthy` is the Settled from which the fault began (None: the loads are switched on from cold).
    """
    nominal = case.supply.nominal
    if healthy is not None:
        net = resumed(net, {key: (mode, ()) for key, mode in zip(healthy.net.keys, healthy.net.modes)})
    if search.one_state_only(net):
        only = search.the_only_one(net, _one_root(case, name, net))
        found = solution(case, net, only.root, attracting=True, reached=True)
        return State(name, (found,), reason=ONE_STATE, unique=True), only
    # What else may be asked for takes as long to import as the rest of a case with one state takes.
    from lostneutral.circuit import arrival, large
    from lostneutral.circuit.cycle import on_the_way, one_turn

    many = len(net.models) > large.MOST_BRANCHES
    if many or net.sparse and not len(net.ported) and all(len(m.modes) == 1 for m in net.models):
        lumped = large.states_by_lumps(net, nominal, carried_states(net, healthy, nominal))
        if many or lumped.states and not lumped.lost:
            return _by_lumps(case, name, net, lumped, more_starts)
    found, whole = search.search(net, nominal, tuple(more_starts))
    if len(net.models) <= FEW_BRANCHES:
        found = [_tested(s, nominal) for s in found]
    # Where the whole search found one firm state and no load can change its mode, one course is enough to confirm it.
    alone = whole and len(found) == 1 and found[0].attracting and all(len(m.modes) == 1 for m in net.models)
    waits = any(model.waits for model in net.models)
    start, known = _begun(net, nominal, healthy), {}
    arrived = arrival.decide(net, nominal, start, courses=1 if alone else _courses(net), known=known)
    found = _with_arrival(found, arrived, nominal)
    if not found and arrived.ends != "cycle":
        raise NoSolutionError(_tried(name, whole, arrived.ends == "undecided"))
    solutions = tuple(solution(case, s.net, s.root, attracting=s.attracting, reached=s is found[0]
                               and arrived.ends == "settled", states=s.states) for s in found)
    sensitive = _sensitive(case, net, nominal, healthy, found) if sum(s.attracting for s in found) > 1 else ()
    turn = one_turn(case, arrived, known=known) if arrived.ends == "cycle" else None
    way = on_the_way(case, net, start, known) if waits and healthy is not None else ()
    state = State(name, solutions, arrived.ends, _reason(found, arrived, whole), sensitive=sensitive,
                  cycle=turn and turn.figures, passing=turn.moments if turn else (), dwells=turn.dwells if turn else (), on_the_way=way)
    return state, (found[0] if arrived.ends == "settled" else None)


def _by_lumps(case, name, net, found, more_starts):
    from lostneutral.circuit import large
    from lostneutral.circuit.cycle import one_turn

    nominal = case.supply.nominal
    if not found.states and found.cycling is None:  # the lump is too far from the circuit: whatever can be followed, and no claim that it holds
        only = large.followed(net, (*more_starts, usual(net, nominal)))
        if only is None:
            raise NoSolutionError(_tried(name, False))
        found = large.Found([only], "undecided", found.lost, found.lumps)
    told = tuple(solution(case, s.net, s.root, attracting=s.attracting,
                          reached=s is found.states[0] and found.ends == "settled") for s in found.states)
    attracting = sum(s.attracting for s in found.states)
    endless = f"{NO_END} " if found.ends == "cycle" else ""
    several = (f"{attracting} settled states can hold: loads that draw less current at a higher voltage leave it open "
               "which phase goes high. ") if attracting > 1 else ""
    turn = one_turn(case, found.cycling, found.spread) if found.cycling else None
    return (State(name, told, found.ends, endless + several + large.lumped_words(net, found), cycle=turn and turn.figures,
                  passing=turn.moments if turn else (), dwells=turn.dwells if turn else ()),
            found.states[0] if found.ends == "settled" else None)


def _tested(settled, nominal):
    """Where the eigenvalues say no more than "hardly", let courses in time say whether the state holds."""
    from lostneutral.circuit import arrival

    slowest = Dynamics(settled.net, nominal).slowest
    if abs(settled.growth) * slowest > arrival.FIRM:
        return settled
    return replace(settled, returns=arrival.holds(settled, nominal))


def carried_states(net: Network, healthy, nominal):
    """Return the load states with which `net` begins: those of `healthy` where a load was in it, else cold."""
    states = net.settled(np.zeros(len(net.models)))
    if healthy is None:
        return states
    held = dict(zip(healthy.net.keys, healthy.states))
    return np.array([held.get(key, cold) for key, cold in zip(net.keys, states)])


def _one_root(case, name, net):
    nominal = case.supply.nominal
    first = usual(net, nominal)
    root = newton(net, first)
    neutrals = np.concatenate([*floating_neutrals(net), np.zeros(0, int)]).astype(int)
    for place in coarse(nominal):
        if root.solved:
            return root
        start = first.copy()
        start[neutrals] = place
        root = newton(net, start)
    if root.solved:
        return root
    raise NoSolutionError(_tried(name, True))


def _tried(name, whole, restless=False):
    """Words for a circuit without a settled state; `restless`: followed in time, it comes to no rest and to no cycle."""
    if restless:
        return (f"the circuit {name} the break has no settled state that could be found, and followed in time it comes neither to rest nor "
                "to a cycle: its loads drive one another on and off. Look for motors or sources that the supply cannot hold.")
    modes = "" if whole else " and of the likelier combinations of the loads' conditions"
    return (f"the circuit {name} the break has no settled state that could be found: Newton's method was started from "
            f"star points all over the voltage triangle{modes}. Look for a resonance (an inductive against a "
            "capacitive load without resistance) or for a short circuit on a supply without impedance.")


def _on_the_way(case, broken):
    """Follow the solution while the breaks' resistance grows from sound to what it is; yield where it ends."""
    breaks = {element_key(b): b.resistance for b in case.breaks_after()}
    try:
        sound = tuple(replace(b, resistance=min(b.resistance, OPENING[0])) for b in case.breaks_after())
        net = network(wiring(case, sound, case.crosses))
        v = usual(net, case.supply.nominal)
    except NoSolutionError:
        return
    joints = [(k, breaks[e.key], e.impedance - min(breaks[e.key], OPENING[0]))
              for k, e in enumerate(net.elements) if e.key in breaks]
    for ohms in OPENING:
        admittance = net.element_admittance.copy()
        for k, last, without in joints:
            admittance[k] = 1 / (without + min(last, ohms))
        root = newton(net.varied(element_admittance=admittance), v, steps=30)
        if not root.solved:
            break
        v = root.voltages
        if all(last <= ohms for _, last, _ in joints):
            break
    start = broken.all_voltages(np.zeros(broken.free, complex))
    for terminal, number in broken.node.items():
        if terminal in net.node and number < broken.free:
            start[number] = v[net.node[terminal]]
    yield start


def _with_arrival(found, arrived, nominal):
    """Put the state arrived at first (it is added if the search had missed it)."""
    if arrived.ends != "settled":
        return found
    rest = [s for s in found if not search.same(s, arrived.settled, nominal)]
    return [arrived.settled, *rest]


def _sensitive(case, net, nominal, healthy, found):
    from lostneutral.circuit import arrival

    if len(net.models) > FEW_BRANCHES or net.sparse:  # a course for each load, both ways
        return ()
    deciders = arrival.deciding(net, nominal, carried_states(net, healthy, nominal), found)
    loads = [net.wiring.branches[net.branch_number[i]].load for i in deciders]
    return tuple(dict.fromkeys(case.loads[i].name for i in loads))


def _reason(found, arrived, whole):
    attracting = sum(s.attracting for s in found)
    said = []
    if arrived.ends == "cycle":
        said.append(NO_END)
    elif arrived.ends == "undecided":
        said.append("Which settled state the circuit arrives at is not decided by the loads given.")
    if attracting > 1 and len({s.net.modes for s in found if s.attracting and "stalled" in s.net.modes}
                              | {() for s in found if s.attracting and "stalled" not in s.net.modes}) > 1:
        said.append(f"{attracting} settled states can hold: a motor may run on or stall.")
    elif attracting > 1:
        said.append(f"{attracting} settled states can hold: loads that draw less current at a higher voltage leave it "
                    "open which phase goes high.")
    elif attracting == 1 and arrived.ends == "settled":
        said.append("The search found one settled state that can hold; with loads that draw less current at a higher "
                    "voltage this is no proof that there is no other.")
    if not whole:
        said.append("Not every combination of running and cut-off loads was tried.")
    return " ".join(said)
