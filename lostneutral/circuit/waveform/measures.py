"""What an instrument would show of a waveform: true r.m.s., crest, rectified mean, harmonics, d.c. link."""

from math import pi, sqrt

import numpy as np

from lostneutral.case.model import Case
from lostneutral.circuit.waveform.steady import Repeating
from lostneutral.circuit.waveform.turns import turn_figures
from lostneutral.circuit.waveform.waves import LoadWave, Wave, WaveState
from lostneutral.circuit.wiring import conductors, pairs

NOISE = 1e-8  #: of the largest order; what is smaller is rounding, and has no angle: 0 is given
FORM_FACTOR = pi / (2 * sqrt(2))  #: r.m.s. over rectified mean of a sine: what an average-responding meter multiplies by


def wave(turn: Repeating, values) -> Wave:
    """Return the measures of `values` (at `turn.times`); integrals by the march's own quadrature of order five."""
    spectrum = harmonics(turn, values)
    size = np.abs(spectrum)
    thd = float(np.sqrt((size[2:] ** 2).sum()) / size[1]) if size[1] > 1e-9 * max(size.max(), 1e-300) else None
    return Wave(float(np.sqrt(turn.mean(values**2))), float(np.abs(values).max()),
                float(FORM_FACTOR * turn.mean(np.abs(values))), tuple(size[1:].tolist()),
                tuple(np.degrees(np.angle(np.where(size > NOISE * size.max(), spectrum, 0.0)[1:])).tolist()), thd)


def harmonics(turn: Repeating, values):
    """Return the complex r.m.s. value of orders 0 to 40 of `values`; order 0 is the mean."""
    return turn.turning @ values


def port_current(turn: Repeating, port):
    """Return the current (A) of one port at `turn.times`."""
    net = turn.net
    total = turn.net.harmonic_current(port, turn.times) + np.zeros(len(turn.times))
    if port.key in net.through:
        total = total + turn.values @ net.through[port.key]
    for at, (reference, exponent, size) in zip(net.varistor_port, net.varistor_law):
        if net.ports[at] is port:
            u = turn.values @ net.across(port)
            total = total + size * np.sign(u) * np.abs(u / reference) ** exponent
    return total


def terminal(turn: Repeating, name):
    """Return the voltage (V) of a terminal to the supply's star point at `turn.times`, None where it floats."""
    at = turn.net.node.get(name)
    return None if at is None else turn.values[:, at]


def traces(case: Case, turn: Repeating) -> dict:
    """Return the courses that the figures draw, at `turn.times`.

    Keys: ("volts", point, line) to N there, ("star", point), ("current", point fed, conductor), ("link", load's name).
    """
    found = {}
    for point in case.points:
        neutral = terminal(turn, (point.name, "N"))
        if neutral is not None:
            found["star", point.name] = neutral
        for line in point.phases:
            volts = terminal(turn, (point.name, line))
            if volts is not None and neutral is not None:
                found["volts", point.name, line] = volts - neutral
        for conductor in conductors(case, point):
            key = ("run", point.name, conductor)
            row = turn.net.through.get(key)
            if key not in turn.net.undetermined:
                found["current", point.name, conductor] = np.zeros(len(turn.times)) if row is None else turn.values @ row
    for at, link in zip(turn.net.bridge_port, turn.net.link):
        found["link", case.loads[turn.net.ports[at].load].name] = turn.values[:, link]
    return found


def wave_state(case: Case, name: str, turn: Repeating) -> WaveState:
    """Return all measures of one repeating state of `case`."""
    found = traces(case, turn)
    measured = lambda key: wave(turn, found[key]) if key in found else None
    return WaveState(
        name, turn.ends, turn.attracting if turn.ends == "settled" else None, turn.duration,
        {p.name: measured(("star", p.name)) for p in case.points},
        {(p.name, line): measured(("volts", p.name, line)) for p in case.points for line in p.phases},
        {(p.name, c): measured(("current", p.name, c)) for p in case.points for c in conductors(case, p)},
        tuple(_load(turn, number, load) for number, load in enumerate(case.loads)), turn.times, found,
        turn_figures(case, turn, found))


def _load(turn, number, load):
    between = [(load.terminal(a), load.terminal(b)) for a, b in pairs(load.connect)]
    ends = [(terminal(turn, a), terminal(turn, b)) for a, b in between]
    volts = [a - b for a, b in ends if a is not None and b is not None]
    if len(volts) < len(ends):
        return LoadWave(load.name, load.connect, load.on, None, None, None)
    highest = max(volts, key=lambda u: turn.mean(u**2))
    ports = {p.key[2:]: p for p in turn.net.ports if p.load == number}
    if not ports:
        return LoadWave(load.name, load.connect, load.on, wave(turn, highest), None, 0.0)
    drawn = [port_current(turn, ports[a[1], b[1]]) for a, b in between]
    power = sum(float(turn.mean(u * i)) for u, i in zip(volts, drawn))
    into = drawn[0] - drawn[-1] if len(load.connect) == 3 else drawn[0]
    links = [turn.values[:, link] for at, link in zip(turn.net.bridge_port, turn.net.link)
             if turn.net.ports[at].load == number]
    link = max(links, key=np.max, default=None)
    return LoadWave(load.name, load.connect, load.on, wave(turn, highest), wave(turn, into), power,
                    None if link is None else (float(turn.mean(link)), float(link.min()), float(link.max())))
