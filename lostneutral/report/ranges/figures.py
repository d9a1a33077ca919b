"""The figures of ranges. Each function draws one figure and returns (SVG text, alternative text)."""

import numpy as np

from lostneutral.report.base import rows
from lostneutral.report.base.drawing import BAND, HATCHES, INK, SOFT, bare, colour, label, svg
from lostneutral.report.base.words import number
from lostneutral.report.course.figures import incident_triangle, neutral_words, triangle_words
from lostneutral.report.ranges.rows import foremost, range_part_words, span_name
from lostneutral.words.terms import supply_neutral

MOST_BARS = 24
MOST_UNKNOWNS = 12
GRID = 160  #: cells each way on which the density of star points is drawn
SMOOTH = 2.0  #: cells over which it is smoothed
CONTOURS = ((0.5, "-", "50 %"), (0.9, (0, (5, 2)), "90 %"))  #: share of the samples inside, dashes, words


def star_cloud(result):
    """Draw where the star point behind the broken conductor may be: samples over the voltage triangle, and contours.

    The contours are the smallest areas with half and with nine in ten of the samples, of their smoothed density.
    """
    case, found = result.case, result.ranges
    kept = np.isfinite(found.star)
    star, weight = found.star[kept], found.star_weight[kept]
    ends = {line: case.supply.phasors[line] for line in case.point(found.point).phases}

    def draw(figure):
        axes = figure.add_subplot()
        incident_triangle(axes, ends, star)
        axes.plot(star.real, star.imag, ls="none", marker=".", ms=1.6, mew=0, color=colour("N"), alpha=0.35, zorder=2,
                  rasterized=False)
        _contours(axes, star, weight)

    said = (f"Possible positions of the {neutral_words(case)} at “{found.point}” over {triangle_words(case)}, true "
            "to scale: "
            f"{len(star)} samples as dots, with contours round 50 % and 90 % of them. ")
    if len(star):
        middle = np.average(star, weights=weight)
        far = np.abs(star)
        said += (f"On average they lie {number(abs(middle), 0)} V from {supply_neutral(case)}; they reach from "
                 f"{number(far.min(), 0)} to {number(far.max(), 0)} V from it.")
    return svg(draw, 3.7, said)


def _contours(axes, star, weight):
    from matplotlib.lines import Line2D
    from scipy.ndimage import gaussian_filter

    if len(star) < 20:
        return
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    density, x, y = np.histogram2d(star.real, star.imag, bins=GRID, range=((left, right), (bottom, top)), weights=weight)
    density = gaussian_filter(density, SMOOTH)
    ordered = np.sort(density.ravel())[::-1]
    inside = np.cumsum(ordered) / ordered.sum()
    middle_x, middle_y = (x[1:] + x[:-1]) / 2, (y[1:] + y[:-1]) / 2
    handles = []
    for share, dashes, words in CONTOURS:
        level = ordered[np.searchsorted(inside, share)]
        axes.contour(middle_x, middle_y, density.T, levels=[level], colors=[INK], linewidths=1.1, linestyles=[dashes],
                     zorder=4)
        handles.append(Line2D([], [], color=INK, lw=1.1, ls=dashes, label=f"{words} of the samples inside"))
    axes.legend(handles=handles, loc="upper left", bbox_to_anchor=(0.98, 0.3), frameon=False, fontsize=7.5,
                borderaxespad=0)


