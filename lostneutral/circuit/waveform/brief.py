"""A stage too short for r.m.s. values: the crests that it can reach, whatever the moment of the cycle at which it begins."""

from dataclasses import replace
from math import ceil

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.waveform.march import Marcher
from lostneutral.circuit.waveform.model import is_slow
from lostneutral.circuit.waveform.steady import _Search, carried_over, repeating
from lostneutral.frozen import dataclass

MOMENTS = 12  #: of the cycle at which the stage may begin


@dataclass(frozen=True)
class Crests:
    """The highest instantaneous values (V) within a stage, over all moments at which it may begin."""

    lines: dict[tuple[str, str], float]  #: (point, line) -> line to neutral
    links: dict[str, float]  #: rectifier load -> its d.c. link
    still: tuple[str, ...]  #: loads whose temperature or speed does not follow so short a time


def crests(sound: Case, stage: Case, seconds: float, steps: int | None = None) -> Crests:
    """Return the crests of `stage`, which lasts for `seconds` and begins from the repeating state of `sound`.

    Links, currents and the impedance of what is slow (filaments, heaters, motors) are as they were. The first step, in which an
    arc carries what is being cut, is left out. Raises NoSolutionError where the march finds no way.
    """
    steps = steps or data.load("waveform")["steps"]["value"]
    before = repeating(sound, sound.breaks_now(), sound.crosses, steps=steps)
    search = _Search(stage, stage.breaks_now(), stage.crosses, before.admittances, steps)
    waiting = Marcher(before.net, steps)
    count = max(2, ceil(seconds / waiting.step - 1e-9))
    at = replace(before.start, time=0.0)
    lines: dict[tuple[str, str], float] = {}
    links: dict[str, float] = {}
    for _ in range(MOMENTS):
        start = replace(carried_over(replace(before, start=at), search), time=at.time, times=[], weights=[], values=[])
        search.marcher.settle(start)
        search.marcher.march(start, start.time + count * waiting.step, record=True)
        values = np.concatenate(start.values)[np.concatenate(start.times) > at.time + 1.000001 * waiting.step]
        _raise(lines, links, search.net, stage, values)
        at = waiting.march(at, at.time + steps // MOMENTS * waiting.step)
    return Crests(lines, links, tuple(load.name for load in stage.loads if load.on and is_slow(load)))


def _raise(lines, links, net, case, values):
    for point in case.points:
        for line in point.phases:
            if (point.name, line) in net.node and (point.name, "N") in net.node:
                volts = np.abs(values[:, net.node[point.name, line]] - values[:, net.node[point.name, "N"]]).max()
                lines[point.name, line] = max(lines.get((point.name, line), 0.0), float(volts))
    for number, link in zip(net.bridge_port, net.link):
        name = case.loads[net.ports[number].load].name
        links[name] = max(links.get(name, 0.0), float(values[:, link].max()))
