"""Laws of loads as tables over the voltage, for the many states that samples ask for."""

from dataclasses import fields, is_dataclass

import numpy as np

from lostneutral.circuit.equations import model_part

STEP = 0.5  #: V between the voltages of a table
TOP = 1500.0  #: V, the end of a table; above it a load is held at the admittance it has there


class Tables:
    """Admittances of load models, each worked out once: cubic between voltages `STEP` apart, with the law's own slope."""

    def __init__(self):
        self._of_model, self._stacks = {}, {}

    def response(self, models, size, rows, u, units=()):
        """Return (admittance, its slope; S, S/V), each (rows, branches), at the voltages `u` across the branches, and of
        `units` (loads with several ports, by their branches) the slopes by the voltage of each port.

        `models` may have parameters that are arrays over `size` samples, of which `rows` are asked for; those and
        loads with several ports answer by their own law.
        """
        volts = np.maximum(np.abs(u), 1e-12)
        ported = {int(k) for unit in units for k in unit}
        plain = tuple(k for k, model in enumerate(models) if k not in ported and not _sampled(model))
        y, slope = np.empty(volts.shape, complex), np.empty(volts.shape, complex)
        if plain:
            y[:, plain], slope[:, plain] = self._looked_up(tuple(models[k] for k in plain), volts[:, plain])
        for k in set(range(len(models))) - set(plain) - ported:
            y[:, k], slope[:, k] = model_part(models[k], size, rows).response(volts[:, k])
        crossed = []
        for unit in map(list, units):
            y[:, unit], by_each = model_part(models[unit[0]], size, rows).response(volts[:, unit])
            slope[:, unit] = 0.0
            crossed.append(by_each)
        return y, slope, crossed

    def _looked_up(self, models, volts):
        if models not in self._stacks:
            self._stacks[models] = tuple(np.stack(part) for part in zip(*map(self._table, models)))
        values, slopes = self._stacks[models]
        place = np.minimum(volts / STEP, values.shape[1] - 1.000001)
        cell = place.astype(int)
        t = place - cell
        each = np.arange(volts.shape[1])
        y0, y1, m0, m1 = values[each, cell], values[each, cell + 1], slopes[each, cell] * STEP, slopes[each, cell + 1] * STEP
        y = y0 + t * (m0 + t * (3 * (y1 - y0) - 2 * m0 - m1 + t * (2 * (y0 - y1) + m0 + m1)))
        slope = (m0 + t * (2 * (3 * (y1 - y0) - 2 * m0 - m1) + t * 3 * (2 * (y0 - y1) + m0 + m1))) / STEP
        return y, np.where(volts < TOP, slope, 0.0)

    def _table(self, model):
        if model not in self._of_model:
            volts = np.arange(0.0, TOP + STEP, STEP)
            volts[0] = 1e-6
            y, slope = model.response(volts)
            self._of_model[model] = np.broadcast_to(y, volts.shape).astype(complex), np.broadcast_to(slope, volts.shape).astype(complex)
        return self._of_model[model]


def _sampled(model):
    return is_dataclass(model) and any(isinstance(getattr(model, f.name), np.ndarray) for f in fields(model))
