"""All claims of an incident: made for each of its moments, the worst kept with its spread, the same thing at several points joined."""

from dataclasses import replace
from math import inf

from lostneutral.circuit.record import ABOUT
from lostneutral.claims import conductors, installed, items, lines, live, protective, settling
from lostneutral.claims.hanging import hangs_on
from lostneutral.claims.incident import Incident
from lostneutral.claims.model import Claim, Kind, seconds
from lostneutral.claims.observed import observations
from lostneutral.claims.unverified import with_unverified

# Each takes a `Moment` and yields claims; a claim of a new kind is one more function here, or below.
MAKERS = (
    live.metalwork,
    live.person,
    live.between_metalwork,
    live.neutral,
    live.charging_points,
    conductors.joint_heat,
    conductors.transposed,
    conductors.diverted,
    conductors.carried_before,
    conductors.fault_devices,
    lines.outside_band,
    lines.insulation,
    lines.beyond_triangle,
    lines.temporary_overvoltage,
    lines.floating,
    protective.overvoltage_device_acts,
    protective.surge_devices,
    protective.iti_curve,
    items.saturating,
    items.extrapolated,
    items.unequal_lines,
    installed.unearthed_source,
    installed.high_voltage_fuse,
)
_ORDER = {kind: number for number, kind in enumerate(Kind)}
_ONE_OF_ALL = (Kind.PERSON, Kind.BETWEEN_METALWORK, Kind.INSULATION, Kind.BEYOND_TRIANGLE, Kind.TEMPORARY_OVERVOLTAGE,
               Kind.OVERVOLTAGE_DEVICE, Kind.SURGE_DEVICES, Kind.FAULT_DEVICES, Kind.DIVERTED, Kind.BOND_HEAT)
"""Kinds of which only the worst of the whole incident is told, wherever it is."""
_EACH = (Kind.EXTRAPOLATED, Kind.UNEQUAL_LINES, Kind.CARRIED, Kind.JOINT_HEAT, Kind.TRANSPOSED)
"""Kinds that are told for each place by itself: another place is another thing."""


def gathered(incident: Incident, before, after, verdicts, *, readings=(), electrode=None, opened=(), fed=(), brief=(), hinges=None,
             not_followed="", pulses=False) -> tuple[Claim, ...]:
    """Return every claim of `incident`, the gravest first; what is alike at several points is one claim with its places.

    `before` and `after` are the settled `State`s, the rest what the studies found: `TouchRange`, `main_switch`,
    `Hinges`, and of each moment what `feeding_impedances` has; `not_followed` is the code of why the incident was not
    followed in time, if it should have been; `pulses` tells that the states are those of waveforms.
    """
    case = incident.case
    sound = next((m.before for m in incident.moments), None) or next(iter(before.solutions), None)
    moments = [replace(moment, fed=of) for moment, of in zip(incident.moments, fed)] if fed else incident.moments
    made = [claim for moment in moments for maker in MAKERS for claim in maker(moment)]
    joined = tuple(_after_failure(claim, incident) for claim in _joined(made))
    once = (*items.items(incident, verdicts), *items.burning(verdicts), *protective.open_pen_devices(incident), *live.electrode(case, electrode),
            *live.main_switch(case, opened), *settling.settled_states(case, before, after),
            *settling.not_followed(incident, not_followed), *(() if pulses else settling.rectifiers(case)), *settling.reader_warnings(case),
            *settling.what_happened(incident), *hangs_on(hinges), *observations(incident, verdicts, readings, sound),
            *installed.devices(incident), *installed.brief_stages_told(brief))
    earlier = _joined([*lines.outside_band_before(case, sound)]) if incident.ever else ()
    return ranked(with_unverified(_pointed((*joined, *once, *earlier, *lines.drop_before(case, sound))), case))


def at_premises(claims, incident: Incident, points) -> tuple[Claim, ...]:
    """Return `claims` as they are for one of several premises, whose `points` are named.

    Voltages, neutral and metalwork are those of these points, items those connected there. What is told of the worst
    place alone (`_ONE_OF_ALL`), of the fault and of readings stays, wherever it is.
    """
    there = set(points)
    loads = {load.name for load in incident.case.loads if load.point in there}
    kept = [c for c in claims if c.kind not in _AT_POINTS and (c.kind not in _OF_ITEMS or c.about.name in loads)
            and (c.kind not in _OF_ONE_POINT or there & set(c.where))]
    made = [c for moment in incident.moments for maker in (live.metalwork, live.neutral, lines.outside_band, lines.floating)
            for c in maker(moment) if there & set(c.where)]
    return ranked(with_unverified(_pointed((*kept, *_joined(made))), incident.case))


_AT_POINTS = (Kind.METALWORK, Kind.NEUTRAL_LIVE, Kind.LINE_ABOVE, Kind.LINE_BELOW, Kind.LINE_NONE, Kind.FLOATING)
_OF_ONE_POINT = (Kind.LINE_BEFORE, Kind.MAIN_SWITCH, Kind.ELECTRODE_RANGE)
_OF_ITEMS = (Kind.ITEM, Kind.SURGE_PART, Kind.WINDING, Kind.EXTRAPOLATED)


def _pointed(claims):
    """Return the claims; metalwork points to the range of electrodes only where that is among them."""
    if any(c.kind is Kind.ELECTRODE_RANGE for c in claims):
        return claims
    return tuple(replace(c, facts={**c.facts, "assumed_electrode": False}) if c.facts.get("assumed_electrode") else c for c in claims)


