"""Laws of loads as tables over the voltage, for the many states that samples ask for."""

from dataclasses import fields, is_dataclass

import numpy as np

from lostneutral.circuit.equations import model_part

STEP = 0.5  #: V between the voltages of a table
TOP = 1500.0  #: V, the end of a table; above it a load is held at the admittance it has there
CELLS = round(TOP / STEP)


class Tables:
    """Admittances of load models, each worked out once: cubic between voltages `STEP` apart, with the law's own slope."""

    def __init__(self):
        self._of_model, self._stacks = {}, {}

    def law(self, models, size, units=()):
        """Return the `Lookup` of the branches whose loads are `models`.

        `models` may have parameters that are arrays over `size` samples; those and loads with several ports (`units`,
        by their branches) answer by their own law.
        """
        ported = {int(k) for unit in units for k in unit}
        sampled = {id(model) for model in {id(model): model for model in models}.values() if _sampled(model)}
        own = tuple(k for k, model in enumerate(models) if k not in ported and id(model) in sampled)
        plain = tuple(k for k in range(len(models)) if k not in ported and k not in own)
        return Lookup(models, size, [list(unit) for unit in units], own, plain, *self._stacked(tuple(models[k] for k in plain)))

    def is_constant(self, model):
        """Return whether the load `model` has one mode, and in it one admittance whatever the voltage."""
        table = self._table(model)
        return len(model.modes) == 1 and not table[:, 1:].any() and (table[:, 0] == table[0, 0]).all()

    def _stacked(self, models):
        if models not in self._stacks:
            different = list(dict.fromkeys(models))
            parts = np.array([self._table(model) for model in different]).reshape(-1, CELLS, 4)
            self._stacks[models] = parts if parts.imag.any() else parts.real.copy(), np.array([different.index(m) for m in models], int)
        return self._stacks[models]

    def _table(self, model):
        """(cells, 4) complex, S: the coefficients of a cubic in each cell, from 0 to 1 in it."""
        if model not in self._of_model:
            volts = np.arange(0.0, TOP + STEP, STEP)
            volts[0] = 1e-6
            y, slope = (np.broadcast_to(part, volts.shape).astype(complex) for part in model.response(volts))
            y0, y1, m0, m1 = y[:-1], y[1:], slope[:-1] * STEP, slope[1:] * STEP
            self._of_model[model] = np.stack([y0, m0, 3 * (y1 - y0) - 2 * m0 - m1, 2 * (y0 - y1) + m0 + m1], axis=1)
        return self._of_model[model]


class Lookup:
    """The laws of the branches of one network together, those that are tables looked up at once."""

    def __init__(self, models, size, units, own, plain, table, which):
        self.models, self.size, self.units, self.own = models, size, units, own
        self.plain, self.table, self.which = np.array(plain, int), table, which

    def response(self, rows, u):
        """Return (admittance, its slope; S, S/V), each (rows, branches), at the voltages `u` across the branches in the
        samples `rows`, and of the loads with several ports the slopes by the voltage of each port."""
        volts = np.maximum(np.abs(u), 1e-12)
        if len(self.plain) == volts.shape[1]:
            return *self._looked_up(volts), []
        y, slope = np.empty(volts.shape, complex), np.empty(volts.shape, complex)
        if len(self.plain):
            y[:, self.plain], slope[:, self.plain] = self._looked_up(volts[:, self.plain])
        for k in self.own:
            y[:, k], slope[:, k] = model_part(self.models[k], self.size, rows).response(volts[:, k])
        crossed = []
        for unit in self.units:
            y[:, unit], by_each = model_part(self.models[unit[0]], self.size, rows).response(volts[:, unit])
            slope[:, unit] = 0.0
            crossed.append(by_each)
        return y, slope, crossed

    def _looked_up(self, volts):
        place = np.minimum(volts / STEP, CELLS - 1e-6)
        cell = place.astype(int)
        t = place - cell
        a, b, c, d = np.moveaxis(self.table.reshape(-1, 4).take(self.which * CELLS + cell, axis=0), -1, 0)
        return a + t * (b + t * (c + t * d)), np.where(volts < TOP, (b + t * (2 * c + t * (3 * d))) / STEP, 0.0)


def _sampled(model):
    return is_dataclass(model) and any(isinstance(getattr(model, f.name), np.ndarray) for f in fields(model))
