"""Loads that switch themselves off outside a range of voltages and on again within another, each after its delay."""

from dataclasses import replace
from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads.base import LoadModel

_DATA = data.load("load_defaults")["switching"]
_CALLED_OFF = _DATA["called_off"]["value"]
AT_ONCE = _DATA["at_once"]


@dataclass(frozen=True, kw_only=True)
class Switching(LoadModel):
    """A load that is on or off, never between: what a kind adds is what it draws while it is on.

    - "running": until the voltage has been below one of `below`, or above one of `above`, for the delay of that edge.
    - "cut off": until the voltage has been within `healthy` for `restart_delay` (s).
    - "starting", where `start_time` (s) is not zero: `start_current` times what it draws running, then "running".

    A delay begins where the voltage passes its edge, and is called off where it comes back by a hair (`called_off` of
    rated voltage, so that rounding does not decide). A settled state needs a voltage that is within every edge. Where
    neither "running" nor "cut off" has one, the load goes on and off for as long as it lasts.
    """

    restart_delay: float = 0.0
    start_time: float = 0.0
    start_current: float = 1.0
    mode: str = "running"
    counting: tuple[str, ...] = ()

    @property
    def below(self):
        """Edges below which it goes off: (voltage V, delay s) of each."""
        return ()

    @property
    def above(self):
        """Edges above which it goes off: (voltage V, delay s) of each."""
        return ()

    @property
    def healthy(self):
        """Voltages (V), lowest and highest, within which it comes back."""
        return 0.0, np.inf

    @property
    def modes(self):
        if not self.below and not self.above:
            return ("running",)
        return ("running", "cut off", "starting") if np.any(np.greater(self.start_time, 0)) else ("running", "cut off")

    @property
    def resting(self):
        return self.modes[:2]

    @cached_property
    def back_after(self):
        """Time (s) within `healthy` after which it comes back: `restart_delay`, but about a cycle at least at an edge without delay and hysteresis.

        There it would else go off and on without end in no time at all.
        """
        (low, high), meets = self.healthy, False
        for edge, delay in self.below:
            meets = meets | np.less_equal(low, edge) & np.less_equal(delay, 0)
        for edge, delay in self.above:
            meets = meets | np.less_equal(edge, high) & np.less_equal(delay, 0)
        return np.where(meets & np.less_equal(self.restart_delay, 0), AT_ONCE["value"], self.restart_delay)[()]

    def _edges(self, voltage):
        """The present mode's edges: {name: (V from it, positive before it; delay; mode that follows)}."""
        least, most = self._range(voltage)
        if self.mode == "cut off":
            low, high = self.healthy
            return {"healthy": (np.maximum(low - least, most - high), self.back_after, "starting" if len(self.modes) > 2 else "running")}
        found = {f"below {k}": (least - at, delay, "cut off") for k, (at, delay) in enumerate(self.below)}
        found |= {f"above {k}": (at - most, delay, "cut off") for k, (at, delay) in enumerate(self.above)}
        if self.mode == "starting":
            found["started"] = (np.full(least.shape, -1e6), self.start_time, "running")
        return found

    @property
    def waits(self):
        delays = [self.back_after, self.start_time, *(seconds for _, seconds in (*self.below, *self.above))]
        return bool(self.above) or bool(self.below) and any(np.any(np.greater(seconds, 0)) for seconds in delays)

    def _range(self, voltage):
        """The lowest and the highest voltage (V) that it has: of several ports these share one control."""
        v = np.asarray(voltage, float)
        if len(self.ports) == 1:
            return v, v
        v = v + np.zeros(len(self.ports))
        return v.min(axis=-1, keepdims=True), v.max(axis=-1, keepdims=True)

    def _as_one(self, state):
        """Nothing, in the shape of what is the same for all ports of a load in `state`."""
        state = 0 * np.asarray(state, float)
        return state if len(self.ports) == 1 else state[..., :1]

    def margin(self, state, voltage):
        """Return how far (V) the voltage is from the nearest edge, negative where one is passed."""
        edges = self._edges(voltage).values()
        if not edges:
            return super().margin(state, voltage)
        return np.min(np.broadcast_arrays(*(far for far, *_ in edges), np.inf + self._as_one(state)), axis=0)

    def turning(self, state, voltage):
        """Return how far (V) the voltage is from where a delay, or a mode that has none, begins or ends."""
        edges = self._edges(voltage)
        if not edges:
            return super().margin(state, voltage)
        back = _CALLED_OFF * np.asarray(self.voltage, float)
        signed = (back - far if name in self.counting else far for name, (far, *_) in edges.items())
        return np.min(np.broadcast_arrays(*signed, np.inf + self._as_one(state)), axis=0)

    def next_mode(self, state, voltage):
        """Return the mode, of those that can last, that follows where an edge stays passed."""
        return "cut off" if self.mode == "running" else "running"

    def turned(self, state, voltage):
        edges, back, running = self._edges(voltage), _CALLED_OFF * float(self.voltage), []
        for name, (far, delay, then) in edges.items():
            past = far.item() < back / 2 if name in self.counting else far.item() <= back / 2
            if past and not delay > 0:
                return self._then(then)
            running += [name] if past else []
        return replace(self, counting=tuple(running))

    def delay(self, edge):
        return float(self._edges(0.0)[edge][1])

    def expired(self, edge):
        return self._then(self._edges(0.0)[edge][2])

    def _then(self, mode):
        """In `mode`; what has been too high or too low since before a start goes on being so."""
        kept = () if "cut off" in (mode, self.mode) else tuple(name for name in self.counting if name != "started")
        return replace(self, mode=mode, counting=kept)


def switching_keys(given, *keys):
    """Return those of the `keys` of a `Switching` load that the case gives."""
    return {key: given.load.parameters[key] for key in keys if key in given.load.parameters}
