"""A joint on its way from sound to open: what its resistance does to the star point, the voltages and its own heat."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from lostneutral.case.model import Break, Case
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.states import settle
from lostneutral.errors import NoSolutionError

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
    """Return the high-resistance joint (neither sound nor open) that a sweep is about, the neutral's first, or None."""
    joints = sorted((b for b in case.breaks_after() if 0 < b.resistance < inf), key=lambda b: b.conductor != "N")
    return joints[0] if joints else None


def joint_sweep(case: Case, resistances=USUAL, joint: Break | None = None) -> JointSweep:
    """Return what holds after the break with `joint` (default: the case's own high-resistance joint) at each of `resistances`.

    Every other break and exchange stays in force. From one resistance to the next the state is followed; it is looked for anew
    where it no longer holds. Heat is I²R: the joint is taken as a plain resistance, though a real one
    arcs and changes as it heats. Raises ValueError if there is no joint to sweep.
    """
    joint = joint or joint_of(case)
    if joint is None:
        raise ValueError("the case has no bad joint, neither sound nor open, to sweep")
    others = tuple(b for b in case.breaks_after() if (b.feeding, b.conductor) != (joint.feeding, joint.conductor))
    rows, state = [], None
    for r in resistances:
        row, state = _at(case, (*others, replace(joint, resistance=r)) if r else others, joint, r, state)
        rows.append(row)
    currents, heats, shifts, *phases = np.array(rows, float).T
    lines = case.point(joint.feeding).phases
    return JointSweep(joint, np.array(resistances, float), currents, heats, shifts, dict(zip(lines, phases)))


def _at(case, breaks, joint, resistance, known):
    """Return the row of one resistance and the state behind it, followed from the state `known` at the one before."""
    lines = case.point(joint.feeding).phases
    try:
        state = settle(case, breaks, start=known)
    except NoSolutionError:
        state = None
    if state is None:
        return [np.nan] * (3 + len(lines)), known
    found = solution(case, state.net, state.root, attracting=state.attracting, reached=True)
    current = found.currents.get((joint.feeding, joint.conductor))
    amps = np.nan if current is None else abs(current)
    heat = 0.0 if resistance in (0, inf) else resistance * amps**2
    volts = [found.nodes.get((joint.feeding, "N")), *(found.voltage(joint.feeding, line) for line in lines)]
    return [amps, heat, *(np.nan if v is None else abs(v) for v in volts)], state
