"""What a law of wear is: the share of a load's life that a voltage uses up per second."""

from collections.abc import Callable

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass

PACES = ("early", "central", "late")
ENTRIES = data.load("harm")


@dataclass(frozen=True)
class Law:
    """One way in which one load ends.

    `rates(voltage, model, state)` is the share of life used per second (1/s), early, central and late (one array row
    each), with no protection acting. It never falls as the voltage (V r.m.s.) rises above rated.
    """

    entry: str  #: of ``harm.toml``
    rates: Callable
    usual: float  #: 1/s, the wear at rated voltage
    lag: Callable = lambda voltage, model, state: 0.0  #: s by which a load takes longer that has to get to that state first

    @property
    def data(self):
        return ENTRIES[self.entry]


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