def ranked(claims) -> tuple[Claim, ...]:
    """Return `claims`, the gravest first, within one rank in the order of `Kind`."""
    return tuple(sorted(claims, key=lambda c: (c.rank, _ORDER[c.kind])))


def _joined(claims):
    """Return the claims with those of one thing joined: the worst of all moments and places stands for them."""
    found = {}
    for claim in claims:
        found.setdefault(_same(claim), []).append(claim)
    made = [_one(same) for same in found.values()]
    return tuple(claim for claim in made if not _was_less(claim, made))


def _after_failure(claim, incident):
    """Return `claim` on the voltage of a line, where that begins with the failure of items and lasts, with their names."""
    if "began" not in claim.facts or claim.condition.stage != "after" or incident.courses is None:
        return claim
    failed = tuple(name for name, (time, _) in incident.courses.central.failures.items() if time == claim.facts["began"])
    return replace(claim, facts={**claim.facts, "failed": failed}) if failed else claim


def _was_less(claim, made):
    """Whether `claim` tells of metalwork what it was at for a time by another cause, where the worst of it is told by its own."""
    if claim.kind is not Kind.METALWORK or claim.condition.stage != "stage":
        return False
    worse = [c for c in made if c.kind is claim.kind and c is not claim and c.worse < claim.worse]
    return all(any(place in c.where for c in worse) for place in claim.where)


def _same(claim):
    if claim.kind in _ONE_OF_ALL:
        return (claim.kind,)
    apart = claim.facts.get("live") if claim.kind is Kind.LINE_NONE else claim.facts.get("cause")
    return claim.kind, claim.rank, claim.about, apart, claim.where if claim.kind in _EACH else ()


def _one(same):
    worst = _lasting(min(same, key=lambda c: c.worse), same)
    places = tuple(dict.fromkeys(p for c in sorted(same, key=lambda c: c.worse) for p in c.where))
    spans = [end for c in same for end in (c.span or (c.value, c.value)) if end is not None]
    # Held in so many of the possible settled states: those of the worst claim's own stage.
    here = [c.condition for c in same if c.condition.end == worst.condition.end and c.where[:1] == worst.where[:1]]
    kept = places if worst.kind not in _ONE_OF_ALL or worst.kind is Kind.FAULT_DEVICES else worst.where
    return replace(worst, where=kept, span=worst.span or ((min(spans), max(spans)) if spans else None), facts={**worst.facts, **_of_all(worst, same)},
                   condition=replace(worst.condition, held=min(len(here), worst.condition.possible)))


def _of_all(worst, same):
    """Return what is told of all moments, whichever has the worst figure: the largest line current, when a line first was so (s), and what a motor
    on unequal lines comes to."""
    if worst.kind is Kind.FAULT_DEVICES and (known := [c for c in same if c.facts["line_after"] is not None]):
        most = max(c.facts["line_after"] for c in known)
        return {"line_after": most, "line_for": seconds([c.condition for c in known if c.facts["line_after"] >= (1 - ABOUT) * most])}
    if worst.kind in (Kind.LINE_ABOVE, Kind.LINE_BELOW, Kind.LINE_NONE):
        return {"began": min(c.condition.start for c in same)}
    if worst.kind is not Kind.UNEQUAL_LINES:
        return {}
    held = [c.facts["held"] for c in same if c.facts["held"] is not None]
    # a relay opens if what it is told by lasts that long
    relays = [c.facts["relay"] for c in same if c.facts["relay"] is not None and c.facts["relay"] <= seconds(
        [other.condition for other in same if other.facts["current"] >= (1 - ABOUT) * c.facts["current"]])]
    return {"held": (min(held), max(held)) if held else None, "relay": min(relays, default=None)}


def _lasting(worst, same):
    """Return `worst` for as long as about the same holds, in one stage or more; what is left in the end, if less, is told with it."""
    at = worst.condition
    if at.stage != "stage" or at.end == inf:
        return worst
    left = min((c for c in same if c.condition.stage == "after" and c.rank is worst.rank), key=lambda c: c.worse, default=None)
    if left is not None and _about(left, worst):
        return replace(worst, condition=replace(left.condition, start=at.start))
    stages = sorted((c.condition for c in same if _about(c, worst)), key=lambda one: one.start)
    for one in (*stages, *reversed(stages)):
        if one.start <= at.end and one.end >= at.start:
            at = replace(at, start=min(at.start, one.start), end=max(at.end, one.end))
    more = {} if left is None or left.value is None else {"in_the_end": left.value}
    whole, ever, longest = seconds(stages), seconds([c.condition for c in same]), at.end - at.start
    if longest * (1 + ABOUT) < whole < inf:
        more["in_all"] = whole
    if left is None and whole * (1 + ABOUT) < ever < inf:
        more["besides"] = ever - whole
    return replace(worst, condition=at, facts={**worst.facts, **more})


def _about(claim, worst):
    """Whether `claim` has about the figure of `worst`: to `ABOUT` of that, or of what both are held against."""
    if None in (claim.value, worst.value):
        return claim.value is worst.value
    return abs(claim.value - worst.value) <= ABOUT * max(abs(worst.value), worst.yardstick.value if worst.yardstick else 0.0)
