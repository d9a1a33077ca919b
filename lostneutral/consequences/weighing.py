"""Which settled states, or moments of a cycle, count."""

from lostneutral.circuit.solution import Solution, State


def weighed(state: State) -> tuple[Solution, ...]:
    """Return the settled states that count: the one arrived at, else every attracting one, else all.

    Of a circuit that goes on and off for ever, the moments of its cycle at which something is at its extreme.
    """
    if state.passing:
        return state.passing
    if state.reached is not None:
        return (state.reached,)
    return tuple(s for s in state.solutions if s.attracting) or state.solutions


def studied_from(after: State) -> Solution | None:
    """Return the state after the break that studies start from: the one reached, else the first that counts; None without any."""
    return after.reached or next(iter(weighed(after)), None)
