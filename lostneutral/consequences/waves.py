"""Findings on loads that draw pulses: the neutral they fill, what their star comes to, and what meters show of it."""

from math import isinf, sqrt

from lostneutral.case.model import Case
from lostneutral.circuit.waveform import Waveforms
from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.consequences.upstream import beyond
from lostneutral.loads import load_model
from lostneutral.result import Finding, Limit

CUT, OVER, RUNS = "at its cut-off", "above its rating", "runs"
NOTICED = 0.025  #: of what it reads: how far a meter may be off without being called deceiving
_SOUND = "as good as the waveform model: capacitance and inlet resistance of the supplies are given or assumed"
_THIRD = 1 / 3  #: of the neutral current: from there the third harmonic is worth naming
_DERIVED = "derived by arithmetic"
_MOST = Limit(sqrt(3), "times the largest line current", "closed form: three equal lines whose pulses do not overlap, so "
              "that their squares add up in the neutral", _DERIVED)
_SINE = Limit(sqrt(2), "times the r.m.s. value", "crest of a sine", _DERIVED)
_DECIDE = ("Their powers, their capacitors, the resistance of their inlets and how the break began decide that: another "
           "start can end otherwise.")


def opened(case: Case) -> bool:
    """Return whether a neutral is open or bad."""
    return any(b.conductor == "N" for b in case.breaks_after())


def faulted(case: Case) -> bool:
    """Return whether anything is broken or exchanged, so that before and after differ."""
    return bool(case.breaks_after() or case.crosses)


def neutrals(state):
    """Yield (point fed, `Wave` of the neutral, A of the largest line) of every run of a `WaveState` that has both."""
    for (feeding, conductor), wave in state.currents.items():
        lines = [w.rms for (run, c), w in state.currents.items() if run == feeding and c.startswith("L") and w]
        if conductor == "N" and wave is not None and lines:
            yield feeding, wave, max(lines)


def concerned(case: Case) -> frozenset:
    """Return the names of the points beyond a neutral that is open or bad, of all points where there is none."""
    broken = [b.feeding for b in case.breaks_after() if b.conductor == "N"] or [p.name for p in case.points]
    return frozenset().union(*(beyond(case, case.point(name)) for name in broken))


def line_powers(case: Case) -> dict:
    """Return {line: W behind bridges between it and neutral} of the loads that are on at the points `concerned`."""
    powers = dict.fromkeys(case.supply.lines, 0.0)
    for load, bridge in _in_the_star(case):
        powers[next(c for c in load.connect if c != "N")] += bridge.power
    return powers


def link_verdict(load, rating: float, link: tuple) -> str:
    """Return CUT, OVER or RUNS for a rectifier load by its `link` (mean, lowest, highest) and its capacitor's `rating`, V d.c."""
    return CUT if link[1] <= bridge_of(load).cut_off else OVER if link[2] > rating else RUNS


def wave_findings(case: Case, waves: Waveforms):
    """Yield what the waveforms of `case` say beside the voltages."""
    yield from _full_neutrals(case, waves.before)
    yield from _star(case, waves.after)
    yield from _meters(waves.after)
    if waves.after.ends == "undecided":
        yield Finding("warning", "the circuit", "The waveforms did not come to rest in the time that was followed: "
                      "figures after the break are those of its last cycle.", None, None, "unsure: not settled")


def not_followed(why: str):
    """Return the finding for a case whose pulses matter and could not be followed; `why` in words."""
    return Finding("warning", "rectifier inputs", "Loads that draw pulses carry a share that matters, but their waveforms "
                   f"were not followed: {why}. The figures are those of sine waves, and nothing is claimed about which phase "
                   "of several with such loads collapses.", None, None, "unsure: sine waves stand in for pulses")


def _in_the_star(case):
    """Return (load, bridge) of every rectifier that is on between a line and N at the points `concerned`."""
    places = concerned(case)
    found = ((load, bridge_of(load)) for load in case.loads
             if load.on and load.point in places and len(load.connect) == 2 and "N" in load.connect)
    return [(load, bridge) for load, bridge in found if bridge and set(load.connect) & set(case.supply.lines)]


