"""The figures of waveforms. Each function draws one figure and returns (SVG text, alternative text)."""

import numpy as np

from lostneutral.consequences.upstream import faulted
from lostneutral.report.base.drawing import DASHES, HATCHES, INK, SOFT, bare, colour, label, svg
from lostneutral.report.base.words import number, significant
from lostneutral.report.waveform.rows import by_star_point, link_rows, states

MOST_LINKS = 16
SHOWN_ORDERS = 25  #: of the spectra; the result file has all


def courses(case, waveforms, point=None):
    """Draw the voltages line to neutral and of the star point: two cycles before and after the break, two once settled.

    `point` is a name; default: the point whose star point moves furthest. Voltages V, time in milliseconds from the break
    (right: from the start of a cycle). The first instants after the break, an arc's, are left out. Where nothing is
    broken, two cycles are drawn.
    """
    where = case.point(by_star_point(case, waveforms)[0])
    after = waveforms.after
    ends = {"settled": "settled", "cycle": "as it goes on", "undecided": "not settled yet"}[after.ends]
    turns = [after.times + number * after.duration for number in range(2 if after.duration < 0.05 else 1)]
    columns = (("before and after the break", 1e3 * waveforms.times, waveforms.course, 1),
               (ends, 1e3 * np.concatenate(turns), after.traces, len(turns)))
    faulty = faulted(case)
    columns = columns if faulty else columns[1:]

    def draw(figure):
        axes = figure.subplots(2, len(columns), sharex="col", sharey="row", squeeze=False, height_ratios=(2, 1),
                               width_ratios=(2, 1)[:len(columns)])
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
        for panel in axes[:, 0] if faulty else ():
            panel.axvline(0, color=INK, lw=0.8, ls=(0, (3, 2)))
        axes[0, 0].set_ylabel("line to N, V")
        axes[1, 0].set_ylabel("star point, V")
        axes[1, 0].set_xlabel("time from the break, ms" if faulty else "ms")
        if faulty:
            axes[1, 1].set_xlabel("ms")
        figure.legend(*axes[0, 0].get_legend_handles_labels(), loc="outside upper right", ncols=3, frameon=False,
                      fontsize=8)

    words = [f"Voltages at “{label(where.name)}” over time, " + (
        f"from two cycles before the break to two after it, and {ends}." if faulty else "two cycles.")]
    for state in states(case, waveforms):
        words.append(f"In the state {state.name} the break: " + ", ".join(
            f"{line} {_said(state.phases.get((where.name, line)))}" for line in where.phases)
            + f"; star point {_said(state.stars.get(where.name))}.")
    return _with_words(draw, 3.8, words)


def spectrum(case, waveforms):
    """Draw the harmonics of the neutral current before and of the star point's voltage after the break, r.m.s."""
    where = case.point(by_star_point(case, waveforms)[0])
    panels = []
    before, after = (" before the break", " after the break") if faulted(case) else ("", "")
    if waveforms.before is not None:
        panels.append((f"Neutral current{before}, A", waveforms.before.currents.get((where.name, "N")), "A"))
    panels.append((f"Star point{after}, V", waveforms.after.stars.get(where.name), "V"))

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
    """Draw the d.c. link of every rectifier load, lowest to highest of the cycle, before and after the break.

    Ticks: its cut-off (dotted) and its capacitor's rating. With more than sixteen, those that changed most are drawn.
    """
    rows = sorted(link_rows(case, waveforms), key=lambda row: (row.runs, -abs(row.after - (row.before or 0.0))))
    kept = sorted(rows[:MOST_LINKS], key=lambda row: -row.after)
    most = max((edge for row in kept for edge in (row.highest, row.rating)), default=1.0)
    faulty = faulted(case)

    def draw(figure):
        axes = figure.add_subplot()
        for at, row in enumerate(kept):
            if faulty and row.before:
                axes.plot(row.before, at, marker="o", ms=6, mfc="white", mec=INK, zorder=3)
            axes.plot([row.lowest, row.highest], [at, at], color=colour(row.line), lw=5, alpha=0.45,
                      solid_capstyle="butt")
            axes.plot(row.after, at, marker="o", ms=6, color=colour(row.line), zorder=4)
            for edge, dashes in ((row.cut_off, DASHES["N"]), (row.rating, "-")):
                axes.plot([edge, edge], [at - 0.35, at + 0.35], color=INK, lw=1.2, ls=dashes)
            axes.text(1.03 * most, at, f"{row.after:.0f} V, {row.verdict}", va="center", fontsize=8,
                      fontweight="normal" if row.runs else "bold")
        axes.set_yticks(range(len(kept)), [f"{label(row.name, 26)}  {row.connect}" for row in kept])
        axes.set_ylim(len(kept) - 0.4, -0.6)
        axes.set_xlim(0, 1.55 * most)
        axes.set_xticks(range(0, int(most) + 1, 100))
        axes.set_xlabel("d.c. link, V", loc="left")
        bare(axes, "bottom")
        axes.spines["bottom"].set_bounds(0, most)

    words = ["Direct voltage inside each rectifier load."] if kept else ["No rectifier loads are on."]
    was = lambda row: number(row.before) + " V" if row.before else "not known"
    words += [f"{row.name}: " + (f"before {was(row)}, after " if faulty else "")
              + f"{number(row.after)} V ({number(row.lowest)} to {number(row.highest)} V), shuts down at "
                f"{number(row.cut_off)} V, capacitor rated {number(row.rating)} V: {row.verdict}." for row in kept]
    return _with_words(draw, 0.8 + 0.28 * len(kept), words)


def _said(wave):
    return "floats" if wave is None else f"{number(wave.rms)} V r.m.s., crest {number(wave.crest)} V"


def _with_words(draw, height, words):
    return svg(draw, height, " ".join(words))
