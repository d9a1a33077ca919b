"""Laws of wear: the share of a load's life that a voltage uses up per second, and the part that goes."""

import numpy as np

from lostneutral.case.model import Case, Load
from lostneutral.circuit.record import Wear
from lostneutral.loads import load_model
from lostneutral.loads.catalogue import resolve
from lostneutral.loads.wear import PACES, Law


def laws_of(load: Load, model) -> tuple[Law, ...]:
    """Return the laws of wear of a load (an appliance's are those of the kind behind it); empty if there is none.

    Sources and how each is known: ``harm.toml``. Range: any voltage; beyond what a law was measured for the harm's
    confidence falls, not the law.
    """
    return model.wear(resolve(load).parameters)


def wears(case: Case, pace: str = "central") -> dict[str, Wear]:
    """Return {load: Wear} for every load that has a law, by which a time course lets it fail.

    `pace` is "early", "central" or "late": which end of each law's band. The same laws as the table of harms.
    """
    at = PACES.index(pace)
    made = {}
    for load in case.loads:
        model = load_model(load, case.supply)[0]
        if laws := laws_of(load, model):
            made[load.name] = _wear(laws, model, load, at)
    return made


def _wear(laws, model, load, at):
    def rate(voltage, model, state):
        return np.max([law.rates(np.abs(voltage), model, state)[at] for law in laws], axis=0)

    worst = worst_law(laws, model.sizes(load.voltage * 3**0.5), model)[0].data
    return Wear(rate, worst["mode"], worst["part"], opens_above=worst.get("opens_above", Wear.opens_above))


def worst_law(laws, voltage, model, state=None):
    """Return (law, its rates) of the law that uses the load up soonest at `voltage` (V)."""
    state = model.settled(voltage) if state is None else state
    found = [(law, np.asarray(law.rates(voltage, model, state), float)) for law in laws]
    return max(found, key=lambda pair: (pair[1][1], pair[1][0]))
