"""Electronic loads: power supplies, drivers, televisions, computers, which take the same power at any voltage."""

from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads.base import Low
from lostneutral.loads.converter import limited
from lostneutral.loads.switching import AT_ONCE, Switching, switching_keys
from lostneutral.loads.varistor import Varistor, disc_law, note_law
from lostneutral.loads.wear import ENTRIES, PACES, Law, by_points

_DATA = data.load("electronic")
FRONT_ENDS = ("rectifier", "corrected")
SWITCHING = ("cuts_out_above", "restarts_below", "drop_out_delay", "restart_delay", "start_current", "start_time")
EDGE = 1e-9  #: share of `works_from` above it within which a supply has come down to it, but for rounding
AT_EDGE = 1e-6  #: share of `works_from` below it within which one that goes off there is found at its edge, still on
FADE = _DATA["fade"]["value"]  #: share of `works_from` over which the current falls to zero
RESTARTS = _DATA["restarts_from"]["value"]  #: times `works_from` at which a supply starts again, if not given


def default_front_end(power):
    """Return the usual input stage by power (W): "rectifier" below 75 W, else "corrected"."""
    return "corrected" if np.mean(power) >= _DATA["front_end"]["corrected_from"] else "rectifier"


def default_window(voltage):
    """Return (works_from, works_to) in V of a universal supply; in proportion if rated (V) above its label.

    >>> low, high = default_window(230.0)
    >>> print(f"{low:.0f} to {high:.0f} V")
    90 to 264 V
    """
    scale = above_label(voltage)
    return _DATA["works_from"]["value"] * scale, _DATA["works_to"]["value"] * scale


def above_label(voltage):
    """Return by what factor a rated voltage (V) is above what universal supplies are labelled for, 1 if it is not."""
    return np.maximum(1.0, np.asarray(voltage, float) / _DATA["labelled_to"]["value"])[()]


