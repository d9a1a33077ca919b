"""Which settled states a finding is about, and how its figures are worded."""

from math import floor, log10

from lostneutral.circuit.solution import Solution, State

AS_GIVEN = "computed for the case as given: as good as the loads, the wiring and the break that it names"


def weighed(state: State) -> tuple[Solution, ...]:
    """Return the settled states that count: the one arrived at, else every attracting one, else all."""
    if state.reached is not None:
        return (state.reached,)
    return tuple(s for s in state.solutions if s.attracting) or state.solutions


def outcomes(values, kinds):
    """Yield (kind, values, words) for each kind among the settled states that count.

    `values` and `kinds` have one entry for each of them, as `weighed` orders them; kind None is left out.
    `words` is empty when every settled state agrees, else says in how many of them.
    """
    found = {}
    for value, kind in zip(values, kinds, strict=True):
        found.setdefault(kind, []).append(value)
    for kind, group in found.items():
        if kind is not None:
            share = "" if len(group) == len(values) else f" in {len(group)} of {len(values)} possible settled states"
            yield kind, group, share


def sure(state: State) -> str:
    """Return how sure a figure of `state` is, and what that rests on."""
    if len(weighed(state)) > 1:
        return AS_GIVEN + "; several settled states are possible and the loads alone do not decide between them"
    return AS_GIVEN


def figure(values, unit: str) -> str:
    """Return one value, or the range of several, for print: at most four figures and two decimals (V: one)."""
    values = (values,) if isinstance(values, (int, float)) else tuple(values)
    most = 1 if unit == "V" else 2
    low, high = _number(min(values), most), _number(max(values), most)
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def farthest(ratios) -> float:
    """Return the ratio that lies farthest from 1."""
    return max(ratios, key=lambda r: abs(r - 1))


def percent_from(ratio: float) -> str:
    """Return "26 % above" or "12 % below" for a ratio to nominal or rated."""
    return f"{abs(ratio - 1) * 100:.0f} % {'above' if ratio >= 1 else 'below'}"


def _number(value, most):
    size = abs(value)
    decimals = most if size < 1 else min(most, max(0, 3 - floor(log10(size))))
    return f"{value:.{decimals}f}"
