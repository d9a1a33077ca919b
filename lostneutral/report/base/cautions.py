"""What goes with ranges, courses, places and causes: cautions, short before the answer and long after it."""

from dataclasses import replace

from lostneutral.case.model import Break, Case
from lostneutral.consequences import cautions

SAFE_WAY = ("Readings are for a competent person with a two-pole voltage detector or a meter of the right category, "
            "one hand at a "
            "time, all metalwork treated as live. Do not switch loads on for a reading, and do not open a joint that "
            "may "
            "carry load: isolate first.")


def open_cautions(case: Case, form: str = "text") -> tuple[str, ...]:
    """Return the cautions that fit `case` where its fault is a question and may be a high-resistance joint too."""
    joint = Break(case.points[0].name, "N", 1.0)
    return cautions(replace(case, breaks=(*case.breaks_after(), joint), events=()), form)


def in_short(texts) -> str:
    """Return short cautions as one paragraph, to stand before the answer."""
    return "Cautions (in full at the end): " + " ".join(texts)


def no_voltage(live: bool) -> str:
    """Return the words for a line without voltage to the neutral, `live` to earth by calculation or not."""
    return "no voltage to neutral, still live to earth" if live else "no voltage to neutral, not proved dead"
