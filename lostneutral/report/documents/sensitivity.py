"""What would change the answer: the case worked out again with one value changed at a time."""

from dataclasses import replace

from lostneutral.report.base.blocks import heading, paragraph, table
from lostneutral.report.base.words import number
from lostneutral.studies.near import near

STEP = 0.10  #: share by which each value is changed, up and down
MOST_LOADS = 6
SAME = 0.1  #: V; the state as given must come out again as near as this


def what_would_change(result):
    """Return the highest and lowest line-to-neutral voltage after the break with each of the chief inputs changed.

    The inputs are the supply's voltage and the power of the largest loads, one at a time, by ±10 %; the settled
    state arrived at is followed to where it moves.
    """
    made = [heading("What would change the answer"), paragraph(_FIRST)]
    reached = result.after.reached
    case = result.case.at_the_end()
    given = _followed(case, reached) if reached else None
    if given is None or max(abs(a - b) for a, b in zip(given, _extremes(case, reached.voltage))) > SAME:
        return [*made, paragraph(_NOT_FOLLOWED)]
    body = []
    for name, change in _inputs(case):
        low, high = (_followed(change(1 + sign * STEP), reached) for sign in (-1, 1))
        swing = max((abs(e[0] - given[0]) for e in (low, high) if e), default=0.0)
        body.append((swing, (name, _words(low), _words(given), _words(high))))
    body = [row for _, row in sorted(body, key=lambda pair: -pair[0])]
    return [*made, paragraph(_FOLLOWED),
            table("Highest / lowest line-to-neutral voltage after the break, V",
                  ("changed by 10 %", "lower", "as given", "higher"), body, "lrrr")]


_FIRST = ("The result depends most on which loads were on, on which line each is, where the fault is, and whether the conductor "
          "is open or has a high-resistance joint.")
_FOLLOWED = ("The case was calculated again with one value changed at a time by 10 %, following the settled state that "
             "the circuit reaches; what moves the highest voltage most comes first.")
_NOT_FOLLOWED = ("How far single values move the figures was not calculated: the settled state is undecided, or depends on "
                 "loads that have shut down or stalled, and a small change may lead to another state altogether.")


def _inputs(case):
    supply = case.supply
    yield "voltage of the supply", lambda by: replace(case, supply=replace(
        supply, phasors={line: z * by for line, z in supply.phasors.items()}))
    sized = [(i, load) for i, load in enumerate(case.loads)
             if load.on and isinstance(load.parameters.get("power"), (int, float))]
    sized.sort(key=lambda pair: -pair[1].parameters["power"] * pair[1].count)
    for i, load in sized[:MOST_LOADS]:
        yield f"power of {load.name}", lambda by, i=i, load=load: replace(case, loads=(
            *case.loads[:i], replace(load, parameters=dict(load.parameters) | {"power": load.parameters["power"] * by}),
            *case.loads[i + 1:]))


def _followed(case, solution):
    """Return the extremes of `case` in the settled state next to `solution`, or None if there is none that near."""
    found = near(case, solution)
    return None if found is None else _extremes(case, found.voltage)


def _extremes(case, voltage):
    volts = [abs(v) for p in case.points for line in p.phases if (v := voltage(p.name, line)) is not None]
    return (max(volts), min(volts)) if volts else (0.0, 0.0)


def _words(extremes):
    return "no figure" if extremes is None else f"{number(extremes[0])} / {number(extremes[1])}"
