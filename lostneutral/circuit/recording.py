"""What everything sees along a course, worked out once for what repeats, as arrays over its times."""

from collections.abc import Mapping

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.network import Network
from lostneutral.circuit.outcome import moment
from lostneutral.circuit.record import Course, Held
from lostneutral.frozen import dataclass

ABOUT = 0.05  #: of the highest voltage of a part, by which others are about as high
TWO_CYCLES = 2.0  #: of the supply, after a change: before that phasors mean little


@dataclass(frozen=True, eq=False)
class Block:
    """A part of a course in which nothing switches. One that went the way of another has the same `net` and `states`."""

    times: np.ndarray  #: s
    net: Network
    case: Case  #: as it then stands
    states: np.ndarray  #: (times, branches)
    used: Mapping[tuple, np.ndarray]  #: share of life used, by load branch


def recorded(blocks, worn, occurrences, ends, failures) -> Course:
    """Return `blocks`, in their order, as arrays over time; `worn` are the loads whose life is used up."""
    case, times = blocks[-1].case, np.concatenate([block.times for block in blocks])
    row, told = _told(blocks)
    nodes, voltages, powers, states, details = told
    highest = _highest(case, nodes, row.max() + 1)
    used = {name: np.zeros(len(times)) for name in worn}
    for first, block in zip(_begins(blocks), blocks):
        for (load, *_), values in block.used.items():
            of = used[case.loads[load].name][first:first + len(values)]
            np.maximum(of, values, out=of)

    def over(values):
        return {name: array[row] for name, array in values.items()}

    return Course(times, over(nodes), over(voltages), over(powers), over(states), {name: over(d) for name, d in details.items()}, used,
                  occurrences, ends, failures, _parts(blocks, times, highest[row]))


def _begins(blocks):
    """The row at which each block begins."""
    return np.cumsum([0, *(len(block.times) for block in blocks[:-1])]).tolist()


def _told(blocks):
    """What is told of the rows of `blocks`: of each row its number among those that are told, and the tables of these."""
    nets, place, count = {}, {}, 0
    for block in blocks:
        nets.setdefault(id(block.net), {}).setdefault(id(block.states), block)
    for of_net in nets.values():
        for block in of_net.values():
            place[id(block.net), id(block.states)] = count
            count += len(block.states)
    names = [load.name for load in blocks[0].case.loads]
    told = {}, *({name: np.full(count, np.nan) for name in names} for _ in range(3)), {name: {} for name in names}
    for of_net in nets.values():
        kept = list(of_net.values())
        first = place[id(kept[0].net), id(kept[0].states)]
        state = np.concatenate([block.states for block in kept])
        _tell(names, kept[0].net, state, slice(first, first + len(state)), told)
    return np.concatenate([place[id(block.net), id(block.states)] + np.arange(len(block.times)) for block in blocks]), told


def _tell(names, net, state, rows, told):
    """Fill in what the loads of `net` see in the rows (a slice) in which they are in `state`."""
    nodes, voltages, powers, states, details = told
    count, v = len(powers[names[0]]), _each_row(net, state)
    for terminal in net.wiring.terminals:
        if terminal[0] not in ("source", "star"):
            at = nodes.setdefault(terminal, np.full(count, np.nan + 0j))
            at[rows] = v[:, net.node[terminal]] if terminal in net.node else np.nan
    sizes, y = np.abs(net.across(v)), net.admittances(state).real
    for i, ((load, *_), model) in enumerate(zip(net.keys, net.models)):
        name, size, part = names[load], sizes[:, i], net.part(i)
        powers[name][rows] = np.nansum([powers[name][rows], y[:, i] * size**2], axis=0)
        if np.ndim(part) and i != part[0]:
            continue
        size = net.volts(v, i)
        highest = ~(size < voltages[name][rows])
        found = {"": size, "state": state[:, i]} | model.describe(state[:, part], sizes[:, part])
        for key, value in found.items():
            if np.isrealobj(value):
                into = {"": voltages[name], "state": states[name]}.get(key)
                into = details[name].setdefault(key, np.full(count, np.nan)) if into is None else into
                into[rows] = np.where(highest, value, into[rows])


def _each_row(net, states):
    return np.array([net.voltages(x) for x in states]) if net.sparse else net.voltages(states)


def _highest(case, nodes, count):
    """Return the highest voltage (V) of a line to neutral in each of `count` rows by the voltages of `nodes`; 0 where there is none."""
    floating = np.full(count, np.nan)
    volts = [np.abs(nodes.get((p.name, x), floating) - nodes.get((p.name, "N"), floating)) for p in case.points for x in p.phases]
    return np.nan_to_num(np.array(volts).reshape(-1, count)).max(axis=0, initial=0.0)


def _parts(blocks, times, highest):
    """The parts of a course in which wiring and switches stay as they are, `highest` the highest voltage (V) of its rows."""
    begins = [*_begins(blocks), len(times)]
    runs = _runs([block.case for block in blocks])
    starts = [blocks[first].times[0] for first, _ in runs]
    return tuple(_held(blocks[first:last], start, end, highest[begins[first]:begins[last]])
                 for (first, last), start, end in zip(runs, starts, [*starts[1:], times[-1]]))


def _held(blocks, start, end, highest):
    case, times = blocks[0].case, np.concatenate([block.times for block in blocks])
    at = [(block, n) for block in blocks for n in range(len(block.times))]
    lasting = np.flatnonzero(times >= start + TWO_CYCLES / case.supply.frequency)
    lasting = lasting if len(lasting) else [len(times) - 1]
    worst = max(lasting, key=lambda k: (round(highest[k], 1), k))
    kept = [at[k] for k in dict.fromkeys((lasting[-1], worst))]
    return Held(start, end, case, tuple(moment(case, block.net, block.states[n]) for block, n in kept), _stood(times, highest, worst, start))


def _stood(times, highest, worst, start):
    """From when to when (s) `highest` was about what it is in row `worst`; None where it stays so until the end."""
    off = np.flatnonzero(highest < (1 - ABOUT) * highest[worst])
    before, after = off[off < worst], off[off > worst]
    return (times[before[-1] + 1] if len(before) else start, times[after[0]]) if len(after) else None


def _runs(things):
    """Return (first, after the last) of each run of things that are one and the same."""
    ends = [k for k in range(1, len(things) + 1) if k == len(things) or things[k] is not things[k - 1]]
    return list(zip([0, *ends], ends))
