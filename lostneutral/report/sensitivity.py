"""What would change the answer: the case worked out again with one value changed at a time."""

from dataclasses import replace

from lostneutral.errors import LostNeutralError
from lostneutral.report.blocks import heading, paragraph, table
from lostneutral.report.words import number, shown

STEP = 0.10  #: share by which each value is changed, up and down
MOST_LOADS = 6


def what_would_change(result):
    """Return the highest and lowest line-to-neutral voltage after the break with each of the chief inputs changed.

    The inputs are the supply's voltage and the power of the largest loads, one at a time, by ±10 %.
    """
    given = _extremes(result.after)
    body = []
    for name, change in _inputs(result.case):
        low, high = (_solved(change(1 + sign * STEP)) for sign in (-1, 1))
        swing = max((abs(e[0] - given[0]) for e in (low, high) if e and given), default=0.0)
        body.append((swing, (name, _words(low), _words(given), _words(high))))
    body = [row for _, row in sorted(body, key=lambda pair: -pair[0])]
    text = ("The case was worked out again with one value changed at a time by 10 %; what moves the answer most stands "
            "first. Which loads are on, where the break is and whether it is open count for more than any of these.")
    return [heading("What would change the answer"), paragraph(text),
            table("Highest / lowest line-to-neutral voltage after the break, V", ("changed by 10 %", "lower", "as given",
                                                                                  "higher"), body, "lrrr")]


def _inputs(case):
    supply = case.supply
    yield "voltage of the supply", lambda by: replace(case, supply=replace(
        supply, phasors={line: z * by for line, z in supply.phasors.items()}))
    sized = [(i, load) for i, load in enumerate(case.loads)
             if load.on and isinstance(load.parameters.get("power"), (int, float))]
    sized.sort(key=lambda pair: -pair[1].parameters["power"] * pair[1].count)
    for i, load in sized[:MOST_LOADS]:
        yield f"power of “{load.name}”", lambda by, i=i, load=load: replace(case, loads=(
            *case.loads[:i], replace(load, parameters=dict(load.parameters) | {"power": load.parameters["power"] * by}),
            *case.loads[i + 1:]))


def _solved(case):
    from lostneutral.circuit.states import before_and_after

    try:
        return _extremes(before_and_after(case)[1], case)
    except LostNeutralError:
        return None


def _extremes(state, case=None):
    volts = [abs(v) for s in shown(state) for (place, line) in s.nodes if line in ("L1", "L2", "L3")
             and place not in ("supply", "source") and (v := s.voltage(place, line)) is not None]
    return (max(volts), min(volts)) if volts else None


def _words(extremes):
    return "no figure" if extremes is None else f"{number(extremes[0])} / {number(extremes[1])}"
