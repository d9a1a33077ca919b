"""The star point on its way as the neutral's joint goes from sound to open, as a moving picture with its loads."""

from math import inf

import numpy as np

from lostneutral.consequences.pulses import trusted
from lostneutral.errors import UsageError
from lostneutral.frozen import dataclass
from lostneutral.report.base.drawing import INK, label
from lostneutral.report.base.words import number, significant
from lostneutral.report.course.film import HELD, moving, warn
from lostneutral.studies.joint import joint_states
from lostneutral.teaching.drawing import draw_conductor, lamp, triangle
from lostneutral.teaching.look import Look
from lostneutral.teaching.star import broken_run, main_point, star_loads

WIDE, HIGH, DOTS = 12.8, 7.2, 100  #: inches, and dots an inch: 1280 by 720
MOST = 6  #: loads that are shown beside the star point
STEPS = 36  #: joints from sound to open


@dataclass(frozen=True)
class Opening:
    """A neutral's joint at each of `resistances` (ohm, 0 to inf): V to the supply's star point, or None."""

    resistances: tuple[float, ...]
    neutral: tuple[complex | None, ...]
    corners: tuple[dict[str, complex], ...]
    loads: tuple[
        dict[str, tuple[float, float | None]], ...
    ]  #: name -> (V, light as a multiple of rated; None: no lamp)


def opening_joint(result, each=lambda steps: steps) -> Opening:
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
    case, point = result.at_the_end, main_point(result.case)
    joint = next(b for b in case.breaks_after() if b.conductor == "N" and b.feeding == broken_run(case))
    share = np.linspace(0.0, 1.0, STEPS)[1:-1]
    resistances = (0.0, *(share / (1 - share) / _conductance(result)).tolist(), inf)
    found = [_seen(case, state, point) for state in each(joint_states(case, joint, resistances, result.after.reached))]
    return Opening(resistances, *map(tuple, zip(*found)))


def _conductance(result):
    """Return roughly what the loads on the neutral let through together, S."""
    names = {load.name for load in star_loads(result.case)}
    amps = sum(abs(x.current) for s in result.before.solutions[:1] for x in s.loads if x.name in names and x.current)
    return amps / result.case.supply.nominal or 1.0


def _seen(case, found, point):
    if found is None:
        return None, {}, {}
    corners = {line: z for line in case.point(point).phases if (z := found.nodes.get((point, line))) is not None}
    names = {load.name for load in star_loads(case)[:MOST]}
    loads = {
        x.name: (abs(x.voltage), x.details.get("light"))
        for x in found.loads
        if x.name in names and x.voltage is not None
    }
    return found.nodes.get((point, "N")), corners, loads


def neutral_film(result, look=None, each=lambda frames: frames) -> bytes:
    """Return an animated GIF, 1280 by 720, of the star point and the loads while the neutral's joint goes from sound to open.

    `look` as of a lesson. `each` is given the list of steps, then that of frames, and yields them; a caller that wants to show
    how far it is wraps it.
    """
    way = opening_joint(result, each)
    last = len(way.resistances) - 1
    return moving(
        [0] * (HELD // 2) + list(range(last + 1)) + [last] * HELD,
        lambda figure, at: draw_step(figure, result, way, look or Look(), at),
        each,
        (WIDE, HIGH),
        DOTS,
    )


def draw_step(figure, result, way, look, at):
    """Draw step `at` of `way`: the star point in its triangle, the loads with their voltages, the joint in words."""
    axes = figure.add_axes((0.02, 0.12, 0.56, 0.76))
    neutral = np.array([np.nan if z is None else z for z in way.neutral], complex)
    ends = next((c for c in way.corners if c), {})
    now, corners, ohms = neutral[at], way.corners[at], way.resistances[at]
    triangle(axes, ends, look, "triangle")
    every = np.array([*ends.values(), *neutral[~np.isnan(neutral)], 0j])
    margin = 0.2 * max(np.ptp(every.real), np.ptp(every.imag), 1.0)
    axes.set_aspect("equal")
    axes.set_xlim(every.real.min() - margin, every.real.max() + margin)
    axes.set_ylim(every.imag.min() - margin, every.imag.max() + margin)
    axes.set_axis_off()
    axes.plot(neutral[: at + 1].real, neutral[: at + 1].imag, color=INK, lw=1.2, ls=(0, (1, 2)))
    if np.isnan(now):
        axes.text(0, 0, "no settled voltage of N", ha="center", va="top", fontsize=14)
    else:
        for line, z in corners.items():
            draw_conductor(axes, (now, z), line, look, lw=3.0)
        axes.plot(now.real, now.imag, marker="o", ms=12, color="white", mec=INK, mew=2, zorder=5)
        axes.annotate(
            "N",
            (now.real, now.imag),
            xytext=(12, 10),
            textcoords="offset points",
            fontsize=16,
            fontweight="bold",
            zorder=7,
        )
    for text in axes.texts:
        text.set_fontsize(16)
    _loads(figure.add_axes((0.6, 0.12, 0.38, 0.76)), result, way.loads[at], look)
    joint = "sound" if ohms == 0 else "open" if ohms == inf else significant(ohms, "Ω", 2)
    figure.text(0.03, 0.93, f"Joint in the neutral: {joint}", fontsize=20, fontweight="bold")
    volts = (
        "      ".join(f"{look.name(line)}–N {number(abs(z - now), 0)} V" for line, z in corners.items())
        if not np.isnan(now)
        else ""
    )
    figure.text(0.03, 0.06, volts, fontsize=18)
    warn(figure, 12)


def _loads(axes, result, seen, look):
    """Draw the loads: a lamp by its light, another by its voltage beside the rated one; names and volts beside."""
    loads = star_loads(result.case)[:MOST]
    axes.set_aspect("equal")
    axes.set_xlim(-1.6, 6.2)
    axes.set_ylim(-2.6 * max(len(loads), 3) + 1.0, 1.6)
    axes.set_axis_off()
    for n, load in enumerate(loads):
        y = -2.6 * n
        volts, light = seen.get(load.name, (None, None))
        if light is not None:
            lamp(axes, complex(0, y), light, 0.55)
        elif volts is not None:
            axes.plot([-0.9, 0.9], [y, y], color=INK, lw=1.0)
            axes.barh(y, 1.0 * volts / load.voltage, left=-0.9, height=0.5, color="white", edgecolor=INK, hatch="////")
            axes.plot([0.1, 0.1], [y - 0.5, y + 0.5], color=INK, lw=1.5, ls=(0, (3, 2)))
        axes.text(
            1.7, y + 0.35, f"{look.name(load.connect[0])}: {label(look.name(load.name), 22)}", fontsize=14, va="center"
        )
        axes.text(
            1.7,
            y - 0.45,
            "–" if volts is None else f"{number(volts, 0)} V, {number(100 * volts / load.voltage, 0)} % of rated",
            fontsize=14,
            va="center",
        )
