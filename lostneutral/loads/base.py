"""The one interface through which the circuit sees a load."""

from abc import ABC, abstractmethod
from dataclasses import replace
from functools import cached_property
from weakref import WeakValueDictionary

import numpy as np

from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Low:
    """What too low a voltage does to a load; `part` is what then runs hot."""

    outcome: str  #: one of `consequences.harm.LOW_OUTCOMES`, or "unharmed"
    basis: str = "settled state of the load's model at this voltage"
    confidence: str = "good"
    part: str = ""


class LoadModel(ABC):
    """How a load, or an array of loads of one kind, answers a voltage.

    A model is a frozen dataclass whose parameters are floats or arrays that broadcast against the
    voltage (r.m.s. across the load, V) and the state; `count` is not its business, nor is `on`.
    """

    rising = False
    """True if the current never falls as the voltage rises, whatever the voltage (ruling of uniqueness):
    with y = g(v) + j b(v), g >= 0, g + v g' >= 0 and g (g + v g') >= (v b'/2)²."""

    short = False
    """True where it has no impedance at all, so that its ends are one node."""

    cuts_off = None
    """Voltages (V) at which its current begins to fall off and has gone, where it cuts off; else None."""

    on_or_off = False
    """Whether it is on or off, never between, by two thresholds."""

    sets_current = False
    """Whether its control sets its current within a cycle, so that it meets a new circuit with its current, not its admittance."""

    charges_vehicle = False
    """Whether a vehicle out of doors hangs on its protective conductor."""

    forgets = 0.0
    """Of a state that nothing goes by but how it moves itself, and the end of its own mode: the rate (1/s) at which it forgets where it began.

    Two courses that differ in it alone differ by exp(-`forgets` t) of what they did at first. 0 of every other; of several ports one each."""

    waits = False
    """Whether it goes off or comes back after a delay, or at both ends of a range of voltages."""

    stands_in = False
    """Whether the model is a stand-in for an input stage that only a waveform can show."""

    gives_light = None
    """True of a lamp, False of what certainly gives none; None where the kind leaves it open."""

    resistor_like = False
    """Whether a fixed resistor of its rated power does much the same."""

    told_by_power = False
    """Whether what it gives is told best by the power it takes (heat)."""

    labelled_to = np.inf
    """Highest voltage (V) on its label, where that is more than the rated one."""

    measured_range = None
    """Ratios of rated voltage between which its law was measured; None for a law that was not."""

    knee = np.inf
    """Ratio of rated voltage above which an iron core in it saturates, where it has one."""

    series = None
    """Its impedance (ohm at the supply's frequency) where it follows every instant of a waveform; None: it does not."""

    bridge = None
    """The rectifier with its d.c. link that it is (`lostneutral.loads.bridge.Bridge`, of one unit), or None."""

    clamp = None
    """(reference voltage V, exponent, A at that voltage) of a varistor that a waveform meets, or None."""

    harmonics = None
    """(orders, shares of the rated fundamental current, angles in degrees) of fixed harmonic currents, or None."""

    def light(self, state):
        """Return the light given in `state`, relative to rated; none of what is no lamp."""
        return 0 * np.asarray(state, float)

    def met(self, voltage, details):
        """Return what each port has (V) in a state that `details` describes, with `voltage` (V) across the load."""
        return voltage

    def protector_acts(self, voltage):
        """Return within how long (s) its own protector operates at the voltage (V) of its ports; infinite if it has none."""
        return np.inf

    def wear(self, given):
        """Return the laws of wear (`lostneutral.loads.wear.Law`) of a load whose keys are `given`; () if none is known."""
        return ()

    def stopped(self, voltage, details):
        """Return what keeps it from running at `voltage` (V), in a state that `details` describes; None if it runs."""
        return None

    def low(self, ratio, details):
        """Return what a voltage below limits, `ratio` times rated, does to it while it runs; None: nothing is said."""
        return Low("works weakly")

    ports = ((1.0, -1.0),)
    """What the load goes by: voltages across it, each a weighted sum of those of its terminals (a row of weights a port).

    A port's current is its admittance times its voltage, and enters the terminals by the same weights, conjugate. Two
    terminals have one port, the voltage between them; a three-phase machine has one for each sequence. With several
    ports the voltages, states and admittances of a model have one more axis, the last, and what is the same for all of
    them (`margin`) has it with length one. A state that is not needed stands still."""

    turns = False
    """Whether it goes by the phase sequence: with two lines transposed it runs in reverse."""

    told_by_ports = False
    """Whether a load with several ports is told by the highest voltage of them, not by that between two of its lines."""

    modes = ("running",)
    """The discrete conditions a load can be in (running, cut off, stalled …), normal running first. Within one mode
    the law is smooth; what it changes to, and when, say `margin` and `next_mode`."""

    @property
    def single_state(self):
        """Whether this load leaves room for one settled state only; where every load does, a circuit has no other (`ONE_STATE`)."""
        return bool(self.rising) and len(self.modes) == 1

    def block(self, state, voltages):
        """Return the complex matrix (S) from the voltages of its terminals (V) to the currents into them, in `state`.

        Here it does not hang on `voltages` but through the state, which follows them.
        """
        weights = np.array(self.ports)
        return np.swapaxes(weights.conj(), 0, 1) @ (np.reshape(self.admittance(state), (-1, 1)) * weights)

    def across(self, voltages):
        """Return the voltage (V) of each port, given those of the terminals."""
        return np.array(self.ports) @ voltages

    def sizes(self, voltage):
        """Return what each port has (V) where the voltage across the load is `voltage` (V) and its lines are balanced."""
        return voltage

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
        """Return (y, dy/dv): settled admittance (S) at `voltage` (V) and its slope (S/V; of several ports by each, last axis).

        The slope defaults to a central difference; a model with a closed form overrides this.
        """
        voltage = np.asarray(voltage, float)
        step = 1e-5 * np.maximum(voltage, 1e-3)
        above = self.admittance(self.settled(voltage + step))
        below = self.admittance(self.settled(voltage - step))
        return self.admittance(self.settled(voltage)), (above - below) / (2 * step)

    def branch_admittance(self, voltage):
        """Return the settled admittance (S) of one of its branches at `voltage` (V): of a machine of three alike in delta."""
        return self.response(voltage)[0]

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

    counting = ()
    """Names of the present mode's edges that are passed and whose delay is running."""

    @property
    def resting(self):
        """The modes that can last for good; the others end by themselves."""
        return self.modes

    def in_mode(self, mode):
        """Return the model that holds while this load is in `mode`, one of `modes`, with no delay running."""
        if mode not in self.modes:
            raise KeyError(mode)
        if mode == self.mode and not self.counting:
            return self
        found = self._by_mode.get(mode)
        if found is None:
            found = self._by_mode[mode] = replace(self, mode=mode, **({"counting": ()} if self.counting else {}))
            found.__dict__["_by_mode"] = self._by_mode
        return found

    @cached_property
    def _by_mode(self):
        """This load in its modes, for as long as anyone has them: what is worked out of a load is worked out once a mode."""
        return WeakValueDictionary({} if self.counting else {self.mode: self})

    def margin(self, state, voltage):
        """Return a number that is positive while the present mode lasts for good and falls through zero where it ends."""
        return np.full(np.broadcast(state, voltage).shape, np.inf)

    def next_mode(self, state, voltage):
        """Return the name of the mode that follows where `margin` has reached zero."""
        return self.modes[0]

    def turning(self, state, voltage):
        """Return what falls through zero where the mode ends, or where a delay begins or is called off."""
        return self.margin(state, voltage)

    def turned(self, state, voltage):
        """Return the model that follows where `turning` has reached zero: in its next mode, or with its delays as they now run."""
        return self.in_mode(self.next_mode(state, voltage))

    def delay(self, edge):
        """Return how long (s) the edge of that name has to stay passed before the mode ends."""
        return 0.0

    def expired(self, edge):
        """Return the model that follows when the delay of `edge` is over."""
        return self

    def entered(self, state):
        """Return the state in which this mode begins when the mode before it ended in `state`."""
        return state

    def describe(self, state, voltage):
        """Return what a reader wants to know of `state` as {result-file key: array} (light, temperature …)."""
        return {}
