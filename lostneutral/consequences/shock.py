"""What a touch voltage may do to a person: body impedance, current and zone, always as an indication.

Nothing here says that contact is without danger: the tables are for part of the people, dry skin may be wet, and
the current of a touch changes as soon as a load is switched.
"""

import numpy as np

from lostneutral import data
from lostneutral.consequences.limits import cite
from lostneutral.errors import UsageError

PERCENTILES = (5, 50, 95)
_ROUNDS = 50  #: of finding the voltage that is left across a body: each leaves a share of the last one's error
LONG = 10.0  #: s; a broken neutral lasts until somebody ends it


def editions():
    """Return the names of the tables of body impedance, dry ones first."""
    return tuple(entry["name"] for entry in data.load("touch")["body_impedance"])


def body_impedance(volts, percentile=5, edition="dry, 2005 and 2018", path="hand_to_hand"):
    """Return the total body impedance (ohm) at touch voltage `volts` (V) that `percentile` % of people do not exceed.

    Interpolated in the voltage between the rows of the table, held at its ends; a water-wet table goes over into the
    dry one of its edition where it ends. `path` is a key of `body_path_factor` in the data file `touch`. 15 to 100 Hz,
    large contact. IEC TS 60479-1, Table 1; `edition` is one of `editions()`.

    Raises UsageError for a percentile, an edition or a path that is not in the tables.

    >>> float(body_impedance(100.0, 50, "dry, 1984 and 1994"))
    1875.0
    """
    tables = {entry["name"]: entry for entry in data.load("touch")["body_impedance"]}
    factors = data.load("touch")["body_path_factor"]
    if edition not in tables:
        raise UsageError(f"no body impedance is tabulated for '{edition}' — one of: {'; '.join(tables)}")
    if percentile not in PERCENTILES:
        raise UsageError(f"body impedance is tabulated for {PERCENTILES} % of people, not {percentile:g} %")
    if not isinstance(factors.get(path), float):
        raise UsageError(f"no factor is known for the path '{path}' — one of: hand_to_hand, hand_to_foot")
    rows = tables[edition]["rows"]
    if "wet" in edition:
        rows = rows + [row for row in tables["dry, 2005 and 2018"]["rows"] if row[0] >= 150.0]
    table = np.array(rows)
    return factors[path] * np.interp(volts, table[:, 0], table[:, 1 + PERCENTILES.index(percentile)])


def body_current(volts, percentile=5, edition="dry, 2005 and 2018", path="hand_to_hand", source=0j):
    """Return the current (A) through a body that touches what is at `volts` (V) while nobody does; parameters as of `body_impedance`.

    `source` is the impedance (ohm, complex) by which that is fed: what falls across it is not across the body. The body is taken as a resistance.

    >>> round(1e3 * float(body_current(115.0, source=30e3)), 2)  # mA, of equipment that has a filter of 60 kohm to each of two conductors
    3.62
    """
    touch = current = volts
    for _ in range(_ROUNDS):
        body = body_impedance(touch, percentile, edition, path)
        current = volts / abs(source + body)
        if abs(current * body - touch) <= 1e-6 * volts:
            break
        touch = current * body
    return current


def zone(current, seconds=LONG, edition="2005", heart_factor="left_hand_to_feet", c1_factor=1.0):
    """Return the zone, "AC-1" to "AC-4", of a current (A) through the body for `seconds`: IEC TS 60479-1.

    The current is referred to the path left hand to feet by its heart-current factor. Curve b falls from its short-time
    value as long · (1 + 1/t); curve c1 joins its published points on logarithmic axes: no formula is published
    for either. Within AC-4 nothing is told apart. `c1_factor` moves curve c1, which was not checked at its source.
    """
    zones = data.load("touch")["zones"]
    milliamperes = 1e3 * current * zones["heart_current_factor"][heart_factor]
    long = zones["curve_b_long_ma_1994" if edition in ("1984", "1994") else "curve_b_long_ma_2005"]
    curve_b = min(zones["curve_b_short_ma"], long * (1 + 1 / seconds)) if seconds < LONG else long
    if milliamperes > c1_factor * curve_c1(seconds):
        return "AC-4"
    if milliamperes > curve_b:
        return "AC-3"
    return "AC-2" if milliamperes > zones["perception_ma"] else "AC-1"


def curve_c1(seconds):
    """Return the current (mA, left hand to feet) of curve c1, above which fibrillation of the heart begins."""
    times, currents = np.array(data.load("touch")["zones"]["curve_c1"]).T
    return float(np.exp(np.interp(np.log(seconds), np.log(times), np.log(currents))))


def disconnection_time(u0, system="TN"):
    """Return the longest disconnection time (s) of a final circuit at `u0` (V, a.c., line to earth), or None below 50 V.

    IEC 60364-4-41:2005, Table 41.1. It is for faults from a line to the protective conductor: a broken neutral need
    not make any device act at all.
    """
    table = data.load("protection")["disconnection_times"]
    if u0 <= 50.0:
        return None
    times = table["tt" if system == "TT" else "tn"]
    return next(t for edge, t in zip(table["columns"], times) if u0 <= edge)


def longest_time(volts, table="dry or damp places"):
    """Return the longest time (s) that a touch voltage (V) may last by a law; inf below the first point of its table.

    Between the points the curve is joined on logarithmic axes, beyond the last it is held. `table` is a name of
    `duration` in the data file `touch`: laws of France of 1991 and 1988, article 2 each; the first has the figures that
    are ascribed to IEC TR 61200-413:1996.

    >>> longest_time(150.0), round(longest_time(150.0, "dry or damp places, older law"), 6)
    (0.27, 0.1)
    """
    points = np.array(next(entry for entry in data.load("touch")["duration"] if entry["name"] == table)["points"])
    if volts < points[0, 0]:
        return float("inf")
    return float(np.exp(np.interp(np.log(volts), np.log(points[:, 0]), np.log(points[:, 1]))))


def allowed(volts):
    """Return how long laws let a touch voltage (V) last, the stricter one beside the other, as a sentence.

    Empty where none limits it. Up to 50 V by the tables of wet places, above by those of dry ones.
    """
    wet = volts <= data.load("touch")["limit_normal"]["value"]
    found = [(longest_time(volts, entry["name"]), entry) for entry in data.load("touch")["duration"]
             if entry["name"].startswith("wet") == wet]
    said = [f"{time:.2g} s ({cite(entry)}, {data.KNOWN[entry['known']]})" for time, entry in found if np.isfinite(time)]
    return f"A voltage this high may last, in {'wet' if wet else 'dry'} places, {' or '.join(said)}." if said else ""


def marks(edition="dry, 2005 and 2018"):
    """Return where the impedance, the path's factor and the zones stand, and how each is known, as one text."""
    touch = data.load("touch")
    table = next(entry for entry in touch["body_impedance"] if entry["name"] == edition)
    parts = (("impedance", table), ("path from hand to foot", touch["body_path_factor"]), ("zones", touch["zones"]))
    return "; ".join(f"{what}: {cite(entry)}, {data.KNOWN[entry['known']]}" for what, entry in parts)
