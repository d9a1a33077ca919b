"""Findings on whether, and where, the circuit settles; and what the reader of the case warned of."""

from lostneutral.case.model import Case
from lostneutral.circuit.solution import State
from lostneutral.loads import load_model
from lostneutral.loads.catalogue import resolve
from lostneutral.result import Finding

SEARCHED = "found by search; that there are no others has not been proved"


def several_states(case: Case, before: State, after: State):
    """Yield a warning where more than one settled state is possible, none attracts, or none was found."""
    attracting = [s for s in after.solutions if s.attracting]
    because = f" ({after.reason})" if after.reason else ""
    if not after.solutions:
        yield Finding("warning", "the circuit", f"No settled state was found after the break{because}: nothing is "
                      "claimed about its voltages.", None, None, "unsure: nothing was found")
    elif after.ends == "cycle":
        yield Finding("warning", "the circuit", f"The circuit does not settle: it keeps changing{because}. Voltages "
                      "are given for the states it passes near and are not steady.", None, None, SEARCHED)
    elif not attracting:
        yield Finding("warning", "the circuit", "None of the settled states holds: the circuit leaves each of them"
                      f"{because}.", None, None, SEARCHED)
    elif len(attracting) > 1 and after.reached is None:
        yield Finding("warning", "the circuit", f"{len(attracting)} settled states are possible. The loads alone do "
                      f"not decide which of them the circuit takes{because}: small differences and chance do.",
                      f"{len(attracting)} settled states", None, SEARCHED)
    elif len(attracting) > 1:
        yield Finding("note", "the circuit", f"{len(attracting)} settled states are possible. The figures are for the "
                      f"one that the circuit arrives at from the sound installation{because}; a different order of "
                      "switching could end in another.", f"{len(attracting)} settled states", None, SEARCHED)
    if not before.solutions:
        yield Finding("warning", "the circuit", "The sound installation has no settled state"
                      f"{f' ({before.reason})' if before.reason else ''}: nothing is said of the time before "
                      "the break.", None, None, "certain for the case as given")


def rectifiers(case: Case, before: State, after: State):
    """Yield a warning where rectifier inputs, of which phasors show only a stand-in, share the broken neutral."""
    names = [f"'{load.name}'" for load in case.loads
             if load.on and "N" in load.connect and resolve(load).kind == "electronic"
             and load_model(load, case.supply)[0].stands_in]
    if names and any(b.conductor == "N" for b in case.breaks_after()):
        yield Finding("warning", "rectifier inputs", f"{', '.join(names)}: such a power supply draws its current in "
                      "pulses at the crests, and is worked out here as if it drew a sinusoidal one. Nothing is claimed "
                      "about which phase of several with such supplies collapses; what decides it is the capacitance, "
                      "the resistance and the history. `--waveforms` follows the pulses.", None, None,
                      "unsure: voltages of lines that carry much of such load are those of a stand-in")


def reader_warnings(case: Case, before: State, after: State):
    """Yield what the reader of the case accepted but wants said."""
    for text in case.warnings:
        yield Finding("warning", "the case", text, None, None, "follows from the case as given")
