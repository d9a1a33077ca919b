"""Claims on loads that draw pulses: the neutral they fill, what becomes of their supplies, and what meters show of it."""

from math import isinf, sqrt

from lostneutral.circuit.waveform.waves import Waveforms
from lostneutral.claims.model import About, Claim, Condition, Kind, Rank
from lostneutral.consequences.limits import Yardstick
from lostneutral.consequences.upstream import faulted
from lostneutral.consequences.waves import (
    CUT,
    DERIVED,
    NOTICED,
    OVER,
    RUNS,
    in_the_star,
    link_verdict,
    neutrals,
    opened,
    star_rule,
)
from lostneutral.loads import load_model

_SOUND = "as good as the waveform model: capacitance and inlet resistance of the supplies are given or assumed"
_THIRD = 1 / 3  #: of the neutral current: from there the third harmonic is worth naming
_MOST = Yardstick(sqrt(3), "times the largest line current", "closed form: three equal lines whose pulses do not overlap, so "
                  "that their squares add up in the neutral", DERIVED, "reference")
_SINE = Yardstick(sqrt(2), "times the r.m.s. value", "crest of a sine", DERIVED, "reference")


def waves(case, found: Waveforms):
    """Yield what the waveforms of `case` say beside the voltages."""
    yield from _full_neutrals(case, found.before)
    yield from _supplies(case, found.after)
    yield from _meters(found.after)
    if found.after.ends == "undecided":
        yield Claim(Kind.NOT_FOLLOWED, About("circuit"), Rank.WARNING, confidence="unsure", because="unsure: not settled",
                    facts={"why": "waveforms undecided"})


def waves_not_followed(why: str):
    """Return the claim for a case whose pulses matter and could not be followed; `why` is the solver's own message."""
    return Claim(Kind.NOT_FOLLOWED, About("circuit"), Rank.WARNING, condition=Condition("always"), confidence="unsure",
                 because="unsure: sine waves stand in for pulses", facts={"why": "waveforms", "text": why})


def _full_neutrals(case, before):
    for feeding, wave, most in neutrals(before) if before else ():
        if wave.rms > most and wave.harmonics[2] >= _THIRD * wave.rms:
            yield Claim(Kind.FULL_NEUTRAL, About("neutral", "N"), Rank.WARNING, (feeding,), Condition("before"),
                        "neutral current, multiple of the largest line current", "times the largest line current",
                        wave.rms / most, yardstick=_MOST, because=_SOUND,
                        facts={"amps": wave.rms, "third": wave.harmonics[2], "faulted": faulted(case)})


def _supplies(case, after):
    members = {load.name: load for load, _ in in_the_star(case)}
    if not members or not opened(case):
        return
    verdicts = {CUT: [], OVER: [], RUNS: []}
    for seen in after.loads:
        if seen.name in members and seen.link is not None:
            load = members[seen.name]
            rating = float(load_model(load, case.supply)[0].capacitor_rating)
            verdicts[link_verdict(load, rating, seen.link)].append((seen.name, seen.link[0]))
    line, watts, rule = star_rule(case)
    is_open = any(isinf(b.resistance) for b in case.breaks_after() if b.conductor == "N")
    yield Claim(Kind.SUPPLIES, About("circuit"), Rank.DAMAGE if verdicts[OVER] else Rank.WARNING, quantity="rectifier power",
                unit="W", value=watts, yardstick=rule, because=_assumed(members.values()),
                facts={"cut": tuple(verdicts[CUT]), "over": tuple(verdicts[OVER]), "cycle": after.ends == "cycle",
                       "line": line, "open": is_open, "within_rule": rule is not None and watts <= rule.value})


def _assumed(loads):
    keys = {"capacitance": "capacitance", "inlet_resistance": "inlet resistance"}
    assumed = [what for key, what in keys.items() if any(key not in load.parameters for load in loads)]
    return f"{' and '.join(assumed)} assumed: a label seldom tells" if assumed else "as good as the values given"


def _meters(after):
    """Yield what kinds of meter show where an averaging one is furthest off."""
    off = lambda wave: abs(wave.average_reading / wave.rms - 1)
    found = {key: wave for key, wave in after.phases.items() if wave is not None and wave.rms > 1.0}
    if not found:
        return
    (point, line), wave = max(found.items(), key=lambda pair: off(pair[1]))
    if off(wave) > NOTICED:
        yield Claim(Kind.METERS, About("line", line), Rank.NOTE, (point,), quantity="crest, multiple of the r.m.s. value",
                    unit="times the r.m.s. value", value=wave.crest / wave.rms, yardstick=_SINE, because=_SOUND,
                    facts={"rms": wave.rms, "average": wave.average_reading, "crest": wave.crest})
