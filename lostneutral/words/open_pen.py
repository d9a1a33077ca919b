"""The sentence on devices for an open PEN at charging points."""

from lostneutral.words.amounts import about, listed, plain, volts
from lostneutral.words.language import tell, to_tell
from lostneutral.words.said import Said
from lostneutral.words.times import duration

_BY_TOUCH = to_tell({
    "would operate": "One that senses the touch voltage would open within {within} ({figure} to earth, limit {limit} V).",
    "may operate": "One that senses the touch voltage need not open ({figure} to earth, limit {limit} V), for it lasts less than {seconds} at "
                   "a time.",
    "would not operate": "One that senses the touch voltage would not open ({figure} to earth, limit {limit} V).",
    "not known": "Whether one that senses the touch voltage would open cannot be said: the voltage to earth is not known.",
})
_BY_WINDOW = to_tell({
    "would operate": "One that watches line to neutral ({low} to {high} V) would open within {within}, at {lines}.",
    "may operate": "One that watches line to neutral ({low} to {high} V) need not open, at {lines} for less than {seconds} at a time.",
    "would not operate": "One that watches line to neutral ({low} to {high} V) would not open, at {lines}: it does not see the PEN.",
    "not known": "Whether one that watches line to neutral would open cannot be said.",
})


def open_pen_device(claim, case):
    """Return what either device for an open PEN at a vehicle charger would do, and what it does not protect."""
    facts = claim.facts
    given = {"within": duration(facts["within"]), "seconds": duration(facts["seconds"]), "limit": plain(facts["limit"]), "low": plain(facts["low"]),
             "high": plain(facts["high"]), "figure": "" if claim.value is None else about(claim.value, "V"),
             "lines": listed(tuple(volts(v) for v in facts["lines"]) or ("–",))}
    more = [tell(_BY_WINDOW[facts["window"]], **given),
            tell("Until then the vehicle is at that voltage too; other metalwork keeps it, for such a device disconnects the vehicle "
                 "alone.")]
    return Said(tell("Device for an open PEN at {item}", item=claim.about.name),
                tell("A device for an open PEN at {item}, had one been fitted, opens lines, neutral and protective conductor.",
                     item=claim.about.name), " ".join([tell(_BY_TOUCH[facts["touch"]], **given), *more]),
                None if claim.value is None else volts(claim.value))