@dataclass(frozen=True)
class Electronic(Switching):
    """An electronic load that takes `power` (W) at any voltage within its window.

    State: the conductance (S) of the input, which the load's control moves towards power / v² with the time
    constant `lag`, its hold-up time. Settled, from the top: constant power down to 1.1 × `works_from`; from there on
    the current levels off until `works_from`; below, it falls continuously to zero within 2 % of it. A supply at its
    lock-out in truth draws in bursts; this is their mean, and makes room for the settled states that are held there, of
    which `describe` says `at_cut_off`.

    With `restarts_from` above `works_from` (V) or a delay the supply is on or off, never between (see `Switching`): "cut off"
    once the voltage has been below `works_from` or above an upper cut-out `cuts_out_above` for `drop_out_delay` (s), until it
    has been between `restarts_from` and `restarts_below` for `restart_delay`; then it begins anew from nothing. An upper
    cut-out alone leaves the lower end as it is: without hysteresis it would go off and on there in no time.
    By default there is one mode only.

    Above `works_to` the law goes on (constant power); what fails there is a question of harm, for which `describe`
    gives the d.c. link against the capacitor's rating. `protection` is the rating (V r.m.s.) of a varistor at the
    input, or None; its current is part of the state. The fundamental current is in phase with the voltage; what
    `power_factor` lacks is harmonic current, which the network does not see.

    A "rectifier" (see `lostneutral.loads.rectifier`) stands in for pulses at the crests, which phasors cannot show
    (`stands_in`), so that no claim may be made about which of several phases with rectifiers collapses.

    >>> lamp = Electronic(power=100.0, voltage=230.0, front_end="corrected")
    >>> for v in (345.0, 230.0, 115.0, 80.0):
    ...     print(f"{v:.0f} V: {v * abs(lamp.admittance(lamp.settled(v))):.3f} A")
    345 V: 0.290 A
    230 V: 0.435 A
    115 V: 0.870 A
    80 V: 0.000 A
    """

    power: float
    voltage: float
    front_end: str = "rectifier"
    works_from: float = _DATA["works_from"]["value"]
    works_to: float = _DATA["works_to"]["value"]
    restarts_from: float | None = None
    power_factor: float = _DATA["power_factor"]["rectifier"]["value"]
    capacitance: float | None = None
    capacitor_rating: float = _DATA["capacitor_rating"]["value"]
    protection: float | None = None
    cuts_out_above: float | None = None
    restarts_below: float | None = None
    drop_out_delay: float = 0.0

    @cached_property
    def on_or_off(self):
        """Whether it is on or off, never between."""
        return self.cuts_out_above is not None or not self.fades

    @cached_property
    def fades(self):
        """Whether its current falls continuously to zero at the lower end of its window: neither hysteresis nor a delay is given."""
        again = self.works_from if self.restarts_from is None else self.restarts_from
        return not np.any(np.greater(again, self.works_from) | np.greater(self.drop_out_delay + np.asarray(self.restart_delay), 0))

    @property
    def below(self):
        return () if self.fades else ((self.works_from, self.drop_out_delay),)

    @property
    def above(self):
        return () if self.cuts_out_above is None else ((self.cuts_out_above, self.drop_out_delay),)

    @property
    def healthy(self):
        high = self.cuts_out_above if self.restarts_below is None else self.restarts_below
        low = 0.0 if self.fades else self.works_from if self.restarts_from is None else self.restarts_from
        return low, np.inf if high is None else high

    @property
    def stands_in(self):
        return self.front_end == "rectifier"

    @property
    def labelled_to(self):
        return self.works_to

    @property
    def cuts_off(self):
        return self.works_from, self.cuts_off_at

    @cached_property
    def varistor(self):
        """The varistor at the input, or None."""
        if self.protection is None:
            return None
        return Varistor(self.protection, data.load("varistor")["diameter_inside"]["value"])

    @cached_property
    def bulk_capacitance(self):
        """Capacitance of the d.c. link, F: given, or by power."""
        if self.capacitance is not None:
            return self.capacitance
        return _DATA["capacitance"][self.front_end]["value"] * np.asarray(self.power)

    @cached_property
    def lag(self):
        """Hold-up time, s: what the capacitor gives from rated crest to the crest of `works_from`, C (V² − v²) / P."""
        full = np.maximum(np.asarray(self.voltage, float), 1.1 * np.asarray(self.works_from))
        return self.bulk_capacitance * (full**2 - np.asarray(self.works_from) ** 2) / self.power

    @property
    def cuts_off_at(self):
        """Voltage at which nothing is drawn any more, V."""
        return np.asarray(self.works_from) * (1 - FADE if self.fades else 1.0)

    @cached_property
    def leakage(self):
        """What is left when the supply has cut off, S."""
        return _DATA["leakage"]["value"] * np.asarray(self.power) / np.asarray(self.voltage, float) ** 2

    @cached_property
    def _corners(self):
        """Voltages, V: where nothing is drawn any more, where it begins to work, over how many its current levels off, where its law is held."""
        low = np.asarray(self.works_from, float)
        return self.cuts_off_at, low, _DATA["current_limit"]["value"] * low, _DATA["held_above"]["value"] * np.asarray(self.voltage, float)

    def _running(self, voltage):
        """Settled conductance of the running supply and its slope, S and S/V."""
        ends, low, span, held = self._corners
        v = np.minimum(voltage, held)
        current, current_slope = limited(self.power, v, low, span)
        share, share_slope = 1.0, 0.0  # a supply that is on takes its full current; its mode ends where it does not
        if self.fades:
            left = np.minimum(np.maximum((v - ends) / (low - ends), 0), 1)
            share, share_slope = left**2 * (3 - 2 * left), 6 * left * (1 - left) / (low - ends)
        safe = np.maximum(v, ends)
        full = current / safe
        g = share * full + (1 - share) * self.leakage
        slope = share_slope * (full - self.leakage) + share * (current_slope - full * (v >= ends)) / safe
        slope = np.where(v < voltage, 0, slope)
        if self.varistor is not None:
            extra, extra_slope = self.varistor.response(voltage)
            g, slope = g + extra.real, slope + extra_slope.real
        return g, slope

    def admittance(self, state):
        return (self.leakage + 0 * np.asarray(state) if self.mode == "cut off" else np.asarray(state)) + 0j

    def rate(self, state, voltage):
        return (self.settled(voltage) - state) / self.lag

    def settled(self, voltage):
        return self._settled(voltage)[0]

    def _settled(self, voltage):
        g, slope = self._running(voltage)
        if self.mode == "cut off":
            return self.leakage + 0 * g, 0 * slope
        times = self.start_current if self.mode == "starting" else 1.0
        return times * g, times * slope

    def response(self, voltage):
        """Return (y, dy/dv) in closed form."""
        g, slope = self._settled(voltage)
        return g + 0j, slope + 0j

    def slopes(self, state, voltage):
        """Return the slopes in closed form."""
        return -1 / self.lag, self._settled(voltage)[1] / self.lag, 0.0 if self.mode == "cut off" else 1.0

    def entered(self, state):
        """Return the leakage: a supply that has stopped draws nothing, and starts again from nothing."""
        return state if self.mode == "running" and "starting" in self.modes else self.leakage + 0 * state

    def wear(self, given):
        entry = ENTRIES["capacitor"]
        ratings = np.divide(entry["ratings"], entry["ratings"][0])
        scales = (1.0, 1.0, 1.0) if "capacitor_rating" in given else tuple(ratings)

        def rates(voltage, model, state):
            return by_points(model.describe(state, voltage)["capacitor_stress"], entry, "stress", scales)

        laws = [Law("capacitor", rates, 1 / entry["usual_life"])]
        single = np.max(self.voltage) <= ENTRIES["single_voltage"]["rated_to"] and given.get("front_end") != "corrected"
        if single and not {"capacitor_rating", "works_to"} & set(given):
            laws.append(Law("single_voltage", _single_voltage, 1 / ENTRIES["single_voltage"]["usual_life"]))
        return tuple(laws) if self.varistor is None else (*laws, disc_law(lambda model: model.varistor))

    def stopped(self, voltage, details):
        if details.get("works") is not False:
            return None
        held = self.fades and self.cuts_off_at < voltage < self.healthy[1]  # beyond, an upper cut-out has switched it off
        return Low("goes on and off" if held else "does not run")

    def low(self, ratio, details):
        return Low("unharmed", "it takes more current and works on")

    def capacitor_limits(self):
        """Return the voltages (V r.m.s.) whose crest reaches the capacitor's rating, and its surge voltage.

        >>> rated, surge = Electronic(60.0, 230.0, capacitor_rating=450.0).capacitor_limits()
        >>> print(f"{rated:.0f} V, {surge:.0f} V")
        318 V, 350 V
        """
        rating, surge = np.asarray(self.capacitor_rating, float), _DATA["capacitor_surge"]
        factor = np.where(rating <= surge["up_to"], surge["factor_up_to"], surge["factor_above"])
        return (rating / np.sqrt(2))[()], (rating * factor / np.sqrt(2))[()]

    def describe(self, state, voltage):
        """Return link_voltage (V d.c.), its ratio to the capacitor's rating, where in the window, and harmonics.

        `at_cut_off`: held at its cut-off, where the supply goes on and off faster than the voltage moves.
        """
        voltage = np.asarray(voltage, float)
        crest = np.sqrt(2) * voltage
        boosted = _DATA["boosted_link"]["value"] * above_label(self.voltage)
        least = self.works_from * (1 + EDGE if self.fades else 1 - AT_EDGE)
        works = (voltage > least) & (self.mode != "cut off")
        link = crest if self.front_end == "rectifier" else np.where(works, np.maximum(crest, boosted), crest)
        told = {
            "link_voltage": link,
            "capacitor_stress": link / self.capacitor_rating,
            "works": works,
            "above_window": voltage > self.works_to,
            "at_cut_off": (voltage > self.cuts_off_at) & (voltage < self.works_from),
            "harmonic_share": np.sqrt(1 - np.asarray(self.power_factor) ** 2),
        }
        if self.varistor is not None:
            told |= self.varistor.describe(self.varistor.settled(voltage), voltage)
        return told


