"""What a protective device did as evidence: how likely it operates in each state of the world, by the currents and voltages there."""

from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case, Installed
from lostneutral.consequences.installed import criteria
from lostneutral.frozen import dataclass

EITHER = 0.5  #: probability where a device may operate or not, or nothing determines what it watches


@dataclass(frozen=True, eq=False)
class Met:
    """What devices meet in rows of states, as one `Solution` tells it of one state: arrays (rows,) in place of numbers."""

    states: object  #: `world.States`

    @cached_property
    def currents(self):
        """{(point, conductor): A}."""
        return dict(zip(self.states.world.watched, self.states.through.T))

    @property
    def nodes(self):
        """Terminals whose voltage is known."""
        return self.states.world.net.node

    def voltage(self, point, line, end="N"):
        """Return the voltage (V) of a line at a point to its neutral, or to another terminal there."""
        return self.states.between((point, line), (point, end))

    def between(self, a, b):
        """Return the voltage (V) between two terminals."""
        return self.states.between(a, b)


def runs_watched(case: Case) -> tuple[tuple[str, str], ...]:
    """Return the (point, conductor) whose currents a device that was observed watches."""
    points = dict.fromkeys(o.point for o in case.observations if o.device is not None)
    return tuple((name, c) for name in points for c in (*case.point(name).phases, "N"))


def operates(case: Case, given: Installed, states, lasts: float):
    """Return the probability (rows,) that `given` operates where each row of `states` lasts `lasts` s.

    1 from the threshold on at which it must, 0 up to that at which it must not, one half between them, where it has no
    time to, or where nothing tells; and one half at least of a fuse in a line that is open there, which may be the fuse.
    Source: thresholds as of `consequences.installed.criteria`.
    """
    met, not_at_all = Met(states), np.ones(len(states.sample))
    if given.kind == "isolation monitor":
        return np.full(len(not_at_all), EITHER)
    for device in criteria(case, given):
        not_at_all = not_at_all * (1 - _reached(device.watched(case, met), device.threshold, lasts))
    chance = 1 - not_at_all
    if given.kind == "fuse":
        lines = [c for c in case.point(given.point).phases if c in given.poles]
        open_ = np.any([met.currents[given.point, line] == 0 for line in lines], axis=0)
        chance = np.where(open_, np.maximum(chance, EITHER), chance)
    if given.kind == "residual-current device" and given.supply != "none":
        end, lines = "PE" if given.supply == "functional earth" else "N", [c for c in case.point(given.point).phases if c in given.poles]
        least = np.min([np.nan_to_num(np.abs(met.voltage(given.point, line, end))) for line in lines], axis=0)
        chance = np.where(least < data.load("devices")["residual_current_supply"]["certain"], np.minimum(chance, EITHER), chance)
    return chance


def _reached(value, at, lasts):
    if value is None:
        return EITHER
    falls = -1.0 if at.always < at.never else 1.0
    sure = falls * value >= falls * at.always
    begun = falls * value > falls * at.never
    chance = np.where(sure, 1.0 if lasts >= at.within or at.within == np.inf else EITHER, np.where(begun & (lasts > at.not_before), EITHER, 0.0))
    return np.where(np.isnan(value), EITHER, chance)


def device_trust() -> float:
    """Return how far a device is taken to have done what its standard says, and to be told of rightly."""
    return data.load("evidence")["device"]["value"]
