"""Protective devices of the case, and where its power comes from, in sentences."""

from lostneutral.words.amounts import about, amount, at_places, to_figures, volts
from lostneutral.words.language import tell, to_tell
from lostneutral.words.said import Said
from lostneutral.words.terms import when
from lostneutral.words.times import duration

ANSWERS = to_tell({"would operate": "would be expected to operate", "may operate": "may operate",
                   "would not operate": "would not be expected to operate", "not known": "cannot be said to operate or not"})
_WATCHED = to_tell({"residual current": "residual current", "line current": "line current", "voltage to neutral": "voltage to neutral",
                    "voltage to remote earth": "voltage to remote earth"})


def told_device(claim, case):
    facts = claim.facts
    given = {"device": claim.about.name, "where": at_places(claim.where), "answer": tell(ANSWERS[facts["answer"]]), "when": when(claim)}
    if facts["watches"] == "earthed source":
        lead = tell("{device}{where} {answer}: an isolation monitor warns where the source is earthed.", **given)
    elif claim.value is None:
        lead = tell("{device}{where} {answer}: the {watched} is not determined.", **given, watched=tell(_WATCHED[facts["watches"]]))
    else:
        lead = tell("{device}{where} {answer}: {watched} of {figure}{when}, against {limit}.", **given,
                    watched=tell(_WATCHED[facts["watches"]]), figure=_figure(claim.value, claim.unit), limit=_limit(facts["limit"], claim.unit))
    rest = []
    if facts["within"] is not None and facts["answer"] == "would operate":
        rest.append(tell("It takes up to {time}.", time=duration(facts["within"])))
    if facts["supply"] is not None:
        rest.append(tell("Its electronics lose their supply ({figure}): it may not work, and a residual current may not be disconnected.",
                         figure=volts(facts["supply"])))
    if facts["overvoltage"] is not None:
        rest.append(tell("Its electronics are at up to {figure} and may be damaged: test it.", figure=volts(facts["overvoltage"])))
    return Said(claim.about.name, lead, " ".join(rest), None if claim.value is None else _figure(claim.value, claim.unit))


def _limit(value, unit):
    return amount(1e3 * value, "mA") if unit == "A" and value < 1 else amount(value, unit)


def _figure(value, unit):
    return about(1e3 * value, "mA") if unit == "A" and value < 1 else about(value, unit)


def told_brief(claim, case):
    facts = claim.facts
    lead = tell("For {time} {line}{where} would reach a crest of {figure} to neutral, {share} times that of a sound line.", time=duration(facts["seconds"]),
                line=claim.about.name, where=at_places(claim.where), figure=about(claim.value, "V"), share=to_figures(facts["share"]))
    rest = [tell("The d.c. link of {item} would rise to {figure}.", item=name, figure=about(volts_, "V")) for name, volts_ in facts["links"][:3]]
    if facts["still"]:
        rest.append(tell("So short a time is too short for filaments, heating elements and motors to follow."))
    return Said(tell("{line}{where}, for {time}", line=claim.about.name, where=at_places(claim.where), time=duration(facts["seconds"])),
                lead, " ".join(rest), volts(claim.value))


def told_unearthed_source(claim, case):
    return Said(tell("Source without earth"),
                tell("{generator} feeds{where} with its star point joined to nothing{when}: no voltage to earth is defined, and a "
                     "first fault to metalwork is not disconnected.", generator=claim.facts["generator"], where=at_places(claim.where), when=when(claim)))


def told_fuse(claim, case):
    return Said(tell("High-voltage fuse"),
                tell("{pair}{where} would be at {figure}{when}, and no line above {highest} to neutral: a lost high-voltage fuse lowers a "
                     "line-to-line voltage, a lost neutral does not.", pair=claim.about.name, where=at_places(claim.where),
                     figure=about(claim.value, "V"), highest=volts(claim.facts["highest"]), when=when(claim)),
                tell("Three-phase motors on it run on two lines or do not start."), volts(claim.value))
