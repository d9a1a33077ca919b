"""Claims on devices for power-frequency overvoltage, surge protective devices and the tolerance of information equipment."""

from dataclasses import replace
from math import inf

from lostneutral import data
from lostneutral.claims.lines import highest
from lostneutral.claims.model import About, Claim, Kind, Moment, Rank, sure
from lostneutral.consequences import devices
from lostneutral.consequences.devices import WOULD, judged
from lostneutral.consequences.limits import Yardstick, cite, published
from lostneutral.consequences.protection import covered, iti_limits, overvoltage_device, protections, surge_device
from lostneutral.consequences.upstream import pen_breaks
from lostneutral.loads import load_model

_DATA = data.load("protection")


def overvoltage_device_acts(moment: Moment):
    """Yield when a power-frequency overvoltage device, had one been fitted, would have opened, or that it would not."""
    top = highest(moment.case, moment.solution)
    if top is None or not covered(moment.case) or not moment.case.breaks_after():
        return
    entry, (volts, line, point) = _DATA["overvoltage_device"], top
    acts = overvoltage_device(volts)
    yield Claim(Kind.OVERVOLTAGE_DEVICE, About("line", line), Rank.NOTE, (point,), moment.condition, "voltage to neutral", "V",
                volts, yardstick=Yardstick(entry["never_acts_at"], "V", cite(entry), data.KNOWN[entry["known_never"]],
                                           "high" if acts else "reference"), because=sure(moment),
                facts={"acts": acts is not None, "earliest": acts and acts.earliest, "latest": acts and acts.latest,
                       "from": entry["points"][0]["voltage"], "never": entry["never_acts_at"]})


def open_pen_devices(moment: Moment):
    """Yield, for each vehicle charger, what a device for an open PEN would do, by touch voltage and by line to neutral."""
    case, entry = moment.case, _DATA["open_pen_device"]
    if moment.condition.stage != "after" and moment.condition.end - moment.condition.start < entry["need_not_act_before"]:
        return
    for load in case.loads:
        if not load_model(load, case.supply)[0].charges_vehicle or not pen_breaks(case, case.point(load.point)):
            continue
        touch, window = (judged(device, case, moment.solution) for device in devices.open_pen_devices(case, load))
        volts = [abs(v) for line in window.device.poles if line in case.supply.lines
                 and (v := moment.solution.voltage(load.point, line)) is not None]
        unseen = touch.value is not None and touch.value > data.load("touch")["limit_normal"]["value"] and window.answer != WOULD
        yield Claim(Kind.OPEN_PEN_DEVICE, About("item", load.name), Rank.WARNING if unseen else Rank.NOTE, (load.point,),
                    moment.condition, "voltage to remote earth", "V", touch.value,
                    yardstick=touch.value is not None and replace(touch.device.threshold.yardstick,
                                                                  edge="high" if touch.answer == WOULD else "reference") or None,
                    because=sure(moment), facts={
                        "touch": touch.answer, "window": window.answer, "lines": tuple(volts), "low": entry["low"],
                        "high": entry["high"], "limit": entry["earth_limit"], "within": touch.device.threshold.within})


def surge_devices(moment: Moment):
    """Yield a warning if a common surge protective device, were one fitted, would be above its continuous rating."""
    top = highest(moment.case, moment.solution)
    found = top and surge_device(top[0], moment.case.supply.nominal)
    if not found or found.verdict == "within its rating":
        return
    (volts, line, point), rating = top, _DATA["surge_device_continuous"]
    nominal = moment.case.supply.nominal
    common = rating["common_rating"] if nominal == 230.0 else rating["factor"] * nominal
    yield Claim(Kind.SURGE_DEVICES, About("line", line), Rank.WARNING, (point,), moment.condition, "voltage to neutral", "V",
                volts, yardstick=published(rating, common), because=sure(moment),
                facts={"seconds": found.seconds, "outcome": found.outcome})


def iti_curve(moment: Moment):
    """Yield where lines are outside the ITI curve for a lasting voltage: indicative, drawn for 120 V information equipment."""
    low, high = iti_limits(inf)
    entry, rows = _DATA["iti_curve"], protections(moment.case, moment.solution)
    if not moment.case.breaks_after():
        return
    for edge, word, limit in (("high", "above", high), ("low", "below", low)):
        found = [p for p in rows if p.iti == word]
        if found:
            worst = (max if edge == "high" else min)(p.voltage for p in found)
            yield Claim(Kind.ITI, About("lines", word), Rank.NOTE, tuple(dict.fromkeys(p.point for p in found)),
                        moment.condition, "voltage, multiple of nominal", "of nominal", worst / moment.case.supply.nominal,
                        yardstick=Yardstick(limit, "of nominal", cite(entry), data.KNOWN[entry["known"]], edge),
                        confidence="indicative", because="indicative",
                        facts={"side": word, "lines": tuple(sorted({p.line for p in found}))})
