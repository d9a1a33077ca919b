"""Claims on the protective devices of the case, and on where its power comes from."""

from lostneutral.claims.incident import Incident
from lostneutral.claims.model import AS_GIVEN, About, Claim, Condition, Kind, Moment, Rank, sure
from lostneutral.consequences.devices import MAY, UNKNOWN, WOULD, WOULD_NOT
from lostneutral.consequences.installed import expected_of_devices
from lostneutral.consequences.limits import Yardstick
from lostneutral.studies.recorded import all_observations

AGREES = {(True, WOULD): True, (True, MAY): None, (True, WOULD_NOT): False, (True, UNKNOWN): None,
          (False, WOULD): False, (False, MAY): None, (False, WOULD_NOT): True, (False, UNKNOWN): None}
"""(whether a device was seen to have operated, what it is expected to do) -> whether the two agree."""


def devices(incident: Incident):
    """Yield a claim for each protective device of the case, and one for each observation of one."""
    case, answers = incident.case, {}
    for found in expected_of_devices(case, incident.moments) if incident.moments else ():
        given, at = found.installed, found.judged.device.threshold
        answer = answers[given.name] = found.judged.answer
        value = found.judged.value if at.unit else None
        warn = answer == WOULD or found.supply is not None or found.overvoltage is not None
        edge = "reference" if answer in (WOULD_NOT, UNKNOWN) else "low" if at.always < at.never else "high"
        yardstick = Yardstick(at.yardstick.value if at.yardstick else at.always, at.unit, at.yardstick.source if at.yardstick else "as the case gives it",
                              at.yardstick.known if at.yardstick else "", edge) if at.unit else None
        yield Claim(Kind.DEVICE, About("device", given.name), Rank.WARNING if warn else Rank.NOTE, (given.point,),
                    Condition("after" if found.lasts == float("inf") else "stage", found.start, found.start + found.lasts),
                    found.judged.device.kind, at.unit, value, yardstick=yardstick, because=AS_GIVEN,
                    facts={"kind": given.kind, "answer": answer, "watches": found.judged.device.kind, "limit": at.always,
                           "within": at.within if 0 < at.within < float("inf") else None, "poles": given.poles, "supply": found.supply,
                           "overvoltage": found.overvoltage, "from": given.supply})
    for number, seen in enumerate(all_observations(case)):
        if seen.device is None:
            continue
        answer = answers.get(seen.device, UNKNOWN)
        agrees = AGREES[seen.operated, answer]
        yield Claim(Kind.OBSERVED, About("device", seen.device), Rank.WARNING if agrees is False else Rank.NOTE, (seen.point,),
                    Condition("after"), because="the observation as the case gives it; the calculation as the case describes the rest",
                    facts={"number": number, "agrees": agrees, "operated": seen.operated, "answer": answer})


def brief_stages_told(stages):
    """Yield the worst crest of each stage (`studies.brief.Brief`) that is too short for r.m.s. values, with the d.c. links in it."""
    for stage in stages:
        if not stage.crests.lines:
            continue
        (point, line), volts = max(stage.crests.lines.items(), key=lambda pair: pair[1])
        yield Claim(Kind.BRIEF, About("line", line), Rank.WARNING, (point,), Condition("stage", stage.start, stage.end), "crest to neutral", "V",
                    volts, because="waveform marched from the state before, begun at several moments of a cycle; the highest counts",
                    facts={"seconds": stage.end - stage.start, "share": volts / (2**0.5 * stage.case.supply.nominal),
                           "links": tuple(sorted(stage.crests.links.items(), key=lambda pair: -pair[1])), "still": stage.crests.still})


def unearthed_source(moment: Moment):
    """Yield a warning where a point is fed from a source whose star point nothing ties to earth."""
    case = moment.case
    fed = [p.name for p in case.points if moment.solution.apart.get((p.name, "N")) and case.supply.earthing]
    if fed:
        yield Claim(Kind.UNEARTHED_SOURCE, About("circuit"), Rank.WARNING, tuple(fed), moment.condition, because=sure(moment),
                    facts={"generator": moment.solution.apart[fed[0], "N"]})


def high_voltage_fuse(moment: Moment):
    """Yield what tells a lost high-voltage fuse from a lost neutral: the highest line to neutral, the lowest line to line."""
    case = moment.case
    lost = [b for b in case.breaks_after() if b.part == "fuse"]
    if not lost:
        return
    solution, found, pairs = moment.solution, [], []
    for point in case.points:
        found += [(abs(v), point.name) for line in point.phases if (v := solution.voltage(point.name, line)) is not None]
        pairs += [(abs(v), point.name, f"{a}-{b}") for a, b in (("L1", "L2"), ("L2", "L3"), ("L3", "L1")) if {a, b} <= set(point.phases)
                  and (v := solution.between((point.name, a), (point.name, b))) is not None]
    if not found or not pairs:
        return
    low, place, pair = min(pairs)
    yield Claim(Kind.HIGH_VOLTAGE_FUSE, About("lines", pair), Rank.WARNING, (place,), moment.condition, "voltage line to line", "V", low,
                because=sure(moment), facts={"highest": max(found)[0], "lines": tuple(b.conductor for b in lost)})
