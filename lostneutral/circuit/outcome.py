"""From node voltages to what the case asks: terminals, runs and loads of one settled state."""

from itertools import combinations

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.network import Network
from lostneutral.circuit.newton import Root
from lostneutral.circuit.solution import LoadResult, Solution
from lostneutral.circuit.wiring import conductors, pairs, told_between


def solution(case: Case, net: Network, root: Root, *, attracting: bool, reached: bool, states=None) -> Solution:
    """Return the settled state `root` of `net` in the terms of `case`.

    `states` are those of the load branches, at a moment of a course or where they are known; by default each is settled at its voltage.
    """
    v, node = root.voltages, net.node
    nodes = {t: (complex(v[node[t]]) if t in node else None) for t in net.wiring.terminals if t[0] != "source"}
    across = root.across(net)
    taken = (net.admittance(np.abs(across)) if states is None else net.admittances(states)) * across
    through = _currents(net, net.element_admittance * root.drop(net.element_ends), taken)
    # An open conductor has no element and carries nothing.
    currents = {(p.name, c): through.get(("run", p.name, c), 0j) for p in case.points for c in conductors(case, p)}
    return Solution(attracting, reached, root.residual, nodes, currents, _loads(case, net, v, across, taken, through, states),
                    islands=net.island, earth_currents={k: i for k, i in through.items() if k[0] in ("electrode", "path")},
                    modes=dict(zip(net.keys, net.modes)), apart=net.wiring.apart)


def moment(case: Case, net: Network, state) -> Solution:
    """Return the moment at which the loads of `net` are in `state`, in the terms of a settled state."""
    v = net.voltages(state)
    return solution(case, net, Root(v, 0.0, 0.0, np.zeros_like(v), 0.0), attracting=True, reached=True, states=state)


def _loads(case, net, v, across, taken, through, states):
    position, of_load = {}, {}
    for at, number in enumerate(net.branch_number):
        position.setdefault(int(number), []).append(at)
    for number, branch in enumerate(net.wiring.branches):
        of_load.setdefault(branch.load, []).append((position.get(number), branch))
    details = _details(net, np.abs(across), states)

    def on(load, branches):
        if any(at is None for at, _ in branches):
            return _nowhere(load, branches, through)
        if any(len(at) > 1 for at, _ in branches):
            return _machine(load, net, v, across, taken, details, branches)
        return _load_on(load, across, taken, details, branches)

    return tuple(on(load, of_load[number]) if load.on else _load_off(case, load, net, v) for number, load in enumerate(case.loads))


def _load_off(case, load, net, v):
    across = [_between(net, v, a, b) for a, b in told_between(load, case.supply)]
    largest = max(across, key=lambda u: -1.0 if u is None else abs(u))
    return LoadResult(load.name, load.connect, False, largest, 0j, 0.0, 0.0,
                      None if largest is None else abs(largest) / load.voltage)


def _nowhere(load, branches, through):
    """A load without impedance, or one in a part that nothing supplies."""
    shorted = [through.get(("load", b.load, b.a, b.b), 0j) for _, b in branches]
    currents = {} if None in shorted else _into(load, shorted)
    return LoadResult(load.name, load.connect, True, 0j, currents.get(load.connect[0]), 0.0, 0.0, 0.0)


def _machine(load, net, v, across, taken, details, branches):
    """A load with several ports: its voltage is the highest between two of its lines, or of its ports."""
    ((where, branch),) = branches
    weights = net.weights[np.searchsorted(net.ported, where)]
    into = {end: complex(weights[:, net.node[end]].conj() @ taken[where]) for end in branch.ends}
    currents = {conductor: into[load.terminal(conductor)] for conductor in load.connect}
    power = complex(across[where] @ taken[where].conj())
    if branch.model.told_by_ports:
        largest = complex(max(across[where], key=abs))
    else:
        largest = max((_between(net, v, *pair) for pair in combinations(branch.ends[:3], 2)), key=abs)
    return LoadResult(load.name, load.connect, True, largest, currents[load.connect[0]], power.real, power.imag,
                      abs(largest) / load.voltage, details[where[0]] | ({"backward": True} if branch.backward else {}), currents=currents)


