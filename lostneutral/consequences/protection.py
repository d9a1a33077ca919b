"""What protective devices would have done about a voltage that lasts, and when."""

from itertools import pairwise
from math import exp, inf, log

from lostneutral import data
from lostneutral.case.model import LINES, Case
from lostneutral.circuit.solution import Solution
from lostneutral.consequences.limits import ROUNDING
from lostneutral.frozen import dataclass

_DATA = data.load("protection")


@dataclass(frozen=True)
class Acting:
    """When a power-frequency overvoltage device opens: not before `earliest` (s), by `latest` (s; inf = no duty)."""

    earliest: float
    latest: float
    known: str  #: words of `data.KNOWN`


@dataclass(frozen=True)
class Surge:
    """A voltage against what surge protective devices are tested for.

    `verdict`: "within its rating", "above its rating" (tests cover it for `seconds`), "above every test".
    """

    verdict: str
    seconds: float
    outcome: str  #: what the test lets happen
    known: str


@dataclass(frozen=True)
class Protection:
    """One line to neutral at one point, against the three yardsticks; None where one does not apply."""

    point: str
    line: str
    voltage: float  #: V
    device: Acting | None  #: None also where it never acts
    iti: str  #: "above", "within", "below" the band of the ITI curve for a lasting voltage (indicative)
    surge: Surge | None


def overvoltage_device(voltage: float) -> Acting | None:
    """Return when a power-frequency overvoltage device acts at a lasting `voltage` (V, line to neutral), None = never.

    Between two points a < u < b of the table, which says nothing there, it acts no earlier than the time for which it
    must not act at b, and no later than the break time at a. From 255 V to 275 V there is no latest time; above 400 V
    no earliest. Range: 230 V 50 Hz, line to neutral. Source: EN 50550 (see ``protection.toml`` for how each is known).

    >>> for v in (250.0, 260.0, 275.0, 320.0, 420.0):
    ...     print(v, overvoltage_device(v) and (overvoltage_device(v).earliest, overvoltage_device(v).latest))
    250.0 None
    260.0 (3.0, inf)
    275.0 (3.0, 15.0)
    320.0 (0.25, 5.0)
    420.0 (0.0, 0.2)
    """
    entry = _DATA["overvoltage_device"]
    if voltage <= entry["never_acts_at"] * (1 + ROUNDING):
        return None
    points = entry["points"]
    below = [p for p in points if p["voltage"] <= voltage * (1 + ROUNDING)]
    above = [p for p in points if p["voltage"] >= voltage * (1 - ROUNDING)]
    codes = [*(p["known_latest"] for p in below[-1:]), *(p["known_not_before"] for p in above[:1])]
    return Acting(above[0]["not_before"] if above else 0.0, below[-1]["latest"] if below else inf,
                  data.KNOWN["M" if "M" in codes else codes[0]])


def iti_limits(seconds: float) -> tuple[float, float]:
    """Return the (lower, upper) ratio of nominal voltage between which the ITI curve lies after `seconds`.

    A step belongs to the wider side. Sloped pieces are straight on logarithmic axes. Drawn for 120 V 60 Hz; indicative
    elsewhere. Source: ITI (CBEMA) curve of 2000.

    >>> iti_limits(0.002)[0], round(iti_limits(0.002)[1], 3), iti_limits(0.5), iti_limits(60.0)
    (0.0, 1.597, (0.7, 1.2), (0.9, 1.1))
    """
    entry = _DATA["iti_curve"]
    return _along(entry["lower"], seconds, sloped=False), _along(entry["upper"], seconds, sloped=True)


def _along(points, seconds, sloped):
    if seconds <= points[0][0]:
        return points[0][1]
    for (t, value), (until, other) in pairwise(points):
        if t < seconds <= until:
            share = log(seconds / t) / log(until / t)
            return exp(log(value) + share * log(other / value)) if sloped and value != other else value
    return points[-1][1]


def iti_position(ratio: float, seconds: float = inf) -> str:
    """Return "above", "within" or "below" for a voltage as a ratio of nominal that lasts for `seconds`."""
    low, high = iti_limits(seconds)
    return "above" if ratio > high * (1 + ROUNDING) else "below" if ratio < low * (1 - ROUNDING) else "within"


def surge_device(voltage: float, nominal: float) -> Surge | None:
    """Return how a lasting `voltage` (V, line to neutral) stands to what a surge protective device is tested for.

    Continuous rating: the common one (275 V) on 230 V, the least allowed (1.1 U0) elsewhere. None for a nominal voltage
    of which no test figures are at hand (only 230 and 120 V are). Source: IEC 61643-11 Annex B Table B.1.

    >>> for v in (230.0, 300.0, 400.0, 450.0):
    ...     print(surge_device(v, 230.0).verdict, surge_device(v, 230.0).seconds)
    within its rating inf
    above its rating 5.0
    above its rating 7200.0
    above every test 0.0
    """
    key = f"value_{nominal:g}"
    entry, rating = _DATA["surge_device"], _DATA["surge_device_continuous"]
    if key not in entry["tests"][0]:
        return None
    if voltage <= (rating["common_rating"] if nominal == 230.0 else rating["factor"] * nominal) * (1 + ROUNDING):
        return Surge("within its rating", inf, "", data.KNOWN[rating["known"]])
    for test in entry["tests"]:
        if voltage <= test[key] * (1 + ROUNDING):
            return Surge("above its rating", test["seconds"], test["outcome"], data.KNOWN[test["known"]])
    return Surge("above every test", 0.0, "may fail in any way", data.KNOWN[entry["known"]])


def protections(case: Case, solution: Solution) -> tuple[Protection, ...]:
    """Return a Protection for each line of each point whose voltage to neutral is determined."""
    nominal, made = case.supply.nominal, []
    for point in case.points:
        for line in point.phases:
            volts = solution.voltage(point.name, line)
            if volts is None:
                continue
            size = abs(volts)
            made.append(Protection(point.name, line, size, overvoltage_device(size) if covered(case) else None,
                                   iti_position(size / nominal), surge_device(size, nominal)))
    return tuple(made)


def covered(case: Case) -> bool:
    """Return whether the overvoltage device's figures are for this supply."""
    return case.supply.nominal == _DATA["overvoltage_device"]["nominal"]


def acted_before_harm(case: Case, solution: Solution, load, harm) -> str:
    """Return whether an overvoltage device at the load's point would have opened before the load's earliest failure.

    "yes" (its latest time is before), "perhaps", "no" (its earliest time is after the central one, or it never acts),
    "" where the question does not arise: the load does not fail, is not between line and neutral, or is not on 230 V.
    """
    if not harm.fails or harm.earliest is None or set(load.connect) & {"PE"} or not covered(case):
        return ""
    lines = [c for c in load.connect if c in LINES]
    if "N" not in load.connect or not lines:
        return ""
    # A device trips all lines when any of them is too high.
    acts = [a for line in case.point(load.point).phases
            if (v := solution.voltage(load.point, line)) is not None and (a := overvoltage_device(abs(v)))]
    if not acts or min(a.earliest for a in acts) > harm.central:
        return "no"
    return "yes" if min(a.latest for a in acts) <= harm.earliest else "perhaps"