def range_bars(result):
    """Draw the range of every line to neutral and of every load against the supply band and what is certain.

    A bar from 5 to 95 %, a mark at the median, a thin line to the least and the most of all samples.
    """
    case, found = result.case, result.ranges
    lines, loads = (foremost([s for s in spans if s.middle is not None], MOST_BARS // 2)
                    for spans in (found.phases, found.loads))
    spans = (*lines, *loads)
    connect = {load.name: load.connect for load in case.loads}
    low, high = rows.outer_limits(case)
    sure = found.guarantee.highest
    most = max([s.most for s in spans] + [sure or 0.0, case.supply.nominal_line_to_line])

    def draw(figure):
        axes = figure.add_subplot()
        axes.axvspan(low, high, facecolor=BAND, edgecolor=SOFT, hatch="..", lw=0, alpha=0.8)
        for x, _words, dashes in ((case.supply.nominal_line_to_line, "line to line", (0, (1.5, 1.5))),
                                 (sure, "never above", (0, (4, 2)))):
            if x:
                axes.axvline(x, color=INK, ls=dashes, lw=0.9)
        for at, s in enumerate(spans):
            line = s.line or next((c for c in connect[s.name] if c in case.supply.lines), "N")
            axes.plot([s.least, s.most], [at, at], color=colour(line), lw=0.9, zorder=2)
            axes.barh(at, max(s.high - s.low, 0.004 * most), left=s.low, height=0.56, facecolor="white",
                      edgecolor=colour(line), hatch=HATCHES[line], lw=1.1, zorder=3)
            axes.plot([s.middle, s.middle], [at - 0.36, at + 0.36], color=INK, lw=2.2, zorder=4)
            axes.text(most * 1.03, at, f"{number(s.low, 0)} · {number(s.middle, 0)} · {number(s.high, 0)} V", va="center",
                      fontsize=7.5)
        axes.axhline(len(lines) - 0.5, color=SOFT, lw=0.6)
        axes.set_ylim(len(spans) - 0.4, -1.5)
        axes.set_xlim(0, most * 1.3)
        axes.text((low + high) / 2, -1.0, label(case.supply.limits), ha="center", va="center", fontsize=7.5, color=SOFT,
                  bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5})
        edge = sure or case.supply.nominal_line_to_line
        axes.text(edge, -1.0, f"{'certain: at most' if sure else 'line to line'} {number(edge, 0)} V", ha="right", va="center", fontsize=7.5, color=SOFT, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5})
        axes.set_yticks(range(len(spans)), [label(span_name(s), 26) if s.line else
                                            f"{label(s.name, 20)}  {'-'.join(connect[s.name])}" for s in spans])
        axes.set_xlabel("V     (bar: 5 to 95 % of the samples, mark: median, thin line: all; at the right 5 · 50 · "
                        "95 %)",
                        fontsize=7.5)
        bare(axes, "bottom")

    said = [f"Ranges against the supply band {number(low, 0)} to {number(high, 0)} V."]
    said += [f"Certain: no line-to-neutral voltage above {number(sure, 0)} V."] if sure else []
    said += [f"{span_name(s)}: 5 % at {number(s.low, 0)} V, median {number(s.middle, 0)} V, 95 % at "
             f"{number(s.high, 0)} V, "
             f"all from {number(s.least, 0)} to {number(s.most, 0)} V." for s in spans]
    return svg(draw, 0.95 + 0.25 * len(spans), " ".join(said))


def influence_chart(result):
    """Draw how much of the highest voltage's variance each unknown explains alone, and the range left if it were known."""
    found = result.ranges.influences[:MOST_UNKNOWNS]
    width = found[0].width if found else 0.0

    def draw(figure):
        shares, widths = figure.subplots(1, 2, sharey=True)
        for at, i in enumerate(found):
            shares.barh(at, 100 * i.share, height=0.6, facecolor=BAND, edgecolor=INK, hatch="////", lw=0.9)
            shares.text(100 * i.share + 1.5, at, range_part_words(i.share), va="center", fontsize=7.5)
            widths.plot([0, i.width_known], [at, at], color=SOFT, lw=1.0)
            widths.plot(i.width_known, at, marker="D", ms=5, mfc="white", mec=INK)
            widths.text(i.width_known + 0.03 * width, at, f"{number(i.width_known, 0)} V", va="center", fontsize=7.5,
                        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.3})
        widths.axvline(width, color=INK, ls=(0, (4, 2)), lw=0.9)
        widths.text(width, -0.85, f"with the unknowns {number(width, 0)} V", ha="center", va="center", fontsize=7.5,
                    color=SOFT)
        shares.set_ylim(len(found) - 0.4, -1.2)
        shares.set_yticks(range(len(found)), [label(i.name, 34) for i in found])
        shares.set_xlim(0, max(100.0 * max(i.share for i in found) * 1.35, 10.0))
        widths.set_xlim(0, width * 1.35)
        shares.set_xlabel("share of its variance, %", fontsize=7.5)
        widths.set_xlabel("5 to 95 % range if this were known, V", fontsize=7.5)
        for axes in (shares, widths):
            bare(axes, "bottom")

    said = ["Facts that would narrow the range of the highest line-to-neutral voltage."]
    said += [f"{i.name}: explains {range_part_words(i.share)} of its variance alone; if it were known the range would be "
             f"{number(i.width_known, 0)} V instead of {number(i.width, 0)} V." for i in found]
    return svg(draw, 0.85 + 0.27 * len(found), " ".join(said))
