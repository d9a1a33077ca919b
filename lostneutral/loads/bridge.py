"""A bridge rectifier with its d.c. link, as a waveform meets it."""

from dataclasses import replace

import numpy as np

from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Bridge:
    """Full bridge, bulk capacitor, constant power behind it: one unit, or several together (see `units`)."""

    power: float  #: W behind the link
    capacitance: float  #: F
    resistance: float  #: Ω in series with the bridge
    drop: float  #: V, both diodes that conduct
    cut_off: float  #: V d.c. below which the load stops
    restart: float  #: V d.c. at which it starts again; equal to `cut_off`: no hysteresis
    fade: float  #: V below `cut_off` over which the current falls to zero, where there is no hysteresis
    leakage: float  #: Ω across the inlet
    suppressor: float  #: F across the inlet
    cuts_out: float = np.inf  #: V d.c. above which the load stops
    restart_below: float = np.inf  #: V d.c. up to which it starts again
    restart_delay: float = 0.0  #: s after the link is where the load may start again
    on_or_off: bool = False  #: on or off, never between

    def taken(self, link):
        """Return the power (W) behind a link of `link` (V): constant down to the cut-off, then fading to nothing."""
        low = np.clip((np.asarray(link, float) - self.cut_off + self.fade) / self.fade, 0, 1)
        return self.power * low * low * (3 - 2 * low)

    def units(self, count):
        """Return `count` of them in parallel as one."""
        return replace(self, power=count * self.power, capacitance=count * self.capacitance,
                       resistance=self.resistance / count, leakage=self.leakage / count, suppressor=count * self.suppressor)