def _full_neutrals(case, before):
    """Yield a finding for every neutral that is fuller than its lines though nothing is broken."""
    broken = faulted(case)
    came = "may be how it came to break" if broken else "is one way in which a neutral comes to break"
    for feeding, wave, most in neutrals(before) if before else ():
        if wave.rms <= most or wave.harmonics[2] < _THIRD * wave.rms:
            continue
        yield Finding("warning", f"N of the run to {feeding}", f"{'Before the break the' if broken else 'The'} neutral "
                      f"carries more than any of its lines, {wave.harmonics[2]:.3g} A of it third harmonic, which does not "
                      f"cancel. A neutral no larger than its lines runs hot then, nothing protects it, and that {came}.",
                      f"{wave.rms:.3g} A, {wave.rms / most:.2f} times the largest line current", _MOST, _SOUND)


def _star(case, after):
    """Yield what became of the star of supplies where a neutral is open or bad, held against the rule of charge balance."""
    members = {load.name: load for load, _ in _in_the_star(case)}
    if not members or not opened(case):
        return
    verdicts = {CUT: [], OVER: [], RUNS: []}
    for seen in after.loads:
        if seen.name in members and seen.link is not None:
            load = members[seen.name]
            rating = float(load_model(load, case.supply)[0].capacitor_rating)
            verdicts[link_verdict(load, rating, seen.link)].append(seen)
    yield Finding("damage" if verdicts[OVER] else "warning", "power supplies", f"{_became(case, after, verdicts)} {_DECIDE}",
                  *_rule(case), _assumed(members.values()))


def _became(case, after, verdicts):
    cut, over = verdicts[CUT], verdicts[OVER]
    high = f"{_names(over)} stand{'s' * (len(over) == 1)} above the rating of the capacitor" if over else ""
    if after.ends == "cycle":
        return "The power supplies cut off and start again and again" + (f"; {high}." if high else ".")
    if cut:
        low = f"{_names(cut)} {'has' if len(cut) == 1 else 'have'} fallen to the cut-off"
        return f"The star is torn apart: {low}" + (f", {high}." if high else ".") + _though(case)
    if over:
        return f"No power supply has cut off, but {high}."
    if any(isinf(b.resistance) for b in case.breaks_after() if b.conductor == "N"):
        return ("The pulses of the power supplies hold the star together though its neutral is open, so that voltages may "
                "look usual; it can come apart as soon as a load is switched.")
    return "The power supplies go on running beside the bad joint."


def _though(case):
    """Return what to say of a star that is torn apart though its powers would let it hold."""
    figure, limit = _rule(case)
    if figure is None or max(line_powers(case).values()) > limit.value:
        return ""
    return (" No line has more power behind rectifiers than the other two, but that alone holds no star: loads of other kinds "
            "on one line, small or unequal capacitors and resistance at the inlets tear it.")


def _names(seen):
    *others, last = (f"'{load.name}' ({load.link[0]:.0f} V d.c.)" for load in seen)
    return f"{', '.join(others)} and {last}" if others else last


def _rule(case):
    """Return (figure, limit) of the rule that a star without neutral holds only while no line has more than the others."""
    powers = line_powers(case)
    line = max(powers, key=powers.get)
    rest = sum(powers.values()) - powers[line]
    if len(powers) != 3 or not rest:
        return None, None  # no star of three lines
    return f"{powers[line]:.4g} W of rectifiers on {line}", Limit(
        rest, "W, those of the other two lines together", "charge balance of a star of rectifiers without neutral: beyond "
        "it none holds; within it one may still come apart", _DERIVED)


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
        yield Finding("note", f"meters on {line} at {point}", f"A true-r.m.s. meter shows {wave.rms:.0f} V, a cheap one, "
                      f"right for sines only, {wave.average_reading:.0f} V, and the crest is {wave.crest:.0f} V. None of "
                      "them tells where the d.c. links stand.", f"crest {wave.crest / wave.rms:.3f} times the r.m.s. value",
                      _SINE, _SOUND)
