"""The section on what would change the answer."""

from lostneutral.report.base.blocks import heading, paragraph, table
from lostneutral.report.base.words import number


def what_would_change(result):
    """Return the highest and lowest line-to-neutral voltage after the break with each of the chief inputs changed."""
    made = [heading("What would change the answer"), paragraph(_FIRST)]
    found = result.sensitivity
    if found is None:
        return [*made, paragraph(_NOT_FOLLOWED)]
    body = [(f"power of {swing.load}" if swing.load else "voltage of the supply", _words(swing.lower), _words(found.given),
             _words(swing.higher)) for swing in found.swings]
    return [*made, paragraph(_FOLLOWED),
            table("Highest / lowest line-to-neutral voltage after the break, V",
                  ("changed by 10 %", "lower", "as given", "higher"), body, "lrrr")]


_FIRST = ("The result depends most on which loads were on, on which line each is, where the fault is, and whether the conductor "
          "is open or has a high-resistance joint.")
_FOLLOWED = ("The case was calculated again with one value changed at a time by 10 %, following the settled state that "
             "the circuit reaches; what moves the highest voltage most comes first.")
_NOT_FOLLOWED = ("How far single values move the figures was not calculated: the settled state is undecided, or depends on "
                 "loads that have shut down or stalled, and a small change may lead to another state altogether.")


def _words(extremes):
    return "no figure" if extremes is None else f"{number(extremes[0])} / {number(extremes[1])}"
