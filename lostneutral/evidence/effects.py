"""What a settled state does at a point, in the few words that causes are told apart by."""

from lostneutral.case.model import Case
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.wiring import EARTH, terminal_names
from lostneutral.consequences.limits import band, verdict
from lostneutral.consequences.touch import is_live
from lostneutral.consequences.upstream import electrode_left_out

WORDS = ("high", "low", "dead", "floating", "live", "whole")
_OF_VERDICT = {"over": "high", "under": "low", "dead": "dead", "floating": "floating"}
DOES_NOT_FIT = 6.0  #: part of the misfit from which an observation is said not to fit


def line_words(case: Case, point, state: Solution) -> dict[str, str]:
    """Return for each line at `point` what `state` makes of its voltage to neutral: one of `WORDS` but "live"."""
    limits, made = band(case.supply.limits), {}
    for line in point.phases:
        volts = state.voltage(point.name, line)
        ratio = None if volts is None else abs(volts) / case.supply.nominal
        made[line] = _OF_VERDICT.get(verdict(ratio, limits), "whole")
    return made


def point_words(case: Case, point, state: Solution):
    """Return the `WORDS` for what `state` does at `point`: its lines against the supply band, its metalwork to earth."""
    words = set(line_words(case, point, state).values()) - {"whole"}
    if "PE" in terminal_names(case, point) and is_live(state, point.name, "PE") and not _held_by_its_electrode(case, point, state):
        words.add("live")
    return tuple(w for w in WORDS if w in words) or ("whole",)


def _held_by_its_electrode(case, point, state):
    """Whether nothing but an electrode of TT that is left out would tie the metalwork there to anything: it is at 0 V, as in `touch_voltages`."""
    return point.name in electrode_left_out(case) and state.between((point.name, "PE"), EARTH) is None
