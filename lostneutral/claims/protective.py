"""Claims on devices for power-frequency overvoltage, surge protective devices and the tolerance of information equipment."""

from math import inf

from lostneutral import data
from lostneutral.case.checks_devices import usual_window
from lostneutral.claims.incident import Incident
from lostneutral.claims.lines import highest
from lostneutral.claims.model import About, Claim, Kind, Moment, Rank, sure
from lostneutral.consequences import devices
from lostneutral.consequences.devices import MAY, UNKNOWN, WOULD, WOULD_NOT, judged
from lostneutral.consequences.limits import Yardstick, cite, published
from lostneutral.consequences.protection import covered, iti_limits, overvoltage_device, protections, surge_device
from lostneutral.consequences.upstream import pen_breaks
from lostneutral.loads import load_model

_DATA = data.load("protection")


def overvoltage_device_acts(moment: Moment):
    """Yield when a power-frequency overvoltage device, had one been fitted, would have opened, or that it would not.

    Nothing of a voltage that ends before it would have.
    """
    top = highest(moment.case, moment.solution)
    if top is None or not covered(moment.case) or not moment.case.breaks_after():
        return
    entry, (volts, line, point) = _DATA["overvoltage_device"], top
    acts = overvoltage_device(volts)
    if acts and _lasts(moment) < acts.earliest:
        return
    yield Claim(Kind.OVERVOLTAGE_DEVICE, About("line", line), Rank.NOTE, (point,), moment.condition, "voltage to neutral", "V",
                volts, yardstick=Yardstick(entry["never_acts_at"], "V", cite(entry), data.KNOWN[entry["known_never"]],
                                           "high" if acts else "reference"), because=sure(moment),
                facts={"acts": acts is not None, "earliest": acts and acts.earliest, "latest": acts and acts.latest,
                       "from": entry["points"][0]["voltage"], "never": entry["never_acts_at"]})


_SURE = (WOULD, MAY, WOULD_NOT, UNKNOWN)
"""Answers of a device, the surest first that it acts."""


def open_pen_devices(incident: Incident):
    """Yield, for each vehicle charger, what a device for an open PEN would do, by touch voltage and by line to neutral.

    Of all moments the one in which it is surest to act counts; for less than `need_not_act_before` it need not.
    """
    entry, limit = _DATA["open_pen_device"], data.load("touch")["limit_normal"]["value"]
    if not usual_window(incident.case.supply.nominal):  # made for other supplies
        return
    for load in incident.case.loads:
        if not load_model(load, incident.case.supply)[0].charges_vehicle:
            continue
        met = [_met(moment, load, entry) for moment in incident.moments if pen_breaks(moment.case, moment.case.point(load.point))]
        if not met:
            continue
        touch = min(met, key=lambda m: (_SURE.index(m["touch"]), -(m["to_earth"] or 0.0)))
        window = min(met, key=lambda m: (_SURE.index(m["window"]), -(m["outside"] or 0.0)))
        unseen = any((m["to_earth"] or 0.0) > limit and WOULD not in (m["touch"], m["window"]) for m in met)
        yardstick = None if touch["to_earth"] is None else published(entry, entry["earth_limit"],
                                                                     "high" if touch["to_earth"] > entry["earth_limit"] else "reference")
        yield Claim(Kind.OPEN_PEN_DEVICE, About("item", load.name), Rank.WARNING if unseen else Rank.NOTE, (load.point,),
                    touch["condition"], "voltage to remote earth", "V", touch["to_earth"], yardstick=yardstick,
                    because=sure(incident.moments[-1]), facts={
                        "touch": touch["touch"], "window": window["window"], "lines": window["lines"], "unseen": unseen,
                        "low": entry["low"], "high": entry["high"], "limit": entry["earth_limit"],
                        "within": entry["disconnect_within"], "seconds": entry["need_not_act_before"]})


def _met(moment, load, entry):
    """What both devices of a charger meet in a moment, and what they do about it."""
    touch, window = (judged(device, moment.case, moment.solution) for device in devices.open_pen_devices(moment.case, load))
    short = _lasts(moment) < entry["need_not_act_before"]
    answers = [MAY if short and j.answer == WOULD else j.answer for j in (touch, window)]
    lines = tuple(abs(v) for line in window.device.poles if line in moment.case.supply.lines
                  and (v := moment.solution.voltage(load.point, line)) is not None)
    return {"touch": answers[0], "window": answers[1], "to_earth": touch.value, "outside": window.value, "lines": lines,
            "condition": moment.condition}


def _lasts(moment):
    """Return how long (s) what is so in `moment` is so at a time."""
    return min(moment.condition.lasts, moment.condition.end - moment.condition.start)


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
