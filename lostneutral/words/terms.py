"""The terms that several sentences share."""

from math import inf

from lostneutral.claims.model import Claim, Rank
from lostneutral.words.amounts import MOST_PLACES, about, named
from lostneutral.words.language import tell, to_tell
from lostneutral.words.times import duration

RANKS = to_tell({Rank.DANGER: "Danger", Rank.FIRE: "Fire risk", Rank.DAMAGE: "Risk of damage", Rank.WARNING: "Warning",
                 Rank.NOTE: "Note"})
_CONDUCTORS = to_tell({"neutral": "neutral", "pen": "PEN", "pe": "protective conductor"})


def conductor(about_) -> str:
    """Return a conductor in words: "neutral", "PEN", "line L1", "protective conductor"."""
    if about_.what in _CONDUCTORS:
        return tell(_CONDUCTORS[about_.what])
    return tell("line {name}", name=about_.name)


def upper(text: str) -> str:
    """Return `text` with its first letter large, and the units in it as they are."""
    return f"{text[0].upper()}{text[1:]}"


def supply_neutral(case) -> str:
    """Return what a star point's voltage is held against."""
    if case.supply.system == "split-phase":
        return tell("the supply neutral point (centre tap)")
    return tell("the supply neutral")


def when(claim: Claim) -> str:
    """Return in which part of the incident, and in how many of the possible states, a claim holds; "" where in all."""
    at = claim.condition
    text = ""
    if at.stage == "stage" and at.end < inf:
        text = tell(" for {time} in all", time=duration(claim.facts["in_all"])) if "in_all" in claim.facts else \
            tell(" for {time}", time=duration(at.end - at.start))
        if "in_the_end" in claim.facts:
            text += tell(" (in the end {figure})", figure=about(claim.facts["in_the_end"], claim.unit))
        if "besides" in claim.facts:
            text += tell(" (to a lesser degree for {time} more)", time=duration(claim.facts["besides"]))
    if "failed" in claim.facts:
        text = tell(" after the failure of {items}", items=named(claim.facts["failed"], MOST_PLACES))
    if at.held < at.possible:
        text += tell(" in {held} of {possible} possible settled states", held=at.held, possible=at.possible)
    return text


VERDICTS = to_tell({"over": "above limits", "within": "within limits", "under": "below limits",
                    "dead": "no voltage to neutral", "floating": "no defined potential"})
"""Of a line's voltage to neutral, by the verdict of the result file."""

NO_VOLTAGE = {True: "no voltage to neutral, STILL LIVE to earth", False: "no voltage to neutral, not proved dead"}
"""Of a line without voltage to neutral, by whether it is live to earth by calculation."""
