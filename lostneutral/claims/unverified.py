"""Figures that decide a claim and were not checked against their source: what would follow if they were off."""

from dataclasses import replace

from lostneutral import data
from lostneutral.claims.model import Claim, Kind, Unverified
from lostneutral.consequences import shock
from lostneutral.loads import load_model

_NOT_CHECKED = data.KNOWN["M"]


def with_unverified(claims, case):
    """Return `claims`, each with the unverified figures that decide it."""
    return tuple(replace(c, unverified=found) if (found := tuple(_of(c, case))) else c for c in claims)


def _of(claim, case):
    """Yield the Unverified figures of `claim`: one a maker of `_MAKERS` that has something to ask."""
    for key, of in _MAKERS.get(claim.kind, ()):
        asked = of(claim, case)
        if asked is not None:
            value, unit, answer = asked
            entry = _entry(key)
            ends = tuple(factor * value for factor in entry["factors"])
            yield Unverified(key, value, unit, ends, tuple(map(answer, (value, *ends))))


def _entry(key):
    return next(entry for entry in data.load("unverified")["figure"] if entry["key"] == key)


def _person(claim: Claim, case):
    """Curve c1 decides whether a current may kill: its figure where a touch lasts."""
    value = shock.curve_c1(shock.LONG)
    amps = 1e-3 * claim.value
    return value, "mA", lambda end: shock.zone(amps, c1_factor=end / value)


def _residual(claim, case):
    limit = claim.yardstick
    if limit is None or claim.value is None or limit.known != _NOT_CHECKED:
        return None
    never = data.load("protection")["residual_current_device"]["never_share"]
    return limit.value, limit.unit, lambda end: ("would operate" if claim.value >= end else "may operate" if claim.value > never * end
                                                 else "would not operate")


def _against_yardstick(above, below):
    """Return the maker that asks on which side of its yardstick a claim's value is, in the words for each side."""
    def of(claim, case):
        limit = claim.yardstick
        if limit is None or limit.known != _NOT_CHECKED or claim.value is None:
            return None
        return limit.value, limit.unit, lambda end: above if claim.value > end else below
    return of


def _stalls(claim, case):
    """The voltage below which a motor stalls, where nobody gave it."""
    load = next(load for load in case.loads if load.name == claim.about.name)
    model, assumed = load_model(load, case.supply)
    ratio = claim.facts["verdict"].ratio
    if ratio is None or ratio >= 1 or not any(a.what == "stalls below" and _NOT_CHECKED in a.why for a in assumed):
        return None
    return float(model.stalls_below), "× rated", lambda end: "stalls" if ratio < end else "runs"


_MAKERS = {
    Kind.PERSON: (("curve_c1", _person),),
    Kind.FAULT_DEVICES: (("residual_current", _residual),),
    Kind.OVERVOLTAGE_DEVICE: (("overvoltage_never", _against_yardstick("operates", "does not operate")),),
    Kind.TEMPORARY_OVERVOLTAGE: (("temporary_overvoltage", _against_yardstick("above it", "within it")),),
    Kind.LINE_ABOVE: (("band", _against_yardstick("above limits", "within limits")),),
    Kind.LINE_BELOW: (("band", _against_yardstick("within limits", "below limits")),),
    Kind.ITEM: (("stalls_below", _stalls),),
}
