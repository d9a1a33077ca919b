"""What a load's model says, as curves: settled and held current, the pace of its state, what ends a mode, wear."""

import numpy as np
from scipy.optimize import brentq

from lostneutral.consequences.wear import laws_of
from lostneutral.loads.paces import pace
from lostneutral.page.curves import central_differences, hermite, packed

REACH = 3.0  #: times the larger of nominal and rated voltage, up to where the curves go
CURRENT_ERROR = 1e-5  #: of the largest current the load is taken to draw, in the settled curve
STATE_ERROR = 3e-4  #: of a state's own size, and of a pace's
LIFE_ERROR = 0.02  #: of ln(share of life a second)
NO_WEAR = -60.0  #: ln(1/s) that stands for no wear at all


def curves(load, model, nominal):
    """Return what the page needs of one unit of `load`, of `model`, as plain lists (see `in_mode`), a mode each."""
    top = REACH * max(nominal, load.voltage)
    laws = laws_of(load, model)
    return {mode: in_mode(load, model.in_mode(mode), laws, top) for mode in model.modes}


def in_mode(load, model, laws, top):
    """Return the curves of one mode, packed: {"volts": …, "state": … or None, "exits": […], "entered": … or None}.

    `volts` over V r.m.s.: Re y, Im y (S, settled), the settled state, two paces g, ln(life a second) by voltage.
    `state` over the state: Re y, Im y (S, held), two paces f, ln(life a second) by state, light. The state moves with
    f1(state) g1(volts) + f2(state) g2(volts), per second.
    """
    volts, state = volts_curve(load, model, laws, top), None
    if moves(model, load.voltage):
        state = state_curve(load, model, laws, top)
    return {"volts": packed(volts), "state": None if state is None else packed(state), "exits": exits(model, top),
            "entered": _entered(model)}


def moves(model, rated):
    """Return whether the state of `model` has a say in anything: in the current, or in how long its mode lasts."""
    at = np.asarray(model.settled(rated), float)
    near = model.admittance(at), model.admittance(at * 1.01 + 1e-9)
    return bool(abs(near[0] - near[1]) > 0) or len(model.modes) > 1


def volts_curve(load, model, laws, top):
    """Return the curve over the voltage of `in_mode`, unpacked."""
    largest = np.abs(model.response(np.array([load.voltage]))[0][0]) * load.voltage
    found_pace = pace(model, load.voltage)
    usual_state = model.settled(load.voltage)
    size = max(abs(float(usual_state)), 1e-12)

    def others(v):
        return np.column_stack([model.settled(v) + 0 * v, *found_pace[1](v), _log_life(laws, model, v, usual_state + 0 * v)])

    def law(v):
        y = model.response(v)[0]
        return np.column_stack([y.real, y.imag, others(v)])

    def slopes(v):
        slope = model.response(v)[1]
        return np.column_stack([slope.real, slope.imag, central_differences(others, 0.0, top)(v)])

    # An error of the current, not of the admittance, is what moves the star point; near zero volts neither does.
    error = CURRENT_ERROR * max(float(largest), 1e-6) / load.voltage
    paces = [STATE_ERROR * max(float(np.abs(g).max()), 1e-12) for g in found_pace[1](np.linspace(0, 1.7 * load.voltage, 60))]
    return hermite(law, 0.0, top, np.array([error, error, STATE_ERROR * size, *paces, LIFE_ERROR]), 0.01, STATE_ERROR, slopes)


def state_curve(load, model, laws, top):
    """Return the curve over the state of `in_mode`, unpacked."""
    found = np.asarray(model.settled(np.linspace(0.0, top, 200)), float)
    low, high = float(found.min()), float(found.max())
    high = high if high > low else low + max(abs(low), 1.0)
    found_pace = pace(model, load.voltage)
    largest = float(np.abs(model.response(np.array([load.voltage]))[0][0]))

    def law(x):
        y = model.admittance(x) + 0j * x
        columns = [y.real, y.imag, *found_pace[0](x), _log_life(laws, model, 0 * x, x), model.light(x)]
        return np.column_stack(columns)

    grid = law(np.linspace(low, high, 100))
    paces = STATE_ERROR * np.maximum(np.abs(grid[:, 2:4]).max(axis=0), 1e-12)
    return hermite(law, low, high, np.array([1e-4 * largest, 1e-4 * largest, *paces, LIFE_ERROR, 1e-3]),
                   1e-4 * (high - low), STATE_ERROR)


def _log_life(laws, model, volts, state):
    """Return ln of the share of life used per second (central) by the law that is soonest."""
    if not laws:
        return NO_WEAR + 0 * volts
    rates = np.max([np.asarray(law.rates(volts, model, state), float)[1] for law in laws], axis=0)
    return np.log(np.maximum(rates, np.exp(NO_WEAR)))


def exits(model, top):
    """Return what ends the mode: [{"volts": [side, limit] or None, "state": … or None, "to": mode}], any of them, when
    all of its conditions hold; side is "below" or "above".

    Read off the model's own margin, whose edges run along volts or state.
    """
    if len(model.modes) == 1:
        return []
    settled = np.asarray(model.settled(np.linspace(0.0, top, 50)), float)
    # Quiet corners of all that can occur; heat and ratio may leave the settled range by what another mode brought along.
    span = (min(settled.min(), 0.0), max(settled.max(), 10.0)), (0.0, top)

    def lasts(x, v):
        return float(model.margin(np.float64(x), np.float64(v))) > 0

    corners = {(i, k): lasts(span[0][i], span[1][k]) for i in (0, 1) for k in (0, 1)}
    lasting = [at for at, on in corners.items() if on]
    if len(lasting) == 3:  # ends in one corner: both conditions have to hold
        i, k = next(at for at, on in corners.items() if not on)
        return [_exit(model, span, _edge(lasts, span, 0, k), _edge(lasts, span, 1, i), i, k)]
    if len(lasting) == 1:  # lasts in one corner: either will do
        i, k = lasting[0]
        return [_exit(model, span, _edge(lasts, span, 0, k), None, 1 - i, k),
                _exit(model, span, None, _edge(lasts, span, 1, i), i, 1 - k)]
    if corners[0, 0] == corners[0, 1]:  # two that lasts: one quantity alone decides
        i = 0 if corners[1, 0] else 1
        return [_exit(model, span, _edge(lasts, span, 0, 0), None, i, 0)]
    k = 0 if corners[0, 1] else 1
    return [_exit(model, span, None, _edge(lasts, span, 1, 0), 0, k)]


def _edge(lasts, span, axis, other):
    """Return the value on `axis` (0 state, 1 volts) at which the mode ends, the other quantity at its end `other`."""
    def sign(value):
        at = (value, span[1][other]) if axis == 0 else (span[0][other], value)
        return 1.0 if lasts(*at) else -1.0

    low, high = span[axis]
    return float(brentq(sign, low, high, xtol=1e-9 * (high - low)))


def _exit(model, span, state, volts, i, k):
    sides = ("below", "above")
    at = (span[0][i] if state is None else state + (i - 0.5) * 1e-6 * (span[0][1] - span[0][0]),
          span[1][k] if volts is None else volts + (k - 0.5) * 1e-6 * span[1][1])
    return {"state": None if state is None else [sides[i], state], "volts": None if volts is None else [sides[k], volts],
            "to": model.next_mode(np.float64(at[0]), np.float64(at[1]))}


def _entered(model):
    """Return the state in which this mode begins, or None if it goes on in the one it finds."""
    first, second = float(model.entered(np.float64(1.0))), float(model.entered(np.float64(2.0)))
    return first if first == second else None
