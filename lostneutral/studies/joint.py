"""A joint on its way from sound to open: what its resistance does to the star point, the voltages and its own heat."""

from collections.abc import Mapping
from dataclasses import replace
from math import inf

import numpy as np

from lostneutral.case.model import Break, Case
from lostneutral.circuit.search import Settled
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.states import settle
from lostneutral.errors import NoSolutionError
from lostneutral.frozen import dataclass
from lostneutral.studies.near import as_solution, state_near

USUAL = (0.0, *np.geomspace(0.03, 3000.0, 26).tolist(), inf)  #: ohm, from sound to open


@dataclass(frozen=True, eq=False)
class JointSweep:
    """One conductor of one run with its joint at each of `resistances` (ohm). Arrays have one entry a resistance.

    nan stands where the circuit arrives at no settled state, or where nothing ties a voltage down.
    """

    joint: Break  #: as the case has it
    resistances: np.ndarray  #: ohm; 0 = sound, inf = open
    currents: np.ndarray  #: A through the joint
    heats: np.ndarray  #: W given off by the joint, I²R; 0 when open
    shifts: np.ndarray  #: V, neutral of the point fed to the supply's star point
    phases: Mapping[str, np.ndarray]  #: line -> V, line to neutral at the point fed


def joint_of(case: Case) -> Break | None:
    """Return the high-resistance joint (neither sound nor open) that a sweep is about, the neutral's first, or None.

    A fuse before the transformer is none: no point of the case is fed through it alone.
    """
    joints = sorted((b for b in case.breaks_after() if 0 < b.resistance < inf and not b.at_supply), key=lambda b: b.conductor != "N")
    return joints[0] if joints else None


def joint_sweep(case: Case, resistances=USUAL, joint: Break | None = None, known: Solution | None = None) -> JointSweep:
    """Return what holds after the break with `joint` (default: the case's own high-resistance joint) at each of `resistances`.

    The states are those of `joint_states`. Heat is I²R: the joint is taken as a plain resistance, though a real one arcs and
    changes as it heats. Raises ValueError if there is no joint to sweep.
    """
    joint = joint or joint_of(case)
    if joint is None:
        raise ValueError("the case has no bad joint, neither sound nor open, to sweep")
    ohms = np.array(resistances, float)
    rows = [_row(case, joint, *each) for each in zip(ohms, joint_states(case, joint, ohms, known))]
    currents, heats, shifts, *phases = np.array(rows, float).T
    return JointSweep(joint, ohms, currents, heats, shifts, dict(zip(case.point(joint.feeding).phases, phases)))


def joint_states(case: Case, joint: Break, resistances, known: Solution | None = None) -> list[Solution | None]:
    """Return the settled state with `joint` at each of `resistances` (ohm, ascending), None where the circuit arrives at none.

    Every other break and exchange stays in force. `known` is the state arrived at with the joint as it is: from there
    the state is followed to lower and to higher resistances, without it from the lowest up. Where it no longer holds,
    all states are looked for anew; where the circuit then arrives nowhere, it is only followed from there on.
    """
    others = tuple(b for b in case.breaks_after() if (b.feeding, b.conductor) != (joint.feeding, joint.conductor))
    cases = [replace(case, breaks=(*others, replace(joint, resistance=r)) if r else others, events=()) for r in resistances]
    first = sum(r < joint.resistance for r in resistances) if known else 0
    states = [*reversed(_followed(cases[:first][::-1], known)), *_followed(cases[first:], known)]
    return [state and as_solution(each, state) for each, state in zip(cases, states)]


def _followed(cases: list[Case], known: Settled | Solution | None) -> list[Settled | None]:
    states, search = [], True
    for case in cases:
        state = state_near(case, known) if known else None
        if state is None and search:
            state = _anew(case)
            search = state is not None
        states.append(state)
        known = state or known
    return states


def _anew(case):
    try:
        return settle(case)
    except NoSolutionError:
        return None


def _row(case, joint, resistance, found):
    lines = case.point(joint.feeding).phases
    if found is None:
        return [np.nan] * (3 + len(lines))
    current = found.currents.get((joint.feeding, joint.conductor))
    amps = np.nan if current is None else abs(current)
    heat = 0.0 if resistance in (0, inf) else resistance * amps**2
    volts = [found.nodes.get((joint.feeding, "N")), *(found.voltage(joint.feeding, line) for line in lines)]
    return [amps, heat, *(np.nan if v is None else abs(v) for v in volts)]
