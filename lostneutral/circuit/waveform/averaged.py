"""A rectifier load seen at phasor cost: bridge, bulk capacitor and constant power by their charge balance over a cycle."""

from dataclasses import dataclass

import numpy as np

from lostneutral.circuit.waveform.parts import Bridge
from lostneutral.loads.base import LoadModel

_GRID = np.cos(np.linspace(0.0, np.pi / 2, 200))  # link over crest, from full down, finest where links usually are


def pulse(excess_crest, level, resistance, omega):
    """Return the charge (C) that a sine crest pushes through a diode against a constant voltage, in one half cycle.

    `excess_crest` (V) is the crest, `level` (V) what it works against, `resistance` (Ω) what limits it, `omega` in rad/s:
    q = 2 (E sin φ − V φ) / (ω R) with cos φ = V / E; nothing if the level is not below the crest.
    """
    ratio = np.clip(level / np.maximum(excess_crest, 1e-12), -1, 1)
    angle = np.arccos(ratio)
    return np.where(excess_crest > level, 2 * (excess_crest * np.sin(angle) - level * angle) / (omega * resistance), 0.0)


@dataclass(frozen=True)
class AveragedRectifier(LoadModel):
    """A bridge with bulk capacitor and constant power behind it, on a voltage that is near enough a sine.

    The link settles where the charge of the two pulses of a cycle equals what the load takes: ⟨(√2 v |cos| − V −
    drop)⁺⟩ / R = P(V) / V, the highest such V. Its ripple is left out. The pulses lie evenly about the crest, so the
    fundamental is in phase with the voltage, and what the network sees is the conductance P_in / v², losses of
    inlet and diodes included. State: that conductance (S).

    Range, found by comparison with the waveform model. Sound neutral, 1 to 10 µF/W and 1 to 20 Ω at 100 W: power within
    1 %, mean link within 4 % (the ripple). A joint R_N in the neutral of a star of 260 to 310 W in all, 3 µF/W, 1 Ω: r.m.s.
    voltages within 1.5 % while R_N ΣP / U0² is up to 0.12 and the star point's shift up to 7 % of U0, within 5 % up to
    0.3; the links are lower than here well before (13 % at 0.12), for the joint takes the crests off. Above that, and with the
    neutral open, it is wrong: a star of rectifiers is held by its pulses where constant powers in phasors are not, or
    collapses for reasons of theirs (see `charge_star`).
    """

    power: float  #: W behind the link
    capacitance: float  #: F
    resistance: float  #: Ω
    drop: float  #: V
    cut_off: float  #: V d.c.
    fade: float  #: V below it over which the current falls to zero
    leakage: float  #: Ω across the inlet

    @classmethod
    def of(cls, bridge: Bridge):
        """Return the model of a `Bridge` (without its hysteresis)."""
        return cls(bridge.power, bridge.capacitance, bridge.resistance, bridge.drop, bridge.cut_off, bridge.fade,
                   bridge.leakage)

    def taken(self, link):
        """Return the power (W) behind a link of `link` (V): constant down to the cut-off, then fading to nothing."""
        low = np.clip((np.asarray(link, float) - self.cut_off + self.fade) / self.fade, 0, 1)
        return self.power * low * low * (3 - 2 * low)

    def link(self, voltage):
        """Return the link's mean voltage (V) at `voltage` (V r.m.s.)."""
        crest = np.sqrt(2) * np.asarray(voltage, float)[..., None]
        full = np.maximum(crest - self.drop, 0.0)
        levels = full * _GRID
        surplus = self._charging(crest, levels) * levels - self.taken(levels)
        enough = surplus >= 0
        first = np.argmax(enough, axis=-1)
        first = np.where(enough.any(axis=-1), first, len(_GRID) - 1)[..., None]
        high = np.take_along_axis(levels, np.maximum(first - 1, 0), -1)[..., 0]
        low = np.take_along_axis(levels, first, -1)[..., 0]
        for _ in range(50):
            middle = (low + high) / 2
            holds = self._charging(crest[..., 0], middle) * middle >= self.taken(middle)
            low, high = np.where(holds, middle, low), np.where(holds, high, middle)
        return low

    def _charging(self, crest, link):
        """Mean current (A) into the link; ω drops out."""
        return pulse(crest, link + self.drop, self.resistance, 1.0) / np.pi

    def settled(self, voltage):
        """Return the conductance (S) at `voltage` (V r.m.s.), from the power that goes in."""
        voltage = np.asarray(voltage, float)
        crest, link = np.sqrt(2) * voltage, self.link(voltage)
        level = link + self.drop
        angle = np.arccos(np.clip(level / np.maximum(crest, 1e-12), -1, 1))
        # ⟨i u⟩ with i = (E cos − level)/R inside ±angle of each crest
        drawn = crest * (crest * (angle + np.sin(2 * angle) / 2) - 2 * level * np.sin(angle)) / (np.pi * self.resistance)
        return np.maximum(drawn, 0.0) / np.maximum(voltage, 1e-9) ** 2 + 1 / self.leakage

    def admittance(self, state):
        return np.asarray(state) + 0j

    def rate(self, state, voltage):
        """Return d(state)/dt (S/s): towards `settled`, with the time constant of the link there.

        The link's own equation C dV/dt = ⟨i⟩ − P/V, linear about its settled voltage.
        """
        link = self.link(voltage)
        step = 1e-4 * np.maximum(link, 1.0)
        crest = np.sqrt(2) * np.asarray(voltage, float)
        net = lambda v: self._charging(crest, v) - self.taken(v) / np.maximum(v, 1e-3)
        pull = (net(link - step) - net(link + step)) / (2 * step)
        return (self.settled(voltage) - state) * np.maximum(pull, 1e-6) / self.capacitance
