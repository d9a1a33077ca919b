"""The figures of waveforms. Each function draws one figure and returns (SVG text, alternative text)."""

import numpy as np

from lostneutral.report.drawing import DASHES, HATCHES, INK, SOFT, bare, colour, label, svg
from lostneutral.report.words import number, significant

MOST_LINKS = 16
SHOWN_ORDERS = 25  #: of the spectra; the result file has all


def courses(case, waveforms, point=None):
    """Draw the voltages line to neutral and of the star point: two cycles before and after the break, two once settled.

    `point` is a name; default: the point whose star point moves furthest. Voltages V, time in milliseconds from the break
    (right: from the start of a cycle). The first instants after the break, an arc's, are left out.
    """
    where = case.point(point) if point else _most_moved(case, waveforms)
    after = waveforms.after
    ends = {"settled": "settled", "cycle": "as it goes on", "undecided": "not settled yet"}[after.ends]
    turns = [after.times + number * after.duration for number in range(2 if after.duration < 0.05 else 1)]
    columns = (("before and after the break", 1e3 * waveforms.times, waveforms.course, 1),
               (ends, 1e3 * np.concatenate(turns), after.traces, len(turns)))

    def draw(figure):
        axes = figure.subplots(2, 2, sharex="col", sharey="row", height_ratios=(2, 1), width_ratios=(2, 1))
        for (upper, lower), (title, times, traces, repeat) in zip(axes.T, columns):
            upper.set_title(title, loc="left", fontsize=8.5, fontweight="bold")
            for keys, panel in (([("volts", where.name, line) for line in where.phases], upper),
                                ([("star", where.name)], lower)):
                for key in keys:
                    if key in traces:
                        conductor = key[2] if key[0] == "volts" else "N"
                        panel.plot(times, np.tile(traces[key], repeat), color=colour(conductor), ls=DASHES[conductor],
                                   lw=1.0, label=conductor, gid=f"course-{conductor}")
                panel.axhline(0, color=SOFT, lw=0.5)
                bare(panel, "left", "bottom")
        for panel in axes[:, 0]:
            panel.axvline(0, color=INK, lw=0.8, ls=(0, (3, 2)))
        axes[0, 0].set_ylabel("line to N, V")
        axes[1, 0].set_ylabel("star point, V")
        axes[1, 0].set_xlabel("time from the break, ms")
        axes[1, 1].set_xlabel("ms")
        figure.legend(*axes[0, 0].get_legend_handles_labels(), loc="outside upper right", ncols=3, frameon=False,
                      fontsize=8)

    words = [f"Voltages at “{label(where.name)}” over time, from two cycles before the break to two after it, and {ends}."]
    for state in _states(waveforms):
        words.append(f"In the state {state.name} the break: " + ", ".join(
            f"{line} {_said(state.phases.get((where.name, line)))}" for line in where.phases)
            + f"; star point {_said(state.stars.get(where.name))}.")
    return _with_words(draw, 3.8, words)


def spectrum(case, waveforms, point=None):
    """Draw the harmonics of the neutral current before and of the star point's voltage after the break, r.m.s."""
    where = case.point(point) if point else _most_moved(case, waveforms)
    panels = []
    if waveforms.before is not None:
        panels.append(("Neutral current before the break, A", waveforms.before.currents.get((where.name, "N")), "A"))
    panels.append(("Star point after the break, V", waveforms.after.stars.get(where.name), "V"))

    def draw(figure):
        for axes, (title, wave, _) in zip(np.atleast_1d(figure.subplots(1, len(panels))), panels):
            axes.set_title(title, loc="left", fontsize=8.5, fontweight="bold")
            if wave is None:
                axes.text(0.5, 0.5, "floats: no figure", ha="center", transform=axes.transAxes)
                axes.set_axis_off()
                continue
            orders = np.arange(1, SHOWN_ORDERS + 1)
            bars = axes.bar(orders, wave.harmonics[:SHOWN_ORDERS], width=0.7, facecolor="white", edgecolor=colour("N"))
            for order, bar in zip(orders, bars):
                if order % 3 == 0:
                    bar.set_hatch(HATCHES["N"])
            axes.set_xticks([1, *range(3, SHOWN_ORDERS + 1, 6)])
            axes.set_xlabel("order of harmonic (hatched: multiples of three)")
            bare(axes, "left", "bottom")

    words = ["Spectra, in r.m.s. by order of harmonic."]
    for title, wave, unit in panels:
        if wave is None:
            words.append(f"{title}: floats, no figure.")
            continue
        largest = sorted(range(len(wave.harmonics)), key=lambda i: -wave.harmonics[i])[:4]
        words.append(f"{title}: " + ", ".join(f"order {i + 1} {significant(wave.harmonics[i], unit)}"
                                              for i in sorted(largest) if wave.harmonics[i] > 0) + ".")
    return _with_words(draw, 2.3, words)


def links(case, waveforms):
    """Draw the d.c. link of every rectifier load, lowest to highest of the cycle, before and after the break."""
    after = [load for load in waveforms.after.loads if load.link is not None]
    kept = sorted(after, key=lambda load: -load.link[0])[:MOST_LINKS]
    before = {load.name: load.link for load in waveforms.before.loads} if waveforms.before else {}
    most = max((load.link[2] for load in kept), default=1.0)

    def draw(figure):
        axes = figure.add_subplot()
        for at, load in enumerate(kept):
            line = next((c for c in load.connect if c != "N"), "L1")
            was = before.get(load.name)
            if was:
                axes.plot(was[0], at, marker="o", ms=6, mfc="white", mec=colour(line), zorder=3)
            axes.plot(load.link[1:], [at, at], color=colour(line), lw=5, alpha=0.45, solid_capstyle="butt")
            axes.plot(load.link[0], at, marker="o", ms=6, color=colour(line), zorder=4)
            axes.annotate(f"{load.link[0]:.0f} V", (load.link[2], at), (8, 0), textcoords="offset points", va="center",
                          fontsize=7.5)
        axes.set_yticks(range(len(kept)), [f"{label(load.name, 26)}  {'-'.join(load.connect)}" for load in kept])
        axes.set_ylim(len(kept) - 0.4, -0.6)
        axes.set_xlim(0, 1.2 * most)
        axes.set_xlabel("d.c. link, V     (○ before, filled after; bar: lowest to highest over a cycle)")
        bare(axes, "bottom")

    words = ["Direct voltage inside each rectifier load."] if kept else ["No rectifier loads are on."]
    words += [f"{load.name}: before {number(before[load.name][0]) + ' V' if before.get(load.name) else 'not known'}, after "
              f"{number(load.link[0])} V ({number(load.link[1])} to {number(load.link[2])} V)." for load in kept]
    return _with_words(draw, 0.8 + 0.28 * len(kept), words)


def _states(waveforms):
    return [state for state in (waveforms.before, waveforms.after) if state is not None]


def _most_moved(case, waveforms):
    stars = waveforms.after.stars
    return max(case.points, key=lambda p: round(stars[p.name].rms, 6) if stars.get(p.name) else 0.0)


def _said(wave):
    return "floats" if wave is None else f"{number(wave.rms)} V r.m.s., crest {number(wave.crest)} V"


def _with_words(draw, height, words):
    return svg(draw, height, " ".join(words))
