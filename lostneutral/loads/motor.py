"""Single-phase induction motors of appliances: running by measured exponents, stalled, tripped."""

from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads.base import LoadModel, Low
from lostneutral.loads.simple import Exponential
from lostneutral.loads.wear import ENTRIES, PACES, Law, by_points

_DATA = data.load("motor")


def _default(name):
    return _DATA[name]["value"]


@dataclass(frozen=True)
class Motor(LoadModel):
    """A motor that takes `power` (W) at `voltage` (V) and `power_factor`; u stands for v / `voltage`.

    - "running": P = `power` u^`power_exponent`, Q likewise. State: the ratio it has adjusted to, which follows u.
    - "stalled", once both that ratio and u are below `stalls_below`: a locked rotor, a fixed impedance that takes
      `locked_current` times the rated current at rated voltage. State: `stalls_below` + the heat of the protector, as a
      share of the heat at which it trips. It runs again as soon as u is above `restarts_from`.
    - "tripped", once that share is 1: a leakage only, while the heat of the state falls to `retry_at`. Then it is
      switched on again, which with the rotor at rest is "stalled", or "running" if the voltage is back.

    A voltage at which it stalls and trips has no settled state; the motor goes on trying for as long as it lasts.

    Range: `valid_range` (ratios) for the exponents; outside, `outside_range` in `describe` is true and the figures are
    a continuation: above it a saturated core takes more reactive power than this, and overheats above about 1.25.

    >>> fridge = Motor(power=120.0, voltage=230.0)
    >>> for v in (253.0, 230.0, 195.5):
    ...     y = fridge.admittance(fridge.settled(v))
    ...     print(f"{v:.1f} V: {v**2 * y.real:.0f} W, {-(v**2) * y.imag:.0f} var")
    253.0 V: 129 W, 114 var
    230.0 V: 120 W, 90 var
    195.5 V: 106 W, 60 var
    """

    power: float
    voltage: float
    power_factor: float = _default("power_factor")
    power_exponent: float = _default("power_exponent")
    reactive_exponent: float = _default("reactive_exponent")
    stalls_below: float = _default("stalls_below")
    valid_range: tuple[float, float] = (_default("valid_from"), _default("valid_to"))
    locked_current: float = _default("locked_current")
    trip_time: float = _default("trip_time")
    locked_power_factor: float = _default("locked_power_factor")
    restarts_at: float = _default("restarts_from")
    mode: str = "running"

    modes = ("running", "stalled", "tripped")
    resting = ("running", "stalled")  # what has tripped cools, and tries again
    gives_light = False

    @property
    def measured_range(self):
        return self.valid_range

    def wear(self, given):
        over, stalled = ENTRIES["motor_overvoltage"], ENTRIES["motor_stalled"]

        def running(voltage, model, state):
            return by_points(np.asarray(voltage, float) / model.voltage * (model.mode == "running"), over, "ratio")

        def locked(voltage, model, state):
            u = np.asarray(voltage, float) / model.voltage
            lasting = np.isfinite(model.time_to_trip(voltage)) & (model.mode == "stalled")
            return np.array([np.where(lasting, u**2 / stalled[pace], 0.0) for pace in PACES])

        usual = 1 / over["usual_life"]
        return Law("motor_overvoltage", running, usual), Law("motor_stalled", locked, usual)

    def protector_acts(self, voltage):
        return float(self.time_to_trip(voltage)) if self.mode == "stalled" else np.inf

    def stopped(self, voltage, details):
        if details.get("stalled") or details.get("tripped") or voltage / self.voltage < self.stalls_below:
            return Low("stalls", "too little voltage to turn, and to heat the winding", "poor")
        return None

    def low(self, ratio, details):
        return Low("runs hot", "below its rated range a motor takes more current for the same work; how long it bears "
                   "that is not known", "poor", "winding")

    @cached_property
    def reactive_power(self):
        """At rated voltage, var."""
        return self.power * np.tan(np.arccos(self.power_factor))

    @cached_property
    def _running(self):
        return Exponential(
            self.power, self.voltage, self.reactive_power, self.power_exponent, self.reactive_exponent,
            self.valid_range, _default("lag"), _default("held_below"),
        )  # fmt: skip

    @cached_property
    def locked_admittance(self):
        """With the rotor locked, S."""
        rated = self.power / (np.asarray(self.voltage, float) ** 2 * self.power_factor)
        angle = np.arccos(self.locked_power_factor)
        return rated * self.locked_current * np.exp(-1j * angle)

    @property
    def restarts_from(self):
        """Ratio from which a stalled motor runs up again."""
        return np.maximum(self.restarts_at, self.stalls_below)

    def admittance(self, state):
        if self.mode == "running":
            return self._running.admittance(state)
        fixed = self.locked_admittance if self.mode == "stalled" else 1 / _default("leakage") + 0j
        return fixed + 0 * np.asarray(state)

    def rate(self, state, voltage):
        if self.mode == "running":
            return self._running.rate(state, voltage)
        return (self.settled(voltage) - state) / _default("cooling_time")

    @property
    def forgets(self):
        return 0.0 if self.mode == "running" else 1 / _default("cooling_time")

    def settled(self, voltage):
        u = np.asarray(voltage, float) / self.voltage
        if self.mode == "running":
            return u
        heating = _default("cooling_time") / self.trip_time * u**2 if self.mode == "stalled" else 0 * u
        return self.stalls_below + heating

    def response(self, voltage):
        """Return (y, dy/dv) in closed form; the slope is zero unless the motor runs."""
        if self.mode == "running":
            return self._running.response(voltage)
        y = self.admittance(self.settled(voltage))
        return y, 0 * y

    def slopes(self, state, voltage):
        """Return the slopes in closed form."""
        if self.mode == "running":
            return self._running.slopes(state, voltage)
        heating = 2 * np.asarray(voltage, float) / self.voltage**2 / self.trip_time if self.mode == "stalled" else 0.0
        return -1 / _default("cooling_time"), heating, 0.0

    def heat(self, state):
        """Return the heat of the protector in `state`, 1 where it trips."""
        return 0 * np.asarray(state) if self.mode == "running" else np.asarray(state) - self.stalls_below

    def margin(self, state, voltage):
        """Return how far the present mode is from its end, as a ratio of rated voltage, or of heat, in volts."""
        u = np.asarray(voltage, float) / self.voltage
        if self.mode == "running":
            left = np.maximum(state, u) - self.stalls_below
        elif self.mode == "stalled":
            left = np.minimum(1 - self.heat(state), self.restarts_from - u)
        else:
            left = self.heat(state) - _default("retry_at") + 0 * u
        return left * self.voltage

    def next_mode(self, state, voltage):
        if self.mode == "stalled":
            trips = 1 - self.heat(state) <= self.restarts_from - np.asarray(voltage, float) / self.voltage
            return "tripped" if trips else "running"
        return "stalled"

    def entered(self, state):
        """Return `stalls_below` at least: what was switched on at too low a voltage has stalled without any heat, and runs up from there."""
        return np.maximum(state, self.stalls_below)

    def describe(self, state, voltage):
        """Return stalled, tripped, heat (of the protector, 1 = trips), outside_range and overheats."""
        u = np.asarray(voltage, float) / self.voltage
        low, high = self.valid_range
        return {
            "stalled": self.mode == "stalled",
            "tripped": self.mode == "tripped",
            "heat": self.heat(state),
            "outside_range": (u < low) | (u > high),
            "overheats": u > _default("overheats_above"),
        }

    def time_to_trip(self, voltage):
        """Return how long (s) the protector bears a locked rotor at `voltage` (V) from cold; infinite if for good.

        >>> print(f"{Motor(120.0, 230.0).time_to_trip(115.0):.1f} s")
        8.3 s
        """
        u = np.asarray(voltage, float) / self.voltage
        final = _default("cooling_time") / self.trip_time * u**2
        with np.errstate(divide="ignore"):
            left = 1 - 1 / np.maximum(final, 1.0)
            return -_default("cooling_time") * np.log(left)


def from_keys(given):
    """Return the model of a load of the case, by the keys that `given` has (see `lostneutral.loads.build`)."""
    table = {**_DATA, **_DATA["machines"].get(given.value("machine", _DATA["machine"]), {})}
    keys = ("power_factor", "power_exponent", "reactive_exponent", "stalls_below")
    values = {key: given.value(key, table[key]) for key in keys}
    if not np.all((np.asarray(values["power_factor"]) > 0) & (np.asarray(values["power_factor"]) <= 1)):
        given.refuse("power_factor", np.min(values["power_factor"]), "", "above 0, up to 1")
    valid = given.value("valid_from", _DATA["valid_from"]), given.value("valid_to", _DATA["valid_to"])
    for what in ("restarts_from", "locked_current", "locked_power_factor", "trip_time", "cooling_time", "retry_at", "lag"):
        given.note(what, table[what])
    fixed = {what: table[what]["value"] for what in ("locked_current", "locked_power_factor", "trip_time")}
    return Motor(given.per_branch("power"), given.load.voltage, valid_range=valid, **values, **fixed,
                 restarts_at=table["restarts_from"]["value"])
