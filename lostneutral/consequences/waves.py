"""Findings on loads that draw pulses: the neutral they fill, and what their star hangs on."""

from math import sqrt

from lostneutral.case.model import Case
from lostneutral.circuit.waveform import Waveforms
from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.result import Finding, Limit

_SOUND = "as good as the waveform model: capacitance and inlet resistance of the supplies are given or assumed"
_THIRD = 1 / 3  #: of the neutral current: from there the third harmonic is worth naming
_MOST = Limit(sqrt(3), "times the largest line current", "closed form: three equal lines whose pulses do not overlap, so "
              "that their squares add up in the neutral", "derived by arithmetic")


def wave_findings(case: Case, waves: Waveforms):
    """Yield what the waveforms of `case` say beside the voltages."""
    yield from _full_neutrals(waves.before)
    yield from _hanging(case, waves)
    if waves.after.ends == "undecided":
        yield Finding("warning", "the circuit", "The waveforms did not come to rest in the time that was followed: "
                      "figures after the break are those of its last cycle.", None, None, "unsure: not settled")


def not_followed(why: str):
    """Return the finding for a case whose pulses matter and could not be followed; `why` in words."""
    return Finding("warning", "rectifier inputs", "Loads that draw pulses carry a share that matters, but their waveforms "
                   f"were not followed: {why}. The figures are those of sine waves, and nothing is claimed about which phase "
                   "of several with such loads collapses.", None, None, "unsure: sine waves stand in for pulses")


def _full_neutrals(before):
    """Yield a finding for every neutral that is fuller than its lines though nothing is broken."""
    for (feeding, conductor), wave in before.currents.items() if before else ():
        lines = [w.rms for (run, c), w in before.currents.items() if run == feeding and c.startswith("L") and w]
        if conductor != "N" or wave is None or not lines or wave.rms <= max(lines):
            continue
        if wave.harmonics[2] < _THIRD * wave.rms:
            continue
        yield Finding("warning", f"N of the run to {feeding}", "Before the break the neutral carries more than any of its "
                      f"lines, {wave.harmonics[2]:.3g} A of it third harmonic, which does not cancel. A neutral no larger "
                      "than its lines runs hot then, nothing protects it, and that may be how it came to break.",
                      f"{wave.rms:.3g} A, {wave.rms / max(lines):.2f} times the largest line current", _MOST, _SOUND)


def _hanging(case, waves):
    """Yield what the star of supplies hangs on, where a neutral is open or bad."""
    bridges = [(load, bridge_of(load)) for load in case.loads if load.on and "N" in load.connect]
    if not any(b for _, b in bridges) or not any(b.conductor == "N" for b in case.breaks_after()):
        return
    assumed = [what for what, key in (("capacitance", "capacitance"), ("inlet resistance", "inlet_resistance"))
               if any(b and key not in load.parameters for load, b in bridges)]
    sure = f"{' and '.join(assumed)} assumed: a label seldom tells" if assumed else "as good as the values given"
    yield Finding("note", "power supplies", "Whether the pulses of such supplies hold a star without neutral together, or "
                  "tear it apart, is decided by their powers, their capacitors, the resistance of their inlets and how the "
                  "break began. Another start can end otherwise.", None, None, sure)
