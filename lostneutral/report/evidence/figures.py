"""The figures of a deduction. Each function draws one figure and returns (SVG text, alternative text)."""

from itertools import pairwise
from math import log10
from textwrap import wrap

from lostneutral import data
from lostneutral.consequences.limits import band
from lostneutral.evidence.scale import EVEN
from lostneutral.report.base.drawing import BAND, DASHES, HATCHES, INK, SOFT, bare, colour, label, svg
from lostneutral.report.base.words import number
from lostneutral.report.evidence.verdict import ratio_words

MOST = 10  #: rivals drawn
WIDE = 34  #: letters in a line of a cause's name
LEAST = 1e-6  #: likelihood, relative to the best, at which the axis ends


def rival_causes(found):
    """Draw how likely the observations are under each of the first rivals, relative to the best, on a logarithmic axis.

    The bands are those of the verbal scale; the figure beside each bar is the likelihood ratio of the best to it.
    """
    shown = sorted(found.rivals[:MOST], key=lambda w: round(w.against, EVEN))
    scale = data.load("evidence")["scale"]

    def draw(figure):
        axes = figure.add_subplot()
        edges = [1.0, *(1 / upto for upto in scale["upto"])]
        for n, (right, left) in enumerate(pairwise(edges)):
            axes.axvspan(left, right, color=BAND if n % 2 else "white", lw=0)
            axes.text((left * right) ** 0.5, len(shown) - 0.35, scale["words"][n].removesuffix(" support").replace(" ", "\n"),
                      ha="center", va="bottom", fontsize=6.8, color=INK)
        for at, w in enumerate(reversed(shown)):
            relative = max(1 / w.against, LEAST) if w.against else 1.0
            axes.barh(at, log_width(relative), left=LEAST, height=0.5, color="white", edgecolor=INK, lw=0.9,
                      hatch="" if at == len(shown) - 1 else "////")
            axes.text(relative * 0.8 if relative > 1e-4 else relative * 1.3, at,
                      _against(w),
                      ha="right" if relative > 1e-4 else "left", va="center", fontsize=7.5,
                      bbox={"fc": "white", "ec": "none", "pad": 1})
        axes.set_xscale("log")
        axes.set_xlim(LEAST, 1.3)
        axes.set_xticks(edges, ["1", *(f"1 to {upto:,.0f}".replace(",", "\u202f") for upto in scale["upto"])], fontsize=6.5,
                        rotation=20)
        axes.set_xticks([], minor=True)
        axes.set_ylim(-0.6, len(shown) + 0.6)
        axes.set_yticks(range(len(shown)), ["\n".join(wrap(label(w.words, 2 * WIDE), WIDE)) for w in reversed(shown)],
                        fontsize=7.5)
        axes.set_xlabel("likelihood of the observations, relative to the best fitting cause")
        bare(axes, "bottom")

    said = "; ".join(f"{w.words}: {_against(w)}" for w in shown)
    return svg(draw, 0.9 + 0.36 * len(shown),
               f"Likelihood of the observations under each cause, relative to the cause that fits best. {said}.")


def _against(weighed):
    if weighed.against <= 1:
        return "fits best"
    return f"1 to {ratio_words(weighed.against)}" if weighed.against <= 1e6 else "less than 1 to a million"


def log_width(relative):
    """Return the length of a bar from the end of the axis to `relative`."""
    return relative - LEAST if log10(relative) > log10(LEAST) else LEAST * 0.2


def voltages_given_evidence(case, found):
    """Draw the range of every line-to-neutral voltage given the observations, against the supply band."""
    rows = [row for row in found.voltages if row[2] is not None]
    limits, nominal = band(case.supply.limits), case.supply.nominal

    def draw(figure):
        axes = figure.add_subplot()
        axes.axvspan(limits.low * nominal, limits.high * nominal, color=BAND, lw=0)
        for at, (_, line, low, middle, high) in enumerate(reversed(rows)):
            axes.barh(at, max(high - low, 1.0), left=low, height=0.45, color="white", edgecolor=colour(line), lw=1.2,
                      hatch=HATCHES[line])
            axes.plot([middle, middle], [at - 0.32, at + 0.32], color=INK, lw=2)
            axes.text(high + 6, at, f"{number(low, 0)} – {number(middle, 0)} – {number(high, 0)}", va="center", fontsize=7.5)
        axes.axvline(nominal, color=SOFT, lw=0.8, ls=DASHES["N"])
        axes.set_yticks(range(len(rows)), [f"{line} at {label(point, 26)}" for point, line, *_ in reversed(rows)])
        axes.set_xlim(0, max([row[4] for row in rows] + [nominal * 3**0.5]) * 1.25)
        axes.set_xlabel(f"V, line to neutral: 5 % – 50 % – 95 %; shaded: {limits.name}, broken line: {nominal:g} V")
        bare(axes, "bottom")

    said = "; ".join(f"{line} at {point} {number(low, 0)}, {number(middle, 0)}, {number(high, 0)} V"
                     for point, line, low, middle, high in rows)
    return svg(draw, 0.8 + 0.34 * len(rows),
               f"Line-to-neutral voltages given the observations, 5, 50 and 95 %: {said}. Supply band {limits.name}: "
               f"{number(limits.low * nominal, 0)} to {number(limits.high * nominal, 0)} V.")
