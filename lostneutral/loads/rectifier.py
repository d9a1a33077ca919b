"""A power supply with bridge and bulk capacitor at phasor cost: the charge balance of its pulses over a cycle."""

from dataclasses import fields
from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads import electronic
from lostneutral.loads.bridge import Bridge
from lostneutral.loads.electronic import Electronic

_DATA = data.load("waveform")
MOST = 1.16  #: rad, half angle at which an inlet passes the most power it can: tan φ = 2 φ


def half_angle(resistance, conductance):
    """Return half the angle φ (rad) for which a bridge conducts about each crest, at most `MOST`.

    `resistance` (Ω) of the inlet, `conductance` (S) that the bridge shows to the fundamental. The current (E cos θ − E cos φ) / R
    in −φ … φ of each crest has the fundamental E (2φ − sin 2φ) / (π R), in phase with the voltage.

    >>> print(np.round(half_angle(5.0, np.array([0.0, 1e-6, 60 / 230**2, 1.0])), 4))
    [0.     0.0228 0.2382 1.16  ]
    """
    turn = np.pi * np.asarray(resistance) * conductance
    angle = np.cbrt(0.75 * turn)
    angle = np.minimum(angle * (1 + angle * angle / 15), MOST)  # of a series
    for _ in range(3):
        angle = angle - (2 * angle - np.sin(2 * angle) - turn) / np.maximum(4 * np.sin(angle) ** 2, 1e-12)
        angle = np.minimum(angle, MOST)
    return angle


@dataclass(frozen=True)
class Rectifier(Electronic):
    """An electronic load with a bridge and a bulk capacitor, averaged over a cycle, on a voltage that is near enough a sine.

    Its power at the inlet is that of an `Electronic` load, as appliances are rated and measured. The charge that the two
    pulses of a cycle bring is what the link gives away, which says how long they are (`half_angle`) and where the link
    stands, √2 v cos φ − drop; its ripple is left out. The pulses lie evenly about the crest, so that the fundamental is in
    phase with the voltage. State: the conductance (S); it follows with the time constant of the link on its pulses,
    C / (2φ/(π R) − P/V²), milliseconds, not with the hold-up time.

    Range, found by comparison with the waveform model. Sound neutral, 1 to 10 µF/W and 1 to 20 Ω at 100 W: mean link
    within 4 % (the ripple); the power at the inlet is less by what inlet and diodes lose there on top of the rated power, 2 % at 1 Ω,
    4 % at 5 Ω, 10 % at 20 Ω. A joint R_N in the neutral of a star of 260 to 310 W in all, 3 µF/W, 1 Ω: r.m.s. voltages within 1.5 % while R_N ΣP / U0² is up to 0.12 and the star
    point's shift up to 7 % of U0, within 5 % up to 0.3; the links are lower than here well before (13 % at 0.12), for the
    joint takes the crests off. Above that, and with the neutral open, it is wrong, and `stands_in` says so: a star of
    rectifiers is held by its pulses where constant powers in phasors are not, or collapses for reasons of theirs (derived
    and tried in `tests/waveform/charge_star.py`). An inlet passes no more than 0.5 v²/R; beyond that it says nothing.

    >>> tv = Rectifier(power=60.0, voltage=230.0)
    >>> print(f"link {tv.link(230.0):.0f} V, follows in {1e3 / tv.pace(230.0):.1f} ms")
    link 314 V, follows in 2.0 ms
    """

    inlet_resistance: float = _DATA["inlet_resistance"]["value"]  #: Ω
    bridge_drop: float = _DATA["bridge_drop"]["value"]  #: V
    inlet_leakage: float | None = None  #: Ω across the inlet; None: as of an `Electronic` load
    suppressor: float = 0.0  #: F across the inlet
    frequency: float = 50.0  #: of the supply, Hz

    @property
    def bridge(self):
        """Its thresholds as crests; a delay to drop out is what the link holds up."""
        (low, high), cut, leaks = np.sqrt(2) * np.array(self.healthy), np.sqrt(2) * self.works_from, self.inlet_leakage
        return Bridge(self.power, self.bulk_capacitance, self.inlet_resistance, self.bridge_drop, cut, np.maximum(low, cut),
                      cut * electronic.FADE, _DATA["leakage"]["value"] if leaks is None else leaks, self.suppressor,
                      np.sqrt(2) * (np.inf if self.cuts_out_above is None else self.cuts_out_above), high,
                      self.restart_delay, self.on_or_off)

    @property
    def clamp(self):
        return None if self.varistor is None else self.varistor.clamp

    @property
    def _susceptance(self):
        return 2j * np.pi * self.frequency * np.asarray(self.suppressor)

    @cached_property
    def leakage(self):
        return super().leakage if self.inlet_leakage is None else 1 / np.asarray(self.inlet_leakage, float)

    def admittance(self, state):
        return super().admittance(state) + self._susceptance

    def response(self, voltage):
        y, slope = super().response(voltage)
        return y + self._susceptance, slope

    def rate(self, state, voltage):
        settled = self.settled(voltage)
        return (settled - state) * self._pace(voltage, settled)

    def slopes(self, state, voltage):
        """Return the slopes in closed form, but for that of the pace, which is a difference."""
        settled, slope = self._settled(voltage)
        pace, push = self._pace(voltage, settled), 1e-4 * np.maximum(voltage, 1e-3)
        quicker = (self.pace(voltage + push) - self.pace(voltage - push)) / (2 * push)
        by_state = 0.0 if self.mode == "cut off" else 1.0
        return -pace, slope * pace + (settled - state) * quicker, by_state

    def link(self, voltage):
        """Return the link's mean voltage (V d.c.) at `voltage` (V r.m.s.)."""
        return self._balance(voltage, self.settled(voltage))[1]

    def pace(self, voltage):
        """Return the reciprocal (1/s) of the time constant at `voltage` (V): no slower than the hold-up time."""
        return self._pace(voltage, self.settled(voltage))

    def _pace(self, voltage, settled):
        angle, link = self._balance(voltage, settled)
        pull = 2 * angle / (np.pi * self.inlet_resistance) - settled * (voltage / np.maximum(link, 1e-3)) ** 2
        return np.maximum(pull / self.bulk_capacitance, 1 / self.lag)

    def _balance(self, voltage, settled):
        angle = half_angle(self.inlet_resistance, settled)
        return angle, np.maximum(np.sqrt(2) * np.asarray(voltage) * np.cos(angle) - self.bridge_drop, 0.0)


def from_keys(given):
    """Return the model of an electronic load of the case: a `Rectifier` where that is its front end."""
    model = electronic.from_keys(given)
    if not model.stands_in:
        return model
    own = given.load.parameters
    return Rectifier(
        **{f.name: getattr(model, f.name) for f in fields(model)},
        inlet_resistance=given.value("inlet_resistance", _DATA["inlet_resistance"]),
        bridge_drop=given.value("bridge_drop", _DATA["bridge_drop"]), inlet_leakage=own.get("leakage"),
        suppressor=own.get("suppressor", 0.0), frequency=given.supply.frequency)
