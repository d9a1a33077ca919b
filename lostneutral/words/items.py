"""What is said of items of equipment, and of several with one outcome."""

from lostneutral.claims.model import Kind
from lostneutral.words.amounts import about, amount, listed, share, soon, volts
from lostneutral.words.language import tell, to_tell
from lostneutral.words.said import Said
from lostneutral.words.terms import upper
from lostneutral.words.times import duration

OUTCOMES = to_tell({
    "unharmed": "no damage expected", "shortened life": "reduced life", "fails in days": "failure expected within days",
    "fails in hours": "failure expected within hours", "fails in minutes": "failure expected within minutes",
    "fails in seconds": "failure expected within seconds", "works weakly": "reduced output", "dim": "dim",
    "gives no light": "no light", "does not run": "not working", "goes on and off": "at the cut-off, going on and off",
    "runs in reverse": "running in reverse", "runs hot": "overheating", "stalls": "stalled", "stalls and overheats": "stalled and overheating",
    "not known": "effect cannot be stated", "cannot be said": "cannot be said", "stressed for a time": "overstressed for a time",
    "was off": "switched off"})
"""Every outcome of the result file, as it is printed: without a verb, for a name may be one of many (“Loft lamps”)."""
MODES = to_tell({"open": "open-circuit", "short": "short-circuit", "": ""})
DEVICES = to_tell({"yes": "would have disconnected first", "perhaps": "might have disconnected first", "no": "would not have prevented it", "": ""})
IF_IT_LASTS = "if new, if the condition persists and no protection operates"


def part_words(found) -> str:
    """Return "filament (open-circuit)", or an empty text."""
    part = tell(found.part) if found.part else ""
    return f"{part} ({tell(MODES[found.mode])})" if part and found.mode else part


def time_words(found) -> str:
    """Return how soon an item is expected to fail, or an empty text."""
    return soon(found.earliest, found.central, found.latest, found.later) if found.fails or found.outcome == "shortened life" else ""


def verdict_on(claim, case) -> Said:
    """Return an item's one verdict with the voltage that decides it, its light and its power."""
    found, facts, name = claim.facts["verdict"], claim.facts, claim.about.name
    if found.volts is None:
        at = tell("{item}, without a defined voltage", item=name)
    elif facts["above"] or facts["below"]:
        at = tell("{item} would be at {figure}, {share} the rated {rated}", item=name, figure=about(found.volts, "V"),
                  share=share(found.ratio), rated=volts(facts["rated"]))
    else:
        at = tell("{item} would be at {figure}", item=name, figure=about(found.volts, "V"))
    given = {"at": at, "outcome": tell(OUTCOMES[found.outcome])}
    if found.fails and found.central is not None:
        lead = tell("{at}: {outcome}, {time}, if new, if the condition persists and no protection operates.", **given, time=time_words(found))
    elif found.may_fail:
        lead = tell("{at}: {outcome}; failure within {time} is possible.", **given, time=duration(found.earliest))
    elif found.outcome == "shortened life":
        lead = tell("{at}: {outcome}; failure within a week is unlikely.", **given)
    elif found.outcome == "unharmed":
        lead = tell("{at}: no damage is expected from this condition alone.", **given)
    elif found.outcome == "cannot be said" and found.worst:
        lead = tell("{at}: {outcome}; in the worst possible state: {worst}.", **given, worst=tell(OUTCOMES[found.worst]))
    elif found.outcome == "stressed for a time":
        lead = tell("{at}: {outcome}; had the condition persisted: {worst}.", **given, worst=tell(OUTCOMES[found.worst]))
    else:
        lead = tell("{at}: {outcome}.", **given)
    return Said(name, lead, _more(found, facts), None if found.volts is None else volts(found.volts))


def _more(found, facts):
    told = []
    if facts.get("light") is not None and abs(facts["light"] - 1) > 0.1:
        share = f"{100 * facts['light']:.0f}"
        told.append(tell("The light would be {percent} % of that before.", percent=share) if facts["lit_before"] else
                    tell("The light would be {percent} % of that at rated voltage; before there was none.", percent=share))
    if facts.get("power") is not None and abs(facts["power"] / facts["rated_power"] - 1) > 0.1:
        told.append(_power(facts))
    if found.part and (found.fails or found.worst):
        told.append(tell("Component to inspect: {part}.", part=part_words(found)))
    if found.protected and found.fails:
        told.append(tell("A power-frequency overvoltage device, had one been fitted, {device}.", device=tell(DEVICES[found.protected])))
    if found.used and found.used >= 0.01 and not found.fails:
        told.append(tell("About {percent} % of the service life would be used up in the period calculated.",
                         percent=f"{100 * min(found.used, 1.0):.0f}"))
    if found.outcome == "runs in reverse":
        told.append(tell("Driven machinery may be damaged or injure someone: do not start before the phase sequence has been corrected."))
    if found.outcome == "unharmed":
        told.append(tell("If there is damage, other causes should be investigated."))
    return " ".join(told)


def _power(facts):
    given = {"now": about(facts["power"], "W"), "rated": amount(facts["rated_power"], "W")}
    element = tell(", element {temperature}", temperature=about(facts["element"], "°C")) if facts.get("element") else ""
    if facts["power"] > facts["rated_power"]:
        return tell("The power would be {now} instead of {rated}{element}; adjacent parts may overheat.", **given, element=element)
    return tell("The power would be {now} instead of {rated}{element}.", **given, element=element)


def verdict_on_several(claims, case) -> Said:
    """Return several items of one outcome, each with its voltage, in one sentence."""
    outcome = claims[0].facts["verdict"].outcome
    names = listed([f"{c.about.name} ({volts(c.value)})" if c.value is not None else c.about.name for c in claims])
    subject = tell("Items: {outcome}", outcome=tell(OUTCOMES[outcome]))
    if outcome == "unharmed":
        return Said(subject, tell("This condition alone is not expected to damage {items}.", items=names),
                    tell("If there is damage, other causes should be investigated."))
    return Said(subject, f"{upper(tell(OUTCOMES[outcome]))}: {names}.", "")


BURNING = to_tell({
    (Kind.SURGE_PART, True): "Fire risk: the surge-suppression component (varistor) of {item} may overheat and burn at {figure}; time to failure: {time}.",
    (Kind.SURGE_PART, False): "Fire risk: the surge-suppression component (varistor) of {item} may overheat and burn at {figure}.",
    (Kind.WINDING, True): "Fire risk: the winding of {item} may overheat and burn at {figure}; time to failure: {time}.",
    (Kind.WINDING, False): "Fire risk: the winding of {item} may overheat and burn at {figure}."})


def part_may_burn(claim, case) -> Said:
    found = claim.facts["verdict"]
    time = time_words(found)
    lead = tell(BURNING[claim.kind, bool(time)], item=claim.about.name, figure=about(found.volts, "V"), time=time)
    return Said(claim.about.name, lead, tell("Not to be left connected."), None if found.volts is None else volts(found.volts))
