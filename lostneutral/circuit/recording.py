"""What everything sees along a course, worked out once for what repeats, as arrays over its times."""

from collections.abc import Mapping

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.network import Network
from lostneutral.circuit.outcome import moment
from lostneutral.circuit.record import ABOUT, Course, Held, Stood
from lostneutral.frozen import dataclass

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
    lines = _lines(case, nodes, row.max() + 1)
    used = {name: np.zeros(len(times)) for name in worn}
    for first, block in zip(_begins(blocks), blocks):
        for (load, *_), values in block.used.items():
            of = used[case.loads[load].name][first:first + len(values)]
            np.maximum(of, values, out=of)

    def over(values):
        return {name: array[row] for name, array in values.items()}

    return Course(times, over(nodes), over(voltages), over(powers), over(states), {name: over(d) for name, d in details.items()}, used,
                  occurrences, ends, failures, _parts(blocks, times, lines[..., row]))


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


def _lines(case, nodes, count):
    """Return the highest and the lowest voltage (V) of each line to neutral at any point in each of `count` rows by the voltages of `nodes`.

    They are (2, lines, rows); where there is none 0 the highest and infinity the lowest.
    """
    floating, found = np.full(count, np.nan), {}
    for p in case.points:
        for x in p.phases:
            volts = np.abs(nodes.get((p.name, x), floating) - nodes.get((p.name, "N"), floating))
            high, low = found.get(x, (0.0, np.inf))
            found[x] = np.fmax(high, volts), np.fmin(low, volts)
    return np.array(list(found.values())).transpose(1, 0, 2)


def _parts(blocks, times, lines):
    """The parts of a course in which wiring and switches stay as they are; `lines` are the voltages (V) of its rows as `_lines` has them."""
    begins = [*_begins(blocks), len(times)]
    runs = _runs([block.case for block in blocks])
    starts = [blocks[first].times[0] for first, _ in runs]
    return tuple(_held(blocks[first:last], start, end, lines[..., begins[first]:begins[last]])
                 for (first, last), start, end in zip(runs, starts, [*starts[1:], times[-1]]))


def _held(blocks, start, end, lines):
    case, times = blocks[0].case, np.concatenate([block.times for block in blocks])
    at = [(block, n) for block in blocks for n in range(len(block.times))]
    lasting = np.flatnonzero(times >= start + TWO_CYCLES / case.supply.frequency)
    lasting = lasting if len(lasting) else np.array([len(times) - 1])
    sizes = [lines[0].max(axis=0)]
    if len({block.net.modes for block in blocks}) > 1:
        sizes += [*lines[0], *(case.supply.nominal - lines[1])]
    stood = {int(lasting[-1]): None}
    for size in sizes:
        told = np.nan_to_num(np.round(size[lasting], 1), nan=-np.inf)
        worst = int(lasting[np.flatnonzero(told == told.max())[-1]])
        stood.setdefault(worst, _stood(times, size >= size[worst] - ABOUT * max(size[worst], case.supply.nominal), worst, start, end))
    return Held(start, end, case, tuple(moment(case, block.net, block.states[n]) for block, n in (at[k] for k in stood)), tuple(stood.values())[1:])


def _stood(times, so, worst, start, end):
    """When what is `so` in row `worst` was so; None where it stays so until the end."""
    edges = np.flatnonzero(np.diff(so, prepend=False, append=False)).reshape(-1, 2)  # of each time the first row, and the first in which it is not
    if edges[-1, 1] == len(so) and edges[-1, 0] <= worst:
        return None
    until = np.append(times, times[-1])
    ever = [(start if a == 0 else float(times[a]), float(until[b])) for a, b in edges]
    drawn = (end - start) / (times[-1] - start)
    first = int(np.searchsorted(edges[:, 0], worst, "right")) - 1
    return Stood(*ever[first], tuple((start + drawn * (a - start), start + drawn * (b - start)) for a, b in ever))


def _runs(things):
    """Return (first, after the last) of each run of things that are one and the same."""
    ends = [k for k in range(1, len(things) + 1) if k == len(things) or things[k] is not things[k - 1]]
    return list(zip([0, *ends], ends))