def _single_voltage(voltage, model, state):
    """The rates of wear (1/s) of a supply that may be one for its rated voltage alone: only at their early end it is."""
    entry = ENTRIES["single_voltage"]
    early = by_points(np.sqrt(2) * np.abs(voltage) / entry["rating"], ENTRIES["capacitor"], "stress")[PACES.index("central")]
    usual = np.full_like(early, 1 / entry["usual_life"])
    return np.array([early, usual, usual])


def from_keys(given):
    """Return the model of a load of the case, by the keys that `given` has (see `lostneutral.loads.build`)."""
    power, voltage, scale = given.per_branch("power"), given.load.voltage, above_label(given.load.voltage)
    front_end = given.value("front_end", {**_DATA["front_end"], "value": default_front_end(power), "unit": ""})
    scaled = {
        key: given.value(key, {**_DATA[key], "value": _DATA[key]["value"] * scale})
        for key in ("works_from", "works_to", "capacitor_rating")
    }
    if not np.all(np.less(scaled["works_from"], scaled["works_to"])):
        given.refuse("works_to", np.min(scaled["works_to"]), "V", f"above works_from, {np.max(scaled['works_from']):g} V")
    again = given.value("restarts_from", _DATA["restarts_from"]) if "restarts_from" in given.load.parameters else None
    protection = given.value("protection", _DATA["protection"])
    model = Electronic(
        power, voltage, front_end, restarts_from=again, **scaled,
        power_factor=given.value("power_factor", _DATA["power_factor"][front_end]),
        capacitance=given.per_branch("capacitance") if "capacitance" in given.load.parameters else None,
        protection=None if protection == "none" else protection, **switching_keys(given, *SWITCHING),
    )  # fmt: skip
    if model.capacitance is None:
        given.note("capacitance", _DATA["capacitance"][front_end])
    if model.fades and again is None:
        given.note("restarts_from", _DATA["restarts_from"])
    if np.any(np.not_equal(model.back_after, model.restart_delay)):
        given.note("restart_delay", AT_ONCE)
    for what in ("current_limit", *(("fade",) if model.fades else ()), "leakage"):
        given.note(what, _DATA[what])
    if model.stands_in:
        given.assume("current of a rectifier in the sine-wave picture", "its fundamental, of the rated power",
                     "phasors cannot show its pulses", "A")
    if model.varistor is not None:
        given.note("varistor's diameter", data.load("varistor")["diameter_inside"])
        note_law(given, model.varistor)
    return model
