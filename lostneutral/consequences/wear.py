"""Laws of wear: the share of a load's life that a voltage uses up per second, and the part that goes."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case, Load
from lostneutral.circuit.incident import Wear
from lostneutral.loads import load_model
from lostneutral.loads.catalogue import resolve
from lostneutral.loads.varistor import Varistor

PACES = ("early", "central", "late")
_DATA = data.load("harm")
_HOUR = 3600.0


@dataclass(frozen=True)
class Law:
    """One way in which one load ends.

    `rates(voltage, model, state)` is the share of life used per second (1/s), early, central and late (one array row
    each), with no protection acting. It never falls as the voltage (V r.m.s.) rises above rated.
    """

    entry: str  #: of ``harm.toml``
    rates: Callable
    usual: float  #: 1/s, the wear at rated voltage

    @property
    def data(self):
        return _DATA[self.entry]


def laws_of(load: Load, model) -> tuple[Law, ...]:
    """Return the laws of wear of a load (an appliance's are those of the kind behind it); empty if there is none.

    Sources and how each is known: ``harm.toml``. Range: any voltage; beyond what a law was measured for the harm's
    confidence falls, not the law.
    """
    load = resolve(load)
    make = _MAKERS.get(load.kind)
    return make(load, model) if make else ()


def has_law(load: Load) -> bool:
    """Return whether there is a law of wear for the kind of this load."""
    return resolve(load).kind in _MAKERS


def wears(case: Case, pace: str = "central") -> dict[str, Wear]:
    """Return {load: Wear} for every load that has a law, by which a time course lets it fail.

    `pace` is "early", "central" or "late": which end of each law's band. The same laws as the table of harms.
    """
    at = PACES.index(pace)
    made = {}
    for load in filter(has_law, case.loads):
        model = load_model(load, case.supply)[0]
        made[load.name] = _wear(laws_of(load, model), model, load, at)
    return made


def _wear(laws, model, load, at):
    def rate(voltage, model, state):
        return np.max([law.rates(np.abs(voltage), model, state)[at] for law in laws], axis=0)

    worst = worst_law(laws, load.voltage * 3**0.5, model)[0].data
    return Wear(rate, worst["mode"], worst["part"], opens_above=worst.get("opens_above", Wear.opens_above))


def worst_law(laws, voltage, model, state=None):
    """Return (law, its rates) of the law that uses the load up soonest at `voltage` (V)."""
    state = model.settled(voltage) if state is None else state
    found = [(law, np.asarray(law.rates(voltage, model, state), float)) for law in laws]
    return max(found, key=lambda pair: (pair[1][1], pair[1][0]))


def by_points(at, entry, key, scales=(1.0, 1.0, 1.0)):
    """Return rates (1/s, one row a pace) from the times that `entry` lists against `key`.

    Times are interpolated on logarithmic axes and carried on with the last slope; below the first point wear is usual.
    `scales` divide `at` for early, central and late.
    """
    points = np.log(entry[key])
    rows = []
    for pace, scale in zip(PACES, scales):
        x, times = np.log(np.maximum(np.asarray(at, float) / scale, 1e-9)), np.log(entry[pace])
        beyond = times[-1] + (times[-1] - times[-2]) / (points[-1] - points[-2]) * (x - points[-1])
        inside = np.interp(x, points, times)
        time = np.where(x > points[-1], beyond, np.where(x < points[0] - 1e-12, np.log(entry["usual_life"]), inside))
        rows.append(np.exp(-time))
    return np.array(rows)


def _lamp(load, model):
    entry = _DATA["lamp"]
    technology = load.parameters.get("technology", data.load("load_defaults")["lamp"]["technology"]["value"])
    life = entry["rated_life"][technology] * _HOUR
    melting = data.load("tungsten")["melting_point"]["value"]

    def rates(voltage, model, state):
        u = np.asarray(voltage, float) / model.voltage
        # Below rated voltage the larger exponent is the slower one.
        powers = [u ** entry[f"exponent_{pace}"] for pace in PACES]
        band = np.sort(np.array(powers), axis=0)[::-1] / life
        return np.where(np.asarray(state) >= melting, 1 / entry["burn_out"]["value"], band)

    return (Law("lamp", rates, 1 / life),)


def _electronic(load, model):
    entry = _DATA["capacitor"]
    ratings = np.divide(entry["ratings"], entry["ratings"][0])
    scales = (1.0, 1.0, 1.0) if "capacitor_rating" in load.parameters else tuple(ratings)

    def rates(voltage, model, state):
        return by_points(model.describe(state, voltage)["capacitor_stress"], entry, "stress", scales)

    laws = (Law("capacitor", rates, 1 / entry["usual_life"]),)
    return laws if model.varistor is None else (*laws, _disc(lambda m: m.varistor))


def _varistor(load, model):
    return (_disc(lambda m: m),)


def _disc(of):
    """The runaway of the varistor `of(model)`, with the tolerance of its make as the band."""

    def rates(voltage, model, state):
        at, found = _disc_table(of(model).rating, of(model).diameter)
        return np.exp([np.interp(np.asarray(voltage, float), at, row) for row in found])

    return Law("varistor", rates, 1 / _DATA["varistor"]["usual_life"])


@lru_cache(maxsize=64)
def _disc_table(rating, diameter):
    """Voltages (V) and ln of the three rates there: working them out anew at every instant would take too long."""
    entry, values = _DATA["varistor"], data.load("varistor")
    tolerance, air = values["reference_voltage"]["tolerance"], values["air"]["value"]
    at, rows = rating * np.linspace(0.5, 2.5, 801), []
    for offset in (-tolerance, 0.0, tolerance):
        disc = Varistor(rating, diameter, offset=offset)
        time = np.maximum(disc.time_to_failure(at), entry["least"])
        warm = np.minimum(disc.settled_temperature(at), values["fails_at"]["value"])
        heated = 2.0 ** ((warm - air) / entry["doubling"]) / entry["usual_life"]
        rows.append(np.log(np.maximum(1 / time, heated)))
    return at, np.array(rows)


def _heater(load, model):
    entry, over = _DATA["element"], _DATA["heater_overload"]
    most = entry["largest_temperature"][model.alloy]

    def at(temperature, melting):
        halved = [2.0 ** ((np.asarray(temperature) - most) / entry[f"halving_{pace}"]) for pace in PACES]
        # Below the largest temperature of use the steeper law is the slower one.
        band = np.sort(np.array(halved), axis=0)[::-1] / entry["life_at_most"]
        return np.where(np.asarray(temperature) >= melting, 1 / entry["burn_out"], band)

    def overload(voltage, model, state):
        power = np.asarray(voltage, float) ** 2 / model.resistance(state)[0] / model.power
        return by_points(power, over, "load")

    loaded = Law("heater_overload", overload, 1 / over["usual_life"])
    if model.cooling == "water":
        return (loaded,)
    usual = max(float(at(model.rated_temperature, np.inf)[1]), 1 / entry["usual_life"])
    return Law("element", lambda voltage, model, state: at(state, model.melting_point), usual), loaded


def _motor(load, model):
    over, stalled = _DATA["motor_overvoltage"], _DATA["motor_stalled"]

    def running(voltage, model, state):
        return by_points(np.asarray(voltage, float) / model.voltage * (model.mode == "running"), over, "ratio")

    def locked(voltage, model, state):
        u = np.asarray(voltage, float) / model.voltage
        lasting = np.isfinite(model.time_to_trip(voltage)) & (model.mode == "stalled")
        return np.array([np.where(lasting, u**2 / stalled[pace], 0.0) for pace in PACES])

    usual = 1 / over["usual_life"]
    return Law("motor_overvoltage", running, usual), Law("motor_stalled", locked, usual)


# A new law of wear is one more entry here and one in ``harm.toml``.
_MAKERS = {
    "lamp": _lamp,
    "electronic": _electronic,
    "varistor": _varistor,
    "heater": _heater,
    "motor": _motor,
}
