"""The star point on its way as the neutral's joint goes from sound to open, as a moving picture."""

from dataclasses import dataclass, replace
from math import inf

import numpy as np

from lostneutral.circuit.network import network
from lostneutral.circuit.states import settled_states
from lostneutral.circuit.wiring import wiring
from lostneutral.consequences.pulses import trusted
from lostneutral.errors import NoSolutionError, UsageError
from lostneutral.report.drawing import DASHES, INK, colour
from lostneutral.report.film import HELD, moving, warn
from lostneutral.report.words import number, significant
from lostneutral.teaching.drawing import triangle
from lostneutral.teaching.figures import main_point
from lostneutral.teaching.labels import relabel
from lostneutral.teaching.star import broken_run, star_loads

STEPS, FEWER = 48, 17  #: joints from sound to open; fewer where every one takes a search for settled states


@dataclass(frozen=True)
class Opening:
    """A neutral's joint at each of `resistances` (ohm, 0 to inf): V to the supply's star point, or None."""

    resistances: tuple[float, ...]
    neutral: tuple[complex | None, ...]
    corners: tuple[dict[str, complex], ...]


def opening(result, each=lambda steps: steps) -> Opening:
    """Return the star point of the lesson's point for joints from sound to open, chosen so that it moves evenly.

    Every other break stays in force. None stands where the circuit arrives at no settled state or the neutral floats.
    `each` is given the resistances and yields them. UsageError where pulses of current decide what happens, which no
    single point can show.
    """
    if trusted(result):
        raise UsageError(
            "--film: the loads of this case draw their current in pulses, and a star point that moves in each cycle "
            "is no one point — leave the film out"
        )
    case, point = result.case, main_point(result.case)
    joint = next(b for b in case.breaks_after() if b.conductor == "N" and b.feeding == broken_run(case))
    others = tuple(b for b in case.breaks_after() if b != joint)
    quick = all(model.rising and len(model.modes) == 1 for model in network(wiring(case, others, case.crosses)).models)
    share = np.linspace(0.0, 1.0, STEPS if quick else FEWER)[1:-1]
    resistances = (0.0, *(share / (1 - share) / _conductance(result)).tolist(), inf)
    found = [_at(case, (*others, replace(joint, resistance=r)) if r else others, point) for r in each(resistances)]
    return Opening(resistances, *map(tuple, zip(*found)))


def _conductance(result):
    """Return roughly what the loads on the neutral let through together, S."""
    names = {load.name for load in star_loads(result.case)}
    amps = sum(abs(x.current) for s in result.before.solutions[:1] for x in s.loads if x.name in names and x.current)
    return amps / result.case.supply.nominal or 1.0


def _at(case, breaks, point):
    try:
        found = settled_states(case, "after", network(wiring(case, breaks, case.crosses)))[0].reached
    except NoSolutionError:
        found = None
    if found is None:
        return None, {}
    corners = {line: z for line in case.point(point).phases if (z := found.nodes.get((point, line))) is not None}
    return found.nodes.get((point, "N")), corners


def film(result, labels="L1/L2/L3", each=lambda frames: frames) -> bytes:
    """Return an animated GIF of the star point while the neutral's joint goes from sound to open.

    `each` is given the list of steps, then that of frames, and yields them; a caller that wants to show how far it is
    wraps it.
    """
    way = opening(result, each)
    neutral = np.array([np.nan if z is None else z for z in way.neutral], complex)
    ends = next((c for c in way.corners if c), {})
    last = len(way.resistances) - 1
    stand = 1 if last >= STEPS - 1 else STEPS // FEWER  # frames a step, so that the film takes as long
    return moving(
        [0] * (HELD // 2) + [step for step in range(last + 1) for _ in range(stand)] + [last] * HELD,
        lambda figure, at: _draw(figure, way, neutral, ends, labels, at),
        each,
    )


def _draw(figure, way, neutral, ends, labels, at):
    axes = figure.add_axes((0.02, 0.14, 0.96, 0.74))
    now, corners, ohms = neutral[at], way.corners[at], way.resistances[at]
    triangle(axes, ends, labels, "triangle")
    every = np.array([*ends.values(), *neutral[~np.isnan(neutral)], 0j])
    margin = 0.2 * max(np.ptp(every.real), np.ptp(every.imag), 1.0)
    axes.set_aspect("equal")
    axes.set_xlim(every.real.min() - margin, every.real.max() + margin)
    axes.set_ylim(every.imag.min() - margin, every.imag.max() + margin)
    axes.set_axis_off()
    axes.plot(neutral[: at + 1].real, neutral[: at + 1].imag, color=colour("N"), lw=1.2, alpha=0.6)
    if np.isnan(now):
        axes.text(0, 0, "no settled star point", ha="center", va="top", color=colour("N"))
        volts = "–"
    else:
        for line, z in corners.items():
            axes.plot([now.real, z.real], [now.imag, z.imag], color=colour(line), ls=DASHES[line], lw=2.0)
        axes.plot(now.real, now.imag, marker="o", ms=8, color=colour("N"), mec=INK, zorder=5)
        volts = "   ".join(f"{relabel(line, labels)} {number(abs(z - now), 0)} V" for line, z in corners.items())
    joint = "sound" if ohms == 0 else "open" if ohms == inf else significant(ohms, "ohm", 2)
    figure.text(0.03, 0.94, f"Joint in the neutral: {joint}", fontsize=12, fontweight="bold")
    figure.text(0.03, 0.05, volts, fontsize=11)
    warn(figure)
