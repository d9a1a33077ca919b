"""Protective devices: what each watches, at which value and after which time it operates. A device has no admittance."""

from collections.abc import Callable
from math import inf

from lostneutral import data
from lostneutral.case.model import Case, Load
from lostneutral.circuit.solution import Solution
from lostneutral.consequences.limits import ROUNDING, Yardstick, published
from lostneutral.consequences.touch import touch_voltages
from lostneutral.frozen import dataclass

WOULD, MAY, WOULD_NOT, UNKNOWN = "would operate", "may operate", "would not operate", "not known"


@dataclass(frozen=True)
class Threshold:
    """Up to `never` a device does not operate; from `always` on it does, within `within` s, not before `not_before` s.

    Where `always` is below `never` it watches for a fall.
    """

    never: float
    always: float
    unit: str
    within: float = inf  #: s
    yardstick: Yardstick | None = None  #: where `always` is published
    not_before: float = 0.0  #: s


@dataclass(frozen=True)
class Device:
    """One device: a quantity of the circuit that it watches, its threshold, and the poles that it opens.

    `watched(case, solution)` gives the quantity (in the threshold's unit), or None where nothing determines it. What
    the device moves (`poles`: conductors of the cable that feeds `point`) is said, not carried out, in a settled state.
    """

    kind: str  #: of device, or what it watches
    point: str  #: the device stands in the cable that feeds this point
    poles: tuple[str, ...]
    watched: Callable[[Case, Solution], float | None]
    threshold: Threshold


@dataclass(frozen=True)
class Judged:
    """What one device is expected to do in one settled state."""

    device: Device
    value: float | None  #: of what it watches
    answer: str  #: WOULD | MAY | WOULD_NOT | UNKNOWN


def judged(device: Device, case: Case, solution: Solution, lasts: float = inf) -> Judged:
    """Return what `device` is expected to do where `solution` lasts, or lasts for so long (s)."""
    value, at = device.watched(case, solution), device.threshold
    if value is None:
        return Judged(device, None, UNKNOWN)
    falls = -1.0 if at.always < at.never else 1.0
    reached = falls * value >= falls * at.always - ROUNDING * abs(at.always)
    begun = falls * value > falls * at.never + ROUNDING * abs(at.never)
    soon = lasts >= at.within or at.within == inf
    answer = WOULD if reached and soon else MAY if begun and lasts > at.not_before else WOULD_NOT
    return Judged(device, value, answer)


def residual_current(point: str):
    """Return what sums the conductors of the cable that feeds `point`, lines and neutral (A), as a device there would."""
    def watched(case, solution):
        names = (*case.point(point).phases, "N")
        found = [solution.currents.get((point, name)) for name in names]
        return None if any(i is None for i in found) else abs(sum(found))

    return watched


def residual_current_device(case: Case, point: str) -> Device:
    """Return a residual-current device of the usual rating (30 mA; data file `protection`) in the cable that feeds `point`."""
    entry = data.load("protection")["residual_current_device"]
    rated = entry["value"]
    return Device("residual-current device", point, (*case.point(point).phases, "N"), residual_current(point),
                  Threshold(rated * entry["never_share"], rated, "A", entry["within"], published(entry)))


def overload_relay(case: Case, load: Load) -> Device:
    """Return a thermal overload relay of a three-phase motor, set to its rated current (data file `machine`)."""
    entry = data.load("machine")["overload_relay"]

    def watched(case, solution):
        seen = next(x for x in solution.loads if x.name == load.name)
        return seen.details.get("current_ratio") if seen.on else None

    return Device("thermal overload relay", load.point, load.connect[:3], watched,
                  Threshold(entry["never"], entry["always"], entry["unit"]))


def open_pen_devices(case: Case, load: Load) -> tuple[Device, Device]:
    """Return the two devices for an open PEN that a vehicle charger `load` may have; either opens L, N and PE.

    The first senses the protective conductor against an electrode of its own, the second watches each of its lines to
    neutral for leaving a window: what it watches is how far (V) the worst is outside. Data file `protection`.
    """
    entry = data.load("protection")["open_pen_device"]
    lines = tuple(c for c in load.connect if c in case.point(load.point).phases)

    def to_earth(case, solution):
        return touch_voltages(case, solution).get(load.point)

    def outside(case, solution):
        found = [solution.voltage(load.point, line) for line in lines]
        return None if not found or None in found else max(max(entry["low"] - abs(v), abs(v) - entry["high"]) for v in found)

    limit, poles = entry["earth_limit"], (*lines, "N", "PE")
    return (Device("sensing touch voltage", load.point, poles, to_earth,
                   Threshold(limit, limit, "V", entry["disconnect_within"], published(entry, limit))),
            Device("watching line to neutral", load.point, poles, outside,
                   Threshold(0.0, 0.0, "V", entry["window_disconnect_within"])))
