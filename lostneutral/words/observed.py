"""What was observed beside what is calculated for it."""

from lostneutral.words.amounts import about, at_places, between, plain, volts
from lostneutral.words.installed import ANSWERS
from lostneutral.words.items import OUTCOMES
from lostneutral.words.language import tell, to_tell
from lostneutral.words.said import Said

_AGREES = to_tell({True: "The observation agrees with the calculation.", False: "The observation does NOT agree with the calculation.",
                   None: "Whether it agrees cannot be said."})
_AGREEMENT = to_tell({True: "agrees", False: "does NOT agree", None: "cannot be said"})


def observed(claim, case):
    facts = claim.facts
    seen, calculated, _ = observation(claim)
    rest = tell(_AGREES[facts["agrees"]])
    if "sigma" in facts and facts["agrees"] is False:
        rest = tell("The reading does NOT agree with the calculation within twice its uncertainty (±{sigma}).", sigma=volts(facts["sigma"]))
    if "operated" in facts:
        return Said(claim.about.name, tell("Observed: {observed}. Calculated: {calculated}.", observed=seen, calculated=calculated), rest)
    if "seen" in facts:
        subject, lead = claim.about.name, tell("Observed: {observed}. Calculated: {calculated}.", observed=seen, calculated=calculated)
    else:
        subject = tell("Reading {between}{where}", between=claim.about.name, where=at_places(claim.where[:1]))
        lead = tell("Read: {observed}. Calculated: {calculated}.", observed=seen, calculated=calculated)
    return Said(subject, lead, rest, None if claim.value is None else volts(claim.value))


def observation(claim) -> tuple[str, str, str]:
    """Return what was observed, what is calculated for it, and whether they agree, each in a few words."""
    facts = claim.facts
    agreement = tell(_AGREEMENT[facts["agrees"]])
    if "operated" in facts:
        return (f"{claim.about.name} {tell(OPERATED[facts['operated']])}", tell(ANSWERS[facts["answer"]]), agreement)
    if "seen" in facts:
        at = "" if claim.value is None else f" ({about(claim.value, 'V')})"
        return f"{claim.about.name}: {tell(SEEN[facts['seen']])}", f"{tell(OUTCOMES[facts['verdict'].outcome])}{at}", agreement
    if claim.value is None:
        calculated = tell("no figure")
    elif facts["floats"] and not facts["loaded"]:
        calculated = tell("anything from 0 to {volts}, because a conductor has no defined potential", volts=volts(claim.span[1]))
    else:
        calculated = between(*claim.span, "V")
    given = {"between": claim.about.name, "where": at_places(claim.where[:1]), "read": plain(facts["read"])}
    given["figure"] = tell(_BOUNDS[facts.get("bound")], **given)
    if facts.get("logged"):
        if claim.condition.stage == "before":
            return tell("{between}{where}: {figure} logged before the fault", **given), calculated, agreement
        return tell("{between}{where}: {figure} logged", **given), calculated, agreement
    if facts["recorded"]:
        if claim.condition.stage == "before":
            return tell("{between}{where}: mean {read} V recorded before the fault", **given), calculated, agreement
        return tell("{between}{where}: mean {read} V recorded", **given), calculated, agreement
    if claim.condition.stage == "before":
        return tell("{between}{where} {figure} before the fault", **given), calculated, agreement
    return "{between}{where} {figure}".format(**given), calculated, agreement


_BOUNDS = to_tell({None: "{read} V", "up to": "up to {read} V", "more than": "more than {read} V", "about": "about {read} V"})
OPERATED = to_tell({True: "operated", False: "did not operate"})
SEEN = to_tell({"failed": "failed", "survived": "survived", "brighter": "brighter or stronger", "dimmer": "dimmer or weaker",
                "unchanged": "unchanged", "off": "not working"})
"""What was seen of an item, without a verb, for a name may be one of many (“Loft lamps”)."""
