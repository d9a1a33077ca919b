"""Findings on what becomes of each load: those that fail, those that wear, those that survive."""

from lostneutral.case.model import Case
from lostneutral.circuit.solution import State
from lostneutral.consequences.harm import CONFIDENCE, IN_A_CYCLE, harms, survivors
from lostneutral.consequences.times import duration, span
from lostneutral.consequences.weighing import outcomes, sure, weighed
from lostneutral.result import Finding

IF_IT_LASTS = "for a new load, if the state lasts and nothing switches it off"


def loads_harmed(case: Case, before: State, after: State):
    """Yield a damage for each load that fails, and one finding each for those that only wear and for the survivors."""
    if not case.breaks_after() and not case.crosses:
        return
    count = weighed(after)
    kept = [number for number, s in enumerate(after.solutions) if any(s is w for w in count)] or [IN_A_CYCLE]
    found = {}
    for harm in harms(case, before, after):
        if harm.solution in kept:
            found.setdefault(harm.load, []).append(harm)
    for name, each in found.items():
        for outcome, group, share in outcomes(each, [h.outcome if h.fails else None for h in each]):
            yield _failure(name, outcome, group, share)
    worn = [name for name, each in found.items() if any(h.outcome == "shortened life" for h in each)]
    if worn:
        yield Finding("warning", "loads that wear", f"Their life is shortened, but the likeliest outcome is that they "
                      f"do not fail within a week of this: {_names(worn)}.", None, None,
                      "as good as the laws of wear, which the table of damage names for each")
    whole = survivors(tuple(h for each in found.values() for h in each if h.outcome != "was off"))
    if whole:
        yield Finding("note", "loads that survive", f"This state does not harm {_names(whole)}. If one of them is found "
                      "failed, look for another cause.", None, None, sure(after))


def _failure(name, outcome, group, share):
    worst = min(group, key=lambda h: h.central)
    about = f"about {duration(worst.central)}"
    way = {"open": ", which leaves it open", "short": ", which shorts it"}.get(worst.mode, "")
    devices = {"yes": " A power-frequency overvoltage device would have opened first.",
               "perhaps": " A power-frequency overvoltage device might have opened first.",
               "no": " A power-frequency overvoltage device would not have saved it."}.get(worst.protected, "")
    return Finding("damage", f"load '{name}'",
                   f"'{name}' {outcome}{share}: {about} ({span(worst.earliest, worst.latest)}), {IF_IT_LASTS}. "
                   f"Failed part to look for: {worst.part}{way}.{devices}", about, None,
                   f"{worst.confidence}: {CONFIDENCE[worst.confidence]}; {worst.basis}")


def _names(names):
    return ", ".join(f"'{name}'" for name in names)
