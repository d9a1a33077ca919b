"""The one interface through which the circuit sees a load."""

from abc import ABC, abstractmethod
from dataclasses import replace

import numpy as np


class LoadModel(ABC):
    """How a load, or an array of loads of one kind, answers a voltage.

    A model is a frozen dataclass whose parameters are floats or arrays that broadcast against the
    voltage (r.m.s. across the load, V) and the state; `count` is not its business, nor is `on`.
    """

    rising = False
    """True if the current never falls as the voltage rises, whatever the voltage (ruling of uniqueness):
    with y = g(v) + j b(v), g >= 0, g + v g' >= 0 and g (g + v g') >= (v b'/2)²."""

    modes = ("running",)
    """The discrete conditions a load can be in (running, cut off, stalled …), normal running first. Within one mode
    the law is smooth; what it changes to, and when, say `margin` and `next_mode`."""

    @property
    def single_state(self):
        """Whether this load leaves room for one settled state only; where every load does, a circuit has no other (`ONE_STATE`)."""
        return bool(self.rising) and len(self.modes) == 1

    @abstractmethod
    def admittance(self, state):
        """Return the complex admittance (S) that the network sees in `state`; inductive = negative imaginary part."""

    @abstractmethod
    def rate(self, state, voltage):
        """Return d(state)/dt (per second) at `voltage` (V)."""

    @abstractmethod
    def settled(self, voltage):
        """Return the state in which `rate` is zero at `voltage` (V), as reached from normal running."""

    def response(self, voltage):
        """Return (y, dy/dv): settled admittance (S) at `voltage` (V) and its slope (S/V).

        The slope defaults to a central difference; a model with a closed form overrides this.
        """
        voltage = np.asarray(voltage, float)
        step = 1e-5 * np.maximum(voltage, 1e-3)
        above = self.admittance(self.settled(voltage + step))
        below = self.admittance(self.settled(voltage - step))
        return self.admittance(self.settled(voltage)), (above - below) / (2 * step)

    def slopes(self, state, voltage):
        """Return (d rate/d state (1/s), d rate/d voltage, d admittance/d state) in `state` at `voltage` (V).

        Central differences; a model with closed forms overrides this.
        """
        state, voltage = np.asarray(state, float), np.asarray(voltage, float)
        step, push = 1e-6 * np.maximum(np.abs(state), 1e-9), 1e-5 * np.maximum(voltage, 1e-3)
        return ((self.rate(state + step, voltage) - self.rate(state - step, voltage)) / (2 * step),
                (self.rate(state, voltage + push) - self.rate(state, voltage - push)) / (2 * push),
                (self.admittance(state + step) - self.admittance(state - step)) / (2 * step))

    mode = "running"
    """The mode this model is in."""

    def in_mode(self, mode):
        """Return the model that holds while this load is in `mode`, one of `modes`."""
        if mode not in self.modes:
            raise KeyError(mode)
        return self if mode == self.mode else replace(self, mode=mode)

    def margin(self, state, voltage):
        """Return a number that is positive while the present mode lasts and falls through zero where it ends."""
        return np.full(np.broadcast(state, voltage).shape, np.inf)

    def next_mode(self, state, voltage):
        """Return the name of the mode that follows where `margin` has reached zero."""
        return self.modes[0]

    def entered(self, state):
        """Return the state in which this mode begins when the mode before it ended in `state`."""
        return state

    def describe(self, state, voltage):
        """Return what a reader wants to know of `state` as {result-file key: array} (light, temperature …)."""
        return {}
