"""How the state of a load in one mode moves, as tables: what it draws in each state, and its pace by state and voltage."""

from dataclasses import fields
from functools import lru_cache

import numpy as np

from lostneutral.frozen import dataclass
from lostneutral.loads.base import LoadModel

STATES, VOLTS = 1024, 2048  #: pieces of a table, of the states those over the range of the mode itself
MOST_STATES = 4 * STATES  #: pieces with those over states that other modes lead to
PROBES = 1000  #: voltages at which the law is looked at first, to see where it bends
BEYOND = 0.05  #: share of the range of settled states by which the table goes on at either end


def pace(model: LoadModel, volts):
    """Return (f, g): rate(x, v) = f1(x) g1(v) + f2(x) g2(v), found from rows and columns of the rate, at 0 and `volts` (V).

    Exact for heat balances (v² a(x) − b(x)) and for states that lag (a(v) − x b(v)), which is all there is; a test holds
    every model to it. With `law` the slopes of the rate by the state, or by the voltage, in its place, f and g are their slopes.
    """
    volts = np.array([0.0, volts])
    states = np.asarray(model.settled(volts), float)
    if states[0] == states[1]:
        states = states + np.array([0.0, max(abs(states[0]), 1.0)])
    core = np.array([[float(model.rate(x, v)) for v in volts] for x in states])
    inverse = np.linalg.pinv(core, rcond=1e-12)

    def f(x, law=model.rate):
        return [np.asarray(law(x, v), float) + 0 * x for v in volts]

    def g(v, law=model.rate):
        return list(inverse @ np.array([np.asarray(law(x, v), float) + 0 * v for x in states]))

    return f, g


@dataclass(frozen=True, eq=False)
class Paces:
    """Cubics over pieces: `by_state` (pieces, 4 powers, [Re y, Im y (S), f1, f2]), `per` pieces a unit of state, and `by_volts`
    (pieces, 4 powers, [g1, g2]) between `volts` (V). The variable of a cubic runs from 0 to 1, lowest power first.

    The first piece of `by_state` is the `low`th from state 0. A piece begins there, so that a state that is tiny beside others is not rounded away.
    """

    low: int
    per: float
    by_state: np.ndarray
    volts: np.ndarray
    by_volts: np.ndarray


def _given(model):
    """What a model was made of, but for a delay that runs, which changes no law."""
    return tuple((f.name, getattr(model, f.name)) for f in fields(model) if f.name != "counting")


def paces(model: LoadModel, top: float) -> Paces:
    """Return the tables of a model with one port and plain parameters, for voltages up to `top` (V), and the states they lead to.

    Raises TypeError where parameters are arrays.
    """
    return _paces(type(model), _given(model), top)


@lru_cache(maxsize=256)
def _paces(kind, given, top):
    model = kind(**dict(given))
    f, g = pace(model, top)
    probes = np.linspace(0.0, top, PROBES)
    settled = np.asarray(model.settled(probes), float) + 0 * probes
    low, high = settled.min(), settled.max()
    spare = BEYOND * (high - low) or max(abs(low), 1.0)
    per = STATES / (high - low + 2 * spare)
    first = int(np.floor((low - spare) * per))
    x = np.arange(*_reach(model, probes, per, first, first + STATES + 1)) / per
    y, dy = (np.asarray(part) + 0j * x for part in (model.admittance(x), model.slopes(x, top)[2]))
    values = np.column_stack([y.real, y.imag, *f(x)])
    slopes = np.column_stack([dy.real, dy.imag, *f(x, lambda x, v: model.slopes(x, v)[0])])
    volts = _knots(probes, np.column_stack(g(probes)))
    turns = np.column_stack(g(volts, lambda x, v: model.slopes(x, v)[1]))
    return Paces(int(np.rint(x[0] * per)), per, _cubics(x, values, slopes), volts, _cubics(volts, np.column_stack(g(volts)), turns))


def _reach(model, probes, per, first, end):
    """Return the pieces `first` up to `end`, with those where a load goes on that another mode led there before, as far as they are not too many."""
    states = [np.asarray(model.in_mode(mode).settled(probes), float) + 0 * probes for mode in model.modes]
    first = max(min(first, int(np.floor(per * np.min(states)))), end - MOST_STATES)
    return first, min(max(end, int(np.ceil(per * np.max(states))) + 1), first + MOST_STATES)


def _knots(probes, values):
    """Return voltages half of which lie evenly, half where the curves bend most: where a supply cuts off, within a volt."""
    bend = np.abs(values[:-2] - 2 * values[1:-1] + values[2:]) / (np.abs(values[1:-1]) + np.median(np.abs(values), axis=0) + 1e-300)
    bend = np.concatenate([[0.0], np.sqrt(bend.max(axis=1)), [0.0]])
    bend = np.maximum(bend, np.maximum(np.append(bend[1:], 0.0), np.append(0.0, bend[:-1])))
    length = np.append(0.0, np.cumsum(bend[1:] + bend[:-1]))
    length = length / max(length[-1], 1e-300) + probes / probes[-1]
    return np.interp(np.linspace(0.0, length[-1], VOLTS + 1), length, probes)


def _cubics(x, values, slopes):
    """Return the coefficients (pieces, 4, columns) of the cubics that have `values` and `slopes` at `x`."""
    length, rise = np.diff(x)[:, None], np.diff(values, axis=0)
    first, last = length * slopes[:-1], length * slopes[1:]
    return np.stack([values[:-1], first, 3 * rise - 2 * first - last, first + last - 2 * rise], axis=1)
