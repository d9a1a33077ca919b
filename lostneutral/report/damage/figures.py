"""The figures of lamps and bad joints. Each function draws one figure and returns (SVG text, alternative text)."""

import numpy as np

from lostneutral.consequences.equipment import brightness, light_before
from lostneutral.report.base.drawing import DASHES, INK, SOFT, bare, colour, label, svg
from lostneutral.report.base.words import number, shown, significant

MOST_LAMPS = 10
_HATCH = {"out": "xxxx", "dimmer": "////", "unchanged": "", "brighter": "+", "glaring": "*"}
_LEAST_AREA, _MOST_AREA = 0.002, 4.0  # light drawn no smaller or larger than this, so that it can be seen and fits


def lamps_of(result):
    """Return (name, lowest, highest) of each lamp's light after, as a multiple of its light before, of rated where there was none."""
    before = {load.name: light_before(load.details) or 1.0 for s in shown(result.before)[:1] for load in s.loads}
    found = {}
    for solution in shown(result.after):
        for load in solution.loads:
            if load.on and "light" in load.details:
                found.setdefault(load.name, []).append(load.details["light"] / before.get(load.name, 1.0))
    return tuple((name, min(light), max(light)) for name, light in found.items())


def lamps(result):
    """Draw a row of lamps: the filled disc's area is the light after, the broken circle's the light before, true to scale.

    With several settled states the outer ring of a pair is the brightest and the disc the dimmest. The word stands
    below each, with a pattern of its own. At most ten lamps, those that changed most.
    """
    found = lamps_of(result)
    kept = sorted(sorted(range(len(found)), key=lambda i: -abs(np.log(max(found[i][2], 1e-3))))[:MOST_LAMPS])
    drawn = [found[i] for i in kept]

    def draw(figure):
        from matplotlib.patches import Circle

        axes = figure.add_subplot()
        axes.set_aspect("equal")
        down = 0.32 * any("\n" in label(name, 18, 2) for name, _, _ in drawn)
        for at, (name, low, high) in enumerate(drawn):
            x = 2.6 * at
            word = _words(low, high)
            if high > low * 1.005:
                axes.add_patch(Circle((x, 0), _radius(high), fc="none", ec=INK, lw=1.0))
            axes.add_patch(Circle((x, 0), _radius(low), fc="white" if low < 0.9 else "#ffe9a8", ec=INK, lw=1.2,
                                  hatch=_HATCH[brightness(low)], gid=f"lamp-{at}"))
            for ink, width, dashes in (("white", 2.6, "-"), (INK, 1.1, (0, (3, 2)))):
                axes.add_patch(Circle((x, 0), 0.6, fc="none", ec=ink, lw=width, ls=dashes))
            axes.text(x, -1.35, label(name, 18, 2), ha="center", va="top", fontsize=8)
            axes.text(x, -1.7 - down, word, ha="center", va="top", fontsize=8, fontweight="bold")
            axes.text(x, -2.05 - down, _times(low, high), ha="center", va="top", fontsize=7.5)
        axes.set_xlim(-1.4, 2.6 * max(len(drawn) - 1, 1) + 1.4)
        axes.set_ylim(-2.5 - down, 1.4)
        bare(axes)
        axes.set_xticks([])
        axes.set_yticks([])

    said = [f"{name}: {_words(low, high)}, {_times(low, high)} the light before." for name, low, high in drawn]
    alternative = "Light of the lamps after, by area, against before (broken circle). " + " ".join(said)
    height = 6.5 * 3.9 / (2.6 * max(len(drawn) - 1, 1) + 2.8)
    return svg(draw, min(height, 2.6), alternative)


def _radius(light):
    return 0.6 * float(np.sqrt(np.clip(light, _LEAST_AREA, _MOST_AREA)))


def _words(low, high):
    words = dict.fromkeys((brightness(low), brightness(high)))
    return " or ".join(words)


def _times(low, high):
    a, b = significant(low, figures=2), significant(high, figures=2)
    return f"{a} times" if a == b else f"{a} to {b} times"


def joint(sweep, sheds):
    """Draw the voltages past a joint and the joint's heat over its resistance, from sound to open.

    `sweep` is a JointSweep; `sheds` (W) is what a joint can shed. Sound and open stand beyond the breaks of the axis.
    """
    finite = (sweep.resistances > 0) & np.isfinite(sweep.resistances)
    ohms = sweep.resistances[finite]
    first, last = ohms[0] / 3, ohms[-1] * 3
    at = np.where(sweep.resistances == 0, first, np.where(np.isinf(sweep.resistances), last, sweep.resistances))

    def draw(figure):
        upper, lower = figure.subplots(2, 1, sharex=True)
        for line, volts in sweep.phases.items():
            upper.plot(at, volts, color=colour(line), ls=DASHES[line], lw=1.5, gid=f"joint-{line}")
            upper.text(last * 1.2, volts[-1], f"{line} {number(volts[-1], 0)} V", va="center", fontsize=7.5)
        upper.plot(at, sweep.shifts, color=colour("N"), ls=DASHES["N"], lw=1.5, gid="joint-N")
        upper.text(last * 1.2, sweep.shifts[-1], f"N {number(sweep.shifts[-1], 0)} V", va="center", fontsize=7.5)
        upper.set_ylabel("V: line to N, N to star point")
        lower.plot(at, sweep.heats, color=INK, lw=1.5, marker="o", ms=2.5, gid="joint-heat")
        lower.axhline(sheds, color=SOFT, ls=(0, (4, 2)), lw=0.9)
        lower.text(first, sheds, f" can shed {sheds:g} W", va="bottom", fontsize=7.5, color=SOFT)
        lower.set_ylabel("heat in the joint, W")
        lower.set_xscale("log")
        lower.set_xlabel("resistance of the joint, ohm")
        for axes in (upper, lower):
            axes.axvline(sweep.joint.resistance, color=INK, lw=0.8, ls=(0, (1, 1)))
            axes.set_xlim(first * 0.8, last * 12)
            bare(axes, "left", "bottom")
        ticks = [t for t in 10.0 ** np.arange(-3, 6) if first < t < last and t / first > 1.5 and last / t > 1.5]
        lower.set_xticks([first, *ticks, last], ["sound", *(f"{t:g}" for t in ticks), "open"])
        lower.xaxis.set_minor_locator(_no_ticks())

    top = int(np.nanargmax(sweep.heats))
    ends = ", ".join(f"{line} from {number(v[0])} to {number(v[-1])} V" for line, v in sweep.phases.items())
    alternative = (f"From a sound joint to an open one: {ends}; the neutral moves {number(sweep.shifts[-1])} V. The joint's heat "
                   f"is greatest at {significant(sweep.resistances[top], 'ohm')}: {significant(sweep.heats[top], 'W')}; "
                   f"it can shed about {sheds:g} W.")
    return svg(draw, 4.2, alternative)


def _no_ticks():
    from matplotlib.ticker import NullLocator

    return NullLocator()
