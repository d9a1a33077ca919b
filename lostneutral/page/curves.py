"""Curves as few points and slopes as a stated error allows, for a reader that has no Python."""

import numpy as np

CHECKED_AT = (0.21, 0.5, 0.79)  #: of an interval: where the cubic is held to the law
MOST_ROUNDS = 16  #: halvings of the first intervals
FIRST = 24  #: intervals to begin with


def hermite(law, low, high, errors, least=0.0, share=0.0, slopes=None):
    """Return (points, values, slopes) of `law` over low … high: arrays (n,), (n, k), (n, k).

    `law(x)` gives k columns for an array of places, and `slopes(x)` their slopes, where they are known; else they are
    central differences. An interval is halved until the cubic through its ends is within `errors` (one a column, in its
    unit) and `share` of the value of the law at `CHECKED_AT`, or is shorter than `least`: a jump becomes a ramp.
    """
    sloped, points = slopes or central_differences(law, low, high), np.linspace(low, high, FIRST + 1)
    values, steep = law(points), sloped(points)
    open_ = np.ones(len(points) - 1, bool)
    for _ in range(MOST_ROUNDS):
        worst = np.zeros(len(points) - 1)
        at = np.flatnonzero(open_)
        x = points[at] + np.array(CHECKED_AT)[:, None] * (points[at + 1] - points[at])
        true = law(x.ravel()).reshape(*x.shape, -1)
        near = np.array([_between(points, values, steep, at, part) for part in CHECKED_AT])
        worst[at] = (np.abs(true - near) / (errors + share * np.abs(true))).max(axis=(0, 2))
        halve = open_ & (worst > 1.0) & (np.diff(points) > 2 * least)
        if not halve.any():
            break
        new = (points[:-1] + points[1:])[halve] / 2
        where = np.flatnonzero(halve) + 1
        # Only what was halved has to be looked at again.
        open_ = np.insert(np.where(halve, True, False), where - 1, True)
        points = np.insert(points, where, new)
        values, steep = np.insert(values, where, law(new), axis=0), np.insert(steep, where, sloped(new), axis=0)
    return points, values, steep


def central_differences(law, low, high):
    """Return the slopes of `law` over low … high, central differences, as a function of places."""
    step = 1e-6 * (high - low)

    def slopes(x):
        above, below = np.minimum(x + step, high), np.maximum(x - step, low)
        return (law(above) - law(below)) / (above - below)[:, None]

    return slopes


def _between(points, values, slopes, at, share):
    """Return the columns at `share` (0 … 1) of the intervals that begin at `points[at]`."""
    h = (points[at + 1] - points[at])[:, None]
    s = np.asarray(share, float)[..., None] if np.ndim(share) else share
    return ((1 + 2 * s) * (1 - s) ** 2 * values[at] + s * (1 - s) ** 2 * h * slopes[at]
            + s**2 * (3 - 2 * s) * values[at + 1] - s**2 * (1 - s) * h * slopes[at + 1])


def read(curve, x):
    """Return the columns of a curve at places `x`; beyond its ends it keeps their values."""
    points, values, slopes = curve
    x = np.clip(np.asarray(x, float), points[0], points[-1])
    at = np.clip(np.searchsorted(points, x, side="right") - 1, 0, len(points) - 2)
    return _between(points, values, slopes, at, (x - points[at]) / (points[at + 1] - points[at]))


def packed(curve):
    """Return a curve as plain lists for JSON: places, then values and slopes a column; constant columns as one number."""
    points, values, slopes = curve
    columns = []
    for column, slope in zip(values.T, slopes.T):
        if np.ptp(column) == 0.0 and not slope.any():
            columns.append(_short(column[:1], 6)[0])
        else:
            columns.append([_short(column, 6), _short(slope, 5)])
    return [_short(points, 9), columns]


def _short(values, digits):
    return [float(f"{x:.{digits}g}") for x in values]
