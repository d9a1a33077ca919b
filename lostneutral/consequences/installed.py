"""The protective devices of a case: what each watches, judged over the stages of an incident."""

from dataclasses import replace

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case, Installed
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import EARTH
from lostneutral.consequences.devices import (
    MAY,
    UNKNOWN,
    WOULD,
    WOULD_NOT,
    Device,
    Judged,
    Threshold,
    judged,
    residual_current,
)
from lostneutral.consequences.limits import published
from lostneutral.frozen import dataclass

_STRENGTH = (UNKNOWN, WOULD_NOT, MAY, WOULD)  #: of answers, the strongest last


@dataclass(frozen=True)
class Expected:
    """What one installed device is expected to do over an incident."""

    installed: Installed
    judged: Judged  #: by what decides
    start: float  #: s, of the stage that decides
    lasts: float
    supply: float | None = None  #: V, lowest at its electronics while it is needed; None: it has none, or keeps it
    overvoltage: float | None = None  #: V, at its electronics, where that is above what they bear


def criteria(case: Case, given: Installed) -> tuple[Device, ...]:
    """Return what `given` watches, one Device for each quantity."""
    table = data.load("devices")
    made = lambda what, watched, threshold: Device(what, given.point, given.poles, watched, threshold)
    if given.kind == "residual-current device":
        entry, rated = table["residual_current"], given.rated_residual
        _, general, selective, first = entry["times"][0]
        slow = given.type == "S"
        return (made("residual current", residual_current(given.point),
                     Threshold(rated * entry["never_share"], rated, "A", selective if slow else general,
                               _of(entry, rated), first if slow else 0.0)),)
    if given.kind in ("circuit-breaker", "fuse"):
        entry, rated = table["circuit_breaker" if given.kind == "circuit-breaker" else "fuse"], given.rated_current or 0.0
        slow = made("line current", _line_current(given.point), Threshold(
            entry["never"] * rated, entry["always"] * rated, "A", entry["within"], _of(entry, entry["always"] * rated), 1.0))
        if given.kind == "fuse" or given.type is None:
            return (slow,)
        instant = table["circuit_breaker_instant"]
        low, high = instant[given.type]
        return slow, made("line current", _line_current(given.point), Threshold(
            low * rated, high * rated, "A", instant["within"], _of(instant, high * rated)))
    if given.kind == "isolation monitor":
        return (made("earthed source", _earthed(given.point), Threshold(0.5, 1.0, "", 0.0)),)
    found, within, usual = [], 0.0 if given.within is None else given.within, data.load("protection")["open_pen_device"]
    source = {key: published(usual, usual[key]) if key in given.assumed else None for key in ("low", "high")}
    if given.high is not None:
        found.append(made("voltage to neutral", _line_voltage(given.point, np.max), Threshold(given.high, given.high, "V", within, source["high"], within / 2)))
    if given.low is not None:
        found.append(made("voltage to neutral", _line_voltage(given.point, np.min),
                          Threshold(given.low, given.low * (1 - 1e-9), "V", within, source["low"], within / 2)))
    if given.touch is not None:
        found.append(made("voltage to remote earth", _touch(given.point), Threshold(given.touch, given.touch, "V", within, None, within / 2)))
    return tuple(found)


def _of(entry, amps):
    return replace(published(entry, amps), unit="A")


def expected_of_devices(case: Case, moments) -> tuple[Expected, ...]:
    """Return a Expected for each device of `case` over the moments (`claims.model.Moment`) of an incident."""
    return tuple(_expected(case, given, moments) for given in case.devices)


def _expected(case, given, moments):
    found = []
    for moment in moments:
        lasts = moment.condition.end - moment.condition.start
        for device in criteria(moment.case, given):
            answer = judged(device, moment.case, moment.solution, lasts)
            found.append((answer, moment, lasts))
    answer, moment, lasts = max(found, key=lambda one: (_STRENGTH.index(one[0].answer), round(_distance(one[0]), 9), one[2]))
    supply = overvoltage = None
    if given.kind == "residual-current device" and given.supply != "none":
        limits = data.load("devices")
        volts = [_electronics(given, m) for m in moments]
        low, high = min((v[0] for v in volts if v), default=None), max((v[1] for v in volts if v), default=None)
        supply = low if low is None or low < limits["residual_current_supply"]["certain"] else None
        supply = 0.0 if low is None else supply
        bears = limits["residual_current_overvoltage"]["value"] * case.supply.nominal / limits["residual_current_overvoltage"]["nominal"]
        overvoltage = high if high is not None and high > bears else None
        if supply is not None and answer.answer == WOULD:
            answer = replace(answer, answer=MAY)
    return Expected(given, answer, moment.condition.start, lasts, supply, overvoltage)


def _distance(answer):
    """How far past (positive) or short of its threshold a quantity is, as a share of it."""
    if answer.value is None:
        return -1e9
    at = answer.device.threshold
    share = answer.value / at.always if at.always else 0.0
    return -share if at.always < at.never else share


def _electronics(given, moment):
    """Return (lowest, highest) voltage (V) that may stand at the electronics of a device, whose line is not known."""
    end = "PE" if given.supply == "functional earth" else "N"
    volts = [moment.solution.voltage(given.point, line, end) for line in moment.case.point(given.point).phases if line in given.poles]
    known = [abs(v) for v in volts if v is not None]
    return (0.0 if len(known) < len(volts) else min(known), max(known)) if known else None


def _line_voltage(point, which):
    def watched(case: Case, solution: Solution) -> float | None:
        found = [abs(v) for line in case.point(point).phases if (v := solution.voltage(point, line)) is not None]
        return which(found, axis=0) if found else None

    return watched


def _line_current(point):
    def watched(case: Case, solution: Solution) -> float | None:
        found = [solution.currents.get((point, line)) for line in case.point(point).phases]
        return None if any(i is None for i in found) else np.max(np.abs(found), axis=0)

    return watched


def _touch(point):
    def watched(case: Case, solution: Solution) -> float | None:
        volts = solution.between((point, "PE"), EARTH)
        return None if volts is None else abs(volts)

    return watched


def _earthed(point):
    def watched(case: Case, solution: Solution) -> float | None:
        if EARTH not in solution.nodes:
            return None
        return 0.0 if solution.apart.get((point, "N")) or solution.nodes.get((point, "N")) is None else 1.0

    return watched
