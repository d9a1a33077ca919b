"""English: the terms that several sentences share."""

from math import inf

from lostneutral.claims.model import Claim, Rank
from lostneutral.consequences.times import duration

RANKS = {Rank.DANGER: "Danger", Rank.FIRE: "Fire risk", Rank.DAMAGE: "Risk of damage", Rank.WARNING: "Warning",
         Rank.NOTE: "Note"}


def conductor(about_) -> str:
    """Return a conductor in words: "neutral", "PEN", "line L1", "protective conductor"."""
    return {"neutral": "neutral", "pen": "PEN", "pe": "protective conductor"}.get(about_.what, f"line {about_.name}")


def upper(text: str) -> str:
    """Return `text` with its first letter large, and the units in it as they are."""
    return f"{text[0].upper()}{text[1:]}"


def supply_neutral(case) -> str:
    """Return what a star point's voltage is held against."""
    return "the supply neutral point (centre tap)" if case.supply.system == "split-phase" else "the supply neutral"


def when(claim: Claim) -> str:
    """Return in which part of the incident, and in how many of the possible states, a claim holds; "" where in all."""
    at = claim.condition
    text = ""
    if at.stage == "stage" and at.end < inf:
        text = f" for {duration(at.end - at.start)}"
    if at.held < at.possible:
        text += f" in {at.held} of {at.possible} possible settled states"
    return text


VERDICTS = {"over": "above limits", "within": "within limits", "under": "below limits",
            "dead": "no voltage to neutral", "floating": "no defined potential"}
"""Of a line's voltage to neutral, by the verdict of the result file."""