def _load_on(load, across, taken, details, branches):
    where = [at for (at,), _ in branches]
    voltages, currents = [complex(across[at]) for at in where], [complex(taken[at]) for at in where]
    power = sum(u * i.conjugate() for u, i in zip(voltages, currents))
    largest = max(range(len(where)), key=lambda k: abs(voltages[k]))
    into = _into(load, currents)
    return LoadResult(load.name, load.connect, True, voltages[largest], into[load.connect[0]], power.real, power.imag,
                      abs(voltages[largest]) / load.voltage, details[where[largest]],
                      *((tuple(voltages), into) if len(where) == 3 else ()))


def _into(load, currents):
    """What flows into each conductor of a load, by the currents of its branches."""
    into = dict.fromkeys(load.connect, 0j)
    for i, (a, b) in zip(currents, pairs(load.connect)):
        into[a] += i
        into[b] -= i
    return into


def _between(net, v, a, b):
    if a in net.node and b in net.node:
        return complex(v[net.node[a]] - v[net.node[b]])
    return 0j if a in net.island and net.island[a] == net.island.get(b) else None


def _details(net, magnitude, states):
    rows = [{} for _ in magnitude]
    for model, where in net.groups:
        state = model.settled(magnitude[where]) if states is None else states[where]
        first = where if where.ndim == 1 else where[:, 0]
        for key, values in model.describe(state, magnitude[where]).items():
            for at, value in zip(first, np.broadcast_to(values, len(first))):
                rows[at][key] = value.item() if hasattr(value, "item") else value
    return rows


def _currents(net, flowing, taken):
    """Current (A) of every element by its key, counted from `a` to `b`; None where zero-ohm loops leave it open."""
    through = dict.fromkeys((e.key for e in net.wiring.elements), 0j)
    balance = {}  # what flows out of each terminal through everything that has an impedance
    through |= {e.key: complex(i) for e, i in zip(net.elements, flowing)}
    loads = [net.wiring.branches[b] for b in net.branch_number]
    plain = [(loads[k], taken[k]) for k in net.pairs]
    for thing, i in (*zip(net.elements, flowing), *plain):
        balance[thing.a] = balance.get(thing.a, 0j) + i
        balance[thing.b] = balance.get(thing.b, 0j) - i
    for unit in net.units:
        weights, i = net.weights[np.searchsorted(net.ported, unit)], taken[list(unit)]
        for end in loads[unit[0]].ends:
            balance[end] = balance.get(end, 0j) + weights[:, net.node[end]].conj() @ i
    return through | _joined_currents(net, balance)


def _joined_currents(net, balance):
    """Currents of the elements without impedance, from the current sum of each terminal they join."""
    at = {}
    for number, element in enumerate(net.joined):
        if element.a in net.node:
            at.setdefault(element.a, set()).add(number)
            at.setdefault(element.b, set()).add(number)
    out = {t: balance.get(t, 0j) for t in at}
    found = {}
    ends = [t for t in at if len(at[t]) == 1 and t not in net.wiring.sources]
    while ends:
        terminal = ends.pop()
        if not at[terminal]:
            continue
        number = at[terminal].pop()
        element = net.joined[number]
        inward = out[terminal]  # what the element must bring to this terminal
        other = element.a if element.b == terminal else element.b
        found[element.key] = complex(inward if element.b == terminal else -inward)
        out[other] += inward
        at[other].discard(number)
        if len(at[other]) == 1 and other not in net.wiring.sources:
            ends.append(other)
    left = sorted(set().union(*at.values())) if at else []
    return found | _loop_currents(net, out, left)


def _loop_currents(net, out, left):
    """What can be said of zero-ohm elements that form loops: their current where it is determined, else None."""
    if not left:
        return {}
    terminals = {t: None for n in left for t in (net.joined[n].a, net.joined[n].b) if t not in net.wiring.sources}
    row = {t: i for i, t in enumerate(terminals)}
    matrix = np.zeros((len(row), len(left)))
    for column, number in enumerate(left):
        for terminal, sign in ((net.joined[number].a, -1.0), (net.joined[number].b, 1.0)):
            if terminal in row:
                matrix[row[terminal], column] += sign
    right = np.array([out[t] for t in terminals], complex)
    currents = np.linalg.lstsq(matrix, right, rcond=None)[0]
    _, sizes, directions = np.linalg.svd(matrix)
    free = directions[int((sizes > 1e-9).sum()):]
    open_ended = (np.abs(free) > 1e-9).any(axis=0) if len(free) else np.zeros(len(left), bool)
    return {net.joined[n].key: None if undecided else complex(i)
            for n, i, undecided in zip(left, currents, open_ended)}
