"""Which settled states count."""

from lostneutral.circuit.solution import Solution, State


def weighed(state: State) -> tuple[Solution, ...]:
    """Return the settled states that count: the one arrived at, else every attracting one, else all."""
    if state.reached is not None:
        return (state.reached,)
    return tuple(s for s in state.solutions if s.attracting) or state.solutions
